"""Relay and solenoid coils: current and power at temperature, whether they pull in and let go.  Turn-off: module clamps.

Sources
-------
Copper: R(t) = R(t0) · (234.5 + t) / (234.5 + t0), TE 13C9135 coil voltage and temperature compensation (2013), and the operate
voltage rises alike (read).  Relay levels in per cent of the rated voltage: Omron G5LE data sheet.
Mains on the contacts is a hazard: creepage, fuses and the wiring belong to someone licensed, under local codes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = [
    "CoilCheck",
    "CoilLevels",
    "coil_check",
    "coil_current",
    "coil_levels",
    "coil_power",
    "copper_resistance",
]

_COPPER_ZERO_C = -234.5
"""Temperature at which the straight line of copper's resistance crosses zero [°C].   [13C9135]"""


def copper_resistance(r_ohm: float, t_c: float, t_ref_c: float = 20.0) -> float:
    """Resistance of a copper winding at a temperature.

    R = R_ref · (234.5 + t) / (234.5 + t_ref)   [TE 13C9135]

    Parameters
    ----------
    r_ohm : at the reference temperature [ohm]
    t_c : of the winding [°C]
    t_ref_c : the data sheet's, 20 to 25 [°C]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : resistance not positive, or a temperature below -200 °C.

    >>> round(copper_resistance(320.0, 125.0, 25.0), 1)
    443.3
    """
    positive(r_ohm=r_ohm)
    finite(t_c=t_c, t_ref_c=t_ref_c)
    if np.any(np.less(t_c, -200)) or np.any(np.less(t_ref_c, -200)):
        raise OutOfRange("The straight line of copper does not hold below -200 °C.")
    return r_ohm * (t_c - _COPPER_ZERO_C) / (t_ref_c - _COPPER_ZERO_C)


def coil_current(v_v: float, r_ohm: float) -> float:
    """Current of a coil: V / R.   [Ohm's law]

    Parameters
    ----------
    v_v : voltage across it [V]
    r_ohm : its resistance [ohm]

    Returns
    -------
    i_a : current [A]

    Raises
    ------
    OutOfRange : voltage negative or resistance not positive.

    >>> f"{coil_current(5.0, 63.0) * 1e3:.1f} mA"
    '79.4 mA'
    """
    not_negative(v_v=v_v)
    positive(r_ohm=r_ohm)
    return v_v / r_ohm


def coil_power(v_v: float, r_ohm: float) -> float:
    """Power of a coil: V² / R.   [Joule]

    Parameters
    ----------
    v_v : voltage across it [V]
    r_ohm : its resistance [ohm]

    Returns
    -------
    p_w : power [W]

    Raises
    ------
    OutOfRange : voltage negative or resistance not positive.

    >>> round(coil_power(24.0, 1440.0), 3)
    0.4
    """
    return v_v * coil_current(v_v, r_ohm)


@dataclass(frozen=True, slots=True)
class CoilLevels:
    """Voltages of a relay at its reference temperature: pulls in from here, has let go down to here, takes at most this."""

    must_operate_v: float
    must_release_v: float
    max_v: float


def coil_levels(v_rated_v: float, operate: float, release: float, highest: float) -> CoilLevels:
    """Levels given as shares of the rated voltage.   [Omron G5LE data sheet, coil ratings]

    Parameters
    ----------
    v_rated_v : rated voltage [V]
    operate : must-operate share, 0.75 for 75 % [-]
    release : must-release share [-]
    highest : highest continuous share [-]

    Returns
    -------
    levels : in volts

    Raises
    ------
    OutOfRange : a value is not positive, or release is not below operate.

    >>> coil_levels(12.0, 0.75, 0.10, 1.7)
    CoilLevels(must_operate_v=9.0, must_release_v=1.2000000000000002, max_v=20.4)
    """
    positive(v_rated_v=v_rated_v, operate=operate, release=release, highest=highest)
    if not release < operate <= highest:
        raise OutOfRange("A coil lets go below where it operates, and takes at least that.")
    return CoilLevels(v_rated_v * operate, v_rated_v * release, v_rated_v * highest)


@dataclass(frozen=True, slots=True)
class CoilCheck:
    """Whether a coil pulls in, lets go and survives, over supply and temperature; margins, current, power and every fault."""

    operate_margin_v: float
    release_margin_v: float
    v_coil: Range
    i: Range
    p_max_w: float
    faults: tuple[str, ...]

    @property
    def works(self) -> bool:
        """Nothing speaks against it."""
        return not self.faults


def coil_check(
    levels: CoilLevels,
    v_supply_v: Value,
    v_drop_v: Value,
    r_ohm: Value,
    t: Range,
    t_ref_c: float = 23.0,
    i_leak_off_a: float = 0.0,
) -> CoilCheck:
    """A coil behind a switch over supply, temperature and winding tolerance.   [TE 13C9135; Omron G5LE]

    The pull-in *current* is constant, so the voltage rises with the copper; a coil that was on just before is hotter than the air.

    Parameters
    ----------
    levels : from ``coil_levels``, at the reference temperature [-]
    v_supply_v : supply of coil and switch [V]
    v_drop_v : across the switch while on [V]
    r_ohm : of the winding at the reference temperature, with its tolerance [ohm]
    t : of the winding, coldest to hottest [°C]
    t_ref_c : the data sheet's reference [°C]
    i_leak_off_a : leakage of the switch while off, which must not hold the coil [A]

    Returns
    -------
    check : margins, bounds, faults

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> check = coil_check(coil_levels(5.0, 0.75, 0.10, 1.7), Range(4.75, 5.25, 5.0), Range(0.7, 1.1), 63.0, Range(0.0, 70.0))
    >>> check.faults
    ('it pulls in from 4.43 V at 70 °C and gets only 3.65 V, 784 mV short',)
    """
    supply, drop = (value if isinstance(value, Range) else Range(value, value) for value in (v_supply_v, v_drop_v))
    not_negative(v_drop_v=drop.low, i_leak_off_a=i_leak_off_a)
    v_coil = Range(max(supply.low - drop.high, 0.0), max(supply.high - drop.low, 0.0))
    resistance = over(lambda r_ohm, t_c: copper_resistance(r_ohm, t_c, t_ref_c), r_ohm=r_ohm, t_c=t)
    i = over(coil_current, v_v=v_coil, r_ohm=resistance)
    operate_v = copper_resistance(levels.must_operate_v, t.high, t_ref_c)  # the same line: V = I · R
    release_v = copper_resistance(levels.must_release_v, t.low, t_ref_c)
    left_v = i_leak_off_a * resistance.high
    faults = []
    if v_coil.low < operate_v:
        short = shown(operate_v - v_coil.low, "V")
        faults.append(f"it pulls in from {operate_v:.3g} V at {t.high:g} °C and gets only {v_coil.low:.3g} V, {short} short")
    if left_v > release_v:
        faults.append(f"leakage leaves {left_v:.3g} V on it, {shown(left_v - release_v, 'V')} above the {release_v:.3g} V where it lets go")
    if v_coil.high > levels.max_v:
        faults.append(f"{v_coil.high:.3g} V is {shown(v_coil.high - levels.max_v, 'V')} more than the coil takes")
    p_max_w = over(coil_power, v_v=v_coil, r_ohm=resistance).high
    return CoilCheck(v_coil.low - operate_v, release_v - left_v, v_coil, i, p_max_w, tuple(faults))
