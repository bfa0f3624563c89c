"""``pinwright facts``: look into the catalogue and check it."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright.cli.catalogue import folder_option, open_catalogue
from pinwright.cli.group import EXIT_NO, Choice, FacesErrors, json_option, print_json, printable
from pinwright.contract import CONTRACT

if TYPE_CHECKING:
    from pinwright.facts.lookup import Entry
    from pinwright.facts.model import Board, Chip, Part
    from pinwright.facts.provenance import Claim

__all__ = ["facts"]


@click.group(cls=FacesErrors)
def facts() -> None:
    """Look into the catalogue: chips, boards, parts and their sources.

    \b
    Example:
        pinwright facts search temperature
    """


@facts.command("list")
@click.argument("what", type=Choice(["chips", "boards", "parts"]), required=False)
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
@click.argument("key", required=False)
@click.option("--all", "every", is_flag=True, help="Every value with its source.")
@folder_option
@json_option
def show(name: str, key: str | None, every: bool, folders: tuple[Path, ...], as_json: bool) -> None:
    """Show a chip, board or part; with KEY, values with their sources.

    KEY is where a value stands, or part of that: electrical.vih_min, GPIO4,
    pad.GPIO4.adc, supply, line.SDA.

    \b
    Example:
        pinwright facts show raspberry-pi-pico
        pinwright facts show ESP32 GPIO12
        pinwright facts show ESP32 --json
    """
    from pinwright.contract import board_shape, chip_shape, claims_shape, part_shape
    from pinwright.facts.lookup import find
    from pinwright.facts.model import Board, Chip

    catalogue = open_catalogue(folders)
    item = find(name, catalogue)
    if key is not None or every:
        found = _claims(name, item, key)
        if as_json:
            print_json(claims_shape(item, found))
        else:
            from pinwright.cli.show_facts import show_claims

            show_claims(found)
        return
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


def _claims(name: str, item: Chip | Board | Part, key: str | None) -> list[Claim]:
    from pinwright.errors import UnknownName
    from pinwright.facts.provenance import claims, matching_claims

    if key is None:
        return claims(item)
    found = matching_claims(item, key)
    if not found:
        pieces = dict.fromkeys(piece for claim in claims(item) for piece in (claim.key, *claim.key.split(".")))
        raise UnknownName(f"value of {name}", key, pieces)
    return found


@facts.command()
@click.argument("word", required=False)
@folder_option
@json_option
def sources(word: str | None, folders: tuple[Path, ...], as_json: bool) -> None:
    """List the documents the catalogue rests on, or those that contain WORD.

    \b
    Example:
        pinwright facts sources BME280
    """
    from pinwright.contract import document_shape
    from pinwright.facts.provenance import documents

    wanted = (word or "").casefold()
    found = [d for d in documents(open_catalogue(folders)) if wanted in f"{d.title} {d.revision} {' '.join(d.entries)}".casefold()]
    if as_json:
        print_json({"contract": CONTRACT, "documents": [document_shape(document) for document in found]})
    else:
        from pinwright.cli.show_facts import show_documents

        show_documents(found)
    sys.exit(0 if found else EXIT_NO)


@facts.command()
@click.argument("what", type=Choice(["chip", "board", "part"]))
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write to this file instead of the terminal.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@json_option
def template(what: str, output: Path | None, force: bool, as_json: bool) -> None:
    """Print a commented file to start a chip, board or part of your own.

    It passes the check as it is: change it step by step.

    \b
    Example:
        pinwright facts template part
    """
    from pinwright.facts.templates import template_text
    from pinwright.files import write_new

    words = template_text(what)
    if output is not None:
        write_new(output, words, force)
    if as_json:
        print_json({"contract": CONTRACT, "what": what, "written": str(output) if output else None, "text": words})
    elif output is None:
        click.echo(words, nl=False)
    else:
        folder = printable(shlex.quote(str(output.resolve().parent.parent)))
        click.echo(f"Wrote {printable(str(output))}. Check it with: pinwright facts check --catalogue {folder}")


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
    from pinwright.facts.across import uncited
    from pinwright.facts.loader import fact_files, misplaced, read_files

    files = list(fact_files(folders))
    try:
        catalogue = read_files(files)
        faults = [*catalogue.faults, *uncited(catalogue, files)]
    except FactsError as error:
        faults = list(error.faults)
    faults = [*misplaced(folders), *faults]
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
