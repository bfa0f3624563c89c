"""Can every net have a pin at all?  An exact answer by matching, without a solver, for almost every board.

Once each bus has chosen its instance, what is left is a matching of nets to pins.  If no choice of instances
has one that covers all nets, the answer is no.  If one has, and it also respects the shared resources, the
answer is yes.  Otherwise (the pins suffice but resources may not) nobody knows yet.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator

from pinwright.fitting.problem import Option, Problem, broken_rules

__all__ = ["matched"]

_MOST_CHOICES = 64


def matched(problem: Problem) -> bool | None:
    """Whether an assignment exists; ``None`` when matching alone cannot tell."""
    by_net: dict[int, list[int]] = {net: [] for net in problem.nets}
    for number, option in enumerate(problem.options):
        by_net[option.net].append(number)
    if not all(by_net.values()):
        return False
    unknown = False
    for count, instances in enumerate(_instance_choices(problem, by_net)):
        if count >= _MOST_CHOICES:
            return None
        found = _cover(problem.options, by_net, instances)
        if found is None:
            continue
        if not broken_rules(problem, [found[net] for net in problem.nets]):
            return True
        unknown = True
    return None if unknown else False


def _instance_choices(problem: Problem, by_net: dict[int, list[int]]) -> Iterator[dict[int, str]]:
    """Every way to give the groups instances that serve all their nets and are not overbooked; by net."""
    per_group = []
    for group in problem.groups:
        sets = [{problem.options[number].instance for number in by_net[net]} for net in group]
        per_group.append(sorted(set.intersection(*sets)))
    for picked in itertools.product(*per_group):
        served: dict[str, int] = defaultdict(int)
        for name in picked:
            served[problem.blocks.get(name, name)] += 1
        if all(count <= problem.block_capacity.get(block, 1) for block, count in served.items()):
            yield {net: name for group, name in zip(problem.groups, picked, strict=True) for net in group}


def _cover(options: tuple[Option, ...], by_net: dict[int, list[int]], instances: dict[int, str]) -> dict[int, int] | None:
    """An option on its own pin for every net (augmenting paths), or ``None``."""
    usable = {
        net: [number for number in numbers if net not in instances or options[number].instance == instances[net]]
        for net, numbers in by_net.items()
    }
    owner: dict[str, int] = {}
    chosen: dict[int, int] = {}

    def place(net: int, tried: set[str]) -> bool:
        for number in usable[net]:
            pin = options[number].pin
            if pin in tried:
                continue
            tried.add(pin)
            if pin not in owner or place(owner[pin], tried):
                owner[pin] = net
                chosen[net] = number
                return True
        return False

    for net in sorted(usable, key=lambda n: len(usable[n])):
        if not place(net, set()):
            return None
    return chosen
