"""Analog lines on the bench: stimuli anybody can make, the voltage they give, and what the firmware must read."""

from __future__ import annotations

from pinwright.circuits import curves
from pinwright.circuits.chain import Chain, budget
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange
from pinwright.facts.model import Curve
from pinwright.fitting.interface import analog as interface
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.mesh import METER_OHM
from pinwright.pack.bench.rig import Rig

__all__ = ["reading_at", "stimuli", "volts_at", "volts_before_firmware", "volts_over"]

_TEMPERATURES = (
    (0.0, "in a stirred mash of crushed ice and water, 0 °C"),
    (25.0, "at 25 °C beside a thermometer you trust (or take the value for the temperature it shows)"),
    (100.0, "in boiling water, 100 °C at sea level, probe sealed"),
)


def stimuli(curve: Curve) -> tuple[tuple[float, str], ...]:
    """Values of a quantity that can be made on a bench, and how; the middle of the range where no usual one lies in it.

    Parameters
    ----------
    curve : the part's law [-]
    """
    if curve.unit in ("degC", "°C"):
        found = [(value, words) for value, words in _TEMPERATURES if value <= 60.0 or curve.kind == "pt"]
    elif curve.kind == "potentiometer":
        found = [
            (curve.low, "turned to its lower end"),
            ((curve.low + curve.high) / 2, "turned to its middle"),
            (curve.high, "to its upper end"),
        ]
    elif curve.unit == "lx":
        found = [(10.0, "in 10 lx by a light meter (a corridor at night)"), (500.0, "in 500 lx by a light meter (a lit desk)")]
    elif curve.unit == "A":
        found = [(0.0, "with no current through it")]
    elif curve.unit in ("V", "mA"):
        middle = (curve.low + curve.high) / 2
        found = [
            (value, f"at {value:.4g} {curve.unit} from an adjustable supply, checked with the meter")
            for value in (curve.low, middle, curve.high)
        ]
    else:
        share = [curve.low + (curve.high - curve.low) * part for part in (0.0, 0.25, 0.5)]
        found = [(value, f"at {value:.4g} {curve.unit}") for value in share]
    inside = tuple((value, words) for value, words in found if curve.low <= value <= curve.high)
    middle = (curve.low + curve.high) / 2
    return inside or ((middle, f"at {middle:.4g} {curve.unit}"),)


BY_HAND = 0.05
"""How far from its mark somebody turns a knob, as a share of its travel (common practice, no source)."""


def by_hand(placed: Placed) -> float:
    """Share of its range a stimulus made by hand may be off [-].

    Parameters
    ----------
    placed : an analog line [-]
    """
    curve = placed.line.asks.curve
    return BY_HAND if curve is not None and curve.kind == "potentiometer" else 0.0


def volts_at(rig: Rig, placed: Placed, quantity: float) -> Range | None:
    """Voltage at the pin for a value of the quantity, over all tolerances, meter included [V]; ``None``: its law is not known.

    Parameters
    ----------
    rig : the build [-]
    placed : an analog line [-]
    quantity : in the unit of its curve [-]
    """
    sensor = _sensor(rig, placed)
    if sensor is None:
        return None
    ranges = {name: each.range for name, each in sensor.uncertain.items()} | {"v_ref_v": rig.rail}
    try:
        part = over(lambda **values: sensor.volts(quantity, values), **ranges)
    except (OutOfRange, ValueError):
        return None
    slack = by_hand(placed)
    if slack:
        top = rig.rail.high if part.high <= rig.rail.high else part.high
        part = Range(max(part.low - slack * rig.rail.middle, 0.0), min(part.high + slack * rig.rail.middle, top), part.middle)
    at_pin = rig.pin_at_rest(placed, part=part) or part
    on_board = placed.place.fitted("divider")
    if on_board is not None and on_board.r_top_ohm and on_board.r_bottom_ohm:
        share = on_board.r_bottom_ohm / (on_board.r_top_ohm + on_board.r_bottom_ohm)
        at_pin = Range(at_pin.low * share, at_pin.high * share, at_pin.middle * share)
    source = interface.reading_source_ohm(placed.line.asks, placed.circuit.elements)
    loaded = METER_OHM / (METER_OHM + source)
    return Range(min(at_pin.low * loaded, at_pin.low), at_pin.high, at_pin.middle)


def volts_over(rig: Rig, placed: Placed) -> Range | None:
    """Voltage at the pin over the whole range of the quantity [V].

    Parameters
    ----------
    rig : the build [-]
    placed : an analog line [-]
    """
    curve = placed.line.asks.curve
    if curve is None:
        return None
    ends = [found for quantity in (curve.low, curve.high) if (found := volts_at(rig, placed, quantity)) is not None]
    return Range(min(e.low for e in ends), max(e.high for e in ends)) if len(ends) == 2 else None


def volts_before_firmware(rig: Rig, placed: Placed, pull: str) -> Range | None:
    """Voltage at the pin over the whole range while firmware has not set the pad, whose own pull loads the sensor [V].

    Parameters
    ----------
    rig : the build [-]
    placed : an analog line [-]
    pull : ``up``, ``down`` or nothing: the pad's own pull [-]
    """
    found = volts_over(rig, placed)
    if found is None:
        return None
    low, high = found.low, found.high
    source = interface.reading_source_ohm(placed.line.asks, placed.circuit.elements)
    if pull and source:
        share = source / (source + rig.own_pull(pull)[0])
        if pull == "down":
            low *= 1 - share
        else:
            high += max(rig.rail.high - high, 0.0) * share
    if any(other.line.part == placed.line.part and other.line.asks.drives for other in rig.build.plan.placed):
        low = min(low, 0.0)  # another line of the part switches it on
    return Range(low, high)


def reading_at(rig: Rig, placed: Placed, quantity: float) -> Range | None:
    """What the firmware reads at a value of the quantity, worst errors both ways, in its unit; ``None`` beyond the converter's range.

    Parameters
    ----------
    rig : the build [-]
    placed : an analog line [-]
    quantity : in the unit of its curve [-]
    """
    curve, view = placed.line.asks.curve, rig.build.plan.view
    sensor, unit = _sensor(rig, placed), interface.unit_of(placed.place, view)
    if sensor is None or unit is None or curve is None:
        return None
    divider = placed.circuit.of("divider")
    resistors, scale = None, 1.0
    if divider is not None and len(divider.pieces) == 2 and all(piece.value for piece in divider.pieces):
        tolerance = rig.build.job.setting.bench.tolerance
        top, bottom = (Range.around(piece.value or 1.0, tolerance) for piece in divider.pieces)
        resistors, scale = (top, bottom), bottom.middle / (top.middle + bottom.middle)
    usual = {name: each.range.middle for name, each in sensor.uncertain.items()} | {"v_ref_v": rig.rail.middle}
    logic_v, span = view.board.logic_v, curve.high - curve.low
    inside = min(max(quantity, curve.low + span * 0.01), curve.high - span * 0.01)  # at the very ends a code is cut in half
    try:
        highest = max(float(sensor.volts(end, usual)) * scale for end in (curve.low, curve.high))
        area = interface.input_range(unit, highest, logic_v)
        at_pin = float(sensor.volts(inside, usual)) * scale
        if not max(area.v_min_v, 0.0) <= at_pin <= min(area.v_max_v, logic_v):
            return None
        worst = budget(Chain(sensor, interface.converter_errors(unit, area, logic_v), resistors), inside).worst
    except (OutOfRange, ValueError):
        return None
    slack = by_hand(placed) * span
    return Range(quantity + min(worst.low, 0.0) - slack, quantity + max(worst.high, 0.0) + slack, quantity)


def _sensor(rig: Rig, placed: Placed) -> curves.Curve | None:
    """The part's law with its tolerances, as the plan itself reckons with it."""
    asks, view = placed.line.asks, rig.build.plan.view
    unit = interface.unit_of(placed.place, view)
    if asks.curve is None or unit is None:
        return None
    supply = asks.rail.at(view.board.logic_v)
    rail = rig.rail if abs(supply - view.board.logic_v) < 0.05 else Range.around(supply, 0.05)
    try:
        return interface.sensor_law(asks.curve, rail, view.board.logic_v, unit, rig.build.job.setting.bench.tolerance)
    except OutOfRange:
        return None
