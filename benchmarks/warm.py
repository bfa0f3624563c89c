"""Planning one board again, as after a change in an editor: catalogue and brief are loaded."""

from __future__ import annotations

import time

from common import BRIEFS, Result, Row, job_of, lines_of, median_s, say

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board
from pinwright.fitting.candidates import candidates
from pinwright.fitting.places import view
from pinwright.fitting.plan import fit
from pinwright.fitting.rank import Job, money_of, rank

__all__ = ["measure"]

BAR_S = 0.060


def measure(quick: bool) -> Result:
    """Candidates and fit at 25 lines, on the best board and on the slowest of those that can do it."""
    catalogue = load_catalogue()
    job = job_of(BRIEFS / "lines-25.toml", catalogue)
    able = [plan.view.board for plan in rank(job).boards if plan.feasible]
    say(f"warm: {len(able)} boards can do it")
    slowest = max(able, key=lambda board: _once_s(job, board))
    times = 10 if quick else 30
    taken = {}
    rows = []
    for which, board in (("best board", able[0]), ("slowest board", slowest)):
        taken[which] = median_s(times, lambda board=board: _replan(job, board))  # type: ignore[misc]
        rows.append(Row("warm", f"re-plan of {lines_of(job)} lines, {which}", taken[which] / BAR_S, "x 60 ms", "1", board.id))
    return Result(tuple(rows), {"median_s": taken, "bar_s": BAR_S, "boards": [board.id for board in able]})


def _replan(job: Job, board: Board) -> object:
    return fit(candidates(view(board, job.catalogue), job.nets, job.setting), money_of(job, board))


def _once_s(job: Job, board: Board) -> float:
    start = time.perf_counter()
    _replan(job, board)
    return time.perf_counter() - start
