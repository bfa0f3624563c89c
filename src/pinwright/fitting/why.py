"""Why this pin, and why not that one: answers to questions about a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pinwright.errors import UnknownName
from pinwright.facts.model import Part
from pinwright.fitting.candidates import Candidate, Candidates
from pinwright.fitting.conflict import minimal_conflict
from pinwright.fitting.judge import Strike
from pinwright.fitting.plan import BoardPlan, Conflict, Placed, assigned
from pinwright.fitting.rank import Job
from pinwright.fitting.solver import solve
from pinwright.fitting.wishes import wishes_of
from pinwright.fitting.words import explain

__all__ = ["Alternative", "WhyNot", "alternatives", "why_not"]


@dataclass(frozen=True, slots=True)
class WhyNot:
    """What happens when a line is put on another pin.

    ``strikes``: reasons the pin is out altogether.  Otherwise ``plan`` is the best plan with the line there and
    ``moved`` the lines that change pins; or ``conflict`` says what breaks.
    """

    line: str
    pin: str
    strikes: tuple[Strike, ...] = ()
    plan: BoardPlan | None = None
    moved: tuple[tuple[str, str, str], ...] = ()
    conflict: Conflict | None = None


@dataclass(frozen=True, slots=True)
class Alternative:
    """One pin of the board as seen by one line."""

    candidate: Candidate
    is_chosen: bool

    @property
    def reason(self) -> str:
        """Why it is out, or empty if it could carry the line."""
        words = [strike.words for strike in self.candidate.strikes]
        # What several strikes end in alike is said once.
        endings = [text.rpartition(", and ")[2] for text in words]
        once = [
            text.removesuffix(f", and {ending}") if ending in endings[number + 1 :] else text
            for number, (text, ending) in enumerate(zip(words, endings, strict=True))
        ]
        return "; ".join(once)


def figures(plan: BoardPlan, placed: Placed, parts: Mapping[str, Part]) -> list[str]:
    """Where the electrical figures behind a line come from, each document once, marked where recalled."""
    board, electrical = plan.view, plan.view.chip.electrical
    levels = [electrical.vih_min, electrical.vil_max] if placed.line.asks.reads else []
    levels += [electrical.voh_min, electrical.vol_max] if placed.line.asks.drives else []
    cited = [(plan.view.chip.part, board.chip_cite(level)) for level in (*levels, electrical.vin_max)]
    kind = next((d.kind for d in plan.candidates.nets.devices if d.name == placed.line.part), "")
    part = parts.get(kind)
    if part is not None:
        titles = {source.id: source.title for source in part.source}
        name = placed.line.name
        line = next((x for x in part.line if name == x.name or (x.count > 1 and name.rstrip("0123456789") == x.name)), None)
        for item in (line.vih, line.vil, line.voh, line.vol, line.v_max, line.load, line.curve) if line else ():
            if item is not None and item.src:
                first = item.src.split(";")[0].strip()
                where = f", {item.where}" if item.where else ""
                cited.append((part.id, f"{titles.get(first, first)}{where}{' (recalled)' if item.seen == 'memory' else ''}"))
    return [f"{who}: {cite}" for who, cite in dict.fromkeys(cited) if cite]


def find_line(plan: BoardPlan, name: str) -> Placed:
    """Placed line by ``part.line``, or by the part's name if it has one line.  Raises ``UnknownName``."""
    folded = name.casefold()
    exact = [p for p in plan.placed if p.line.id.casefold() == folded]
    of_part = [p for p in plan.placed if p.line.part.casefold() == folded]
    if exact:
        return exact[0]
    if len(of_part) == 1:
        return of_part[0]
    raise UnknownName("line", name, [p.line.id for p in (of_part or plan.placed)])


def alternatives(plan: BoardPlan, placed: Placed) -> list[Alternative]:
    """Every pin of the board for one line, in header order."""
    row = plan.candidates.found[placed.candidate.net]
    return [Alternative(candidate, candidate is placed.candidate) for candidate in row]


def why_not(job: Job, plan: BoardPlan, placed: Placed, pin: str) -> WhyNot:
    """Force a line onto a pin and solve again.  Raises ``UnknownName`` when the board has no such pin."""
    place = plan.view.place(pin)
    if place is None:
        raise UnknownName(f"pin on the {plan.view.board.name}", pin, [p.label for p in plan.view.places])
    found = plan.candidates
    net = placed.candidate.net
    candidate = next(c for c in found.found[net] if c.place is place or c.place.label == place.label)
    if candidate.strikes:
        return WhyNot(placed.line.id, place.name, candidate.strikes)
    forced = _forced(found, net, candidate)
    problem, meaning = forced.problem()
    solution = solve(problem, job.time_limit_s)
    money = plan.objective.money if plan.objective else 0.0
    if solution is None:
        return WhyNot(placed.line.id, place.name, conflict=_conflict(job, forced, placed))
    new = assigned(forced, [meaning[index] for index in solution.chosen], solution, money)
    old_pins = {item.line.id: item.place.name for item in plan.placed}
    moved = tuple((p.line.id, old_pins[p.line.id], p.place.name) for p in new.placed if old_pins[p.line.id] != p.place.name)
    return WhyNot(placed.line.id, place.name, plan=new, moved=moved)


def _forced(found: Candidates, net: int, candidate: Candidate) -> Candidates:
    """The same candidates with one net nailed to one pin."""
    rows = [[candidate] if number == net else row for number, row in enumerate(found.found)]
    forced = Candidates(found.board, found.nets, rows, found.capacity, found.timers, found.blocks, found.block_capacity)
    forced.settle()
    return forced


def _conflict(job: Job, forced: Candidates, placed: Placed) -> Conflict:
    wishes = wishes_of(forced, job.settings)
    ids, smallest = minimal_conflict(forced, [wish.id for wish in wishes])
    kept = [wish for wish in wishes if wish.id in ids]
    chain = (f"{placed.line.id} is put on {forced.found[placed.candidate.net][0].place.name} to see what breaks.", *explain(forced, kept))
    return Conflict(tuple((wish.id, wish.words) for wish in kept), chain, smallest)
