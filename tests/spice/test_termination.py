"""Long lines against ngspice: RS-485 at rest, terminators that match, series resistors on an ideal line (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import VOLTS, close
from ngspice import Sheet

from pinwright.circuits.ranges import Range
from pinwright.circuits.termination import (
    R_UNIT_LOAD_OHM,
    bias_resistor,
    bias_voltage,
    bias_window,
    can_resistance,
    driver_resistance,
    matched_terminator,
    near_terminator,
    series_window,
    unit_loads,
)


def idle(sheet: Sheet, name: str, supply_v: float, bias_ohm: float, across_ohm: list[float], to_ground_ohm: float = 0.0) -> None:
    """An idle bus: one bias resistor to each rail, terminators across, receivers from each wire to ground; asks V(A) - V(B)."""
    a, b = sheet.node(), sheet.node()
    sheet.resistor(sheet.source(supply_v), a, bias_ohm)
    sheet.resistor(b, 0, bias_ohm)
    for ohm in across_ohm:
        sheet.resistor(a, b, ohm)
    if to_ground_ohm:
        sheet.resistor(a, 0, to_ground_ohm)
        sheet.resistor(b, 0, to_ground_ohm)
    sheet.ask(name, f"v({a})-v({b})")


def test_the_worked_example_of_ten_biased_nodes() -> None:
    # B+B application note, RS-485 biasing: ten nodes of 4.7 kΩ to each rail and 12 kΩ, two terminators of 120 Ω
    claim = bias_voltage(5.0, [4700.0] * 10, [120.0, 120.0], [12e3] * 10)
    sheet = Sheet()
    idle(sheet, "v", 5.0, 470.0, [120.0, 120.0, *[12e3] * 10])
    assert close(sheet.at_dc()["v"], claim.v_ab_v, VOLTS)


@pytest.mark.parametrize(("supply_v", "wanted_v", "loads"), [(4.75, 0.3, 32), (3.135, 0.3, 8), (5.0, 0.25, 2)])
def test_the_largest_bias_resistor_gives_the_wanted_voltage(supply_v: float, wanted_v: float, loads: float) -> None:
    # receivers as a resistor from each wire to ground, the near terminator plain or raised to match
    common_ohm = unit_loads(R_UNIT_LOAD_OHM, int(loads))
    plain_ohm = bias_resistor(supply_v, wanted_v, r_common_ohm=common_ohm, extra=-1)
    matched_ohm = bias_resistor(supply_v, wanted_v, r_common_ohm=common_ohm)
    sheet = Sheet()
    idle(sheet, "plain", supply_v, plain_ohm, [120.0, 120.0], common_ohm)
    idle(sheet, "matched", supply_v, matched_ohm, [120.0, near_terminator(120.0, matched_ohm)], common_ohm)
    idle(sheet, "weaker", supply_v, 1.05 * plain_ohm, [120.0, 120.0], common_ohm)
    found = sheet.at_dc()
    assert close(found["plain"], wanted_v, VOLTS)
    assert close(found["matched"], wanted_v, VOLTS)
    assert found["weaker"] < wanted_v * (1 - VOLTS)


@pytest.mark.parametrize("loads", [1.0, 4.0])
def test_the_ends_of_a_bias_window_are_ends(loads: float) -> None:
    # a driver is promised into 54 Ω (TIA/EIA-485-A, from memory): what it sees is measured with 1 A pushed through
    window = bias_window(4.75, loads)
    common_ohm = R_UNIT_LOAD_OHM / loads
    sheet = Sheet()
    idle(sheet, "idle", 4.75, window.high.value, [120.0, 120.0], common_ohm)
    for name, factor in (("at", 1.0), ("beyond", 1 / 1.1)):
        a, b = sheet.node(), sheet.node()
        for wire in (a, b):
            sheet.resistor(wire, 0, window.low.value * factor)
            sheet.resistor(wire, 0, common_ohm)
        sheet.resistor(a, b, 60.0)
        sheet.current(b, a, 1.0)
        sheet.ask(f"load_{name}", f"v({a})-v({b})")
    found = sheet.at_dc()
    assert close(found["idle"], 0.3, VOLTS)
    assert close(found["load_at"], 54.0, VOLTS)
    assert found["load_beyond"] < 54.0


def line_voltage(z0_ohm: float, source_ohm: float, end_ohm: float, at_end: bool, after: float) -> float:
    """Voltage on an ideal line of 10 ns after a step of 1 V, ``after`` delays later [V]."""
    sheet = Sheet()
    near, far = sheet.node(), sheet.node()
    sheet.resistor(sheet.step(0.0, 1.0), near, source_ohm)
    sheet.add("T", near, 0, far, 0, f"z0={z0_ohm:.12g} td=10n")
    sheet.resistor(far, 0, end_ohm)
    sheet.measure("v", f"find v({far if at_end else near}) at={after * 10e-9:.12g}")
    return sheet.over_time(50e-9)["v"]


def test_the_ends_of_a_series_window_ring_as_said() -> None:
    # an open end doubles what arrives: 2 Z0 / (Z0 + Rs) of the step, the overshoot is what exceeds 1
    z0_ohm, driver = 100.0, Range(15.0, 35.0)
    window = series_window(z0_ohm, driver, overshoot=0.25)
    at_low = line_voltage(z0_ohm, window.low.value + driver.low, 1e9, True, 1.5)
    at_high = line_voltage(z0_ohm, window.high.value + driver.high, 1e9, True, 1.5)
    assert close(at_low, 1.25, VOLTS)
    assert close(at_high, 0.75, VOLTS)
    assert line_voltage(z0_ohm, window.low.value / 1.1 + driver.low, 1e9, True, 1.5) > 1.25 * (1 + VOLTS)
    assert line_voltage(z0_ohm, window.high.value * 1.1 + driver.high, 1e9, True, 1.5) < 0.75 * (1 - VOLTS)


def test_a_matched_end_sends_nothing_back() -> None:
    # a terminator beside another load: the near end keeps half the step, also after the echo would be back
    end_ohm = matched_terminator(100.0, 1200.0)
    together_ohm = 1 / (1 / end_ohm + 1 / 1200.0)
    assert close(line_voltage(100.0, 100.0, together_ohm, False, 3.5), 0.5, VOLTS)
    assert not close(line_voltage(100.0, 100.0, 60.0, False, 3.5), 0.5, VOLTS)


def test_what_a_meter_shows_and_what_a_pin_is() -> None:
    sheet = Sheet()
    wires, pin = sheet.node(), sheet.node()
    for ohm in (120.0, 120.0, 60e3):
        sheet.resistor(wires, 0, ohm)
    sheet.current(0, wires, 1e-3)
    sheet.ask("bus", f"v({wires})/1e-3")
    # 2.64 V at 40 mA from 3.3 V: the resistance that drops as much
    sheet.resistor(sheet.source(3.3), pin, driver_resistance(3.3, 2.64, 40e-3))
    sheet.leak(pin, 40e-3)
    sheet.ask("pin", f"v({pin})")
    found = sheet.at_dc()
    seen, words = can_resistance([120.0, 120.0, 60e3])
    assert seen is not None
    assert close(found["bus"], seen, VOLTS)
    assert words.startswith("right")
    assert close(found["pin"], 2.64, VOLTS)
