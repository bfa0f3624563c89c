"""Pull-ups of a shared bus wire: one window for all parts, wires and the pull-ups their modules already carry."""

from __future__ import annotations

from collections.abc import Sequence

from pinwright.circuits.i2c import Fitted, bus_capacitance, bus_window, fitted_pulls
from pinwright.circuits.preferred import preferred
from pinwright.circuits.pulls import parallel
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import Choice, Window, shown
from pinwright.errors import OutOfRange
from pinwright.fitting.interface.pieces import Check, Circuit, Element, Piece
from pinwright.fitting.interface.rails import FIVE_VOLT_TOLERANCE, board_rail, spread
from pinwright.fitting.lines import Line
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench
from pinwright.powerup.proof import USUAL_PULL_OHM

__all__ = ["I2C_PULL_OHM", "with_bus_pulls"]

I2C_PULL_OHM = 4700.0
"""Pull-up of a bus where the window gives no choice (common practice, no source)."""
_MODES = (("fast", 400e3), ("standard", 100e3))
"""Speeds worth planning for: a faster one needs strong pull-ups, and no sensor or display needs it (our choice)."""
_MOST_FITTED = 12


def with_bus_pulls(
    lines: Sequence[Line], circuits: Sequence[Circuit], place: Place, board: BoardView, bench: Bench, max_hz: float
) -> list[Circuit]:
    """The circuits of all lines on one I2C wire, the first one with what the wire's pull-ups need.

    Parameters
    ----------
    lines : all lines on the wire [-]
    circuits : what each needs by itself [-]
    place, board : the pin [-]
    bench : resistors to choose from [-]
    max_hz : clock of the bus [Hz]
    """
    if not lines or lines[0].asks.signal != "i2c":
        return list(circuits)
    circuits = _apart(lines, circuits, board)
    try:
        elements, check = _pulls(lines, circuits, place, board, bench, max_hz)
    except OutOfRange as error:
        elements, check = [], Check("rise of the bus", f"cannot be calculated: {error}", 0.0, "s", "i2c.bus_window", False)
    first = circuits[0]
    return [Circuit((*first.elements, *elements), (*first.checks, check), first.fails), *circuits[1:]]


def _apart(lines: Sequence[Line], circuits: Sequence[Circuit], board: BoardView) -> list[Circuit]:
    """A part whose pull-ups draw the wire to a higher rail stands behind a shifter where others share the wire at the board's voltage."""
    logic_v = board.board.logic_v
    higher = [bool(line.asks.pull_fitted) and line.asks.rail.at(logic_v) > logic_v + 0.3 for line in lines]
    if all(higher):
        return list(circuits)
    return [
        Circuit((*circuit.elements, _shifter(line, logic_v)), circuit.checks, circuit.fails)
        if is_higher and not circuit.of("level shifter")
        else circuit
        for line, circuit, is_higher in zip(lines, circuits, higher, strict=True)
    ]


def _shifter(line: Line, logic_v: float) -> Element:
    why = f"its pull-ups draw the wire to {line.asks.rail.at(logic_v):.3g} V, and other parts share it at {logic_v:.3g} V"
    return Element("level shifter", "two-way level shifter", 1, why)


def _pulls(
    lines: Sequence[Line], circuits: Sequence[Circuit], place: Place, board: BoardView, bench: Bench, max_hz: float
) -> tuple[list[Element], Check]:
    """Elements and check of all pull-ups on the board's side; a shifter brings its own and hides those behind it."""
    behind = [circuit.of("level shifter") is not None for circuit in circuits]
    fitted = [
        line.asks.pull_fitted.ohm or USUAL_PULL_OHM
        for line, hides in zip(lines, behind, strict=True)
        if line.asks.pull_fitted and not hides
    ]
    fitted += [USUAL_PULL_OHM] * any(behind)
    on_board = place.fitted("pull-up")
    if on_board is not None:
        fitted.insert(0, on_board.ohm or USUAL_PULL_OHM)
    capacitance = bus_capacitance(len(lines) + 1, sum(line.asks.wire_m for line in lines))
    rail = _rail_of(lines, place, board)
    for name, hz in _MODES:
        window = bus_window(name, rail, capacitance, tolerance=bench.tolerance)
        advice = fitted_pulls(window, fitted[:_MOST_FITTED], bench.resistors)
        if hz <= max_hz * 1.001 and advice.action != "none":
            break
    if advice.action == "none":
        advice = _strongest(window, fitted, advice)
    together = advice.after_ohm if advice.after_ohm is not None else advice.together_ohm
    slower = "" if hz >= min(max_hz, 400e3) else f"; keep the bus at {shown(hz, 'Hz')} or slower"
    return _elements(advice, window, fitted, rail, board), _check(
        window, together, advice, f"{shown(capacitance, 'F')} on the wire{slower}"
    )


def _rail_of(lines: Sequence[Line], place: Place, board: BoardView) -> Range:
    """Rail the wire rests at: that of the parts where all of them draw it higher and the pad stands it."""
    logic_v = board.board.logic_v
    rails = [line.asks.rail.at(logic_v) for line in lines if line.asks.pull_fitted]
    if len(rails) == len(lines) and min(rails) > logic_v + 0.3 and place.pad.tolerates_5v:
        return spread(max(rails), FIVE_VOLT_TOLERANCE)
    return board_rail(board)


def _strongest(window: Window, fitted: list[float], advice: Fitted) -> Fitted:
    """No value is right: then the strongest the parts can pull low, which rises soonest."""
    now = parallel(*fitted) if fitted else None
    least = window.low.value
    room = 1 / least - (1 / now if now else 0.0)
    if room <= 0:
        return advice
    ohm = preferred(1 / room, 24, "up")
    after = parallel(ohm, now) if now else ohm
    words = f"{advice.words}; {shown(ohm)} is the strongest that may be added, and rises soonest"
    return Fitted("add", now, after, (), Choice(ohm, "E24", words), words)


def _elements(advice: Fitted, window: Window, fitted: list[float], rail: Range, board: BoardView) -> list[Element]:
    own = abs(rail.middle - board.board.logic_v) < 0.3
    to = shown(board.board.logic_v, "V") if own else "the part's supply"
    if advice.add is not None:
        ohm = advice.add.value
        piece = Piece("resistor", "pull-up", ohm, window=window, origin=advice.add.origin, why=advice.words, formula="i2c.bus_window")
        found = [Element("pull-up", f"{shown(ohm)} to {to}", 1, "the bus rests high through a resistor", ohm, (piece,))]
    elif advice.action == "none" and not fitted:
        found = [
            Element(
                "pull-up", f"{shown(I2C_PULL_OHM)} to {to}", 1, advice.words, I2C_PULL_OHM, (Piece("resistor", "pull-up", I2C_PULL_OHM),)
            )
        ]
    else:
        found = []
    if advice.remove:
        gone = tuple(fitted[number] for number in advice.remove)
        words = f"take off fitted pull-ups of {', '.join(map(shown, gone))}"
        found.append(Element("module pull-ups off", words, 0, advice.words, off_ohm=gone))
    return found


def _check(window: Window, together: float | None, advice: Fitted, where: str) -> Check:
    """Whether all pull-ups together lie in the window: the margin is the distance to its upper end."""
    if together is None:
        return Check("pull-ups of the bus", f"{advice.words}; {where}", 0.0, "Ω", "i2c.bus_window", False)
    words = f"{shown(together)} in all, {'' if window.is_empty else 'allowed '}{window.words}; {where}"
    return Check("pull-ups of the bus", words, window.high.value - together, "Ω", "i2c.bus_window", together in window)
