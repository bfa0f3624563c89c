"""The report as Markdown with tables (the dialect of the big hosting sites), links leading to the drawings of the pack.

Every character that could be markup is escaped, so that no name can start a link, a heading, a tag or a new cell
[CommonMark 0.31, 2.4 backslash escapes: any ASCII punctuation; GitHub Flavored Markdown, 4.10 tables: both from memory].
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from pinwright.pack.drawing import clean
from pinwright.pack.report.content import Block, Caution, Code, Document, Figure, Items, Listing, Paragraph, Section, Table, Words, plain
from pinwright.pack.report.html import numbered

__all__ = ["escaped", "markdown_of"]


def markdown_of(document: Document) -> str:
    """The report as Markdown.

    Parameters
    ----------
    document : the report [-]
    """
    numbers = numbered(document)
    parts = [f"# {escaped(document.title)}", _inline(document.subtitle)]
    parts += [block for section in document.sections for block in _section(section, 2, numbers)]
    parts.append(_inline(document.foot))
    return "\n\n".join(parts) + "\n"


def escaped(words: str) -> str:
    """Words as text of a paragraph or a cell, on one line.

    Parameters
    ----------
    words : any text [-]

    >>> escaped("a|b *c* <d>")
    'a\\\\|b \\\\*c\\\\* \\\\<d\\\\>'
    """
    line = " ".join(clean(words).split())
    line = re.sub(r"([\\`*_\[\]<>|~&$#!])", r"\\\1", line)
    line = re.sub(r"^([-+=])", r"\\\1", line)
    line = re.sub(r"^(\d{1,9})([.)])", r"\1\\\2", line)
    return re.sub(r"(?i)\b(https?|ftp|mailto|www)([:.])", r"\1\\\2", line).replace("@", "\\@")


def _inline(words: Words) -> str:
    if isinstance(words, tuple):
        said = "".join(map(_piece, words))
        return " ".join(said.split())
    return _piece(words).strip()


def _piece(words: Words) -> str:
    if isinstance(words, Code):
        return _code(words.text)
    if isinstance(words, tuple):
        return _inline(words)
    text = plain(words)
    lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
    return (" " if lead else "") + escaped(text) + (" " if tail and text.strip() else "")


def _code(text: str) -> str:
    """A span of code; a backtick in it calls for a longer fence, a bar ends no cell."""
    line = " ".join(text.split()) or " "
    fence = "`" * (max((len(run) for run in re.findall("`+", line)), default=0) + 1)
    pad = " " if line.startswith("`") or line.endswith("`") else ""
    return f"{fence}{pad}{line}{pad}{fence}" if "|" not in line else escaped(line)


def _section(section: Section, level: int, numbers: dict[str, str]) -> Iterator[str]:
    yield f"{'#' * min(level, 6)} {numbers[section.id]} {_inline(section.title)}"
    for block in section.blocks:
        yield from _block(block, level, numbers)


def _block(block: Block, level: int, numbers: dict[str, str]) -> Iterator[str]:
    if isinstance(block, Section):
        yield from _section(block, level + 1, numbers)
    elif isinstance(block, Paragraph):
        yield f"**{_inline(block.words)}**" if block.kind == "lead" and level > 2 else _inline(block.words)
    elif isinstance(block, Items):
        marks = (f"{number}." if block.is_numbered else "-" for number in range(1, len(block.items) + 1))
        if block.items:
            yield "\n".join(f"{mark} {_inline(item)}" for mark, item in zip(marks, block.items, strict=True))
    elif isinstance(block, Caution):
        source = f" ({escaped(block.source)})" if block.source else ""
        yield f"> **{escaped(block.tag.upper())}** {_inline(block.about)}  \n> {escaped(block.words)}{source}"
    elif isinstance(block, Table):
        yield f"*{escaped(block.caption)}*"
        yield "\n".join(_table(block))
    elif isinstance(block, Figure):
        yield f"![{escaped(plain(block.caption))}]({block.file})"
        yield f"*{_inline(block.caption)}*"
    elif isinstance(block, Listing):
        yield f"{'#' * min(level + 1, 6)} `{block.file}`"
        fence = "`" * max(3, max((len(run) for run in re.findall("`+", block.text)), default=0) + 1)
        yield f"{fence}{block.language}\n{block.text.rstrip()}\n{fence}"


def _table(table: Table) -> Iterator[str]:
    yield "| " + " | ".join(escaped(column.head) for column in table.columns) + " |"
    yield "|" + "|".join("---:" if column.is_number else "---" for column in table.columns) + "|"
    for row in table.rows:
        yield "| " + " | ".join(_inline(cell) or " " for cell in row) + " |"
