"""What all drawings share: one sheet of styles for light and dark, safe text, and the width of words.

A drawing is a tree of elements, so that names from a brief are escaped by the writer and never become markup.  Every class
begins with ``pw-`` and every id with the name of its drawing: several drawings can stand in one page.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any, Literal
from xml.etree import ElementTree as ET

__all__ = ["DARK", "FONT", "LIGHT", "PRINT", "Drawing", "Scheme", "clean", "cut", "style", "text_width", "wrapped"]

Scheme = Literal["auto", "light", "dark", "print"]

FONT = "'DejaVu Sans',Verdana,sans-serif"

LIGHT = {
    "paper": "#fffdf8", "ink": "#1b2430", "soft": "#566270", "line": "#9aa4b2", "fill": "#eef1ee", "panel": "#e3e9ea", "board": "#2f4f4f",
    "label": "#ffffff", "used": "#c9e2e6", "warn": "#f6e3b4", "bad": "#8f2d1e", "good": "#e4f0e2",
}  # fmt: skip
DARK = {
    "paper": "#161b22", "ink": "#e8e6df", "soft": "#aab4bf", "line": "#5b6773", "fill": "#232b34", "panel": "#2a333d", "board": "#3c6262",
    "label": "#ffffff", "used": "#1f4a52", "warn": "#5a4714", "bad": "#b5462f", "good": "#22402a",
}  # fmt: skip
PRINT = LIGHT | {"paper": "#ffffff", "ink": "#000000", "soft": "#333333", "line": "#777777", "fill": "#f2f2f2", "panel": "#e8e8e8"}
"""Colours by what they are for; text of any of them is readable on ``paper`` (``label`` on ``board`` and on ``bad``)."""

_CLASSES = f"""
.pw-drawing text{{font-family:{FONT};fill:@ink@}}
.pw-drawing .pw-soft{{fill:@soft@}} .pw-drawing .pw-bold{{font-weight:bold}} .pw-drawing .pw-inverse{{fill:@label@}}
.pw-paper{{fill:@paper@}} .pw-frame{{fill:none;stroke:@ink@}} .pw-rule{{fill:none;stroke:@line@}} .pw-ink{{fill:none;stroke:@ink@}}
.pw-panel{{fill:@panel@;stroke:@ink@}} .pw-fill{{fill:@fill@;stroke:@line@}} .pw-board{{fill:@board@;stroke:@ink@}}
.pw-solid{{fill:@ink@;stroke:none}} .pw-used{{fill:@used@;stroke:@ink@}} .pw-warn{{fill:@warn@;stroke:@ink@}}
.pw-tag{{fill:@paper@;stroke:@soft@}} .pw-halo{{fill:none;stroke:@paper@}} .pw-drawing .pw-faint{{fill-opacity:.75}}
.pw-bad{{fill:@bad@;stroke:@ink@}} .pw-good{{fill:@good@;stroke:@ink@}} .pw-edge{{stroke:@line@}}
"""

_NARROW, _WIDE = "fijlrtI.,:;!|'()[] ", "mwMWQO@%—…"
_BROAD, _ROUND = "+=~<>#±×÷→←≤≥", "DGHNU&Ω"
"""Characters wider than their kind, in the fonts named above (read from their metrics): below 0.84 and 0.78 of the size."""


class Drawing:
    """An SVG document that grows element by element; lengths are user units, 1 mm each where a size is given in mm.

    Parameters
    ----------
    name : short name, the beginning of all its ids [-]
    title : what is drawn, for people who hear it [-]
    desc : the same content in words [-]
    width, height : of the view box [mm]
    """

    def __init__(self, name: str, title: str, desc: str, width: float, height: float) -> None:
        self.name, self.width, self.height = name, width, height
        self.root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {_n(width)} {_n(height)}",
                "width": f"{_n(width)}mm",
                "height": f"{_n(height)}mm",
                "class": "pw-drawing",
                "role": "img",
                "aria-labelledby": f"{name}-title {name}-desc",
            },
        )
        self.add("title", clean(title), id=f"{name}-title")
        self.add("desc", clean(desc), id=f"{name}-desc")
        self._style = self.add("style")
        self.more_style = ""
        self.defs = self.add("defs")
        self.add("rect", cls="pw-paper", width=width, height=height)

    def add(self, tag: str, text: str | None = None, parent: ET.Element | None = None, cls: str = "", **attributes: Any) -> ET.Element:
        """Add an element; ``stroke_width`` becomes ``stroke-width``, numbers are rounded to hundredths, ``None`` is left out."""
        element = ET.SubElement(self.root if parent is None else parent, tag)
        if cls:
            element.set("class", cls)
        for key, value in attributes.items():
            if value is not None:
                element.set(key.rstrip("_").replace("_", "-"), _n(value) if isinstance(value, int | float) else str(value))
        if text is not None:
            element.text = text
        return element

    def group(self, parent: ET.Element | None = None, label: str = "", **attributes: Any) -> ET.Element:
        """A group, with a title people see when they point at it."""
        element = self.add("g", None, parent, **attributes)
        if label:
            self.add("title", clean(label), element)
        return element

    def text(
        self, x: float, y: float, words: str, size: float = 3.0, parent: ET.Element | None = None, cls: str = "", anchor: str = "start",
        **attributes: Any,
    ) -> ET.Element:  # fmt: skip
        """Words at a point, ``size`` in mm; names from outside are cleaned here."""
        return self.add(
            "text", clean(words), parent, cls, x=x, y=y, font_size=size, text_anchor=None if anchor == "start" else anchor, **attributes
        )

    def markup(self, scheme: Scheme = "auto", with_style: bool = True) -> str:
        """The whole document as text; without its style sheet for a page that has it already."""
        self._style.text = style(scheme) + self.more_style
        if not with_style:
            self.root.remove(self._style)
        ET.indent(self.root, " ")
        text = ET.tostring(self.root, encoding="unicode")
        if not with_style:
            self.root.insert(2, self._style)
        return text + "\n"


def style(scheme: Scheme = "auto") -> str:
    """Style sheet of every drawing: following the reader's wish (``auto``), or with fixed colours for programs that know no variables."""
    if scheme != "auto":
        colours = {"light": LIGHT, "dark": DARK, "print": PRINT}[scheme]
        return re.sub(r"@([a-z]+)@", lambda match: colours[match[1]], _CLASSES)
    variables = [
        f".pw-drawing{{{_declared(LIGHT)}}}",
        f"@media (prefers-color-scheme:dark){{.pw-drawing{{{_declared(DARK)}}}}}",
        f"@media print{{.pw-drawing{{{_declared(PRINT)}}}}}",
    ]
    # The colour itself first: programs that know no variables keep it.
    both = re.sub(r"([a-z-]+):@([a-z]+)@", lambda match: f"{match[1]}:{LIGHT[match[2]]};{match[1]}:var(--pw-{match[2]})", _CLASSES)
    return "\n".join(variables) + both


def _declared(colours: dict[str, str]) -> str:
    return ";".join(f"--pw-{name}:{colour}" for name, colour in colours.items())


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def clean(words: str) -> str:
    """Words a document may hold: control and direction characters, lone surrogates and the like become spaces."""
    return "".join(c if c.isprintable() and unicodedata.category(c) not in ("Cs", "Cn", "Co") else " " for c in words)


@lru_cache(maxsize=4096)
def text_width(words: str, size: float) -> float:
    """Width of words in the drawings' fonts, on the safe side (same unit as ``size``)."""
    return size * sum(_advance(c) for c in words)


def _advance(char: str) -> float:
    if unicodedata.combining(char):
        return 0.0
    if unicodedata.east_asian_width(char) in "WF" or ord(char) >= 0x1F000:
        return 1.3
    if char in _NARROW:
        return 0.42
    if char in _WIDE:
        return 1.0
    if char in _BROAD or char in _ROUND:
        return 0.84 if char in _BROAD else 0.78
    return 0.72 if char.isupper() else 0.64


def cut(words: str, width: float, size: float) -> str:
    """Words that fit a width, cut with an ellipsis where they do not."""
    words = clean(words)
    if text_width(words, size) <= width:
        return words
    kept = words
    while kept and text_width(kept + "…", size) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def wrapped(words: str, width: float, size: float, most: int = 2) -> list[str]:
    """Words on at most so many lines of a width; the last one is cut where they do not fit."""
    lines: list[str] = []
    current = ""
    pieces = clean(words).split()
    for number, piece in enumerate(pieces):
        longer = f"{current} {piece}".strip()
        if text_width(longer, size) <= width or not current:
            current = longer
            continue
        lines.append(current)
        current = piece
        if len(lines) == most - 1:
            current = " ".join(pieces[number:])
            break
    lines.append(current)
    return [cut(line, width, size) for line in lines if line]
