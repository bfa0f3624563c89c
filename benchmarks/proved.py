"""Whether every answer is proved, and how long the slowest takes, over many random briefs."""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import cache

from common import TESTS, Result, Row, say

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.fitting.rank import boards_in_question, plan_board, prepare

sys.path.insert(0, str(TESTS))
from briefs import random_brief

__all__ = ["measure"]

MOST_LINES = 40
SLOW_S = 5.0
_EVERY = 5  # each brief is planned on every fifth board; which ones, goes round with the seed
_BLOCK = 20


@dataclass(frozen=True, slots=True)
class Answer:
    """One brief on one board."""

    seed: int
    board: str
    feasible: bool
    proved: bool
    smallest: bool
    taken_s: float


def measure(quick: bool) -> Result:
    """Plan random briefs of up to 40 lines; count what is not proved and what is slow."""
    briefs = 60 if quick else 1000
    load_catalogue()  # the workers find its kept copy
    answers: list[Answer] = []
    blocks = [range(first, min(first + _BLOCK, briefs)) for first in range(0, briefs, _BLOCK)]
    workers = min(2, os.cpu_count() or 1)
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        for number, found in enumerate(pool.map(_block, blocks), 1):
            answers += found
            if number % 5 == 0 or number == len(blocks):
                say(f"proved: {number * _BLOCK} of {briefs} briefs, {len(answers)} answers")
    plans = [answer for answer in answers if answer.feasible]
    refusals = [answer for answer in answers if not answer.feasible]
    unproved = [answer for answer in answers if not answer.proved]
    slow = [answer for answer in answers if answer.taken_s > SLOW_S]
    worst = sorted(answers, key=lambda answer: -answer.taken_s)[:10]
    slowest = f"slowest {worst[0].taken_s:.2g} s: seed {worst[0].seed}, {worst[0].board}"
    unnamed = sum(not answer.smallest for answer in refusals)
    rows = (
        Row("proved", f"plans, of {briefs} random briefs", len(plans), "plans"),
        Row("proved", "refusals", len(refusals), "refusals", "", f"{unnamed} with a conflict not proved to be the smallest"),
        Row("proved", "answers not proved", len(unproved), "answers", "0", _where(unproved), bool(unproved)),
        Row("proved", f"answers slower than {SLOW_S:g} s", len(slow), "answers", "0", slowest),
    )
    shown = {"unproved": unproved, "slow": slow, "slowest": worst}
    detail = {"briefs": briefs, "total_s": sum(answer.taken_s for answer in answers)}
    return Result(rows, detail | {name: [asdict(answer) for answer in found] for name, found in shown.items()})


def _where(answers: list[Answer]) -> str:
    return "; ".join(f"seed {answer.seed}, {answer.board}" for answer in answers[:3])


@cache
def _catalogue() -> Catalogue:
    return load_catalogue()


def _block(seeds: range) -> list[Answer]:
    return [answer for seed in seeds for answer in _answers(seed)]


def _answers(seed: int) -> Iterator[Answer]:
    job = prepare(random_brief(seed, MOST_LINES, _catalogue()), _catalogue())
    for board in boards_in_question(job)[seed % _EVERY :: _EVERY]:
        start = time.perf_counter()
        plan = plan_board(job, board)
        taken = time.perf_counter() - start
        conflict = plan.conflict
        ran_out = conflict is not None and not conflict.wishes  # a refusal that names no wish: the time ran out
        yield Answer(seed, board.id, plan.feasible, plan.proved and not ran_out, conflict is None or conflict.smallest, taken)
