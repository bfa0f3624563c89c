"""What the parts of a C++ programme share while it is written: the core, what is collected so far, and a few ways to say things."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from pinwright.pack.firmware.cores import Core
from pinwright.pack.firmware.model import Pin, Program
from pinwright.pack.firmware.names import c_comment, c_string, cut

__all__ = ["WIDTH", "Output", "Sketch", "block", "comment", "either", "level", "number", "said"]

WIDTH = 100
"""Columns of a line of code (our choice)."""


@dataclass(frozen=True, slots=True)
class Output:
    """Something that can be commanded: C++ that sets it to ``share`` (0 to 1), switches it off, and how to show it in the self-test."""

    pin: Pin
    set: str
    off: str
    is_load: bool
    shows: tuple[str, ...]


@dataclass
class Sketch:
    """A programme being written.

    ``pieces``: kit functions used; ``code``: sections in the order of the file; ``after_outputs``, ``inputs``, ``buses``, ``converters``,
    ``interrupts``: statements of the set-up, in that order; ``polls``: statements of every round; ``reports``: of every report;
    ``waits``: statements that must go on while the programme waits; ``vectors``: code outside the name space.
    ``outputs``: what can be commanded, ``shows``: self-test code by name.
    """

    program: Program
    core: Core
    pieces: set[str] = field(default_factory=set)
    includes: list[str] = field(default_factory=list)
    code: list[str] = field(default_factory=list)
    first: list[str] = field(default_factory=list)
    inputs: list[str] = field(default_factory=list)
    buses: list[str] = field(default_factory=list)
    converters: list[str] = field(default_factory=list)
    interrupts: list[str] = field(default_factory=list)
    polls: list[str] = field(default_factory=list)
    reports: list[str] = field(default_factory=list)
    waits: list[str] = field(default_factory=list)
    vectors: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    outputs: list[Output] = field(default_factory=list)
    shows: dict[str, list[str]] = field(default_factory=dict)
    changes: dict[int, list[str]] = field(default_factory=dict)

    @property
    def has_console(self) -> bool:
        """Whether there is anything to talk over."""
        return bool(self.core.console) and not self.program.console_taken

    def section(self, words: str) -> None:
        """Begin a part of the file."""
        self.code += [f"// {'-' * 10} {words} {'-' * max(0, WIDTH - 15 - len(words))}", ""]

    def add(self, *lines: str) -> None:
        """Add code and an empty line after it."""
        self.code += [*lines, ""]

    def include(self, *names: str) -> None:
        """Include a header once."""
        self.includes += [name for name in names if name not in self.includes]


def comment(text: str, indent: str = "") -> list[str]:
    """Comment lines of a text that may be hostile."""
    return c_comment(text, WIDTH, indent)


def said(text: str, most: int = 60) -> str:
    """Literal of a text of the brief in flash memory, cut to ``most`` characters."""
    return f"F({c_string(cut(text, most))})"


def level(high: object) -> str:
    """The core's word for a level."""
    return "HIGH" if high else "LOW"


def number(value: float) -> str:
    """A float literal: always with a point, never longer than it must be.

    >>> number(3.3), number(1000.0), number(-20), number(1e-7)
    ('3.3f', '1000.0f', '-20.0f', '1e-07f')
    """
    text = f"{value:.7g}"
    return f"{text}f" if "." in text or "e" in text else f"{text}.0f"


def block(head: str, body: Iterable[str]) -> list[str]:
    """A function or branch with its body one step further in; nothing inside gives an empty pair of braces."""
    lines = [f"  {line}" if line and not line.startswith("#") else line for line in body]
    return [f"{head} {{", *lines, "}"] if lines else [f"{head} {{}}"]


def either(test: str, yes: Iterable[str], no: Iterable[str]) -> list[str]:
    """A branch with both ways."""
    return [f"if ({test}) {{", *(f"  {line}" for line in yes), "} else {", *(f"  {line}" for line in no), "}"]
