"""How the time grows with the lines of a brief and with the boards of a catalogue."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from chart import Series, line_chart
from common import BRIEFS, Result, Row, in_turns_s, job_of, say

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.model import Board
from pinwright.fitting.candidates import candidates
from pinwright.fitting.places import BoardView, Place, view
from pinwright.fitting.plan import fit
from pinwright.fitting.rank import Job, prepare, rank

__all__ = ["measure"]

_WIDE = "esp32-s3-devkitc-1-n8"  # put side by side to make one board with enough pins
_COPIES = 3
_LINES = (5, 10, 15, 20, 25, 30, 40, 50, 60)
_KINDS = (
    "push-button-momentary", "relay-module-active-high", "potentiometer-10k", "servo-hobby", "reed-contact-door",
    "temp-ds18b20", "push-button-momentary", "relay-module-active-high", "limit-switch-micro", "push-button-momentary",
)  # fmt: skip
"""Parts of one line each, taken in turns."""

_FIVE = ("atmega2560-54pin", "esp32-devkitc-v4", "esp32-c3-devkitm-1", "esp32-s3-devkitc-1-n8", "raspberry-pi-pico")
_BOARDS = (5, 10, 25, 50, 100, 250, 500, 1000)
_SMALL = 50  # up to so many boards the median of several runs; one run above


def measure(quick: bool) -> Result:
    """Both curves, each as a ratio to its smallest point."""
    catalogue = load_catalogue()
    lines, lines_chart = _lines(catalogue, (5, 10, 20, 40) if quick else _LINES, 3 if quick else 9)
    boards, boards_chart = _boards(catalogue, (5, 10, 25) if quick else _BOARDS)
    rows = []
    for what, sizes, taken in (("lines", *_ends(lines)), ("boards", *_ends(boards))):
        note = f"{sizes[1] / sizes[0]:g} times the {what}"
        rows.append(Row("growth", f"{sizes[0]} to {sizes[1]} {what}", taken[1] / taken[0], f"x {sizes[0]} {what}", "", note))
    charts = {"growth-lines.svg": lines_chart, "growth-boards.svg": boards_chart}
    return Result(tuple(rows), {"lines_s": lines, "boards_s": boards}, charts)


def _ends(taken: dict[int, float]) -> tuple[tuple[int, int], tuple[float, float]]:
    first, last = min(taken), max(taken)
    return (first, last), (taken[first], taken[last])


# ------------------------------------------------------------------------------ lines


def _lines(catalogue: Catalogue, sizes: Sequence[int], times: int) -> tuple[dict[int, float], str]:
    board = _wide_board(catalogue)
    jobs = {size: _job(catalogue, size) for size in sizes}
    for size, job in jobs.items():
        if fit(candidates(board, job.nets, job.setting), 0.0) is None:
            raise RuntimeError(f"the board must be able to carry {size} lines")
    say(f"growth: {sizes[0]} to {sizes[-1]} lines on {len(board.places)} pins")
    judge = {size: partial(candidates, board, job.nets, job.setting) for size, job in jobs.items()}
    judged = in_turns_s(times, judge)
    whole = in_turns_s(times, {size: partial(_planned, board, job) for size, job in jobs.items()})
    smallest = whole[sizes[0]]
    chart = line_chart(
        "Time to plan one board against the lines of the brief",
        f"Both axes logarithmic. One made-up board of {len(board.places)} pins; time as a ratio to the whole plan at {sizes[0]} lines.",
        "lines of the brief [-]",
        f"time, relative to {sizes[0]} lines [-]",
        (
            Series("whole plan", [(size, taken / smallest) for size, taken in whole.items()]),
            Series("judging pins only", [(size, taken / smallest) for size, taken in judged.items()]),
            Series("proportional", [(size, size / sizes[0]) for size in sizes], is_guide=True),
        ),
    )
    return whole, chart


def _planned(board: BoardView, job: Job) -> object:
    return fit(candidates(board, job.nets, job.setting), 0.0)


def _wide_board(catalogue: Catalogue) -> BoardView:
    seen = view(catalogue.board(_WIDE), catalogue)
    return replace(seen, places=tuple(_copied(place, copy) for copy in range(_COPIES) for place in seen.places))


def _copied(place: Place, copy: int) -> Place:
    pad = replace(place.pad, name=f"{place.pad.name}/{copy}", gpio=f"{place.pad.gpio}/{copy}")
    return replace(place, label=f"{place.label}/{copy}", row=f"{place.row}/{copy}", pad=pad)


def _job(catalogue: Catalogue, size: int) -> Job:
    parts = [f'[[part]]\nname = "thing {number}"\nkind = "{_KINDS[number % len(_KINDS)]}"' for number in range(size)]
    return prepare(parse_brief("\n".join(['title = "Growth"', *parts]), f"{size}-lines.toml", catalogue), catalogue)


# ------------------------------------------------------------------------------ boards


def _boards(catalogue: Catalogue, sizes: Sequence[int]) -> tuple[dict[int, float], str]:
    jobs = {size: job_of(BRIEFS / "lines-12.toml", _with_boards(catalogue, size)) for size in sizes}
    small = {size: partial(rank, job) for size, job in jobs.items() if size <= _SMALL}
    say(f"growth: {', '.join(str(size) for size in small)} boards")
    taken = in_turns_s(5, small)
    for size in sizes:
        if size > _SMALL:
            say(f"growth: {size} boards")
            taken[size] = _once_s(jobs[size])
    smallest = taken[sizes[0]]
    chart = line_chart(
        "Time to rank all boards against their number",
        f"Both axes logarithmic. Copies of five boards, a brief of 12 lines; time as a ratio to {sizes[0]} boards.",
        "boards of the catalogue [-]",
        f"time, relative to {sizes[0]} boards [-]",
        (
            Series("whole ranking", [(size, value / smallest) for size, value in taken.items()]),
            Series("proportional", [(size, size / sizes[0]) for size in sizes], is_guide=True),
        ),
    )
    return taken, chart


def _once_s(job: Job) -> float:
    start = time.perf_counter()
    rank(job)
    return time.perf_counter() - start


def _with_boards(catalogue: Catalogue, size: int) -> Catalogue:
    boards: dict[str, Board] = {}
    for number in range(size):
        name = f"{_FIVE[number % len(_FIVE)]}-copy-{number // len(_FIVE)}"
        boards[name] = replace(catalogue.board(_FIVE[number % len(_FIVE)]), id=name)
    return replace(catalogue, boards=boards)
