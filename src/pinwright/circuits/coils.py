"""Relay and solenoid coils: current and power at temperature, whether they pull in and let go, and what their turn-off does.

Sources
-------
Copper: R(t) = R(t0) · (234.5 + t) / (234.5 + t0), TE 13C9135 coil voltage and temperature compensation (2013), and the operate
voltage rises alike (read).
TE 13C3311: an unsuppressed 12 V relay may make 1000 to 1500 V, a plain diode slows the contacts, a Zener in series with it
much less (read).  Relay levels in per cent of the rated voltage: Omron G5LE data sheet.
Mains on the contacts is a hazard: creepage, fuses and the wiring belong to someone licensed, under local codes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = [
    "Clamp",
    "CoilCheck",
    "CoilLevels",
    "DiodeNeeds",
    "clamp",
    "coil_check",
    "coil_current",
    "coil_levels",
    "coil_power",
    "copper_resistance",
    "decay_time",
    "diode_needs",
    "stored_energy",
    "switch_voltage",
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
    ('it pulls in from 4.44 V at 70 °C and gets only 3.65 V, 787 mV short',)
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


def stored_energy(l_h: float, i_a: float) -> float:
    """Energy in a coil: L · I² / 2; the clamp takes it at every turn-off.   [definition of inductance]

    Parameters
    ----------
    l_h : inductance with the armature closed [H]
    i_a : current [A]

    Returns
    -------
    e_j : energy [J]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> f"{stored_energy(0.1, 0.08) * 1e6:.0f} µJ"
    '320 µJ'
    """
    not_negative(l_h=l_h, i_a=i_a)
    return l_h * i_a**2 / 2


def switch_voltage(v_supply_v: float, v_clamp_v: float) -> float:
    """Voltage the switch sees at turn-off: supply plus what the clamp across the coil drops.   [TE 13C3311]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    v_clamp_v : diode, or Zener and diode together [V]

    Returns
    -------
    v_v : across the switch [V]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> switch_voltage(12.0, 0.7)
    12.7
    """
    not_negative(v_supply_v=v_supply_v, v_clamp_v=v_clamp_v)
    return v_supply_v + v_clamp_v


def decay_time(l_h: float, r_ohm: float, i_start_a: float, i_end_a: float, v_clamp_v: float) -> float:
    """Time the current of a clamped coil takes to fall.

    t = L / R · ln((I0 + Vc / R) / (I1 + Vc / R))   [L di/dt = -R i - Vc]

    Parameters
    ----------
    l_h : inductance [H]
    r_ohm : winding [ohm]
    i_start_a : current at turn-off [A]
    i_end_a : current at which the armature lets go [A]
    v_clamp_v : across the clamp: 0.7 V for a diode, more for a Zener in series [V]

    Returns
    -------
    t_s : time; the moving armature is not counted [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the current would have to rise.

    >>> f"{decay_time(0.1, 63.0, 0.08, 0.01, 0.7) * 1e3:.1f} ms, {decay_time(0.1, 63.0, 0.08, 0.01, 15.7) * 1e3:.2f} ms"
    '2.3 ms, 0.38 ms'
    """
    positive(l_h=l_h, r_ohm=r_ohm, i_start_a=i_start_a)
    not_negative(i_end_a=i_end_a, v_clamp_v=v_clamp_v)
    if not np.all(np.less_equal(i_end_a, i_start_a)):
        raise OutOfRange("A clamped coil's current falls; it cannot end above where it starts.")
    if not np.all(np.add(i_end_a, v_clamp_v) > 0):
        raise OutOfRange("Without a clamp voltage the current never reaches zero.")
    rest = v_clamp_v / np.asarray(r_ohm, dtype=float)
    t_s: float = plain(l_h / r_ohm * np.log((i_start_a + rest) / (i_end_a + rest)))
    return t_s


@dataclass(frozen=True, slots=True)
class Clamp:
    """What a coil's turn-off does: voltage at the switch, current and energy in the clamp, mean power, time to let go, faults."""

    v_switch_v: float
    i_peak_a: float
    e_j: float | None
    p_w: float | None
    t_release_s: float | None
    faults: tuple[str, ...]


def clamp(
    v_supply_v: float,
    i_coil_a: float,
    v_clamp_v: float,
    *,
    l_h: float | None = None,
    r_ohm: float | None = None,
    i_release_a: float | None = None,
    f_switch_hz: float = 0.0,
    v_switch_max_v: float | None = None,
    t_release_max_s: float | None = None,
) -> Clamp:
    """A diode, or a diode and Zener (or TVS), across a coil.   [TE 13C3311; L di/dt = -R i - Vc]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    i_coil_a : highest coil current [A]
    v_clamp_v : drop of the clamp: a diode 0.7 to 1 V, a Zener adds its voltage [V]
    l_h : inductance, if known [H]
    r_ohm : winding [ohm]
    i_release_a : current at which it surely lets go [A]
    f_switch_hz : how often it is switched [Hz]
    v_switch_max_v : what the switch stands [V]
    t_release_max_s : longest time allowed to let go [s]

    Returns
    -------
    clamp : figures; None where inductance or winding are not known

    Raises
    ------
    OutOfRange : a value is negative.

    >>> clamp(24.0, 0.1, 36.7, v_switch_max_v=50.0).faults
    ('the switch sees 60.7 V, 10.7 V more than it stands',)
    """
    not_negative(i_coil_a=i_coil_a, f_switch_hz=f_switch_hz)
    v_switch_v = switch_voltage(v_supply_v, v_clamp_v)
    energy = stored_energy(l_h, i_coil_a) if l_h is not None else None
    release = None
    if l_h is not None and r_ohm is not None and i_release_a is not None:
        release = decay_time(l_h, r_ohm, i_coil_a, i_release_a, v_clamp_v)
    faults = []
    if v_switch_max_v is not None and v_switch_v > v_switch_max_v:
        faults.append(f"the switch sees {v_switch_v:.3g} V, {shown(v_switch_v - v_switch_max_v, 'V')} more than it stands")
    if t_release_max_s is not None and release is not None and release > t_release_max_s:
        faults.append(
            f"the current takes {shown(release, 's')} to fall, {release / t_release_max_s:.2g} times what is allowed: raise the clamp"
        )
    return Clamp(v_switch_v, i_coil_a, energy, energy * f_switch_hz if energy is not None else None, release, tuple(faults))


@dataclass(frozen=True, slots=True)
class DiodeNeeds:
    """What a flyback diode must be rated for, and what a plain diode costs."""

    v_reverse_min_v: float
    i_forward_min_a: float
    words: str


def diode_needs(v_supply_v: float, i_coil_a: float, derating: float = 2.0) -> DiodeNeeds:
    """Ratings of the diode across a coil: reverse voltage and peak current.   [TE 13C3311; twice the supply is common practice]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    i_coil_a : highest coil current, which it carries at once [A]
    derating : reverse rating over the supply [-]

    Returns
    -------
    needs : ratings and words

    Raises
    ------
    OutOfRange : a value is not positive, or the derating below 1.

    >>> diode_needs(24.0, 0.2).v_reverse_min_v
    48.0
    """
    positive(v_supply_v=v_supply_v, i_coil_a=i_coil_a)
    if derating < 1:
        raise OutOfRange("A diode must stand at least the supply.")
    words = (
        f"at least {v_supply_v * derating:.3g} V reverse and {shown(i_coil_a, 'A')} forward; a plain diode lets the current die slowly, "
        "which wears contacts that switch much: add a Zener or TVS in series where the switch stands its voltage"
    )
    return DiodeNeeds(v_supply_v * derating, i_coil_a, words)
