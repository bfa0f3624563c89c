"""Tracks in a channel: every net gets a vertical track of its own where it runs beside others, crossings as few as they can be.

A channel router of the left-edge family  [Hashimoto, Stevens, Proc. 8th Design Automation Workshop (1971) 155; from memory], with the
order of the nets found by exchanges on counted crossings.  Where two stubs would share a row, one steps aside by half a row (a *jog*).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pinwright.pack.sheet.crossings import CONFLICT, Trunk, between, trunks_of
from pinwright.pack.sheet.frame import Channel

__all__ = ["Routed", "routed"]


@dataclass
class Routed:
    """Tracks of a channel, counted from the board's side from 1; straight nets have none.

    ``jogs``: net and row of inner stubs that step aside, with the half row they run in; jogs stand on track 1 then.
    """

    tracks: dict[str, int] = field(default_factory=dict)
    count: int = 0
    jogs: dict[tuple[str, int], float] = field(default_factory=dict)


def routed(channel: Channel) -> Routed:
    """Tracks for all nets of a channel.

    Parameters
    ----------
    channel : ports by net, with their rows settled [-]
    """
    trunks = trunks_of(channel)
    order = _order([t for t in trunks if not t.is_straight])
    result = Routed()
    _jogs(order, trunks, result)
    first = 2 if result.jogs else 1
    spans: list[tuple[str, float, float, int]] = []
    for trunk in order:
        low, high = _span(trunk, result)
        track = max((taken + 1 for _, a, b, taken in spans if a - 0.9 < high and low < b + 0.9), default=first)
        spans.append((trunk.net, low, high, track))
    result.count = max([first - 1, *(track for _, _, _, track in spans)])
    result.tracks = _loosened(spans, order, result)
    return result


def _span(trunk: Trunk, result: Routed) -> tuple[float, float]:
    rows = [*(result.jogs.get((trunk.net, row), float(row)) for row in trunk.inner), *map(float, trunk.outer)]
    return min(rows), max(rows)


def _order(trunks: list[Trunk]) -> list[Trunk]:
    """Nets from the board outwards with few crossings: best place for one after the other, then exchanges."""
    cost: dict[tuple[str, str], float] = {}
    for a in trunks:
        for b in trunks:
            if a is not b:
                cost[a.net, b.net] = between(a, b)
    order: list[Trunk] = []
    for trunk in sorted(trunks, key=lambda t: (t.high - t.low, t.low, t.net), reverse=True):
        order.insert(_best_place(trunk, order, cost)[0], trunk)
    for _ in range(4):
        moved = False
        for trunk in list(order):
            old = order.index(trunk)
            order.pop(old)
            place, best = _best_place(trunk, order, cost)
            now = sum(cost[t.net, trunk.net] for t in order[:old]) + sum(cost[trunk.net, t.net] for t in order[old:])
            if best < now - 1e-9:
                order.insert(place, trunk)
                moved = True
            else:
                order.insert(old, trunk)
        if not moved:
            break
    return order


def _best_place(trunk: Trunk, order: list[Trunk], cost: dict[tuple[str, str], float]) -> tuple[int, float]:
    now = sum(cost[trunk.net, t.net] for t in order)
    best, place = now, 0
    for number, other in enumerate(order, 1):
        now += cost[other.net, trunk.net] - cost[trunk.net, other.net]
        if now < best - 1e-9:
            best, place = now, number
    return place, best


def _jogs(order: list[Trunk], trunks: list[Trunk], result: Routed) -> None:
    """Find inner stubs that run past the track of a net whose outer stub is in the same row."""
    assert CONFLICT > 0
    place = {trunk.net: number for number, trunk in enumerate(order)}
    taken: set[float] = set()
    for b in order:
        for row in b.inner:
            if any(row in a.outer and a.net != b.net and place.get(a.net, -1) < place[b.net] for a in trunks):
                middle = (b.low + b.high) / 2
                towards = 0.5 if row <= middle else -0.5
                half = next(h for h in (row + towards, row - towards) if h not in taken or h == row - towards)
                taken.add(half)
                result.jogs[b.net, row] = half


def _loosened(spans: list[tuple[str, float, float, int]], order: list[Trunk], result: Routed) -> dict[str, int]:
    """Tracks with the nets that lead outwards moved outwards where there is room."""
    tracks = {net: track for net, _, _, track in spans}
    by_net = {net: (low, high) for net, low, high, _ in spans}
    for number in range(len(order) - 1, -1, -1):
        trunk = order[number]
        low, high = by_net[trunk.net]
        later = [tracks[t.net] for t in order[number + 1 :] if by_net[t.net][0] - 0.9 < high and low < by_net[t.net][1] + 0.9]
        room = min(later, default=result.count + 1) - 1
        if len(trunk.outer) > len(trunk.inner):
            tracks[trunk.net] = room
        elif len(trunk.outer) == len(trunk.inner):
            tracks[trunk.net] = (tracks[trunk.net] + room + 1) // 2
    return tracks
