"""What is likely wrong where a measurement is off: told for the very net, with its components and neighbours by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.mesh import Edge
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build.model import Item, Terminal

__all__ = ["label", "of_current", "of_pin", "of_resistor", "of_short"]

MOST = 5
"""Causes told at a measurement, likeliest first (our choice)."""


NOTABLE_A = 1e-3
"""A current from here on can draw a pin's level down [A] (our choice)."""


def label(terminal: Terminal | None, rig: Rig) -> str:
    """A terminal in words.

    Parameters
    ----------
    terminal : any [-]
    rig : the build [-]
    """
    if terminal is None:
        return "?"
    if terminal.item == rig.build.board.ref:
        return f"pin {terminal.name}"
    item = rig.build.by_ref.get(terminal.item)
    return f"{terminal.item}" if item is not None and item.kind == "rail" else f"{terminal.item} {terminal.name}"


def value_words(item: Item) -> str:
    """A component with its value: ``R3 (10 kΩ, pull-down)``."""
    value = shown(item.value, item.unit) if item.value is not None else item.title
    return f"{item.ref} ({', '.join(filter(None, (value, item.role)))})"


def _beside(rig: Rig, pin: Terminal | None) -> str:
    """Neighbouring pins that are not joined to this one on purpose, in words."""
    net = rig.net_id(pin)
    names = [t.name for t in rig.neighbours(pin) if rig.net_id(t) != net or not net] if pin is not None else []
    return " or ".join(names)


def of_pin(rig: Rig, placed: Placed, part_v: Range | None = None) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Causes of a voltage at a line's pin that is too low, too high, or does not change at all.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    part_v : what its part puts on the far end [V]
    """
    line, asks = placed.line, placed.line.asks
    pin, end = rig.pins.get(line.id), rig.ends.get(line.id)
    net = rig.net_id(pin)
    beside, part = _beside(rig, pin), line.part
    resistors = rig.pieces(line.id, "resistor")
    low: list[str] = []
    high: list[str] = []
    none: list[str] = []
    ups = [r for r in resistors if r.role == "pull-up"]
    downs = [r for r in resistors if r.role == "pull-down"]
    upper, lower = (next((r for r in resistors if r.role == role), None) for role in ("upper", "lower"))
    if upper is not None and lower is not None and upper.value and lower.value and part_v is not None:
        swapped = part_v.middle * upper.value / (upper.value + lower.value)
        right = part_v.middle * lower.value / (upper.value + lower.value)
        words = f"{upper.ref} and {lower.ref} swapped: then it shows about {shown(swapped, 'V')} instead of {shown(right, 'V')}"
        (low if swapped < right else high).append(words)
        high.append(f"{value_words(lower)} open or not on ground: the whole {shown(part_v.high, 'V')} reaches the pin - disconnect at once")
        low.append(f"{value_words(upper)} open or too large")
    low += [f"{value_words(r)} missing, too large, or not on the supply" for r in ups]
    high += [f"{value_words(r)} missing, too large, or not on ground" for r in downs]
    if placed.circuit.of("internal pull") is not None and not ups and not downs:
        low.append("the pad's own pull is not switched on by the firmware")
    low.append(f"short from {label(pin, rig)} to ground" + (f" or to {beside}" if beside else ""))
    high.append("short to a supply rail" + (f" or to {beside}" if beside else ""))
    if asks.reads or asks.direction == "analog-in":
        has_supply = any(name.startswith("V+") for name in rig.build.by_ref[end.item].terminals) if end is not None else True
        low.append(
            f"{part} without supply, or its wires swapped" if has_supply else f"{part} stuck closed or shorted, or its wires swapped"
        )
    if asks.drives and asks.i_in_a >= NOTABLE_A and placed.circuit.of("driver") is None:
        low.append(f"{part} draws more than the {shown(asks.i_in_a, 'A')} reckoned with")
    none.append(f"wire broken or in the wrong place: {label(pin, rig)} to {label(end, rig)}")
    if beside:
        none.append(f"wire sits on {beside} instead of {label(pin, rig)}")
    none += [f"{value_words(r)} not joined" for r in resistors if r.role in ("series", "base", "gate", "upper", "fixed")]
    none.append(f"ground of {part} not joined to the board's ground")
    if asks.drives:
        none.append("the firmware is built for another pin or board")
    others = [other.line.id for other in rig.together(placed) if other is not placed]
    if others:
        none.append(f"another part on the wire holds it: unplug {', '.join(others[:3])} in turn")
    if not net:
        none.insert(0, f"{label(pin, rig)} is joined to nothing")
    return _few(low), _few(high), _few(none)


def of_resistor(rig: Rig, edge: Edge) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Causes of a resistance across a fitted resistor that is too low, too high, or endless.

    Parameters
    ----------
    rig : the build [-]
    edge : the resistor [-]
    """
    item = rig.build.by_ref[edge.ref]
    size = item.value or 0.0
    mates = [other for other in rig.build.items if other.symbol == "resistor" and other.value and abs(other.value / size - 1) > 1e-6]
    mates.sort(key=lambda other: other.line != item.line)  # its neighbours of the same line first

    def swapped(smaller: bool) -> tuple[str, ...]:
        near = [f"{other.ref} ({shown(other.value or 0.0, other.unit)})" for other in mates if ((other.value or 0.0) < size) == smaller][:3]
        return (f"swapped with {' or '.join(near)}",) if near else ()

    shorted = f"short across {item.ref}, or a part still plugged in lies beside it"
    return (
        _few([*swapped(True), shorted, f"{item.ref} has too small a value: read its bands"]),
        _few([*swapped(False), f"{item.ref} has too large a value: read its bands"]),
        _few([f"{item.ref} not soldered or plugged at one end", "a wire of its net is missing"]),
    )


def of_short(names: Iterable[str]) -> tuple[str, ...]:
    """Causes of a resistance that is too low between two nets that should not be joined.

    Parameters
    ----------
    names : the two, in words [-]
    """
    pair = " and ".join(names)
    return _few([f"solder bridge or stray strand between {pair}", "two wires swapped at the strip", "a part plugged in turned round"])


def of_current(loads: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Causes of a supply current that is too low, too high, or none.

    Parameters
    ----------
    loads : what hangs on the supply, largest first [-]
    """
    largest = f"one of these stuck on or turned round: {', '.join(loads[:4])}" if loads else "a part turned round"
    return (
        ("a rail is not joined: measure every rail again",),
        _few(["a short the ohmmeter did not find: switch off, touch what is warm", largest, "supply wires swapped: switch off at once"]),
        ("supply off, its fuse blown, or its plus not joined", "the board's power switch or jumper is open"),
    )


def _few(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))[:MOST]
