"""Everything that can go wrong, as data; ``cli`` and ``web`` decide how it looks.

PinwrightError
├── InputError          a file or an argument of the user's: one or many ``Fault``
│   └── FactsError      the same, in a catalogue file
├── UnknownName         a board, chip, part, line or pin nobody knows, with the nearest names
├── OutOfRange          a number no formula accepts (negative, not finite, ...)
└── Interrupted         the user stopped the work
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = [
    "FactsError",
    "Fault",
    "InputError",
    "Interrupted",
    "OutOfRange",
    "PinwrightError",
    "UnknownName",
    "nearest",
]


class PinwrightError(Exception):
    """Base of all errors a caller may want to catch."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one place of a file.

    ``key`` is the path in the file (``part[2].wire``), ``wrong`` what is there, ``right`` what would be right,
    ``guess`` the nearest right spelling, if there is one.
    """

    file: str
    line: int | None
    key: str
    wrong: str
    right: str = ""
    guess: str = ""

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        key = f"  {self.key}" if self.key else ""
        text = f"{where}{key}\n    {self.wrong}"
        if self.right:
            text += f" {self.right}"
        if self.guess:
            text += f" Did you mean {self.guess}?"
        return text


class InputError(PinwrightError):
    """A file of the user's cannot be used; ``faults`` lists everything wrong with it."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class FactsError(InputError):
    """A catalogue file cannot be used."""


class UnknownName(PinwrightError):
    """Nobody knows this name; ``guesses`` are the nearest ones."""

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        self.what = what
        self.name = name
        self.guesses = nearest(name, known)
        hint = f" Did you mean {' or '.join(self.guesses)}?" if self.guesses else ""
        super().__init__(f"There is no {what} called {name!r}.{hint}")


class OutOfRange(PinwrightError, ValueError):
    """A number outside what the formula or the facts can answer for."""


class Interrupted(PinwrightError):
    """The user stopped the work before it was done."""


def nearest(name: str, known: Iterable[str], count: int = 2) -> tuple[str, ...]:
    """Return up to ``count`` known names that end, look or begin like ``name``, best first.

    A name that ends in it as a whole word comes first, the shortest of several; then what looks alike; then what contains it.

    >>> nearest("butten", ["button", "buzzer", "relay"])
    ('button',)
    >>> nearest("pico", ["big-pico-2-w", "big-pico-2", "big-pico"])
    ('big-pico', 'big-pico-2')
    """
    by_folded = {word.casefold(): word for word in known}
    folded = name.casefold()
    containing = sorted((word for word in by_folded if len(folded) >= 3 and folded in word), key=len)
    ending = [word for word in containing if word.endswith(folded) and not word.removesuffix(folded)[-1:].isalnum()]
    close = difflib.get_close_matches(folded, by_folded, n=count, cutoff=0.6)
    best = list(dict.fromkeys([*ending, *close, *containing]))[:count]
    return tuple(by_folded[word] for word in best)
