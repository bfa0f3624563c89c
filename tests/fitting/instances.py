"""Random assignment problems with everything the solver must know: pins, resources, buses, timers, clusters."""

from __future__ import annotations

import random

from pinwright.fitting.problem import Option, Problem


def random_problem(seed: int, nets: int, pins: int, most_options: int) -> Problem:
    """A problem that is sometimes impossible; the same seed gives the same problem."""
    rng = random.Random(seed)
    group = tuple(range(2)) if nets >= 3 and rng.random() < 0.6 else ()
    second = (2, 3) if nets >= 5 and group and rng.random() < 0.5 else ()
    instances = ["A", "B"][: rng.choice([1, 2])]
    timer_nets = set(rng.sample(range(nets), rng.randint(0, min(3, nets)))) - {*group, *second}
    options: list[Option] = []
    for net in range(nets):
        for pin in rng.sample(range(pins), rng.randint(1, min(most_options, pins))):
            options.append(  # noqa: PERF401 - a comprehension would hide the order of the random draws
                Option(
                    net,
                    f"p{pin}",
                    components=rng.choice([0, 0, 0, 1, 2]),
                    risk=rng.choice([0, 0, 1, 2]),
                    scarce=rng.randint(0, 4),
                    uses=((rng.choice(["x", "y"]), rng.randint(1, 3)),) if rng.random() < 0.3 else (),
                    instance=rng.choice(instances) if net in group or net in second else "",
                    timer=rng.choice(["t", "u"]) if net in timer_nets else "",
                    modes=tuple(sorted(rng.sample(["1", "2", "3"], rng.randint(1, 2)))) if net in timer_nets else (),
                    zone=f"z{pin // 2}",
                    tie=rng.randint(0, 4095),
                )
            )
    return Problem(
        tuple(range(nets)),
        tuple(options),
        capacity={"x": rng.randint(1, 5), "y": rng.randint(1, 5)},
        timers={"t": rng.choice([1, 1, 2]), "u": 1},
        groups=tuple(g for g in (group, second) if g),
        block_capacity={name: rng.choice([1, 2]) for name in instances},
        clusters=((0, 1), tuple(range(2, nets))) if nets > 3 else (),
        zone_ties={(number, f"z{zone}"): rng.randint(0, 15) for number in range(2) for zone in range(pins // 2 + 1)},
    )
