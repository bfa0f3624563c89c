"""The gate of a MOSFET: how fast a pin charges it, through which resistor, and what keeps it off when nobody drives.

Sources: International Rectifier AN-944, use of gate charge (from memory): t = Qg / Ig, P = Qg · VGS · f.
Exponentials and dividers need no source.
"""

from __future__ import annotations

import math

import numpy as np

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import Limit, Window, shown
from pinwright.errors import OutOfRange

__all__ = [
    "coupled_gate_v",
    "gate_capacitance",
    "gate_charge_time",
    "gate_drive_power",
    "gate_pull_window",
    "gate_resistor_window",
    "rc_charge_time",
]


def gate_charge_time(q_g_coulomb: float, i_g_a: float) -> float:
    """Time to move a gate's charge: Qg / Ig.   [AN-944]

    Parameters
    ----------
    q_g_coulomb : total gate charge at the drive voltage [C]
    i_g_a : constant gate current [A]

    Returns
    -------
    t_s : switching time [s]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{gate_charge_time(20e-9, 1e-3) * 1e6:.0f} µs"
    '20 µs'
    """
    positive(q_g_coulomb=q_g_coulomb, i_g_a=i_g_a)
    return q_g_coulomb / i_g_a


def gate_capacitance(q_g_coulomb: float, v_gs_v: float) -> float:
    """Capacitor that takes the same charge: Qg / VGS.  The charge must be the one at that VGS.   [AN-944]

    Parameters
    ----------
    q_g_coulomb : total gate charge [C]
    v_gs_v : gate voltage it is given at [V]

    Returns
    -------
    c_f : equivalent capacitance [F]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{gate_capacitance(30e-9, 5.0) * 1e9:.0f} nF"
    '6 nF'
    """
    positive(q_g_coulomb=q_g_coulomb, v_gs_v=v_gs_v)
    return q_g_coulomb / v_gs_v


def gate_drive_power(q_g_coulomb: float, v_gs_v: float, f_hz: float) -> float:
    """Power the gate takes from its driver: Qg · VGS · f.   [AN-944]

    Parameters
    ----------
    q_g_coulomb : total gate charge [C]
    v_gs_v : drive voltage [V]
    f_hz : switching frequency [Hz]

    Returns
    -------
    p_w : power [W]

    Raises
    ------
    OutOfRange : charge or voltage not positive, or frequency negative.

    >>> round(gate_drive_power(20e-9, 10.0, 100e3), 3)
    0.02
    """
    positive(q_g_coulomb=q_g_coulomb, v_gs_v=v_gs_v)
    not_negative(f_hz=f_hz)
    return q_g_coulomb * v_gs_v * f_hz


def rc_charge_time(r_ohm: float, c_f: float, v_v: float, v_t_v: float) -> float:
    """Time from empty to a threshold behind a resistor: R · C · ln(V / (V - Vt)).   [exponential charging]

    Parameters
    ----------
    r_ohm : series resistor [ohm]
    c_f : capacitance [F]
    v_v : driving voltage [V]
    v_t_v : threshold, below it [V]

    Returns
    -------
    t_s : time [s]

    Raises
    ------
    OutOfRange : the threshold is never reached, or a value is not positive.

    >>> f"{rc_charge_time(330.0, 1e-9, 3.3, 2.475) * 1e9:.1f} ns"
    '457.5 ns'
    """
    positive(r_ohm=r_ohm, c_f=c_f, v_v=v_v)
    not_negative(v_t_v=v_t_v)
    if not np.all(np.asarray(v_t_v) < v_v):
        raise OutOfRange(f"{v_v:g} V never reaches a threshold of {v_t_v:g} V.")
    t_s: float = plain(-r_ohm * c_f * np.log1p(-np.divide(v_t_v, v_v)))
    return t_s


def coupled_gate_v(dv_v: float, t_s: float, r_gate_ohm: float, c_gd_f: float, c_gs_f: float) -> float:
    """Voltage an edge on the drain couples onto a gate held by a resistor.

    V = R Cgd (dV/dt) · (1 - exp(-t / (R (Cgs + Cgd)))); with a weak R it tends to dV · Cgd / (Cgs + Cgd)   [linear ramp into RC]

    Parameters
    ----------
    dv_v : height of the edge [V]
    t_s : its duration [s]
    r_gate_ohm : all that holds the gate [ohm]
    c_gd_f : gate to drain (Crss) [F]
    c_gs_f : gate to source (Ciss - Crss) [F]

    Returns
    -------
    v_gate_v : highest gate voltage [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(coupled_gate_v(12.0, 1e-6, 10e3, 50e-12, 500e-12), 2)
    1.0
    """
    positive(dv_v=dv_v, t_s=t_s, r_gate_ohm=r_gate_ohm, c_gd_f=c_gd_f, c_gs_f=c_gs_f)
    v_v: float = plain(r_gate_ohm * c_gd_f * dv_v / t_s * -np.expm1(-t_s / (r_gate_ohm * (c_gs_f + c_gd_f))))
    return v_v


def gate_resistor_window(v_drive: Range, i_pin_max_a: float, q_g_coulomb: float, v_plateau_v: float, t_switch_max_s: float) -> Window:
    """Window of the resistor between pin and gate.

    low: V / I_pin, so that the first rush stays in the pin's rating; high: t · (V - V_plateau) / Qg, the whole charge at
    the current left at the plateau (on the safe side)   [AN-944]

    Parameters
    ----------
    v_drive : levels of the pin while high [V]
    i_pin_max_a : highest current of the pin [A]
    q_g_coulomb : total gate charge [C]
    v_plateau_v : plateau of the gate charge curve [V]
    t_switch_max_s : longest switching time [s]

    Returns
    -------
    window : empty where the pin is too weak for that speed

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> window = gate_resistor_window(Range(3.0, 3.6, 3.3), 20e-3, 10e-9, 2.0, 1e-6)
    >>> window.low.because, window.high.because, window.is_empty
    ('the pin gives at most 20 mA', '10 nC in 1 µs', True)
    """
    positive(
        v_drive_v=v_drive.low, i_pin_max_a=i_pin_max_a, q_g_coulomb=q_g_coulomb, v_plateau_v=v_plateau_v, t_switch_max_s=t_switch_max_s
    )
    low = Limit(v_drive.high / i_pin_max_a, f"the pin gives at most {shown(i_pin_max_a, 'A')}")
    room = v_drive.low - v_plateau_v
    if room <= 0:
        return Window(low, Limit(0.0, f"the drive of {v_drive.low:.3g} V does not pass the plateau at {v_plateau_v:.3g} V"))
    return Window(low, Limit(t_switch_max_s * room / q_g_coulomb, f"{shown(q_g_coulomb, 'C')} in {shown(t_switch_max_s, 's')}"))


def gate_pull_window(
    v_gs_th_min_v: float,
    i_leak_a: float,
    *,
    r_gate_ohm: float = 0.0,
    v_loss_share: float = 0.02,
    v_drive_max_v: float = 5.0,
    i_idle_max_a: float = 1e-3,
    dv_v: float | None = None,
    t_edge_s: float | None = None,
    c_gd_f: float | None = None,
    c_gs_f: float | None = None,
    safety: float = 0.5,
) -> Window:
    """Window of the resistor that keeps an undriven gate off.

    high: half the lowest threshold over the leakage of pin and gate, and, where an edge on the drain is given, the strongest that
    keeps what it couples below that half; low: what it costs in drive behind the gate resistor, and in idle current   [Ohm's law]

    Parameters
    ----------
    v_gs_th_min_v : lowest threshold when hot [V]
    i_leak_a : leakage of pin and gate together [A]
    r_gate_ohm : resistor between pin and gate, if the pull sits at the gate [ohm]
    v_loss_share : share of the drive that may be lost [-]
    v_drive_max_v : highest drive [V]
    i_idle_max_a : highest current through the pull while on [A]
    dv_v : height of an edge on the drain while off [V]
    t_edge_s : its duration [s]
    c_gd_f : gate to drain [F]
    c_gs_f : gate to source [F]
    safety : share of the threshold the gate may reach [-]

    Returns
    -------
    window : may be empty

    Raises
    ------
    OutOfRange : a value is not positive, or only part of the edge is given.

    >>> gate_pull_window(0.8, 2e-6, r_gate_ohm=220.0).words
    'from 10.8 kΩ (it may take 2 % of the drive) to 100 kΩ (weaker than 100 kΩ picks up noise)'
    """
    positive(v_gs_th_min_v=v_gs_th_min_v, i_leak_a=i_leak_a, v_drive_max_v=v_drive_max_v, i_idle_max_a=i_idle_max_a, safety=safety)
    not_negative(r_gate_ohm=r_gate_ohm)
    positive(v_loss_share=v_loss_share)
    allowed = v_gs_th_min_v * safety
    lows = [
        Limit(r_gate_ohm * (1 - v_loss_share) / v_loss_share, f"it may take {v_loss_share * 100:g} % of the drive"),
        Limit(v_drive_max_v / i_idle_max_a, f"at most {shown(i_idle_max_a, 'A')} while on"),
    ]
    highs = [
        Limit(allowed / i_leak_a, f"{shown(i_leak_a, 'A')} leakage must stay under {shown(allowed, 'V')}"),
        Limit(100e3, f"weaker than {shown(100e3)} picks up noise"),
    ]
    edge = (dv_v, t_edge_s, c_gd_f, c_gs_f)
    if any(value is not None for value in edge):
        if dv_v is None or t_edge_s is None or c_gd_f is None or c_gs_f is None:
            raise OutOfRange("An edge needs its height, its duration and both capacitances.")
        strongest = _pull_for_edge(allowed, dv_v, t_edge_s, c_gd_f, c_gs_f)
        if strongest is not None:
            highs.append(Limit(strongest, f"an edge of {dv_v:.3g} V in {shown(t_edge_s, 's')} couples in through {shown(c_gd_f, 'F')}"))
    return Window.of(lows, highs)


def _pull_for_edge(allowed_v: float, dv_v: float, t_s: float, c_gd_f: float, c_gs_f: float) -> float | None:
    """Weakest resistor that keeps the coupled voltage allowed, by halving; None where even an open gate stays below."""
    if dv_v * c_gd_f / (c_gd_f + c_gs_f) <= allowed_v:
        return None
    low, high = 1e-3, 1e9
    for _ in range(100):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if coupled_gate_v(dv_v, t_s, middle, c_gd_f, c_gs_f) <= allowed_v else (low, middle)
    return low
