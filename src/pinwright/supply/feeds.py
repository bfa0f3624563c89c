"""Feeds: the wire and the fuse between a supply and what hangs on it, one cross-section for both."""

from __future__ import annotations

from dataclasses import dataclass

from pinwright.circuits.ampacity import Wire, thinnest
from pinwright.circuits.fuses import FusedFeed, fused_feed
from pinwright.circuits.wires import cable_drop, copper_temperature_factor, loop_resistance_max
from pinwright.errors import OutOfRange
from pinwright.supply.budget import Draw

__all__ = ["FUSE_FROM_A", "Feed", "feed_of"]

FUSE_FROM_A = 1.0
"""A feed of this current or more gets a fuse of its own (common practice, no source)."""
DROP_SHARE = 0.03
"""Share of its voltage a feed may lose (common practice, no source)."""
ASSUMED_M = 1.0
"""Length of a feed nobody gives one for [m] (our choice; findings say so)."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed: its wire, its length one way [m], what it loses there and back in a burst [V], and its fuse if it needs one.

    ``by_current``: thinnest wire that stands the current; ``wire`` is thicker where that one would lose too much.
    ``wire`` is ``None`` where none of the tables does, and ``because`` says why.
    """

    i_a: float
    length_m: float
    is_assumed: bool
    wire: Wire | None
    by_current: Wire | None
    drop_v: float
    fused: FusedFeed | None
    because: str = ""
    drop_by_current_v: float = 0.0

    @property
    def length_words(self) -> str:
        """Length as words; one that nobody gives is called assumed."""
        return f"{self.length_m:g} m one way" + (" (assumed, nobody gives the length)" if self.is_assumed else "")


def feed_of(volts: float, draw: Draw, length_m: float | None, t_c: float) -> Feed | None:
    """Wire and fuse of a feed, or ``None`` where nothing flows.

    Parameters
    ----------
    volts : its voltage [V]
    draw : what it carries [A]
    length_m : its length one way, None where nobody gives it [m]
    t_c : air around it at its hottest [degC]
    """
    if draw.burst <= 0 or volts <= 0:
        return None
    length, assumed, drop_max = length_m or ASSUMED_M, not length_m, DROP_SHARE * volts
    needs_fuse = draw.awake >= FUSE_FROM_A
    hot_c = max(t_c, 20.0)
    fused: FusedFeed | None = None
    try:
        if needs_fuse:
            # The drop is kept in a burst as well: the wire is chosen once, for fuse and voltage.
            fused = fused_feed(draw.awake, length, drop_max * draw.awake / draw.burst, t_c)
            by_current, wire = thinnest(fused.fuse_a, t_ambient_c=t_c), fused.wire
        else:
            r_max = loop_resistance_max(drop_max, draw.burst) / (2 * length) * copper_temperature_factor(hot_c)
            by_current, wire = thinnest(draw.burst, t_ambient_c=t_c), thinnest(draw.burst, r_max, t_c)
    except OutOfRange as error:
        return Feed(draw.awake if needs_fuse else draw.burst, length, assumed, None, None, 0.0, None, str(error))
    lost, thin = (cable_drop(length, w.r_ohm_per_m, draw.burst, hot_c) for w in (wire, by_current))
    return Feed(draw.awake if needs_fuse else draw.burst, length, assumed, wire, by_current, lost, fused, drop_by_current_v=thin)
