"""Ranges of values, and formulas carried over them.

A resistor is no number but a range: 10 kΩ ± 5 %, hotter or colder.  Every formula of this package goes up or down
with each of its arguments, one way or the other, over the whole of its domain; so its extremes lie at corners of the box
its ranges span, and evaluating all corners gives exact bounds [interval arithmetic; a formula that turns back says so].
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from pinwright.errors import OutOfRange

__all__ = ["Range", "Value", "corners", "over"]


@dataclass(frozen=True, slots=True)
class Range:
    """All values between ``low`` and ``high``, both included, with the usual one in ``typ``.

    >>> Range.around(10e3, 0.05)
    Range(low=9500.0, high=10500.0, typ=10000.0)
    """

    low: float
    high: float
    typ: float | None = None

    def __post_init__(self) -> None:
        if not (np.isfinite(self.low) and np.isfinite(self.high)):
            raise OutOfRange(f"A range needs finite ends, not {self.low} to {self.high}.")
        if self.low > self.high:
            raise OutOfRange(f"A range runs from low to high, not from {self.low:g} to {self.high:g}.")
        if self.typ is not None and not self.low <= self.typ <= self.high:
            raise OutOfRange(f"The typical value {self.typ:g} lies outside {self.low:g} to {self.high:g}.")

    @classmethod
    def around(cls, value: float, tolerance: float) -> Range:
        """Range of a value with a symmetrical tolerance, given as a share of it [-]."""
        if not 0 <= tolerance < 1:
            raise OutOfRange(f"A tolerance is a share from 0 to below 1, not {tolerance:g}.")
        ends = sorted((value * (1 - tolerance), value * (1 + tolerance)))
        return cls(ends[0], ends[1], value)

    @property
    def middle(self) -> float:
        """The usual value, or the middle where none is given."""
        return (self.low + self.high) / 2 if self.typ is None else self.typ

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high


Value = float | Range
"""A number known exactly, or a range."""


def corners(**values: Value) -> dict[str, np.ndarray]:
    """Every combination of the ends of the ranges, one array a name, all of one length (corner,).

    >>> {k: v.tolist() for k, v in corners(a=Range(1, 2), b=3.0).items()}
    {'a': [1.0, 2.0], 'b': [3.0, 3.0]}
    """
    ends = [
        (v.low, v.high) if isinstance(v, Range) and v.low != v.high else (v.low if isinstance(v, Range) else v,) for v in values.values()
    ]
    table = np.array(list(itertools.product(*ends)), dtype=float)
    return {name: table[:, column] for column, name in enumerate(values)}


def over(formula: Callable[..., Any], **values: Value) -> Range:
    """Bounds of a formula over the ranges of its arguments.

    Parameters
    ----------
    formula : goes up or down with each argument, and takes arrays [-]
    values : its arguments, numbers or ranges [-]

    Returns
    -------
    bounds : lowest and highest result, and the result at the usual values

    Raises
    ------
    OutOfRange : the formula refuses one of the corners, or a result is not finite.

    >>> over(lambda v_v, top_ohm, bottom_ohm: v_v * bottom_ohm / (top_ohm + bottom_ohm),
    ...      v_v=5.0, top_ohm=Range.around(10e3, 0.01), bottom_ohm=Range.around(20e3, 0.01)).high
    3.355481727574751
    """
    found = np.asarray(formula(**corners(**values)), dtype=float)
    usual = float(formula(**{name: v.middle if isinstance(v, Range) else v for name, v in values.items()}))
    if not (np.all(np.isfinite(found)) and np.isfinite(usual)):
        raise OutOfRange("The values lead to no finite result.")
    return Range(min(float(found.min()), usual), max(float(found.max()), usual), usual)
