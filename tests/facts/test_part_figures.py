"""Figures of parts that circuits and budgets are computed from: loads behind a stage, curves of analog lines, supply currents."""

from __future__ import annotations

import itertools

import pytest

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.model import Curve, Fact, Load, Part, PartLine

PARTS = sorted(load_catalogue().parts.values(), key=lambda part: part.id)
LINES = [(part, line) for part in PARTS for line in part.line]
LOADS = [(part, line, line.load) for part, line in LINES if line.load is not None]
CURVES = [(part, line, line.curve) for part, line in LINES if line.curve is not None]
KICKING = {"coil", "motor", "buzzer"}
UNITS = {"degC", "lx", "%", "A", "mA", "mm", "V", "bar", "ppm", "N", "deg"}
RESISTIVE = {"ntc", "pt", "ldr", "force"}
SOURCES = {"battery", "usb", "supply"}
"""Kinds of parts that feed a circuit; their supply_v is what they deliver."""


def named(pair: tuple[Part, PartLine]) -> str:
    return f"{pair[0].id}-{pair[1].name}"


def each(items: list[tuple[Part, PartLine, Load]] | list[tuple[Part, PartLine, Curve]]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize(("part", "line", "item"), items, ids=[f"{part.id}-{line.name}" for part, line, _ in items])


def part_of(name: str) -> Part:
    return next(part for part in PARTS if part.id == name)


def line_of(part: str, name: str) -> PartLine:
    return next(line for line in part_of(part).line if line.name == name)


def load_of(part: str, name: str) -> Load:
    load = line_of(part, name).load
    assert load is not None
    return load


def curve_of(part: str, name: str) -> Curve:
    curve = line_of(part, name).curve
    assert curve is not None
    return curve


def volts(curve: Curve, quantity: float, supply_v: float = 1.0) -> float:
    """Output of a linear curve [V]."""
    return (curve.zero_v + curve.gain_v * quantity) * (supply_v if curve.ratiometric else 1.0)


# ------------------------------------------------------------------------------ loads


@pytest.mark.parametrize("pair", [pair for pair in LINES if pair[1].needs.driver or pair[1].needs.driver_components], ids=named)
def test_line_that_needs_a_stage_says_what_it_switches(pair: tuple[Part, PartLine]) -> None:
    # Behaviour: without a load no stage can be worked out, and the plan falls back to words.
    _, line = pair
    assert line.load is not None
    assert (line.load.stage == "pin") == (not line.needs.driver), "words describe a transistor stage, the pin itself needs none"


@each(LOADS)
def test_load_is_sane(part: Part, line: PartLine, item: Load) -> None:
    # Property: definitions of the fields; a supply of a few volts to 60 V and amperes are what this catalogue holds.
    assert line.direction in ("out", "open-drain", "bidir")
    assert 1.0 <= item.v_v <= 60.0
    assert 0 < item.i_a <= 20.0
    assert item.inrush_a is None or item.inrush_a >= item.i_a
    assert item.l_h is None or (item.kind in KICKING and 1e-6 <= item.l_h <= 10.0)
    assert item.i_min_a is None or 0 < item.i_min_a <= item.i_a
    assert item.pwm_hz is None or item.pwm_hz > 0
    if item.pwm_hz is not None and line.needs.pwm_min_hz is not None and line.needs.pwm_max_hz is not None:
        assert line.needs.pwm_min_hz <= item.pwm_hz <= line.needs.pwm_max_hz
    supply = part.supply_v
    if item.stage != "pin" and item.kind != "input" and supply.min is not None and supply.max is not None:
        assert supply.min <= item.v_v <= supply.max


@each(LOADS)
def test_forward_voltage_belongs_to_an_led_that_can_be_lit(part: Part, line: PartLine, item: Load) -> None:
    # Property: both ends or none, in order, and below what feeds it.  1 to 4 V is every LED from infrared to blue (memory).
    ends = (item.vf_min_v, item.vf_max_v)
    assert (ends[0] is None) == (ends[1] is None) == (item.i_min_a is None)
    if ends[0] is not None and ends[1] is not None:
        assert item.kind == "led"
        assert 0.8 <= ends[0] < ends[1] < min(item.v_v, 4.0)
        for fact in (part.facts.get("i_max_a"), part.facts.get("led_abs_max_a"), part.facts.get("led_if_max_a")):
            assert fact is None or item.i_a * 1.5 <= (fact.value or 0.0), "half as much again still flows over tolerances"


@each(LOADS)
def test_pin_only_feeds_what_its_line_says(part: Part, line: PartLine, item: Load) -> None:
    # Behaviour: the review adds up i_in_a, the resistor is worked out from the load; both must tell of the same current.
    if item.stage == "pin":
        assert line.i_in_a == pytest.approx(item.i_a)
        assert line.needs.series_ohm is None, "the resistor follows from the load"
        assert line.needs.driver_components == 1


# ------------------------------------------------------------------------------ curves


@pytest.mark.parametrize("pair", [pair for pair in LINES if pair[1].direction == "analog-in"], ids=named)
def test_analog_line_tells_its_law_or_why_not(pair: tuple[Part, PartLine]) -> None:
    # Behaviour: no law, no error budget; then the part admits it.
    part, line = pair
    admitted = any(entry.startswith(f"law of {line.name}:") for entry in part.unknown)
    assert (line.curve is not None) != admitted


@each(CURVES)
def test_curve_is_sane(part: Part, line: PartLine, item: Curve) -> None:
    # Property: definitions of the fields.
    assert line.direction == "analog-in"
    assert item.quantity
    assert item.unit in UNITS
    assert item.low < item.high
    assert 0 < item.tolerance < item.high - item.low
    assert item.bandwidth_hz is not None
    assert item.bandwidth_hz > 0
    if item.kind == "linear":
        assert item.gain_v != 0
        assert (item.r_fixed_ohm, item.r_ref_ohm, item.beta_k, item.gamma) == (None,) * 4
    else:
        assert (item.zero_v, item.gain_v, item.ratiometric) == (0.0, 0.0, False)
        assert item.tolerance < 1
        assert item.r_ref_ohm is not None
        assert 10 <= item.r_ref_ohm <= 1e7


@each([entry for entry in CURVES if entry[2].kind in RESISTIVE])
def test_resistive_sensor_names_its_divider(part: Part, line: PartLine, item: Curve) -> None:
    # Property: a resistance becomes a voltage only beside a fixed resistor, and follows a law with its own constant.
    assert item.r_fixed_ohm is not None
    assert 100 <= item.r_fixed_ohm <= 1e7
    assert item.at_ref is not None
    assert (item.beta_k is not None) == (item.kind == "ntc")
    assert (item.gamma is not None) == (item.kind == "ldr")
    assert line.r_in_ohm is not None
    assert line.r_in_ohm <= item.r_fixed_ohm, "a divider never looks weaker than its fixed resistor"


@each([entry for entry in CURVES if entry[2].kind == "linear"])
def test_linear_output_stays_inside_what_the_part_can_put_out(part: Part, line: PartLine, item: Curve) -> None:
    # Property: v_max is the highest voltage of the line; nothing goes below ground.
    supply = part.supply_v.typ or 3.3
    ends = [volts(item, item.low, supply), volts(item, item.high, supply)]
    highest = line.v_max.at(supply) if line.v_max is not None else supply
    assert min(ends) >= -1e-9
    assert max(ends) <= highest + 1e-4


# ------------------------------------------------------------------------------ currents


def currents(part: Part) -> list[tuple[str, Fact]]:
    facts = [("idle", part.current_a.idle), ("active", part.current_a.active), ("peak", part.current_a.peak)]
    return [(state, fact) for state, fact in facts if fact is not None]


@pytest.mark.parametrize("part", [part for part in PARTS if part.kind not in SOURCES], ids=lambda part: part.id)
def test_fed_part_says_what_it_takes(part: Part) -> None:
    # Behaviour: a supply budget with a hole in it is none.
    admitted = any(entry.startswith("active current:") for entry in part.unknown)
    assert (part.current_a.active is not None) != admitted


@pytest.mark.parametrize("part", [part for part in PARTS if currents(part)], ids=lambda part: part.id)
def test_currents_are_in_range_and_in_order(part: Part) -> None:
    # Property: amperes, not milliamperes (1 nA to 20 A; nothing at all only while idle), and never more asleep than at work.
    values = []
    for state, fact in currents(part):
        assert fact.unit == "A"
        assert fact.value is not None, state
        assert 1e-9 <= fact.value <= 20.0 or (state == "idle" and fact.value == 0.0), f"{state}: {fact.value}"
        assert fact.typ is None or fact.typ <= fact.value, "the budget counts with value, the safe side"
        values.append(fact.value)
    for lower, higher in itertools.pairwise(values):
        assert lower <= higher


@pytest.mark.parametrize("part", [part for part in PARTS if part.kind == "led-strip" or part.id.startswith("led-ws28")], ids=lambda p: p.id)
def test_current_of_a_strip_says_what_it_counts(part: Part) -> None:
    # Behaviour: 60 mA of one pixel taken for the whole strip starts a fire.
    for _, fact in currents(part):
        assert fact.value == 0.0 or any(word in fact.cond for word in ("per LED", "per metre", "per chip", "each LED")), fact.cond


# ------------------------------------------------------------------------------ published figures


def test_trigger_current_published() -> None:
    # Published: MOC3020 to MOC3023 data sheet DB91045: 30, 15, 10 and 5 mA, forward voltage 1.5 V at most at 10 mA.
    load = load_of("triac-opto-moc3020", "GATE")
    assert load.i_min_a == 0.015
    assert load.vf_max_v == 1.5
    assert part_of("triac-opto-moc3020").facts["led_trigger_a"].max == 0.030


def test_reflective_sensor_published() -> None:
    # Published: TCRT5000 data sheet 83760 Rev A4: forward voltage 1.25 V typical, 1.5 V at most, at 60 mA, the limit.
    load = load_of("reflective-opto-tcrt5000", "LED")
    assert load.vf_max_v == 1.5
    assert load.i_a * 1.5 <= 0.060


def test_fan_wire_published() -> None:
    # Published: 4-wire fan specification, 2.1.4: 25 kHz, at most 5 mA out of the wire, at most 5.25 V on it.
    load = load_of("fan-4wire-pwm", "PWM")
    assert (load.v_v, load.i_a, load.pwm_hz, load.inverts) == (5.25, 0.005, 25e3, True)


@pytest.mark.parametrize(
    ("part", "line", "quantity", "supply_v", "expected_v", "digit_v"),
    [
        # Published: ACS712 data sheet, x05B: 185 mV/A at 5 V around half the supply.
        ("current-sensor-acs712", "OUT", 1.0, 5.0, 2.685, 0.001),
        # Published: WCS1700 data sheet, page 3: 2.5 V at zero and 30 mV/A at 5 V.
        ("current-sensor-wcs1700", "VOUT", 10.0, 5.0, 2.8, 0.001),
        # Published: TMP36 data sheet, first page: 750 mV at 25 °C, 10 mV a degree.
        ("temperature-tmp36", "VOUT", 25.0, 3.3, 0.750, 0.001),
        # Published: LM35 data sheet: 10 mV a degree from 0 °C.
        ("temperature-lm35", "VOUT", 100.0, 5.0, 1.000, 0.001),
        # Published: AD8495 data sheet, first page: 5 mV a degree; the reference of 1.25 V is that of many boards (memory).
        ("thermocouple-amp-ad8495", "OUT", 100.0, 3.3, 1.75, 0.01),
        # Ohm's law: 20 mA through 120 ohm; 10 V over 3.3 of 13.3 kohm; 4.2 V over 220 of 320 kohm.
        ("loop-4-20ma-receiver", "LOOP", 20.0, 24.0, 2.4, 0.001),
        ("voltage-0-10v-input", "IN", 10.0, 3.3, 10 * 3.3 / 13.3, 0.001),
        ("battery-voltage-sense", "VBAT", 4.2, 3.3, 4.2 * 220 / 320, 0.001),
    ],
)
def test_output_published(part: str, line: str, quantity: float, supply_v: float, expected_v: float, digit_v: float) -> None:
    assert volts(curve_of(part, line), quantity, supply_v) == pytest.approx(expected_v, abs=digit_v)


def test_limits_of_sensors_published() -> None:
    # Published: LM35 data sheet: LM35D 2 K at both ends of its range.  GL55 series manual, page 2: GL5528 has 10 to 20 kohm
    # at 10 lx and a gamma of 0.6.  IEC 60751 (memory): class B 0.3 K at 0 °C, 3.9 per mille a kelvin.
    assert curve_of("temperature-lm35", "VOUT").tolerance == 2.0
    cell = curve_of("ldr-gl5528", "LDR")
    assert cell.r_ref_ohm is not None
    assert cell.r_ref_ohm * (1 - cell.tolerance) <= 10e3
    assert cell.r_ref_ohm * (1 + cell.tolerance) >= 20e3
    assert cell.gamma == 0.6
    assert curve_of("pt1000-divider", "PT").tolerance == pytest.approx(0.3 * 3.9e-3, abs=5e-5)


@pytest.mark.parametrize(
    ("part", "state", "expected_a"),
    [
        # Published: MAX31855 data sheet, page 2: 900 uA typical, 1500 uA at most.
        ("thermocouple-max31855", "idle", 900e-6),
        ("thermocouple-max31855", "active", 1500e-6),
        # Published: MFRC522 data sheet, Table 1: power-down 10 uA at most; transmitter 60 mA, 6.5 mA digital, 10 mA analog part.
        ("rfid-mfrc522", "idle", 10e-6),
        ("rfid-mfrc522", "active", 76.5e-3),
        # Published: AD8495 data sheet, general description: 180 uA unloaded.
        ("thermocouple-amp-ad8495", "active", 180e-6),
        # Published: ACS711 data sheet, common characteristics: 5.5 mA at most at 3.3 V.
        ("current-sensor-acs711", "active", 5.5e-3),
        # Published: LM35 data sheet: 56 uA typical, LM35D at most 138 uA over its range, at 5 V.
        ("temperature-lm35", "active", 56e-6),
        ("temperature-lm35", "peak", 138e-6),
    ],
)
def test_current_published(part: str, state: str, expected_a: float) -> None:
    fact = getattr(part_of(part).current_a, state)
    assert fact.value == pytest.approx(expected_a, rel=1e-6)
    assert fact.seen == "read"


def test_dividers_a_maker_builds_make_the_gain_of_their_law(catalogue: Catalogue) -> None:
    # Kirchhoff: R_bottom / (R_top + R_bottom); a current through R_bottom alone makes R_bottom volts per ampere
    seen = 0
    for part in catalogue.parts.values():
        for line in part.line:
            if line.divided is None or line.curve is None:
                continue
            seen += 1
            made = line.divided
            gain = made.bottom_ohm / 1000 if made.top_ohm is None else made.bottom_ohm / (made.top_ohm + made.bottom_ohm)
            assert line.curve.gain_v == pytest.approx(gain, rel=1e-3), part.id  # the law of a loop is per milliampere
    assert seen >= 3
