"""Analog inputs: the converter's range, the divider before it, and the law that turns volts into the quantity."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pinwright.pack.firmware.model import Analog, Conversion, Pin

if TYPE_CHECKING:
    from pinwright.facts.model import AdcRange, AdcUnit, Curve
    from pinwright.fitting.lines import Asks
    from pinwright.fitting.places import BoardView
    from pinwright.fitting.plan import Placed
    from pinwright.fitting.setting import Bench

__all__ = ["FAULT_SHARE", "SAMPLES", "analog_of", "conversion_of"]

FAULT_SHARE = 0.005
"""A resistive sensor this near either end of the supply or the range is open or shorted, a share of it (our choice)."""
SAMPLES = 16
"""Readings to average: noise falls to a quarter (common practice, no source)."""
_AT_REF = {"ntc": 25.0, "ldr": 10.0}
"""Where resistances are stated unless the part says otherwise: 25 °C, 10 lx (common practice, no source)."""
_UNITS = {"degC": "°C", "degF": "°F", "ohm": "Ω", "deg": "°"}


def analog_of(placed: Placed, pin: Pin, view: BoardView, bench: Bench) -> Analog | None:
    """What firmware must know of an analog input; ``None`` where the pad reaches no converter of the chip's list."""
    from pinwright.fitting.interface.analog import reading, unit_of

    unit, adc = unit_of(placed.place, view), placed.place.pad.adc
    if unit is None or adc is None:
        return None
    asks, logic_v = placed.line.asks, view.board.logic_v
    ratio = _ratio(placed, asks)
    conversion = conversion_of(asks.curve, asks.rail.at(logic_v), logic_v)
    worth = reading(asks, placed.place, view, bench, placed.circuit.elements)
    if worth is not None and worth.low < worth.high:
        conversion = replace(conversion, low=worth.low, high=worth.high)
    area = _area(unit, worth.range_name if worth else "", asks, ratio, logic_v)
    is_supply = _is_supply(area, logic_v)
    low, high = (conversion.low, conversion.high) if conversion.kind != "volts" else (0.0, round(area.v_max_v * ratio, 3))
    return Analog(
        pin=pin,
        unit=adc.unit,
        channel=adc.channel,
        bits=unit.bits,
        range_name=area.name,
        full_v=logic_v if is_supply else area.v_max_v,
        reads_v=(area.v_min_v, min(area.v_max_v, logic_v)),
        is_supply=is_supply,
        ratio=ratio,
        conversion=conversion,
        points=((low, low), (high, high)),
        samples=SAMPLES,
        blocked_by=unit.blocked_by,
    )


def _ratio(placed: Placed, asks: Asks) -> float:
    """Volts at the line for a volt at the pin: the board's own divider, or the one fitted, or none.

    A source resistance adds to the upper resistor; where it moves with the reading its half counts, as in the error budget.
    """
    on_board = placed.place.fitted("divider")
    if on_board is not None and on_board.r_top_ohm and on_board.r_bottom_ohm:
        return (on_board.r_top_ohm + on_board.r_bottom_ohm) / on_board.r_bottom_ohm
    fitted = next((e for e in placed.circuit.elements if e.kind == "divider" and len(e.pieces) == 2), None)
    if fitted is None:
        return 1.0
    upper, lower = (piece.value or 0.0 for piece in fitted.pieces)
    return (upper + (asks.r_in_ohm or 0.0) / 2 + lower) / lower


def _area(unit: AdcUnit, name: str, asks: Asks, ratio: float, logic_v: float) -> AdcRange:
    """The range the reading was worked out for; without a law, the narrowest that reaches the line's highest voltage."""
    from pinwright.fitting.interface.analog import input_range

    named = next((area for area in unit.ranges if area.name == name), None)
    if named is not None:
        return named
    rail = asks.rail.at(logic_v)
    highest = asks.v_max.at(rail) if asks.v_max is not None else asks.voh.at(rail) if asks.voh is not None else logic_v * ratio
    return input_range(unit, highest / ratio, logic_v)


def _is_supply(area: AdcRange, logic_v: float) -> bool:
    name = area.name.casefold()
    return area.v_max_v >= 0.97 * logic_v and ("suppl" in name or "vdd" in name or "vcc" in name or "avcc" in name)


def conversion_of(curve: Curve | None, feed_v: float, logic_v: float) -> Conversion:
    """Law of a part as numbers; ``volts`` where nobody knows it.  ``feed_v``: what feeds the sensor [V]."""
    unknown = Conversion("volts", "voltage", "V", 0.0, logic_v, feed_v)
    if curve is None:
        return unknown
    found = Conversion("volts", curve.quantity, _UNITS.get(curve.unit, curve.unit), curve.low, curve.high, feed_v)
    if curve.kind == "linear":
        return replace(found, kind="share" if curve.ratiometric else "linear", zero=curve.zero_v, gain=curve.gain_v)
    if curve.kind == "potentiometer" and curve.high:
        return replace(found, kind="share", gain=1 / curve.high)
    if not (curve.r_fixed_ohm and curve.r_ref_ohm):
        return unknown
    found = replace(found, r_fixed_ohm=curve.r_fixed_ohm, r_ref_ohm=curve.r_ref_ohm, to_supply=curve.to_supply)
    at = _AT_REF.get(curve.kind, 0.0) if curve.at_ref is None else curve.at_ref
    if curve.kind == "ntc" and curve.beta_k:
        return replace(found, kind="ntc", at_ref=at, beta_k=curve.beta_k)
    if curve.kind == "pt":
        return replace(found, kind="pt")
    if curve.kind == "ldr" and curve.gamma:
        return replace(found, kind="ldr", at_ref=at, gamma=curve.gamma)
    return unknown
