"""Marks beside the pins of a drawn board: a letter in a shape of its own, so that they read without colour."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.pack.drawing import Drawing

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from pinwright.fitting.places import BoardView, Place

__all__ = ["MARKS", "MARK_MM", "Mark", "draw_mark", "marks_of"]

MARK_MM = 3.0
"""Width and height of a mark [mm]."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a pin is marked with: ``letter`` in ``shape``; ``words`` for the legend, ``short`` for the pin table in words."""

    letter: str
    shape: str
    words: str
    short: str


MARKS = {
    mark.letter: mark
    for mark in (
        Mark("X", "cross", "taken by the board (flash, crystal, USB …): leave it open", "taken by the board"),
        Mark("C", "square", "console: boot log and upload run over it", "console"),
        Mark("S", "diamond", "strap: the chip reads its level at reset", "strap"),
        Mark("N", "octagon", "noisy, or driven by the chip, before the firmware runs", "noisy before the firmware runs"),
        Mark("n", "octagon", "the same, but only told of, not confirmed", "said to be noisy before the firmware runs"),
        Mark("I", "house", "input only", "input only"),
        Mark("O", "roof", "output only", "output only"),
        Mark("P", "circle", "no pull of its own inside the chip", "no internal pull"),
        Mark("R", "tent", "no analog reading while the radio works", "no analog reading with the radio"),
        Mark("F", "flag", "a lamp, pull or the like on the board sits on it", "something on the board sits on it"),
        Mark("5", "shield", "stands 5 V", "stands 5 V"),
    )
}
"""All marks by their letter, in the order they are drawn."""


def marks_of(view: BoardView, place: Place, with_5v: bool = False) -> tuple[Mark, ...]:
    """Marks of a pin, most important first.

    Parameters
    ----------
    view : the board [-]
    place : one of its pins [-]
    with_5v : somebody in the plan runs at more than the board's logic voltage, so that pins which stand 5 V matter [-]

    Returns
    -------
    marks : in the order of ``MARKS``
    """
    found = {letter for letter, holds in _HOLDS.items() if holds(view, place)}
    if "N" in found:
        found.discard("n")
    if with_5v and view.board.logic_v < 4.5 and (place.pad.tolerates_5v or view.chip.electrical.tolerates_5v):
        found.add("5")
    return tuple(mark for letter, mark in MARKS.items() if letter in found)


def _moves(place: Place, reported: bool) -> bool:
    return any(state.state in ("noisy", "high", "low") and state.reported == reported for state in place.pad.boot)


def _radio_blocks(view: BoardView, place: Place) -> bool:
    adc = place.pad.adc
    return adc is not None and any(unit.unit == adc.unit and set(unit.blocked_by) & set(view.board.radio) for unit in view.chip.adc)


_HOLDS: dict[str, Callable[[BoardView, Place], bool]] = {
    "X": lambda _, place: bool(place.pad.reserved or place.reserve),
    "C": lambda _, place: place.is_console,
    "S": lambda _, place: place.pad.strap is not None,
    "N": lambda _, place: _moves(place, False),
    "n": lambda _, place: _moves(place, True),
    "I": lambda _, place: place.pad.input and not place.pad.output,
    "O": lambda _, place: place.pad.output and not place.pad.input,
    "P": lambda _, place: not (place.pad.pull_up or place.pad.pull_down),
    "R": _radio_blocks,
    "F": lambda _, place: any(item.what not in ("bootloader", "usb-port", "auto-program") for item in place.onboard),
}


# ------------------------------------------------------------------------------ drawing


def draw_mark(drawing: Drawing, parent: Element | None, mark: Mark, x: float, y: float, strong: bool = True) -> None:
    """Draw a mark with its middle at a point [mm]; ``strong`` on pins in use, quiet on the others."""
    points = " ".join(f"{x + dx * MARK_MM / 2:.2f},{y + dy * MARK_MM / 2:.2f}" for dx, dy in _SHAPES[mark.shape])
    group = drawing.group(parent, mark.words)
    drawing.add("polygon", None, group, "pw-warn" if strong else "pw-fill", points=points, stroke_width=0.25 if strong else 0.2)
    drawing.text(x, y + 0.72, mark.letter, 2.0, group, "pw-bold" if strong else "", "middle")


def _round(corners: int, turned: float = 0.0) -> list[tuple[float, float]]:
    angles = [turned + 2 * math.pi * number / corners for number in range(corners)]
    return [(math.sin(angle), -math.cos(angle)) for angle in angles]


_SHAPES: dict[str, list[tuple[float, float]]] = {
    "square": [(-0.86, -0.86), (0.86, -0.86), (0.86, 0.86), (-0.86, 0.86)],
    "diamond": [(0, -1.12), (1.12, 0), (0, 1.12), (-1.12, 0)],
    "octagon": _round(8, math.pi / 8),
    "circle": _round(32),
    "house": [(-0.95, -0.8), (0.35, -0.8), (1.08, 0), (0.35, 0.8), (-0.95, 0.8)],
    "roof": [(0.95, -0.8), (-0.35, -0.8), (-1.08, 0), (-0.35, 0.8), (0.95, 0.8)],
    "tent": [(0, -1.1), (0.98, -0.35), (0.8, 0.9), (-0.8, 0.9), (-0.98, -0.35)],
    "flag": [(-0.95, -0.85), (0.95, -0.85), (0.55, 0.0), (0.95, 0.85), (-0.95, 0.85)],
    "shield": [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.15), (0, 1.1), (-0.9, 0.15)],
    "cross": [
        (-0.98, -0.98), (-0.4, -0.98), (0, -0.75), (0.4, -0.98), (0.98, -0.98), (0.98, -0.4), (0.75, 0), (0.98, 0.4), (0.98, 0.98),
        (0.4, 0.98), (0, 0.75), (-0.4, 0.98), (-0.98, 0.98), (-0.98, 0.4), (-0.75, 0), (-0.98, -0.4),
    ],
}  # fmt: skip
"""Corners of the shapes, from -1 to 1 of half a mark."""
