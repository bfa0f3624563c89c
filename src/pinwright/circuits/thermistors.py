"""NTC thermistors: resistance and temperature by four kinds of formula.

Beta: R = R25 exp(B (1/T - 1/T25)), T in kelvin   [EPCOS: Siemens Matsushita/EPCOS, Standardized R/T Characteristics (05/02),
sections 1.1 and 1.2; for the interpolation by temperature coefficient too]
Polynomials in 1/T and ln(R/R25)   [Thermometrics: Amphenol, Sensor Temperature Resistance Curves Reference Guide, Rev. C (11/2014)]
Steinhart-Hart: 1/T = A + B ln R + C (ln R)^3   [Steinhart and Hart, Deep-Sea Research 15 (1968), from memory; checked against the
tables of the Campbell Scientific 109SS manual]
Cardano's formula turns it round.
Straight lines between rows and the kelvin are definitions.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.plain import computed, plain
from pinwright.errors import OutOfRange

__all__ = [
    "T_ZERO_K",
    "beta",
    "kelvin",
    "r_by_alpha",
    "r_by_beta",
    "r_by_steinhart_hart",
    "r_by_table",
    "ratio_by_polynomial",
    "steinhart_hart_constants",
    "t_by_beta",
    "t_by_polynomial",
    "t_by_steinhart_hart",
]

T_ZERO_K = 273.15
"""0 °C in kelvin, exactly."""

_T25_C = 25.0


def kelvin(t_c: float) -> float:
    """Temperature in kelvin.   [definition]

    Parameters
    ----------
    t_c : temperature [degC]

    Returns
    -------
    t_k : temperature [K]

    Raises
    ------
    OutOfRange : the temperature is not finite, or not above absolute zero.

    >>> kelvin(25)
    298.15
    """
    finite(t_c=t_c)
    t_k = t_c + T_ZERO_K
    if not np.all(np.asarray(t_k) > 0):
        raise OutOfRange(f"A temperature lies above {-T_ZERO_K:g} °C.")
    return t_k


def r_by_beta(t_c: float, r25_ohm: float, beta_k: float, t_ref_c: float = _T25_C) -> float:
    """Resistance at a temperature from one resistance and beta: R exp(B (1/T - 1/Tref)).   [EPCOS]

    Parameters
    ----------
    t_c : temperature [degC]
    r25_ohm : resistance at the reference temperature [ohm]
    beta_k : beta [K]
    t_ref_c : reference temperature, 25 on nearly all parts [degC]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or a temperature not above absolute zero.

    >>> f"{r_by_beta(0, 10e3, 3950):.0f} Ω"
    '33621 Ω'
    """
    positive(r25_ohm=r25_ohm, beta_k=beta_k)
    r_ohm: float = computed(lambda: r25_ohm * np.exp(beta_k * (1 / kelvin(t_c) - 1 / kelvin(t_ref_c))))
    return r_ohm


def t_by_beta(r_ohm: float, r25_ohm: float, beta_k: float, t_ref_c: float = _T25_C) -> float:
    """Temperature from a resistance, the inverse of ``r_by_beta``.   [EPCOS]

    Parameters
    ----------
    r_ohm : measured resistance [ohm]
    r25_ohm : resistance at the reference temperature [ohm]
    beta_k : beta [K]
    t_ref_c : reference temperature [degC]

    Returns
    -------
    t_c : temperature [degC]

    Raises
    ------
    OutOfRange : a value is not positive, or beta gives no temperature for so low a resistance.

    >>> f"{t_by_beta(20e3, 10e3, 3950):.2f} °C"
    '10.18 °C'
    """
    positive(r_ohm=r_ohm, r25_ohm=r25_ohm, beta_k=beta_k)
    return _celsius(1 / kelvin(t_ref_c) + np.log(r_ohm / r25_ohm) / beta_k)


def beta(r1_ohm: float, t1_c: float, r2_ohm: float, t2_c: float) -> float:
    """Beta between two points of a curve: ln(R1/R2) / (1/T1 - 1/T2).   [Thermometrics]

    Parameters
    ----------
    r1_ohm : resistance at the first point [ohm]
    t1_c : temperature of the first point [degC]
    r2_ohm : resistance at the second point [ohm]
    t2_c : temperature of the second point [degC]

    Returns
    -------
    beta_k : beta, negative for a resistance that rises [K]

    Raises
    ------
    OutOfRange : a resistance is not positive, or both points have one temperature.

    >>> f"{beta(9.35, 25, 1, 85):.0f} K"
    '3978 K'
    """
    positive(r1_ohm=r1_ohm, r2_ohm=r2_ohm)
    if np.any(np.asarray(t1_c) == np.asarray(t2_c)):
        raise OutOfRange("Beta needs two points of different temperature.")
    beta_k: float = computed(lambda: np.log(r1_ohm / r2_ohm) / (1 / kelvin(t1_c) - 1 / kelvin(t2_c)))
    return beta_k


def r_by_alpha(t_c: float, r_at_ohm: float, t_at_c: float, alpha_per_k: float) -> float:
    """Resistance near a row of a maker's table that gives a temperature coefficient.   [EPCOS, 1.1]

    R exp(a T0^2 (1/T - 1/T0)): the coefficient at one point fixes the local beta, a T0^2.

    Parameters
    ----------
    t_c : temperature wanted [degC]
    r_at_ohm : resistance of the table's row [ohm]
    t_at_c : temperature of the row [degC]
    alpha_per_k : coefficient of the row as a positive share, 0.044 for 4.4 %/K [1/K]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{r_by_alpha(7, 2.2739 * 4700, 5, 0.044):.0f} Ω"
    '9793 Ω'
    """
    positive(r_at_ohm=r_at_ohm, alpha_per_k=alpha_per_k)
    return r_by_beta(t_c, r_at_ohm, alpha_per_k * kelvin(t_at_c) ** 2, t_at_c)


def r_by_table(t_c: float, t_rows_c: Sequence[float], r_rows_ohm: Sequence[float]) -> float:
    """Resistance between the rows of a table, along a straight line.   [definition]

    Parameters
    ----------
    t_c : temperature wanted, within the table [degC]
    t_rows_c : temperatures of the rows, rising [degC]
    r_rows_ohm : resistances of the rows [ohm]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : the temperature lies outside the table, or the table is none.

    >>> f"{r_by_table(57, [55, 60], [2986, 2488]):.1f} Ω"
    '2786.8 Ω'
    """
    finite(t_c=t_c)
    if len(t_rows_c) != len(r_rows_ohm) or len(t_rows_c) < 2 or np.any(np.diff(t_rows_c) <= 0):
        raise OutOfRange("A table has at least two rows, with rising temperatures.")
    if np.any((np.asarray(t_c) < t_rows_c[0]) | (np.asarray(t_c) > t_rows_c[-1])):
        raise OutOfRange(f"The table runs from {t_rows_c[0]:g} °C to {t_rows_c[-1]:g} °C and says nothing beyond.")
    r_ohm: float = plain(np.interp(t_c, t_rows_c, r_rows_ohm))
    return r_ohm


def ratio_by_polynomial(t_c: float, a: float, b: float, c: float, d: float) -> float:
    """R/R25 from a maker's polynomial: exp(A + B/T + C/T^2 + D/T^3).   [Thermometrics]

    Parameters
    ----------
    t_c : temperature [degC]
    a : constant of the maker [-]
    b : constant of the maker [-]
    c : constant of the maker [-]
    d : constant of the maker [-]

    Returns
    -------
    ratio : resistance over that at 25 °C [-]

    Raises
    ------
    OutOfRange : a constant is not finite, or the temperature is not above absolute zero.

    >>> f"{ratio_by_polynomial(0, -14.195756, 4407.4785, -5165.873, -14017368):.3f}"
    '3.264'
    """
    finite(a=a, b=b, c=c, d=d)
    x = 1 / kelvin(t_c)
    ratio: float = computed(lambda: np.exp(a + b * x + c * x**2 + d * x**3))
    return ratio


def t_by_polynomial(ratio: float, a: float, b: float, c: float, d: float) -> float:
    """Temperature from R/R25: 1/T = a + b ln r + c (ln r)^2 + d (ln r)^3.   [Thermometrics]

    Parameters
    ----------
    ratio : resistance over that at 25 °C [-]
    a : constant of the maker [-]
    b : constant of the maker [-]
    c : constant of the maker [-]
    d : constant of the maker [-]

    Returns
    -------
    t_c : temperature [degC]

    Raises
    ------
    OutOfRange : the ratio is not positive, a constant not finite, or the constants give no temperature.

    >>> f"{t_by_polynomial(2.539, 3.3539438e-3, 2.5646095e-4, 2.5158166e-6, 1.0503069e-7):.2f} °C"
    '5.00 °C'
    """
    positive(ratio=ratio)
    finite(a=a, b=b, c=c, d=d)
    x = np.log(ratio)
    return _celsius(a + b * x + c * x**2 + d * x**3)


def t_by_steinhart_hart(r_ohm: float, a: float, b: float, c: float) -> float:
    """Temperature from a resistance: 1/T = A + B ln R + C (ln R)^3.   [Steinhart and Hart]

    Parameters
    ----------
    r_ohm : measured resistance [ohm]
    a : constant of the thermistor [-]
    b : constant of the thermistor [-]
    c : constant of the thermistor [-]

    Returns
    -------
    t_c : temperature [degC]

    Raises
    ------
    OutOfRange : the resistance is not positive, a constant not finite, or the constants give no temperature.

    >>> f"{t_by_steinhart_hart(97006.9, 1.129241e-3, 2.341077e-4, 8.775468e-8):.2f} °C"
    '-20.00 °C'
    """
    positive(r_ohm=r_ohm)
    finite(a=a, b=b, c=c)
    x = np.log(r_ohm)
    return _celsius(a + b * x + c * x**3)


def r_by_steinhart_hart(t_c: float, a: float, b: float, c: float) -> float:
    """Resistance at a temperature: the one real root of the cubic in ln R.   [Steinhart and Hart, Cardano's formula]

    Parameters
    ----------
    t_c : temperature [degC]
    a : constant of the thermistor [-]
    b : constant of the thermistor, positive [-]
    c : constant of the thermistor, positive [-]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : b or c is not positive, or the temperature is not above absolute zero.

    >>> f"{r_by_steinhart_hart(25, 1.129241e-3, 2.341077e-4, 8.775468e-8):.0f} Ω"
    '10000 Ω'
    """
    finite(a=a)
    positive(b=b, c=c)
    half = (a - 1 / kelvin(t_c)) / (2 * c)
    root = np.sqrt((b / (3 * c)) ** 3 + half**2)
    big = np.cbrt(root + np.abs(half))  # the difference of two near numbers would lose digits: x - p/x instead
    r_ohm: float = computed(lambda: np.exp(-np.sign(half) * (big - b / (3 * c) / big)))
    return r_ohm


def steinhart_hart_constants(r_points_ohm: Sequence[float], t_points_c: Sequence[float]) -> tuple[float, float, float]:
    """Constants of the curve through three points, by Newton's divided differences in ln R.   [Steinhart and Hart]

    Parameters
    ----------
    r_points_ohm : three different resistances [ohm]
    t_points_c : their temperatures [degC]

    Returns
    -------
    constants : A, B and C [-]

    Raises
    ------
    OutOfRange : not three points, two of one resistance, or a resistance is not positive.

    >>> a, b, c = steinhart_hart_constants([19549, 7908, 3542], [10, 30, 50])
    >>> f"{t_by_steinhart_hart(9814, a, b, c):.2f} °C"
    '25.00 °C'
    """
    if len(r_points_ohm) != 3 or len(t_points_c) != 3:
        raise OutOfRange("Steinhart-Hart needs exactly three points.")
    positive(r_points_ohm=r_points_ohm)
    if len({float(r) for r in r_points_ohm}) < 3:
        raise OutOfRange("Steinhart-Hart needs three different resistances.")
    x1, x2, x3 = (float(x) for x in np.log(r_points_ohm))
    y1, y2, y3 = (1 / kelvin(float(t)) for t in t_points_c)
    slope2, slope3 = (y2 - y1) / (x2 - x1), (y3 - y1) / (x3 - x1)
    c = (slope3 - slope2) / (x3 - x2) / (x1 + x2 + x3)
    b = slope2 - c * (x1**2 + x1 * x2 + x2**2)
    return y1 - (b + c * x1**2) * x1, b, c


def _celsius(per_kelvin: float) -> float:
    if not np.all(np.asarray(per_kelvin) > 0):
        raise OutOfRange("This resistance lies outside the curve: it gives no temperature.")
    t_c: float = plain(1 / per_kelvin - T_ZERO_K)
    return t_c
