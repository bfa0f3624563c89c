"""``pinwright facts``: look into the catalogue and check it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright.cli.catalogue import folder_option, open_catalogue
from pinwright.cli.group import EXIT_NO, FacesErrors, json_option, print_json, printable
from pinwright.contract import CONTRACT

if TYPE_CHECKING:
    from pinwright.facts.lookup import Entry

__all__ = ["facts"]


@click.group(cls=FacesErrors)
def facts() -> None:
    """Look into the catalogue: chips, boards, parts and their sources.

    \b
    Example:
        pinwright facts search temperature
    """


@facts.command("list")
@click.argument("what", type=click.Choice(["chips", "boards", "parts"]), required=False)
@folder_option
@json_option
def list_(what: str | None, folders: tuple[Path, ...], as_json: bool) -> None:
    """List everything, or only chips, boards or parts.

    \b
    Example:
        pinwright facts list boards
    """
    from pinwright.facts.lookup import entries

    found = [entry for entry in entries(open_catalogue(folders)) if what is None or f"{entry.what}s" == what]
    _entries(found, as_json)


@facts.command()
@click.argument("word")
@folder_option
@json_option
def search(word: str, folders: tuple[Path, ...], as_json: bool) -> None:
    """Find entries by WORD: a name, a number, or what they do.

    \b
    Example:
        pinwright facts search "soil moisture"
    """
    from pinwright.facts.lookup import entries, matching

    found = matching(word, entries(open_catalogue(folders)))
    _entries(found, as_json)
    sys.exit(0 if found else EXIT_NO)


@facts.command()
@click.argument("name")
@folder_option
@json_option
def show(name: str, folders: tuple[Path, ...], as_json: bool) -> None:
    """Show everything known about a chip, board or part.

    \b
    Example:
        pinwright facts show raspberry-pi-pico
        pinwright facts show ESP32 --json
    """
    from pinwright.contract import board_shape, chip_shape, part_shape
    from pinwright.facts.lookup import find
    from pinwright.facts.model import Board, Chip

    catalogue = open_catalogue(folders)
    item = find(name, catalogue)
    if as_json:
        if isinstance(item, Chip):
            print_json(chip_shape(item))
        elif isinstance(item, Board):
            print_json(board_shape(item, catalogue))
        else:
            print_json(part_shape(item))
        return
    from pinwright.cli.show_facts import show_item

    show_item(item, catalogue)


@facts.command()
@folder_option
@json_option
def check(folders: tuple[Path, ...], as_json: bool) -> None:
    """Check every catalogue file and report values without a source.

    \b
    Example:
        pinwright facts check
    """
    from pinwright.cli.console import counted
    from pinwright.errors import FactsError
    from pinwright.facts.loader import fact_files, read_files
    from pinwright.facts.validate import uncited

    files = list(fact_files(folders))
    try:
        catalogue = read_files(files)
        faults = [*catalogue.faults, *uncited(catalogue)]
    except FactsError as error:
        faults = list(error.faults)
    if as_json:
        shape = [{"file": f.file, "line": f.line, "key": f.key, "wrong": f.wrong, "right": f.right, "guess": f.guess} for f in faults]
        print_json({"contract": CONTRACT, "files": len(files), "faults": shape})
    else:
        for fault in faults:
            click.echo(printable(str(fault)))
        click.echo(f"{counted(len(files), 'file')}, {counted(len(faults), 'fault')}")
    sys.exit(EXIT_NO if faults else 0)


def _entries(found: list[Entry], as_json: bool) -> None:
    if as_json:
        print_json({"contract": CONTRACT, "entries": [{"what": e.what, "name": e.name, "title": e.title} for e in found]})
        return
    from pinwright.cli.console import console, counted, table, text

    if found:
        made = table(("", "left"), ("name", "left"), ("title", "left"))
        for entry in found:
            made.add_row(entry.what, text(entry.name), text(entry.title))
        console().print(made)
    click.echo(counted(len(found), "entry", "entries"))
