"""LEDs against ngspice: as a fixed forward voltage exactly, as a diode with its own curve within stated bounds (kind: oracle)."""

from __future__ import annotations

import math

import pytest
from fitted import BOARDS, VOLTS, Fitted, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.leds import led_current, led_plan, series_resistor
from pinwright.circuits.ranges import Range
from pinwright.facts.model import Load

CASES = [(board, part(kind)) for board in BOARDS for kind in ("led-red", "led-blue")]


def led(sheet: Sheet, name: str, rail_v: float, vf_v: float, ohm: float) -> str:
    """An LED as a voltage source behind its resistor: the current asked for as ``name``."""
    top, anode = sheet.source(rail_v), sheet.node()
    sheet.resistor(top, anode, ohm)
    forward = sheet.add("V", anode, 0, f"dc {vf_v:.12g}")
    return sheet.ask(name, f"i({forward})")


def load_of(one: Fitted) -> tuple[Load, Range]:
    load = one.placed.line.asks.load
    assert load is not None
    assert load.vf_min_v is not None
    assert load.vf_max_v is not None
    return load, Range(load.vf_min_v, load.vf_max_v)


def pin_ohm(one: Fitted) -> Range:
    """Output resistance of the pin: nothing, or its data sheet's high level at its load, where the load is known [ohm]."""
    electrical = one.view.chip.electrical
    rail_v = one.view.board.logic_v
    if electrical.voh_i_a is None or electrical.voh_i_a.value is None:
        return Range(0.0, 0.0)
    return Range(0.0, (rail_v - electrical.voh_min.at(rail_v)) / electrical.voh_i_a.value)


@pytest.mark.parametrize(("board", "body"), CASES, ids=short)
def test_a_fitted_led_keeps_its_current_at_every_corner(board: str, body: str) -> None:
    one = fitted(board, body)
    if one.circuit.of("series resistor") is None:
        assert one.circuit.of("driver") is not None  # the board's high may not reach the forward voltage
        return
    load, vf = load_of(one)
    pin = pin_ohm(one)
    sheet, claims = Sheet(), {}
    for number, (rail_v, vf_v, ohm, out_ohm) in enumerate(
        ends((one.rail.low, one.rail.high), (vf.low, vf.high), around(one.ohm("series"), one.bench.tolerance), (pin.low, pin.high))
    ):
        name = led(sheet, f"i{number}", rail_v, vf_v, ohm + out_ohm)
        claims[name] = led_current(rail_v, vf_v, ohm, r_pin_ohm=out_ohm)
    found = sheet.at_dc()
    assert all(close(found[name], claim, VOLTS) for name, claim in claims.items())
    check = next(check for check in one.circuit.checks if check.what == "current of the LED")
    limit_a = max(found.values()) + check.margin  # the LED's own limit, or the pin's where that is less
    assert limit_a <= load.i_a * 1.5 * (1 + VOLTS)
    assert check.margin >= 0
    assert min(found.values()) >= (load.i_min_a or 0.0) * (1 - VOLTS)


def test_the_ends_of_an_led_window_are_ends() -> None:
    rail, vf, tolerance, pin = Range(3.2, 3.4, 3.3), Range(1.8, 2.3), 0.05, Range(5.0, 40.0)
    window = led_plan(rail, vf, 10e-3, 2e-3, r_pin_ohm=pin, tolerance=tolerance).window
    sheet = Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        led(sheet, f"most_{name}", rail.high, vf.low, window.low.value * (1 - tolerance) / factor + pin.low)
        led(sheet, f"least_{name}", rail.low, vf.high, window.high.value * (1 + tolerance) * factor + pin.high)
    found = sheet.at_dc()
    assert close(found["most_at"], 10e-3, VOLTS)
    assert close(found["least_at"], 2e-3, VOLTS)
    assert found["most_beyond"] > 10e-3 * (1 + VOLTS)
    assert found["least_beyond"] < 2e-3 * (1 - VOLTS)


def test_leds_in_series_with_a_switch() -> None:
    sheet = Sheet()
    ohm = series_resistor(12.0, 2.0, 15e-3, 0.3, leds=3)
    led(sheet, "i", 12.0, 3 * 2.0 + 0.3, ohm)
    assert close(sheet.at_dc()["i"], 15e-3, VOLTS)


@pytest.mark.parametrize(("vf_v", "at_a", "slope"), [(2.0, 5e-3, 2.0), (2.9, 5e-3, 2.5), (1.2, 20e-3, 1.8)])
@pytest.mark.parametrize(("rail_v", "ohm"), [(3.3, 470.0), (5.0, 1000.0), (5.0, 330.0)])
def test_a_diode_of_that_forward_voltage_stays_near(vf_v: float, at_a: float, slope: float, rail_v: float, ohm: float) -> None:
    """A curve through (VF, I) with an emission coefficient of 1.8 to 2.5 and 5 Ω, against a fixed VF.

    The fixed forward voltage is one point of the curve: elsewhere it errs by n · 26 mV for every factor e of current.  So our
    current and the diode's agree within 8 % where a volt or more is left for the resistor, and within 30 % where it is 0.4 V:
    a spread of 0.2 V to both sides, less than the catalogue gives any LED, covers it.
    """
    thermal_v = 8.617333e-5 * 300.15  # ngspice's 27 °C
    series_ohm = 5.0
    saturation_a = at_a / math.expm1((vf_v - at_a * series_ohm) / (slope * thermal_v))
    sheet = Sheet()
    sheet.model(f"led d(is={saturation_a:.9g} n={slope} rs={series_ohm})")
    top, anode = sheet.source(rail_v), sheet.node()
    meter = sheet.node()
    current = sheet.meter(top, meter)
    sheet.resistor(meter, anode, ohm)
    sheet.add("D", anode, 0, "led")
    sheet.ask("i", f"i({current})")
    sheet.ask("v", f"v({anode})")
    found = sheet.at_dc()
    claim = led_current(rail_v, vf_v, ohm)
    assert close(found["i"], claim, 0.08 if rail_v - vf_v >= 1.0 else 0.30)
    assert led_current(rail_v, vf_v + 0.2, ohm) <= found["i"] <= led_current(rail_v, vf_v - 0.2, ohm)
    # the same circuit with the forward voltage the diode really has agrees exactly
    assert close(found["i"], led_current(rail_v, found["v"], ohm), VOLTS)
