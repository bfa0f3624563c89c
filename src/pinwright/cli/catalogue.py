"""The option for catalogue folders of one's own, and opening the catalogue with them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright.cli.group import printable

if TYPE_CHECKING:
    from pinwright.facts.loader import Catalogue

__all__ = ["folder_option", "open_catalogue"]

folder_option = click.option(
    "--catalogue",
    "folders",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    multiple=True,
    help="A folder of your own with chips/, boards/ and parts/.",
)


def open_catalogue(folders: tuple[Path, ...]) -> Catalogue:
    """Load the catalogue; what of one's own is not read or left out is told on stderr."""
    from pinwright.facts.loader import load_catalogue, misplaced

    for fault in misplaced(folders):
        click.echo(printable(f"not read: {fault}"), err=True)
    catalogue = load_catalogue(folders)
    for fault in catalogue.faults:
        click.echo(printable(f"left out: {fault}"), err=True)
    return catalogue
