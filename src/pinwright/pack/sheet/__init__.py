"""The wiring sheet: the board in the middle, parts around it, every wire numbered, routed and coloured."""

from __future__ import annotations

from itertools import takewhile

from pinwright.pack.build.model import Build
from pinwright.pack.drawing import Drawing
from pinwright.pack.sheet.compose import composed, promising
from pinwright.pack.sheet.grouping import filled, groups_of
from pinwright.pack.sheet.model import Sheet
from pinwright.pack.sheet.nodes import Level
from pinwright.pack.sheet.pages import Page, divided, whole
from pinwright.pack.sheet.picture import drawn
from pinwright.pack.sheet.placing import Memory

__all__ = ["LEVELS", "pages", "sheets"]

LEVELS = (
    Level(1.3, part_max=44.0), Level(1.3, part_max=34.0), Level(1.15, part_max=44.0), Level(1.15, part_max=34.0),
    Level(1.15, part_max=27.0), Level(part_max=44.0), Level(part_max=34.0), Level(part_max=27.0), Level(part_max=25.0, near_rails=False),
    Level(part_max=25.0, near_rails=False, single=True), Level(dense=True, part_max=25.0, near_rails=False),
    Level(dense=True, part_max=25.0, near_rails=False, single=True),
)  # fmt: skip
"""Sizes to try, the most legible first."""
COMPACT = 9
"""From here on they are small."""


def pages(build: Build) -> list[Sheet]:
    """Pages of the wiring sheet, laid out: as few as are legible.

    Parameters
    ----------
    build : the device [-]
    """
    one = _fitted(whole(build)[0])
    if one is not None:
        return [one]
    full = filled(build, lambda groups, number: any(promising(divided(build, groups)[number], level) for level in LEVELS[COMPACT:]))
    parts = sum(item.kind == "part" for item in build.items)
    for count in range(max(len(full) - 1, 2), max(parts, 2) + 1):
        for groups in (groups_of(build, count), *([full] if len(full) == count else [])):
            pages_of = divided(build, groups)
            if not all(any(promising(page, level) for level in LEVELS[COMPACT:]) for page in pages_of):
                continue
            found = list(takewhile(lambda sheet: sheet is not None, map(_fitted, pages_of)))
            if len(found) == len(pages_of):
                return [sheet for sheet in found if sheet is not None]
    raise AssertionError("a part that needs more than a page: our fault")


def _fitted(page: Page) -> Sheet | None:
    """The page at the most legible size that fits."""
    memory = Memory()
    return next((sheet for level in LEVELS if (sheet := composed(page, level, memory)) is not None), None)


def sheets(build: Build) -> list[Drawing]:
    """The wiring sheet as drawings, each at most 259 mm x 190 mm.

    Parameters
    ----------
    build : the device [-]
    """
    return [drawn(build, sheet) for sheet in pages(build)]
