"""The whole job in a few calls: read a brief, plan it on all boards, review every plan, or check fixed pins.

``cli`` and any other face call these functions and compute nothing themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.reporter import Reporter

if TYPE_CHECKING:
    from pinwright.fitting.plan import BoardPlan
    from pinwright.fitting.rank import Job, Ranking
    from pinwright.review.model import Review
    from pinwright.supply.report import SupplyReport

__all__ = ["CheckResult", "PlanResult", "check", "open_job", "plan", "plan_job"]


@dataclass(frozen=True, slots=True)
class PlanResult:
    """Plans of all boards, best first, each with its review and its supply (by board id)."""

    ranking: Ranking
    reviews: dict[str, Review]
    supplies: dict[str, SupplyReport]

    @property
    def usable(self) -> list[BoardPlan]:
        """Plans that may be built: every line has a pin and the review refuses nothing."""
        return [p for p in self.ranking.boards if p.feasible and self.reviews[p.view.board.id].verdict != "refused"]


@dataclass(frozen=True, slots=True)
class CheckResult:
    """Review and supply of a wiring the maker fixed."""

    job: Job
    board: str
    review: Review
    supply: SupplyReport


def open_job(
    brief: Path,
    *,
    catalogue: Catalogue | None = None,
    folders: Sequence[Path] = (),
    prices: Path | None = None,
    time_limit_s: float | None = None,
) -> Job:
    """Read a brief (and prices) and make it ready.

    Parameters
    ----------
    brief : the brief [-]
    catalogue : facts to use; loaded if left out [-]
    folders : the maker's own catalogue folders [-]
    prices : the maker's price list [-]
    time_limit_s : give up proving one board after this long [s]

    Raises
    ------
    InputError : the brief, the prices or a catalogue file cannot be used.
    """
    from pinwright.brief.prices import read_prices
    from pinwright.brief.reader import read_brief
    from pinwright.fitting.rank import prepare
    from pinwright.fitting.solver import DEFAULT_TIME_LIMIT_S

    facts = catalogue or load_catalogue(folders)
    price_list = read_prices(prices, facts) if prices else None
    return prepare(read_brief(brief, facts), facts, price_list, time_limit_s or DEFAULT_TIME_LIMIT_S)


def plan_job(job: Job, reporter: Reporter | None = None) -> PlanResult:
    """Plan a job on every board in question and review every plan."""
    from pinwright.fitting.rank import rank
    from pinwright.review.model import Review
    from pinwright.review.registry import review, worst_first
    from pinwright.review.wirings import wiring_of_plan
    from pinwright.supply.report import supply_of

    ranking = rank(job, reporter)
    wirings = {p.view.board.id: wiring_of_plan(p, job) for p in ranking.boards if p.feasible}
    supplies = {board: supply_of(wiring, job) for board, wiring in wirings.items()}
    reviews = {board: Review(worst_first((*review(wiring).findings, *supplies[board].findings))) for board, wiring in wirings.items()}
    return PlanResult(_weighed(ranking, supplies), reviews, supplies)


def _weighed(ranking: Ranking, supplies: dict[str, SupplyReport]) -> Ranking:
    """The same boards, those whose supply does not hold after those whose does: a cheap board that restarts is no bargain."""
    from pinwright.fitting.rank import in_order

    plans = []
    for plan in ranking.boards:
        supply = supplies.get(plan.view.board.id)
        weak = tuple(f.rule for f in supply.findings if f.rule in _BOARD_SUPPLY_RULES and f.severity != "note") if supply else ()
        plans.append(replace(plan, weak=weak) if weak else plan)
    return replace(ranking, boards=in_order(ranking.job, plans))


_BOARD_SUPPLY_RULES = ("supply-entry", "supply-regulator", "supply-headroom", "supply-heat", "supply-sag", "supply-low")
"""Findings that mean: on this board the supply does not hold as it is."""


def plan(brief: Path, reporter: Reporter | None = None, **options: object) -> PlanResult:
    """Read a brief and plan it; options as for ``open_job``."""
    return plan_job(open_job(brief, **options), reporter)  # type: ignore[arg-type]


def check(job: Job) -> CheckResult:
    """Review the pins a brief fixes on its board.  Raises ``InputError`` if it names no board or fixes no pin."""
    from pinwright.review.model import Review
    from pinwright.review.registry import review, worst_first
    from pinwright.review.wirings import unsaid, wiring_of_brief
    from pinwright.supply.report import supply_of

    wiring, more = wiring_of_brief(job)
    found = review(wiring)
    supply = supply_of(wiring, job)
    more = unsaid(more, wiring, found)
    return CheckResult(job, wiring.view.board.id, Review(worst_first((*more, *found.findings, *supply.findings))), supply)
