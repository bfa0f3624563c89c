"""The assignment problem of one board, free of any electronics.

Each *net* takes exactly one *option*.  An option sits on a pin, costs something in three tiers, uses up
resources, may run on a bus instance (all nets of a group must agree on one) and may need a timer in one of
some modes (a timer runs only so many modes at once).  Nets of a cluster want to lie in few zones of the board.

Everything the solvers, the oracle in the tests and the search for conflicts need to know stands here.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

__all__ = ["Cost", "Option", "Problem", "Solution", "broken_rules", "score"]


Cost = tuple[int, int, int, int, int, int]
"""What an assignment costs, first things first."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way of wiring one net.  Costs are whole numbers: components, risk marks, scarce abilities spent."""

    net: int
    pin: str
    components: int = 0
    risk: int = 0
    scarce: int = 0
    uses: tuple[tuple[str, int], ...] = ()
    instance: str = ""
    timer: str = ""
    modes: tuple[str, ...] = ()
    zone: str = ""
    tie: int = 0


@dataclass(frozen=True, slots=True)
class Problem:
    """All options of the ``nets`` (any numbers) and everything they share.

    ``capacity`` bounds resources named in ``Option.uses`` (a pin is a resource with capacity 1 and needs no entry);
    ``timers`` says how many modes a timer runs at once; ``groups`` lists nets that must agree on an instance;
    ``zone_ties`` prefers, among equally tidy choices, some (cluster, zone) over others (0 to 15);
    ``blocks`` names the hardware behind an instance (default: itself) and ``block_capacity`` how many groups it serves.
    """

    nets: tuple[int, ...]
    options: tuple[Option, ...]
    capacity: Mapping[str, int] = field(default_factory=dict)
    timers: Mapping[str, int] = field(default_factory=dict)
    groups: tuple[tuple[int, ...], ...] = ()
    blocks: Mapping[str, str] = field(default_factory=dict)
    block_capacity: Mapping[str, int] = field(default_factory=dict)
    clusters: tuple[tuple[int, ...], ...] = ()
    zone_ties: Mapping[tuple[int, str], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Solution:
    """One option for each net (indices into ``Problem.options``) and how sure we are that it is the best.

    ``cost`` is (components, risk, scarce, zones beyond one a cluster, zone tie-break, pin tie-break).  ``proved``: nothing better exists;
    otherwise ``bound`` is the best value of the first unproved tier that could still exist and ``tier`` its number.
    ``modes`` gives the modes each timer runs.
    """

    chosen: tuple[int, ...]
    cost: Cost
    proved: bool = True
    tier: int = 0
    bound: float = 0.0


def score(problem: Problem, chosen: Sequence[int]) -> Cost:
    """Exact cost of an assignment, tier by tier."""
    options = [problem.options[index] for index in chosen]
    zones = {option.net: option.zone for option in options}
    taken = [(number, zone) for number, cluster in enumerate(problem.clusters) for zone in {zones[net] for net in cluster}]
    apart = len(taken) - sum(1 for cluster in problem.clusters if cluster)
    return (
        sum(option.components for option in options),
        sum(option.risk for option in options),
        sum(option.scarce for option in options),
        apart,
        sum(problem.zone_ties.get(place, 0) for place in taken),
        sum(option.tie for option in options),
    )


def broken_rules(problem: Problem, chosen: Sequence[int]) -> list[str]:
    """Everything an assignment violates, in words; empty means it is allowed.

    Written without regard to any solver, so that it can judge their answers.
    """
    options = [problem.options[index] for index in chosen]
    broken = [f"net {net} has {count} options" for net, count in _net_counts(problem, options) if count != 1]
    broken += [f"pin {pin} is used {n} times" for pin, n in Counter(o.pin for o in options).items() if n > 1]
    used: Counter[str] = Counter()
    for option in options:
        for name, amount in option.uses:
            used[name] += amount
    broken += [f"{name}: {n} of {problem.capacity[name]}" for name, n in used.items() if n > problem.capacity[name]]
    by_net = {option.net: option for option in options}
    served: Counter[str] = Counter()
    for group in problem.groups:
        instances = {by_net[net].instance for net in group if net in by_net}
        if len(instances) != 1:
            broken.append(f"group {group} is spread over {sorted(instances)}")
        served.update(problem.blocks.get(name, name) for name in instances)
    broken += [f"{b} serves {n} groups" for b, n in served.items() if n > problem.block_capacity.get(b, 1)]
    for timer, wanted in _wanted_modes(options).items():
        if not can_hit(wanted, problem.timers[timer]):
            broken.append(f"timer {timer} cannot run {wanted}")
    return broken


def _net_counts(problem: Problem, options: Iterable[Option]) -> list[tuple[int, int]]:
    counts = Counter(option.net for option in options)
    return [(net, counts[net]) for net in problem.nets]


def _wanted_modes(options: Iterable[Option]) -> dict[str, list[tuple[str, ...]]]:
    wanted: dict[str, list[tuple[str, ...]]] = defaultdict(list)
    for option in options:
        if option.timer:
            wanted[option.timer].append(option.modes)
    return wanted


def can_hit(wanted: Sequence[tuple[str, ...]], most: int) -> bool:
    """Whether ``most`` modes are enough to give every entry one of the modes it accepts."""
    return pick_modes(wanted, most) is not None


def pick_modes(wanted: Sequence[tuple[str, ...]], most: int) -> tuple[str, ...] | None:
    """Smallest-first set of at most ``most`` modes that serves every entry, or ``None``."""
    if not wanted:
        return ()
    if most == 0:
        return None
    # Branch on the entry with the fewest choices: one of its modes must be in the set.
    for mode in min(wanted, key=len):
        rest = pick_modes([modes for modes in wanted if mode not in modes], most - 1)
        if rest is not None:
            return (mode, *rest)
    return None
