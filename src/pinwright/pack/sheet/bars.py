"""Rails as bars: long strips at the outer edges of the sheet, short ones above and below components, and the drops to them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from pinwright.pack.drawing import text_width
from pinwright.pack.sheet.frame import Frame
from pinwright.pack.sheet.model import Drop, Node
from pinwright.pack.sheet.nodes import BOLD, SMALL_MM

__all__ = ["Strip", "strips_of"]

PAD = 1.7


@dataclass(slots=True)
class Strip:
    """A strip at a side's edge: ``lane`` counts outwards from 0; ``low``..``high`` on the page [mm, from row 0]; what drops to it;
    ``word``: where its name stands, clear of wires that run over it."""

    rail: str
    lane: int
    low: float
    high: float
    drops: list[tuple[Node, Drop]]
    word: float = 0.0


def strips_of(frame: Frame, home: int) -> list[Strip]:
    """Strips of a side: supplies in the inner lanes, one strip for neighbours on one rail; ground outermost, in one piece.

    Parameters
    ----------
    frame : nodes with their rows [-]
    home : -1 left, +1 right [-]
    """
    build, row_mm = frame.kit.page.build, frame.kit.row_mm
    drops = [(n, d) for nodes in frame.columns[home] for n in nodes for d in n.drops if d.edge == "out"]
    drops.sort(key=lambda pair: (pair[0].top + pair[0].body_row + pair[1].row, pair[1].wire.number))
    runs: list[Strip] = []
    grounds: list[tuple[Node, Drop]] = []
    for pair in drops:
        if build.by_net[pair[1].wire.net].role == "ground":
            grounds.append(pair)
        elif runs and runs[-1].rail == pair[1].rail:
            runs[-1].drops.append(pair)
        else:
            runs.append(Strip(pair[1].rail, 0, 0.0, 0.0, [pair]))
    for run in runs:
        _stretch(run, row_mm)
    ends: list[float] = []
    for run in runs:
        run.lane = next((lane for lane, end in enumerate(ends) if end + 0.8 <= run.low), len(ends))
        ends[run.lane : run.lane + 1] = [run.high]
    for rail in dict.fromkeys(pair[1].rail for pair in grounds):
        strip = Strip(rail, len(ends), 0.0, 0.0, [pair for pair in grounds if pair[1].rail == rail])
        _stretch(strip, row_mm)
        ends.append(strip.high)
        runs.append(strip)
    for run in runs:
        _name(run, sorted((n.top + d.row) * row_mm for other in runs if other.lane > run.lane for n, d in other.drops))
    return runs


def _stretch(strip: Strip, row_mm: float) -> None:
    """From a little above the first drop to a little below the last; upwards as far as the name needs, clear of what lies below."""
    ys = [(node.top + drop.row) * row_mm for node, drop in strip.drops]
    strip.high = max(ys) + PAD
    strip.low = min(min(ys) - PAD, strip.high - BOLD * text_width(strip.rail, SMALL_MM) - 2.4)


def _name(strip: Strip, over: list[float]) -> None:
    """Place the name in the longest stretch no wire runs over; the strip grows upwards where there is none."""
    need = BOLD * text_width(strip.rail, SMALL_MM) + 2.4
    marks = [strip.low - 0.5, *(y for y in over if strip.low < y < strip.high), strip.high + 0.5]
    longest, _, middle = max((b - a, -a, (a + b) / 2) for a, b in itertools.pairwise(marks))
    if longest < need:
        strip.low = marks[1] - need
        middle = marks[1] - need / 2
    strip.word = middle
