"""Plan a brief on every board that comes into question and put the boards in order, best first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pinwright.errors import InputError
from pinwright.facts.model import Board
from pinwright.fitting.bench import bench_of
from pinwright.fitting.candidates import Candidates, candidates
from pinwright.fitting.conflict import explain_conflict
from pinwright.fitting.firmware import DRIVER_WEIGHT, LANGUAGE_WORDS, supports
from pinwright.fitting.lines import expand
from pinwright.fitting.nets import Nets, join
from pinwright.fitting.places import BoardView, view
from pinwright.fitting.plan import BoardPlan, Conflict, fit
from pinwright.fitting.setting import Setting
from pinwright.fitting.solver import DEFAULT_TIME_LIMIT_S
from pinwright.fitting.source import Source, as_fed, source_of
from pinwright.fitting.wishes import RADIO_WORDS, Wish, setting_wishes
from pinwright.reporter import Reporter

if TYPE_CHECKING:
    from pinwright.brief.prices import PriceList
    from pinwright.brief.reader import BriefFile
    from pinwright.facts.loader import Catalogue

__all__ = ["Job", "Ranking", "in_order", "plan_board", "prepare", "rank"]


_WORKERS = 2


@dataclass(frozen=True, slots=True)
class Job:
    """A brief made ready: its nets, its setting, the boards that come into question."""

    file: BriefFile
    catalogue: Catalogue
    nets: Nets
    setting: Setting
    settings: tuple[Wish, ...]
    source: Source
    prices: PriceList | None
    time_limit_s: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """Plans of all boards, best first; boards that cannot do the job come last with their conflict.

    ``money_unit`` says what the money tier counts: a currency, or the indicative cost class of the catalogue.
    ``unseen``: boards not looked at because the maker stopped the work.
    """

    job: Job
    boards: tuple[BoardPlan, ...]
    money_unit: str
    unseen: tuple[str, ...] = ()

    @property
    def best(self) -> BoardPlan | None:
        """The first board, if any can do the job."""
        return self.boards[0] if self.boards and self.boards[0].feasible else None


def prepare(file: BriefFile, catalogue: Catalogue, prices: PriceList | None = None, time_limit_s: float = DEFAULT_TIME_LIMIT_S) -> Job:
    """Expand a brief into nets, ready for any board."""
    use = file.brief.use
    ambient = use.ambient_c or (0.0, 40.0)
    setting = Setting(
        use.radio,
        use.sleeping,
        use.console == "keep",
        use.usb != "free",
        file.brief.firmware.language or "",
        bench_of(file.brief.stock, catalogue, ambient[1]),
        ambient,
        use.usb == "device",
    )
    source = source_of(file.brief.supply, catalogue)
    return Job(file, catalogue, join(expand(file, catalogue)), setting, tuple(setting_wishes(file)), source, prices, time_limit_s)


def rank(job: Job, reporter: Reporter | None = None) -> Ranking:
    """Plan the job on every board that comes into question.  Stopped by Ctrl-C it keeps what it has.

    Raises
    ------
    InputError : the budget is in another currency than the prices, or there are no prices for it.
    """
    _check_budget(job)
    reporter = reporter or Reporter()
    boards = boards_in_question(job)
    plans: list[BoardPlan] = []
    # The solver works outside the interpreter's lock, so a second thread plans the next board meanwhile.
    pool = ThreadPoolExecutor(_WORKERS)
    try:
        waiting = [pool.submit(plan_board, job, board) for board in boards]
        for board, future in zip(boards, waiting, strict=True):
            reporter.step(board.name, len(plans), len(boards))
            plans.append(future.result())
    except KeyboardInterrupt:
        reporter.stopped(len(plans), len(boards))
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    reporter.done()
    ordered = in_order(job, plans)
    unit = job.prices.currency if job.prices else "cost class (indicative)"
    return Ranking(job, ordered, unit, tuple(board.id for board in boards[len(plans) :]))


def in_order(job: Job, plans: Iterable[BoardPlan]) -> tuple[BoardPlan, ...]:
    """Plans best first, boards that cannot do the job last."""
    return tuple(sorted(plans, key=lambda plan: _order(job, plan)))


def boards_in_question(job: Job) -> list[Board]:
    """All boards, or those the brief names, less those it avoids."""
    wish = job.file.brief.board
    names = wish.only or sorted(job.catalogue.boards)
    return [job.catalogue.boards[name] for name in names if name not in wish.avoid]


def plan_board(job: Job, board: Board) -> BoardPlan:
    """Plan on one board, or the conflict that prevents one."""
    seen = as_fed(view(board, job.catalogue), job.source)
    barred = _board_conflict(job, board, seen)
    if barred is not None:
        return BoardPlan(seen, Candidates(seen, job.nets, []), conflict=barred)
    found = candidates(seen, job.nets, job.setting)
    try:
        plan = fit(found, money_of(job, board), job.time_limit_s)
    except TimeoutError:
        chain = (f"No plan for the {board.name} was found within {job.time_limit_s:g} s; a longer --time-limit may find one.",)
        return BoardPlan(seen, found, conflict=Conflict((), chain, False))
    if plan is None:
        return BoardPlan(seen, found, conflict=explain_conflict(found, job.settings))
    assert plan.objective is not None
    firmware = supports(seen.chip, job.nets.devices, job.catalogue.parts, job.setting.language)
    gaps = len(firmware[0].missing) if firmware else 0
    objective = replace(
        plan.objective,
        money=plan.objective.money + _price_of_components(job, plan),
        risk=plan.objective.risk + DRIVER_WEIGHT * gaps,
    )
    return replace(plan, objective=objective, setting=job.setting, firmware=firmware)


def money_of(job: Job, board: Board) -> float:
    """Money tier of a board: nothing if the maker owns it, its price, or its indicative cost class."""
    if board.id in job.file.brief.board.own:
        return 0.0
    if job.prices:
        return job.prices.boards.get(board.id, float("inf"))
    return float(board.cost_class)


_SOLD_AS = {"divider": "resistor", "series resistor": "resistor", "pull-up": "resistor", "pull-down": "resistor", "driver": "transistor"}


def _price_of_components(job: Job, plan: BoardPlan) -> float:
    """Price of the extra components by the maker's list; those without a price count nothing."""
    if job.prices is None:
        return 0.0
    elements = [element for placed in {p.net.id: p for p in plan.placed}.values() for element in placed.candidate.circuit.elements]
    return sum(e.components * job.prices.components.get(_SOLD_AS.get(e.kind, e.kind), 0.0) for e in elements)


def _order(job: Job, plan: BoardPlan) -> tuple[object, ...]:
    board = plan.view.board
    preferred = board.id not in job.file.brief.board.prefer
    if plan.objective is None:
        # Near misses first: boards that fail on a few pins before those that lack the radio or do not fit the case.
        is_barred = not plan.candidates.found
        return (1, preferred, is_barred, len(plan.conflict.wishes) if plan.conflict else 0, board.id)
    return (0, preferred, bool(plan.weak), *plan.objective.tiers().values(), board.id)


# ------------------------------------------------------------------------------ wishes about the board itself


def talks_usb(seen: BoardView) -> bool:
    """Whether the chip itself is at the board's USB socket and can be any USB device."""
    return seen.board.usb == "native" and seen.chip.usb in ("device", "host-device")


def _board_conflict(job: Job, board: Board, seen: BoardView) -> Conflict | None:
    """What bars a board before any pin is looked at: no such radio, too large, too dear."""
    brief, place = job.file.brief, job.file.place
    missing = [radio for radio in brief.use.radio if radio not in board.radio]
    if missing:
        names = " and ".join(RADIO_WORDS[radio] for radio in missing)
        has = ", ".join(RADIO_WORDS.get(radio, radio) for radio in board.radio) or "no radio"
        chain = (f"The brief wants {names} ({place('use', 'radio')}).", f"The {board.name} has {has}.")
        return Conflict((("radio", f"{names} on while the device works"),), chain, True)
    language = brief.firmware.language
    runs = list(dict.fromkeys(LANGUAGE_WORDS[firmware.language] for firmware in seen.chip.firmware))
    if language and LANGUAGE_WORDS[language] not in runs:
        words = f"firmware in {LANGUAGE_WORDS[language]}"
        chain = (
            f"The brief wants {words} ({place('firmware', 'language')}).",
            f"The {seen.chip.part} runs {' and '.join(runs) or 'neither'}.",
        )
        return Conflict((("language", words),), chain, True)
    if job.setting.usb_device and not talks_usb(seen):
        words = "a USB device through the board's own socket"
        own = f"The {board.name}'s socket leads to " + (
            "a bridge to a serial port." if board.usb == "bridge" else "nothing the chip can do this with."
        )
        return Conflict((("usb", words),), (f"The brief wants {words} ({place('use', 'usb')}).", own), True)
    for key, limit, size in (
        ("max_length", brief.board.max_length_m, board.length_m),
        ("max_width", brief.board.max_width_m, board.width_m),
    ):
        if limit is not None and (size is None or size > limit):
            is_size = "is of unknown size" if size is None else f"is {size * 1e3:.4g} mm"
            word = "length" if key == "max_length" else "width"
            chain = (f"The brief allows {limit * 1e3:.4g} mm of {word} ({place('board', key)}).", f"The {board.name} {is_size} in {word}.")
            return Conflict(((key, f"{word} of at most {limit * 1e3:.4g} mm"),), chain, True)
    return _budget_conflict(job, board)


def _budget_conflict(job: Job, board: Board) -> Conflict | None:
    from pinwright.brief.prices import parse_money

    budget = job.file.brief.board.budget
    if budget is None or board.id in job.file.brief.board.own or job.prices is None:
        return None
    amount, currency = parse_money(budget)
    price = job.prices.boards.get(board.id)
    if price is not None and price <= amount:
        return None
    costs = "has no price in your list" if price is None else f"costs {price:.2f} {currency}"
    chain = (f"The brief allows {amount:.2f} {currency} ({job.file.place('board', 'budget')}).", f"The {board.name} {costs}.")
    return Conflict((("budget", f"at most {amount:.2f} {currency} for the board"),), chain, True)


def _check_budget(job: Job) -> None:
    from pinwright.brief.prices import parse_money
    from pinwright.errors import Fault

    budget = job.file.brief.board.budget
    if budget is None:
        return
    line = job.file.lines.line(("board", "budget"))
    _, currency = parse_money(budget)
    if job.prices is None:
        fault = Fault(job.file.name, line, "board.budget", "A budget needs your prices.", "Give a price list with --prices FILE.")
        raise InputError([fault])
    if currency != job.prices.currency:
        fault = Fault(
            job.file.name, line, "board.budget", f"The budget is in {currency}, the prices in {job.prices.currency}.", "Use one currency."
        )
        raise InputError([fault])


def only_boards(job: Job, names: Sequence[str]) -> Job:
    """The same job with other boards in question."""
    boards = job.file.brief.board.model_copy(update={"only": tuple(names), "avoid": ()})
    brief = job.file.brief.model_copy(update={"board": boards})
    return replace(job, file=replace(job.file, brief=brief))
