"""Two other ways to solve an assignment problem: trying everything, and a constraint solver from the registry."""

from __future__ import annotations

import itertools
from collections import defaultdict

from pinwright.fitting.problem import Cost, Problem, broken_rules, score


def exhaustive(problem: Problem) -> Cost | None:
    """Best cost by trying every combination of options; only for tiny problems."""
    by_net = [[i for i, option in enumerate(problem.options) if option.net == net] for net in problem.nets]
    costs = (score(problem, chosen) for chosen in itertools.product(*by_net) if not broken_rules(problem, chosen))
    return min(costs, default=None)


def cp_sat(problem: Problem, seconds: float = 60.0) -> Cost | None:
    """Best cost by OR-tools' CP-SAT, one tier after the other (settings as measured to close the bound)."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    x = [model.new_bool_var(f"x{i}") for i in range(len(problem.options))]
    by_net: dict[int, list[int]] = defaultdict(list)
    by_pin: dict[str, list[int]] = defaultdict(list)
    uses: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for i, option in enumerate(problem.options):
        by_net[option.net].append(i)
        by_pin[option.pin].append(i)
        for name, amount in option.uses:
            uses[name].append((i, amount))
    for net in problem.nets:
        model.add_exactly_one(x[i] for i in by_net[net])
    for pins in by_pin.values():
        model.add_at_most_one(x[i] for i in pins)
    for name, terms in uses.items():
        model.add(sum(x[i] * amount for i, amount in terms) <= problem.capacity[name])
    _groups(problem, model, x, by_net)
    _timers(problem, model, x)
    zones = []
    ties = []
    for number, cluster in enumerate(problem.clusters):
        taken: dict[str, cp_model.IntVar] = {}
        for net in cluster:
            for i in by_net[net]:
                zone = problem.options[i].zone
                if zone not in taken:
                    taken[zone] = model.new_bool_var(f"z{len(zones)}{zone}")
                model.add_implication(x[i], taken[zone])
        zones.append((sum(taken.values()), 1))
        ties.append(sum(problem.zone_ties.get((number, zone), 0) * column for zone, column in taken.items()))
    objectives = [
        sum(o.components * x[i] for i, o in enumerate(problem.options)),
        sum(o.risk * x[i] for i, o in enumerate(problem.options)),
        sum(o.scarce * x[i] for i, o in enumerate(problem.options)),
        sum(total - one for total, one in zones),
        sum(ties),
        sum(o.tie * x[i] for i, o in enumerate(problem.options)),
    ]
    values = []
    for objective in objectives:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.linearization_level = 2
        solver.parameters.max_time_in_seconds = seconds
        model.minimize(objective)
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        value = round(solver.objective_value)
        values.append(value)
        model.add(objective <= value)
    return tuple(values)  # type: ignore[return-value]


def _groups(problem: Problem, model: object, x: list[object], by_net: dict[int, list[int]]) -> None:
    served = defaultdict(list)
    for number, group in enumerate(problem.groups):
        names = sorted({problem.options[i].instance for net in group for i in by_net[net]})
        picks = {name: model.new_bool_var(f"g{number}{name}") for name in names}  # type: ignore[attr-defined]
        for net in group:
            for name in names:
                model.add(sum(x[i] for i in by_net[net] if problem.options[i].instance == name) == picks[name])  # type: ignore[attr-defined]
        for name, pick in picks.items():
            served[problem.blocks.get(name, name)].append(pick)
    for block, picked in served.items():
        model.add(sum(picked) <= problem.block_capacity.get(block, 1))  # type: ignore[attr-defined]


def _timers(problem: Problem, model: object, x: list[object]) -> None:
    runs: dict[str, dict[str, object]] = defaultdict(dict)
    for option in problem.options:
        for mode in option.modes:
            runs[option.timer].setdefault(mode, model.new_bool_var(f"{option.timer} {mode}"))  # type: ignore[attr-defined]
    for timer, modes in runs.items():
        model.add(sum(modes.values()) <= problem.timers[timer])  # type: ignore[attr-defined]
    for i, option in enumerate(problem.options):
        if option.timer:
            model.add_bool_or(*(runs[option.timer][mode] for mode in option.modes), x[i].negated())  # type: ignore[attr-defined]
