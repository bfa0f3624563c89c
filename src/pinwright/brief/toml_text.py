"""Load TOML written by hand: either data with the line of every value, or one plain sentence on what is wrong.

``tomllib`` stops at the first fault of syntax, so there is only ever one of these; its messages are put into
plain words here, because they speak of statements and namespaces.
"""

from __future__ import annotations

import ast
import bisect
import re
import tomllib
from pathlib import Path
from typing import Any

from pinwright.errors import Fault, InputError
from pinwright.fault_place import KeyPath
from pinwright.toml_lines import Lines, scan_lines

__all__ = ["KeyPath", "bare", "key_text", "load_toml", "read_text", "shown"]


LARGEST = 1_000_000
"""Bytes; what a person writes by hand is far smaller."""

_DEEPEST = 32  # parts of a dotted key; the parser's work grows with the square of them
_PART = r"(?:(?<![\w-])[\w-]+|\"[^\"\n]*\"|'[^'\n]*')"
_TOO_DEEP = re.compile(rf"{_PART}(?:[ \t]*\.[ \t]*(?:[\w-]+|\"[^\"\n]*\"|'[^'\n]*')){{{_DEEPEST},}}")
_LONG_NUMBER = re.compile(r"[0-9][0-9_]{1000,}")
_SURROGATE = re.compile("[\ud800-\udfff]")


def read_text(path: Path) -> str:
    """Text of a UTF-8 file.  Raises ``InputError`` when there is none."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError([Fault(str(path), None, "", f"Cannot be read: {error.strerror or error}.")]) from None
    except ValueError:  # a NUL byte in the path
        raise InputError([Fault(str(path), None, "", "Cannot be read: there is no such file name.")]) from None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError([Fault(path.name, line, "", f"This is not UTF-8 text (byte {error.start}).", "Save it as UTF-8.")]) from None


def load_toml(text: str, name: str) -> tuple[dict[str, Any], Lines]:
    """Data of a TOML text and where its values stand.

    Parameters
    ----------
    text : what stands in the file [-]
    name : how faults call the file [-]

    Raises
    ------
    InputError : it is no TOML a person would write; one fault.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    _refuse_monsters(text, name)
    try:
        return tomllib.loads(text), scan_lines(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax_fault(str(error), name, text)]) from None
    except RecursionError:
        raise InputError([Fault(name, None, "", "This is not usable TOML: its brackets are nested too deep.")]) from None


def _refuse_monsters(text: str, name: str) -> None:
    """Stop before text that costs the parser hours or trips over limits of the language."""

    def refuse(position: int | None, wrong: str, right: str = "") -> None:
        line = None if position is None else text.count("\n", 0, position) + 1
        raise InputError([Fault(name, line, "", wrong, right)])

    if len(text) > LARGEST:
        refuse(None, f"This file has {len(text)} characters; at most {LARGEST} are read.")
    if found := _SURROGATE.search(text):
        refuse(found.start(), "This is not UTF-8 text.", "Save it as UTF-8.")
    if found := _TOO_DEEP.search(text):
        refuse(found.start(), "This key has too many parts between its dots.")
    if found := _LONG_NUMBER.search(text):
        refuse(found.start(), "This number is too long.")


# ------------------------------------------------------------------------------ plain words

_QUOTES = 'Texts and quantities stand in quotes, like "2 m".'
_SYNTAX = (
    (r"Invalid value", "there is no value here", _QUOTES),
    (r"Invalid statement", "a key or a [table] is wanted here", ""),
    (r"Expected newline or end of document", "something follows where the line should end", _QUOTES),
    (r"Found invalid character '\\n'|Illegal character '\\n'", "a text has no closing quote on its line", ""),
    (r"Unterminated string|Expected ['\"]{3,5}$", "a text has no closing quote", ""),
    (r"Found invalid character|Illegal character", "there is a character here that no text may hold", "Delete it."),
    (r"Cannot overwrite a value|Duplicate inline table key", "this key is already given above", "Keep one of them."),
    (r"Expected '\]\]' at the end", "]] is missing after the name", ""),
    (r"Expected '\]' at the end", "] is missing after the name", ""),
    (r"Expected '=' after a key", "= is missing after the key", ""),
    (r"Invalid initial character for a key part", "no key can begin like this", "Keys with signs in them stand in quotes."),
    (r"Unclosed array", "a comma or the closing ] of a list is missing", ""),
    (r"Unclosed inline table", "a comma or the closing } is missing", ""),
    (r"Unescaped", "a backslash in a text must be doubled", "Write \\\\, or use single quotes."),
    (r"Invalid hex value|Escaped character is not", "the code after the backslash is no character", ""),
    (r"Invalid date or datetime", "there is no such date or time", _QUOTES),
)
_OPEN_QUOTE = 'Expected "\'"'
_TWICE = re.compile(r"Cannot (declare|redefine namespace|mutate immutable namespace) (\(.*\))")


def _syntax_fault(message: str, name: str, text: str) -> Fault:
    place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    line = int(place[1]) if place and place[1] else text.rstrip("\n").count("\n") + 1
    column = f" at column {place[2]}" if place and place[2] else ""
    what, hint = _plain(message[: place.start()] if place else message)
    if message.startswith(_OPEN_QUOTE):
        line, column = _open_quote(text), ""
    return Fault(name, line, "", f"This is not valid TOML{column}: {what}.", hint)


def _open_quote(text: str) -> int:
    """Line of a text in single quotes that never ends: the parser only tells the end of the file.

    Such a text may not go over a line end, so the first lines up to it fail like the whole, and fewer do not.
    """
    rows = text.split("\n")

    def fails(count: int) -> bool:
        try:
            tomllib.loads("\n".join(rows[:count]))
        except ValueError as error:
            return str(error).startswith(_OPEN_QUOTE)
        return False

    return bisect.bisect_left(range(1, len(rows)), True, key=fails) + 1


def _plain(message: str) -> tuple[str, str]:
    if twice := _TWICE.match(message):
        return _table_twice(twice[2])
    for pattern, what, hint in _SYNTAX:
        if re.match(pattern, message):
            return what, hint
    return "it cannot be read from here on", ""


def _table_twice(key: str) -> tuple[str, str]:
    path: KeyPath = ast.literal_eval(key)
    table = key_text(path)
    if path in (("part",), ("part", "line")):
        return f"[{table}] stands twice", f"Write [[{table}]], with two brackets, for each of them."
    return f"the table {table} is already given above", "Put all its keys in one place."


def key_text(path: KeyPath) -> str:
    """Write a path the way people read it, always on one line.

    >>> key_text(("part", 2, "wire"))
    'part[2].wire'
    """
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key}]"
        else:
            text += f".{bare(key)}" if text else bare(key)
    return text


def bare(name: str) -> str:
    """A name without quotes where it can be read so, with them where it would break the line."""
    return name if name and name.isprintable() and len(name) <= 60 else shown(name)


def shown(value: Any) -> str:
    """A value the way the file writes it, on one line and no longer than a line.

    >>> shown(True), shown("400 mA")
    ('true', "'400 mA'")
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:59] + "…")
    if isinstance(value, int):
        return str(value) if value.bit_length() <= 64 else "a number this long"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else f"the date or time {value}"
