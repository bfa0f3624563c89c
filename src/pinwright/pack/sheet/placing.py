"""Where everything goes: sides by the pins things hang on, orders by barycentre, then better orders and sides by local search.

Barycentre ordering of layers  [Sugiyama, Tagawa, Toda, IEEE Trans. SMC 11 (1981) 109; from memory]; the local search on counted
crossings is ours.  Nothing is random: the same device always gives the same sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from statistics import fmean

from pinwright.pack.sheet.crossings import frame_cost
from pinwright.pack.sheet.frame import Frame, framed
from pinwright.pack.sheet.model import Node
from pinwright.pack.sheet.nodes import Kit
from pinwright.pack.sheet.pages import served
from pinwright.pack.sheet.polishing import polished

__all__ = ["Memory", "first", "follow", "naive", "ordered", "placed"]

SWEEPS = 3
MOST_TRIES, STARTS, MOST_CLUSTERS = 140, 3, 5


@dataclass
class Memory:
    """What a search found, to begin the next one with: sides and order of parts."""

    homes: dict[str, int] = field(default_factory=dict)
    parts: list[str] = field(default_factory=list)
    is_searched: bool = False


def first(kit: Kit, rows: int, memory: Memory) -> Frame:
    """Where the search begins: what was found before, or sides by majority and orders by pins.

    Parameters
    ----------
    kit : nodes of the page [-]
    rows : height of the page [-]
    memory : of a search for the same page in another size [-]
    """
    if not memory.parts:
        memory.homes = _homes(kit, rows)
        memory.parts = _first_order(kit, memory.homes)
    homes = {node.key: memory.homes.get(node.key, 0) for node in kit.nodes}
    follow(kit, homes)
    memory.homes = homes
    return ordered(kit, homes, memory.parts, rows)


def placed(kit: Kit, rows: int, memory: Memory | None = None) -> Frame:
    """The best arrangement found.

    Parameters
    ----------
    kit : nodes of the page [-]
    rows : height of the page [-]
    memory : of a search for the same page in another size; it is kept up to date [-]
    """
    memory = memory if memory is not None else Memory()
    first(kit, rows, memory)
    begun = [(memory.homes, memory.parts)]
    if not memory.is_searched:
        begun += [(homes, _first_order(kit, homes)) for homes in _other_sides(kit, memory.homes)]
    scored = sorted((frame_cost(ordered(kit, homes, parts, rows)), number) for number, (homes, parts) in enumerate(begun))
    found = [_climbed(kit, rows, *begun[number], cost) for cost, number in scored[:STARTS]]
    memory.homes, memory.parts, _ = min(found, key=lambda one: one[2])
    memory.is_searched = True
    best = ordered(kit, memory.homes, memory.parts, rows)  # nodes are shared: put them where the best frame had them
    polished(best)
    return best


def _climbed(kit: Kit, rows: int, homes: dict[str, int], parts: list[str], cost: float) -> tuple[dict[str, int], list[str], float]:
    """Sides and order after the first better neighbour was taken again and again."""
    tries = 0
    improved = True
    while improved and tries < MOST_TRIES:
        improved = False
        for new_homes, new_parts in _neighbours(kit, homes, parts):
            tries += 1
            new = frame_cost(ordered(kit, new_homes, new_parts, rows))
            if new < cost - 1e-9:
                cost, homes, parts, improved = new, new_homes, new_parts, True
                break
            if tries >= MOST_TRIES:
                break
    return homes, parts, cost


def naive(kit: Kit, rows: int) -> Frame:
    """Everything in the order of the build, parts dealt left and right in turn: what the search is measured against.

    Parameters
    ----------
    kit : nodes of the page [-]
    rows : height of the page [-]
    """
    parts = [node.key for node in kit.nodes if node.level == 3]
    homes = {key: -1 if number % 2 == 0 else 1 for number, key in enumerate(parts)}
    for node in kit.nodes:
        homes.setdefault(node.key, 0)
    follow(kit, homes)
    frame = framed(kit, homes, rows)
    for home in (-1, 1):
        for column in range(len(frame.columns[home])):
            frame.settle(home, column, outer=False)
    return frame


def ordered(kit: Kit, homes: dict[str, int], parts: list[str], rows: int) -> Frame:
    """Columns for an order of parts: everything else follows by barycentre, sweeping in and out.

    Parameters
    ----------
    kit : nodes of the page [-]
    homes : side of every node [-]
    parts : keys of the outermost nodes from top to bottom; both sides in one list [-]
    rows : height of the page [-]
    """
    frame = framed(kit, homes, rows)
    rank = {key: number for number, key in enumerate(parts)}
    for home in (-1, 1):
        columns = frame.columns[home]
        if not columns:
            continue
        has_parts = bool(columns[-1]) and any(node.level == 3 for node in columns[-1])
        last = len(columns) - 1
        if has_parts:
            columns[-1].sort(key=lambda n: rank.get(n.key, 0))
            _stack(columns[-1], rows)
        for sweep in range(SWEEPS):
            if sweep == 1:
                frame.sort_wraps()
            for column in range(last + (not has_parts)):
                frame.settle(home, column, outer=sweep > 0, sort=True)
            if has_parts:
                frame.settle(home, last)
            for column in range(last - has_parts, -1, -1):
                frame.settle(home, column, sort=True)
        if has_parts:
            frame.settle(home, last)
    return frame


def _stack(nodes: list[Node], rows: int) -> None:
    free = max(rows - sum(n.rows for n in nodes), 0)
    gap = free / (len(nodes) + 1)
    at = gap
    for node in nodes:
        node.top = int(at)
        at += node.rows + gap


# ------------------------------------------------------------------------------ sides


def _pin_rows(kit: Kit) -> dict[str, list[tuple[int, int]]]:
    """Side and row of the board's pins each node hangs on, through components."""
    at: dict[str, list[tuple[int, int]]] = {}
    nets: dict[str, list[Node]] = {}
    for node in kit.nodes:
        for net in dict.fromkeys(port.net for port in node.ports if port.net):
            nets.setdefault(net, []).append(node)
    for port in kit.board.ports:
        if not port.net:
            continue
        seen = {port.net}
        reach = [port.net]
        while reach:
            net = reach.pop()
            for node in nets.get(net, []):
                if (port.home, port.row) not in at.setdefault(node.key, []):
                    at[node.key].append((port.home, port.row))
                if node.kind == "component":
                    more = [p.net for p in node.ports if p.net and p.net not in seen]
                    seen.update(more)
                    reach += more
    return at


def _homes(kit: Kit, rows: int) -> dict[str, int]:
    """Sides by majority of pins; what is too much for a column goes over, least wires first."""
    pins = _pin_rows(kit)
    homes: dict[str, int] = {}
    parts = [node for node in kit.nodes if node.level == 3]
    lean = {node.key: sum(home for home, _ in pins.get(node.key, [])) for node in parts}
    for node in sorted(parts, key=lambda n: -abs(lean[n.key])):
        heights = {home: sum(n.rows for n in parts if homes.get(n.key) == home) for home in (-1, 1)}
        homes[node.key] = (1 if lean[node.key] > 0 else -1) if lean[node.key] else (-1 if heights[-1] <= heights[1] else 1)
    for _ in parts:
        heights = {home: sum(n.rows for n in parts if homes[n.key] == home) for home in (-1, 1)}
        heavy = max((-1, 1), key=lambda home: heights[home])
        if heights[heavy] <= rows:
            break
        moving = min((n for n in parts if homes[n.key] == heavy), key=lambda n: (abs(lean[n.key]), n.rows))
        homes[moving.key] = -heavy
    for node in kit.nodes:
        homes.setdefault(node.key, 0)
    follow(kit, homes)
    return homes


def _other_sides(kit: Kit, homes: dict[str, int]) -> Iterator[dict[str, int]]:
    """Sides with parts that share wires, and parts with pins on both sides, on the one side or the other, in every combination."""
    pins = _pin_rows(kit)
    parts = [node for node in kit.nodes if node.level == 3]
    clusters: list[list[str]] = []
    for node in parts:
        nets = {port.net for port in node.ports if port.net}
        mates = [other.key for other in parts if other is not node and nets & {port.net for port in other.ports}]
        if not mates and len({home for home, _ in pins.get(node.key, [])}) < 2:
            continue
        joined = [cluster for cluster in clusters if set(cluster) & set(mates)]
        clusters = [c for c in clusters if c not in joined] + [[key for c in joined for key in c] + [node.key]]
    for choice in product((-1, 1), repeat=min(len(clusters), MOST_CLUSTERS)):
        fresh = {node.key: (homes[node.key] if node.level == 3 else 0) for node in kit.nodes}
        for cluster, home in zip(clusters, choice, strict=False):
            fresh.update(dict.fromkeys(cluster, home))
        follow(kit, fresh)
        yield fresh


def follow(kit: Kit, homes: dict[str, int]) -> None:
    """Components stand on the side of the part they serve, pieces of rails on that of their pin."""
    build = kit.page.build
    for ref, part in served(build).items():
        if ref in homes and not homes[ref]:
            homes[ref] = homes.get(part, 0)
    by_net: dict[str, int] = {}
    for port in (p for p in kit.board.ports if p.net):
        by_net.setdefault(port.net, port.home)
    for _ in range(4):
        for node in kit.nodes:
            if not homes[node.key]:
                homes[node.key] = next((by_net[port.net] for port in node.ports if port.net in by_net), 0)
            for port in node.ports:
                if port.net and homes[node.key]:
                    by_net.setdefault(port.net, homes[node.key])
    for node in kit.nodes:
        homes[node.key] = homes[node.key] or 1


def _first_order(kit: Kit, homes: dict[str, int]) -> list[str]:
    """Parts from top to bottom by the mean of their pins; pins of the other side count as far above or below."""
    pins = _pin_rows(kit)
    half = kit.board.rows / 2

    def middle(node: Node) -> float:
        found = [row if home == homes[node.key] else (-5.0 if row < half else 2 * half + 5.0) for home, row in pins.get(node.key, [])]
        return fmean(found) if found else 3 * half

    return [node.key for node in sorted((n for n in kit.nodes if n.level == 3), key=middle)]


# ------------------------------------------------------------------------------ search


def _neighbours(kit: Kit, homes: dict[str, int], parts: list[str]) -> Iterator[tuple[dict[str, int], list[str]]]:
    """Orders with two parts of a side exchanged, near ones first; then one part on the other side."""
    level3 = {node.key: node for node in kit.nodes if node.level == 3}
    for distance in range(1, 5):
        for home in (-1, 1):
            own = [number for number, key in enumerate(parts) if homes[key] == home]
            for a, b in zip(own, own[distance:], strict=False):
                changed = list(parts)
                changed[a], changed[b] = changed[b], changed[a]
                yield homes, changed
    for home in (-1, 1):
        mine = [key for key in parts if homes[key] == home]
        for key in mine:
            for other in mine:
                if abs(mine.index(key) - mine.index(other)) > 1:
                    moved = [k for k in parts if k != key]
                    moved.insert(moved.index(other) + int(mine.index(other) > mine.index(key)), key)
                    yield homes, moved
    for key, node in level3.items():
        fresh = {n.key: (homes[n.key] if n.level == 3 else 0) for n in kit.nodes}
        fresh[node.key] = -homes[key]
        follow(kit, fresh)
        yield fresh, parts
