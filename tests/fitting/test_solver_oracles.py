"""The solver against trying everything, and against an independent constraint solver (kind: oracle)."""

from __future__ import annotations

import concurrent.futures
import multiprocessing

import pytest
from instances import random_problem
from oracles import cp_sat, exhaustive

from pinwright.fitting.matching import matched
from pinwright.fitting.problem import broken_rules, score
from pinwright.fitting.solver import is_feasible, solve


@pytest.mark.parametrize("block", range(10))
def test_agrees_with_exhaustive_search(block: int) -> None:
    # Expected value: every combination tried (exhaustive), 600 instances of up to 6 nets, many of them impossible.
    impossible = 0
    for seed in range(block * 60, block * 60 + 60):
        problem = random_problem(seed, 2 + seed % 5, 3 + seed % 4, 4)
        best = exhaustive(problem)
        found = solve(problem)
        assert is_feasible(problem) == (best is not None), seed
        assert matched(problem) in (None, best is not None), seed
        if best is None:
            impossible += 1
            assert found is None, seed
            continue
        assert found is not None, seed
        assert found.proved
        assert broken_rules(problem, found.chosen) == []
        assert found.cost == score(problem, found.chosen) == best, seed
    assert 0 < impossible < 60


def test_agrees_with_cp_sat() -> None:
    # Expected value: OR-tools' CP-SAT on instances too large to try out.  It runs in processes of its own because its
    # library and ours carry different copies of one dependency.
    problems = [random_problem(1000 + seed, 8 + seed % 18, 14 + seed % 20, 12) for seed in range(60)]
    with concurrent.futures.ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        expected = list(pool.map(cp_sat, problems, chunksize=10))
    found = [solve(problem) for problem in problems]
    assert [answer.cost if answer else None for answer in found] == expected
    assert any(cost is None for cost in expected)
    assert sum(cost is not None for cost in expected) > 20


def test_a_time_limit_states_the_gap_or_says_nothing_was_found() -> None:
    problem = random_problem(7, 40, 60, 40)
    try:
        answer = solve(problem, time_limit_s=1e-6)
    except TimeoutError:
        return
    assert answer is None or answer.proved or answer.tier >= 1


def test_the_answer_does_not_depend_on_the_run() -> None:
    problem = random_problem(3, 20, 30, 12)
    answers = {solve(problem) for _ in range(5)}
    assert len(answers) == 1
