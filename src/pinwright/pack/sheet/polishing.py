"""The last touch on an arrangement: every node tries the places near its own, wraps try to change places, wires are straightened."""

from __future__ import annotations

from itertools import combinations

from pinwright.pack.sheet.crossings import channel_cost, frame_cost
from pinwright.pack.sheet.frame import Channel, Frame
from pinwright.pack.sheet.model import Node

__all__ = ["polished"]

REACH, ROUNDS = 3, 3


def polished(frame: Frame) -> None:
    """Improve a frame in place while that lowers its cost.

    Parameters
    ----------
    frame : nodes with their rows [-]
    """
    for _ in range(ROUNDS):
        before = frame_cost(frame)
        for home in (-1, 1):
            for column, nodes in enumerate(frame.columns[home]):
                beside = [frame.channels[key] for key in ((home, column), (home, column + 1)) if key in frame.channels]
                _sift(nodes, beside)
        for wraps in (frame.over, frame.under):
            _exchange_wraps(frame, wraps)
        _straighten(frame)
        if frame_cost(frame) > before - 1e-9:
            return


def _sift(nodes: list[Node], channels: list[Channel]) -> None:
    """Move each node to the best of the places within reach."""
    cost = sum(map(channel_cost, channels))
    for node in list(nodes):
        place = nodes.index(node)
        best, best_cost = place, cost
        order, tops = list(nodes), [n.top for n in nodes]
        for new in range(max(place - REACH, 0), min(place + REACH, len(nodes) - 1) + 1):
            if new == place:
                continue
            _move(nodes, order, tops, place, new)
            now = sum(map(channel_cost, channels))
            if now < best_cost - 1e-9:
                best, best_cost = new, now
        _move(nodes, order, tops, place, best)
        cost = best_cost


def _move(nodes: list[Node], order: list[Node], tops: list[int], place: int, new: int) -> None:
    """Put a node elsewhere in a column; the free rows between places stay where they are in the order."""
    nodes[:] = order
    nodes.insert(new, nodes.pop(place))
    low, high = min(place, new), max(place, new)
    for node, top in zip(order, tops, strict=True):
        node.top = top
    gaps = [tops[n + 1] - tops[n] - order[n].rows for n in range(low, high)]
    at = tops[low]
    for number in range(low, high + 1):
        nodes[number].top = at
        at += nodes[number].rows + (gaps[number - low] if number < high else 0)


def _exchange_wraps(frame: Frame, wraps: list[Node]) -> None:
    channels = [frame.channels[home, 0] for home in (-1, 1) if (home, 0) in frame.channels]
    cost = sum(map(channel_cost, channels))
    for a, b in combinations(range(len(wraps)), 2):
        wraps[a], wraps[b] = wraps[b], wraps[a]
        frame.stand_board()
        new = sum(map(channel_cost, channels))
        if new < cost - 1e-9:
            cost = new
        else:
            wraps[a], wraps[b] = wraps[b], wraps[a]
            frame.stand_board()


def _straighten(frame: Frame) -> None:
    """Settle every column anew, in the same order; a column that gets worse by it is put back."""
    for home in (-1, 1):
        for column, nodes in enumerate(frame.columns[home]):
            tops, before = [n.top for n in nodes], frame_cost(frame)
            frame.settle(home, column)
            if frame_cost(frame) > before:
                for node, top in zip(nodes, tops, strict=True):
                    node.top = top
