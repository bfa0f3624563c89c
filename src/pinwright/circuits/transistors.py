"""Bipolar transistors as switches: base resistor, pull-down across base and emitter, both sides of the load.

Saturation is promised only at the forced gain of the data sheet's VCE(sat) line (usually 10 to 20), not at hFE.
Sources: 2N3904 data sheet (MCC, electrical characteristics, read) for the shape of the figures; TI SLRS027M (Feb 2013) for the
input of a Darlington array (module arrays); the rest is Ohm's law.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "VBE_OFF_V",
    "SwitchPlan",
    "base_current",
    "base_pull_max",
    "base_resistor",
    "high_side_plan",
    "input_current",
    "low_side_plan",
    "pnp_off_margin",
    "switch_power",
]

VBE_OFF_V = 0.3
"""Base-emitter voltage at which a hot silicon transistor is surely off (common practice, no source)."""


def base_current(i_c_a: float, gain: float) -> float:
    """Base current for a collector current: IC / forced gain.   [definition of forced gain]

    Parameters
    ----------
    i_c_a : collector current [A]
    gain : forced gain [-]

    Returns
    -------
    i_b_a : base current [A]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{base_current(0.133, 30) * 1e3:.2f} mA"
    '4.43 mA'
    """
    positive(i_c_a=i_c_a, gain=gain)
    return i_c_a / gain


def base_resistor(v_drive_v: float, v_be_v: float, i_b_a: float, r_be_ohm: float | None = None) -> float:
    """Base resistor for a base current, less what a resistor across base and emitter takes.

    R = (V_drive - VBE) / (IB + VBE / R_BE)   [Ohm's law]

    Parameters
    ----------
    v_drive_v : level that drives the resistor [V]
    v_be_v : base-emitter voltage while on [V]
    i_b_a : base current [A]
    r_be_ohm : resistor across base and emitter, if any [ohm]

    Returns
    -------
    r_ohm : exact value [ohm]

    Raises
    ------
    OutOfRange : the drive does not exceed VBE, or a value is not positive.

    >>> round(base_resistor(3.3, 0.7, 10e-3))
    260
    """
    positive(v_drive_v=v_drive_v, v_be_v=v_be_v, i_b_a=i_b_a)
    if not np.all(np.asarray(v_drive_v) > v_be_v):
        raise OutOfRange(f"A drive of {v_drive_v:g} V cannot push current into a base at {v_be_v:g} V.")
    if r_be_ohm is None:
        return (v_drive_v - v_be_v) / i_b_a
    positive(r_be_ohm=r_be_ohm)
    return (v_drive_v - v_be_v) / (i_b_a + v_be_v / r_be_ohm)


def input_current(v_in_v: float, v_be_v: float, r_ohm: float) -> float:
    """Current into a base behind a resistor; none below the base-emitter voltage.

    I = (V - VBE) / R, at least 0; a Darlington has two base-emitter drops   [SLRS027M, input circuit]

    Parameters
    ----------
    v_in_v : driving level [V]
    v_be_v : base-emitter voltage, both together in a Darlington [V]
    r_ohm : series resistor [ohm]

    Returns
    -------
    i_a : input current [A]

    Raises
    ------
    OutOfRange : resistor not positive, or a voltage negative.

    >>> f"{input_current(3.85, 1.35, 2700.0) * 1e3:.2f} mA"
    '0.93 mA'
    """
    not_negative(v_in_v=v_in_v, v_be_v=v_be_v)
    positive(r_ohm=r_ohm)
    flows: float = plain(np.maximum(np.subtract(v_in_v, v_be_v), 0.0) / r_ohm)
    return flows


def base_pull_max(i_leak_a: float, v_be_off_v: float = VBE_OFF_V) -> float:
    """Weakest resistor across base and emitter that keeps the transistor off.

    R = VBE(off) / (ICBO + leakage of the pin)   [Ohm's law]

    Parameters
    ----------
    i_leak_a : collector-base leakage when hot, and the pin's, together [A]
    v_be_off_v : base-emitter voltage that is surely off [V]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(base_pull_max(10e-6))
    30000
    """
    positive(i_leak_a=i_leak_a, v_be_off_v=v_be_off_v)
    return v_be_off_v / i_leak_a


def switch_power(i_c_a: float, v_ce_v: float, i_b_a: float = 0.0, v_be_v: float = 0.7) -> float:
    """Heat in a saturated transistor: IC · VCE(sat) + IB · VBE.   [Ohm's law]

    Parameters
    ----------
    i_c_a : collector current [A]
    v_ce_v : collector-emitter voltage while on [V]
    i_b_a : base current [A]
    v_be_v : base-emitter voltage while on [V]

    Returns
    -------
    p_w : power [W]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> round(switch_power(0.1, 0.3, 0.01), 3)
    0.037
    """
    not_negative(i_c_a=i_c_a, v_ce_v=v_ce_v, i_b_a=i_b_a, v_be_v=v_be_v)
    return i_c_a * v_ce_v + i_b_a * v_be_v


def pnp_off_margin(v_supply_v: float, voh_v: float, v_eb_off_v: float = VBE_OFF_V) -> float:
    """Room left before a PNP on the high side, driven straight from a pin, stays on with the pin high.

    margin = VEB(off) - (V_supply - VOH); negative means it never turns off and needs an NPN in front   [Kirchhoff]

    Parameters
    ----------
    v_supply_v : highest supply at the emitter [V]
    voh_v : lowest high of the pin [V]
    v_eb_off_v : emitter-base voltage that is surely off [V]

    Returns
    -------
    margin_v : positive is safe [V]

    Raises
    ------
    OutOfRange : a value is not finite.

    >>> round(pnp_off_margin(5.0, 3.3), 2)
    -1.4
    """
    finite(v_supply_v=v_supply_v, voh_v=voh_v, v_eb_off_v=v_eb_off_v)
    return v_eb_off_v - (v_supply_v - voh_v)


@dataclass(frozen=True, slots=True)
class SwitchPlan:
    """A transistor switch: base resistor and pull-down with their windows, base current the pin gives at most, heat, drop."""

    base: Window
    base_choice: Choice | None
    pull: Window
    pull_choice: Choice | None
    i_drive_max_a: float | None
    p_w: float
    v_drop_v: float

    @property
    def words(self) -> str:
        """What to fit, or which limits clash."""
        if self.base_choice is None:
            return f"base resistor: {self.base.words}" if self.base.is_empty else f"no base resistor on the market {self.base.words}"
        pull = self.pull.words if self.pull_choice is None else shown(self.pull_choice.value)
        return (
            f"base resistor {shown(self.base_choice.value)} ({self.base_choice.origin}), allowed {self.base.words}; "
            f"pull-down {pull}; {shown(self.v_drop_v, 'V')} drop, {shown(self.p_w, 'W')}"
        )


def low_side_plan(
    v_drive_v: Value,
    i_c_a: Value,
    *,
    v_be_v: Range,
    gain: float,
    v_ce_v: float,
    i_pin_max_a: float,
    i_leak_a: float,
    v_be_off_v: float = VBE_OFF_V,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
) -> SwitchPlan:
    """NPN between load and ground: base resistor between saturation and the pin's limit, and the pull-down.   [Ohm's law]

    The pull-down takes at most a tenth of the base current; both are chosen, and the base window counts the pull-down in.

    Parameters
    ----------
    v_drive_v : the pin's high level at that current [V]
    i_c_a : load current [A]
    v_be_v : base-emitter voltage while saturated, over temperature [V]
    gain : forced gain at which the data sheet gives VCE(sat) [-]
    v_ce_v : highest VCE(sat) at that gain [V]
    i_pin_max_a : highest current of the pin [A]
    i_leak_a : collector-base leakage when hot, and the pin's, together [A]
    v_be_off_v : base-emitter voltage that is surely off [V]
    tolerance : of the resistors, as a share [-]
    stock : resistances at hand [ohm]

    Returns
    -------
    plan : windows, choices, heat, drop; an empty base window where the pin cannot saturate the transistor

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> plan = low_side_plan(Range(2.64, 3.6, 3.3), 0.1, v_be_v=Range(0.65, 0.95), gain=10, v_ce_v=0.3, i_pin_max_a=12e-3, i_leak_a=5e-6)
    >>> plan.base_choice is None, plan.base.is_empty
    (True, True)
    """
    drive = v_drive_v if isinstance(v_drive_v, Range) else Range(v_drive_v, v_drive_v)
    load = i_c_a if isinstance(i_c_a, Range) else Range(i_c_a, i_c_a)
    return _switch(drive, load, v_be_v, gain, v_ce_v, i_pin_max_a, i_leak_a, v_be_off_v, tolerance, stock, "the pin")


def high_side_plan(
    v_supply_v: Value,
    i_c_a: Value,
    *,
    v_eb_v: Range,
    gain: float,
    v_ec_v: float,
    v_ce_driver_v: float,
    i_driver_max_a: float,
    i_leak_a: float,
    v_eb_off_v: float = VBE_OFF_V,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
) -> SwitchPlan:
    """PNP between supply and load, its base pulled down by an NPN or an open-drain output that stands the supply.   [Ohm's law]

    Parameters
    ----------
    v_supply_v : supply at the emitter [V]
    i_c_a : load current [A]
    v_eb_v : emitter-base voltage while saturated [V]
    gain : forced gain at which the data sheet gives VEC(sat) [-]
    v_ec_v : highest VEC(sat) at that gain [V]
    v_ce_driver_v : voltage across the driver while on [V]
    i_driver_max_a : highest current of the driver [A]
    i_leak_a : base leakage when hot, and the driver's, together [A]
    v_eb_off_v : emitter-base voltage that is surely off [V]
    tolerance : of the resistors, as a share [-]
    stock : resistances at hand [ohm]

    Returns
    -------
    plan : windows, choices, heat, drop

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> plan = high_side_plan(
    ...     12.0, 0.2, v_eb_v=Range(0.7, 1.2), gain=20, v_ec_v=0.5, v_ce_driver_v=0.3, i_driver_max_a=50e-3, i_leak_a=5e-6)
    >>> plan.base_choice.value
    680.0
    """
    supply = v_supply_v if isinstance(v_supply_v, Range) else Range(v_supply_v, v_supply_v)
    load = i_c_a if isinstance(i_c_a, Range) else Range(i_c_a, i_c_a)
    not_negative(v_ce_driver_v=v_ce_driver_v)
    drive = Range(supply.low - v_ce_driver_v, supply.high)
    return _switch(drive, load, v_eb_v, gain, v_ec_v, i_driver_max_a, i_leak_a, v_eb_off_v, tolerance, stock, "the driver")


def _switch(
    drive: Range,
    load: Range,
    v_be: Range,
    gain: float,
    v_ce_v: float,
    i_drive_max_a: float,
    i_leak_a: float,
    v_be_off_v: float,
    tolerance: float,
    stock: Iterable[float],
    who: str,
) -> SwitchPlan:
    positive(i_c_a=load.low, gain=gain, i_pin_max_a=i_drive_max_a, v_be_v=v_be.low)
    at_hand = tuple(stock)
    i_b_a = base_current(load.high, gain)
    pull = Window(
        Limit(v_be.high / (0.1 * i_b_a), "it may take a tenth of the base current"),
        Limit(base_pull_max(i_leak_a, v_be_off_v), f"{shown(i_leak_a, 'A')} leakage must stay under {v_be_off_v:.3g} V"),
    ).narrowed(tolerance)
    pull_choice = choose(pull, at_hand)
    stolen = v_be.high / (pull_choice.value * (1 - tolerance)) if pull_choice else 0.0
    need = f"{shown(load.high, 'A')} at a forced gain of {gain:g} needs {shown(i_b_a + stolen, 'A')}"
    room = drive.low - v_be.high
    high = Limit(room / (i_b_a + stolen), need)
    if room <= 0:
        high = Limit(0.0, f"{who} gives {drive.low:.3g} V and the base takes {v_be.high:.3g} V, {shown(-room, 'V')} short")
    low = Limit(max(drive.high - v_be.low, 0.0) / i_drive_max_a, f"{who} gives at most {shown(i_drive_max_a, 'A')}")
    base = Window(low, high).narrowed(tolerance)
    base_choice = choose(base, at_hand, aim="weak")
    i_drive = (drive.high - v_be.low) / (base_choice.value * (1 - tolerance)) if base_choice else None
    p_w = switch_power(load.high, v_ce_v, i_drive if i_drive is not None else i_b_a, v_be.high)
    return SwitchPlan(base, base_choice, pull, pull_choice, i_drive, p_w, v_ce_v)
