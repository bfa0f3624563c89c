"""What a USB port gives: unit loads, hubs, and the current a Type-C source advertises on its CC wire.

A unit load is 100 mA; one before configuration, up to five after it; a bus-powered hub has at most four ports of one unit
load   [USB2: USB 2.0 specification, section 7.2.1, read as quoted in public documents]
Suspended: 0.5 mA for each unit load granted   [USB2, section 7.2.3, from memory; a later change notice, also from
memory, allows every device 2.5 mA, the smaller figure is kept]
bMaxPower counts in 2 mA   [USB2, Table 9-10, from memory]
A downstream port gives 4.75 V at least, behind a bus-powered hub 4.40 V   [USB2, section 7.2.2, from memory]
Pull-ups of a source (R_p), pull-down of a sink (R_d = 5.1 kΩ)   [USB-C: USB Type-C specification, tables of CC terminations,
read as reproduced in ST UM2191 Rev 2, Tables 2 and 3]
Thresholds 0.20, 0.66 and 1.23 V, highest valid level 2.04 V (2.18 V for sinks that take the default only), and the ranges
0.25 to 0.61, 0.70 to 1.16, 1.31 to 2.04 V   [USB-C, Tables 4-35 and 4-36, read as quoted in public documents]
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.ranges import Range, Value, over
from pinwright.errors import OutOfRange

__all__ = [
    "CC_BANDS_V",
    "CC_CURRENT_A",
    "PORT_MIN_V",
    "RD_OHM",
    "UNIT_LOAD_A",
    "Advertised",
    "HubBudget",
    "UsbState",
    "advertised",
    "advertised_current",
    "cc_voltage",
    "cc_voltage_driven",
    "cc_voltage_range",
    "hub_budget",
    "max_power_field",
    "port_current",
]

UsbState = Literal["unconfigured", "configured", "suspended"]
Advertised = Literal["none", "default", "1.5A", "3.0A"]

UNIT_LOAD_A = 0.1
RD_OHM = 5100.0
PORT_MIN_V = {"high-power port": 4.75, "behind a bus-powered hub": 4.40}
"""Lowest voltage at the port, before the device's own cable [V].   [USB2, from memory]"""

CC_BANDS_V: dict[Advertised, tuple[float, float]] = {"default": (0.25, 0.61), "1.5A": (0.70, 1.16), "3.0A": (1.31, 2.04)}
"""Voltages a sink sees at its 5.1 kΩ (± 10 %) for each advertised current [V].   [USB-C]"""
CC_CURRENT_A: dict[Advertised, float] = {"none": 0.0, "default": 0.5, "1.5A": 1.5, "3.0A": 3.0}
"""What a sink may draw; ``default`` is that of USB 2.0 after configuration, USB 3 allows 0.9 A [A].   [USB-C]"""

_MAX_UNIT_LOADS = 5
_SUSPENDED_A = 0.5e-3
_MAX_POWER_STEP_A = 2e-3
_HUB_PORTS = 4
_THRESHOLDS_V = (0.20, 0.66, 1.23, 2.18)


@dataclass(frozen=True, slots=True)
class HubBudget:
    """What a bus-powered hub takes from its own port, and whether that port grants it."""

    i_total_a: float
    fits: bool
    because: str


def port_current(state: UsbState, unit_loads: int = 1) -> float:
    """Current a device may draw from a USB 2.0 port.   [USB2]

    Parameters
    ----------
    state : ``unconfigured`` until the host has accepted the device, ``configured`` after it, ``suspended`` when the bus sleeps [-]
    unit_loads : unit loads the device asks for, 1 to 5 [-]

    Returns
    -------
    i_a : upper limit [A]

    Raises
    ------
    OutOfRange : no such state, or not 1 to 5 unit loads.

    >>> port_current("unconfigured", 5), port_current("configured", 5)
    (0.1, 0.5)
    """
    if not 1 <= unit_loads <= _MAX_UNIT_LOADS or unit_loads != int(unit_loads):
        raise OutOfRange(f"A device takes 1 to {_MAX_UNIT_LOADS} unit loads, not {unit_loads}.")
    if state == "unconfigured":
        return UNIT_LOAD_A
    if state == "configured":
        return UNIT_LOAD_A * unit_loads
    if state == "suspended":
        return _SUSPENDED_A * unit_loads
    raise OutOfRange(f"A device is unconfigured, configured or suspended, not {state!r}.")


def hub_budget(ports: int, i_hub_a: float = UNIT_LOAD_A, i_device_a: float = UNIT_LOAD_A) -> HubBudget:
    """Does a hub without a supply of its own fit into the five unit loads of its port?   [USB2]

    Parameters
    ----------
    ports : ports it offers [-]
    i_hub_a : what the hub itself takes [A]
    i_device_a : what each port gives, one unit load [A]

    Returns
    -------
    budget : sum and verdict [-]

    Raises
    ------
    OutOfRange : the number of ports is not a whole number above 0, or a current negative.

    >>> hub_budget(4).fits, hub_budget(5).fits
    (True, False)
    """
    if ports < 1 or ports != int(ports):
        raise OutOfRange(f"A hub has a whole number of ports, at least one, not {ports}.")
    not_negative(i_hub_a=i_hub_a, i_device_a=i_device_a)
    total, granted = i_hub_a + ports * i_device_a, _MAX_UNIT_LOADS * UNIT_LOAD_A
    if ports > _HUB_PORTS:
        return HubBudget(total, False, f"a hub that lives from the bus has at most {_HUB_PORTS} ports")
    fits = total <= granted * (1 + 1e-9)
    return HubBudget(total, fits, f"{total:g} A of the {granted:g} A a port grants")


def max_power_field(i_a: float) -> int:
    """Value of bMaxPower in a configuration descriptor: the current in steps of 2 mA, rounded up.   [USB2]

    Parameters
    ----------
    i_a : highest current of the device [A]

    Returns
    -------
    field : number in the descriptor [-]

    Raises
    ------
    OutOfRange : the current is negative or above 500 mA.

    >>> max_power_field(0.5), max_power_field(0.099)
    (250, 50)
    """
    not_negative(i_a=i_a)
    if i_a > _MAX_UNIT_LOADS * UNIT_LOAD_A:
        raise OutOfRange(f"A USB 2.0 device may ask for {_MAX_UNIT_LOADS * UNIT_LOAD_A:g} A at most, not {i_a:g} A.")
    return math.ceil(round(i_a / _MAX_POWER_STEP_A, 6))


def cc_voltage(v_pull_v: float, rp_ohm: float, rd_ohm: float = RD_OHM) -> float:
    """Voltage on the CC wire of a source with a pull-up resistor: V R_d / (R_p + R_d).   [USB-C]

    Parameters
    ----------
    v_pull_v : voltage the pull-up goes to [V]
    rp_ohm : pull-up of the source [ohm]
    rd_ohm : pull-down of the sink [ohm]

    Returns
    -------
    v_cc_v : voltage at the sink [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{cc_voltage(5.0, 22e3):.3f} V"
    '0.941 V'
    """
    positive(v_pull_v=v_pull_v, rp_ohm=rp_ohm, rd_ohm=rd_ohm)
    return v_pull_v * rd_ohm / (rp_ohm + rd_ohm)


def cc_voltage_driven(i_p_a: float, rd_ohm: float = RD_OHM) -> float:
    """Voltage on the CC wire of a source with a current source: I R_d.   [USB-C]

    Parameters
    ----------
    i_p_a : current of the source: 80, 180 or 330 µA [A]
    rd_ohm : pull-down of the sink [ohm]

    Returns
    -------
    v_cc_v : voltage at the sink [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{cc_voltage_driven(330e-6):.3f} V"
    '1.683 V'
    """
    positive(i_p_a=i_p_a, rd_ohm=rd_ohm)
    return i_p_a * rd_ohm


def cc_voltage_range(v_pull_v: Value, rp_ohm: Value, rd_ohm: Value = RD_OHM) -> Range:
    """Lowest and highest CC voltage over the tolerances of both resistors and the supply.   [USB-C]

    Parameters
    ----------
    v_pull_v : voltage the pull-up goes to, a number or a range [V]
    rp_ohm : pull-up of the source with its tolerance [ohm]
    rd_ohm : pull-down of the sink with its tolerance [ohm]

    Returns
    -------
    v_cc_v : bounds [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{cc_voltage_range(5.5, Range.around(56e3, 0.2), Range.around(5.1e3, 0.1)).high:.2f} V"
    '0.61 V'
    """
    return over(cc_voltage, v_pull_v=v_pull_v, rp_ohm=rp_ohm, rd_ohm=rd_ohm)


def advertised(v_cc_v: float) -> Advertised:
    """What a source offers, from the voltage on the CC wire; on a threshold itself the smaller offer.   [USB-C]

    Parameters
    ----------
    v_cc_v : voltage at the sink's 5.1 kΩ [V]

    Returns
    -------
    offer : ``none`` without a source or outside every band [-]

    Raises
    ------
    OutOfRange : the voltage is not finite.

    >>> advertised(0.19), advertised(0.41), advertised(0.92), advertised(1.68)
    ('none', 'default', '1.5A', '3.0A')
    """
    finite(v_cc_v=v_cc_v)
    none, default, middle, top = _THRESHOLDS_V
    if v_cc_v <= none or v_cc_v > top:
        return "none"
    return "default" if v_cc_v <= default else "1.5A" if v_cc_v <= middle else "3.0A"


def advertised_current(v_cc_v: Value) -> float:
    """Current a sink may draw at a CC voltage; over a range the smallest offer in it.   [USB-C]

    Parameters
    ----------
    v_cc_v : voltage at the sink's 5.1 kΩ, a number or a range [V]

    Returns
    -------
    i_a : upper limit [A]

    Raises
    ------
    OutOfRange : the voltage is not finite.

    >>> advertised_current(0.92), advertised_current(Range(0.60, 0.70))
    (1.5, 0.5)
    """
    ends = (v_cc_v.low, v_cc_v.high) if isinstance(v_cc_v, Range) else (v_cc_v,)
    return min(CC_CURRENT_A[advertised(end)] for end in ends)
