"""Ways over the straight pieces of a net: from one terminal to another, where pieces meet, where two nets cross."""

from __future__ import annotations

from collections import deque

from pinwright.pack.sheet.model import Point

__all__ = ["Piece", "count_crossings", "joints", "way_between", "without_middles"]

Piece = tuple[Point, Point]
"""A level or upright stretch, its ends in order [mm]."""


def way_between(edges: set[Piece], a: Point, b: Point) -> tuple[Point, ...]:
    """Way from one terminal to the other over a net's pieces, without points in the middle of a straight.

    Parameters
    ----------
    edges : straight pieces, which make a tree [mm]
    a, b : the terminals [mm]
    """
    beside: dict[Point, list[Point]] = {}
    for one, other in sorted(_split(edges, (a, b))):
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    came: dict[Point, Point | None] = {a: None}
    queue = deque([a])
    while queue and b not in came:
        here = queue.popleft()
        for there in beside.get(here, []):
            if there not in came:
                came[there] = here
                queue.append(there)
    if b not in came:
        raise AssertionError(f"no way from {a} to {b}: our fault")
    way = []
    step: Point | None = b
    while step is not None:
        way.append(step)
        step = came[step]
    way.reverse()
    return without_middles(way)


def without_middles(way: list[Point]) -> tuple[Point, ...]:
    """A way without the points in the middle of a straight.

    Parameters
    ----------
    way : points, each level with or upright to the one before [mm]
    """
    kept = way[:1]
    for number in range(1, len(way) - 1):
        before, here, after = kept[-1], way[number], way[number + 1]
        if not (before[0] == here[0] == after[0] or before[1] == here[1] == after[1]):
            kept.append(here)
    return (*kept, *way[-1:]) if len(way) > 1 else tuple(kept)


def _split(edges: set[Piece], at: tuple[Point, ...]) -> set[Piece]:
    """Pieces cut where a terminal lies within one."""
    found = set(edges)
    for x, y in at:
        for one, other in list(found):
            on = (one[0] == other[0] == x and one[1] < y < other[1]) or (one[1] == other[1] == y and one[0] < x < other[0])
            if on:
                found.discard((one, other))
                found |= {(one, (x, y)), ((x, y), other)}
    return found


def joints(edges: dict[str, set[Piece]]) -> list[Point]:
    """Where three pieces or more of one net meet.

    Parameters
    ----------
    edges : straight pieces by net [mm]
    """
    found = []
    for net in sorted(edges):
        often: dict[Point, int] = {}
        for a, b in edges[net]:
            for point in (a, b):
                often[point] = often.get(point, 0) + 1
        found += [point for point in sorted(often) if often[point] > 2]
    return found


def count_crossings(edges: dict[str, set[Piece]]) -> int:
    """Places where pieces of two nets cross.

    Parameters
    ----------
    edges : straight pieces by net [mm]
    """
    level = [(net, min(a[0], b[0]), max(a[0], b[0]), a[1]) for net in sorted(edges) for a, b in sorted(edges[net]) if a[1] == b[1]]
    upright = [(net, a[0], min(a[1], b[1]), max(a[1], b[1])) for net in sorted(edges) for a, b in sorted(edges[net]) if a[0] == b[0]]
    points = {
        (one, other, x, y) for one, x0, x1, y in level for other, x, y0, y1 in upright if one != other and x0 < x < x1 and y0 < y < y1
    }
    return len(points)
