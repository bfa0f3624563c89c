"""How hot a part gets, and how much it may dissipate.

T_J = T_A + P θ, P_max = (T_Jmax - T_A) / θ   [DS21380B: Microchip TC1269 data sheet (2002), section 4.2; DS22070A: Microchip
MCP1824 data sheet (2007), section 5.1.1]
θ (junction to ambient) holds for the board of the data sheet; on less copper it is larger, in a closed box the ambient is
the air inside.   [common practice, no source]
P = I²R   [definition].  Metal hotter than about 60 °C burns within seconds   [EN ISO 13732-1, from memory].
"""

from __future__ import annotations

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.errors import OutOfRange

__all__ = [
    "CAUTION_HOT",
    "caution_for",
    "current_max",
    "current_max_resistive",
    "junction_temperature",
    "power_max",
    "temperature_rise",
    "theta_max",
]

CAUTION_HOT = (
    "This part gets hot enough to burn a finger and to soften plastic: keep it away from wires and cells, and give it air. "
    "Measure its temperature in the finished box."
)

_TOUCH_HOT_C = 60.0


def temperature_rise(p_w: float, theta_k_per_w: float) -> float:
    """How much hotter than its surroundings a part gets: P θ.   [DS22070A]

    Parameters
    ----------
    p_w : dissipated power [W]
    theta_k_per_w : thermal resistance to the surroundings [K/W]

    Returns
    -------
    rise_k : difference of temperature [K]

    Raises
    ------
    OutOfRange : the power is negative or the resistance not positive.

    >>> f"{temperature_rise(0.24, 62):.2f} K"
    '14.88 K'
    """
    not_negative(p_w=p_w)
    positive(thermal_resistance=theta_k_per_w)
    return p_w * theta_k_per_w


def junction_temperature(p_w: float, theta_k_per_w: float, t_ambient_c: float) -> float:
    """Temperature of the chip inside a part: T_A + P θ.   [DS22070A]

    Parameters
    ----------
    p_w : dissipated power [W]
    theta_k_per_w : thermal resistance from junction to ambient [K/W]
    t_ambient_c : air around the part, inside the box [degC]

    Returns
    -------
    t_junction_c : temperature of the junction [degC]

    Raises
    ------
    OutOfRange : the power is negative, the resistance not positive, or a value not finite.

    >>> f"{junction_temperature(0.24, 62, 55):.1f} °C"
    '69.9 °C'
    """
    finite(t_ambient_c=t_ambient_c)
    return t_ambient_c + temperature_rise(p_w, theta_k_per_w)


def power_max(t_junction_max_c: float, t_ambient_c: float, theta_k_per_w: float) -> float:
    """Highest power a part may dissipate at an ambient temperature: (T_Jmax - T_A) / θ.   [DS21380B]

    Parameters
    ----------
    t_junction_max_c : highest junction temperature allowed [degC]
    t_ambient_c : air around the part [degC]
    theta_k_per_w : thermal resistance from junction to ambient [K/W]

    Returns
    -------
    p_w : upper limit [W]

    Raises
    ------
    OutOfRange : the ambient is as hot as the junction may get, or a value is not finite.

    >>> f"{power_max(125, 55, 200) * 1e3:.0f} mW"
    '350 mW'
    """
    return _headroom(t_junction_max_c, t_ambient_c) / _theta(theta_k_per_w)


def theta_max(p_w: float, t_junction_max_c: float, t_ambient_c: float) -> float:
    """Largest thermal resistance, package and heat sink together, that keeps a part cool enough: (T_Jmax - T_A) / P.   [DS21380B]

    Parameters
    ----------
    p_w : dissipated power [W]
    t_junction_max_c : highest junction temperature allowed [degC]
    t_ambient_c : air around the part [degC]

    Returns
    -------
    theta_k_per_w : upper limit [K/W]

    Raises
    ------
    OutOfRange : the ambient is as hot as the junction may get, or the power is not positive.

    >>> theta_max(0.5, 125, 50)
    150.0
    """
    positive(p_w=p_w)
    return _headroom(t_junction_max_c, t_ambient_c) / p_w


def current_max(t_junction_max_c: float, t_ambient_c: float, theta_k_per_w: float, v_drop_v: float) -> float:
    """Highest current through a part that drops a fixed voltage (regulator, diode): P_max / V.   [DS21380B]

    Parameters
    ----------
    t_junction_max_c : highest junction temperature allowed [degC]
    t_ambient_c : air around the part [degC]
    theta_k_per_w : thermal resistance from junction to ambient [K/W]
    v_drop_v : voltage across the part [V]

    Returns
    -------
    i_a : upper limit [A]

    Raises
    ------
    OutOfRange : the ambient is as hot as the junction may get, or a value is not positive.

    >>> f"{current_max(125, 40, 90, 5.25 - 3.3) * 1e3:.0f} mA"
    '484 mA'
    """
    positive(v_drop_v=v_drop_v)
    return power_max(t_junction_max_c, t_ambient_c, theta_k_per_w) / v_drop_v


def current_max_resistive(t_junction_max_c: float, t_ambient_c: float, theta_k_per_w: float, r_hot_ohm: float) -> float:
    """Highest current through a part that behaves like a resistor (closed MOSFET): √(P_max / R).   [definition]

    Parameters
    ----------
    t_junction_max_c : highest junction temperature allowed [degC]
    t_ambient_c : air around the part [degC]
    theta_k_per_w : thermal resistance from junction to ambient [K/W]
    r_hot_ohm : its resistance at the highest junction temperature, often 1.5 to 2 times the cold one [ohm]

    Returns
    -------
    i_a : upper limit [A]

    Raises
    ------
    OutOfRange : the ambient is as hot as the junction may get, or a value is not positive.

    >>> f"{current_max_resistive(125, 45, 62.5, 0.05):.2f} A"
    '5.06 A'
    """
    positive(r_hot_ohm=r_hot_ohm)
    i_a: float = plain(np.sqrt(power_max(t_junction_max_c, t_ambient_c, theta_k_per_w) / r_hot_ohm))
    return i_a


def caution_for(t_surface_c: float) -> str:
    """What to warn of at a temperature somebody may touch; empty where nothing.   [EN ISO 13732-1]

    Parameters
    ----------
    t_surface_c : temperature of the surface, or of the junction where nothing better is known [degC]

    Returns
    -------
    words : caution or empty text [-]

    Raises
    ------
    OutOfRange : the temperature is not finite.

    >>> caution_for(40), caution_for(90) == CAUTION_HOT
    ('', True)
    """
    finite(t_surface_c=t_surface_c)
    return CAUTION_HOT if t_surface_c > _TOUCH_HOT_C else ""


def _theta(theta_k_per_w: float) -> float:
    positive(thermal_resistance=theta_k_per_w)
    return theta_k_per_w


def _headroom(t_junction_max_c: float, t_ambient_c: float) -> float:
    finite(t_junction_max_c=t_junction_max_c, t_ambient_c=t_ambient_c)
    if not np.all(np.asarray(t_junction_max_c) > np.asarray(t_ambient_c)):
        raise OutOfRange(f"At an ambient of {np.max(t_ambient_c):g} °C nothing is left up to {np.min(t_junction_max_c):g} °C.")
    return t_junction_max_c - t_ambient_c
