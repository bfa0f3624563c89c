"""The answer for one board: a pin for every line with the reasons, or the wishes that conflict."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from pinwright.fitting.candidates import Candidate, Candidates
from pinwright.fitting.choices import Choice
from pinwright.fitting.firmware import Support
from pinwright.fitting.interface import Circuit, Reading, reading
from pinwright.fitting.lines import Line
from pinwright.fitting.nets import Bus, Net
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.problem import Solution, pick_modes
from pinwright.fitting.setting import Bench, Setting
from pinwright.fitting.solver import DEFAULT_TIME_LIMIT_S, solve

__all__ = ["BoardPlan", "Conflict", "Objective", "Placed", "assigned", "fit"]


@dataclass(frozen=True, slots=True)
class Objective:
    """What the plan costs, tier by tier; a smaller earlier tier always wins.

    ``money``: price in the maker's currency or indicative cost class; ``components``: extra parts to buy;
    ``risk``: risk marks; ``scarce``: weights of special abilities spent on lines that do not need them;
    ``spread``: stretches of the header rows used by wires that belong together, beyond one each.
    """

    money: float
    components: int
    risk: int
    scarce: int
    spread: int

    def tiers(self) -> dict[str, float]:
        """Name and value of each tier, first things first."""
        return {
            "money": self.money,
            "components": self.components,
            "risk": self.risk,
            "scarce": self.scarce,
            "spread": self.spread,
        }


@dataclass(frozen=True, slots=True)
class Placed:
    """A line with its pin, its interface circuit and what speaks for and against that."""

    line: Line
    net: Net
    place: Place
    circuit: Circuit
    candidate: Candidate
    choice: Choice
    because: tuple[str, ...]
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wishes that cannot all be met on a board.

    ``wishes`` are (id, words) pairs; ``chain`` explains them step by step.  ``smallest``: no smaller set conflicts;
    otherwise it is only proved that none of them can be left out.
    """

    wishes: tuple[tuple[str, str], ...]
    chain: tuple[str, ...]
    smallest: bool


@dataclass(frozen=True)
class BoardPlan:
    """A board that can do the job, or the reason it cannot (``conflict``).  ``weak``: what about its supply does not hold."""

    view: BoardView
    candidates: Candidates
    placed: tuple[Placed, ...] = ()
    objective: Objective | None = None
    solution: Solution | None = None
    conflict: Conflict | None = None
    setting: Setting = field(default_factory=Setting)
    firmware: tuple[Support, ...] = ()
    weak: tuple[str, ...] = ()

    @property
    def feasible(self) -> bool:
        """Whether every line has a pin."""
        return self.objective is not None

    @property
    def proved(self) -> bool:
        """Whether the plan is proved to be the best (or the refusal proved)."""
        return self.solution.proved if self.solution else True

    def readings(self, bench: Bench) -> dict[str, Reading]:
        """What the analog lines' readings are worth, by line, where the part's law is known."""
        found = {
            placed.line.id: reading(placed.line.asks, placed.place, self.view, bench, placed.circuit.elements)
            for placed in self.placed
            if placed.line.asks.direction == "analog-in"
        }
        return {line: worth for line, worth in found.items() if worth is not None}

    @cached_property
    def spare(self) -> dict[str, int]:
        """How many more lines of each kind could be added; worked out when somebody asks.  Empty without a plan."""
        from pinwright.fitting.spare import spare_lines

        return spare_lines(self, self.setting) if self.feasible else {}

    def of(self, line_id: str) -> Placed | None:
        """Where a line went."""
        return next((placed for placed in self.placed if placed.line.id == line_id), None)


def fit(found: Candidates, money: float, time_limit_s: float = DEFAULT_TIME_LIMIT_S) -> BoardPlan | None:
    """Best plan on one board, or ``None`` when it cannot do the job.

    Raises
    ------
    TimeoutError : the time ran out before any plan was found.
    """
    problem, meaning = found.problem()
    solution = solve(problem, time_limit_s)
    if solution is None:
        return None
    return assigned(found, [meaning[index] for index in solution.chosen], solution, money)


def assigned(found: Candidates, chosen: list[tuple[Candidate, Choice]], solution: Solution, money: float) -> BoardPlan:
    """Plan from one candidate and choice for each net."""
    modes = _timer_modes(found, [choice for _, choice in chosen])
    instances = _instance_names(found, chosen)
    placed = []
    for candidate, choice in chosen:
        net = found.nets.nets[candidate.net]
        mode = next((m for m in modes.get(choice.timer, ()) if m in choice.modes), "")
        named = instances.get(net.bus, "")
        for line, circuit in zip(net.lines, candidate.line_circuits, strict=True):
            because = tuple(_because(line, net, candidate, choice, mode, named, found, circuit))
            placed.append(Placed(line, net, candidate.place, circuit, candidate, choice, because, mode))
    order = {line.id: number for number, line in enumerate(line for d in found.nets.devices for line in d.lines)}
    placed.sort(key=lambda item: order[item.line.id])
    components, risk, scarce, spread, _, _ = solution.cost
    return BoardPlan(found.board, found, tuple(placed), Objective(money, components, risk, scarce, spread), solution)


def _timer_modes(found: Candidates, choices: list[Choice]) -> dict[str, tuple[str, ...]]:
    wanted: dict[str, list[tuple[str, ...]]] = {}
    for choice in choices:
        if choice.timer:
            wanted.setdefault(choice.timer, []).append(choice.modes)
    return {timer: pick_modes(modes, found.timers[timer]) or () for timer, modes in wanted.items()}


def _instance_names(found: Candidates, chosen: list[tuple[Candidate, Choice]]) -> dict[int, str]:
    """Give each bus one instance of its class, first come first served."""
    names: dict[int, str] = {}
    taken: dict[str, int] = {}
    for candidate, choice in chosen:
        bus = found.nets.nets[candidate.net].bus
        if bus < 0 or bus in names:
            continue
        members = choice.instance.split("/")
        used = taken.get(choice.instance, 0)
        taken[choice.instance] = used + 1
        names[bus] = members[used] if used < len(members) else members[-1]
    return names


# ------------------------------------------------------------------------------ reasons


def _because(
    line: Line, net: Net, candidate: Candidate, choice: Choice, mode: str, instance: str, found: Candidates, circuit: Circuit
) -> list[str]:
    """Why this pin: what it can do that the line needs, how many others could, what it costs."""
    reasons = [*_fixed_reason(line, net), *_ability_reasons(line, net, candidate, choice, mode, instance, found)]
    others = [c for c in found.found[candidate.net] if not c.is_hopeless and not c.blocked and c is not candidate]
    total = len(found.board.places)
    if not others:
        reasons.append(f"it is the only pin of {total} that can carry this line")
    else:
        reasons.append(f"{len(others) + 1} of {total} pins could carry this line; this one fits best with the rest of the plan")
    reasons += [f"{mark.words}{_cited(mark.cite)}" for mark in dict.fromkeys((*candidate.marks, *choice.marks))]
    reasons += [f"{element.words}: {element.why}" for element in circuit.elements]
    return reasons


def _cited(cite: str) -> str:
    return f" [{cite}]" if cite else ""


def _fixed_reason(line: Line, net: Net) -> list[str]:
    return [f"the brief fixes it there ({line.place})"] if net.lock else []


def _ability_reasons(line: Line, net: Net, candidate: Candidate, choice: Choice, mode: str, instance: str, found: Candidates) -> list[str]:
    place, asks, board = candidate.place, line.asks, found.board
    reasons = []
    if net.bus >= 0:
        bus: Bus = found.nets.buses[net.bus]
        shared = f", shared by {', '.join(bus.devices)}" if len(bus.devices) > 1 else ""
        reasons.append(f"{net.role} of {instance}{shared}{_cited(board.column_cite('functions', place.pad))}")
    elif asks.direction == "analog-in" and place.pad.adc:
        unit = next(unit for unit in board.chip.adc if unit.unit == place.pad.adc.unit)
        free = " and keeps working with the radio on" if found.board.board.radio and not unit.blocked_by else ""
        where = f"unit {unit.unit}, channel {place.pad.adc.channel}"
        reasons.append(f"measures with {unit.bits} bits ({where}){free}{_cited(board.column_cite('adc', place.pad))}")
    elif choice.pool:
        reasons.append(f"PWM at {mode} by {choice.pool}{_cited(board.column_cite('pwm', place.pad))}")
    if asks.quiet == "must" and asks.safe_level != "any":
        reasons.append(f"nothing moves it from {asks.safe_level} before your firmware runs{_cited(board.column_cite('boot', place.pad))}")
    if asks.needs.wake and "no-wake" not in {s.rule for s in candidate.strikes}:
        reasons.append(f"can raise the alarm while the board sleeps{_cited(board.column_cite('wake', place.pad))}")
    elif asks.needs.interrupt == "yes":
        reasons.append(f"can raise an interrupt{_cited(board.column_cite('interrupt', place.pad))}")
    return reasons
