"""Solve one board's assignment to proved optimality, tier by tier, with HiGHS.

The tiers are lexicographic: components, risk, scarce abilities, zones, and last a tie-break that makes the
answer unique (so that it is the same on any machine).  Each tier is minimised, then held at its optimum while
the next is minimised.

Most boards never need branching: the linear relaxation of an assignment tends to have whole-number corners.
If the corner reached after the last tier is whole, it is feasible and meets the relaxation's bound in every
tier, which proves it.  Otherwise the same tiers are solved again as a mixed-integer programme.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pinwright.fitting.matching import matched
from pinwright.fitting.problem import Problem, Solution, score

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["DEFAULT_TIME_LIMIT_S", "is_feasible", "solve"]

DEFAULT_TIME_LIMIT_S = 20.0
_TIERS = 4
_RISK_WEIGHT = 1000  # one component outweighs any sum of risk marks a plan can have


class _Matrix:
    """Rows of a sparse model, collected one by one."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.start = [0]
        self.index: list[int] = []
        self.value: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def row(self, terms: Sequence[tuple[int, float]], low: float, high: float) -> None:
        self.index.extend(column for column, _ in terms)
        self.value.extend(value for _, value in terms)
        self.start.append(len(self.index))
        self.low.append(low)
        self.high.append(high)

    def new_columns(self, count: int) -> range:
        first = self.columns
        self.columns += count
        return range(first, self.columns)


def _rows(problem: Problem) -> tuple[_Matrix, dict[int, list[int]]]:
    """Constraints of the problem; also the zone columns of each cluster."""
    matrix = _Matrix(len(problem.options))
    infinite = float("inf")
    by_net: dict[int, list[int]] = defaultdict(list)
    by_pin: dict[str, list[int]] = defaultdict(list)
    by_use: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for column, option in enumerate(problem.options):
        by_net[option.net].append(column)
        by_pin[option.pin].append(column)
        for name, amount in option.uses:
            by_use[name].append((column, float(amount)))
    for net in problem.nets:
        matrix.row([(column, 1.0) for column in by_net[net]], 1.0, 1.0)
    for columns in by_pin.values():
        if len({problem.options[column].net for column in columns}) > 1:
            matrix.row([(column, 1.0) for column in columns], -infinite, 1.0)
    for name, terms in by_use.items():
        if sum(amount for _, amount in terms) > problem.capacity[name]:
            matrix.row(terms, -infinite, float(problem.capacity[name]))
    _group_rows(problem, matrix, by_net)
    _timer_rows(problem, matrix, by_net)
    return matrix, _zone_rows(problem, matrix, by_net)


def _group_rows(problem: Problem, matrix: _Matrix, by_net: dict[int, list[int]]) -> None:
    served: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for group in problem.groups:
        names = sorted({problem.options[column].instance for net in group for column in by_net[net]})
        picks = dict(zip(names, matrix.new_columns(len(names)), strict=True))
        for net in group:
            for name, pick in picks.items():
                terms = [(column, 1.0) for column in by_net[net] if problem.options[column].instance == name]
                matrix.row([*terms, (pick, -1.0)], 0.0, 0.0)
        for name, pick in picks.items():
            served[problem.blocks.get(name, name)].append((pick, 1.0))
    for block, terms in served.items():
        capacity = problem.block_capacity.get(block, 1)
        if len(terms) > capacity:
            matrix.row(terms, -float("inf"), float(capacity))


def _timer_rows(problem: Problem, matrix: _Matrix, by_net: dict[int, list[int]]) -> None:
    users: dict[str, dict[tuple[int, tuple[str, ...]], list[int]]] = defaultdict(lambda: defaultdict(list))
    for column, option in enumerate(problem.options):
        if option.timer:
            users[option.timer][option.net, option.modes].append(column)
    for timer, wanted in users.items():
        modes = sorted({mode for _, accepted in wanted for mode in accepted})
        if len(modes) <= problem.timers[timer]:
            continue
        runs = dict(zip(modes, matrix.new_columns(len(modes)), strict=True))
        matrix.row([(column, 1.0) for column in runs.values()], -float("inf"), float(problem.timers[timer]))
        for (_, accepted), columns in wanted.items():
            matrix.row([*((c, 1.0) for c in columns), *((runs[mode], -1.0) for mode in accepted)], -float("inf"), 0.0)


def _zone_rows(problem: Problem, matrix: _Matrix, by_net: dict[int, list[int]]) -> dict[int, list[int]]:
    """A cluster occupies a zone as soon as one of its nets lies there."""
    found: dict[int, list[int]] = {}
    for number, cluster in enumerate(problem.clusters):
        in_zone: dict[tuple[str, int], list[int]] = defaultdict(list)
        for net in cluster:
            for column in by_net[net]:
                in_zone[problem.options[column].zone, net].append(column)
        zones = sorted({zone for zone, _ in in_zone})
        taken = dict(zip(zones, matrix.new_columns(len(zones)), strict=True))
        found[number] = list(taken.values())
        for (zone, _), columns in in_zone.items():
            matrix.row([*((c, 1.0) for c in columns), (taken[zone], -1.0)], -float("inf"), 0.0)
    return found


def _tier_costs(problem: Problem, columns: int, zone_columns: dict[int, list[int]]) -> list[NDArray[np.float64]]:
    """Objective of each tier, over all columns; components and risk share the first."""
    import numpy as np

    tiers = np.zeros((_TIERS, columns))
    for column, option in enumerate(problem.options):
        tiers[0, column] = option.components * _RISK_WEIGHT + option.risk
        tiers[1, column] = option.scarce
        tiers[3, column] = option.tie / 1024
    for taken in zone_columns.values():
        tiers[2, taken] = 1
    return list(tiers)


class _Model:
    """A HiGHS model of one problem, solved tier after tier."""

    def __init__(self, problem: Problem) -> None:
        import highspy
        import numpy as np

        self.highspy = highspy
        self.problem = problem
        matrix, zones = _rows(problem)
        self.columns = matrix.columns
        self.tiers = _tier_costs(problem, matrix.columns, zones)
        self.matrix = matrix
        lp = highspy.HighsLp()
        lp.num_col_ = matrix.columns
        lp.num_row_ = len(matrix.low)
        lp.col_cost_ = self.tiers[0]
        lp.col_lower_ = np.zeros(matrix.columns)
        lp.col_upper_ = np.ones(matrix.columns)
        lp.row_lower_ = np.array(matrix.low)
        lp.row_upper_ = np.array(matrix.high)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(matrix.start, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(matrix.index, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(matrix.value)
        self.lp = lp

    def engine(self, whole: bool) -> Any:
        """A fresh HiGHS holding the model; ``whole`` asks for whole numbers."""
        engine = self.highspy.Highs()
        engine.silent()
        for name, value in (
            ("threads", 1), ("random_seed", 1), ("mip_rel_gap", 0.0), ("mip_abs_gap", 0.5), ("mip_feasibility_tolerance", 1e-8),
        ):  # fmt: skip
            engine.setOptionValue(name, value)
        if whole:
            self.lp.integrality_ = [self.highspy.HighsVarType.kInteger] * self.columns
        engine.passModel(self.lp)
        return engine

    def hold(self, engine: Any, tier: int, value: float) -> None:
        """Keep a tier at (or under) the value reached."""
        import numpy as np

        costs = self.tiers[tier]
        used = np.flatnonzero(costs).astype(np.int32)
        if len(used):
            engine.addRow(-self.highspy.kHighsInf, value + 1e-6, len(used), used, costs[used])

    def aim(self, engine: Any, tier: int) -> None:
        import numpy as np

        engine.changeColsCost(self.columns, np.arange(self.columns, dtype=np.int32), self.tiers[tier])

    def whole_choice(self, engine: Any) -> tuple[int, ...] | None:
        """Options chosen at the current corner, or ``None`` if it is not whole."""
        import numpy as np

        values = np.array(engine.getSolution().col_value)
        if np.abs(values - np.round(values)).max(initial=0.0) > 1e-6:
            return None
        chosen = np.flatnonzero(values[: len(self.problem.options)] > 0.5)
        nets = {self.problem.options[index].net: int(index) for index in chosen}
        return tuple(nets[net] for net in self.problem.nets)


def solve(problem: Problem, time_limit_s: float = DEFAULT_TIME_LIMIT_S) -> Solution | None:
    """Best assignment, or ``None`` when there is none.

    Parameters
    ----------
    problem : what to assign [-]
    time_limit_s : give up proving after this long; the answer then says how good it is [s]

    Raises
    ------
    TimeoutError : the time ran out before any assignment was found.
    """
    if not _every_net_has_an_option(problem):
        return None
    if not problem.nets:
        return Solution((), (0, 0, 0, 0, 0))
    model = _Model(problem)
    engine = model.engine(whole=False)
    status = model.highspy.HighsModelStatus
    for tier in range(_TIERS):
        if tier:
            model.hold(engine, tier - 1, engine.getInfo().objective_function_value)
            model.aim(engine, tier)
        engine.run()
        if engine.getModelStatus() == status.kInfeasible and tier == 0:
            return None
        if engine.getModelStatus() != status.kOptimal:
            return _solve_whole(model, time_limit_s)
    chosen = model.whole_choice(engine)
    if chosen is None:
        return _solve_whole(model, time_limit_s)
    return Solution(chosen, score(problem, chosen))


def _solve_whole(model: _Model, time_limit_s: float) -> Solution | None:
    """The tiers once more, as a mixed-integer programme."""
    status = model.highspy.HighsModelStatus
    deadline = time.monotonic() + time_limit_s
    engine = model.engine(whole=True)
    chosen: tuple[int, ...] | None = None
    for tier in range(_TIERS):
        if tier:
            model.hold(engine, tier - 1, _tier_value(model, chosen, tier - 1))
            model.aim(engine, tier)
        engine.setOptionValue("time_limit", max(0.05, deadline - time.monotonic()) + engine.getRunTime())
        engine.run()
        found = engine.getModelStatus()
        if found == status.kInfeasible:
            if chosen is None:
                return None
            raise AssertionError("holding a tier made the problem infeasible")
        better = model.whole_choice(engine) if engine.getInfo().primal_solution_status == 2 else None
        chosen = better or chosen
        if found != status.kOptimal:
            if chosen is None:
                raise TimeoutError
            return Solution(chosen, score(model.problem, chosen), False, tier + 1, engine.getInfo().mip_dual_bound)
    assert chosen is not None
    return Solution(chosen, score(model.problem, chosen))


def _tier_value(model: _Model, chosen: tuple[int, ...] | None, tier: int) -> float:
    """Exact value of a tier at the chosen assignment, in the scale of its objective."""
    assert chosen is not None
    cost = score(model.problem, chosen)
    zones = cost[3] + sum(1 for cluster in model.problem.clusters if cluster)
    return (float(cost[0] * _RISK_WEIGHT + cost[1]), float(cost[2]), float(zones), cost[4] / 1024)[tier]


def is_feasible(problem: Problem) -> bool:
    """Whether any assignment exists at all; the solver is asked only when matching cannot tell."""
    known = matched(problem)
    if known is not None:
        return known
    model = _Model(problem)
    import numpy as np

    model.tiers = [np.zeros(model.columns)]
    model.lp.col_cost_ = model.tiers[0]
    status = model.highspy.HighsModelStatus
    engine = model.engine(whole=False)
    engine.run()
    if engine.getModelStatus() == status.kInfeasible:
        return False
    if model.whole_choice(engine) is not None:
        return True
    engine = model.engine(whole=True)
    engine.run()
    return bool(engine.getModelStatus() == status.kOptimal)


def _every_net_has_an_option(problem: Problem) -> bool:
    return len({option.net for option in problem.options}) == len(problem.nets)
