"""Short ways to the supply of a small brief, for the tests of this folder."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.model import BoardSupply, Regulator, StateCurrent
from pinwright.fitting.rank import Job, plan_board, prepare
from pinwright.review.model import Finding, Wiring
from pinwright.review.wirings import wiring_of_plan
from pinwright.supply.report import SupplyReport, supply_of

LED = '[[part]]\nname = "led"\nkind = "led-red"\n'


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    return load_catalogue()


def known_catalogue(board: str, *currents: StateCurrent, **changes: object) -> Catalogue:
    """The catalogue with invented currents of one board's chip, and changes to the board: the numbers of a test stay put."""
    whole = catalogue()
    changed = replace(whole.boards[board], onboard=(), **changes)  # type: ignore[arg-type]
    chip = replace(whole.chips[changed.chip], current=currents)
    return replace(whole, boards={**whole.boards, board: changed}, chips={**whole.chips, changed.chip: chip})


def awake(typ_a: float, max_a: float | None = None) -> StateCurrent:
    return StateCurrent(state="awake", typ_a=typ_a, max_a=max_a)


def asleep(typ_a: float) -> StateCurrent:
    return StateCurrent(state="deep-sleep", typ_a=typ_a)


def linear(takes: str, gives: str, volts: float, **changes: object) -> Regulator:
    """An invented linear regulator: 0.5 A, 0.3 V of dropout, 1 mA for itself, 100 K/W."""
    usual = {"i_max_a": 0.5, "dropout_v": 0.3, "i_quiescent_a": 1e-3, "theta_k_per_w": 100.0}
    return Regulator(takes=takes, gives=gives, v_out_v=volts, **{**usual, **changes})  # type: ignore[arg-type]


def way_in(pin: str, low: float, high: float) -> BoardSupply:
    return BoardSupply(pin=pin, direction="in", v_min_v=low, v_max_v=high)


def wired(body: str, board: str, facts: Catalogue | None = None) -> tuple[Wiring, Job]:
    facts = facts or catalogue()
    job = prepare(parse_brief('title = "t"\n' + body, "t.toml", facts), facts)
    plan = plan_board(job, facts.boards[board])
    assert plan.feasible, plan.conflict
    return wiring_of_plan(plan, job), job


def supplied(body: str, board: str, facts: Catalogue | None = None) -> SupplyReport:
    return supply_of(*wired(body, board, facts))


def found(report: SupplyReport, rule: str) -> list[Finding]:
    return [each for each in report.findings if each.rule == rule]


def words(findings: list[Finding]) -> str:
    return " | ".join(" ".join((*each.because, each.fix, *each.numbers.values())) for each in findings)


__all__ = [
    "LED", "asleep", "awake", "catalogue", "found", "known_catalogue", "linear", "supplied", "way_in", "wired", "words",
]  # fmt: skip
