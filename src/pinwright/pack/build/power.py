"""What feeds every part: its supply terminals, the rails they hang on, and where each rail gets its voltage."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pinwright.facts.model import Board, Curve, Part
from pinwright.fitting.lines import Device, Line
from pinwright.fitting.places import BoardView
from pinwright.fitting.plan import Placed
from pinwright.pack.build.joiner import Joiner, Node
from pinwright.pack.build.model import Item
from pinwright.pack.build.pins import pin_terminals, supply_pin
from pinwright.supply.budget import Consumer, Draw, hangs_on_the_parts_supply, rail_name, total
from pinwright.supply.feeds import feed_of
from pinwright.supply.rails import CLOSE_V, LOGIC, SOURCE, feeder
from pinwright.supply.report import SupplyReport

__all__ = ["BARE_SWITCHES", "Needs", "feed_rails", "fit_divided", "fit_sensor", "power_needs"]

BARE_SWITCHES = ("n-mosfet", "npn-transistor")
"""Kinds that are a switch themselves: their third terminal goes to a load of the maker's, which no plan knows."""
_RESISTIVE = ("ntc", "pt", "ldr", "force")
SAME_V = 0.05
"""Voltages nearer than this are one [V]."""


@dataclass(frozen=True, slots=True)
class Needs:
    """Supply terminals of a part: voltage of its ``V+`` [V] (``None``: it has none) and whether it has a ``GND``."""

    plus_v: float | None
    ground: bool
    note: str = ""


def power_needs(device: Device, part: Part | None, placed: list[Placed], view: BoardView) -> Needs:
    """Which supply terminals a part has, from what the catalogue and the brief say of it.

    Parameters
    ----------
    device, part : the part of the brief and its entry (None: the maker's own) [-]
    placed : its lines on their pins [-]
    view : the board [-]
    """
    logic_v = view.board.logic_v
    asks = [line.asks for line in device.lines]
    switched = [p.line for p in placed if _is_switched_low(p) and _is_fed_by_load(p, part)]
    if part is not None and part.kind in BARE_SWITCHES:
        return Needs(None, True, "its third terminal goes to your load, which hangs on its own supply")
    if switched:
        load = switched[0].asks.load
        plus_v = load.v_v if load is not None else asks[0].rail.at(logic_v)
        words = ", ".join(line.name for line in switched)
        return Needs(plus_v, len(switched) < len(asks), f"{words}: the end of the load that is switched to ground")
    lamps = [p for p in placed if _is_lamp(p)]
    if lamps and len(lamps) == len(asks):
        sinks = lamps[0].line.asks.safe_level in ("high", "released")
        return Needs(logic_v, False, "anode to V+") if sinks else Needs(None, True, "cathode to GND")
    curve = next((a.curve for a in asks if a.curve is not None), None)
    if _is_bare_sensor(part, curve):
        assert curve is not None
        return Needs(asks[0].rail.at(logic_v), False) if curve.to_supply else Needs(None, True)
    if part is not None and part.supply_v.typ is None and part.supply_v.max is None:
        return _unsupplied(device, logic_v)
    if part is None and asks and all(a.rail.fixed_v is None and _is_contact(line) for a, line in zip(asks, device.lines, strict=True)):
        return _unsupplied(device, logic_v)
    volts = asks[0].rail.at(logic_v) if asks else logic_v
    return Needs(volts, True, "" if part is not None else "supply as its data sheet says")


def _unsupplied(device: Device, logic_v: float) -> Needs:
    """A contact closes to ground, or to the supply where a pull-down holds it; a matrix of contacts has no common end."""
    if any(line.asks.drives for line in device.lines):
        return Needs(None, any(not line.asks.drives and line.asks.direction == "analog-in" for line in device.lines))
    if device.lines and all(line.asks.needs.pull == "down" for line in device.lines):
        return Needs(logic_v, False, "its common end goes to the supply")
    return Needs(None, True)


def _is_contact(line: Line) -> bool:
    return line.asks.direction == "in" and line.asks.needs.pull != "none" and line.asks.voh is None


def _is_switched_low(placed: Placed) -> bool:
    load = placed.line.asks.load
    return load is not None and load.stage == "low" and placed.circuit.of("driver") is not None


def _is_fed_by_load(placed: Placed, part: Part | None) -> bool:
    """Whether what the stage switches hangs on the part's own supply; a control input with a pull-up of its own inside does not."""
    load = placed.line.asks.load
    return load is None or hangs_on_the_parts_supply(load, part)


def _is_lamp(placed: Placed) -> bool:
    load = placed.line.asks.load
    return load is not None and load.stage == "pin"


def _is_bare_sensor(part: Part | None, curve: Curve | None) -> bool:
    return (
        part is not None
        and curve is not None
        and curve.kind in _RESISTIVE
        and bool(curve.r_fixed_ohm)
        and part.form.startswith("component")
    )


def fit_sensor(join: Joiner, part: Part | None, placed: Placed, end: Node, view: BoardView) -> list[str]:
    """The fixed resistor a bare resistive sensor makes its divider with; modules carry their own.

    Parameters
    ----------
    join : what has been joined so far; grows [-]
    part : the catalogue's entry [-]
    placed : the line [-]
    end : node the part hangs on [-]
    view : the board [-]

    Returns
    -------
    refs : the resistor, or nothing
    """
    curve = placed.line.asks.curve
    if not _is_bare_sensor(part, curve) or curve is None or curve.r_fixed_ohm is None:
        return []
    ref = join.designator("R")
    tolerance = f"{curve.fixed_tolerance * 100:g} %" if curve.fixed_tolerance else ""
    why = f"makes the divider with the sensor whose {curve.quantity} is read"
    join.add(Item(ref, "component", "resistor", ("1", "2"), "resistor", "fixed", curve.r_fixed_ohm, "Ω", tolerance, line=placed.line.id,
                  origin="as the part's law asks", why=why))  # fmt: skip
    join.join(end, ref, "1", placed.line.id)
    join.join(join.ground() if curve.to_supply else join.rail(placed.line.asks.rail.at(view.board.logic_v)), ref, "2")
    return [ref]


def fit_divided(join: Joiner, part: Part | None, placed: Placed, end: Node) -> tuple[Node, list[str]]:
    """Resistors a maker builds before a line that the catalogue gives as a circuit: a divider, or the resistor a current runs through.

    Parameters
    ----------
    join : what has been joined so far; grows [-]
    part : the catalogue's entry [-]
    placed : the line [-]
    end : node the line would hang on without them [-]

    Returns
    -------
    end, refs : node the thing measured hangs on, and the resistors
    """
    line = next((line for line in part.line if line.name == placed.line.name), None) if part is not None else None
    if line is None or line.divided is None:
        return end, []
    made, after, refs = line.divided, f"{placed.line.id} as measured", []
    why = f"brings {placed.line.id} into the converter's range, as the part's law asks"
    for role, ohm, ends in (("upper", made.top_ohm, (after, end)), ("lower", made.bottom_ohm, (end, join.ground()))):
        if ohm is None:
            continue
        ref = join.designator("R")
        refs.append(ref)
        join.add(Item(ref, "component", "resistor", ("1", "2"), "resistor", role, ohm, "Ω", f"{made.tolerance * 100:g} %",
                      line=placed.line.id, origin="as the part's law asks", why=why))  # fmt: skip
        join.join(ends[0], ref, "1", placed.line.id)
        join.join(ends[1], ref, "2", placed.line.id if ends[1] == end else "")
    return (after if made.top_ohm is not None else end), refs


# ------------------------------------------------------------------------------ where rails come from


def feed_rails(join: Joiner, view: BoardView, supply: SupplyReport, hottest_c: float) -> None:
    """Join every rail to what feeds it: a pin of the board, the source itself, or a supply of its own.

    Parameters
    ----------
    join : what has been joined so far; grows [-]
    view : the board [-]
    supply : where the source meets the board, and who hangs where [-]
    hottest_c : air around it at its hottest [°C]
    """
    board, source, entry = view.board, supply.source, supply.entry
    names = pin_terminals(board)
    ground = supply_pin(board, "GND")
    if ground is not None:
        join.join(join.ground(), "board", names[ground.row, ground.order])
    enters = _source(join, board, supply, hottest_c)
    for rail, volts in list(join.volts.items()):
        who = feeder(Consumer("", rail_name(volts, board.logic_v), volts, Draw(), ""), board, source, entry.pin)
        pin = _pin_giving(board, who, volts)
        if who == SOURCE and enters:
            join.same(rail, enters)
        elif pin:
            join.join(rail, "board", pin)
            if enters and pin == _entry_terminal(board, entry.pin):
                join.same(rail, enters)  # a bare chip: the source is the logic rail
        else:
            own = _own_supply(join, rail, volts, who)
            draw = total(c for c in supply.consumers if abs(c.volts - volts) < CLOSE_V and c.rail != "logic")
            _fuse(join, own, volts, draw, None, hottest_c)


def _source(join: Joiner, board: Board, supply: SupplyReport, hottest_c: float) -> Node:
    """The source as an item, wired to the pin it enters by; the node of its plus, empty where it comes by a plug."""
    ref = join.name("supply")
    title = supply.source.words
    if supply.entry.pin.casefold() == "usb":
        join.add(Item(ref, "supply", title, ("plug",), role="source", why=supply.entry.because, note="plugs into the board's USB socket"))
        return ""
    if not supply.entry.pin:
        join.add(
            Item(
                ref,
                "supply",
                title,
                (),
                role="source",
                why=supply.entry.because,
                note=f"NOT WIRED, it cannot feed this board: {supply.entry.because}",
            )
        )
        join.notes.append(f"The supply is not wired, for it cannot feed this board: {supply.entry.because}.")
        return ""
    join.add(Item(ref, "supply", title, ("+", "−"), role="source", why=supply.entry.because))
    _fuse(join, ref, supply.source.v.middle, supply.draw, supply.feed.length_m if supply.feed else None, hottest_c)
    node = f"supply at {supply.entry.pin}"
    join.join(node, ref, "+")
    join.volts[node] = supply.source.v.middle
    join.join(node, "board", _entry_terminal(board, supply.entry.pin))
    join.join(join.ground(), ref, "−")
    if board.usb != "none":
        join.notes.append(
            f"The supply feeds {supply.entry.pin}: do not plug in the USB socket at the same time unless the board's maker says both may "
            "be connected."
        )
    return node


def _fuse(join: Joiner, supply: str, volts: float, draw: Draw, length_m: float | None, hottest_c: float) -> None:
    """The fuse a strong feed needs."""
    feed = feed_of(volts, draw, length_m, hottest_c)
    if feed is None or feed.fused is None:
        return
    ref = join.designator("F")
    fed = join.items[supply]
    join.add(replace(fed, title=f"fuse {ref} {feed.fused.fuse_a:g} A; {fed.title}"))
    why = f"in the plus lead of {supply}, as close to it as can be: a short burns the wire otherwise"
    rating = f"{volts:g} V d.c. or more"
    join.add(
        Item(ref, "component", "fuse with holder", (), "fuse", "fuse", feed.fused.fuse_a, "A", rating, "", supply, "standard rating", why)
    )


def _entry_terminal(board: Board, power: str) -> str:
    pin = supply_pin(board, power)
    return pin_terminals(board)[pin.row, pin.order] if pin is not None else f"{power} pads"


def _pin_giving(board: Board, who: str, volts: float) -> str:
    """Terminal of the board that gives a voltage, for a rail the board or its USB socket feeds."""
    names = pin_terminals(board)
    if who == "":
        return ""
    wanted = []
    if who == LOGIC and abs(volts - board.logic_v) > SAME_V:
        wanted = [r.gives for r in board.regulator if abs(r.v_out_v - volts) < CLOSE_V]
    elif who == LOGIC:
        wanted = [s.pin for s in board.supply if s.pin != "USB" and _spans(s.v_min_v, s.v_max_v, board.logic_v) and _is_rail(s.pin, board)]
        wanted += [r.gives for r in board.regulator if abs(r.v_out_v - board.logic_v) < SAME_V]
    elif who != SOURCE:
        wanted = [who]
    ways = sorted(
        (s for s in board.supply if s.pin != "USB" and s.direction != "in" and _spans(s.v_min_v, s.v_max_v, volts)),
        key=lambda s: (s.v_max_v or 0.0) - (s.v_min_v or 0.0),
    )
    wanted += [s.pin for s in ways]
    for power in wanted:
        pin = supply_pin(board, power)
        if pin is not None:
            return names[pin.row, pin.order]
    return ""


def _is_rail(power: str, board: Board) -> bool:
    """Whether a supply pin is the logic rail itself, not the way to its regulator."""
    return not any(
        regulator.takes.casefold() == power.casefold() and abs(regulator.v_out_v - board.logic_v) < SAME_V for regulator in board.regulator
    )


def _spans(low_v: float | None, high_v: float | None, volts: float) -> bool:
    return low_v is not None and high_v is not None and low_v - SAME_V <= volts <= high_v + SAME_V


def _own_supply(join: Joiner, rail: Node, volts: float, who: str) -> str:
    """A supply for one rail; its name."""
    ref = join.name(f"{volts:.3g} V supply")
    note = "a supply of its own" if not who else "no pin of the board leads this voltage out: take it from the source itself"
    join.add(Item(ref, "supply", f"{volts:.3g} V supply", ("+", "−"), note=f"{note}; its minus joins the board's ground"))
    join.join(rail, ref, "+")
    join.join(join.ground(), ref, "−")
    join.notes.append(f"{rail}: {note}.")
    return ref
