"""One model a board against one large model in which the board is a choice too.

Both are the same plain mixed-integer programme: minimise money * 1e6 + components * 1e3 + risk.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np
from common import BRIEFS, Result, Row, job_of, lines_of, say

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.candidates import candidates
from pinwright.fitting.places import view
from pinwright.fitting.problem import Problem
from pinwright.fitting.rank import boards_in_question, money_of
from pinwright.fitting.solver import _rows, solve  # the rows as the planner writes them: both sides have the same model

__all__ = ["measure"]

_MONEY, _COMPONENT = 1e6, 1e3
_LIMIT_S = 120.0
_GAP = 0.5  # the objective is whole, so a gap under one is a proof


@dataclass(frozen=True, slots=True)
class Answer:
    """Best objective (``None``: impossible), whether it is proved, and the time it took."""

    objective: float | None
    proved: bool
    taken_s: float


def measure(quick: bool) -> Result:
    """The same brief both ways, and as the planner does it (all its tiers)."""
    catalogue = load_catalogue()
    rows = []
    detail = {}
    for name in ("lines-12",) if quick else ("lines-12", "lines-25"):
        job = job_of(BRIEFS / f"{name}.toml", catalogue)
        boards = boards_in_question(job)
        money = [money_of(job, board) for board in boards]
        problems = [candidates(view(board, catalogue), job.nets, job.setting).problem()[0] for board in boards]
        plain = [replace(problem, clusters=(), zone_ties={}) for problem in problems]  # spread is no part of this objective
        say(f"one-model: {name}, one model a board")
        apart = [_solved([problem], [price]) for problem, price in zip(plain, money, strict=True)]
        say(f"one-model: {name}, one model for all")
        together = _solved(plain, money)
        tiers = _planner(problems, money)
        best = min(answer.objective for answer in apart if answer.objective is not None)
        proved = together.proved and all(answer.proved for answer in apart)
        agree = not proved or best == together.objective == tiers.objective
        apart_s = sum(answer.taken_s for answer in apart)
        what = f"{lines_of(job)} lines, {len(boards)} boards"
        note = (
            f"best objective {best:.0f}; {'all agree' if agree else f'one model says {together.objective}, the planner {tiers.objective}'}"
        )
        note += "" if together.proved else f"; stopped after {_LIMIT_S:g} s"
        rows += [
            Row("one-model", f"one model for all, {what}", together.taken_s / apart_s, "x one a board", "", note, not agree),
            Row("one-model", f"planner, all tiers, {what}", tiers.taken_s / apart_s, "x one a board"),
        ]
        detail[name] = {"apart_s": apart_s, "together_s": together.taken_s, "planner_s": tiers.taken_s, "objective": best, "agree": agree}
    return Result(tuple(rows), detail)


def _planner(problems: Sequence[Problem], money: Sequence[float]) -> Answer:
    start = time.perf_counter()
    answers = [solve(problem) for problem in problems]
    taken = time.perf_counter() - start
    costs = [price * _MONEY + answer.cost[0] * _COMPONENT + answer.cost[1] for price, answer in zip(money, answers, strict=True) if answer]
    return Answer(min(costs, default=None), all(answer is None or answer.proved for answer in answers), taken)


def _solved(problems: Sequence[Problem], money: Sequence[float]) -> Answer:
    start = time.perf_counter()
    engine: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    engine.silent()
    options = {"threads": 1, "random_seed": 1, "mip_rel_gap": 0.0, "mip_abs_gap": _GAP, "mip_feasibility_tolerance": 1e-8}
    for name, value in {**options, "time_limit": _LIMIT_S}.items():
        engine.setOptionValue(name, value)
    if engine.passModel(_model(problems, money)) == highspy.HighsStatus.kError:
        raise RuntimeError("HiGHS refuses the model")
    engine.run()
    status = engine.getModelStatus()
    taken = time.perf_counter() - start
    if status == highspy.HighsModelStatus.kInfeasible:
        return Answer(None, True, taken)
    return Answer(float(round(engine.getObjectiveValue())), status == highspy.HighsModelStatus.kOptimal, taken)


def _model(problems: Sequence[Problem], money: Sequence[float]) -> highspy.HighsLp:
    """All boards side by side, each under a column that says whether it is taken.

    A row ``low <= a x <= high`` of a board becomes ``a x - high taken <= 0`` and ``a x - low taken >= 0``: itself
    where the board is taken, and nothing may be chosen where it is not.
    """
    cost: list[float] = []
    start, index = [0], list[int]()
    value: list[float] = []
    low_side: list[float] = []
    high_side: list[float] = []

    def row(columns: Sequence[int], factors: Sequence[float], low: float, high: float) -> None:
        index.extend(columns)
        value.extend(factors)
        start.append(len(index))
        low_side.append(low)
        high_side.append(high)

    taken = []
    for problem, price in zip(problems, money, strict=True):
        matrix, _ = _rows(problem)
        first = len(cost)
        own = [option.components * _COMPONENT + option.risk for option in problem.options]
        cost += [*own, *[0.0] * (matrix.columns - len(own)), price * _MONEY]
        taken.append(len(cost) - 1)
        for at, (low, high) in enumerate(zip(matrix.low, matrix.high, strict=True)):
            entries = slice(matrix.start[at], matrix.start[at + 1])
            columns = [first + column for column in matrix.index[entries]]
            factors = matrix.value[entries]
            if low == high:
                row([*columns, taken[-1]], [*factors, -high], 0.0, 0.0)
                continue
            if high < float("inf"):
                row([*columns, taken[-1]], [*factors, -high], -float("inf"), 0.0)
            if low > -float("inf"):
                row([*columns, taken[-1]], [*factors, -low], 0.0, float("inf"))
    row(taken, [1.0] * len(taken), 1.0, 1.0)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(cost), len(low_side)
    lp.col_cost_ = np.array(cost)
    lp.col_lower_, lp.col_upper_ = np.zeros(len(cost)), np.ones(len(cost))
    lp.row_lower_, lp.row_upper_ = np.array(low_side), np.array(high_side)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(cost)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(start, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(value)
    return lp
