"""I2C and 1-Wire against ngspice: rise with all pull-ups and capacitance, lows with the sink current, feeding parts (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import TIMES, VOLTS, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.i2c import MODES, bus_capacitance, bus_window, c_bus_max, fitted_pulls, pull_up_max, pull_up_min
from pinwright.circuits.onewire import pull_up_drop
from pinwright.circuits.onewire import pull_up_max as feeding_max
from pinwright.circuits.onewire import pull_up_plan as onewire_plan
from pinwright.circuits.ranges import Range


def rise(sheet: Sheet, name: str, ohms: list[float], c_f: float, rail_v: float) -> None:
    """A released bus wire: 30 and 70 % of the rail as UM10204 measures."""
    line, rail = sheet.node(), sheet.step(0.0, rail_v)
    for ohm in ohms:
        sheet.resistor(rail, line, ohm)
    sheet.capacitor(line, 0, c_f, 0.0)
    for share in (3, 7):
        sheet.measure(f"{name}_{share}", f"when v({line})={share / 10 * rail_v:.12g} rise=1")


def low(sheet: Sheet, name: str, ohms: list[float], rail_v: float, vol_v: float, i_sink_a: float) -> None:
    """A bus wire held low by an output that just keeps its promise: a resistor of VOL / IOL."""
    line, rail = sheet.node(), sheet.source(rail_v)
    for ohm in ohms:
        sheet.resistor(rail, line, ohm)
    sheet.resistor(line, 0, vol_v / i_sink_a)
    sheet.ask(name, f"v({line})")


ROUND = [
    (board, body)
    for board in ("esp32-wroom32-30pin", "raspberry-pi-pico-w", "xiao-nrf52840", "atmega328p-3v3-8mhz-narrow")
    for body in (
        part("sht31", "a"),
        part("sht31", "a") + part("bh1750", "b", 'wire = "50 cm"') + part("ssd1306-oled-i2c", "c", 'wire = "1 m"'),
    )
] + [("atmega328p-narrow-30pin", part("lcd1602-pcf8574", "a", 'wire = "40 cm"'))]


@pytest.mark.parametrize(("board", "body"), ROUND, ids=short)
def test_a_planned_bus_rises_and_falls_as_its_mode_asks(board: str, body: str) -> None:
    devices = body.count("[[part]]")
    wires = [fitted(board, body, f"{name}.SDA") for name in "abc"[:devices]]
    lines = [wire.placed.line.asks for wire in wires]
    one, check = next((wire, check) for wire in wires for check in wire.circuit.checks if check.what == "pull-ups of the bus")
    assert check.holds
    c_f = (devices + 1) * 10e-12 + sum(asks.wire_m for asks in lines) * 100e-12
    assert close(c_f, bus_capacitance(devices + 1, sum(asks.wire_m for asks in lines)), 1e-9)
    ohms = [asks.pull_fitted.ohm or 10e3 for asks in lines if asks.pull_fitted]
    added = one.circuit.of("pull-up")
    tolerance = 0.0 if ohms else one.bench.tolerance
    ohms += [added.ohm] if added and added.ohm else []
    limits = next(MODES[name] for name in ("fast_plus", "fast", "standard") if f"must rise in {MODES[name].t_rise_max_s * 1e9:.0f} ns" in
                  check.words.replace("1 µs", "1000 ns"))  # fmt: skip
    rising, held = Sheet(), Sheet()
    for number, (rail_v, factor) in enumerate(ends((one.rail.low, one.rail.high), around(1.0, tolerance))):
        all_of = [ohm * factor for ohm in ohms]
        rise(rising, f"t{number}", all_of, c_f, rail_v)
        low(held, f"v{number}", all_of, rail_v, 0.4, limits.i_sink_a)
    t, v = rising.over_time(8 * max(ohms) * c_f, from_states=True), held.at_dc()
    assert max(t[f"t{n}_7"] - t[f"t{n}_3"] for n in range(4)) <= limits.t_rise_max_s * (1 + TIMES)
    assert max(v.values()) <= 0.4 * (1 + VOLTS)


@pytest.mark.parametrize("mode", sorted(MODES))
@pytest.mark.parametrize("c_f", [60e-12, 200e-12])
def test_the_ends_of_a_bus_window_are_ends(mode: str, c_f: float) -> None:
    rail, tolerance, limits = Range(3.135, 3.465, 3.3), 0.05, MODES[mode]
    window = bus_window(mode, rail, c_f, tolerance=tolerance)
    rising, held = Sheet(), Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        rise(rising, name, [window.high.value * (1 + tolerance) * factor], c_f, rail.low)
        low(held, name, [window.low.value * (1 - tolerance) / factor], rail.high, 0.4, limits.i_sink_a)
    t, v = rising.over_time(8 * limits.t_rise_max_s, from_states=True), held.at_dc()
    assert close(t["at_7"] - t["at_3"], limits.t_rise_max_s, TIMES)
    assert t["beyond_7"] - t["beyond_3"] > limits.t_rise_max_s * (1 + TIMES)
    assert close(v["at"], 0.4, VOLTS)
    assert v["beyond"] > 0.4 * (1 + VOLTS)


def test_single_limits_of_a_bus() -> None:
    sheet = Sheet()
    rise(sheet, "r", [pull_up_max(300e-9, 200e-12)], 200e-12, 3.3)
    rise(sheet, "c", [10e3], c_bus_max(300e-9, 10e3), 3.3)
    t = sheet.over_time(3e-6, from_states=True)
    assert close(t["r_7"] - t["r_3"], 300e-9, TIMES)
    assert close(t["c_7"] - t["c_3"], 300e-9, TIMES)
    held = Sheet()
    low(held, "v", [pull_up_min(5.25)], 5.25, 0.4, 3e-3)
    assert close(held.at_dc()["v"], 0.4, VOLTS)


def test_what_to_do_with_fitted_pull_ups_works() -> None:
    # ten modules of 4.7 kΩ are too strong for 3 mA; after taking off what is advised the bus can be pulled low and rises
    window = bus_window("fast", 3.3, 100e-12)
    modules = [4700.0] * 10
    advice = fitted_pulls(window, modules)
    left = [ohm for place, ohm in enumerate(modules) if place not in advice.remove]
    held, rising = Sheet(), Sheet()
    low(held, "before", modules, 3.3, 0.4, 3e-3)
    low(held, "after", left, 3.3, 0.4, 3e-3)
    rise(rising, "t", left, 100e-12, 3.3)
    v, t = held.at_dc(), rising.over_time(3e-6, from_states=True)
    assert v["before"] > 0.4 >= v["after"] * (1 - VOLTS)
    assert t["t_7"] - t["t_3"] <= 300e-9


# ------------------------------------------------------------------------------ 1-Wire


@pytest.mark.parametrize("board", ["esp32-wroom32-30pin", "atmega328p-narrow-30pin", "raspberry-pi-pico-w"])
@pytest.mark.parametrize("wire", ["1 m", "5 m"])
def test_a_planned_1_wire_line_is_high_before_a_part_samples(board: str, wire: str) -> None:
    # DS18B20 data sheet: sampled 15 µs after the slot begins, of which 5 µs are the starting low; VIH 2.2 V at most, 25 pF, 4 mA at 0.4 V
    one = fitted(board, part("temp-ds18b20", "x", f'wire = "{wire}"'))
    ohm = one.ohm("pull-up")
    rising, held = Sheet(), Sheet()
    line = rising.node()
    rising.resistor(rising.step(0.0, one.rail.low), line, ohm * (1 + one.bench.tolerance))
    rising.capacitor(line, 0, 10e-12 + 25e-12 + one.placed.line.asks.wire_m * 100e-12, 0.0)
    rising.leak(line, one.leak_a + 1e-6)
    rising.measure("t", f"when v({line})=2.2 rise=1")
    low(held, "v", [ohm * (1 - one.bench.tolerance)], one.rail.high, 0.4, 4e-3)
    assert rising.over_time(30e-6, from_states=True)["t"] <= 10e-6
    assert held.at_dc()["v"] <= 0.4


@pytest.mark.parametrize(("parts", "cable_m"), [(1, 5.0), (5, 20.0), (8, 60.0)])
def test_the_ends_of_a_1_wire_window_are_ends(parts: int, cable_m: float) -> None:
    rail, tolerance = Range(3.0, 3.6, 3.3), 0.05
    plan = onewire_plan(rail, parts, cable_m, tolerance=tolerance)
    rising, held = Sheet(), Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        line = rising.node()
        rising.resistor(rising.step(0.0, rail.low), line, plan.window.high.value * (1 + tolerance) * factor)
        rising.capacitor(line, 0, parts * 25e-12 + cable_m * 50e-12, 0.0)
        rising.measure(name, f"when v({line})=2.2 rise=1")
        low(held, name, [plan.window.low.value * (1 - tolerance) / factor], rail.high, 0.4, 4e-3)
    t, v = rising.over_time(30e-6, from_states=True), held.at_dc()
    assert close(t["at"], 10e-6, TIMES)
    assert t["beyond"] > 10e-6 * (1 + TIMES)
    assert close(v["at"], 0.4, VOLTS)
    assert v["beyond"] > 0.4 * (1 + VOLTS)


def test_feeding_parts_through_the_line() -> None:
    # parts on parasite supply as current sinks of 1.5 mA; the diode that feeds their own capacitor is inside the 3.0 V they need
    strongest = feeding_max(3.3, 3.0, 1.5e-3)
    drop_v, enough = pull_up_drop(1000.0, 1.5e-3, 5.0, 3.0)
    sheet = Sheet()
    for name, rail_v, ohm in (("strong", 3.3, strongest), ("drop", 5.0, 1000.0)):
        line = sheet.node()
        sheet.resistor(sheet.source(rail_v), line, ohm)
        sheet.leak(line, 1.5e-3)
        sheet.ask(name, f"v({line})")
    found = sheet.at_dc()
    assert close(found["strong"], 3.0, VOLTS)
    assert close(5.0 - found["drop"], drop_v, VOLTS)
    assert enough == (found["drop"] >= 3.0)
