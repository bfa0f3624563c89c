"""Progress on a terminal: one line on stderr that goes away when the work is done."""

from __future__ import annotations

import sys

import click

from pinwright.cli.group import printable
from pinwright.reporter import Reporter

__all__ = ["Steps", "terminal_reporter"]


class _LineReporter(Reporter):
    def __init__(self) -> None:
        self._width = 0

    def step(self, what: str, done: int, total: int) -> None:
        self.say(f"planning {done + 1} of {total}: {what}")

    def say(self, words: str) -> None:
        self._write(printable(words)[:78])

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


class Steps:
    """Hears of the steps of one piece of work and shows them in a line that goes away at the end.

    Parameters
    ----------
    quiet : show nothing [-]
    """

    def __init__(self, quiet: bool) -> None:
        self._line = None if quiet or not sys.stderr.isatty() else _LineReporter()

    def __enter__(self) -> Steps:
        return self

    def __exit__(self, *_: object) -> None:
        if self._line is not None:
            self._line.done()

    def __call__(self, what: str) -> None:
        """Work on ``what`` begins."""
        if self._line is not None:
            self._line.say(f"making {what}")
