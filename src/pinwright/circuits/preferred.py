"""Preferred values of resistors: the series E3 to E192, and picking from them or from what lies in the drawer.

E3 to E24 are tables of two digits; they do not follow the formula everywhere (eight values of E24 do not).
E48, E96 and E192 are 100 · 10^(i/n), rounded to three digits, with one exception: the standard has 920 where the
formula gives 919.   [IEC 60063:2015; the short tables read in public copies, the exception from memory]
"""

from __future__ import annotations

import bisect
import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pinwright.circuits.bounds import positive, share
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

__all__ = [
    "E3",
    "E6",
    "E12",
    "E24",
    "SERIES",
    "How",
    "Pair",
    "best_pair",
    "formula_value",
    "from_stock",
    "in_range",
    "nearest_e24",
    "preferred",
    "series",
]

How = Literal["nearest", "up", "down"]
"""Nearest by ratio, or the next one that is not below, or not above."""

E3 = (10, 22, 47)
E6 = (10, 15, 22, 33, 47, 68)
E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)

SERIES = (3, 6, 12, 24, 48, 96, 192)
"""Numbers of values a decade."""

_TABLES = {3: E3, 6: E6, 12: E12, 24: E24}
_EXCEPTIONS = {919: 920}
_DECADES = range(-3, 10)
_SAME = 1e-9
"""Two resistances closer than this share are one: the noise of binary floats, far below any tolerance."""


def formula_value(n: int, index: int) -> int:
    """Mantissa the formula gives, before any exception of the standard.

    round(k · 10^(index / n)), k = 10 up to E24 and 100 above   [IEC 60063]

    Parameters
    ----------
    n : values a decade [-]
    index : from 0 to n - 1 [-]

    Returns
    -------
    mantissa : two digits up to E24, three above [-]

    Raises
    ------
    OutOfRange : there is no such series or place.

    >>> formula_value(96, 41), formula_value(24, 10)
    (267, 26)
    """
    _known(n)
    if not 0 <= index < n:
        raise OutOfRange(f"E{n} has places 0 to {n - 1}, not {index}.")
    return round((10 if n <= 24 else 100) * 10 ** (index / n))


@functools.cache
def series(n: int) -> tuple[int, ...]:
    """All mantissas of one decade.   [IEC 60063]

    Parameters
    ----------
    n : values a decade: 3, 6, 12, 24, 48, 96 or 192 [-]

    Returns
    -------
    mantissas : two digits each up to E24, three above, rising [-]

    Raises
    ------
    OutOfRange : there is no such series.

    >>> series(6)
    (10, 15, 22, 33, 47, 68)
    >>> 920 in series(192), 919 in series(192)
    (True, False)
    """
    _known(n)
    if n in _TABLES:
        return _TABLES[n]
    return tuple(_EXCEPTIONS.get(value, value) for value in (formula_value(n, index) for index in range(n)))


def preferred(r_ohm: float, n: int = 24, how: How = "nearest") -> float:
    """One member of a series for a wanted value.   [IEC 60063]

    Nearest is by ratio: 10 % too much counts like 10 % too little.

    Parameters
    ----------
    r_ohm : wanted resistance, 1 mΩ to 1 GΩ [ohm]
    n : values a decade [-]
    how : nearest, up or down [-]

    Returns
    -------
    r_ohm : member of the series [ohm]

    Raises
    ------
    OutOfRange : no such series, or the value is not positive, or beyond 1 mΩ to 1 GΩ.

    >>> preferred(436.3, 96), preferred(600.0, 24, "up"), preferred(600.0, 24, "down")
    (432.0, 620.0, 560.0)
    """
    _resistance(r_ohm)
    return _picked(r_ohm, _members(n), how, f"E{n}")


def from_stock(r_ohm: float, stock: Iterable[float], how: How = "nearest") -> float:
    """The resistor at hand that suits a wanted value best.

    Parameters
    ----------
    r_ohm : wanted resistance [ohm]
    stock : resistances at hand [ohm]
    how : nearest by ratio, up or down [-]

    Returns
    -------
    r_ohm : one of the stock [ohm]

    Raises
    ------
    OutOfRange : the stock is empty, holds nothing on that side, or a value is not positive.

    >>> from_stock(4100.0, [1e3, 4.7e3, 10e3])
    4700.0
    """
    held = sorted(stock)
    positive(r_ohm=r_ohm)
    if not held:
        raise OutOfRange("The stock is empty.")
    positive(stock_ohm=held)
    return _picked(r_ohm, tuple(held), how, "the stock")


def in_range(low_ohm: float, high_ohm: float, n: int = 24) -> list[float]:
    """All members of a series from one value to another, both included.   [IEC 60063]

    Parameters
    ----------
    low_ohm : lowest allowed [ohm]
    high_ohm : highest allowed [ohm]
    n : values a decade [-]

    Returns
    -------
    values : rising; empty where none fits or low is above high [ohm]

    Raises
    ------
    OutOfRange : no such series, or a value is not positive.

    >>> in_range(966.667, 1770.0)
    [1000.0, 1100.0, 1200.0, 1300.0, 1500.0, 1600.0]
    """
    positive(low_ohm=low_ohm, high_ohm=high_ohm)
    members = _members(n)
    return list(members[bisect.bisect_left(members, low_ohm * (1 - _SAME)) : bisect.bisect_right(members, high_ohm * (1 + _SAME))])


@dataclass(frozen=True, slots=True)
class Pair:
    """Two resistors of a divider: ``ratio`` is bottom / (top + bottom), ``error`` its share off the wanted one,
    ``ratios`` its bounds with the tolerance of both.
    """

    top_ohm: float
    bottom_ohm: float
    ratio: float
    error: float
    ratios: Range


def best_pair(
    ratio: float,
    n: int = 24,
    tolerance: float = 0.0,
    total_low_ohm: float = 1e3,
    total_high_ohm: float = 1e6,
    stock: Iterable[float] = (),
) -> Pair:
    """The two preferred resistors whose divider comes nearest to a ratio.   [IEC 60063]

    All pairs are tried at once; among equals the one nearest to the geometric middle of the allowed totals wins.

    Parameters
    ----------
    ratio : wanted bottom / (top + bottom), between 0 and 1 [-]
    n : values a decade [-]
    tolerance : of both resistors, as a share [-]
    total_low_ohm : lowest sum of both [ohm]
    total_high_ohm : highest sum of both [ohm]
    stock : choose among these instead of the series [ohm]

    Returns
    -------
    pair : the resistors and what they give

    Raises
    ------
    OutOfRange : the ratio is not between 0 and 1, or no pair has such a total.

    >>> pair = best_pair(0.66, tolerance=0.01, total_low_ohm=20e3, total_high_ohm=50e3)
    >>> pair.top_ohm, pair.bottom_ohm, round(pair.ratio, 4)
    (8200.0, 16000.0, 0.6612)
    """
    share(ratio=ratio, tolerance=tolerance)
    positive(total_low_ohm=total_low_ohm, total_high_ohm=total_high_ohm)
    if not 0 < ratio < 1:
        raise OutOfRange(f"A divider's ratio lies between 0 and 1, not at {ratio:g}.")
    values = np.array(sorted(stock) or _members(n), dtype=float)
    least = 0.1 * min(ratio, 1 - ratio) * total_low_ohm  # the smaller of both is about ten times this, never less than this
    values = values[(values < total_high_ohm) & (values >= least)]
    top, bottom = values[:, None], values[None, :]  # (top, bottom)
    total = top + bottom
    allowed = (total >= total_low_ohm * (1 - _SAME)) & (total <= total_high_ohm * (1 + _SAME))
    if not allowed.any():
        raise OutOfRange(f"No two of these resistors add up to {total_low_ohm:g} to {total_high_ohm:g} Ω.")
    off = np.where(allowed, np.abs(bottom / total / ratio - 1), np.inf)
    equals = np.argwhere(off <= off.min() + _SAME)
    middle = math.log(total_low_ohm * total_high_ohm) / 2
    far = np.abs(np.log(values[equals[:, 0]] + values[equals[:, 1]]) - middle)
    first, second = equals[int(far.argmin())]
    chosen_top, chosen_bottom = float(values[first]), float(values[second])
    found = chosen_bottom / (chosen_top + chosen_bottom)
    ratios = over(
        lambda top_ohm, bottom_ohm: bottom_ohm / (top_ohm + bottom_ohm),
        top_ohm=Range.around(chosen_top, tolerance),
        bottom_ohm=Range.around(chosen_bottom, tolerance),
    )
    return Pair(chosen_top, chosen_bottom, found, found / ratio - 1, ratios)


def nearest_e24(r_ohm: float) -> float:
    """Preferred value nearest by ratio.   [IEC 60063]

    Parameters
    ----------
    r_ohm : wanted resistance [ohm]

    Returns
    -------
    r_ohm : member of the E24 series [ohm]

    Raises
    ------
    OutOfRange : the value is not finite and positive.

    >>> nearest_e24(4800)
    4700.0
    """
    return preferred(r_ohm, 24)


@functools.cache
def _members(n: int) -> tuple[float, ...]:
    """Every value of a series from 1 mΩ up, written so that 4.7e3 is exactly 4700.0."""
    digits = 1 if n <= 24 else 2
    return tuple(float(f"{mantissa}e{decade - digits}") for decade in _DECADES for mantissa in series(n))


def _picked(r_ohm: float, members: tuple[float, ...], how: How, name: str) -> float:
    above = bisect.bisect_left(members, r_ohm * (1 - _SAME))
    below = bisect.bisect_right(members, r_ohm * (1 + _SAME)) - 1
    if how == "up":
        if above == len(members):
            raise OutOfRange(f"{name} has nothing from {r_ohm:g} Ω up.")
        return members[above]
    if how == "down":
        if below < 0:
            raise OutOfRange(f"{name} has nothing from {r_ohm:g} Ω down.")
        return members[below]
    if how != "nearest":
        raise OutOfRange(f"Choose nearest, up or down, not {how!r}.")
    near = {members[max(below, 0)], members[min(above, len(members) - 1)]}
    return min(sorted(near), key=lambda member: abs(math.log(member / r_ohm)))


def _known(n: int) -> None:
    if n not in SERIES:
        raise OutOfRange(f"There is no series E{n}; there are {', '.join(f'E{one}' for one in SERIES)}.")


def _resistance(r_ohm: float) -> None:
    if not (math.isfinite(r_ohm) and r_ohm > 0):
        raise OutOfRange(f"A resistance must be finite and positive, not {r_ohm}.")
    if not 1e-3 <= r_ohm <= 1e9:
        raise OutOfRange(f"Preferred values are looked up from 1 mΩ to 1 GΩ, not at {r_ohm:g} Ω.")
