"""Darlington arrays: several loads on one package, with its drop, its input level and its heat.

Sources: TI SLRS027M (Feb 2013) and Toshiba ULN2003APG (2006-06-14), electrical characteristics (both read).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.circuits.bounds import positive
from pinwright.circuits.ranges import Range
from pinwright.circuits.transistors import input_current
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = ["ArrayPlan", "array_plan"]


@dataclass(frozen=True, slots=True)
class ArrayPlan:
    """One package of Darlington switches: input current, output drop (None: not specified), heat, junction, faults in words."""

    i_in: Range
    v_drop_v: float | None
    p_w: float | None
    t_junction_c: float | None
    faults: tuple[str, ...]

    @property
    def works(self) -> bool:
        """Nothing speaks against it."""
        return not self.faults


def array_plan(
    v_in: Range,
    i_out_a: Sequence[float],
    *,
    v_ce: Sequence[tuple[float, float]],
    v_in_on: Sequence[tuple[float, float]],
    r_in_ohm: float,
    v_be_v: float,
    i_out_max_a: float,
    r_th_k_per_w: float,
    t_ambient_c: float,
    t_junction_max_c: float = 150.0,
) -> ArrayPlan:
    """Several loads on one Darlington array.   [SLRS027M, electrical characteristics]

    A figure is taken at the next higher current given, never in between: what lies above the last is not specified.

    Parameters
    ----------
    v_in : levels that drive the inputs [V]
    i_out_a : current of each channel that is on at once [A]
    v_ce : pairs of output current and highest drop at it [A, V]
    v_in_on : pairs of output current and input voltage it needs [A, V]
    r_in_ohm : built-in input resistor [ohm]
    v_be_v : both base-emitter drops together [V]
    i_out_max_a : highest current of one channel [A]
    r_th_k_per_w : junction to ambient [K/W]
    t_ambient_c : surroundings [°C]
    t_junction_max_c : highest junction temperature [°C]

    Returns
    -------
    plan : with every fault

    Raises
    ------
    OutOfRange : no channel, or a value is not positive.

    >>> plan = array_plan(Range(2.64, 3.6, 3.3), [0.08, 0.08], v_ce=[(0.1, 1.1), (0.2, 1.3), (0.35, 1.6)],
    ...     v_in_on=[(0.2, 2.4), (0.25, 2.7), (0.3, 3.0)], r_in_ohm=2700.0, v_be_v=1.35, i_out_max_a=0.5,
    ...     r_th_k_per_w=67.0, t_ambient_c=40.0)
    >>> plan.works, round(plan.t_junction_c, 1)
    (True, 51.8)
    """
    if not i_out_a:
        raise OutOfRange("No channel is on.")
    positive(i_out_a=list(i_out_a), i_out_max_a=i_out_max_a)
    positive(thermal_resistance=r_th_k_per_w)
    i_in = Range(input_current(v_in.low, v_be_v, r_in_ohm), input_current(v_in.high, v_be_v, r_in_ohm))
    faults, power = [], 0.0
    drops = [_at_or_above(v_ce, i) for i in i_out_a]
    for i, drop in zip(i_out_a, drops, strict=True):
        needs = _at_or_above(v_in_on, i)
        if i > i_out_max_a:
            faults.append(f"{shown(i, 'A')} exceeds the {shown(i_out_max_a, 'A')} of a channel")
        if drop is None:
            faults.append(f"no output drop is specified at {shown(i, 'A')}")
        if needs is None:
            faults.append(f"no input voltage is specified for {shown(i, 'A')}")
        elif v_in.low < needs:
            faults.append(f"{shown(i, 'A')} needs {needs:.3g} V at the input, {v_in.low:.3g} V is {shown(needs - v_in.low, 'V')} short")
        power += i * (drop or 0.0)
    known = None not in drops
    junction = t_ambient_c + power * r_th_k_per_w if known else None
    if junction is not None and junction > t_junction_max_c:
        faults.append(f"the junction reaches {junction:.0f} °C, {junction - t_junction_max_c:.0f} K too hot")
    worst = max(drop for drop in drops if drop is not None) if known else None
    return ArrayPlan(i_in, worst, power if known else None, junction, tuple(dict.fromkeys(faults)))


def _at_or_above(points: Sequence[tuple[float, float]], i_a: float) -> float | None:
    return next((value for current, value in sorted(points) if current >= i_a), None)
