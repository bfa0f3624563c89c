"""What several rules need: findings from wires, the wires of each pin, and citations of chips, boards and parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pinwright.facts.model import Level, Part, PartLine
from pinwright.fitting.interface import Circuit
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.review.model import Finding, Severity, Wire, Wiring

__all__ = [
    "PRACTICE",
    "board_finding",
    "found",
    "has",
    "joined_names",
    "level_v",
    "part_cite",
    "part_line",
    "pins",
    "rail_v",
    "strap_cite",
]

PRACTICE = "common practice, no source"
"""What a rule names as its source when it rests on experience only."""


def found(
    rule: str,
    severity: Severity,
    wire: Wire,
    because: Iterable[str],
    fix: str,
    numbers: dict[str, str] | None = None,
    sources: Iterable[str] = (),
) -> Finding:
    """A finding about one wire."""
    cited = tuple(dict.fromkeys(source for source in sources if source))
    return Finding(rule, severity, wire.line.id, wire.place.name, tuple(because), numbers or {}, cited, fix)


def board_finding(
    rule: str,
    severity: Severity,
    because: Iterable[str],
    fix: str,
    line: str = "",
    numbers: dict[str, str] | None = None,
    sources: Iterable[str] = (),
) -> Finding:
    """A finding about the device as a whole, or about a line without a pin."""
    return Finding(rule, severity, line, "", tuple(because), numbers or {}, tuple(dict.fromkeys(s for s in sources if s)), fix)


def pins(wiring: Wiring) -> Iterator[tuple[Place, list[Wire]]]:
    """Every pin in use with the wires joined there, in the order of the wires."""
    by_pad: dict[str, list[Wire]] = {}
    for wire in wiring.wires:
        by_pad.setdefault(wire.place.pad.name, []).append(wire)
    for wires in by_pad.values():
        yield wires[0].place, wires


def joined_names(names: Iterable[str]) -> str:
    """Names as people list them: ``a``, ``a and b``, ``a, b and c``; each once."""
    unique = list(dict.fromkeys(names))
    return unique[0] if len(unique) == 1 else f"{', '.join(unique[:-1])} and {unique[-1]}"


def has(circuit: Circuit, *kinds: str) -> bool:
    """Whether the circuit holds an element of one of these kinds."""
    return any(element.kind in kinds for element in circuit.elements)


def rail_v(asks: Asks, view: BoardView) -> float:
    """Voltage [V] the part runs at beside this board."""
    return asks.rail.at(view.board.logic_v)


def level_v(level: Level, asks: Asks, view: BoardView) -> float:
    """Voltage [V] of one of the part's levels beside this board."""
    return level.at(view.board.logic_v if level.of == "VDD" else rail_v(asks, view))


# ------------------------------------------------------------------------------ citations


def strap_cite(view: BoardView, place: Place) -> str:
    """Where the strap of a pin is documented."""
    strap = place.pad.strap
    return view.chip_cite(strap) if strap and strap.src else view.column_cite("strap", place.pad)


def part_line(wiring: Wiring, wire: Wire) -> PartLine | None:
    """The catalogue's entry for a wire's line, if the part is of the catalogue."""
    part = _part(wiring, wire)
    if part is None:
        return None
    name = wire.line.name
    return next((line for line in part.line if name == line.name or (line.count > 1 and name.rstrip("0123456789") == line.name)), None)


def _part(wiring: Wiring, wire: Wire) -> Part | None:
    kind = next((device.kind for device in wiring.devices if device.name == wire.line.part), "")
    return wiring.catalogue_parts.get(kind)


def part_cite(wiring: Wiring, wire: Wire, *levels: str) -> str:
    """Where a part's figures come from: document and place, marked where recalled; the brief for parts of one's own."""
    part, line = _part(wiring, wire), part_line(wiring, wire)
    if part is None or line is None:
        return wire.line.place
    items = [getattr(line, name) for name in levels if getattr(line, name) is not None and getattr(line, name).src]
    texts = []
    for item in items or [line]:
        titles = {source.id: source.title for source in part.source}
        first = item.src.split(";")[0].strip()
        text = f"{titles.get(first, first)}, {item.where}" if item.where else titles.get(first, first)
        texts.append(f"{text} (recalled)" if text and item.seen == "memory" else text)
    return "; ".join(dict.fromkeys(texts))
