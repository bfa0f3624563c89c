"""What a report says, as plain data: sections of paragraphs, lists, tables, figures, listings and cautions.

Every renderer shows the same document, so that page, Markdown and paper cannot disagree.  Words are plain texts, never markup:
a renderer escapes them.  A name from a brief stands as ``Name``, so that it keeps its own reading direction.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pinwright.pack.drawing import Drawing

__all__ = [
    "Block", "Caution", "Code", "Column", "Document", "Figure", "Items", "Listing", "Name", "Paragraph", "Ref", "Section", "Table", "Words",
    "plain", "walk",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Name:
    """A name that somebody else chose: of the device, a part, a line."""

    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A command, a file name, a label as printed."""

    text: str


@dataclass(frozen=True, slots=True)
class Ref:
    """A word that leads to another place of the report: id of a section, table or row."""

    text: str
    to: str


Words = str | Name | Code | Ref | tuple[str | Name | Code | Ref, ...]
"""A text, or pieces of one."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; ``kind`` says how it is set: plain, as the opening of its section, or as a remark."""

    words: Words
    kind: Literal["", "lead", "remark"] = ""


@dataclass(frozen=True, slots=True)
class Items:
    """A list of points, numbered where their order matters."""

    items: tuple[Words, ...]
    is_numbered: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that can hurt, or spoil the work: whom it concerns, what it is about, what to do, and where that is from."""

    about: Words
    tag: str
    words: str
    source: str = ""
    is_danger: bool = True


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; numbers are set flush right."""

    head: str
    is_number: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a caption; the first cell of a row is its head.  ``last_is_sum``: the last row adds the others up.

    ``row_ids``: ids of the rows, where others refer to them.
    """

    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Words, ...], ...]
    last_is_sum: bool = False
    row_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its caption; ``file`` is its place in the pack, ``table`` the id of the table with the same content."""

    id: str
    caption: Words
    file: str
    drawing: Drawing
    table: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """A text file of the pack, printed as it is."""

    file: str
    language: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """A section with its heading; sections may stand inside."""

    id: str
    title: Words
    blocks: tuple[Block, ...]


Block = Paragraph | Items | Caution | Table | Figure | Listing | Section


@dataclass(frozen=True, slots=True)
class Document:
    """A whole report: title, what stands under it, the sections, and the line at its foot."""

    title: str
    subtitle: Words
    sections: tuple[Section, ...]
    foot: str


def plain(words: Words) -> str:
    """Words without the marks of their pieces.

    >>> plain(("line ", Name("pump.IN")))
    'line pump.IN'
    """
    if isinstance(words, str):
        return words
    if isinstance(words, Name | Code | Ref):
        return words.text
    return "".join(map(plain, words))


def walk(blocks: tuple[Block, ...] | tuple[Section, ...]) -> Iterator[Block]:
    """All blocks in reading order, those inside sections too."""
    for block in blocks:
        yield block
        if isinstance(block, Section):
            yield from walk(block.blocks)
