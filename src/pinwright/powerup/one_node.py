"""One node with resistors to rails, in closed form and without numpy: planning asks this thousands of times.

V = (Σ G_i V_i - I) / Σ G_i.  Raising one conductance draws the node towards its rail, so at the lowest voltage every branch
whose rail lies below the node is at its strongest and every other at its weakest.  With the branches sorted by their rails only
n + 1 of the 2^n corners can therefore be extreme.   [derived from Kirchhoff's current law]
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from pinwright.errors import OutOfRange

__all__ = ["Branch", "divider_bounds"]

Branch = tuple[float, float, float, float]
"""Least and most resistance [ohm], lowest and highest voltage of the rail behind it [V]."""


def divider_bounds(branches: Iterable[Branch], i_leak_low_a: float = 0.0, i_leak_high_a: float = 0.0) -> tuple[float, float] | None:
    """Exact bounds of a node between resistive branches to rails, with a leakage.   [Kirchhoff's current law]

    Parameters
    ----------
    branches : (ohm_low, ohm_high, v_low, v_high) of each pull, divider leg or load, up and down alike [ohm, V]
    i_leak_low_a : least current that leaks out of the node; negative: into it [A]
    i_leak_high_a : most current that leaks out of it [A]

    Returns
    -------
    bounds : lowest and highest voltage, or None where no branch holds the node [V]

    Raises
    ------
    OutOfRange : a resistance is not positive, a range runs backwards, or a value is not finite.

    >>> low, high = divider_bounds([(9.5e3, 10.5e3, 3.1, 3.5), (95e3, 105e3, 0.0, 0.0)], -1e-6, 1e-6)
    >>> round(low, 3), round(high, 3)
    (2.782, 3.218)
    """
    pulls = list(branches)
    for ohm_low, ohm_high, v_low, v_high in pulls:
        if not (0 < ohm_low <= ohm_high < math.inf and -math.inf < v_low <= v_high < math.inf):
            raise OutOfRange(f"A branch runs from low to high, above 0 Ω, not {ohm_low:g} to {ohm_high:g} Ω and {v_low:g} to {v_high:g} V.")
    if not -math.inf < i_leak_low_a <= i_leak_high_a < math.inf:
        raise OutOfRange(f"A leakage runs from low to high, not from {i_leak_low_a:g} to {i_leak_high_a:g} A.")
    if not pulls:
        return None
    low = _lowest(sorted((v_low, 1 / ohm_low, 1 / ohm_high) for ohm_low, ohm_high, v_low, _ in pulls), i_leak_high_a)
    high = -_lowest(sorted((-v_high, 1 / ohm_low, 1 / ohm_high) for ohm_low, ohm_high, _, v_high in pulls), -i_leak_low_a)
    return low, high


def _lowest(pulls: list[tuple[float, float, float]], i_a: float) -> float:
    """Lowest voltage of pulls (voltage, strongest, weakest conductance), lowest voltage first."""
    g = sum(weak for _, _, weak in pulls)
    i = sum(v * weak for v, _, weak in pulls) - i_a
    lowest = i / g
    for v, strong, weak in pulls:
        g += strong - weak
        i += v * (strong - weak)
        lowest = min(lowest, i / g)
    return lowest
