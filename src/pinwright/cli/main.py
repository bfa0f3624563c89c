"""Entry point: commands, their options, and what happens when something goes wrong.

Results go to stdout, talk to stderr.  Exit codes: 0 fine, 1 the answer is no, 2 wrong use or unreadable input.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinwright import __version__
from pinwright.cli.catalogue import folder_option
from pinwright.cli.group import EXIT_NO, FacesErrors, json_option, print_json, printable
from pinwright.cli.inputs import BOARD, BRIEF, LIMIT, PRICES, read_job, restricted
from pinwright.cli.pack import pack
from pinwright.contract import CONTRACT

if TYPE_CHECKING:
    from pinwright.fitting.plan import BoardPlan
    from pinwright.fitting.rank import Job

__all__ = ["main"]


@click.group(cls=FacesErrors, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(__version__, prog_name="pinwright")
def main() -> None:
    """Choose a microcontroller board and a proven pin for every wire.

    \b
    Example:
        pinwright new brief.toml
        pinwright plan brief.toml
    """


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over a file that is already there.")
@json_option
def new(file: Path, force: bool, as_json: bool) -> None:
    """Write a commented starter brief to FILE.

    \b
    Example:
        pinwright new greenhouse.toml
    """
    from pinwright.brief.starter import write_starter

    write_starter(file, force)
    if as_json:
        print_json({"contract": CONTRACT, "written": str(file)})
    else:
        click.echo(printable(f"Wrote {file}. Edit it, then run: pinwright plan {shlex.quote(str(file))}"))


@main.command()
@BRIEF
@folder_option
@PRICES
@LIMIT
@click.option("--top", type=click.IntRange(min=1), default=6, show_default=True, help="How many boards to list.")
@click.option("--board", "boards", multiple=True, help="Plan on this board only; may be given again.")
@json_option
def plan(
    brief: Path, folders: tuple[Path, ...], prices: Path | None, time_limit: float | None, top: int, boards: tuple[str, ...], as_json: bool
) -> None:
    """Find the best board for BRIEF and a pin for every line.

    \b
    Example:
        pinwright plan examples/bakery-proofer.toml
    """
    import gc

    from pinwright.cli.progress import terminal_reporter
    from pinwright.contract import plan_shape

    gc.disable()  # one short job: collecting what is still in use only costs time
    from pinwright.planning import plan_job

    job = read_job(brief, folders, prices, time_limit)
    if boards:
        job = restricted(job, boards)
    result = plan_job(job, terminal_reporter(quiet=as_json))
    if as_json:
        print_json(plan_shape(result))
    else:
        from pinwright.cli.show_plan import show_plan

        show_plan(result, top, brief)
    sys.exit(0 if result.usable else EXIT_NO)


@main.command()
@BRIEF
@folder_option
@json_option
def check(brief: Path, folders: tuple[Path, ...], as_json: bool) -> None:
    """Review the pins that BRIEF fixes on its board.

    \b
    Example:
        pinwright check examples/copied-wiring.toml
    """
    from pinwright.contract import check_shape
    from pinwright.planning import check as check_job

    result = check_job(read_job(brief, folders, None, None))
    if as_json:
        print_json(check_shape(result))
    else:
        from pinwright.cli.show_review import show_check

        show_check(result)
    sys.exit(EXIT_NO if result.review.verdict == "refused" else 0)


@main.command()
@BRIEF
@click.argument("line")
@BOARD
@click.option("--not", "instead", metavar="PIN", help="Ask why the line is not on PIN, and what that would cost.")
@click.option("--phase", help="Prove what the line does in one phase: reset, boot, set-up, ...")
@folder_option
@LIMIT
@json_option
def why(
    brief: Path,
    line: str,
    board: str | None,
    instead: str | None,
    phase: str | None,
    folders: tuple[Path, ...],
    time_limit: float | None,
    as_json: bool,
) -> None:
    """Explain the pin of LINE ("part.line") in the plan for BRIEF.

    \b
    Example:
        pinwright why examples/bakery-proofer.toml heater.CTRL
        pinwright why examples/bakery-proofer.toml heater.CTRL --not GPIO8
        pinwright why examples/bakery-proofer.toml heater.CTRL --phase boot
    """
    from pinwright.contract import why_not_shape, why_shape
    from pinwright.fitting.why import find_line, why_not

    job, best = _best_plan(brief, board, folders, time_limit, as_json)
    placed = find_line(best, line)
    if phase is not None:
        _why_phase(best, placed.line.id, phase, job, as_json)
        return
    if instead is None:
        if as_json:
            print_json(why_shape(best, placed, job))
        else:
            from pinwright.cli.show_why import show_why

            show_why(best, placed, job)
        return
    answer = why_not(job, best, placed, instead)
    if as_json:
        print_json(why_not_shape(answer, best))
    else:
        from pinwright.cli.show_why import show_why_not

        show_why_not(answer, best)
    sys.exit(0 if answer.plan else EXIT_NO)


def _best_plan(brief: Path, board: str | None, folders: tuple[Path, ...], time_limit: float | None, as_json: bool) -> tuple[Job, BoardPlan]:
    """The job and the plan that is asked about; where no board can do it, that is told and the command ends."""
    from pinwright.cli.progress import terminal_reporter
    from pinwright.contract import plan_shape
    from pinwright.planning import plan_job

    job = read_job(brief, folders, None, time_limit)
    if board:
        job = restricted(job, (board,))
    result = plan_job(job, terminal_reporter(quiet=as_json))
    if result.usable:
        return job, result.usable[0]
    if as_json:
        print_json(plan_shape(result))
    else:
        from pinwright.cli.show_plan import show_refusals

        show_refusals(result)
    sys.exit(EXIT_NO)


def _add_facts() -> None:
    from pinwright.cli.facts import facts

    main.add_command(facts)


_add_facts()
main.add_command(pack)


def _why_phase(plan: BoardPlan, line: str, phase: str, job: Job, as_json: bool) -> None:
    from pinwright.contract import cell_shape
    from pinwright.fitting.timeline import cell_of, timeline

    rows = timeline(plan, job.setting)
    row = next(row for row in rows if row.line == line)
    cell = cell_of(rows, line, phase)
    if as_json:
        print_json({"contract": CONTRACT, "board": plan.view.board.id, "line": line, "pin": row.pin, **cell_shape(cell)})
    else:
        from pinwright.cli.show_timeline import show_cell

        show_cell(row, cell)


@main.command()
@BRIEF
@BOARD
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Draw it into this SVG file.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@folder_option
@LIMIT
@json_option
def timeline(
    brief: Path, board: str | None, output: Path | None, force: bool, folders: tuple[Path, ...], time_limit: float | None, as_json: bool
) -> None:
    """Show what every line does from power-on until, and after, the firmware rules.

    \b
    Example:
        pinwright timeline examples/bakery-proofer.toml
    """
    from pinwright.contract import timeline_shape
    from pinwright.fitting.timeline import timeline as timeline_of

    if output is not None:
        from pinwright.files import must_be_new

        must_be_new(output, force)
    job, best = _best_plan(brief, board, folders, time_limit, as_json)
    rows = timeline_of(best, job.setting)
    title = job.file.brief.title
    if output is not None:
        from pinwright.files import write_new
        from pinwright.pack.timeline_svg import timeline_svg

        write_new(output, timeline_svg(title, best.view.board.name, rows), force)
    if as_json:
        print_json(timeline_shape(best, rows, str(output) if output else None))
    elif output is not None:
        click.echo(printable(f"Wrote {output}. Open it in a browser."))
    else:
        from pinwright.cli.show_timeline import show_timeline

        show_timeline(rows, title, best.view.board.name)


if __name__ == "__main__":
    main()
