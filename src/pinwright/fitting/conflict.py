"""Why a board cannot do the job: the smallest set of wishes that conflict, and a chain of reasons in plain words.

A wish is a line that wants a pin, or something the brief asks for that strikes pins out (radio on, console kept,
a line that must stay quiet, a pin fixed by hand).  Most conflicts are a crowd: *k* lines that together can reach
fewer than *k* pins (Hall's theorem).  The smallest crowd, with the fewest wishes, is itself a small integer
programme.  What is no crowd of pins (timers, bus instances, current) is narrowed down by halving until nothing
can be left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from pinwright.fitting.candidates import Candidates
from pinwright.fitting.crowd import smallest_crowd
from pinwright.fitting.plan import Conflict
from pinwright.fitting.solver import is_feasible
from pinwright.fitting.wishes import Wish, wishes_of
from pinwright.fitting.words import explain

__all__ = ["explain_conflict", "minimal_conflict", "only_pins_matter", "wishes_feasible"]


def explain_conflict(found: Candidates, settings: Sequence[Wish]) -> Conflict:
    """Smallest conflict on a board that cannot do the job, explained.

    Parameters
    ----------
    found : candidates of the board [-]
    settings : wishes about the whole device (radio, console, ...) with their places in the brief [-]
    """
    wishes = wishes_of(found, settings)
    ids, smallest = minimal_conflict(found, [wish.id for wish in wishes])
    kept = [wish for wish in wishes if wish.id in ids]
    return Conflict(tuple((wish.id, wish.words) for wish in kept), tuple(explain(found, kept)), smallest)


def wishes_feasible(found: Candidates, wanted: Collection[str], everything: Iterable[str]) -> bool:
    """Whether the board can meet these wishes when all others are given up."""
    nets = [number for number, net in enumerate(found.nets.nets) if f"line:{net.id}" in wanted]
    problem, _ = found.problem(frozenset(everything) - frozenset(wanted), frozenset(nets))
    return is_feasible(problem)


def minimal_conflict(found: Candidates, everything: Sequence[str]) -> tuple[list[str], bool]:
    """Wishes that conflict although any proper subset does not, and whether it is proved that no smaller set does.

    A crowd found by the integer programme is the smallest crowd of pins.  It is the smallest conflict altogether
    when nothing but pins can limit a smaller set of wishes.
    """
    crowd = smallest_crowd(found)
    if crowd is None:
        core = _narrow(found, list(everything), everything)
        return core, len(core) == 1
    wishes = [wish for wish in everything if wish in crowd.wishes]
    # Alike lines are interchangeable: if leaving out one of a kind resolves the conflict, so does any other.
    if all(wishes_feasible(found, [w for w in wishes if w != example], everything) for example in crowd.examples):
        return wishes, len(wishes) == 1 or only_pins_matter(found, len(wishes) - 1)
    core = _narrow(found, wishes, everything)
    return core, len(core) == 1


def only_pins_matter(found: Candidates, most: int) -> bool:
    """Whether no set of at most ``most`` lines can exhaust anything but pins: channels, timers, bus instances, current."""
    usage: dict[str, list[int]] = {}
    for row in found.ways:
        heaviest: dict[str, int] = {}
        for option, _, _ in row:
            for name, amount in option.uses:
                heaviest[name] = max(amount, heaviest.get(name, 0))
        for name, amount in heaviest.items():
            usage.setdefault(name, []).append(amount)
    if any(sum(sorted(amounts)[-most:]) > found.capacity[name] for name, amounts in usage.items()):
        return False
    if any(count < most for count in found.timers.values()) and sum(any(o.timer for o, _, _ in row) for row in found.ways) > 1:
        return False
    return len(found.nets.buses) == 0 or most < 2


def _narrow(found: Candidates, start: list[str], everything: Sequence[str]) -> list[str]:
    """Leave out as many wishes as possible while the rest still conflicts (halving, after QuickXplain)."""

    def conflicts(wishes: list[str]) -> bool:
        return not wishes_feasible(found, wishes, everything)

    def search(background: list[str], added: bool, rest: list[str]) -> list[str]:
        if added and conflicts(background):
            return []
        if len(rest) == 1:
            return rest
        half = len(rest) // 2
        left, right = rest[:half], rest[half:]
        from_right = search(background + left, bool(left), right)
        from_left = search(background + from_right, bool(from_right), left)
        return from_left + from_right

    return sorted(search([], False, start), key=list(everything).index)
