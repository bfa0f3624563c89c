"""How often wires must cross in a channel, whatever tracks they take."""

from __future__ import annotations

from dataclasses import dataclass

from pinwright.pack.sheet.frame import Channel, Frame

__all__ = ["CONFLICT", "Trunk", "between", "channel_cost", "frame_cost", "trunks_of"]

CONFLICT = 1.5
"""What two stubs in one row count: they need a jog (our choice)."""
WRAP = 0.5
"""What a way around the board counts (our choice)."""
LENGTH = 0.004
"""What a row of vertical wire counts (our choice: breaks ties only)."""


@dataclass(frozen=True, slots=True)
class Trunk:
    """A net in a channel: the rows of its ports on the board's side and away from it, and the rows it spans."""

    net: str
    inner: tuple[int, ...]
    outer: tuple[int, ...]
    low: int
    high: int

    @property
    def is_straight(self) -> bool:
        """Whether it runs across in one row."""
        return self.low == self.high


def trunks_of(channel: Channel) -> list[Trunk]:
    """Nets of a channel that have two ports or more in it."""
    found = []
    for net, attaches in channel.items():
        if len(attaches) > 1:
            inner = tuple(sorted(a.row for a in attaches if not a.is_outer))
            outer = tuple(sorted(a.row for a in attaches if a.is_outer))
            found.append(Trunk(net, inner, outer, min(inner + outer), max(inner + outer)))
    return found


def between(a: Trunk, b: Trunk) -> float:
    """Crossings of two nets when ``a`` runs nearer to the board than ``b``; stubs that would share a row count as conflicts."""
    if a.high < b.low or b.high < a.low:
        return 0.0
    count = 0.0
    for row in a.outer:
        if b.low < row < b.high:
            count += 1
        if row in b.inner:
            count += CONFLICT
    for row in b.inner:
        if a.low < row < a.high:
            count += 1
    return count


def channel_cost(channel: Channel) -> float:
    """Least crossings of all pairs of nets, and a little for length."""
    trunks = sorted(trunks_of(channel), key=lambda t: (t.low, t.high, t.net))
    total = 0.0
    for number, a in enumerate(trunks):
        total += LENGTH * (a.high - a.low)
        for b in trunks[number + 1 :]:
            if b.low > a.high:
                break
            total += min(between(a, b), between(b, a))
    return total


def frame_cost(frame: Frame) -> float:
    """Cost of all channels; a column that is too high costs a lot."""
    channels = sum(channel_cost(channel) for channel in frame.channels.values())
    return channels + WRAP * (len(frame.over) + len(frame.under)) + (0.0 if frame.fits else 1000.0)
