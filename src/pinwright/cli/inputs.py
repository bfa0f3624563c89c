"""Arguments and options several commands share, and the job they lead to."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright.cli.catalogue import open_catalogue

if TYPE_CHECKING:
    from pinwright.fitting.rank import Job

__all__ = ["BOARD", "BRIEF", "LIMIT", "PRICES", "read_job", "restricted"]


def _finite(_: click.Context, __: click.Parameter, value: float | None) -> float | None:
    if value is not None and not math.isfinite(value):
        raise click.BadParameter(f"{value} is not a number of seconds.")
    return value


BRIEF = click.argument("brief", type=click.Path(path_type=Path))
PRICES = click.option("--prices", type=click.Path(path_type=Path), help="Your price list (TOML).")
LIMIT = click.option(
    "--time-limit",
    type=click.FloatRange(min=0.01),
    callback=_finite,
    metavar="SECONDS",
    help="Stop proving one board after this long.",
)
BOARD = click.option("--board", help="Answer for this board instead of the best one.")


def read_job(brief: Path, folders: tuple[Path, ...], prices: Path | None, time_limit: float | None) -> Job:
    """Read brief, catalogue and prices.

    Parameters
    ----------
    brief, prices : files [-]
    folders : the maker's own catalogue folders [-]
    time_limit : give up proving one board after this long [s]
    """
    from pinwright.planning import open_job

    return open_job(brief, catalogue=open_catalogue(folders), prices=prices, time_limit_s=time_limit)


def restricted(job: Job, boards: tuple[str, ...]) -> Job:
    """The same job on these boards only.

    Parameters
    ----------
    job : any job [-]
    boards : names or ids [-]

    Raises
    ------
    UnknownName : nobody knows one of them.
    """
    from pinwright.fitting.rank import only_boards

    return only_boards(job, [job.catalogue.board(name).id for name in boards])
