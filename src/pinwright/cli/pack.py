"""``pinwright pack``: write everything that belongs to a plan into a folder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright.cli.catalogue import folder_option
from pinwright.cli.group import EXIT_NO, json_option, print_json, printable
from pinwright.cli.inputs import BOARD, BRIEF, LIMIT, PRICES, read_job, restricted

if TYPE_CHECKING:
    from pinwright.pack.build.model import Build
    from pinwright.pack.make import Pack

__all__ = ["pack"]


@click.command()
@BRIEF
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True, metavar="DIR", help="Write it into this folder.")
@BOARD
@PRICES
@folder_option
@LIMIT
@click.option("--force", is_flag=True, help="Write over files of an earlier pack that you edited; never over others.")
@click.option("--no-pdf", is_flag=True, help="Leave out the report on paper, which takes longest.")
@json_option
def pack(
    brief: Path,
    output: Path,
    board: str | None,
    prices: Path | None,
    folders: tuple[Path, ...],
    time_limit: float | None,
    force: bool,
    no_pdf: bool,
    as_json: bool,
) -> None:
    """Write drawings, lists, firmware, bench sheet and report for BRIEF.

    \b
    Example:
        pinwright pack examples/bakery-proofer.toml -o proofer
    """
    import gc

    from pinwright.cli.progress import Steps, terminal_reporter
    from pinwright.contract import pack_shape, plan_shape
    from pinwright.pack.folder import check_folder, write_pack
    from pinwright.planning import plan_job

    gc.disable()  # one short job: collecting what is still in use only costs time
    check_folder(output)
    job = read_job(brief, folders, prices, time_limit)
    wanted = job.catalogue.board(board).id if board is not None else None
    result = plan_job(job, terminal_reporter(quiet=as_json))
    if wanted is not None and wanted not in {plan.view.board.id for plan in result.usable}:
        result = plan_job(restricted(job, (wanted,)), terminal_reporter(quiet=as_json))  # the brief may not have it in question
    if not result.usable:
        if as_json:
            print_json(plan_shape(result))
        else:
            from pinwright.cli.show_plan import show_refusals

            show_refusals(result)
        sys.exit(EXIT_NO)
    from pinwright.pack.build.make import build_of
    from pinwright.pack.make import OPEN_FIRST, pack_of

    build = build_of(result, wanted)
    with Steps(quiet=as_json) as step:
        made = pack_of(build, not no_pdf, step)
    write_pack(output, made.files, force)
    if as_json:
        print_json(pack_shape(build.title, build.plan.view.board.id, str(output), OPEN_FIRST, made.files, made.left_out))
    else:
        _say(build, made, output)


def _say(build: Build, made: Pack, folder: Path) -> None:
    from pinwright.pack.make import OPEN_FIRST

    click.echo(printable(f"{build.title}, on the {build.board.title}".replace("\n", " ")))
    click.echo(printable(f"Wrote {len(made.files)} files into {folder}. Open {folder / OPEN_FIRST} first."))
    if build.plan.weak:
        click.echo(printable(f"The supply does not hold as it is ({', '.join(build.plan.weak)}): read the first cautions of the report."))
    for words in made.left_out:
        click.echo(printable(f"Left out: {words}."))
    cautions = sum(finding.severity == "caution" for finding in build.review.findings)
    if cautions:
        click.echo(f"The report names {cautions} caution{'s' if cautions != 1 else ''}: read them before you buy or join anything.")
