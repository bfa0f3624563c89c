"""Show the power-up timeline in a terminal, and the proof of one of its cells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, heading, table, text
from pinwright.fitting.timeline import PHASE_WORDS, phases_shown

if TYPE_CHECKING:
    from rich.text import Text

    from pinwright.fitting.timeline import Cell, Row

__all__ = ["show_cell", "show_timeline"]

_STYLE = {"off": "green", "on": "bold red", "undefined": "yellow", "pulses": "bold red", "obeys": "dim", "-": "dim"}
_WORDS = {"on": "ON", "undefined": "?", "pulses": "pulses", "off": "off", "obeys": "."}


def show_timeline(rows: Sequence[Row], title: str, board: str) -> None:
    """Print all lines across the phases; words say it, colour only repeats it."""
    out = console()
    out.print(text(title), style="bold")
    out.print(text(board))
    phases = phases_shown(rows)
    made = table(("line", "left"), ("pin", "left"), *((phase, "left") for phase in phases))
    for row in rows:
        cells = {cell.phase: cell for cell in row.cells}
        made.add_row(text(row.line), row.pin.split(" ")[0], *(_cell(cells.get(phase)) for phase in phases))
    out.print(made)
    bullet(out, "off: proved off in every corner   ON: on by itself   ?: not proved   pulses: on and off by itself", " ", 0)
    bullet(
        out,
        "of lines without a level to keep: what the pad does (z lets go, up, dn pulled, hi, lo driven, ~ signals)   . firmware decides",
        " ",
        0,
    )
    for phase in phases:
        bullet(out, f"{phase}: {PHASE_WORDS[phase]}", " ", 0)


_SHORT = {"hi-Z": "z", "pulled up": "up", "pulled down": "dn", "high": "hi", "low": "lo", "noisy": "~", "obeys": "."}


def _cell(cell: Cell | None) -> Text | str:
    from rich.text import Text

    if cell is None:
        return ""
    words = _WORDS.get(cell.verdict) or " ".join(_SHORT.get(each, each) for each in cell.does.split(", "))
    return Text(words, style=_STYLE[cell.verdict])


def show_cell(row: Row, cell: Cell) -> None:
    """Print the proof of one cell."""
    out = console()
    keeps = f", which {row.keeps}" if row.keeps else ""
    heading(out, f"{text(row.line)} on {row.pin}{keeps}: {cell.phase} ({PHASE_WORDS[cell.phase]})")
    for proof in cell.proofs:
        bullet(out, f"{proof.verdict if cell.verdict != '-' else proof.stretch.does}: {proof.words}")
    for source in cell.sources:
        if source:
            bullet(out, source, "@")
