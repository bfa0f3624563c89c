"""Platinum resistance thermometers: resistance, temperature, tolerance classes.

R = R0 (1 + A t + B t^2) from 0 to 850 °C, with C (t - 100) t^3 added from -200 to 0 °C   [IEC 60751:2008/2022; constants from
memory, checked against public copies of its table]
Tolerances of class A and B in °C and ohm   [table of IEC 60751:1995 in a public copy]; of AA and C, and where each holds
[IEC 60751:2008, in public summaries; the ranges of film elements from memory]
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.errors import OutOfRange, UnknownName

__all__ = ["CLASSES", "ToleranceClass", "lead_error", "resistance", "slope", "temperature", "tolerance"]

_A, _B, _C = 3.9083e-3, -5.775e-7, -4.183e-12
_T_LOW_C, _T_HIGH_C = -200.0, 850.0
_NEWTON_STEPS = 6
_ROUNDED = 5e-5  # half the last digit of the standard's table, as a share of R0: its first and last row must be readable


@dataclass(frozen=True, slots=True)
class ToleranceClass:
    """Limit at 0 °C, its growth with the temperature, and where the class holds for wire and for film elements [C]."""

    at_zero_k: float
    per_c: float
    wire_c: tuple[float, float]
    film_c: tuple[float, float]


CLASSES = {
    "AA": ToleranceClass(0.10, 0.0017, (-50, 250), (0, 150)),
    "A": ToleranceClass(0.15, 0.0020, (-100, 450), (-30, 300)),
    "B": ToleranceClass(0.30, 0.0050, (-196, 600), (-50, 500)),
    "C": ToleranceClass(0.60, 0.0100, (-196, 600), (-50, 600)),
}
"""Tolerance classes by name.   [IEC 60751:2008]"""


def resistance(t_c: float, r0_ohm: float = 100.0) -> float:
    """Resistance at a temperature.   [IEC 60751]

    Parameters
    ----------
    t_c : temperature, -200 to 850 [degC]
    r0_ohm : resistance at 0 °C: 100 for a Pt100, 1000 for a Pt1000 [ohm]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : the temperature is outside the standard, or R0 is not positive.

    >>> f"{resistance(100):.2f} Ω, {resistance(-100):.2f} Ω"
    '138.51 Ω, 60.26 Ω'
    """
    _within(t_c)
    positive(r0_ohm=r0_ohm)
    r_ohm: float = plain(r0_ohm * _ratio(t_c))
    return r_ohm


def slope(t_c: float, r0_ohm: float = 100.0) -> float:
    """Change of resistance a degree.   [IEC 60751, derivative]

    Parameters
    ----------
    t_c : temperature, -200 to 850 [degC]
    r0_ohm : resistance at 0 °C [ohm]

    Returns
    -------
    slope : ohm per degree [-]

    Raises
    ------
    OutOfRange : the temperature is outside the standard, or R0 is not positive.

    >>> f"{slope(0):.4f} Ω/K"
    '0.3908 Ω/K'
    """
    _within(t_c)
    positive(r0_ohm=r0_ohm)
    per_degree: float = plain(r0_ohm * _ratio_slope(t_c))
    return per_degree


def temperature(r_ohm: float, r0_ohm: float = 100.0) -> float:
    """Temperature from a resistance: the quadratic above 0 °C, Newton's method below.   [IEC 60751]

    Parameters
    ----------
    r_ohm : measured resistance, the leads taken off [ohm]
    r0_ohm : resistance at 0 °C [ohm]

    Returns
    -------
    t_c : temperature [degC]

    Raises
    ------
    OutOfRange : the resistance belongs to a temperature outside the standard, or R0 is not positive.

    >>> f"{temperature(138.51):.2f} °C, {temperature(60.26):.2f} °C"
    '100.01 °C, -99.99 °C'
    """
    positive(r_ohm=r_ohm, r0_ohm=r0_ohm)
    ratio = np.asarray(r_ohm / r0_ohm, dtype=float)
    low, high = float(_ratio(_T_LOW_C)), float(_ratio(_T_HIGH_C))
    if np.any((ratio < low - _ROUNDED) | (ratio > high + _ROUNDED)):
        raise OutOfRange(f"An element of {r0_ohm:g} Ω has {r0_ohm * low:.4g} Ω to {r0_ohm * high:.4g} Ω between -200 °C and 850 °C.")
    t = (-_A + np.sqrt(_A**2 - 4 * _B * (1 - ratio))) / (2 * _B)  # exact from 0 °C on, and a good start below
    cold = ratio < 1
    if np.any(cold):
        for _ in range(_NEWTON_STEPS):
            t = np.where(cold, t - (_ratio(t) - ratio) / _ratio_slope(t), t)
    t_c: float = plain(t)
    return t_c


def tolerance(t_c: float, name: str, kind: Literal["wire", "film", "any"] = "any") -> float:
    """Largest error a class allows, either sign: limit at 0 °C + growth |t|.   [IEC 60751]

    Parameters
    ----------
    t_c : temperature [degC]
    name : class AA, A, B or C [-]
    kind : refuse what lies outside the range of wire or of film elements; ``any`` does not ask [-]

    Returns
    -------
    dt_k : error [K]

    Raises
    ------
    OutOfRange : the temperature is outside the standard, or where the class holds.
    UnknownName : no such class.

    >>> f"{tolerance(100, 'B'):.2f} K, {tolerance(200, 'A'):.2f} K"
    '0.80 K, 0.55 K'
    """
    if name not in CLASSES:
        raise UnknownName("tolerance class", name, CLASSES)
    _within(t_c)
    row = CLASSES[name]
    if kind != "any":
        low, high = row.wire_c if kind == "wire" else row.film_c
        if np.any((np.asarray(t_c) < low) | (np.asarray(t_c) > high)):
            raise OutOfRange(f"Class {name} of a {kind} element holds from {low:g} °C to {high:g} °C.")
    dt_k: float = plain(row.at_zero_k + row.per_c * np.abs(t_c))
    return dt_k


def lead_error(r_leads_ohm: float, t_c: float, r0_ohm: float = 100.0) -> float:
    """How much too warm two leads make a two-wire element read: R / (dR/dt).   [IEC 60751, derivative]

    Parameters
    ----------
    r_leads_ohm : both leads together [ohm]
    t_c : temperature of the element [degC]
    r0_ohm : resistance at 0 °C [ohm]

    Returns
    -------
    dt_k : error [K]

    Raises
    ------
    OutOfRange : a resistance is negative, or the temperature is outside the standard.

    >>> f"{lead_error(1.0, 25):.1f} K, {lead_error(1.0, 25, 1000):.2f} K"
    '2.6 K, 0.26 K'
    """
    not_negative(r_leads_ohm=r_leads_ohm)
    return r_leads_ohm / slope(t_c, r0_ohm)


def _ratio(t: float | np.ndarray) -> np.ndarray:
    x = np.asarray(t, dtype=float)
    return 1 + _A * x + _B * x**2 + np.where(x < 0, _C * (x - 100) * x**3, 0.0)


def _ratio_slope(t: float | np.ndarray) -> np.ndarray:
    x = np.asarray(t, dtype=float)
    return _A + 2 * _B * x + np.where(x < 0, _C * (4 * x - 300) * x**2, 0.0)


def _within(t_c: float) -> None:
    finite(t_c=t_c)
    if np.any((np.asarray(t_c) < _T_LOW_C) | (np.asarray(t_c) > _T_HIGH_C)):
        raise OutOfRange(f"The standard holds from {_T_LOW_C:g} °C to {_T_HIGH_C:g} °C.")
