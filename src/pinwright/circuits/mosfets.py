"""MOSFETs as switches: on at the drive there is, fast enough for the load, off when nobody drives, cool enough.

On-resistance is promised only at the gate voltages the data sheet lists: at a lower drive it is *not specified*, and the
threshold voltage (where a few hundred microamperes flow) says nothing about it.  Nothing is interpolated.

Sources: International Rectifier AN-944, use of gate charge (from memory): t = Qg / Ig, P = Qg · VGS · f;
thermal sum as in JESD51 (from memory).  Exponentials and dividers need no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "HOT_FACTOR",
    "FetPlan",
    "FetSpec",
    "OnResistance",
    "conduction_power",
    "coupled_gate_v",
    "gate_capacitance",
    "gate_charge_time",
    "gate_drive_power",
    "gate_pull_window",
    "gate_resistor_window",
    "high_side_plan",
    "junction_c",
    "low_side_plan",
    "on_resistance",
    "rc_charge_time",
]

HOT_FACTOR = 1.8
"""On-resistance of a hot channel over that at 25 °C, where the data sheet's curve is not at hand (from memory: 1.6 to 2.2 at 150 °C)."""


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


@dataclass(frozen=True, slots=True)
class OnResistance:
    """On-resistance at a drive: ``r_ohm`` as given at ``at_v`` of gate voltage, or None where nothing is specified; in words."""

    r_ohm: float | None
    at_v: float | None
    words: str


def on_resistance(points: Sequence[tuple[float, float]], v_drive_v: float) -> OnResistance:
    """Highest on-resistance promised at a gate voltage: the figure given at that or a lower one.   [data sheet lines]

    Parameters
    ----------
    points : pairs of gate voltage (magnitude) and highest on-resistance given there [V, ohm]
    v_drive_v : lowest gate-source voltage while on (magnitude) [V]

    Returns
    -------
    on : resistance with its condition, or why there is none

    Raises
    ------
    OutOfRange : no figure at all, or a value is not positive.

    >>> on_resistance([(10.0, 0.0175)], 3.3).words
    'not specified at 3.3 V: the lowest drive with a figure is 10 V, 6.7 V more'
    >>> on_resistance([(2.5, 0.05), (4.5, 0.03)], 3.3).r_ohm
    0.05
    """
    if not points:
        raise OutOfRange("No on-resistance is given at any gate voltage.")
    positive(gate_v=[v for v, _ in points], r_on_ohm=[r for _, r in points])
    reached = [(v, r) for v, r in sorted(points) if v <= v_drive_v * (1 + 1e-9)]
    if not reached:
        least = min(v for v, _ in points)
        lacks = shown(least - v_drive_v, "V")
        return OnResistance(
            None, None, f"not specified at {v_drive_v:.3g} V: the lowest drive with a figure is {least:.3g} V, {lacks} more"
        )
    at_v, r_ohm = reached[-1]
    return OnResistance(r_ohm, at_v, f"at most {shown(r_ohm)} as given at {at_v:.3g} V")


def conduction_power(i_a: float, r_on_ohm: float, hot_factor: float = HOT_FACTOR) -> float:
    """Heat of a channel that is on: I² · R · hot factor.   [Joule]

    Parameters
    ----------
    i_a : current while on [A]
    r_on_ohm : on-resistance at 25 °C [ohm]
    hot_factor : how much a hot channel has more [-]

    Returns
    -------
    p_w : power [W]

    Raises
    ------
    OutOfRange : current negative, resistance not positive, or the factor below 1.

    >>> round(conduction_power(2.0, 0.05), 2)
    0.36
    """
    not_negative(i_a=i_a)
    positive(r_on_ohm=r_on_ohm)
    if not np.all(np.asarray(hot_factor) >= 1):
        raise OutOfRange(f"A hot channel resists more, not less: the factor is at least 1, not {hot_factor:g}.")
    return i_a**2 * r_on_ohm * hot_factor


def junction_c(t_ambient_c: float, p_w: float, r_th_k_per_w: float) -> float:
    """Junction temperature: ambient + P · R_th.   [JESD51]

    Parameters
    ----------
    t_ambient_c : surroundings, inside the box [°C]
    p_w : power [W]
    r_th_k_per_w : junction to ambient, as mounted [K/W]

    Returns
    -------
    t_c : junction [°C]

    Raises
    ------
    OutOfRange : power negative, or thermal resistance not positive.

    >>> junction_c(40.0, 0.5, 62.0)
    71.0
    """
    not_negative(p_w=p_w)
    positive(thermal_resistance=r_th_k_per_w)
    return t_ambient_c + p_w * r_th_k_per_w


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

    >>> gate_resistor_window(Range(3.0, 3.6, 3.3), 20e-3, 10e-9, 2.0, 1e-6).words
    'no value works: it must be at least 180 Ω (the pin gives at most 20 mA) and at most 100 Ω (10 nC in 1 µs); short by 80 Ω, a factor of 1.8'
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


@dataclass(frozen=True, slots=True)
class FetSpec:
    """A MOSFET's data sheet, magnitudes for P channel too: on-resistance points (gate voltage, highest ohms), threshold bounds,
    highest VGS and VDS, thermal resistance as mounted, highest junction temperature.
    """

    r_on: tuple[tuple[float, float], ...]
    v_gs_th: Range
    v_gs_max_v: float
    v_ds_max_v: float
    r_th_k_per_w: float
    t_junction_max_c: float = 150.0


@dataclass(frozen=True, slots=True)
class FetPlan:
    """A MOSFET switch: on-resistance at this drive, drop, heat, junction temperature, every fault, what to fit around it."""

    on: OnResistance
    v_drop_v: float | None
    p_w: float | None
    t_junction_c: float | None
    faults: tuple[str, ...]
    pull: Window | None = None
    pull_choice: Choice | None = None

    @property
    def works(self) -> bool:
        """Nothing speaks against it."""
        return not self.faults

    @property
    def words(self) -> str:
        """Every fault, or what it does."""
        if self.faults or self.v_drop_v is None or self.p_w is None or self.t_junction_c is None:
            return "; ".join(self.faults)
        return f"{self.on.words}: drops {shown(self.v_drop_v, 'V')}, {shown(self.p_w, 'W')}, junction {self.t_junction_c:.0f} °C"


def low_side_plan(
    spec: FetSpec,
    v_drive_v: Value,
    v_load_v: Value,
    i_load_a: float,
    *,
    t_ambient_c: float = 40.0,
    hot_factor: float = HOT_FACTOR,
    pull: Window | None = None,
    stock: Iterable[float] = (),
) -> FetPlan:
    """N-channel between load and ground, driven from a pin.   [data sheet lines; JESD51]

    Parameters
    ----------
    spec : data sheet of the MOSFET [-]
    v_drive_v : level at the gate while on [V]
    v_load_v : supply of the load [V]
    i_load_a : highest steady load current [A]
    t_ambient_c : surroundings, inside the box [°C]
    hot_factor : how much a hot channel has more [-]
    pull : window of the gate pull-down, from ``gate_pull_window`` [-]
    stock : resistances at hand for it [ohm]

    Returns
    -------
    plan : with every fault

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> spec = FetSpec(((10.0, 0.0175),), Range(2.0, 4.0), 20.0, 55.0, 62.0, 175.0)
    >>> low_side_plan(spec, 3.3, 12.0, 2.0).words
    'on-resistance not specified at 3.3 V: the lowest drive with a figure is 10 V, 6.7 V more'
    """
    drive = v_drive_v if isinstance(v_drive_v, Range) else Range(v_drive_v, v_drive_v)
    load = v_load_v if isinstance(v_load_v, Range) else Range(v_load_v, v_load_v)
    return _fet(spec, drive, load, i_load_a, t_ambient_c, hot_factor, pull, stock, [])


def high_side_plan(
    spec: FetSpec,
    v_supply_v: Value,
    i_load_a: float,
    *,
    v_driver_on_v: float = 0.3,
    voh_v: float | None = None,
    t_ambient_c: float = 40.0,
    hot_factor: float = HOT_FACTOR,
    pull: Window | None = None,
    stock: Iterable[float] = (),
) -> FetPlan:
    """P-channel between supply and load: gate pulled down by an NPN or N-channel driver, or straight from a pin.   [Kirchhoff]

    Parameters
    ----------
    spec : data sheet of the MOSFET, magnitudes [-]
    v_supply_v : supply at the source [V]
    i_load_a : highest steady load current [A]
    v_driver_on_v : level the driver or pin holds the gate at while on [V]
    voh_v : lowest high of the pin that drives the gate directly; None with a driver and a pull-up to the supply [V]
    t_ambient_c : surroundings, inside the box [°C]
    hot_factor : how much a hot channel has more [-]
    pull : window of the gate pull-up to the supply [-]
    stock : resistances at hand for it [ohm]

    Returns
    -------
    plan : with every fault

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> spec = FetSpec(((4.5, 0.06), (10.0, 0.04)), Range(1.0, 2.5), 12.0, 30.0, 100.0)
    >>> high_side_plan(spec, 12.0, 1.0, voh_v=3.3).faults[0]
    'with the pin high, VGS is still 8.7 V, 7.7 V above the 1 V where it may start to conduct: it never turns off'
    """
    supply = v_supply_v if isinstance(v_supply_v, Range) else Range(v_supply_v, v_supply_v)
    not_negative(v_driver_on_v=v_driver_on_v)
    faults = []
    if voh_v is not None:
        left = supply.high - voh_v
        if left >= spec.v_gs_th.low:
            faults.append(
                f"with the pin high, VGS is still {left:.3g} V, {shown(left - spec.v_gs_th.low, 'V')} above the "
                f"{spec.v_gs_th.low:.3g} V where it may start to conduct: it never turns off"
            )
    drive = Range(max(supply.low - v_driver_on_v, 0.0), supply.high)
    return _fet(spec, drive, supply, i_load_a, t_ambient_c, hot_factor, pull, stock, faults)


def _fet(
    spec: FetSpec,
    drive: Range,
    load: Range,
    i_load_a: float,
    t_ambient_c: float,
    hot_factor: float,
    pull: Window | None,
    stock: Iterable[float],
    faults: list[str],
) -> FetPlan:
    positive(v_load_v=load.high, i_load_a=i_load_a, v_gs_max_v=spec.v_gs_max_v)
    if drive.high > spec.v_gs_max_v:
        faults.append(f"a gate drive of {drive.high:.3g} V exceeds the {spec.v_gs_max_v:.3g} V VGS rating: divide or clamp it")
    if load.high > spec.v_ds_max_v:
        faults.append(f"{load.high:.3g} V exceeds the {spec.v_ds_max_v:.3g} V VDS rating")
    on = on_resistance(spec.r_on, drive.low)
    if on.r_ohm is None:
        faults.append(f"on-resistance {on.words}")
        return FetPlan(on, None, None, None, tuple(faults), pull, choose(pull, stock) if pull else None)
    p_w = conduction_power(i_load_a, on.r_ohm, hot_factor)
    hot = junction_c(t_ambient_c, p_w, spec.r_th_k_per_w)
    if hot > spec.t_junction_max_c:
        faults.append(
            f"the junction would reach {hot:.0f} °C, {hot - spec.t_junction_max_c:.0f} K above its limit: heat sink or lower resistance"
        )
    if pull is not None and pull.is_empty:
        faults.append(f"gate pull: {pull.words}")
    return FetPlan(on, i_load_a * on.r_ohm * hot_factor, p_w, hot, tuple(faults), pull, choose(pull, stock) if pull else None)
