"""The whole job: every plan passes the review, and the same brief always gives the same answer (kind: property)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent / "fitting"))

from briefs import random_brief

from pinwright.contract import plan_shape
from pinwright.facts.loader import Catalogue
from pinwright.fitting.rank import only_boards, prepare
from pinwright.planning import check, open_job, plan_job

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], derandomize=True
)
@given(seed=st.integers(0, 10_000), most_lines=st.integers(1, 30))
def test_every_plan_passes_the_review(seed: int, most_lines: int, catalogue: Catalogue) -> None:
    job = prepare(random_brief(seed, max(most_lines, 4), catalogue), catalogue)
    boards = sorted(catalogue.boards)
    result = plan_job(only_boards(job, [boards[(seed + step) % len(boards)] for step in range(0, len(boards), 5)]))
    for plan in result.ranking.boards:
        if plan.feasible:
            refused = [finding for finding in result.reviews[plan.view.board.id].findings if finding.severity == "refuse"]
            assert refused == [], (seed, plan.view.board.id)
            assert plan.proved


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_do_what_they_say(path: Path, catalogue: Catalogue) -> None:
    job = open_job(path, catalogue=catalogue)
    result = plan_job(job)
    lines = sum(len(device.lines) for device in job.nets.devices)
    can = {plan.view.board.id for plan in result.usable}
    assert all(result.reviews[board].verdict != "refused" for board in can)
    assert all(plan.conflict for plan in result.ranking.boards if not plan.feasible)
    expected = {
        "bakery-proofer": lambda: 5 < len(can) < len(catalogue.boards),
        "flour-silo": lambda: result.ranking.boards[0].view.board.id == "esp32-wroom32-30pin",
        "delivery-hatch": lambda: 0 < len(can) < len(catalogue.boards) * 0.6,
        "oven-wall": lambda: lines == 25 and 0 < len(can) <= len(catalogue.boards) * 0.6,
        "tasting-bench": lambda: not can,
        "copied-wiring": lambda: check(job).review.verdict == "refused",
    }
    assert expected[path.stem]()
    assert path.stem == "copied-wiring" or 8 <= lines <= 25


def test_the_same_brief_gives_the_same_answer(catalogue: Catalogue) -> None:
    job = prepare(random_brief(3, 12, catalogue), catalogue)
    assert plan_shape(plan_job(job)) == plan_shape(plan_job(job))
