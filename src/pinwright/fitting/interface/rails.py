"""Supplies and levels of both ends of a wire over tolerance: what the pin gives and wants, what the part gives and wants."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pinwright.circuits.logic import Band, Driver, Margins, Receiver, compatibility
from pinwright.circuits.ranges import Range
from pinwright.facts.model import Chip, Electrical, Fact, Level
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place

__all__ = [
    "FIVE_VOLT_TOLERANT_V",
    "Ends",
    "PinHigh",
    "board_rail",
    "margins",
    "part_rail",
    "pin_driver",
    "pin_high",
    "pin_receiver",
    "spread",
    "vin_max_v",
]

FIVE_VOLT_TOLERANT_V = 5.5
"""What a pad called 5 V tolerant may see [V]: a 5 V supply and its tolerance."""
RAIL_TOLERANCE = 0.03
"""Spread of a board's logic supply where its regulator's is not known (common practice, no source)."""
FIVE_VOLT_TOLERANCE = 0.05
"""Spread of a 5 V supply: 4.75 to 5.25 V  [USB 2.0, 7.2.2, at the source]."""


def spread(volts: float, tolerance: float) -> Range:
    """Range of a supply [V]."""
    return Range.around(volts, tolerance)


def board_rail(board: BoardView) -> Range:
    """The board's logic supply over the tolerance of what makes it [V]."""
    if board.rail is not None:
        return board.rail
    return _rail(board.board.logic_v, tuple((r.v_out_v, r.tolerance) for r in board.board.regulator))


@lru_cache(maxsize=512)
def _rail(logic_v: float, made: tuple[tuple[float, float], ...]) -> Range:
    if logic_v >= 4.5:
        return spread(logic_v, FIVE_VOLT_TOLERANCE)
    known = [tolerance for volts, tolerance in made if abs(volts - logic_v) < 0.05]
    return spread(logic_v, max(known, default=RAIL_TOLERANCE))


def part_rail(asks: Asks, board: BoardView) -> Range | None:
    """The part's supply [V]; ``None`` where it shares the board's."""
    volts = asks.rail.at(board.board.logic_v)
    if abs(volts - board.board.logic_v) < 0.05:
        return None
    return spread(volts, FIVE_VOLT_TOLERANCE)


def vin_max_v(asks: Asks, place: Place, board: BoardView) -> float:
    """Highest voltage this line may put on the pin [V]; a tolerant pad is none while it measures."""
    if place.pad.tolerates_5v and asks.signal != "analog":
        return FIVE_VOLT_TOLERANT_V
    return board.chip.electrical.vin_max.at(board.board.logic_v)


def pin_driver(chip: Chip, i_load_a: float) -> Driver:
    """Levels a pad gives at a load.

    A MOS output is a resistor to its rail: at a part, or a multiple, of the load of the data sheet it loses that part of the
    drop (common practice, no source; the figure itself where the data sheet gives no load).
    """
    electrical = chip.electrical
    low = electrical.vol_max
    up, down = _part_of(i_load_a, electrical.voh_i_a), _part_of(i_load_a, electrical.vol_i_a)
    frac, drop_v = _high(electrical)
    return Driver(voh=Band(1 - (1 - frac) * up, drop_v * up), vol=Band(low.frac * down, low.v * down))


def _high(electrical: Electrical) -> tuple[float, float]:
    """High level as a share of the supply and volts on top; a figure in plain volts holds at the usual supply."""
    level = electrical.voh_min
    if level.frac or not electrical.vdd_typ_v.value:
        return level.frac, level.v
    return 1.0, level.v - electrical.vdd_typ_v.value


def _part_of(i_load_a: float, at: Fact | None) -> float:
    if at is None or not at.value:
        return 1.0
    return max(i_load_a / at.value, 0.02)


@dataclass(frozen=True, slots=True)
class PinHigh:
    """High level of a board's pins over the supply: level and the load it is promised at, and the rail [V]."""

    frac: float
    v: float
    at_a: float | None
    rail: Range

    def at(self, i_load_a: float) -> Range:
        """Lowest to highest level at a load [V]; never above the rail."""
        share = 1.0 if not self.at_a else max(i_load_a / self.at_a, 0.02)
        ends = [(1 - (1 - self.frac) * share) * volts + self.v * share for volts in (self.rail.low, self.rail.high)]
        return Range(max(min(*ends, self.rail.low), 0.0), self.rail.high)


def pin_high(board: BoardView) -> PinHigh:
    """High level of this board's pins."""
    electrical = board.chip.electrical
    at = electrical.voh_i_a.value if electrical.voh_i_a is not None else None
    return PinHigh(*_high(electrical), at, board_rail(board))


def pin_receiver(chip: Chip) -> Receiver:
    """Levels a pad reads."""
    return Receiver(vih=_band(chip.electrical.vih_min), vil=_band(chip.electrical.vil_max))


def _band(level: Level) -> Band:
    return Band(level.frac, level.v)


@dataclass(frozen=True, slots=True)
class Ends:
    """Driver and receiver of one wire with their supplies; ``receiver_rail`` is ``None`` on one common rail."""

    driver: Driver
    receiver: Receiver
    driver_rail: Range
    receiver_rail: Range | None


@lru_cache(maxsize=4096)
def margins(ends: Ends) -> Margins:
    """Noise margins of a wire over both supplies."""
    return compatibility(ends.driver, ends.receiver, ends.driver_rail, ends.receiver_rail)
