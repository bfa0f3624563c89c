"""MOSFETs as switches: on at the drive there is, off when they should be, cool enough.  Gates: module gates.

On-resistance is promised only at the gate voltages the data sheet lists: at a lower drive it is *not specified*, and the
threshold voltage (where a few hundred microamperes flow) says nothing about it.  Nothing is interpolated.

Sources: the thermal sum is that of JESD51 (from memory), the heat of edges International Rectifier AN-944 (from memory);
the rest is Ohm's and Joule's law on a data sheet's own lines.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Choice, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "HOT_FACTOR",
    "FetPlan",
    "FetSpec",
    "OnResistance",
    "conduction_power",
    "high_side_plan",
    "junction_c",
    "low_side_plan",
    "on_resistance",
    "switching_power",
]

HOT_FACTOR = 1.8
"""On-resistance of a hot channel over that at 25 °C, where the data sheet's curve is not at hand (from memory: 1.6 to 2.2 at 150 °C)."""


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
    positive(r_on_ohm=r_on_ohm, hot_factor=hot_factor)
    if not np.all(np.asarray(hot_factor) >= 1):
        raise OutOfRange(f"A hot channel resists more, not less: the factor is at least 1, not {hot_factor:g}.")
    return i_a**2 * r_on_ohm * hot_factor


def switching_power(v_v: float, i_a: float, t_edge_s: float, f_hz: float) -> float:
    """Heat of the edges of a switched resistive or clamped load: V · I · t · f, two edges of half that each.   [IR AN-944, from memory]

    Parameters
    ----------
    v_v : voltage the switch blocks [V]
    i_a : current it carries [A]
    t_edge_s : time of one edge [s]
    f_hz : switching frequency [Hz]

    Returns
    -------
    p_w : heat, at most [W]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> round(switching_power(12.0, 2.0, 1e-6, 25e3), 3)
    0.6
    """
    not_negative(v_v=v_v, i_a=i_a, t_edge_s=t_edge_s, f_hz=f_hz)
    return v_v * i_a * t_edge_s * f_hz


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
    pull : window of the gate pull-down, from ``gates.gate_pull_window`` [-]
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
