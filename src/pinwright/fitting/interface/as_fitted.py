"""The circuit a maker says is there, built from exactly what the brief lists under ``fitted``; margins for those values.

Levels and pulls that do not hold are told by the rules of the review, which know why and what to do; only what holds is a check.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pinwright.brief.fitted import FittedPiece
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.fitting.interface.analog import reading, reading_source_ohm, source_max_ohm, unit_of
from pinwright.fitting.interface.bus import with_bus_pulls
from pinwright.fitting.interface.levels import divided_high, plain_checks
from pinwright.fitting.interface.pieces import Check, Circuit, Element, Piece, one_by_one
from pinwright.fitting.interface.pulls import pull_window
from pinwright.fitting.interface.synthesis import circuit_for
from pinwright.fitting.lines import Line
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench

__all__ = ["absent", "as_fitted", "circuits_of_net", "is_as_built", "line_as_built", "with_accuracy"]

WHY = "the brief says it is fitted"
PULL_OFF = "module pull-up off"
SOURCE, ACCURACY = "source of the reading", "accuracy of the reading"
"""Names of the checks the review has rules of their own for."""
_PULLS = ("pull-up", "pull-down", "internal pull")
_SERVED_BY = {
    "driver": ("driver", "series resistor"),
    "level shifter": ("level shifter", "divider", "driver"),
    "divider": ("divider", "level shifter"),
    "series resistor": ("series resistor", "driver"),
    "pull-up": ("pull-up", "level shifter"),
}
"""What stands in for an element of the circuit Pinwright would fit."""


def is_as_built(lines: Iterable[Line]) -> bool:
    """Whether the brief says for one of these lines what is fitted."""
    return any(line.fitted is not None for line in lines)


def line_as_built(line: Line) -> Line:
    """The line without the pull its module carries, where the brief says that one is off."""
    if line.fitted is None or not any(piece.kind == PULL_OFF for piece in line.fitted):
        return line
    return replace(line, asks=replace(line.asks, pull_fitted=None))


def circuits_of_net(lines: Sequence[Line], place: Place, board: BoardView, bench: Bench, max_hz: float) -> list[Circuit]:
    """Circuit of each line at one pin: what is fitted where the brief says so, else what the line needs.

    Once one line on a wire has a list, the pull resistors of the wire are those in the lists.
    """
    if not is_as_built(lines):
        each = [circuit_for(line.asks, place, board, bench) for line in lines]
        return list(one_by_one(with_bus_pulls(lines, each, place, board, bench, max_hz)))
    circuits = []
    for line in lines:
        if line.fitted is not None:
            circuits.append(as_fitted(line, place, board, bench))
            continue
        needed = circuit_for(line.asks, place, board, bench)
        kept = tuple(e for e in needed.elements if e.kind not in _PULLS) if len(lines) > 1 else needed.elements
        circuits.append(Circuit(kept, needed.checks, needed.fails))
    return circuits


def as_fitted(line: Line, place: Place, board: BoardView, bench: Bench) -> Circuit:
    """Circuit of one line from what the brief lists, and the checks these values pass."""
    elements = tuple(_element(piece, board, bench) for piece in line.fitted or () if piece.kind != PULL_OFF)
    try:
        checks = tuple(_checks(line, elements, place, board, bench))
    except OutOfRange:
        checks = ()
    return Circuit(elements, checks)


def absent(needed: Iterable[Element], circuits: Iterable[Circuit]) -> Iterator[Element]:
    """Elements Pinwright would fit and the brief does not list, nor anything that does their work."""
    kinds = {element.kind for circuit in circuits for element in circuit.elements}
    for element in needed:
        if element.components and not kinds & set(_SERVED_BY.get(element.kind, (element.kind,))):
            yield element


# ------------------------------------------------------------------------------ elements


def _element(piece: FittedPiece, board: BoardView, bench: Bench) -> Element:
    tolerance = f"{bench.tolerance * 100:g} %"
    if piece.kind in ("pull-up", "pull-down"):
        return _pull(piece, board, tolerance)
    if piece.kind == "series":
        resistor = Piece("resistor", "series", piece.ohm, rating=tolerance, origin="fitted", why=WHY)
        return Element("series resistor", f"{shown(piece.ohm or 0.0)} in series", 0, WHY, piece.ohm, (resistor,))
    if piece.kind == "divider":
        pair = tuple(
            Piece("resistor", role, ohm, rating=tolerance, origin="fitted", why=WHY)
            for role, ohm in (("upper", piece.ohm), ("lower", piece.lower_ohm))
        )
        words = f"divider {shown(piece.ohm or 0.0)} over {shown(piece.lower_ohm or 0.0)}"
        return Element("divider", words, 0, WHY, piece.ohm, pair)
    if piece.kind == "capacitor":
        capacitor = Piece("capacitor", "from the pin to ground", piece.farads, "F", origin="fitted", why=WHY)
        return Element("capacitor", f"{shown(piece.farads or 0.0, 'F')} to ground", 0, WHY, None, (capacitor,))
    if piece.kind == "transistor":
        return Element("driver", "transistor stage", 0, WHY, None, (Piece("transistor", "switch", origin="fitted", why=WHY),))
    return Element(piece.kind, piece.kind, 0, WHY, None, (Piece(piece.kind, origin="fitted", why=WHY),))


def _pull(piece: FittedPiece, board: BoardView, tolerance: str) -> Element:
    logic_v = board.board.logic_v
    to_v = piece.to_v if piece.to_v is not None and abs(piece.to_v - logic_v) > 0.05 else None
    to = "ground" if piece.kind == "pull-down" else shown(to_v if to_v is not None else logic_v, "V")
    resistor = Piece("resistor", piece.kind, piece.ohm, rating=tolerance, origin="fitted", why=WHY)
    return Element(piece.kind, f"{shown(piece.ohm or 0.0)} to {to}", 0, WHY, piece.ohm, (resistor,), to_v)


# ------------------------------------------------------------------------------ margins of these values


def _checks(line: Line, elements: tuple[Element, ...], place: Place, board: BoardView, bench: Bench) -> Iterator[Check]:
    asks, kinds = line.asks, {element.kind for element in elements}
    divider = next((element for element in elements if element.kind == "divider"), None)
    if divider is not None and asks.signal != "analog" and asks.reads:
        check = divided_high(asks, board, divider, bench.tolerance)
        if check.holds:
            yield check
    elif not kinds & {"divider", "level shifter", "driver"} and asks.signal not in ("analog", "touch"):
        yield from plain_checks(asks, board)
    for element in elements:
        if element.kind in ("pull-up", "pull-down") and element.ohm and element.to_v is None and asks.signal != "i2c":
            direction = element.kind.removeprefix("pull-")
            window = pull_window(asks, direction, place, board, bench)
            if element.ohm in window:
                words = f"{shown(element.ohm)}, allowed {window.words}"
                yield Check(element.kind, words, window.high.value - element.ohm, "Ω", f"pulls.pull_{direction}_plan")
    unit = unit_of(place, board) if asks.direction == "analog-in" else None
    if unit is not None:
        source, (most, whose) = reading_source_ohm(asks, elements), source_max_ohm(unit)
        words = f"the source looks like {shown(source)}, the converter takes {shown(most)} ({whose})"
        yield Check(SOURCE, words, most - source, "Ω", "settling.source_r_max", source <= most or "capacitor" in kinds)


# ------------------------------------------------------------------------------ accuracy of a reading


def with_accuracy(circuit: Circuit, line: Line, place: Place, board: BoardView, bench: Bench) -> Circuit:
    """The circuit with the check of the accuracy its brief asks for, where it asks for one."""
    asks = line.asks
    if asks.accuracy is None or asks.curve is None:
        return circuit
    found, unit = reading(asks, place, board, bench, circuit.elements), asks.curve.unit
    if found is None:
        words = f"an accuracy of {asks.accuracy:g} {unit} is asked for, and what this reading is worth cannot be told"
        return Circuit(circuit.elements, (*circuit.checks, Check(ACCURACY, words, 0.0, unit, "chain.budget", False)), circuit.fails)
    worst = max(abs(found.worst.low), abs(found.worst.high))
    words = (
        f"an accuracy of {asks.accuracy:g} {unit} is asked for; "
        f"at {found.at:.3g} {unit} the reading is off by {worst:.2g} {unit} at worst, "
        f"likely by {found.rss:.2g} {unit}, most of it from {found.main}{_error_words(place, board, found.range_name)}"
    )
    check = Check(ACCURACY, words, asks.accuracy - worst, unit, "chain.budget", worst <= asks.accuracy)
    return Circuit(circuit.elements, (*circuit.checks, check), circuit.fails)


def _error_words(place: Place, board: BoardView, range_name: str) -> str:
    unit = unit_of(place, board)
    error_v = next((area.error_v for area in unit.ranges if area.name == range_name), None) if unit else None
    return f" (up to {shown(error_v, 'V')} in its {range_name} range)" if error_v else ""
