"""Bipolar low-side stages against ngspice: with VBE as a source exactly, with a generic transistor for saturation (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import BOARDS, VOLTS, Fitted, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.ranges import Range
from pinwright.circuits.transistors import VBE_OFF_V, base_pull_max, base_resistor, high_side_plan, input_current, low_side_plan
from pinwright.facts.model import Load
from pinwright.fitting.interface.rails import pin_driver
from pinwright.fitting.setting import Switch

V_BE_LOW_V = 0.6  # cold silicon at a milliampere, common practice, no source
GAIN = 10.0  # BC547 and 2N2222A data sheets give VCE(sat) at IC / IB = 10
THERMAL_V = 8.617333e-5 * 300.15

# The standard drive of an nRF52840 (2 mA) saturates no transistor at 30 mA: no stage is synthesised there.
STAGES = [(board, part("buzzer-active")) for board in BOARDS if "nrf" not in board]


def stage_of(one: Fitted) -> tuple[Switch, Load]:
    load = one.placed.line.asks.load
    assert load is not None
    name = one.piece("switch").part
    return next(switch for switch in one.bench.switches if switch.part == name), load


def is_npn(one: Fitted) -> bool:
    return one.circuit.of("driver") is not None and any(piece.role == "base" for piece in one.element("driver").pieces)


def drive_of(one: Fitted, load: Load) -> Range:
    """Level of the pin while it gives the base current, from its data sheet [V]."""
    high = pin_driver(one.view.chip, load.i_a / GAIN * 1.2).voh.at(one.rail)
    return Range(min(high.low, one.rail.low), one.rail.high)


@pytest.mark.parametrize(("board", "body"), STAGES, ids=short)
def test_a_fitted_stage_saturates_and_spares_the_pin(board: str, body: str) -> None:
    one = fitted(board, body)
    assert is_npn(one)
    switch, load = stage_of(one)
    drive = drive_of(one, load)
    pulls = (around(one.ohm("pull-down"), one.bench.tolerance)) if one.circuit.of("pull-down") else (1e9,)
    sheet, claims = Sheet(), {}
    corners = list(ends((drive.low, drive.high), (V_BE_LOW_V, switch.vbe_v), around(one.ohm("base"), one.bench.tolerance), pulls))
    for number, (drive_v, v_be_v, base_ohm, pull_ohm) in enumerate(corners):
        pin, meter, base = sheet.source(drive_v), sheet.node(), sheet.node()
        drawn = sheet.meter(pin, meter)
        sheet.resistor(meter, base, base_ohm)
        sheet.resistor(meter, 0, pull_ohm)  # the pull of the line sits at the pin
        sheet.add("V", base, 0, f"dc {v_be_v}")
        sheet.ask(f"pin{number}", f"i({drawn})")
        sheet.ask(f"base{number}", f"(v({meter})-v({base}))/{base_ohm:.12g}")
        claims[f"base{number}"] = input_current(drive_v, v_be_v, base_ohm)
    found = sheet.at_dc()
    assert all(close(found[name], claim, VOLTS) for name, claim in claims.items())
    assert min(found[name] for name in claims) >= load.i_a / GAIN * (1 - VOLTS)
    check = next(check for check in one.circuit.checks if check.what == "saturation")
    limit_a = one.view.chip.electrical.i_pin_design_a.value
    assert limit_a is not None
    drawn_a = max(value for name, value in found.items() if name.startswith("base"))
    # The check's margin is against the pin's limit; where that is its design current, ngspice gives the same margin.
    assert check.margin >= 0
    assert drawn_a + check.margin <= limit_a * (1 + VOLTS)


@pytest.mark.parametrize(("board", "body"), STAGES, ids=short)
def test_a_transistor_of_the_lowest_gain_saturates_in_a_fitted_stage(board: str, body: str) -> None:
    """Gummel-Poon with the data sheet's lowest gain and nothing else: qualitative, a tenth of a volt of room below VCE(sat)."""
    one = fitted(board, body)
    switch, load = stage_of(one)
    drive = drive_of(one, load)
    sheet = Sheet()
    sheet.model(f"small npn(is=1e-14 bf={switch.hfe_min:g} br=2 rc=0.5 re=0.1)")
    supply, collector, base = sheet.source(load.v_v), sheet.node(), sheet.node()
    pin, meter = sheet.source(drive.low), sheet.node()
    drawn = sheet.meter(pin, meter)
    sheet.resistor(meter, base, one.ohm("base") * (1 + one.bench.tolerance))
    sheet.resistor(supply, collector, load.v_v / load.i_a)
    sheet.add("Q", collector, base, 0, "small")
    sheet.ask("vce", f"v({collector})")
    sheet.ask("vbe", f"v({base})")
    sheet.ask("ib", f"i({drawn})")
    found = sheet.at_dc()
    assert found["vce"] < switch.vce_sat_v
    assert V_BE_LOW_V < found["vbe"] <= switch.vbe_v
    assert found["ib"] >= load.i_a / GAIN
    # with the base-emitter voltage the model has, our base current is the model's
    assert close(found["ib"], input_current(drive.low, found["vbe"], one.ohm("base") * (1 + one.bench.tolerance)), VOLTS)


def test_the_ends_of_a_base_window_are_ends() -> None:
    drive, v_be, tolerance, i_pin_a = Range(2.9, 3.4, 3.3), Range(0.65, 0.95), 0.05, 12e-3
    plan = low_side_plan(drive, 0.05, v_be_v=v_be, gain=10, v_ce_v=0.3, i_pin_max_a=i_pin_a, i_leak_a=5e-6, tolerance=tolerance)
    assert plan.pull_choice is not None
    pull_ohm = plan.pull_choice.value * (1 - tolerance)
    sheet = Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        # the pull-down sits across base and emitter here, as the formula counts it
        for kind, drive_v, v_be_v, ohm in (
            ("least", drive.low, v_be.high, plan.base.high.value * (1 + tolerance) * factor),
            ("most", drive.high, v_be.low, plan.base.low.value * (1 - tolerance) / factor),
        ):
            base = sheet.node()
            sheet.resistor(sheet.source(drive_v), base, ohm)
            sheet.resistor(base, 0, pull_ohm)
            inside = sheet.add("V", base, 0, f"dc {v_be_v}")
            sheet.ask(f"{kind}_{name}", f"i({inside})" if kind == "least" else f"({drive_v}-v({base}))/{ohm:.12g}")
    found = sheet.at_dc()
    assert close(found["least_at"], 0.05 / 10, VOLTS)
    assert found["least_beyond"] < 0.05 / 10 * (1 - VOLTS)
    assert close(found["most_at"], i_pin_a, VOLTS)
    assert found["most_beyond"] > i_pin_a * (1 + VOLTS)


def test_the_weakest_pull_that_keeps_a_transistor_off() -> None:
    # leakage of 5 µA into the base: at the limit 0.3 V, where a hot generic transistor (100 °C) passes under 1 % of its load
    ohm = base_pull_max(5e-6)
    sheet = Sheet()
    at, base, collector = sheet.node(), sheet.node(), sheet.node()
    sheet.resistor(at, 0, ohm)
    sheet.leak(at, -5e-6)
    sheet.ask("v", f"v({at})")
    sheet.model("small npn(is=1e-14 bf=100)")
    sheet.resistor(base, 0, ohm)
    sheet.leak(base, -5e-6)
    sheet.resistor(sheet.source(5.0), collector, 100.0)
    sheet.add("Q", collector, base, 0, "small", "temp=100")
    sheet.ask("i", f"(5-v({collector}))/100")
    found = sheet.at_dc()
    assert close(found["v"], VBE_OFF_V, VOLTS)
    assert found["i"] < 0.01 * 0.05


def test_a_base_resistor_beside_a_pull_down() -> None:
    sheet = Sheet()
    base = sheet.node()
    sheet.resistor(sheet.source(3.3), base, base_resistor(3.3, 0.7, 5e-3, 10e3))
    sheet.resistor(base, 0, 10e3)
    sheet.ask("i", f"i({sheet.add('V', base, 0, 'dc 0.7')})")
    assert close(sheet.at_dc()["i"], 5e-3, VOLTS)


def test_the_ends_of_a_high_side_base_window_are_ends() -> None:
    supply, v_eb, tolerance = Range(11.4, 12.6, 12.0), Range(0.7, 1.2), 0.05
    plan = high_side_plan(
        supply, 0.2, v_eb_v=v_eb, gain=20, v_ec_v=0.5, v_ce_driver_v=0.3, i_driver_max_a=50e-3, i_leak_a=5e-6, tolerance=tolerance
    )
    assert plan.pull_choice is not None
    sheet = Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        for kind, supply_v, v_eb_v, driver_v, ohm in (
            ("least", supply.low, v_eb.high, 0.3, plan.base.high.value * (1 + tolerance) * factor),
            ("most", supply.high, v_eb.low, 0.0, plan.base.low.value * (1 - tolerance) / factor),
        ):
            emitter, base, driver = sheet.source(supply_v), sheet.node(), sheet.source(driver_v)
            sheet.resistor(emitter, base, plan.pull_choice.value * (1 - tolerance))
            inside = sheet.add("V", emitter, base, f"dc {v_eb_v}")
            sheet.resistor(base, driver, ohm)
            sheet.ask(f"{kind}_{name}", f"i({inside})" if kind == "least" else f"(v({base})-v({driver}))/{ohm:.12g}")
    found = sheet.at_dc()
    assert close(found["least_at"], 0.2 / 20, VOLTS)
    assert found["least_beyond"] < 0.2 / 20 * (1 - VOLTS)
    assert close(found["most_at"], 50e-3, VOLTS)
    assert found["most_beyond"] > 50e-3 * (1 + VOLTS)


def test_a_darlington_takes_two_drops() -> None:
    # input of a Darlington array: 2.7 kΩ and two base-emitter junctions (SLRS027M); the model's own junctions are read back
    sheet = Sheet()
    sheet.model("half npn(is=1e-14 bf=100)")
    first, middle, collector, pin = sheet.node(), sheet.node(), sheet.node(), sheet.source(3.3)
    sheet.resistor(pin, first, 2700.0)
    sheet.add("Q", collector, first, middle, "half")
    sheet.add("Q", collector, middle, 0, "half")
    sheet.resistor(sheet.source(12.0), collector, 120.0)
    sheet.ask("drop", f"v({first})")
    sheet.ask("i", f"(v({pin})-v({first}))/2700")
    found = sheet.at_dc()
    assert 1.2 < found["drop"] < 1.7
    assert close(found["i"], input_current(3.3, found["drop"], 2700.0), VOLTS)
