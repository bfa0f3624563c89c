"""A sheet drawn larger: all places and sizes times a factor."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from pinwright.pack.sheet.model import Bar, Box, Sheet, Tag

__all__ = ["scaled"]

Framed = TypeVar("Framed", Box, Bar, Tag)


def scaled(sheet: Sheet, scale: float) -> Sheet:
    """The same sheet with everything on it ``scale`` times as large; the page keeps its size.

    Parameters
    ----------
    sheet : composed for a page smaller by that factor [-]
    scale : factor [-]
    """
    if scale == 1.0:
        return sheet

    def larger(one: Framed) -> Framed:
        return replace(one, x0=one.x0 * scale, y0=one.y0 * scale, x1=one.x1 * scale, y1=one.y1 * scale)

    return replace(
        sheet,
        boxes={key: larger(box) for key, box in sheet.boxes.items()},
        bars=[larger(bar) for bar in sheet.bars],
        tags=[larger(tag) for tag in sheet.tags],
        runs=[replace(run, points=tuple((x * scale, y * scale) for x, y in run.points)) for run in sheet.runs],
        labels=[replace(label, x=label.x * scale, y=label.y * scale, size=label.size * scale) for label in sheet.labels],
        dots=[(x * scale, y * scale) for x, y in sheet.dots],
        leads=[((ax * scale, ay * scale), (bx * scale, by * scale)) for (ax, ay), (bx, by) in sheet.leads],
        pads=[(x * scale, y * scale, is_used) for x, y, is_used in sheet.pads],
        scale=scale,
    )
