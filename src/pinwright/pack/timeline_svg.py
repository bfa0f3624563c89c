"""The power-up timeline as a drawing: one row a line, one column a phase; every cell is told by words, pattern and shade.

Patterns carry the meaning without colour, so that a grey print reads the same.  As wide as a landscape page at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pinwright.fitting.timeline import PHASE_WORDS, Cell, Row, phases_shown
from pinwright.pack.drawing import Drawing, cut, text_width, wrapped
from pinwright.pack.patterns import add_patterns, filled

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["timeline_drawing", "timeline_svg"]

_NAME_MM, _CELL_MM, _ROW_MM, _PAD_MM = 62.0, 26.5, 9.0, 5.0
_HEAD_MM = 28.0
_SMALL, _WORD, _HEAD = 2.5, 3.0, 4.4
_SHOWN = {"off": "off", "on": "ON", "undefined": "undefined", "pulses": "pulses", "obeys": "firmware"}
_PATTERNED = {"undefined": "hatch", "pulses": "teeth", "obeys": "dots"}
_PLAIN = {"off": "pw-good", "on": "pw-bad"}
_LEGEND = (
    ("off", "off: proved in every corner"),
    ("on", "on by itself"),
    ("undefined", "not proved either way"),
    ("pulses", "on and off by itself"),
    ("obeys", "the firmware decides"),
    ("-", "no level to keep"),
)


def timeline_svg(title: str, board: str, rows: Sequence[Row]) -> str:
    """Draw the timeline of a plan as a document of its own.

    Parameters
    ----------
    title : what the device is [-]
    board : name of the board [-]
    rows : from ``fitting.timeline`` [-]

    Returns
    -------
    svg : a whole document that follows the reader's light or dark; height grows with the rows
    """
    return timeline_drawing(title, board, rows).markup()


def timeline_drawing(title: str, board: str, rows: Sequence[Row], name: str = "timeline") -> Drawing:
    """Draw the timeline of a plan.

    Parameters
    ----------
    title : what the device is [-]
    board : name of the board [-]
    rows : from ``fitting.timeline`` [-]
    name : beginning of the drawing's ids [-]

    Returns
    -------
    drawing : at most 258 mm wide, so that it fits a landscape page of A4 and of Letter; height grows with the rows
    """
    phases = [str(phase) for phase in phases_shown(rows)]
    width = 2 * _PAD_MM + _NAME_MM + _CELL_MM * max(len(phases), 4)
    legend = _legend_rows(width)
    height = 2 * _PAD_MM + _HEAD_MM + _ROW_MM * len(rows) + 6.0 * len(legend)
    said = "; ".join(f"{row.line} on {row.pin}: " + ", ".join(f"{cell.phase} {_cell_words(cell)}" for cell in row.cells) for row in rows)
    drawing = Drawing(name, f"{title}: what each line does at power-up on the {board}", said, width, height)
    add_patterns(drawing, *_PATTERNED.values())
    drawing.text(_PAD_MM, _PAD_MM + 4.0, cut(title, (width - 2 * _PAD_MM) / 1.12, _HEAD), _HEAD, cls="pw-bold")
    drawing.text(_PAD_MM, _PAD_MM + 9.0, cut(board, width - 2 * _PAD_MM, _WORD), _WORD, cls="pw-soft")
    for number, phase in enumerate(phases):
        _column_head(drawing, phase, _PAD_MM + _NAME_MM + _CELL_MM * number)
    for number, row in enumerate(rows):
        _row(drawing, row, phases, _PAD_MM + _HEAD_MM + _ROW_MM * number)
    for number, entries in enumerate(legend):
        _legend_row(drawing, entries, _PAD_MM + _HEAD_MM + _ROW_MM * len(rows) + 5.0 + 6.0 * number)
    return drawing


def _column_head(drawing: Drawing, phase: str, x: float) -> None:
    drawing.text(x + 1.0, _PAD_MM + 16.0, phase, _WORD, cls="pw-bold")
    words = PHASE_WORDS[phase]  # type: ignore[index]
    for line, piece in enumerate(wrapped(words, _CELL_MM - 1.5, 2.3, 3)):
        drawing.text(x + 1.0, _PAD_MM + 19.0 + 2.9 * line, piece, 2.3, cls="pw-soft")


def _row(drawing: Drawing, row: Row, phases: list[str], y: float) -> None:
    keeps = f" ({row.keeps})" if row.keeps else ""
    drawing.text(_PAD_MM, y + 4.0, cut(row.line, _NAME_MM - 3.0, _WORD), _WORD)
    drawing.text(_PAD_MM, y + 7.5, cut(row.pin + keeps, _NAME_MM - 3.0, _SMALL), _SMALL, cls="pw-soft")
    by_phase = {str(cell.phase): cell for cell in row.cells}
    for number, phase in enumerate(phases):
        if phase in by_phase:
            _cell(drawing, row, by_phase[phase], _PAD_MM + _NAME_MM + _CELL_MM * number, y)


def _cell(drawing: Drawing, row: Row, cell: Cell, x: float, y: float) -> None:
    words = cut(_cell_words(cell), _CELL_MM - 4.0, _WORD)
    why = "; ".join(proof.words for proof in cell.proofs)
    group = drawing.group(label=f"{row.line}, {cell.phase}: {_cell_words(cell)}. {why}")
    _swatch(drawing, group, cell.verdict, x + 0.4, y + 0.5, _CELL_MM - 0.8, _ROW_MM - 1.0)
    if cell.verdict in _PATTERNED:  # a plain field behind the word, so that the pattern never runs through it
        drawing.add("rect", None, group, "pw-paper", x=x + 1.6, y=y + 2.2, width=text_width(words, _WORD) + 1.6, height=4.6)
    if words == _cell_words(cell):
        drawing.text(x + 2.4, y + 5.6, words, _WORD, group, "pw-inverse pw-bold" if cell.verdict == "on" else "")
        return
    lines = wrapped(_cell_words(cell), _CELL_MM - 3.4, _SMALL)
    for line, piece in enumerate(lines):
        drawing.text(x + 2.4, y + 5.4 - 1.5 * (len(lines) - 1) + 3.2 * line, piece, _SMALL, group)


def _swatch(drawing: Drawing, parent: Element | None, verdict: str, x: float, y: float, width: float, height: float) -> None:
    """A field of a verdict's look; one that only tells what the pad does has a broken frame."""
    ending = _PATTERNED.get(verdict)
    cls = "pw-edge" if ending else _PLAIN.get(verdict, "pw-rule")
    fill = filled(drawing, ending) if ending else None
    dashes = None if ending or verdict in _PLAIN else "1 0.8"
    drawing.add("rect", None, parent, cls, x=x, y=y, width=width, height=height, stroke_width=0.25, fill=fill, stroke_dasharray=dashes)


def _cell_words(cell: Cell) -> str:
    return _SHOWN.get(cell.verdict, "") or ("free" if cell.does == "obeys" else cell.does)


def _legend_rows(width: float) -> list[list[tuple[str, str]]]:
    """The legend in rows no wider than the drawing."""
    rows: list[list[tuple[str, str]]] = [[]]
    used = 0.0
    for verdict, words in _LEGEND:
        need = _legend_width(words)
        if rows[-1] and used + need > width - 2 * _PAD_MM:
            rows.append([])
            used = 0.0
        rows[-1].append((verdict, words))
        used += need
    return rows


def _legend_width(words: str) -> float:
    return 6.5 + text_width(words, _SMALL) + 4.0


def _legend_row(drawing: Drawing, entries: list[tuple[str, str]], y: float) -> None:
    x = _PAD_MM
    for verdict, words in entries:
        _swatch(drawing, None, verdict, x, y - 3.2, 5.0, 4.0)
        drawing.text(x + 6.5, y - 0.2, words, _SMALL)
        x += _legend_width(words)
