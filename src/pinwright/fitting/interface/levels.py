"""Do the levels of pin and part suit each other, and what to put between them where they do not."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.circuits.dividers import Design, design, divider_out, source_resistance
from pinwright.circuits.i2c import C_CABLE_F_PER_M
from pinwright.circuits.logic import Band
from pinwright.circuits.pulls import rise_time
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.facts.model import Level
from pinwright.fitting.interface.analog import source_max_ohm, unit_of
from pinwright.fitting.interface.pieces import Check, Element, Piece
from pinwright.fitting.interface.rails import board_rail, part_rail, pin_driver, pin_receiver, vin_max_v
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench
from pinwright.powerup.phases import leak_of_pin

__all__ = ["Gap", "divided_high", "gap", "level_elements", "plain_checks", "presented_v"]

_TOLERANCE_V = 1e-6
C_PIN_F = 10e-12
"""Capacitance of an input nobody gives a figure for [F]  [UM10204 r5, table 10: at most 10 pF a pin]."""
BUS_SINK_A = 3e-3
"""What a pin sinks from the pull-up of a shared wire at most [A]  [UM10204 r5, table 9]."""
SHIFTER_MAX_V = 5.5
"""Highest voltage an ordinary logic shifter takes [V] (common practice, no source)."""
FINE_TOLERANCE = 0.01
"""Tolerance of the resistors bought where the usual ones leave no margin  [E96 series, IEC 60063]."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Smallest distance of one level above another over the supplies [V], and the two levels where it is smallest."""

    margin_v: float
    above_v: float
    below_v: float

    def words(self, above: str, below: str) -> str:
        """The inequality with its numbers: ``0.31 V above VIH (2.79 V against 2.48 V)``."""
        side = "above" if self.margin_v >= 0 else "below"
        return f"{above} lies {shown(abs(self.margin_v), 'V')} {side} {below} ({self.above_v:.3g} V against {self.below_v:.3g} V)"


def gap(above: Band, above_rail: Range, below: Band, below_rail: Range | None) -> Gap:
    """Smallest margin of a level above another: at one end of a common rail, or at the worst ends of two.   [JESD8C.01]"""

    def level(band: Band, volts: float) -> float:
        return band.fraction * volts + band.offset_v

    if below_rail is None:
        pairs = [(level(above, v), level(below, v)) for v in (above_rail.low, above_rail.high)]
    else:
        lowest = min(level(above, above_rail.low), level(above, above_rail.high))
        pairs = [(lowest, max(level(below, below_rail.low), level(below, below_rail.high)))]
    high, low = min(pairs, key=lambda pair: pair[0] - pair[1])
    return Gap(high - low, high, low)


def level_elements(asks: Asks, place: Place, board: BoardView, bench: Bench) -> tuple[list[Element], list[Check], str]:
    """Elements the levels need, the checks they pass, and what fails where nothing helps."""
    elements: list[Element] = []
    checks: list[Check] = []
    fails = ""
    too_high, fails = _too_high(asks, place, board, bench)
    elements += too_high
    if elements or asks.signal in ("analog", "touch"):
        checks += [
            divided_high(asks, board, element, _tolerance_of(element))
            for element in elements
            if element.kind == "divider" and asks.signal != "analog"
        ]
        return elements, checks, fails
    for found in (*_read(asks, board), *_driven(asks, board)):
        if isinstance(found, Check):
            checks.append(found)
        elif not any(element.kind == found.kind for element in elements):
            elements.append(found)
    return elements, checks, fails


def plain_checks(asks: Asks, board: BoardView) -> list[Check]:
    """Level checks of a straight wire, as far as they hold."""
    return [found for found in (*_read(asks, board), *_driven(asks, board)) if isinstance(found, Check) and found.holds]


# ------------------------------------------------------------------------------ the pin reads


def _read(asks: Asks, board: BoardView) -> Iterator[Element | Check]:
    if asks.direction != "in":
        return
    rail, other, reads = board_rail(board), part_rail(asks, board), pin_receiver(board.chip)
    if asks.voh:
        mine = _of(asks.voh, board, other)
        high = gap(_band(asks.voh), mine or rail, reads.vih, None if mine is None else rail)
        if high.margin_v < -_TOLERANCE_V:
            yield Element("level shifter", "level shifter up", 1, high.words("the part's high", "what the pin wants"))
        else:
            yield Check("high the pin reads", high.words("the part's high", "VIH of the pin"), high.margin_v, "V", "levels.margin_high")
    if asks.vol:
        mine = _of(asks.vol, board, other)
        low = gap(reads.vil, rail, _band(asks.vol), mine)
        words = low.words("VIL of the pin", "the part's low")
        yield Check("low the pin reads", words, low.margin_v, "V", "levels.margin_low", low.margin_v >= -_TOLERANCE_V)


# ------------------------------------------------------------------------------ the pin drives


def _driven(asks: Asks, board: BoardView) -> Iterator[Element | Check]:
    """Whether the board's high is high enough for the part, and not too high."""
    if not asks.drives:
        return
    rail, other = board_rail(board), part_rail(asks, board)
    takes = _highest_taken_v(asks, board)
    if takes is not None and board.board.logic_v > takes + _TOLERANCE_V:
        words = "level shifter down" if asks.direction == "out" else "two-way level shifter"
        yield Element("level shifter", words, 1, f"the board's high is {board.board.logic_v:.2g} V, the part takes {takes:.2g} V")
        return
    shared = asks.direction in ("open-drain", "bidir")
    gives = pin_driver(board.chip, max(asks.i_in_a, BUS_SINK_A) if shared else asks.i_in_a)
    if asks.vih and asks.direction == "open-drain" and not asks.pull_fitted:
        rests = gap(Band(1.0, 0.0), rail, _band(asks.vih), _of(asks.vih, board, other))  # a pull to the board's own supply makes the high
        if rests.margin_v < -_TOLERANCE_V:
            yield Element("level shifter", "two-way level shifter", 1, rests.words("the wire's rest", "what the part wants"))
            return
    if asks.vih and asks.direction != "open-drain":
        theirs = _of(asks.vih, board, other)
        high = gap(gives.voh, rail, _band(asks.vih), theirs)
        if high.margin_v < -_TOLERANCE_V:
            yield Element("level shifter", "level shifter up", 1, high.words("the pin's high", "what the part wants"))
            return
        yield Check("high the part reads", high.words("the pin's high", "VIH of the part"), high.margin_v, "V", "levels.margin_high")
    if asks.vil:
        theirs = _of(asks.vil, board, other)
        low = gap(_band(asks.vil), theirs or rail, gives.vol, None if theirs is None else rail)
        words = low.words("VIL of the part", "the pin's low")
        yield Check("low the part reads", words, low.margin_v, "V", "levels.margin_low", low.margin_v >= -_TOLERANCE_V)


def _highest_taken_v(asks: Asks, board: BoardView) -> float | None:
    """Highest voltage the part may see on a line the board drives; a part on a lower rail takes that and 0.3 V."""
    rail_v, logic_v = asks.rail.at(board.board.logic_v), board.board.logic_v
    if asks.v_max:
        return _at(asks.v_max, rail_v, logic_v)
    has_levels = asks.vih is not None or asks.vil is not None
    return rail_v + 0.3 if has_levels and rail_v < logic_v else None


def _band(level: Level) -> Band:
    return Band(level.frac, level.v)


def _of(level: Level, board: BoardView, other: Range | None) -> Range | None:
    """Rail a level of the part hangs on where it is not the board's own; a fixed level hangs on none."""
    return None if level.of == "VDD" else other


def _at(level: Level, rail_v: float, logic_v: float) -> float:
    return level.at(logic_v if level.of == "VDD" else rail_v)


# ------------------------------------------------------------------------------ too much for the pin


def presented_v(asks: Asks, board: BoardView) -> float | None:
    """Highest voltage the part can put on the line [V]; ``None`` where only a pull to the board's own supply makes the high."""
    logic_v = board.board.logic_v
    rail_v = asks.rail.at(logic_v)
    if asks.pull_fitted and asks.pull_fitted.direction == "up":
        return rail_v
    if asks.direction == "analog-in" or (asks.direction == "in" and (asks.voh or asks.needs.pull == "none")):
        level = asks.v_max or asks.voh
        return _at(level, rail_v, logic_v) if level else None
    return _at(asks.voh, rail_v, logic_v) if asks.voh and asks.direction == "bidir" else None


def _too_high(asks: Asks, place: Place, board: BoardView, bench: Bench) -> tuple[list[Element], str]:
    """What brings a voltage down that is too high for the pin, and why nothing does where nothing does."""
    limit = vin_max_v(asks, place, board)
    high = presented_v(asks, board) if asks.reads or asks.direction == "analog-in" else None
    if high is None or high <= limit + _TOLERANCE_V or place.fitted("divider"):
        return [], ""
    why = f"the line can reach {high:.3g} V, the pin takes {limit:.3g} V"
    if asks.direction == "in" and (asks.pull_fitted or asks.needs.pull == "up"):
        # A divider would load the pull resistor that makes this high.
        if high > SHIFTER_MAX_V:
            return [], f"{why}, and no level shifter stands {high:.3g} V: put an opto-isolated input before the pin"
        return [Element("level shifter", "level shifter down", 1, why)], ""
    if asks.direction in ("in", "analog-in"):
        return _divider(asks, place, board, bench, high, why)
    return [Element("level shifter", "two-way level shifter", 1, why)], ""


def _divider(asks: Asks, place: Place, board: BoardView, bench: Bench, high_v: float, why: str) -> tuple[list[Element], str]:
    """Divider to the logic supply, or to the converter's range; the highest input is the part's supply at its highest.

    One the converter reads without a capacitor is taken before one it does not, from the stock before bought; resistors of
    the usual tolerance where the divided high is still read with them, finer ones where not.
    """
    rail = board_rail(board)
    fixed = asks.v_max is not None and asks.v_max.frac == 0
    highest = high_v if fixed or part_rail(asks, board) is None else high_v * 1.05
    wanted = min(rail.low, _range_top_v(place, board)) if asks.signal == "analog" else rail.high
    totals = [_total_max_ohm(asks)]
    if asks.signal == "analog":
        totals = [*(limit for limit in [_total_read_ohm(asks, place, board, wanted / highest)] if limit < totals[0]), *totals]
    buys = [(bench.resistors, bench.tolerance)] if bench.resistors else []
    buys += [((), bench.tolerance), ((), min(bench.tolerance, FINE_TOLERANCE))]
    found: list[Element] = []
    check: Check | None = None
    least = max(5e3, 10 * (asks.r_in_ohm or 0.0)) if asks.direction == "in" else 5e3  # the part's own resistance must not matter
    for total, (stock, tolerance) in itertools.product(totals, buys):
        try:
            made = design(highest, wanted, tolerance=tolerance, i_leak_a=leak_of_pin(board.chip), total_low_ohm=min(least, total),
                          total_high_ohm=total, n=min(bench.series, 24), stock=stock)  # fmt: skip
        except OutOfRange:
            continue
        found = [_divider_element(made, "stock" if stock else f"E{min(bench.series, 24)}", tolerance, why)]
        check = None if asks.signal == "analog" else divided_high(asks, board, found[0], tolerance)
        if check is None or check.holds:
            break
    else:
        if found and check is not None and high_v > SHIFTER_MAX_V:
            reason = f"{why}; behind a divider {check.words}, and no level shifter stands {high_v:.3g} V"
            return [], f"{reason}: put an opto-isolated input before the pin"
        if found and check is not None:  # what divides the highest high enough leaves too little of the lowest
            return [Element("level shifter", "level shifter down", 1, f"{why}; behind a divider {check.words}")], ""
    if not found:
        return [], f"no divider brings {highest:.3g} V down to {wanted:.3g} V with resistors of at most {shown(totals[-1])} in all"
    return found, ""


def _divider_element(made: Design, origin: str, tolerance: float, why: str) -> Element:
    pieces = tuple(
        Piece("resistor", role, ohm, rating=f"{tolerance * 100:g} %", origin=origin, why=made.words, formula="dividers.design")
        for role, ohm in (("upper", made.top_ohm), ("lower", made.bottom_ohm))
    )
    return Element("divider", f"divider {shown(made.top_ohm)} over {shown(made.bottom_ohm)}", 2, why, made.top_ohm, pieces)


def _range_top_v(place: Place, board: BoardView) -> float:
    """Top of the converter's widest range [V]; what a board divides by itself reaches further."""
    unit = unit_of(place, board)
    if unit is None or place.fitted("divider") is not None:
        return float("inf")
    return max((area.v_max_v for area in unit.ranges), default=float("inf"))


def _total_read_ohm(asks: Asks, place: Place, board: BoardView, ratio: float) -> float:
    """Largest sum of a divider that the converter still reads without a capacitor [ohm]: sum · ratio · (1 - ratio) is its source."""
    unit = unit_of(place, board)
    if unit is None:
        return float("inf")
    most = source_max_ohm(unit)[0] * 0.95  # the pair found divides a little more than asked
    return max((most - (asks.r_in_ohm or 0.0)) / (ratio * (1 - ratio)), 0.0)


def _tolerance_of(element: Element) -> float:
    """Tolerance its resistors are bought with, as a share [-]."""
    return float(element.pieces[0].rating.split()[0]) / 100


def _total_max_ohm(asks: Asks) -> float:
    """Largest sum of a divider [ohm]: fast signals need a stiff one (common practice, no source)."""
    return 30e3 if asks.signal in ("uart", "spi", "pulse", "i2s") else 100e3


def divided_high(asks: Asks, board: BoardView, element: Element, tolerance: float) -> Check:
    """The lowest high behind a divider, at its worst corner, against the pin's VIH; and how long its edge takes."""
    upper, lower = ((piece.value or 0.0) * (1 + side * tolerance) for piece, side in zip(element.pieces, (1, -1), strict=True))
    rail = board_rail(board)
    wanted = pin_receiver(board.chip).vih
    level = asks.voh or asks.v_max
    high_v = _at(level, asks.rail.at(board.board.logic_v) * (0.95 if level.frac else 1.0), board.board.logic_v) if level else 0.0
    own = (asks.r_in_ohm or 0.0) if asks.direction == "in" else 0.0  # what the part has in series already lies above the divider
    out = divider_out(high_v, upper + own, lower, leak_of_pin(board.chip))
    needs = max(wanted.fraction * rail.low, wanted.fraction * rail.high) + wanted.offset_v
    top_ohm, bottom_ohm = (piece.value or 0.0 for piece in element.pieces)
    nominal = source_resistance(top_ohm + own, bottom_ohm)
    edge = rise_time(nominal, C_PIN_F + asks.wire_m * C_CABLE_F_PER_M)
    words = Gap(out - needs, out, needs).words("the divided high", "VIH of the pin") + f"; its edge takes {shown(edge, 's')}"
    return Check("high the pin reads", words, out - needs, "V", "dividers.divider_out", out >= needs - _TOLERANCE_V)
