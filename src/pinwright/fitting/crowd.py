"""The smallest crowd: fewest lines and wishes such that the lines reach fewer pins than they are.

By Hall's theorem a set of lines has no pins of its own exactly when some of them crowd together like this.
Lines that can reach the same pins under the same wishes are interchangeable, and so are pins; only the kinds
are counted, which keeps the integer programme tiny.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pinwright.fitting.candidates import Candidates

__all__ = ["Crowd", "smallest_crowd"]

_OWN = ("quiet", "lock")
"""Wishes that belong to one line; the others belong to the whole device."""

Reach = frozenset[tuple[str, frozenset[str]]]


@dataclass(frozen=True, slots=True)
class Crowd:
    """Wishes of the crowd, and for each kind of line in it one line to stand for all (wish ids)."""

    wishes: tuple[str, ...]
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """Lines alike: their nets, their own wishes kept, and the pins they reach with the device wishes in the way."""

    nets: tuple[int, ...]
    own: tuple[str, ...]
    reach: Reach


def smallest_crowd(found: Candidates) -> Crowd | None:
    """Smallest crowd of pins, or ``None`` when every set of lines reaches enough pins."""
    kinds = [kind for members in _alike(found) for kind in _variants(found, members)]
    answer = _solve(kinds)
    if answer is None:
        return None
    counts, settings = answer
    wishes: list[str] = []
    examples: list[str] = list(settings)
    for kind, count in zip(kinds, counts, strict=True):
        for position, net in enumerate(kind.nets[:count]):
            name = found.nets.nets[net].id
            ids = [f"line:{name}", *(f"{own}:{name}" for own in kind.own)]
            wishes += ids
            if position == 0:
                examples += ids
    return Crowd((*wishes, *settings), tuple(examples))


def _alike(found: Candidates) -> list[list[int]]:
    """Nets grouped by what they can reach under which wishes."""
    groups: dict[frozenset[tuple[str, frozenset[str]]], list[int]] = defaultdict(list)
    for net, row in enumerate(found.found):
        reach = frozenset((c.place.pad.name, _general(c.blocked)) for c in row if not c.is_hopeless)
        groups[reach].append(net)
    return list(groups.values())


def _general(blocked: frozenset[str]) -> frozenset[str]:
    """Wishes without the name of the line they belong to."""
    return frozenset(wish.split(":", 1)[0] for wish in blocked)


def _variants(found: Candidates, nets: list[int]) -> Iterator[_Kind]:
    """The same lines with every choice of their own wishes kept; the fewer pins they reach, the more they cost."""
    row = [(c.place.pad.name, _general(c.blocked)) for c in found.found[nets[0]] if not c.is_hopeless]
    present = [own for own in _OWN if any(own in blocked for _, blocked in row)]
    for mask in range(2 ** len(present)):
        kept = frozenset(own for bit, own in enumerate(present) if mask >> bit & 1)
        reach = frozenset((pin, blocked - set(_OWN)) for pin, blocked in row if not blocked & kept)
        yield _Kind(tuple(nets), tuple(sorted(kept)), reach)


def _solve(kinds: list[_Kind]) -> tuple[list[int], list[str]] | None:
    """How many of each kind, and which device wishes, make the smallest crowd."""
    import highspy

    settings = sorted({wish for kind in kinds for _, blocked in kind.reach for wish in blocked})
    pins = _pin_kinds(kinds)
    model: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    model.silent()
    for name, value in (
        ("threads", 1),
        ("random_seed", 1),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.5),
        ("time_limit", 5.0),
        ("mip_heuristic_run_feasibility_jump", False),
    ):
        model.setOptionValue(name, value)
    whole = highspy.HighsVarType.kInteger
    # Columns: lines of each kind, whether a kind is in at all, device wishes, pins reached of each pin kind.
    first_in, first_wish, first_pin = len(kinds), 2 * len(kinds), 2 * len(kinds) + len(settings)
    for number, kind in enumerate(kinds):
        model.addCol(1.0 + len(kind.own) + number * 1e-4, 0.0, float(len(kind.nets)), 0, [], [])
        model.changeColIntegrality(number, whole)
    for _ in kinds:
        model.addCol(0.0, 0.0, 1.0, 0, [], [])
    for number, _ in enumerate(settings):
        # Settings weigh a hair more, so that a crowd of lines alone is named when it is as small.
        model.addCol(1.0 + 0.01 * (number + 1), 0.0, 1.0, 0, [], [])
    for number in (*range(first_in, first_in + len(kinds)), *range(first_wish, first_pin)):
        model.changeColIntegrality(number, whole)
    for _ in pins:
        model.addCol(0.0, 0.0, 1.0, 0, [], [])
    infinite = highspy.kHighsInf
    for number, kind in enumerate(kinds):
        model.addRow(-infinite, 0.0, 2, [number, first_in + number], [1.0, -float(len(kind.nets))])
    _share_nets(model, kinds, infinite)
    for pin, (incidence, _) in enumerate(pins):
        for number, blocked in sorted(incidence, key=lambda each: (each[0], sorted(each[1]))):  # the same rows in every process
            columns = [first_pin + pin, first_in + number, *(first_wish + settings.index(wish) for wish in sorted(blocked))]
            model.addRow(0.0, infinite, len(columns), columns, [1.0, -1.0, *([1.0] * len(blocked))])
    columns = [*range(len(kinds)), *range(first_pin, first_pin + len(pins))]
    model.addRow(1.0, infinite, len(columns), columns, [*([1.0] * len(kinds)), *(-float(size) for _, size in pins)])
    model.run()
    if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    values = [round(value) for value in model.getSolution().col_value]
    return values[: len(kinds)], [wish for number, wish in enumerate(settings) if values[first_wish + number]]


def _share_nets(model: Any, kinds: list[_Kind], infinite: float) -> None:
    """Variants of one kind draw on the same lines."""
    by_nets: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for number, kind in enumerate(kinds):
        by_nets[kind.nets].append(number)
    for nets, members in by_nets.items():
        if len(members) > 1:
            model.addRow(-infinite, float(len(nets)), len(members), members, [1.0] * len(members))


def _pin_kinds(kinds: list[_Kind]) -> list[tuple[frozenset[tuple[int, frozenset[str]]], int]]:
    """Pins grouped by which kinds reach them under which wishes, with how many there are."""
    incidence: dict[str, set[tuple[int, frozenset[str]]]] = defaultdict(set)
    for number, kind in enumerate(kinds):
        for pin, blocked in kind.reach:
            incidence[pin].add((number, blocked))
    sizes: dict[frozenset[tuple[int, frozenset[str]]], int] = defaultdict(int)
    for reached in incidence.values():
        sizes[frozenset(reached)] += 1
    return sorted(sizes.items(), key=lambda item: sorted((n, sorted(b)) for n, b in item[0]))
