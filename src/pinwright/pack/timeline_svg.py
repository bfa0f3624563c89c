"""The power-up timeline as a drawing: one row a line, one column a phase; every cell is told by words, pattern and shade.

Patterns carry the meaning without colour, so that a grey print reads the same.  The text is text.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from pinwright.fitting.timeline import PHASE_WORDS, Cell, Row, phases_shown

__all__ = ["timeline_svg"]

_NAME_PX, _CELL_PX, _ROW_PX, _HEAD_PX, _PAD_PX = 250, 118, 34, 74, 16
_SHOWN = {"off": "off", "on": "ON", "undefined": "undefined", "pulses": "pulses", "obeys": "firmware"}
_FILL = {"off": "#e4f0e2", "on": "#8f2d1e", "undefined": "url(#hatch)", "pulses": "url(#teeth)", "obeys": "url(#dots)"}
_PLAIN = "#ffffff"
_INK = {"on": "#ffffff"}
_STYLE = """
text{font:13px 'DejaVu Sans',Verdana,sans-serif;fill:#1b2430}
.small{font-size:11px}.head{font-weight:bold}.frame{fill:none;stroke:#1b2430;stroke-width:1}
.paper{fill:#fffdf8}
@media (prefers-color-scheme:dark){.paper{fill:#161b22}.out text,.out.frame{fill:#e8e6df}.frame{stroke:#9aa4b2}}
"""


def timeline_svg(title: str, board: str, rows: Sequence[Row]) -> str:
    """Draw the timeline of a plan.

    Parameters
    ----------
    title : what the device is [-]
    board : name of the board [-]
    rows : from ``fitting.timeline`` [-]

    Returns
    -------
    svg : a whole document, 1 px a unit; height grows with the rows
    """
    phases = phases_shown(rows)
    width = 2 * _PAD_PX + _NAME_PX + _CELL_PX * len(phases)
    height = 2 * _PAD_PX + _HEAD_PX + _ROW_PX * len(rows) + 64
    said = "; ".join(f"{row.line}: " + ", ".join(f"{cell.phase} {_cell_words(cell)}" for cell in row.cells) for row in rows)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        'role="img" aria-labelledby="title desc">',
        f'<title id="title">{_text(title)}: what each line does at power-up on the {_text(board)}</title>',
        f'<desc id="desc">{_text(said)}</desc>',
        f"<style>{_STYLE}</style>",
        _PATTERNS,
        f'<rect class="paper" width="{width}" height="{height}"/>',
        '<g class="out">',
        f'<text class="head" x="{_PAD_PX}" y="{_PAD_PX + 14}">{_text(_cut(title, 60))}</text>',
        f'<text class="small" x="{_PAD_PX}" y="{_PAD_PX + 30}">{_text(_cut(board, 80))}</text>',
    ]
    for number, phase in enumerate(phases):
        x = _PAD_PX + _NAME_PX + _CELL_PX * number
        parts.append(f'<text class="head" x="{x + 6}" y="{_PAD_PX + _HEAD_PX - 34}">{phase}</text>')
        parts += [
            f'<text class="small" x="{x + 6}" y="{_PAD_PX + _HEAD_PX - 20 + 13 * line}">{_text(words)}</text>'
            for line, words in enumerate(_wrapped(PHASE_WORDS[phase], 19)[:2])
        ]
    parts.append("</g>")
    for number, row in enumerate(rows):
        parts += _row_parts(row, [str(phase) for phase in phases], _PAD_PX + _HEAD_PX + _ROW_PX * number)
    parts += _legend(height - _PAD_PX - 12)
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


_PATTERNS = """<defs>
<pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="8" height="8" fill="#f6e3b4"/><rect width="3" height="8" fill="#b98a1e"/></pattern>
<pattern id="teeth" width="12" height="10" patternUnits="userSpaceOnUse">
<rect width="12" height="10" fill="#f4cfc6"/><path d="M0 9h3V1h4v8h5" fill="none" stroke="#8f2d1e" stroke-width="1.5"/></pattern>
<pattern id="dots" width="7" height="7" patternUnits="userSpaceOnUse">
<rect width="7" height="7" fill="#eef3f5"/><circle cx="3" cy="3" r="1" fill="#7c93a3"/></pattern>
</defs>"""


def _row_parts(row: Row, phases: list[str], y: int) -> list[str]:
    keeps = f" ({row.keeps})" if row.keeps else ""
    parts = [
        '<g class="out">',
        f'<text x="{_PAD_PX}" y="{y + 15}">{_text(_cut(row.line, 32))}</text>',
        f'<text class="small" x="{_PAD_PX}" y="{y + 29}">{_text(_cut(row.pin + keeps, 42))}</text>',
        "</g>",
    ]
    by_phase = {cell.phase: cell for cell in row.cells}
    for number, phase in enumerate(phases):
        x = _PAD_PX + _NAME_PX + _CELL_PX * number
        cell = by_phase.get(phase)  # type: ignore[call-overload]
        if cell is None:
            continue
        fill = _FILL.get(cell.verdict, _PLAIN)
        why = "; ".join(proof.words for proof in cell.proofs)
        words = _cell_words(cell)
        ink = _INK.get(cell.verdict, "#1b2430")
        parts += [
            f"<g><title>{_text(f'{row.line}, {phase}: {words}. {why}')}</title>",
            f'<rect x="{x + 1}" y="{y + 2}" width="{_CELL_PX - 2}" height="{_ROW_PX - 4}" fill="{fill}" '
            f'stroke="#5b6773"{_dashes(cell.verdict)}/>',
        ]
        if cell.verdict in ("undefined", "pulses", "obeys"):  # a plain field behind the word, so that the pattern never runs through it
            parts.append(f'<rect x="{x + 8}" y="{y + 9}" width="{8 * len(words) + 8}" height="17" fill="#ffffff"/>')
        parts.append(f'<text x="{x + 12}" y="{y + 22}" style="fill:{ink}">{_text(words)}</text></g>')
    return parts


def _dashes(verdict: str) -> str:
    """Cells that only tell what the pad does have a broken frame."""
    return ' stroke-dasharray="3 3"' if verdict == "-" else ""


def _cell_words(cell: Cell) -> str:
    return _SHOWN.get(cell.verdict, "") or ("free" if cell.does == "obeys" else _cut(cell.does, 13))


def _legend(y: int) -> list[str]:
    parts, x = [], _PAD_PX
    for verdict, words in (
        ("off", "off: proved in every corner"),
        ("on", "on by itself"),
        ("undefined", "not proved either way"),
        ("pulses", "on and off by itself"),
        ("obeys", "the firmware decides"),
        ("-", "no level to keep"),
    ):
        parts += [
            f'<rect x="{x}" y="{y - 12}" width="18" height="14" fill="{_FILL.get(verdict, _PLAIN)}" stroke="#5b6773"{_dashes(verdict)}/>',
            f'<g class="out"><text class="small" x="{x + 24}" y="{y}">{words}</text></g>',
        ]
        x += 44 + 7 * len(words)
    return parts


def _text(words: str) -> str:
    """Text for a document: markup escaped, what no document may hold left out."""
    return escape("".join(c if c.isprintable() else " " for c in words))


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"


def _wrapped(words: str, most: int) -> list[str]:
    import textwrap

    return textwrap.wrap(words, most)
