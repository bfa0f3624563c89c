"""Which parts share a page when one is not enough: those that share wires stay together, neighbours on the board too."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from pinwright.pack.build.model import Build
from pinwright.pack.sheet.pages import served

__all__ = ["filled", "groups_of", "in_line"]


def groups_of(build: Build, count: int) -> list[list[str]]:
    """Parts and supplies in so many groups of about the same number of terminals and components.

    Parameters
    ----------
    build : the device [-]
    count : how many groups; fewer come back where there are fewer parts [-]
    """
    line = in_line(build)
    if not line:
        return [_supplies(build)]
    components = Counter(served(build).values())
    weights = [len(build.by_ref[ref].terminals) + 2.0 + 2.5 * components[ref] for ref in line]
    groups: list[list[str]] = [[] for _ in range(min(count, len(line)))]
    total, before = sum(weights), 0.0
    for ref, weight in zip(line, weights, strict=True):
        groups[min(int((before + weight / 2) / total * len(groups)), len(groups) - 1)].append(ref)
        before += weight
    groups = [group for group in groups if group]
    groups[0] = [*groups[0], *_supplies(build)]
    return groups


def filled(build: Build, fits: Callable[[list[list[str]], int], bool]) -> list[list[str]]:
    """Groups as large as they may be, one after the other.

    Parameters
    ----------
    build : the device [-]
    fits : whether a group, given by all groups and its place among them, fits a page [-]
    """
    rest = in_line(build)
    groups: list[list[str]] = []
    while rest:
        first = [] if groups else _supplies(build)
        size = next((n for n in range(len(rest), 1, -1) if fits([*groups, [*rest[:n], *first], rest[n:]], len(groups))), 1)
        groups.append([*rest[:size], *first])
        rest = rest[size:]
    return groups or [_supplies(build)]


def in_line(build: Build) -> list[str]:
    """Parts in the order of the board's pins, those that share wires next to each other.

    Parameters
    ----------
    build : the device [-]
    """
    parts = [item.ref for item in build.items if item.kind == "part"]
    order = {name: number for number, name in enumerate(build.board.terminals)}
    first = dict.fromkeys(parts, len(order))
    for stage in build.stages:
        for end in stage.ends:
            if end.item in first:
                first[end.item] = min(first[end.item], order.get(stage.pin.name, len(order)))
    clusters: list[list[str]] = []
    for ref in sorted(parts, key=lambda ref: (first[ref], parts.index(ref))):
        joined = [cluster for cluster in clusters if any(_shared(build, ref, other) for other in cluster)]
        kept = [cluster for cluster in clusters if cluster not in joined]
        clusters = [*kept, [*(other for cluster in joined for other in cluster), ref]]
    clusters.sort(key=lambda cluster: min(first[ref] for ref in cluster))
    return [ref for cluster in clusters for ref in cluster]


def _supplies(build: Build) -> list[str]:
    return [item.ref for item in build.items if item.kind == "supply"]


def _shared(build: Build, a: str, b: str) -> bool:
    return any({a, b} <= {t.item for t in net.terminals} for net in build.nets if net.role == "signal")
