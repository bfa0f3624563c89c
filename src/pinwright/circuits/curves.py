"""Sensors as curves from a quantity to volts and back, with every value of them that is not known exactly.

The way back is the firmware's: it believes the usual values.  A divider fed by the converter's own reference is ratiometric:
both ways use ``v_ref_v``, and the reference cancels.  All callables take arrays.   Formulas and sources are those of the
modules used   [thermistors, platinum, photocells, ratiometric]; 4 to 20 mA over a burden resistor is Ohm's law, a straight line
a definition.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from pinwright.circuits import photocells, platinum, thermistors
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

__all__ = [
    "Curve",
    "Uncertain",
    "current_loop",
    "light_dependent",
    "linear",
    "ntc_divider",
    "platinum_divider",
    "ratiometric",
]

Values = Mapping[str, Any]
Shape = Literal["rectangular", "normal"]


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value within limits.  ``rectangular``: anywhere between them alike; ``normal``: the limits are three deviations away."""

    range: Range
    shape: Shape = "rectangular"


@dataclass(frozen=True, slots=True)
class Curve:
    """A sensor and its circuit: ``volts(quantity, values)`` forward, ``quantity(volts, values)`` back, ``uncertain`` by name."""

    unit: str
    volts: Callable[[Any, Values], Any]
    quantity: Callable[[Any, Values], Any]
    uncertain: Mapping[str, Uncertain]


def linear(unit: str, v_per_unit: float, v_at_zero_v: float = 0.0, gain_share: float = 0.0, offset_v: float = 0.0) -> Curve:
    """Sensor with a voltage of its own, a straight line.   [definition]

    Parameters
    ----------
    unit : unit of the quantity [-]
    v_per_unit : volts a unit of the quantity [-]
    v_at_zero_v : output at zero [V]
    gain_share : tolerance of the slope as a share [-]
    offset_v : error at zero, either sign [V]

    Returns
    -------
    curve : forward and back [-]

    Raises
    ------
    OutOfRange : the slope is zero, or the tolerance no share.

    >>> linear("°C", 10e-3).volts(25, {"sensor_gain": 1, "sensor_offset_v": 0})
    0.25
    """
    if v_per_unit == 0:
        raise OutOfRange("A sensor whose output does not change tells nothing.")

    def volts(quantity: Any, values: Values) -> Any:
        return v_at_zero_v + values["sensor_offset_v"] + quantity * v_per_unit * values["sensor_gain"]

    def back(v: Any, values: Values) -> Any:
        return (v - v_at_zero_v - values["sensor_offset_v"]) / (v_per_unit * values["sensor_gain"])

    uncertain = {
        "sensor_gain": Uncertain(Range.around(1.0, gain_share)),
        "sensor_offset_v": Uncertain(Range(-abs(offset_v), abs(offset_v), 0.0)),
    }
    return Curve(unit, volts, back, uncertain)


def ntc_divider(r25_ohm: Range, beta_k: Range, r_fixed_ohm: Range, supply_v: Range | None = None, is_low_side: bool = True) -> Curve:
    """Thermistor and a fixed resistor, in °C.   [thermistors]

    Parameters
    ----------
    r25_ohm : thermistor at 25 °C [ohm]
    beta_k : beta [K]
    r_fixed_ohm : the other resistor [ohm]
    supply_v : voltage across both, if it is not the converter's reference [V]
    is_low_side : the thermistor lies towards ground [-]

    Returns
    -------
    curve : forward and back [-]

    >>> curve = ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    >>> usual = {name: each.range.middle for name, each in curve.uncertain.items()} | {"v_ref_v": 3.3}
    >>> f"{curve.volts(25.0, usual):.2f} V"
    '1.65 V'
    """

    def resistance(t_c: Any, values: Values) -> Any:
        return thermistors.r_by_beta(t_c, values["r25_ohm"], values["beta_k"])

    def back(r_ohm: Any, values: Values) -> Any:
        return thermistors.t_by_beta(r_ohm, values["r25_ohm"], values["beta_k"])

    own = {"r25_ohm": Uncertain(r25_ohm), "beta_k": Uncertain(beta_k)}
    return _divider("°C", resistance, back, own, r_fixed_ohm, supply_v, is_low_side)


def platinum_divider(
    r_fixed_ohm: Range,
    r0_ohm: float = 1000.0,
    tolerance_class: str = "B",
    r_leads_ohm: Range | None = None,
    supply_v: Range | None = None,
) -> Curve:
    """Platinum element towards ground below a fixed resistor, in °C.   [platinum]

    Parameters
    ----------
    r_fixed_ohm : resistor towards the supply [ohm]
    r0_ohm : element at 0 °C [ohm]
    tolerance_class : AA, A, B or C [-]
    r_leads_ohm : both leads of a two-wire element; none if it is not given [ohm]
    supply_v : voltage across both, if it is not the converter's reference [V]

    Returns
    -------
    curve : forward and back [-]

    Raises
    ------
    UnknownName : no such class.

    >>> curve = platinum_divider(Range.around(4.7e3, 0.001))
    >>> usual = {name: each.range.middle for name, each in curve.uncertain.items()} | {"v_ref_v": 3.3}
    >>> f"{curve.volts(0.0, usual):.3f} V"
    '0.579 V'
    """
    leads = Range(0.0, 0.0) if r_leads_ohm is None else r_leads_ohm
    low_ohm, high_ohm = platinum.resistance(-200.0, r0_ohm), platinum.resistance(850.0, r0_ohm)
    platinum.tolerance(0.0, tolerance_class)

    def resistance(t_c: Any, values: Values) -> Any:
        off = values["class_share"] * platinum.tolerance(t_c, tolerance_class)
        return platinum.resistance(t_c, r0_ohm) + off * platinum.slope(t_c, r0_ohm) + values["r_leads_ohm"]

    def back(r_ohm: Any, values: Values) -> Any:
        return platinum.temperature(np.clip(r_ohm - values["r_leads_ohm"], low_ohm, high_ohm), r0_ohm)

    own = {"class_share": Uncertain(Range(-1.0, 1.0, 0.0)), "r_leads_ohm": Uncertain(leads)}
    return _divider("°C", resistance, back, own, r_fixed_ohm, supply_v, True)


def light_dependent(r10_ohm: Range, gamma: Range, r_fixed_ohm: Range, supply_v: Range | None = None, is_low_side: bool = False) -> Curve:
    """Light-dependent resistor and a fixed one, in lux.   [photocells]

    Parameters
    ----------
    r10_ohm : cell at 10 lx [ohm]
    gamma : slope of the double logarithmic curve [-]
    r_fixed_ohm : the other resistor [ohm]
    supply_v : voltage across both, if it is not the converter's reference [V]
    is_low_side : the cell lies towards ground [-]

    Returns
    -------
    curve : forward and back [-]

    >>> curve = light_dependent(Range(8e3, 20e3, 14e3), Range(0.6, 0.8, 0.7), Range.around(10e3, 0.01))
    >>> usual = {name: each.range.middle for name, each in curve.uncertain.items()} | {"v_ref_v": 3.3}
    >>> f"{curve.volts(10.0, usual):.2f} V"
    '1.38 V'
    """

    def resistance(e_lux: Any, values: Values) -> Any:
        return photocells.resistance(e_lux, values["r10_ohm"], values["gamma"])

    def back(r_ohm: Any, values: Values) -> Any:
        return photocells.illuminance(r_ohm, values["r10_ohm"], values["gamma"])

    own = {"r10_ohm": Uncertain(r10_ohm), "gamma": Uncertain(gamma)}
    return _divider("lx", resistance, back, own, r_fixed_ohm, supply_v, is_low_side)


def ratiometric(unit: str, share_at_zero: float, share_per_unit: float, error_share: float = 0.0, supply_v: Range | None = None) -> Curve:
    """Sensor whose output is a share of its supply.   [ratiometric]

    Parameters
    ----------
    unit : unit of the quantity [-]
    share_at_zero : share of the supply at zero [-]
    share_per_unit : share of the supply a unit adds [-]
    error_share : error of the sensor as a share of its supply, either sign [-]
    supply_v : its supply, if it is not the converter's reference [V]

    Returns
    -------
    curve : forward and back [-]

    Raises
    ------
    OutOfRange : the slope is zero.

    >>> ratiometric("kPa", 0.1, 0.008).volts(50, {"sensor_share": 0, "v_ref_v": 5.0})
    2.5
    """
    if share_per_unit == 0:
        raise OutOfRange("A sensor whose output does not change tells nothing.")
    feed = "v_ref_v" if supply_v is None else "v_supply_v"

    def volts(quantity: Any, values: Values) -> Any:
        return (share_at_zero + share_per_unit * quantity + values["sensor_share"]) * values[feed]

    def back(v: Any, values: Values) -> Any:
        return (v / values[feed] - share_at_zero - values["sensor_share"]) / share_per_unit

    own = {"sensor_share": Uncertain(Range(-abs(error_share), abs(error_share), 0.0))}
    return Curve(unit, volts, back, own if supply_v is None else own | {"v_supply_v": Uncertain(supply_v)})


def current_loop(unit: str, at_4_ma: float, at_20_ma: float, r_burden_ohm: Range, error_share: float = 0.0) -> Curve:
    """Transmitter of 4 to 20 mA into a burden resistor.   [Ohm's law]

    Parameters
    ----------
    unit : unit of the quantity [-]
    at_4_ma : quantity at 4 mA [-]
    at_20_ma : quantity at 20 mA [-]
    r_burden_ohm : burden resistor [ohm]
    error_share : error of the transmitter as a share of its span of 16 mA, either sign [-]

    Returns
    -------
    curve : forward and back [-]

    Raises
    ------
    OutOfRange : both ends of the span are one.

    >>> curve = current_loop("%", 0, 100, Range.around(150.0, 0.001))
    >>> curve.volts(100, {"r_burden_ohm": 150.0, "transmitter_share": 0.0})
    3.0
    """
    span = at_20_ma - at_4_ma
    if span == 0:
        raise OutOfRange("A transmitter needs two different ends of its span.")

    def volts(quantity: Any, values: Values) -> Any:
        return (0.004 + 0.016 * ((quantity - at_4_ma) / span + values["transmitter_share"])) * values["r_burden_ohm"]

    def back(v: Any, values: Values) -> Any:
        return at_4_ma + span * ((v / values["r_burden_ohm"] - 0.004) / 0.016 - values["transmitter_share"])

    own = {
        "r_burden_ohm": Uncertain(r_burden_ohm),
        "transmitter_share": Uncertain(Range(-abs(error_share), abs(error_share), 0.0)),
    }
    return Curve(unit, volts, back, own)


def _divider(
    unit: str,
    resistance: Callable[[Any, Values], Any],
    quantity: Callable[[Any, Values], Any],
    own: dict[str, Uncertain],
    r_fixed_ohm: Range,
    supply_v: Range | None,
    is_low_side: bool,
) -> Curve:
    feed = "v_ref_v" if supply_v is None else "v_supply_v"

    def volts(what: Any, values: Values) -> Any:
        sensor, fixed = resistance(what, values), values["r_fixed_ohm"]
        return values[feed] * (sensor if is_low_side else fixed) / (sensor + fixed)

    def back(v: Any, values: Values) -> Any:
        low = np.clip(v / values[feed], 1e-9, 1 - 1e-9)  # an open or shorted divider: a far value, not a division by zero
        return quantity(values["r_fixed_ohm"] * (low / (1 - low) if is_low_side else (1 - low) / low), values)

    uncertain = own | {"r_fixed_ohm": Uncertain(r_fixed_ohm)}
    return Curve(unit, volts, back, uncertain if supply_v is None else uncertain | {"v_supply_v": Uncertain(supply_v)})
