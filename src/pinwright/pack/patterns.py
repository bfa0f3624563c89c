"""Fillings of drawings that tell things apart without colour; each drawing has its own, with ids that begin with its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.pack.drawing import Drawing

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["PATTERNS", "add_patterns", "filled"]

PATTERNS = ("hatch", "teeth", "dots", "back", "cross", "bars", "lines")
"""Names of the fillings."""


def add_patterns(drawing: Drawing, *names: str) -> None:
    """Put fillings into a drawing.

    Parameters
    ----------
    drawing : where they are used [-]
    names : some of ``PATTERNS`` [-]
    """
    for name in names:
        _MAKERS[name](drawing)


def filled(drawing: Drawing, name: str) -> str:
    """Value of ``fill`` for a filling that was added (its elements take the class ``pw-edge``, which leaves the fill alone).

    Parameters
    ----------
    drawing : the drawing [-]
    name : one of ``PATTERNS`` [-]

    Returns
    -------
    fill : a reference to the drawing's own pattern
    """
    return f"url(#{drawing.name}-{name})"


def _pattern(drawing: Drawing, name: str, width: float, height: float, ground: str, turned: str | None = None) -> Element:
    made = drawing.add(
        "pattern", None, drawing.defs, id=f"{drawing.name}-{name}", width=width, height=height, patternUnits="userSpaceOnUse",
        patternTransform=turned,
    )  # fmt: skip
    drawing.add("rect", None, made, ground, width=width, height=height, stroke_width=0)
    return made


def _hatch(drawing: Drawing) -> None:
    drawing.add("rect", None, _pattern(drawing, "hatch", 2.2, 2.2, "pw-warn", "rotate(45)"), "pw-solid", width=0.7, height=2.2)


def _back(drawing: Drawing) -> None:
    drawing.add("rect", None, _pattern(drawing, "back", 1.8, 1.8, "pw-used", "rotate(-45)"), "pw-solid", width=0.3, height=1.8)


def _teeth(drawing: Drawing) -> None:
    made = _pattern(drawing, "teeth", 3.2, 2.6, "pw-fill")
    drawing.add("path", None, made, "pw-ink", d="M0 2.3h.8V.3h1v2h1.4", stroke_width=0.4)


def _dots(drawing: Drawing) -> None:
    drawing.add("circle", None, _pattern(drawing, "dots", 1.9, 1.9, "pw-fill"), "pw-solid", cx=0.9, cy=0.9, r=0.22)


def _cross(drawing: Drawing) -> None:
    made = _pattern(drawing, "cross", 2.0, 2.0, "pw-good", "rotate(45)")
    drawing.add("path", None, made, "pw-ink", d="M0 1h2M1 0v2", stroke_width=0.25)


def _bars(drawing: Drawing) -> None:
    drawing.add("rect", None, _pattern(drawing, "bars", 1.6, 1.6, "pw-panel"), "pw-solid", width=0.5, height=1.6)


def _lines(drawing: Drawing) -> None:
    drawing.add("rect", None, _pattern(drawing, "lines", 1.6, 1.6, "pw-warn"), "pw-solid", width=1.6, height=0.3)


_MAKERS = {"hatch": _hatch, "teeth": _teeth, "dots": _dots, "back": _back, "cross": _cross, "bars": _bars, "lines": _lines}
