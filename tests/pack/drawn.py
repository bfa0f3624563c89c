"""Measure a drawing: where its words lie, whether they touch, whether everything stays inside the view box."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from pinwright.pack.drawing import text_width

if TYPE_CHECKING:
    from pinwright.pack.drawing import Drawing

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = ("<b>&\"'", "a\nb\t\x07", "😀 🚀", "שלום עולם", "x" * 200, "]]>", "int", "--><script>", "=cmd()", "\u202eabc", "ein " * 50)
BOLD = 1.12
"""Width of bold words as a share of plain ones: DejaVu Sans Bold against DejaVu Sans, read from their metrics."""


@dataclass(frozen=True)
class Ink:
    """Words and the rectangle they cover [mm]."""

    words: str
    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Ink, slack: float = 0.05) -> bool:
        return self.x0 < other.x1 - slack and other.x0 < self.x1 - slack and self.y0 < other.y1 - slack and other.y0 < self.y1 - slack


def parsed(drawing: Drawing) -> ElementTree.Element:
    return ElementTree.fromstring(drawing.markup())


def inks(root: ElementTree.Element) -> list[Ink]:
    """All words with their rectangles; capitals and descenders of the font take 0.76 and 0.24 of its size."""
    found = []
    for text in root.iter(f"{SVG}text"):
        words, size = text.text or "", float(text.get("font-size", "0"))
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        wide = text_width(words, size) * (BOLD if "pw-bold" in (text.get("class") or "") else 1.0)
        start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.get("text-anchor", "start")]
        turned = text.get("transform")
        if turned is None:
            found.append(Ink(words, x + start, y - 0.76 * size, x + start + wide, y + 0.24 * size))
        else:
            assert re.fullmatch(r"rotate\(-90 [\d.]+ [\d.]+\)", turned)
            found.append(Ink(words, x - 0.76 * size, y - start - wide, x + 0.24 * size, y - start))
    return found


def touching(root: ElementTree.Element) -> list[tuple[str, str]]:
    """Pairs of words that lie over each other."""
    return [(one.words, other.words) for one, other in combinations(inks(root), 2) if one.meets(other)]


def outside(root: ElementTree.Element) -> list[str]:
    """Words and shapes that reach beyond the view box."""
    _, _, width, height = (float(value) for value in root.get("viewBox", "").split())
    lost = [ink.words for ink in inks(root) if ink.x0 < 0 or ink.y0 < 0 or ink.x1 > width or ink.y1 > height]
    patterns = {element for pattern in root.iter(f"{SVG}pattern") for element in pattern.iter()}
    for element in root.iter():
        if element in patterns:
            continue
        for x, y in _corners(element):
            if not (-0.01 <= x <= width + 0.01 and -0.01 <= y <= height + 0.01):
                lost.append(f"{element.tag} {element.attrib}")
    return lost


def _corners(element: ElementTree.Element) -> list[tuple[float, float]]:
    def number(name: str) -> float:
        return float(element.get(name, "0"))

    match element.tag.removeprefix(SVG):
        case "rect":
            return [(number("x"), number("y")), (number("x") + number("width"), number("y") + number("height"))]
        case "circle":
            return [(number("cx") - number("r"), number("cy") - number("r")), (number("cx") + number("r"), number("cy") + number("r"))]
        case "line":
            return [(number("x1"), number("y1")), (number("x2"), number("y2"))]
        case "polyline" | "polygon":
            return points(element)
    return []


def points(element: ElementTree.Element) -> list[tuple[float, float]]:
    """Corners of a polyline or polygon."""
    pairs = (pair.split(",") for pair in (element.get("points") or "").split())
    return [(float(x), float(y)) for x, y in pairs]


def crossed(root: ElementTree.Element) -> list[str]:
    """Words that a leader of somebody else runs through (looked at every quarter of a millimetre).

    A leader's own group holds the tag and the marks it runs under, on fields of their own.
    """
    lost = set()
    for group in root.iter(f"{SVG}g"):
        lines = [line for line in group.findall(f"{SVG}polyline") if line.get("class") == "pw-ink"]
        own = set(group.iter(f"{SVG}text"))
        others = [ink for ink, text in zip(inks(root), root.iter(f"{SVG}text"), strict=True) if text not in own] if lines else []
        for line in lines:
            corners = points(line)
            for (xa, ya), (xb, yb) in pairwise(corners):
                steps = max(1, int((abs(xb - xa) + abs(yb - ya)) * 4))
                for step in range(steps + 1):
                    x, y = xa + (xb - xa) * step / steps, ya + (yb - ya) * step / steps
                    lost |= {ink.words for ink in others if ink.x0 < x < ink.x1 and ink.y0 < y < ink.y1}
    return sorted(lost)


def negative_sizes(root: ElementTree.Element) -> list[dict[str, str]]:
    """Rectangles with a negative width or height, which no program draws."""
    return [rect.attrib for rect in root.iter(f"{SVG}rect") if min(float(rect.get("width", "0")), float(rect.get("height", "0"))) < 0]
