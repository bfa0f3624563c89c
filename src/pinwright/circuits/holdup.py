"""Capacitors that carry a load through a burst or a gap, and how deep the voltage dips.

C = I t / ΔV with ΔV = I t / C + I ESR   [definition of capacitance, Ohm's law]
C = 2 P t / (V1² - V2²): the energy between two voltages   [definition; worked in a public page on power supplies]
L = V Δt / ΔI   [definition of inductance; worked in a public note on decoupling]
Burst behind a source resistance: the load steps by I at t = 0; the source with R_s and the capacitor with its ESR share it.
ΔV(t) = I R_s - I R_s² / (R_s + ESR) · exp(-t / ((R_s + ESR) C))   [derived]
At most 10 µF may hang on the supply wire of a USB device at the moment of attaching   [USB 2.0, section 7.2.4.1, from memory]
"""

from __future__ import annotations

import numpy as np

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.circuits.plain import plain
from pinwright.circuits.window import Limit, Window
from pinwright.errors import OutOfRange

__all__ = [
    "USB_ATTACH_MAX_F",
    "brown_out_margin",
    "burst_capacitor",
    "burst_capacitor_window",
    "burst_dip",
    "cap_for_current",
    "cap_for_power",
    "droop",
    "hold_up_time",
    "inductance_max",
    "nominal_for",
]

USB_ATTACH_MAX_F = 10e-6
"""Largest capacitor across the supply of a USB device when it is plugged in [F]."""


def cap_for_current(i_a: float, t_s: float, dv_v: float, esr_ohm: float = 0.0) -> float:
    """Capacitor that alone carries a current for a time: I t / (ΔV - I ESR).   [definition]

    Parameters
    ----------
    i_a : constant current [A]
    t_s : time [s]
    dv_v : dip allowed [V]
    esr_ohm : series resistance of the capacitor [ohm]

    Returns
    -------
    c_f : lower limit, what is left after tolerance, bias and age [F]

    Raises
    ------
    OutOfRange : a value is not positive, or the series resistance alone makes the whole dip.

    >>> f"{cap_for_current(0.24, 1e-3, 0.3) * 1e6:.0f} µF, {cap_for_current(0.24, 1e-3, 0.3, 0.25) * 1e6:.0f} µF"
    '800 µF, 1000 µF'
    """
    positive(i_a=i_a, t_s=t_s, dv_v=dv_v)
    not_negative(esr_ohm=esr_ohm)
    left_v = dv_v - i_a * esr_ohm
    if not np.all(np.asarray(left_v) > 0):
        raise OutOfRange(_esr_alone(i_a * esr_ohm, dv_v))
    return i_a * t_s / left_v


def droop(i_a: float, t_s: float, c_f: float, esr_ohm: float = 0.0) -> float:
    """How far the voltage falls while a capacitor alone carries a current: I t / C + I ESR.   [definition]

    Parameters
    ----------
    i_a : constant current [A]
    t_s : time [s]
    c_f : capacitor [F]
    esr_ohm : its series resistance [ohm]

    Returns
    -------
    dv_v : dip at the end of the time [V]

    Raises
    ------
    OutOfRange : the capacitor is not positive or a value negative.

    >>> f"{droop(0.35, 200e-6, 100e-6, 0.2):.2f} V"
    '0.77 V'
    """
    positive(c_f=c_f)
    not_negative(i_a=i_a, t_s=t_s, esr_ohm=esr_ohm)
    return i_a * t_s / c_f + i_a * esr_ohm


def hold_up_time(c_f: float, v_start_v: float, v_end_v: float, i_a: float, esr_ohm: float = 0.0) -> float:
    """How long a capacitor carries a current between two voltages: C (V1 - V2 - I ESR) / I.   [definition]

    Parameters
    ----------
    c_f : capacitor [F]
    v_start_v : voltage when the source goes away [V]
    v_end_v : lowest voltage the load works with [V]
    i_a : constant current [A]
    esr_ohm : its series resistance, tens of ohm in small double-layer capacitors [ohm]

    Returns
    -------
    t_s : time [s]

    Raises
    ------
    OutOfRange : a value is not positive, the voltage does not fall, or the series resistance alone makes the whole dip.

    >>> f"{hold_up_time(0.47, 5.0, 3.0, 0.01):.0f} s"
    '94 s'
    """
    positive(c_f=c_f, v_start_v=v_start_v, i_a=i_a)
    not_negative(v_end_v=v_end_v, esr_ohm=esr_ohm)
    _falls(v_start_v, v_end_v)
    left_v = v_start_v - v_end_v - i_a * esr_ohm
    if not np.all(np.asarray(left_v) > 0):
        raise OutOfRange(_esr_alone(i_a * esr_ohm, v_start_v - v_end_v))
    return c_f * left_v / i_a


def cap_for_power(p_w: float, t_s: float, v_start_v: float, v_end_v: float, efficiency: float = 1.0) -> float:
    """Capacitor that carries a constant power (a converter) for a time: 2 P t / (η (V1² - V2²)).   [definition]

    Parameters
    ----------
    p_w : power at the load [W]
    t_s : time [s]
    v_start_v : voltage when the source goes away, at its lowest [V]
    v_end_v : lowest input of the converter [V]
    efficiency : share of the power that arrives [-]

    Returns
    -------
    c_f : lower limit, what is left after tolerance, bias and age [F]

    Raises
    ------
    OutOfRange : a value is not positive, the voltage does not fall, or the efficiency lies above 1.

    >>> f"{cap_for_power(200, 20e-3, 400, 300) * 1e6:.0f} µF"
    '114 µF'
    """
    positive(p_w=p_w, t_s=t_s, v_start_v=v_start_v, efficiency=efficiency)
    not_negative(v_end_v=v_end_v)
    share(efficiency=efficiency)
    _falls(v_start_v, v_end_v)
    return 2 * p_w * t_s / (efficiency * (v_start_v**2 - v_end_v**2))


def inductance_max(v_v: float, t_s: float, i_step_a: float) -> float:
    """Largest inductance of the supply wires that still lets a current rise in time: V t / ΔI.   [definition]

    Parameters
    ----------
    v_v : dip allowed across the wires [V]
    t_s : time of the rise [s]
    i_step_a : step of the current [A]

    Returns
    -------
    l_h : upper limit; a wire has about 1 µH a metre [H]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{inductance_max(0.1, 2e-6, 10) * 1e9:.0f} nH"
    '20 nH'
    """
    positive(v_v=v_v, t_s=t_s, i_step_a=i_step_a)
    return v_v * t_s / i_step_a


def burst_dip(i_burst_a: float, t_burst_s: float, c_f: float, r_source_ohm: float, esr_ohm: float = 0.0) -> float:
    """Dip at the end of a burst that a source resistance and a capacitor carry together.   [derived]

    ΔV = I R_s - I R_s² / (R_s + ESR) · exp(-t / ((R_s + ESR) C))

    It rises with burst, time and source resistance and falls with the capacitor.  Over the series resistance it may turn
    once, at its lowest value: the worst dip over ranges still lies at a corner, the best may not.

    Parameters
    ----------
    i_burst_a : step of the load current [A]
    t_burst_s : length of the burst [s]
    c_f : capacitor at the load [F]
    r_source_ohm : source: cell, wires both ways, regulator [ohm]
    esr_ohm : series resistance of the capacitor [ohm]

    Returns
    -------
    dv_v : dip at the end of the burst, its deepest point [V]

    Raises
    ------
    OutOfRange : a value is not positive, or the series resistance negative.

    >>> f"{burst_dip(15e-3, 5e-3, 100e-6, 20, 0.5):.3f} V, {burst_dip(15e-3, 5e-3, 1e-9, 20):.3f} V"
    '0.274 V, 0.300 V'
    """
    positive(i_burst_a=i_burst_a, t_burst_s=t_burst_s, c_f=c_f, r_source_ohm=r_source_ohm)
    not_negative(esr_ohm=esr_ohm)
    loop_ohm = r_source_ohm + esr_ohm
    spared: float = plain(r_source_ohm**2 / loop_ohm * np.exp(-t_burst_s / (loop_ohm * c_f)))
    return i_burst_a * (r_source_ohm - spared)


def burst_capacitor(i_burst_a: float, t_burst_s: float, dv_max_v: float, r_source_ohm: float, esr_ohm: float = 0.0) -> float:
    """Smallest capacitor that keeps the dip of a burst; 0 where the source alone does.   [derived]

    Parameters
    ----------
    i_burst_a : step of the load current [A]
    t_burst_s : length of the burst [s]
    dv_max_v : dip allowed [V]
    r_source_ohm : source: cell, wires both ways, regulator [ohm]
    esr_ohm : series resistance of the capacitor [ohm]

    Returns
    -------
    c_f : lower limit, what is left after tolerance, bias and age [F]

    Raises
    ------
    OutOfRange : a value is not positive, or no capacitor with that series resistance keeps the dip.

    >>> f"{burst_capacitor(15e-3, 5e-3, 0.1, 20, 0.5) * 1e6:.0f} µF"
    '641 µF'
    """
    positive(i_burst_a=i_burst_a, t_burst_s=t_burst_s, dv_max_v=dv_max_v, r_source_ohm=r_source_ohm)
    not_negative(esr_ohm=esr_ohm)
    loop_ohm = r_source_ohm + esr_ohm
    missing_ohm = r_source_ohm - np.asarray(dv_max_v) / i_burst_a  # what the capacitor still has to spare at the end
    spared_first_ohm = r_source_ohm**2 / loop_ohm
    if np.any(missing_ohm >= spared_first_ohm):
        raise OutOfRange(_esr_alone(np.max(i_burst_a * (r_source_ohm - spared_first_ohm)), dv_max_v))
    needed = missing_ohm > 0
    ratio = np.where(needed, missing_ohm, spared_first_ohm / np.e) / spared_first_ohm  # below 1: the logarithm is never 0
    c_f: float = plain(np.where(needed, -t_burst_s / (loop_ohm * np.log(ratio)), 0.0))
    return c_f


def nominal_for(c_needed_f: float, tolerance: float = 0.2, lost: float = 0.0) -> float:
    """Nominal capacitor of which enough is left: C / ((1 - tolerance) (1 - lost)).   [definition]

    Parameters
    ----------
    c_needed_f : capacitance really needed [F]
    tolerance : tolerance of the part, 0.2 for most electrolytic ones [-]
    lost : share lost to direct voltage (ceramic: half and more), cold and age [-]

    Returns
    -------
    c_f : nominal value to buy at least [F]

    Raises
    ------
    OutOfRange : the value is negative, or nothing would be left.

    >>> f"{nominal_for(100e-6, 0.2, 0.5) * 1e6:.0f} µF"
    '250 µF'
    """
    not_negative(c_needed_f=c_needed_f)
    share(tolerance=tolerance, lost=lost)
    left = (1 - tolerance) * (1 - lost)
    if not np.all(np.asarray(left) > 0):
        raise OutOfRange("A capacitor that loses everything cannot hold anything: give a share below 1.")
    return c_needed_f / left


def burst_capacitor_window(
    i_burst_a: float,
    t_burst_s: float,
    dv_max_v: float,
    r_source_ohm: float,
    c_max_f: float,
    because_max: str,
    esr_ohm: float = 0.0,
) -> Window:
    """Window for the capacitor at a load with bursts: from the dip to what the source takes when it is switched on.   [derived]

    Parameters
    ----------
    i_burst_a : step of the load current [A]
    t_burst_s : length of the burst [s]
    dv_max_v : dip allowed [V]
    r_source_ohm : source: cell, wires both ways, regulator [ohm]
    c_max_f : largest capacitor the source takes, such as ``USB_ATTACH_MAX_F`` or the regulator's limit [F]
    because_max : what sets that limit [-]
    esr_ohm : series resistance of the capacitor [ohm]

    Returns
    -------
    c_f : lowest and highest effective capacitance [F]

    Raises
    ------
    OutOfRange : a value is not positive, or no capacitor with that series resistance keeps the dip.

    >>> burst_capacitor_window(0.35, 1e-3, 0.25, 1.0, 1e-3, "inrush of the regulator").words
    'from 798 µF (the dip in a burst) to 1 mF (inrush of the regulator)'
    """
    positive(c_max_f=c_max_f)
    lowest = burst_capacitor(i_burst_a, t_burst_s, dv_max_v, r_source_ohm, esr_ohm)
    return Window.of([Limit(lowest, "the dip in a burst")], [Limit(c_max_f, because_max)], "F")


def brown_out_margin(
    v_supply_v: float,
    v_brown_out_v: float,
    i_burst_a: float,
    t_burst_s: float,
    c_f: float,
    r_source_ohm: float,
    esr_ohm: float = 0.0,
) -> float:
    """How far the lowest voltage in a burst stays above the level at which the controller restarts.   [derived]

    Parameters
    ----------
    v_supply_v : lowest supply before the burst [V]
    v_brown_out_v : highest brown-out level [V]
    i_burst_a : step of the load current [A]
    t_burst_s : length of the burst [s]
    c_f : capacitor at the load [F]
    r_source_ohm : source: cell, wires both ways, regulator [ohm]
    esr_ohm : series resistance of the capacitor [ohm]

    Returns
    -------
    margin_v : negative means it restarts [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{brown_out_margin(3.0, 2.43, 0.35, 1e-3, 100e-6, 1.0):.2f} V"
    '0.22 V'
    """
    positive(v_supply_v=v_supply_v, v_brown_out_v=v_brown_out_v)
    return v_supply_v - burst_dip(i_burst_a, t_burst_s, c_f, r_source_ohm, esr_ohm) - v_brown_out_v


def _falls(v_start_v: float, v_end_v: float) -> None:
    if not np.all(np.asarray(v_start_v) > np.asarray(v_end_v)):
        raise OutOfRange(f"A capacitor that feeds a load falls: {np.max(v_end_v):g} V must lie below {np.min(v_start_v):g} V.")


def _esr_alone(drop_v: float, dv_v: float) -> str:
    return (
        f"The series resistance of the capacitor alone drops {np.max(drop_v):.2g} V and {np.min(dv_v):.2g} V are allowed: "
        "use a better capacitor or several in parallel."
    )
