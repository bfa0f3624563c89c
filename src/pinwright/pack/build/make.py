"""Put a plan together as something to build: board, parts, components, supplies, nets, wires."""

from __future__ import annotations

from dataclasses import replace

from pinwright.errors import OutOfRange, UnknownName
from pinwright.fitting.lines import Device
from pinwright.fitting.plan import BoardPlan, Placed
from pinwright.fitting.rank import Job
from pinwright.pack.build.interface import fit_circuit
from pinwright.pack.build.joiner import Joiner
from pinwright.pack.build.model import Build, Item, Stage, Terminal
from pinwright.pack.build.pins import pin_terminals, supply_pin
from pinwright.pack.build.power import BARE_SWITCHES, Needs, feed_rails, fit_divided, fit_sensor, power_needs
from pinwright.pack.build.wires import nets_of, wires_of
from pinwright.planning import PlanResult

__all__ = ["build_of"]


def build_of(result: PlanResult, board: str | None = None) -> Build:
    """Everything to buy and to join for a plan.

    Parameters
    ----------
    result : plans of a job [-]
    board : id of the board, None for the best usable one [-]

    Raises
    ------
    UnknownName : no usable plan is for this board.
    OutOfRange : no board can do the job at all.
    """
    usable = {plan.view.board.id: plan for plan in result.usable}
    if board is not None and board not in usable:
        raise UnknownName("board", board, list(usable))
    if not usable:
        raise OutOfRange("No board can carry this brief: there is nothing to build.")
    plan = usable[board] if board is not None else result.usable[0]
    job, name = result.ranking.job, plan.view.board.id
    join = Joiner()
    join.add(_board_item(plan))
    join.ground()
    join.rail(plan.view.board.logic_v)
    stages = _lines(join, plan, job, _refs(join, job))
    _wake_wire(join, plan, job)
    _left_to_the_maker(join, job)
    supply = result.supplies[name]
    feed_rails(join, plan.view, supply, job.setting.ambient_c[1])
    _pads_beside_the_header(join)
    nets = nets_of(join)
    items = _ordered(join)
    wires = wires_of(nets, join.items, plan, job, supply)
    return Build(job, result, plan, result.reviews[name], supply, items, nets, wires, tuple(stages), tuple(dict.fromkeys(join.notes)))


def _board_item(plan: BoardPlan) -> Item:
    board = plan.view.board
    names = pin_terminals(board)
    return Item("board", "board", board.name, tuple(names[pin.row, pin.order] for pin in board.header), part=board.id)


def _refs(join: Joiner, job: Job) -> dict[str, str]:
    """Names of parts in the build; parts first, so that no designator or rail made later takes one."""
    refs = {}
    for device in job.nets.devices:
        refs[device.name] = join.name(device.name)
        join.add(Item(refs[device.name], "part", device.title, ()))
    return refs


def _lines(join: Joiner, plan: BoardPlan, job: Job, refs: dict[str, str]) -> list[Stage]:
    names = pin_terminals(plan.view.board)
    stock = frozenset(switch.part for switch in job.setting.bench.switches if switch.in_stock)
    needs: dict[str, Needs] = {}
    for device in job.nets.devices:
        placed = [p for p in plan.placed if p.line.part == device.name]
        part = job.catalogue.parts.get(device.kind)
        needs[device.name] = power_needs(device, part, placed, plan.view)
        join.add(_part_item(refs[device.name], device, placed, needs[device.name], job))
    by_pin: dict[str, list[Placed]] = {}
    for placed_line in plan.placed:
        by_pin.setdefault(names[placed_line.place.row, placed_line.place.order], []).append(placed_line)
    stages = []
    kinds = {device.name: job.catalogue.parts.get(device.kind) for device in job.nets.devices}
    for terminal, lines in by_pin.items():
        pin = f"pin {terminal}"
        join.join(pin, "board", terminal)
        fitted: list[str] = []
        ends: list[Terminal] = []
        nodes = [pin]
        for placed_line in lines:
            join.carries(pin, placed_line.line.id)
            end, added = fit_circuit(join, plan.view, placed_line, pin, stock)
            end, resistors = fit_divided(join, kinds[placed_line.line.part], placed_line, end)
            added += resistors
            join.join(end, refs[placed_line.line.part], placed_line.line.name, placed_line.line.id)
            added += fit_sensor(join, kinds[placed_line.line.part], placed_line, end, plan.view)
            fitted += added
            ends.append(Terminal(refs[placed_line.line.part], placed_line.line.name))
            nodes += [node for node in join.nodes if placed_line.line.id in join.lines.get(node, ()) and node not in nodes]
        stages.append(
            Stage(tuple(p.line.id for p in lines), Terminal("board", terminal), tuple(ends), tuple(dict.fromkeys(fitted)), tuple(nodes))
        )
    for device in job.nets.devices:
        _supply_part(join, refs[device.name], needs[device.name])
    return stages


def _part_item(ref: str, device: Device, placed: list[Placed], needs: Needs, job: Job) -> Item:
    name, kind = device.name, device.kind
    lines = [p.line.name for p in placed]
    plus, ground = _supply_names(lines, needs)
    addresses = {bus.addresses[name] for bus in job.nets.buses if name in bus.addresses}
    part = job.catalogue.parts.get(kind)
    select = f" ({part.i2c.select})" if part is not None and part.i2c is not None and part.i2c.select else ""
    note = "; ".join([*filter(None, [needs.note]), *(f"bus address 0x{address:02X}{select}" for address in sorted(addresses))])
    in_stock = kind in job.file.brief.stock.parts
    return Item(ref, "part", device.title, (*lines, *plus, *ground), part=kind, note=note, in_stock=in_stock, name=name)


def _supply_names(lines: list[str], needs: Needs) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the supply terminals, apart from lines that are called so."""

    def free(wanted: str) -> str:
        while wanted in lines:
            wanted += " (supply)"
        return wanted

    return ((free("V+"),) if needs.plus_v is not None else ()), ((free("GND"),) if needs.ground else ())


def _supply_part(join: Joiner, name: str, needs: Needs) -> None:
    item = join.items[name]
    extra = list(item.terminals[len(item.terminals) - (needs.plus_v is not None) - needs.ground :])
    if needs.plus_v is not None:
        join.join(join.rail(needs.plus_v), name, extra.pop(0))
    if needs.ground:
        join.join(join.ground(), name, extra.pop(0))


def _pads_beside_the_header(join: Joiner) -> None:
    """Places on the board a wire goes to although no header pin is there (battery pads)."""
    board = join.items["board"]
    used = [t.name for terminals in join.nodes.values() for t in terminals if t.item == "board"]
    join.add(replace(board, terminals=(*board.terminals, *(name for name in used if name not in board.terminals))))


_SWITCHING = ("switch-module", "relay-module", "solid-state-relay", "motor-driver", "driver-array", "stepper-driver")
"""Kinds whose load side no plan knows."""


def _left_to_the_maker(join: Joiner, job: Job) -> None:
    """What a pack cannot hold because nobody told: load sides, and switches the brief says are there."""
    for device in job.nets.devices:
        part = job.catalogue.parts.get(device.kind)
        if part is not None and (part.kind in _SWITCHING or part.kind in BARE_SWITCHES):
            join.notes.append(
                f"{device.name}: its load side is yours. Wire, fuse and, for coils and motors, a diode right at the load, for the load's "
                "own voltage and current; none of that is in these lists."
            )
        if device.switched:
            join.notes.append(
                f"{device.name}: the brief says its supply is switched off while the device sleeps. The switch is yours: it is not in "
                "these lists, and without it the battery lasts shorter than reckoned."
            )


def _wake_wire(join: Joiner, plan: BoardPlan, job: Job) -> None:
    """The wire a timer needs to the reset input, where the chip wakes by that alone."""
    if not job.setting.sleeping:
        return
    board, names = plan.view.board, pin_terminals(plan.view.board)
    for state in plan.view.chip.sleep:
        place = next((p for p in plan.view.places if p.pad.gpio == state.timer_wake_pad), None)
        reset = supply_pin(board, state.timer_wake_to) if state.timer_wake_to else None
        if state.state != "deep-sleep" or place is None or reset is None or any(p.place.pad is place.pad for p in plan.placed):
            continue
        node = "wake"
        join.join(node, "board", names[place.row, place.order])
        join.join(node, "board", names[reset.row, reset.order])
        join.notes.append(
            f"{names[place.row, place.order]} to {names[reset.row, reset.order]}: the timer wakes the board over this wire; "
            "take it off while you upload if the upload fails."
        )


def _ordered(join: Joiner) -> tuple[Item, ...]:
    """The board, parts, components, rails and supplies that are joined to something or stand for themselves."""
    used = {terminal.item for terminals in join.nodes.values() if len(terminals) > 1 for terminal in terminals}
    order = {"board": 0, "part": 1, "component": 2, "rail": 3, "supply": 4}
    kept = [item for item in join.items.values() if item.kind in ("board", "part", "supply") or item.symbol == "fuse" or item.ref in used]
    return tuple(sorted(kept, key=lambda item: order[item.kind]))
