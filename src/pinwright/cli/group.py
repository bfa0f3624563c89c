"""How every command fails politely, guesses misspelt names and prints JSON."""

from __future__ import annotations

import json
import sys
from typing import Any

import click

from pinwright.errors import InputError, PinwrightError, nearest

__all__ = ["EXIT_BAD_INPUT", "EXIT_NO", "FacesErrors", "json_option", "print_json"]

EXIT_NO = 1
EXIT_BAD_INPUT = 2

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs instead of tables.")


def print_json(shape: dict[str, Any]) -> None:
    """Write one JSON document to stdout."""
    click.echo(json.dumps(shape, indent=2, ensure_ascii=False))


class FacesErrors(click.Group):
    """A group that turns our errors into words and exit codes, and knows the nearest command."""

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Find the command; a misspelt one gets the nearest name."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            guess = nearest(args[0], self.list_commands(ctx), 1)
            if guess:
                raise click.UsageError(f"{error.message} Did you mean {guess[0]}?", ctx) from None
            raise

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; every expected error becomes a message on stderr."""
        try:
            return super().invoke(ctx)
        except InputError as error:
            count = len(error.faults)
            for fault in error.faults:
                click.echo(printable(str(fault)), err=True)
            click.echo(f"{count} fault{'s' if count != 1 else ''}; nothing was done.", err=True)
            ctx.exit(EXIT_BAD_INPUT)
        except PinwrightError as error:
            click.echo(printable(str(error)), err=True)
            ctx.exit(EXIT_BAD_INPUT)
        except BrokenPipeError:
            sys.stderr.close()
            ctx.exit(0)
        except (click.exceptions.Exit, click.ClickException, click.Abort, KeyboardInterrupt):
            raise
        except Exception as error:
            import traceback

            place = traceback.extract_tb(error.__traceback__)[-1]
            click.echo(
                f"This is a fault of Pinwright, not yours: {type(error).__name__}: {error} ({place.name}, line {place.lineno}).\n"
                "Please report it with the brief you used; nothing was written.",
                err=True,
            )
            ctx.exit(EXIT_BAD_INPUT)


def printable(text: str) -> str:
    """Text safe for a terminal: control characters and direction marks become visible escapes."""
    return "".join(char if char.isprintable() or char in "\n\t" else char.encode("unicode_escape").decode() for char in text)
