"""Whether every answer is proved, and how long the slowest takes, over many random briefs."""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cache, lru_cache
from multiprocessing.connection import Connection, wait

from common import TESTS, Result, Row, say

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.fitting.rank import Job, plan_board, prepare

sys.path.insert(0, str(TESTS))
from briefs import random_brief

__all__ = ["measure"]

MOST_LINES = 40
SLOW_S = 5.0
HUNG_S = 60.0  # the planner gives up by itself after a third of this
_EVERY = 5  # each brief is planned on every fifth board; which ones, goes round with the seed
_MOST_HUNG = 5  # no use in waiting for more

_Task = tuple[int, str]


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
    """Plan random briefs of up to 40 lines; count what is not proved, what is slow and what never ends."""
    briefs = 60 if quick else 1000
    boards = sorted(load_catalogue().boards)  # also makes the kept copy that the workers find
    tasks = [(seed, board) for seed in range(briefs) for board in boards[seed % _EVERY :: _EVERY]]
    answers: list[Answer] = []
    hung: list[_Task] = []
    for task, answer in _answers(tasks, min(2, os.cpu_count() or 1)):
        if answer is None:
            say(f"proved: seed {task[0]} on {task[1]} did not end within {HUNG_S:g} s")
            hung.append(task)
            if len(hung) == _MOST_HUNG:
                break
            continue
        answers.append(answer)
        if len(answers) % 500 == 0:
            say(f"proved: {len(answers)} of {len(tasks)}")
    plans = [answer for answer in answers if answer.feasible]
    refusals = [answer for answer in answers if not answer.feasible]
    unproved = [answer for answer in answers if not answer.proved]
    slow = [answer for answer in answers if answer.taken_s > SLOW_S]
    worst = sorted(answers, key=lambda answer: -answer.taken_s)[:10]
    slowest = f"slowest {worst[0].taken_s:.2g} s: seed {worst[0].seed}, {worst[0].board}"
    unnamed = sum(not answer.smallest for answer in refusals)
    asked = "" if len(answers) + len(hung) == len(tasks) else f"stopped after {len(answers) + len(hung)} of {len(tasks)} answers"
    rows = (
        Row("proved", f"plans, of {briefs} random briefs", len(plans), "plans", "", asked),
        Row("proved", "refusals", len(refusals), "refusals", "", f"{unnamed} with a conflict not proved to be the smallest"),
        Row("proved", "answers not proved", len(unproved), "answers", "0", _where([(a.seed, a.board) for a in unproved]), bool(unproved)),
        Row("proved", f"answers slower than {SLOW_S:g} s", len(slow), "answers", "0", slowest),
        Row("proved", f"no answer within {HUNG_S:g} s", len(hung), "answers", "0", _where(hung), bool(hung)),
    )
    shown = {"unproved": unproved, "slow": slow, "slowest": worst}
    detail = {"briefs": briefs, "asked": len(tasks), "total_s": sum(answer.taken_s for answer in answers), "hung": hung}
    return Result(rows, detail | {name: [asdict(answer) for answer in found] for name, found in shown.items()})


def _where(tasks: list[_Task]) -> str:
    return "; ".join(f"seed {seed}, {board}" for seed, board in tasks[:3])


# ------------------------------------------------------------------------------ workers that may be stopped


class _Worker:
    """A process that answers one task at a time; it can be stopped whatever it is doing."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_serve, args=(theirs,), daemon=True)
        self.process.start()
        theirs.close()
        self.task: _Task = (0, "")
        self.since = 0.0

    def give(self, task: _Task) -> None:
        self.task, self.since = task, time.monotonic()
        self.pipe.send(task)

    def stop(self) -> None:
        self.process.kill()
        self.process.join()
        self.pipe.close()


def _answers(tasks: list[_Task], workers: int) -> Iterator[tuple[_Task, Answer | None]]:
    """Each task with its answer as they come, ``None`` where there was none in time."""
    waiting = iter(tasks)
    free, busy = [_Worker() for _ in range(workers)], list[_Worker]()
    try:
        while True:
            while free and (task := next(waiting, None)) is not None:
                busy.append(free.pop())
                busy[-1].give(task)
            if not busy:
                return
            ready = wait([worker.pipe for worker in busy], timeout=1.0)
            for worker in list(busy):
                if worker.pipe in ready:
                    yield worker.task, worker.pipe.recv()
                elif time.monotonic() - worker.since > HUNG_S:
                    worker.stop()
                    yield worker.task, None
                else:
                    continue
                busy.remove(worker)
                free.append(worker if worker.process.is_alive() else _Worker())
    finally:
        for worker in (*free, *busy):
            worker.stop()


def _serve(pipe: Connection) -> None:
    while True:
        pipe.send(_answer(*pipe.recv()))


@cache
def _catalogue() -> Catalogue:
    return load_catalogue()


@lru_cache(maxsize=4)
def _job(seed: int) -> Job:
    return prepare(random_brief(seed, MOST_LINES, _catalogue()), _catalogue())


def _answer(seed: int, board: str) -> Answer:
    job = _job(seed)
    start = time.perf_counter()
    plan = plan_board(job, _catalogue().boards[board])
    taken = time.perf_counter() - start
    conflict = plan.conflict
    ran_out = conflict is not None and not conflict.wishes  # a refusal that names no wish: the time ran out
    return Answer(seed, board, plan.feasible, plan.proved and not ran_out, conflict is None or conflict.smallest, taken)
