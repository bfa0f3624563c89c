"""Progress on a terminal: one line on stderr that goes away when the work is done."""

from __future__ import annotations

import sys

import click

from pinwright.cli.group import printable
from pinwright.reporter import Reporter

__all__ = ["terminal_reporter"]


class _LineReporter(Reporter):
    def __init__(self) -> None:
        self._width = 0

    def step(self, what: str, done: int, total: int) -> None:
        self._write(printable(f"planning {done + 1} of {total}: {what}")[:78])

    def stopped(self, done: int, total: int) -> None:
        self._write("")
        _tell_stopped(done, total)

    def done(self) -> None:
        self._write("")

    def _write(self, text: str) -> None:
        click.echo("\r" + text.ljust(self._width) + ("\r" if not text else ""), nl=False, err=True)
        self._width = len(text)


class _QuietReporter(Reporter):
    def stopped(self, done: int, total: int) -> None:
        _tell_stopped(done, total)


def _tell_stopped(done: int, total: int) -> None:
    so_far = "this is the best so far" if done else "there is nothing to show yet"
    click.echo(f"Stopped after {done} of {total} boards; {so_far}.", err=True)


def terminal_reporter(quiet: bool) -> Reporter:
    """A reporter that shows progress when stderr is a terminal and nobody asked for silence."""
    return _QuietReporter() if quiet or not sys.stderr.isatty() else _LineReporter()
