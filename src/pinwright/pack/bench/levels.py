"""What a part puts on its line, high, low or at rest, as the pin sees it."""

from __future__ import annotations

from typing import Literal

from pinwright.circuits.ranges import Range
from pinwright.facts.model import Level
from pinwright.fitting.interface.rails import part_rail
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.rig import Rig

__all__ = ["CONTACT_V", "does_contact", "is_contact", "part_gives", "resting"]

CONTACT_V = 0.1
"""Most a closed contact and its wire lose against a pull [V]: 100 Ω at 1 mA (common practice, no source)."""
_SHIFTED_LOW_V = 0.4
"""Highest low of a level shifter's output nobody gives a figure for [V]  [TTL levels, JESD8C.01, from memory]."""
Side = Literal["high", "low"]


def is_contact(placed: Placed) -> bool:
    """Whether the line is a contact or an open collector: somebody else makes one of its levels with a pull.

    Parameters
    ----------
    placed : the line on its pin [-]
    """
    asks = placed.line.asks
    return asks.direction == "in" and asks.voh is None and (asks.needs.pull != "none" or asks.pull_fitted is not None)


def does_contact(placed: Placed) -> Side:
    """Level a contact makes when it closes: against its pull.

    Parameters
    ----------
    placed : a line that ``is_contact`` [-]
    """
    asks = placed.line.asks
    direction = asks.needs.pull if asks.needs.pull != "none" else (asks.pull_fitted.direction if asks.pull_fitted else "up")
    return "high" if direction == "down" else "low"


def part_gives(rig: Rig, placed: Placed, side: Side) -> Range | None:
    """What the part puts on its line [V]; ``None`` where it lets go.  Behind a level shifter: what the shifter gives the pin.

    Parameters
    ----------
    rig : the build [-]
    placed : a line the part drives [-]
    side : the level it gives [-]
    """
    asks = placed.line.asks
    if is_contact(placed):
        if side != does_contact(placed):
            return None
        rail = rig.rail
        own = asks.vol
        if side == "low":
            return Range(0.0, max(CONTACT_V, _at(own, rig, placed)[1]) if own is not None else CONTACT_V, 0.0)
        return Range(rail.low - CONTACT_V, rail.high, rail.middle)
    if placed.circuit.of("level shifter") is not None:
        if side == "low":
            return Range(0.0, _SHIFTED_LOW_V, 0.0)
        return Range(min(rig.threshold("vih"), rig.rail.low), rig.rail.high, rig.rail.middle)
    rail = part_rail(asks, rig.build.plan.view) or rig.rail
    if side == "low":
        top = _at(asks.vol, rig, placed)[1] if asks.vol is not None else rig.threshold("vil")
        return Range(0.0, max(top, 0.0), 0.0)
    if asks.voh is None and asks.direction in ("open-drain", "bidir"):
        return None
    low = _at(asks.voh, rig, placed)[0] if asks.voh is not None else rig.threshold("vih")
    # Where a brief names only the lowest high, that is no ceiling.
    is_ceiling = asks.v_max is not None and asks.v_max.frac == 0 and asks.v_max != asks.voh
    top = max(_at(asks.v_max, rig, placed)[1] if is_ceiling else rail.high, low)
    low = min(low, top)
    return Range(low, top, min(max(rail.middle, low), top))


def _at(level: Level | None, rig: Rig, placed: Placed) -> tuple[float, float]:
    """A level of the part over its supply [V]."""
    assert level is not None
    rail = rig.rail if level.of == "VDD" else part_rail(placed.line.asks, rig.build.plan.view) or rig.rail
    ends = sorted((level.at(rail.low), level.at(rail.high)))
    return ends[0], ends[1]


def resting(rig: Rig, placed: Placed) -> tuple[str, Range | None]:
    """How a part leaves its line while nothing happens: in words, and its voltage [V] (``None``: it lets go).

    Parameters
    ----------
    rig : the build [-]
    placed : a line the part drives [-]
    """
    asks = placed.line.asks
    if is_contact(placed):
        closed = does_contact(placed)
        if asks.rest == closed:
            return "closed at rest", part_gives(rig, placed, closed)
        return "open" if asks.vol is None else "letting go", None
    if asks.rest == "high":
        return "at rest: high", part_gives(rig, placed, "high")
    if asks.rest == "low":
        return "at rest: low", part_gives(rig, placed, "low")
    if asks.rest == "released" or asks.direction in ("open-drain", "bidir"):
        return "let go", None
    high = part_gives(rig, placed, "high")
    return "high or low", Range(0.0, high.high if high is not None else rig.rail.high)
