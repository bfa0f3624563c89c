"""Thermistors in their circuits: sensitivity, self-heating, the resistor that straightens the curve, the one that resolves best.

Sensitivity -B / T^2 is the slope of the beta formula   [EPCOS: Standardized R/T Characteristics (05/02), section 1.1]
Dissipation factor   [Vishay: NTCLE100E3 data sheet, document 29049, quick reference data]
Straightening: the second derivative of the divider is zero at the wanted temperature   [derived]
"""

from __future__ import annotations

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.preferred import in_range
from pinwright.circuits.thermistors import kelvin, r_by_beta
from pinwright.errors import OutOfRange

__all__ = ["divider_resistor", "linearising_resistor", "self_heating", "sensitivity"]


def sensitivity(t_c: float, beta_k: float) -> float:
    """Change of resistance a kelvin as a share of the resistance: -B / T^2.   [EPCOS]

    Parameters
    ----------
    t_c : temperature [degC]
    beta_k : beta [K]

    Returns
    -------
    alpha_per_k : share per kelvin, negative [1/K]

    Raises
    ------
    OutOfRange : beta is not positive, or the temperature not above absolute zero.

    >>> f"{sensitivity(25, 3950) * 100:.2f} %/K"
    '-4.44 %/K'
    """
    positive(beta_k=beta_k)
    return -beta_k / kelvin(t_c) ** 2


def linearising_resistor(t_mid_c: float, r_mid_ohm: float, beta_k: float) -> float:
    """Resistor that makes the curve straightest around a temperature: R (B - 2T) / (B + 2T).   [derived]

    In parallel it straightens the resistance, as the other half of a divider the voltage.

    Parameters
    ----------
    t_mid_c : temperature in the middle of the range [degC]
    r_mid_ohm : resistance of the thermistor there [ohm]
    beta_k : beta [K]

    Returns
    -------
    r_ohm : resistor in parallel or in series [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or beta is at most twice the temperature.

    >>> f"{linearising_resistor(25, 10e3, 3950):.0f} Ω"
    '7377 Ω'
    """
    positive(r_mid_ohm=r_mid_ohm, beta_k=beta_k)
    twice = 2 * kelvin(t_mid_c)
    if np.any(np.asarray(beta_k) <= twice):
        raise OutOfRange("The curve has no inflection there: beta must be above twice the temperature in kelvin.")
    return r_mid_ohm * (beta_k - twice) / (beta_k + twice)


def self_heating(v_supply_v: float, r_fixed_ohm: float, r_ntc_ohm: float, dissipation_w_per_k: float) -> float:
    """How much the current of a divider warms its thermistor: P / dissipation factor.   [Vishay]

    Parameters
    ----------
    v_supply_v : voltage across the divider [V]
    r_fixed_ohm : resistor in series [ohm]
    r_ntc_ohm : thermistor at the temperature looked at [ohm]
    dissipation_w_per_k : dissipation factor; 7 mW/K for a 3.3 mm bead in still air, 1 to 2 for a small glass bead [W/K]

    Returns
    -------
    rise_k : reads so much too warm [K]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{self_heating(3.3, 10e3, 10e3, 2e-3) * 1e3:.0f} mK"
    '136 mK'
    """
    not_negative(v_supply_v=v_supply_v, r_fixed_ohm=r_fixed_ohm)
    positive(r_ntc_ohm=r_ntc_ohm, dissipation_w_per_k=dissipation_w_per_k)
    return (v_supply_v / (r_fixed_ohm + r_ntc_ohm)) ** 2 * r_ntc_ohm / dissipation_w_per_k


def divider_resistor(r25_ohm: float, beta_k: float, t_low_c: float, t_high_c: float, n: int = 12) -> float:
    """Member of a series with which a divider resolves its worst temperature best.   [derived]

    The voltage changes by V R alpha r / (R + r)^2 a kelvin; over the range that is smallest at one of its ends, and the
    resistor is chosen to make this smallest value as large as it gets.

    Parameters
    ----------
    r25_ohm : thermistor at 25 °C [ohm]
    beta_k : beta [K]
    t_low_c : lower end of the range [degC]
    t_high_c : upper end of the range [degC]
    n : values a decade of the series [-]

    Returns
    -------
    r_ohm : resistor of the divider [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or the range is none.

    >>> divider_resistor(10e3, 3950, 0, 50)
    8200.0
    """
    finite(t_low_c=t_low_c, t_high_c=t_high_c)
    if not t_low_c < t_high_c:
        raise OutOfRange(f"A range runs from low to high, not from {t_low_c:g} °C to {t_high_c:g} °C.")
    t_c = np.linspace(t_low_c, t_high_c, 101)
    r_ntc = np.asarray(r_by_beta(t_c, r25_ohm, beta_k))  # type: ignore[arg-type]
    alpha = np.asarray(sensitivity(t_c, beta_k))  # type: ignore[arg-type]
    members = np.array(in_range(float(r_ntc.min()) / 10, float(r_ntc.max()) * 10, n))
    if not members.size:
        raise OutOfRange(f"No preferred value lies near {float(r_ntc.mean()):.3g} Ω.")
    weakest = (members[:, None] * np.abs(alpha) * r_ntc / (members[:, None] + r_ntc) ** 2).min(axis=1)  # (member,)
    return float(members[weakest.argmax()])
