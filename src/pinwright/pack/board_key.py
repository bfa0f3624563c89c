"""What stands around a drawn board: head, scale, and a key of only the marks, signs and looks of pins that occur."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from pinwright.pack.board_frame import BOLD, ENTRY_MM, PAD_MM, WIDTH_MM, Frame
from pinwright.pack.board_inside import Sign, draw_sign
from pinwright.pack.board_marks import MARKS, Mark, draw_mark
from pinwright.pack.drawing import Drawing, cut, wrapped

if TYPE_CHECKING:
    from pinwright.fitting.places import BoardView

    _Entry = tuple[Callable[[Drawing, float, float], None], list[str]]

__all__ = ["draw_head", "draw_key", "draw_scale", "key_height"]

_SIZE, _LINE, _ICON, _GAP = 2.4, 3.1, 5.5, 1.5
_KINDS = {"used": "pin in use, bound to part · line", "free": "free pin", "power": "supply, ground, reset or not connected"}


def draw_head(drawing: Drawing, view: BoardView, frame: Frame, title: str) -> None:
    """Draw what stands over the board: title, board and chip, sizes.

    Parameters
    ----------
    drawing : where to draw [-]
    view, frame : the board, and how it is laid out [-]
    title : what the device is [-]
    """
    board, wide = view.board, WIDTH_MM - 2 * PAD_MM
    drawing.text(PAD_MM, PAD_MM + 4.0, cut(title or board.name, wide / BOLD, 4.4), 4.4, cls="pw-bold")
    parts = [board.name] if title else []
    parts += [f"chip {view.chip.part}", f"module {board.module.split(' (')[0]}"] if board.module else [f"chip {view.chip.part}"]
    drawing.text(PAD_MM, PAD_MM + 9.0, cut("; ".join(parts), wide, 2.8), 2.8, cls="pw-soft")
    outline = frame.outline
    if outline.is_guess:
        size = "NOT TO SCALE: a size of this board is not known; pins in their order only"
    else:
        spacing = f", rows {board.row_spacing_m * 1e3:.4g} mm apart" if board.row_spacing_m else ""
        size = f"{outline.length:.4g} × {outline.width:.4g} mm{spacing}, pitch {outline.pitch:.4g} mm; seen from the component side"
    drawing.text(PAD_MM, PAD_MM + 13.4, cut(size, wide / BOLD, 2.5), 2.5, cls="pw-bold" if outline.is_guess else "pw-soft")


def draw_scale(drawing: Drawing, frame: Frame, y: float) -> None:
    """Draw the scale in words and as a bar of millimetres of the board.

    Parameters
    ----------
    drawing : where to draw [-]
    frame : how the board is laid out [-]
    y : middle of the bar [mm]
    """
    if frame.outline.is_guess:
        drawing.text(PAD_MM, y + 1.0, "Not to scale.", ENTRY_MM, cls="pw-bold")
        return
    shown = 2.5 if frame.scale >= 4 else 5.0
    step = shown * frame.scale
    for number in range(4):
        drawing.add(
            "rect", None, None, "pw-solid" if number % 2 == 0 else "pw-frame", x=PAD_MM + step * number, y=y - 1.0, width=step, height=1.2,
            stroke_width=0.2,
        )  # fmt: skip
    for number in (0, 2, 4):
        drawing.text(PAD_MM + step * number, y + 3.0, f"{shown * number:g}", 2.2, anchor="start" if number == 0 else "middle")
    words = f"mm on the board; drawn {frame.scale:g} : 1 when printed at full size"
    drawing.text(PAD_MM + 4 * step + 3.0, y + 0.4, words, 2.5, cls="pw-soft")
    about = "pins to scale; places of socket, module and signs are approximate"
    drawing.text(PAD_MM + 4 * step + 3.0, y + 3.8, about, 2.3, cls="pw-soft")


def key_height(marks: Sequence[Mark], signs: Sequence[Sign], kinds: Sequence[str], wide: float) -> float:
    """Height of the key.

    Parameters
    ----------
    marks, signs, kinds : what occurs [-]
    wide : width it may take [mm]

    Returns
    -------
    height : in drawn mm
    """
    columns = _columns(_entries(marks, signs, kinds, wide))
    return max((sum(_height(lines) for _, lines in column) for column in columns), default=0.0)


def draw_key(drawing: Drawing, marks: Sequence[Mark], signs: Sequence[Sign], kinds: Sequence[str], x: float, y: float, wide: float) -> None:
    """Draw the key.

    Parameters
    ----------
    drawing : where to draw [-]
    marks, signs, kinds : what occurs [-]
    x, y : its upper left corner [mm]
    wide : width it may take [mm]
    """
    drawing.add("line", None, None, "pw-rule", x1=x, y1=y - 2.5, x2=x + wide, y2=y - 2.5, stroke_width=0.2)
    for number, column in enumerate(_columns(_entries(marks, signs, kinds, wide))):
        left, top = x + number * (wide / 2 + 1.0), y
        for draw, lines in column:
            draw(drawing, left + 2.0, top + 1.6)
            for at, line in enumerate(lines):
                drawing.text(left + _ICON, top + 2.4 + at * _LINE, line, _SIZE)
            top += _height(lines)


def _height(lines: Sequence[str]) -> float:
    return max(_LINE * len(lines), 3.3) + _GAP - 0.6


def _entries(marks: Sequence[Mark], signs: Sequence[Sign], kinds: Sequence[str], wide: float) -> list[_Entry]:
    present = {mark.letter for mark in marks}
    room = wide / 2 - _ICON - 3.0
    found: list[_Entry] = [(_look(kind), wrapped(_KINDS[kind], room, _SIZE)) for kind in kinds]
    found += [(_mark(mark), wrapped(mark.words, room, _SIZE)) for letter, mark in MARKS.items() if letter in present]
    return found + [(_sign(sign), wrapped(sign.words, room, _SIZE)) for sign in signs]


def _columns(entries: Sequence[_Entry]) -> list[list[_Entry]]:
    """Two columns of about the same height, in reading order."""
    whole = sum(_height(lines) for _, lines in entries)
    columns: list[list[_Entry]] = [[], []]
    used = 0.0
    for entry in entries:
        columns[0 if used < whole / 2 - 0.1 else 1].append(entry)
        used += _height(entry[1])
    return columns


def _look(kind: str) -> Callable[[Drawing, float, float], None]:
    def draw(drawing: Drawing, x: float, y: float) -> None:
        if kind == "power":
            drawing.add("rect", None, None, "pw-fill", x=x - 1, y=y - 1, width=2, height=2, stroke_width=0.25)
        else:
            drawing.add("circle", None, None, "pw-solid" if kind == "used" else "pw-fill", cx=x, cy=y, r=1.1, stroke_width=0.25)

    return draw


def _mark(mark: Mark) -> Callable[[Drawing, float, float], None]:
    return lambda drawing, x, y: draw_mark(drawing, None, mark, x, y)


def _sign(sign: Sign) -> Callable[[Drawing, float, float], None]:
    return lambda drawing, x, y: draw_sign(drawing, None, sign, x, y)
