"""Analog inputs: range of the converter, source resistance, and the error of the reading in the quantity's own units.

What decides about a circuit (the divider to the range, the capacitor at the pin) is worked out for every pin; the error
budget, which only people read, when it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from pinwright.circuits import curves
from pinwright.circuits.adc import AdcErrors
from pinwright.circuits.chain import Chain, budget, resolution_over
from pinwright.circuits.dividers import source_resistance
from pinwright.circuits.ranges import Range
from pinwright.circuits.settling import source_r_max
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.facts.model import AdcRange, AdcUnit, Curve, Fact
from pinwright.fitting.interface.pieces import Check, Element, Piece
from pinwright.fitting.interface.rails import board_rail
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench

__all__ = [
    "Reading",
    "analog_elements",
    "converter_errors",
    "input_range",
    "reading",
    "reading_source_ohm",
    "sensor_law",
    "source_max_ohm",
    "unit_of",
]

HOLD_F = 100e-9
"""Capacitor at a pin with a weak source behind it: it fills the sampling capacitor at once (common practice, no source)."""
R_SOURCE_USUAL_OHM = 10e3
"""Weakest source of a converter whose maker names none (common practice, no source)."""
REFERENCE_ERROR = 0.02
"""Error of a reference nobody gives a figure for, as a share (common practice, no source)."""
_ALIKE = 1e-3
"""Share of its range a sensor may lose at an end before anybody calls it clipped (our choice)."""


def unit_of(place: Place, board: BoardView) -> AdcUnit | None:
    """The converter behind a pin."""
    adc = place.pad.adc
    return next((unit for unit in board.chip.adc if adc and unit.unit == adc.unit), None)


# ------------------------------------------------------------------------------ what is fitted


def analog_elements(
    asks: Asks, place: Place, board: BoardView, bench: Bench, before: Iterable[Element]
) -> tuple[list[Element], list[Check]]:
    """The capacitor a weak source needs, and the check of the source resistance."""
    unit = unit_of(place, board)
    if unit is None:
        return [], []
    source, most = reading_source_ohm(asks, before), source_max_ohm(unit)
    words = f"the source looks like {shown(source)}, the converter takes {shown(most[0])} ({most[1]})"
    if source <= most[0]:
        return [], [Check("source of the reading", words, most[0] - source, "Ω", "settling.source_r_max")]
    piece = Piece("capacitor", "from the pin to ground", HOLD_F, "F", why=words, formula="settling.holding_droop")
    return [Element("capacitor", f"{shown(HOLD_F, 'F')} to ground", 1, words, None, (piece,))], []


def reading_source_ohm(asks: Asks, elements: Iterable[Element]) -> float:
    """Resistance the pin looks into [ohm]: the divider, the part's own, or its resistive divider at its weakest."""
    divider = next((e for e in elements if e.kind == "divider" and len(e.pieces) == 2), None)
    own = asks.r_in_ohm or 0.0
    if divider is not None:
        upper, lower = (piece.value or 0.0 for piece in divider.pieces)
        return source_resistance(upper + own, lower)
    curve = asks.curve
    if curve is not None and curve.r_fixed_ohm and curve.kind != "linear":
        return min(curve.r_fixed_ohm, own or curve.r_fixed_ohm)
    return own


def source_max_ohm(unit: AdcUnit) -> tuple[float, str]:
    """Weakest source the converter reads right [ohm], and who says so."""
    named = _value(unit.r_source_max_ohm)
    if named:
        return named, "its maker's limit"
    sample, hold = _value(unit.t_sample_s), _value(unit.c_sample_f)
    if sample and hold:
        try:
            return source_r_max(sample, hold, _value(unit.r_sample_ohm) or 0.0, unit.bits), "so that its sampling capacitor fills"
        except OutOfRange:
            return R_SOURCE_USUAL_OHM, "usual, common practice"
    return R_SOURCE_USUAL_OHM, "usual, common practice"


def _value(fact: Fact | None) -> float | None:
    if fact is None:
        return None
    return next((v for v in (fact.value, fact.max, fact.typ, fact.min) if v is not None), None)


# ------------------------------------------------------------------------------ what is read


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line's reading is worth, in the quantity's unit.

    ``low``, ``high``: part of the quantity's range that can be read; ``step``: finest and coarsest change of one code;
    ``worst`` and ``rss``: error at ``at``, its main contribution in ``main``; ``clipped``: what of the wanted range is lost.
    """

    quantity: str
    unit: str
    low: float
    high: float
    step: Range
    at: float
    worst: Range
    rss: float
    main: str
    range_name: str
    clipped: str

    @property
    def words(self) -> str:
        """All of it in a line."""
        finest, coarsest = _digits(self.step.low, 2), _digits(self.step.high, 2)
        step = finest if finest == coarsest else f"{finest} to {coarsest}"
        error = max(abs(self.worst.low), abs(self.worst.high))
        lost = f"; {self.clipped}" if self.clipped else ""
        return (
            f"{self.quantity} {_digits(self.low)} to {_digits(self.high)} {self.unit}: one step is {step} {self.unit}; "
            f"at {_digits(self.at)} {self.unit} the error is at worst {_digits(error, 2)}, "
            f"likely within {_digits(self.rss, 2)} {self.unit}, most of it from {self.main}{lost}"
        )


def _digits(value: float, count: int = 3) -> str:
    """A number rounded to some digits, without a power of ten where people write none."""
    return f"{float(f'{value:.{count}g}'):g}"


def reading(asks: Asks, place: Place, board: BoardView, bench: Bench, elements: Iterable[Element]) -> Reading | None:
    """Resolution and error of an analog line on its pin; ``None`` where the part's law or the converter is not known."""
    unit = unit_of(place, board)
    if unit is None or asks.curve is None:
        return None
    divider = next((e for e in elements if e.kind == "divider" and len(e.pieces) == 2), None)
    resistors = (divider.pieces[0].value or 0.0, divider.pieces[1].value or 0.0) if divider else None
    on_board = place.fitted("divider")
    if on_board is not None and on_board.r_top_ohm and on_board.r_bottom_ohm:
        resistors = (on_board.r_top_ohm, on_board.r_bottom_ohm)
    supply = asks.rail.at(board.board.logic_v)
    rail = board_rail(board) if abs(supply - board.board.logic_v) < 0.05 else Range.around(supply, 0.05)
    try:
        source = asks.r_in_ohm or 0.0 if divider else 0.0
        return _reading(asks.curve, unit, rail, board.board.logic_v, resistors, bench.tolerance, source)
    except OutOfRange:
        return None


@lru_cache(maxsize=1024)
def _reading(
    curve: Curve, unit: AdcUnit, rail: Range, logic_v: float, divider: tuple[float, float] | None, tolerance: float, source_ohm: float
) -> Reading | None:
    sensor = sensor_law(curve, rail, logic_v, unit, tolerance)
    if sensor is None:
        return None
    # The sensor's own resistance lies above the upper resistor: between nothing and all of it, as its wiper or its value goes.
    resistors, scale = None, 1.0
    if divider:
        highest = (divider[0] + source_ohm) * (1 + tolerance)
        resistors = (Range(divider[0] * (1 - tolerance), highest, divider[0] + source_ohm / 2), Range.around(divider[1], tolerance))
        scale = divider[1] / (resistors[0].middle + divider[1])
    usual = {name: each.range.middle for name, each in sensor.uncertain.items()} | {"v_ref_v": rail.middle}
    ends = [float(sensor.volts(quantity, usual)) * scale for quantity in (curve.low, curve.high)]
    area = input_range(unit, max(ends), logic_v)
    chain = Chain(sensor, converter_errors(unit, area, logic_v), resistors)
    low, high, clipped = _readable(curve, sensor, usual, area, scale, logic_v)
    at = (low + high) / 2
    found = budget(chain, at)
    edge = (high - low) * 0.01  # at the very ends a code is cut in half
    step = resolution_over(chain, low + edge, high - edge, 33)
    return Reading(
        curve.quantity, curve.unit, low, high, step, at, found.worst, min(found.rss, max(abs(found.worst.low), abs(found.worst.high))),
        _MAIN.get(found.main, found.main.replace("_", " ")), area.name, clipped,
    )  # fmt: skip


_MAIN = {
    "v_ref_v": "the reference", "offset_lsb": "the converter's offset", "gain_lsb": "the converter's gain", "steps_lsb": "its steps",
    "linearity_lsb": "the converter's curve", "r25_ohm": "the thermistor", "beta_k": "the thermistor's beta",
    "r_fixed_ohm": "the fixed resistor", "sensor_gain": "the sensor", "sensor_offset_v": "the sensor", "sensor_share": "the sensor",
    "r_top_ohm": "the divider", "r_bottom_ohm": "the divider", "v_supply_v": "the supply", "r10_ohm": "the light resistor",
    "gamma": "the light resistor",
}  # fmt: skip


def input_range(unit: AdcUnit, v_high_v: float, logic_v: float) -> AdcRange:
    """Narrowest range of a converter that reaches a voltage, else the widest."""
    reaching = [area for area in unit.ranges if min(area.v_max_v, logic_v) >= v_high_v - 1e-9]
    return min(reaching, key=lambda area: area.v_max_v) if reaching else max(unit.ranges, key=lambda area: area.v_max_v)


def _is_supply(area: AdcRange, logic_v: float) -> bool:
    """Whether a range is measured against the board's own supply, so that a divider on it cancels."""
    return area.v_max_v >= 0.97 * logic_v or "suppl" in area.name.casefold() or area.name.casefold() in ("vcc", "vdd", "avcc")


def converter_errors(unit: AdcUnit, area: AdcRange, logic_v: float) -> AdcErrors:
    """Errors of a converter in a range, at a logic supply [V]; usual ones where its maker gives none."""
    full = min(area.v_max_v, logic_v)
    step = full / (1 << unit.bits)
    known = [_value(fact) for fact in (unit.inl_lsb, unit.offset_v, unit.gain_error)]
    reference = 0.03 if _is_supply(area, logic_v) else _value(unit.reference_error) or REFERENCE_ERROR
    if area.error_v:  # the maker's figure holds all in one, with an inner reference but without the board's supply
        return AdcErrors(unit.bits, full, 0.03 if _is_supply(area, logic_v) else 0.0, offset_lsb=area.error_v / step)
    return AdcErrors(
        unit.bits,
        full,
        reference,
        offset_lsb=(known[1] or 0.0) / step,
        gain_lsb=(known[2] or 0.0) * (1 << unit.bits),
        inl_lsb=known[0] or 0.0,
    )


def sensor_law(curve: Curve, rail: Range, logic_v: float, unit: AdcUnit, tolerance: float) -> curves.Curve | None:
    """The part's law with its tolerances; one fed by the converter's own reference is ratiometric."""
    with_supply = None if any(_is_supply(area, logic_v) for area in unit.ranges) and abs(rail.middle - logic_v) < 0.05 else rail
    own = tolerance if curve.fixed_tolerance is None else curve.fixed_tolerance
    fixed = Range.around(curve.r_fixed_ohm, own) if curve.r_fixed_ohm else None
    reference = Range.around(curve.r_ref_ohm, curve.tolerance or 0.05) if curve.r_ref_ohm else None
    if curve.kind == "linear" and curve.ratiometric:
        return curves.ratiometric(curve.unit, curve.zero_v, curve.gain_v, abs(curve.tolerance * curve.gain_v), with_supply)
    if curve.kind == "linear":
        return curves.linear(curve.unit, curve.gain_v, curve.zero_v, 0.0, curve.tolerance * abs(curve.gain_v))
    if curve.kind == "potentiometer" and curve.high == 0:
        raise OutOfRange("A potentiometer without travel tells nothing.")
    if curve.kind == "potentiometer":
        return curves.ratiometric(curve.unit, 0.0, 1 / curve.high, 0.0, with_supply)
    if fixed is None or reference is None:
        return None
    if curve.kind == "ntc" and curve.beta_k:
        return curves.ntc_divider(reference, Range.around(curve.beta_k, 0.01), fixed, with_supply, not curve.to_supply)
    if curve.kind == "pt" and not curve.to_supply:
        return curves.platinum_divider(fixed, curve.r_ref_ohm or 100.0, supply_v=with_supply)
    if curve.kind == "ldr" and curve.gamma:
        return curves.light_dependent(reference, Range.around(curve.gamma, 0.1), fixed, with_supply, not curve.to_supply)
    return None


def _readable(
    curve: Curve, sensor: curves.Curve, usual: dict[str, float], area: AdcRange, scale: float, logic_v: float
) -> tuple[float, float, str]:
    """Part of the wanted range whose voltage the converter reads, and what is lost, in words."""
    bottom, top = max(area.v_min_v, 0.0) / scale, min(area.v_max_v, logic_v) / scale
    volts = {quantity: float(sensor.volts(quantity, usual)) for quantity in (curve.low, curve.high)}
    low, high = curve.low, curve.high
    for limit in (bottom, top):
        alike = _ALIKE * (max(volts.values()) - min(volts.values()))
        if not min(volts.values()) + alike < limit < max(volts.values()) - alike:
            continue
        at = float(sensor.quantity(limit, usual))
        low_is_lost = (volts[curve.low] < limit) == (limit == bottom)
        low, high = (max(low, at), high) if low_is_lost else (low, min(high, at))
    if low >= high or max(volts.values()) < bottom or min(volts.values()) > top:
        raise OutOfRange(f"Nothing of the range lies within {area.name}.")
    lost = [f"below {_digits(low)}" for _ in range(low > curve.low)] + [f"above {_digits(high)}" for _ in range(high < curve.high)]
    return low, high, f"{' and '.join(lost)} {curve.unit} the converter's {area.name} range ends" if lost else ""
