"""Solve one board's assignment to proved optimality, tier by tier, with HiGHS.

The tiers are lexicographic: components and risk, scarce abilities, zones, and last a tie-break that makes the
answer unique (so that it is the same on any machine).  Each tier is minimised, then held at its optimum while
the next is minimised.

Most boards never need branching: the linear relaxation of an assignment tends to have whole-number corners.
A whole corner is feasible and meets the relaxation's bound of its
tier, which proves it.  Where a corner is not whole, that tier alone is solved as a mixed-integer programme.
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
_ZONE_TIER = 2
_ZERO_DUAL = 1e-6
_OPTIONS: dict[str, bool | int | float | str] = {
    "threads": 1,
    "random_seed": 1,
    "presolve": "off",  # for the linear tiers: the models are small, it takes longer than it saves
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.5,
    "mip_feasibility_tolerance": 1e-8,
    "mip_heuristic_run_feasibility_jump": False,
}
_HAS_SOLUTION = 2  # HiGHS's code for a feasible primal solution
_ZONE_WEIGHT = 1024  # one zone outweighs the tie-breaks (4 bits) of 64 zones
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
        """Add low <= sum(value * column) <= high."""
        # Each column once: HiGHS takes a row that names one twice, and may then never come back.
        summed: dict[int, float] = {}
        for column, value in terms:
            summed[column] = summed.get(column, 0.0) + value
        self.index.extend(summed)
        self.value.extend(summed.values())
        self.start.append(len(self.index))
        self.low.append(low)
        self.high.append(high)

    def new_columns(self, count: int) -> range:
        first = self.columns
        self.columns += count
        return range(first, self.columns)


def _rows(problem: Problem) -> tuple[_Matrix, dict[int, dict[str, int]]]:
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


def _zone_rows(problem: Problem, matrix: _Matrix, by_net: dict[int, list[int]]) -> dict[int, dict[str, int]]:
    """A cluster occupies a zone as soon as one of its nets lies there."""
    found: dict[int, dict[str, int]] = {}
    for number, cluster in enumerate(problem.clusters):
        in_zone: dict[tuple[str, int], list[int]] = defaultdict(list)
        for net in cluster:
            for column in by_net[net]:
                in_zone[problem.options[column].zone, net].append(column)
        zones = sorted({zone for zone, _ in in_zone})
        taken = dict(zip(zones, matrix.new_columns(len(zones)), strict=True))
        found[number] = taken
        for (zone, _), columns in in_zone.items():
            matrix.row([*((c, 1.0) for c in columns), (taken[zone], -1.0)], -float("inf"), 0.0)
    return found


def _tier_costs(problem: Problem, columns: int, zone_columns: dict[int, dict[str, int]]) -> list[NDArray[np.float64]]:
    """Objective of each tier, over all columns; components and risk share the first."""
    import numpy as np

    tiers = np.zeros((_TIERS, columns))
    for column, option in enumerate(problem.options):
        tiers[0, column] = option.components * _RISK_WEIGHT + option.risk
        tiers[1, column] = option.scarce
        tiers[3, column] = option.tie
    for number, taken in zone_columns.items():
        for zone, column in taken.items():
            tiers[_ZONE_TIER, column] = _ZONE_WEIGHT + problem.zone_ties.get((number, zone), 0)
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
        self.zones = zones
        self.tiers = _tier_costs(problem, matrix.columns, zones)
        self.matrix = matrix
        lp = highspy.HighsLp()
        lp.num_col_ = matrix.columns
        lp.num_row_ = len(matrix.low)
        lp.col_cost_ = self.tiers[0]
        # Zones stay open until their tier: free to move they would only blur the corners of the earlier ones.
        self.zone_columns = np.array([c for taken in zones.values() for c in taken.values()], dtype=np.int32)
        lower = np.zeros(matrix.columns)
        lower[self.zone_columns] = 1.0
        lp.col_lower_ = lower
        lp.col_upper_ = np.ones(matrix.columns)
        lp.row_lower_ = np.array(matrix.low)
        lp.row_upper_ = np.array(matrix.high)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(matrix.start, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(matrix.index, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(matrix.value)
        self.lp = lp

    def engine(self) -> Any:
        """A fresh HiGHS holding the model."""
        engine = self._new_engine()
        self._pass(engine, self.lp)
        return engine

    def _pass(self, engine: Any, lp: Any) -> None:
        if engine.passModel(lp) == self.highspy.HighsStatus.kError:
            raise AssertionError("the solver does not take this model")

    def _new_engine(self) -> Any:
        engine: Any = self.highspy.Highs()  # type: ignore[no-untyped-call]
        engine.silent()
        for name, value in _OPTIONS.items():
            engine.setOptionValue(name, value)
        return engine

    def whole_engine(self, engine: Any, time_limit_s: float) -> Any:
        """A fresh HiGHS for the model as it stands in ``engine``, asking for whole numbers.

        Fresh, so that no basis of the linear tiers steers it.
        """
        lp = engine.getLp()
        lp.integrality_ = [self.highspy.HighsVarType.kInteger] * self.columns
        whole = self._new_engine()
        whole.setOptionValue("presolve", "on")  # removes what the linear tiers have fixed
        whole.setOptionValue("time_limit", time_limit_s)
        self._pass(whole, lp)
        return whole

    def keep_optimal_face(self, engine: Any, tier: int) -> None:
        """Restrict the model to the solutions as good as the corner just found.

        Complementary slackness: they are those with every column of positive reduced cost at its lower bound, every
        one of negative reduced cost at its upper bound, and every row of non-zero dual tight.  Unlike a row
        that bounds the objective this leaves the model as sparse as it was, so the next corner tends to be whole too.
        Valid because the corner is whole: its value is the optimum.
        """
        import numpy as np

        solution = engine.getSolution()
        dual, value = np.array(solution.col_dual), np.array(solution.col_value)
        fixed = np.flatnonzero(np.abs(dual) > _ZERO_DUAL).astype(np.int32)
        if tier < _ZONE_TIER:
            fixed = np.setdiff1d(fixed, self.zone_columns)
        if len(fixed):
            bounds = np.round(value[fixed])
            engine.changeColsBounds(len(fixed), fixed, bounds, bounds)
        # Every row has whole coefficients and the corner is whole, so activities are whole too; the last digits of a
        # float would leave the branching solver between two whole numbers, where it never gets out again.
        row_dual, row_value = np.array(solution.row_dual), np.round(np.array(solution.row_value))
        for row in np.flatnonzero(np.abs(row_dual) > _ZERO_DUAL):
            engine.changeRowBounds(int(row), float(row_value[row]), float(row_value[row]))

    def keep_zones(self, engine: Any, chosen: tuple[int, ...]) -> None:
        """Restrict every cluster to the zones it occupies: the choice of zones is unique, so nothing is lost.

        With the zones decided what is left is an assignment again.
        """
        import numpy as np

        options = [self.problem.options[index] for index in chosen]
        zone_of = {option.net: option.zone for option in options}
        taken = np.zeros(self.columns)
        for number, cluster in enumerate(self.problem.clusters):
            for net in cluster:
                taken[self.zones[number][zone_of[net]]] = 1.0
        if len(self.zone_columns):
            bounds = taken[self.zone_columns]
            engine.changeColsBounds(len(self.zone_columns), self.zone_columns, bounds, bounds)

    def hold(self, engine: Any, tier: int, value: float) -> None:
        """Keep a tier at (or under) the value reached."""
        import numpy as np

        costs = self.tiers[tier]
        used = np.flatnonzero(costs).astype(np.int32)
        if len(used):
            engine.addRow(-self.highspy.kHighsInf, value, len(used), used, costs[used])

    def aim(self, engine: Any, tier: int) -> None:
        """Minimise this tier next."""
        import numpy as np

        if tier == _ZONE_TIER and len(self.zone_columns):
            count = len(self.zone_columns)
            engine.changeColsBounds(count, self.zone_columns, np.zeros(count), np.ones(count))
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
        return Solution((), (0, 0, 0, 0, 0, 0))
    model = _Model(problem)
    engine = model.engine()
    status = model.highspy.HighsModelStatus
    deadline = time.monotonic() + time_limit_s
    chosen: tuple[int, ...] | None = None
    for tier in range(_TIERS):
        model.aim(engine, tier)
        engine.run()
        if engine.getModelStatus() == status.kInfeasible and tier == 0:
            return None
        corner = model.whole_choice(engine) if engine.getModelStatus() == status.kOptimal else None
        if corner is None:
            found = _branch(model, engine, tier, deadline, chosen)
            if found is None or not found.proved:
                return found
            corner = found.chosen
            if tier == _ZONE_TIER:
                model.keep_zones(engine, corner)
            else:
                model.hold(engine, tier, _tier_value(model, corner, tier))
        else:
            model.keep_optimal_face(engine, tier)
        chosen = corner
    assert chosen is not None
    return Solution(chosen, score(problem, chosen))


def _branch(model: _Model, engine: Any, tier: int, deadline: float, chosen: tuple[int, ...] | None) -> Solution | None:
    """Solve one tier as a mixed-integer programme, the earlier ones being held.

    ``chosen`` is the best of the earlier tiers, to fall back on when the time runs out.
    """
    status = model.highspy.HighsModelStatus
    whole = model.whole_engine(engine, max(0.05, deadline - time.monotonic()))
    whole.run()
    found = whole.getModelStatus()
    better = model.whole_choice(whole) if whole.getInfo().primal_solution_status == _HAS_SOLUTION else None
    bound = whole.getInfo().mip_dual_bound
    chosen = better or chosen
    if found == status.kInfeasible and chosen is None:
        return None
    if chosen is None:
        raise TimeoutError
    return Solution(chosen, score(model.problem, chosen), found == status.kOptimal, tier + 1, bound)


def _tier_value(model: _Model, chosen: tuple[int, ...], tier: int) -> float:
    """Exact value of a tier (not the zones) at an assignment, in the scale of its objective."""
    components, risk, scarce, _, _, tie = score(model.problem, chosen)
    return (float(components * _RISK_WEIGHT + risk), float(scarce), 0.0, float(tie))[tier]


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
    engine = model.whole_engine(model.engine(), DEFAULT_TIME_LIMIT_S)
    engine.run()
    return bool(engine.getModelStatus() != status.kInfeasible)


def _every_net_has_an_option(problem: Problem) -> bool:
    return len({option.net for option in problem.options}) == len(problem.nets)
