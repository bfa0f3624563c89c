"""How every command fails politely, guesses misspelt names and prints JSON."""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from collections.abc import Iterator
from typing import Any

import click

from pinwright.errors import InputError, PinwrightError, nearest

__all__ = ["EXIT_BAD_INPUT", "EXIT_NO", "Choice", "FacesErrors", "json_option", "print_json", "printable"]

EXIT_NO = 1
EXIT_BAD_INPUT = 2

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs instead of tables.")


def print_json(shape: dict[str, Any]) -> None:
    """Write one JSON document to stdout."""
    is_unicode = (getattr(sys.stdout, "encoding", None) or "").lower().startswith("utf")
    click.echo(json.dumps(shape, indent=2, ensure_ascii=not is_unicode, allow_nan=False))


class Choice(click.Choice[str]):
    """A choice among words that knows the nearest one."""

    def get_invalid_choice_message(self, value: Any, ctx: click.Context | None) -> str:
        """What click says, and the nearest word."""
        guess = nearest(str(value)[:200], map(str, self.choices), 1)
        said = super().get_invalid_choice_message(value, ctx)
        return f"{said} Did you mean {guess[0]}?" if guess else said


class FacesErrors(click.Group):
    """A group that turns our errors into words and exit codes, and knows the nearest command."""

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        """Read the group's own options."""
        _mend_streams()
        with _clean_usage():
            return super().make_context(*args, **extra)

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Find the command; a misspelt one gets the nearest name."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            guess = nearest(args[0], self.list_commands(ctx), 1) if args else ()
            if guess:
                raise click.UsageError(f"{error.message} Did you mean {guess[0]}?", ctx) from None
            raise

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; every expected error becomes a message on stderr."""
        try:
            with _clean_usage():
                return super().invoke(ctx)
        except InputError as error:
            count = len(error.faults)
            for fault in error.faults:
                _tell(str(fault))
            _tell(f"{count} fault{'s' if count != 1 else ''}; nothing was done.")
        except PinwrightError as error:
            _tell(str(error))
        except BrokenPipeError:
            _hang_up()
            raise click.exceptions.Exit(0) from None
        except OSError as error:
            name = f"{error.filename}: " if error.filename else "The answer cannot be written: "
            _hang_up()
            _tell(f"{name}{error.strerror or error}.")
        except (click.exceptions.Exit, click.ClickException, click.Abort, KeyboardInterrupt):
            raise
        except Exception as error:
            import traceback

            place = traceback.extract_tb(error.__traceback__)[-1]
            _tell(
                f"This is a fault of Pinwright, not yours: {type(error).__name__}: {error} ({place.name}, line {place.lineno}).\n"
                "Please report it with the brief you used; nothing was written."
            )
        raise click.exceptions.Exit(EXIT_BAD_INPUT)


def printable(text: str) -> str:
    """Text safe for a terminal: control characters and direction marks become visible escapes."""
    return "".join(char if char.isprintable() or char in "\n\t" else char.encode("unicode_escape").decode() for char in text)


def _tell(words: str) -> None:
    click.echo(printable(words), err=True)


def _mend_streams() -> None:
    """Where stdout or stderr lacks a letter it shows the letter's code; a closed one swallows everything."""
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


@contextlib.contextmanager
def _clean_usage() -> Iterator[None]:
    """What somebody typed is repeated in messages; it must not command the terminal."""
    try:
        yield
    except click.ClickException as error:
        words = error.format_message()
        if printable(words) == words:
            raise
        raise click.UsageError(printable(words), getattr(error, "ctx", None)) from None


def _hang_up() -> None:
    """Nobody can hear stdout any more: what is still buffered goes nowhere, without a second error."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
