"""Rows of the nodes in a column: in order, none overlapping, wires as straight as they can be.

Without the widths of the nodes this is isotonic regression with absolute deviations, solved exactly by pooling neighbours and
taking medians  [Robertson, Wright, Dykstra: Order Restricted Statistical Inference, 1988, chapter 1; from memory].
"""

from __future__ import annotations

__all__ = ["settled"]


def settled(heights: list[int], wanted: list[list[int]], rows: int) -> list[int]:
    """First rows with the least sum of distances to what each node wants.

    Parameters
    ----------
    heights : of the nodes, in order, in rows [-]
    wanted : first rows each node would like; none: it follows its neighbours [-]
    rows : height of the column [-]

    Returns
    -------
    tops : first row of each node; from 0 downwards where the column is too low for them [-]

    >>> settled([2, 2], [[4], [3]], 10)
    [1, 3]
    """
    before = 0
    blocks: list[tuple[list[int], int]] = []  # points, nodes
    for height, points in zip(heights, wanted, strict=True):
        blocks.append((sorted(p - before for p in points), 1))
        before += height
        while len(blocks) > 1 and (not blocks[-2][0] or not blocks[-1][0] or _median(blocks[-2][0]) > _median(blocks[-1][0])):
            points_last, nodes_last = blocks.pop()
            points_first, nodes_first = blocks.pop()
            blocks.append((sorted(points_first + points_last), nodes_first + nodes_last))
    most = max(rows - before, 0)
    tops: list[int] = []
    offset = number = 0
    for points, nodes in blocks:
        start = min(max(_median(points) if points else most // 2, 0), most)
        for _ in range(nodes):
            tops.append(start + offset)
            offset += heights[number]
            number += 1
    return tops


def _median(points: list[int]) -> int:
    return points[(len(points) - 1) // 2]
