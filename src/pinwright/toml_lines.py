"""Find the line on which a TOML value stands, so that an error can name it.

``tomllib`` gives values without places.  This scanner walks text that ``tomllib`` has already accepted
and notes the line of every key and every array element; it does not judge syntax.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from typing import Any

__all__ = ["Lines", "scan_lines"]

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY_PART = re.compile(r"[^\"'=\]]+|[=\]]")
_BARE_VALUE = re.compile(r"[^,\]}\n#]+|}")  # the lone } stands in no valid text, but must not stop the scan


class Lines:
    """Line numbers by path, for example ``("part", 2, "wire")``."""

    def __init__(self, found: dict[Path, int]) -> None:
        self._found = found

    def has(self, path: Sequence[str | int]) -> bool:
        """Whether exactly this value stands in the text."""
        return tuple(path) in self._found

    def line(self, path: Sequence[str | int]) -> int | None:
        """Line [-] of the value at ``path``, or of the nearest enclosing value that has one."""
        key = tuple(path)
        while key:
            if key in self._found:
                return self._found[key]
            key = key[:-1]
        return self._found.get(())


def scan_lines(text: str) -> Lines:
    """Return where each value of a TOML document stands.

    >>> scan_lines('a = 1\\n[[part]]\\nname = "x"\\n').line(("part", 0, "name"))
    3
    """
    return Lines(_Scanner(text).run())


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.pos = 0
        self.row = 1
        self.found: dict[Path, int] = {}
        self.lengths: dict[Path, int] = {}

    def run(self) -> dict[Path, int]:
        table: Path = ()
        while self._skip_blank():
            line = self.row
            if self.text.startswith("[[", self.pos):
                self._note(table := self._open_array(self._header(2)), line)
            elif self.text[self.pos] == "[":
                self._note(table := self._resolve(self._header(1)), line)
            else:
                self._pair(table)
        return self.found

    # -- places ------------------------------------------------------------

    def _note(self, path: Path, line: int) -> None:
        """A header also brings the tables above it into being, unless they stand somewhere already."""
        for length in range(1, len(path) + 1):
            self.found.setdefault(path[:length], line)

    def _resolve(self, keys: list[str]) -> Path:
        """Turn header keys into a path: a key that names an array means its last element."""
        path: Path = ()
        for key in keys:
            path += (key,)
            if path in self.lengths:
                path += (self.lengths[path] - 1,)
        return path

    def _open_array(self, keys: list[str]) -> Path:
        array = (*self._resolve(keys[:-1]), keys[-1])
        index = self.lengths.get(array, 0)
        self.lengths[array] = index + 1
        return (*array, index)

    # -- text --------------------------------------------------------------

    def _advance(self, count: int = 1) -> None:
        self.row += self.text.count("\n", self.pos, self.pos + count)
        self.pos += count

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.pos)
        self._advance(match.end() - self.pos if match else 0)

    def _skip_blank(self) -> bool:
        """Go to the next sign that is no space, line end or comment; false at the end of the text."""
        self._skip(_BLANK)
        return self.pos < len(self.text)

    def _header(self, brackets: int) -> list[str]:
        self._advance(brackets)
        keys = self._keys("]")
        self._advance(brackets)
        return keys

    def _keys(self, end: str) -> list[str]:
        """Read a dotted key up to ``end``."""
        start = self.pos
        while self.pos < len(self.text) and self.text[self.pos] != end:
            if self.text[self.pos] in "\"'":
                self._string()
            else:
                self._skip(_KEY_PART)
        # The parser knows how keys are quoted and dotted; ask it rather than repeat its rules.
        parsed: Any = tomllib.loads(self.text[start : self.pos].strip() + " = 0")
        keys: list[str] = []
        while isinstance(parsed, dict):
            key, parsed = next(iter(parsed.items()))
            keys.append(key)
        return keys

    def _pair(self, table: Path) -> None:
        line = self.row
        path = table
        for key in self._keys("="):
            path += (key,)
            self.found.setdefault(path, line)
        self._advance()
        self._skip_blank()
        self._value(path)

    def _value(self, path: Path) -> None:
        char = self.text[self.pos] if self.pos < len(self.text) else ""
        if char == "[":
            self._array(path)
        elif char == "{":
            self._inline_table(path)
        elif char in ('"', "'"):
            self._string()
        else:
            self._skip(_BARE_VALUE)

    def _array(self, path: Path) -> None:
        self._advance()
        index = 0
        while self._skip_blank() and self.text[self.pos] != "]":
            if self.text[self.pos] == ",":
                self._advance()
                continue
            item = (*path, index)
            self.found[item] = self.row
            self._value(item)
            index += 1
        self._advance()

    def _inline_table(self, path: Path) -> None:
        self._advance()
        while self._skip_blank() and self.text[self.pos] != "}":
            if self.text[self.pos] == ",":
                self._advance()
            else:
                self._pair(path)
        self._advance()

    def _string(self) -> None:
        quote = self.text[self.pos]
        mark = quote * 3 if self.text.startswith(quote * 3, self.pos) else quote
        self._advance(len(mark))
        inside = re.compile(r"(?:[^\"\\]|\\.)+|\\" if quote == '"' else r"[^']+", re.DOTALL)
        while self.pos < len(self.text) and not self.text.startswith(mark, self.pos):
            if self.text[self.pos] == quote:
                self._advance()  # a single quote inside a long string
            else:
                self._skip(inside)
        self._advance(len(mark))
        while len(mark) == 3 and self.text.startswith(quote, self.pos):  # a quote may end a long string
            self._advance()
