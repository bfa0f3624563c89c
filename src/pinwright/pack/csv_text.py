"""Tables as CSV text a spreadsheet opens without running anything in it.

Lines end in CR LF, fields with a comma, a quote or a line end stand in quotes, quotes are doubled   [RFC 4180, 2.1 to 2.7, from memory].
A text that a spreadsheet would take for a formula gets an apostrophe in front: one that begins with = + - @ (their full-width and
small forms too), a tab or a line end   [OWASP, CSV Injection; list of characters read in public copies].
Quotes, blanks and characters nobody sees may stand before the sign; and because a spreadsheet set to semicolons splits a field there
whatever quotes stand around it, every stretch between semicolons is looked at.  Plain numbers stay numbers, a negative one too.

Files are written as UTF-8 **with** a byte order mark (``CSV_ENCODING``).  The format does not ask for one, but the spreadsheet most
makers open a file with by a double click takes UTF-8 without it for the local eight-bit set, and every Ω, µ and ² goes wrong; the
others skip it, and programs read such files with ``utf-8-sig``.  The text itself (``csv_text``) carries none.
Numbers have a decimal point; where the local sign is a comma, import the file as "comma separated, English".
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Sequence

__all__ = ["CSV_ENCODING", "Cell", "csv_bytes", "csv_text", "plain_words", "read_csv", "safe_cell", "unsafe_cell"]

CSV_ENCODING = "utf-8-sig"
"""How the text goes into a file: UTF-8 with a byte order mark."""

Cell = str | int | float | bool | None

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)
_FIRST = frozenset("=+-@")
_QUOTES = frozenset("'\"`\u2018\u2019\u201c\u201d\uff07\uff02")
_GUARD = "'"
_SPLITS = ";"


def plain_words(words: str) -> str:
    """Words on one line: line ends, tabs and what nobody sees or what turns the reading direction become blanks.

    Parameters
    ----------
    words : any text [-]

    >>> plain_words("two\\r\\nlines\\tand \\u202eback")
    'two lines and  back'
    """
    joined = re.sub(r"\r\n?|[\n\v\f\x1c-\x1e\x85\u2028\u2029]", " ", words)
    return "".join(" " if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Cn", "Co") and c not in "\u200c\u200d" else c for c in joined)


def safe_cell(words: str) -> str:
    """A text as a cell no spreadsheet runs.

    Parameters
    ----------
    words : any text [-]

    >>> safe_cell("=1+1"), safe_cell("-5"), safe_cell("a;=1+1"), safe_cell("10 kΩ")
    ("'=1+1", '-5', "a;'=1+1", '10 kΩ')
    """
    stretches = plain_words(words).split(_SPLITS)
    return _SPLITS.join(_GUARD + each if _is_formula(each) else each for each in stretches)


def unsafe_cell(cell: str) -> str:
    """The text of a cell that ``safe_cell`` wrote; for programs that read a list back.

    Parameters
    ----------
    cell : as read from the file [-]

    >>> unsafe_cell(safe_cell("'=1+1"))
    "'=1+1"
    """
    return _SPLITS.join(each[1:] if each.startswith(_GUARD) and _is_formula(each) else each for each in cell.split(_SPLITS))


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as CSV text, without a byte order mark.

    Numbers are written with up to six digits, true and false as yes and no, nothing as an empty cell.

    Parameters
    ----------
    header : names of the columns [-]
    rows : as many cells each [-]

    Raises
    ------
    ValueError : a row is longer or shorter than the header.

    >>> csv_text(["net", "V"], [["=x", 3.3]])
    "net,V\\r\\n'=x,3.3\\r\\n"
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_MINIMAL)
    for row in [list(header), *rows]:
        if len(row) != len(header):
            raise ValueError(f"A row has {len(row)} cells, the header {len(header)}.")
        writer.writerow([_cell(value) for value in row])
    return out.getvalue()


def csv_bytes(text: str) -> bytes:
    """What belongs into the file.

    Parameters
    ----------
    text : as ``csv_text`` gives it [-]

    >>> csv_bytes("a\\r\\n")
    b'\\xef\\xbb\\xbfa\\r\\n'
    """
    return text.encode(CSV_ENCODING)


def read_csv(text: str) -> list[dict[str, str]]:
    """Rows of a list written here, by the names of their columns, guards taken off.

    Parameters
    ----------
    text : with or without a byte order mark [-]

    >>> read_csv(csv_text(["net"], [["=x"]]))
    [{'net': '=x'}]
    """
    lines = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    header, body = ([unsafe_cell(cell) for cell in lines[0]], lines[1:]) if lines else ([], [])
    return [dict(zip(header, map(unsafe_cell, row), strict=True)) for row in body if row]


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value + 0.0:.6g}" if isinstance(value, float) else str(value)
    return safe_cell(value)


def _is_formula(words: str) -> bool:
    """Whether a spreadsheet may run it: a sign of a formula behind any blanks and quotes, and no plain number."""
    if _NUMBER.fullmatch(words.strip()):
        return False
    for char in words:
        if char in _QUOTES or char.isspace() or unicodedata.category(char) in ("Cc", "Cf", "Zs", "Mn"):
            continue
        return any(c in _FIRST for c in (char, *unicodedata.normalize("NFKC", char)))
    return False
