"""Tables and paragraphs a person can read at 80 columns; colour never carries meaning alone."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from pinwright.cli.group import printable

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

__all__ = ["bullet", "console", "counted", "heading", "table", "text"]

WIDTH = 80


def console() -> Console:
    """Console on stdout: 80 columns unless the terminal is wider, plain where it is no terminal."""
    from rich.console import Console

    class Plain(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError  # ``FacesErrors`` ends quietly

    wide = max(WIDTH, min(120, os.get_terminal_size().columns)) if sys.stdout.isatty() else WIDTH
    return Plain(width=wide, highlight=False, emoji=False, markup=False, soft_wrap=False)


def text(value: object) -> str:
    """Any text of the maker's or the catalogue's, safe for a terminal and on one line."""
    return printable(str(value)).replace("\n", "\\n").replace("\t", " ")


def table(*columns: tuple[str, str]) -> Table:
    """A table with light rules; each column is (heading, justify)."""
    from rich import box
    from rich.table import Table

    made = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for name, justify in columns:
        made.add_column(name, justify=justify, overflow="fold")  # type: ignore[arg-type]
    return made


def counted(count: int, one: str, many: str = "") -> str:
    """A number with its word: ``1 part``, ``2 parts``.

    >>> counted(1, "entry", "entries"), counted(0, "part")
    ('1 entry', '0 parts')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def heading(out: Console, words: str) -> None:
    """A line that starts a section."""
    out.print()
    out.print(words, style="bold")


def bullet(out: Console, words: str, mark: str = "-", indent: int = 2) -> None:
    """A wrapped item with a hanging indent."""
    from rich.padding import Padding
    from rich.table import Table

    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=len(mark))
    grid.add_column(overflow="fold")
    grid.add_row(mark, text(words))
    out.print(Padding(grid, (0, 0, 0, indent)))
