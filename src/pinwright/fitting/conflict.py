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
from pinwright.fitting.plan import Conflict
from pinwright.fitting.solver import is_feasible
from pinwright.fitting.wishes import Wish, wishes_of
from pinwright.fitting.words import explain

__all__ = ["explain_conflict", "minimal_conflict", "wishes_feasible"]


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
    """Wishes that conflict although any proper subset does not, and whether no smaller conflict exists.

    A crowd of pins found by the integer programme is the smallest crowd; it is the smallest conflict altogether
    when nothing but pins limits the board.  One or two wishes are always the smallest (the empty set and,
    by construction, each single wish are feasible).
    """
    crowd = _smallest_crowd(found, everything)
    start = crowd if crowd is not None else list(everything)
    core = _narrow(found, start, everything)
    only_pins = crowd is not None and len(core) == len(crowd) and not _shares_more_than_pins(found)
    return core, only_pins or len(core) == 1 or (len(core) == 2 and _singles_feasible(found, everything))


def _shares_more_than_pins(found: Candidates) -> bool:
    return bool(found.capacity or found.timers or found.nets.buses)


def _singles_feasible(found: Candidates, everything: Sequence[str]) -> bool:
    return all(wishes_feasible(found, [wish], everything) for wish in everything)


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


def _smallest_crowd(found: Candidates, everything: Sequence[str]) -> list[str] | None:
    """Fewest lines and wishes such that the lines reach fewer pins than they are; ``None`` if there is no crowd."""
    import highspy
    import numpy as np

    nets = range(len(found.nets.nets))
    column = {wish: number for number, wish in enumerate(everything)}
    pins: dict[str, int] = {}
    rows: list[dict[int, float]] = []
    for net in nets:
        line = column[f"line:{found.nets.nets[net].id}"]
        for candidate in found.found[net]:
            if candidate.is_hopeless:
                continue
            pin = pins.setdefault(candidate.place.pad.name, len(column) + len(pins))
            # The pin counts as reached when the line is in the crowd and no wish in the way is kept.
            row = {pin: 1.0, line: -1.0}
            row.update((column[wish], 1.0) for wish in candidate.blocked)
            rows.append(row)
    total = len(column) + len(pins)
    crowd = {column[f"line:{found.nets.nets[net].id}"]: 1.0 for net in nets} | {pin: -1.0 for pin in pins.values()}
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = total, len(rows) + 1
    lp.col_cost_ = np.array([1.0] * len(column) + [0.0] * len(pins))
    lp.col_lower_, lp.col_upper_ = np.zeros(total), np.ones(total)
    lp.row_lower_ = np.array([0.0] * len(rows) + [1.0])
    lp.row_upper_ = np.full(len(rows) + 1, highspy.kHighsInf)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(column) + [highspy.HighsVarType.kContinuous] * len(pins)
    matrix = [*rows, crowd]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0] + [len(row) for row in matrix]).astype(np.int32)
    lp.a_matrix_.index_ = np.array([index for row in matrix for index in row], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([value for row in matrix for value in row.values()])
    engine = highspy.Highs()
    engine.silent()
    for name, value in (("threads", 1), ("random_seed", 1), ("mip_rel_gap", 0.0), ("mip_abs_gap", 0.5), ("time_limit", 5.0)):
        engine.setOptionValue(name, value)
    engine.passModel(lp)
    engine.run()
    if engine.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    values = engine.getSolution().col_value
    return [wish for wish, number in column.items() if values[number] > 0.5]
