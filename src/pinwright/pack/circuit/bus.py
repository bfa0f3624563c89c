"""Layout of a two-wire bus: both wires with their pull-ups, every device on two upright wires, shifters before those behind one."""

from __future__ import annotations

from pinwright.fitting.plan import Placed
from pinwright.pack.build.model import Build, Item, Net, Stage, Terminal
from pinwright.pack.circuit import blocks
from pinwright.pack.circuit.parts import plain_block
from pinwright.pack.circuit.sketch import Sketch
from pinwright.pack.circuit.tree import Letters, clear_of

__all__ = ["bus_sketch", "buses_of"]

PITCH_MM = 7.0
"""From one wire to the other [mm]."""
_TRUNK_MM = 4.0


def buses_of(build: Build) -> list[tuple[Stage, Stage]]:
    """Stages of data and clock of every I2C bus that can be drawn as one: nothing but shifters between its wires and its parts.

    Parameters
    ----------
    build : what is built [-]
    """
    found: dict[int, dict[str, Stage]] = {}
    for stage in build.stages:
        placed = [p for line in stage.lines if (p := build.plan.of(line)) is not None]
        if placed and placed[0].net.bus >= 0 and placed[0].line.asks.signal == "i2c":
            found.setdefault(placed[0].net.bus, {})[placed[0].net.role] = stage
    pairs = [(roles["SDA"], roles["SCL"]) for roles in found.values() if {"SDA", "SCL"} == set(roles)]
    return [pair for pair in pairs if _is_plain(build, *pair)]


def _is_plain(build: Build, data: Stage, clock: Stage) -> bool:
    nets = [build.net_at.get(stage.pin) for stage in (data, clock)]
    if None in nets or [end.item for end in data.ends] != [end.item for end in clock.ends]:
        return False
    if len({end.item for end in data.ends}) != len(data.ends):
        return False
    for stage, net in zip((data, clock), nets, strict=True):
        assert net is not None
        for ref in stage.items:
            item = build.by_ref[ref]
            on_wire = [t for t in net.terminals if t.item == ref]
            is_pull = item.symbol in ("resistor", "capacitor") and len(on_wire) == 1 and _far_role(build, item, on_wire[0]) != "signal"
            if not (is_pull or item.symbol == "shifter"):
                return False
    for pair in zip(data.ends, clock.ends, strict=True):
        ways = [_way(build, end, net) for end, net in zip(pair, nets, strict=True)]
        if ways[0] is None or ways[1] is None or ways[0][0] != ways[1][0]:
            return False
    return True


def _far_role(build: Build, item: Item, near: Terminal) -> str:
    return build.net_at[Terminal(item.ref, blocks.fork(item, near.name))].role


def _way(build: Build, end: Terminal, wire: Net | None) -> tuple[str, str, str] | None:
    """How a part's terminal hangs on the wire: ``("", "", "")`` directly, or a shifter with its two terminals; ``None`` otherwise."""
    net = build.net_at.get(end)
    if net is None or wire is None:
        return None
    if net is wire:
        return ("", "", "")
    for terminal in net.terminals:
        item = build.by_ref[terminal.item]
        if item.symbol == "shifter" and terminal.name.startswith("B") and Terminal(item.ref, f"A{terminal.name[1:]}") in wire.terminals:
            return (item.ref, f"A{terminal.name[1:]}", terminal.name)
    return None


def bus_sketch(build: Build, data: Stage, clock: Stage, letters: Letters) -> Sketch:
    """The whole bus, its data pin at the zero.

    Parameters
    ----------
    build : what is built [-]
    data, clock : its two stages, as ``buses_of`` gives them [-]
    letters : letters of its nets; grows [-]
    """
    notes = [f"{stage.pin.name}: {words}" for stage in (data, clock) for words in blocks.own_pulls(build, stage)]
    sketch = blocks.board_block(build, (data.pin.name, clock.pin.name), PITCH_MM, (), notes)
    run = Sketch()
    nets = [build.net_at[stage.pin] for stage in (data, clock)]
    for number, net in enumerate(nets):
        run.text(0.8, PITCH_MM * number - 0.9, letters.letter(net), 1.9, cls="pw-soft")
    x, joints = _pulls(run, build, (data, clock), nets)
    rows = _rows(build, data, clock, nets, letters)
    stack, ys = Sketch(), []
    low = 0.0
    for number, row in enumerate(rows):
        left, top, _, bottom = row.extent
        y = 0.0 if number == 0 else low - top + 2.0
        start = 2 * _TRUNK_MM - min(left, 0.0)
        stack.put(row, start, y)
        stack.wire((0, y), (start, y))
        stack.wire((_TRUNK_MM, y + PITCH_MM), (start, y + PITCH_MM))
        ys.append(y)
        low = y + bottom
    if len(ys) > 1:
        stack.wire((0, 0), (0, ys[-1]))
        stack.wire((_TRUNK_MM, PITCH_MM), (_TRUNK_MM, ys[-1] + PITCH_MM))
        for y in ys[:-1]:
            stack.dot(0, y)
            stack.dot(_TRUNK_MM, y + PITCH_MM)
    at = clear_of(run, stack, x + 3.0, 0)
    run.put(stack, at, 0)
    run.wire((0, 0), (at, 0))
    run.wire((0, PITCH_MM), (at + _TRUNK_MM, PITCH_MM))
    for joint in joints:
        run.dot(*joint)
    sketch.put(run, 0, 0)
    return sketch


def _pulls(run: Sketch, build: Build, stages: tuple[Stage, Stage], nets: list[Net]) -> tuple[float, list[tuple[float, float]]]:
    """Everything from the two wires to rails; those of the lower wire to a rail cross the upper one."""
    x, joints = 4.0, []
    for number, (stage, net) in enumerate(zip(stages, nets, strict=True)):
        for ref in dict.fromkeys(stage.items):
            item = build.by_ref[ref]
            near = next((t for t in net.terminals if t.item == ref), None)
            if item.symbol == "shifter" or near is None:
                continue
            up = _far_role(build, item, near) == "supply"
            lead = PITCH_MM + 2.0 if (up, number) in ((True, 1), (False, 0)) else 0.0
            column = blocks.shunt(build, item, near.name, up, lead)
            x = clear_of(run, column, x + 4.0, PITCH_MM * number)
            run.put(column, x, PITCH_MM * number)
            joints.append((x, PITCH_MM * number))
    return x, joints


def _rows(build: Build, data: Stage, clock: Stage, nets: list[Net], letters: Letters) -> list[Sketch]:
    """Each device with both its wires, its data wire at the zero; devices of one shifter stand side by side behind it only if alone."""
    rows = []
    for line, a, b in zip(data.lines, data.ends, clock.ends, strict=True):
        placed = build.plan.of(line)
        block = plain_block(build, build.by_ref[a.item], (a.name, b.name), PITCH_MM, _notes(build, build.by_ref[a.item], placed))
        ways = [_way(build, end, net) for end, net in zip((a, b), nets, strict=True)]
        if not ways[0] or not ways[1] or not ways[0][0]:
            rows.append(block)
            continue
        item = build.by_ref[ways[0][0]]
        row, wide = blocks.box(build, item, (ways[0][1:], ways[1][1:]), PITCH_MM, "both")
        for number, end in enumerate((a, b)):
            row.text(wide + 0.8, PITCH_MM * number - 0.9, letters.letter(build.net_at[end]), 1.9, cls="pw-soft")
            row.wire((wide, PITCH_MM * number), (wide + 4, PITCH_MM * number))
        row.put(block, wide + 4, 0)
        rows.append(row)
    return rows


def _notes(build: Build, part: Item, placed: Placed | None) -> tuple[str, ...]:
    """Address of a device and the pull-ups its module carries."""
    from pinwright.circuits.window import shown

    address = next((words for words in part.note.split("; ") if words.startswith("bus address")), "")
    notes = [address.replace("bus address ", "address ")] if address else []
    fitted = placed.line.asks.pull_fitted if placed is not None else None
    if fitted is not None:
        notes.append(f"pull-ups on the module{f': {shown(fitted.ohm)}' if fitted.ohm else ''}")
    return tuple(notes)
