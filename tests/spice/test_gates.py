"""MOSFET stages against ngspice: level and charge of the gate, what keeps it off, what an edge couples in (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import BOARDS, TIMES, VOLTS, Fitted, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.gates import (
    coupled_gate_v,
    gate_capacitance,
    gate_charge_time,
    gate_drive_power,
    gate_pull_window,
    gate_resistor_window,
    rc_charge_time,
)
from pinwright.circuits.mosfets import conduction_power, on_resistance
from pinwright.circuits.ranges import Range
from pinwright.facts.model import Load
from pinwright.fitting.interface.rails import pin_driver
from pinwright.fitting.setting import Switch

T_SWITCH_MAX_S = 100e-6  # what a stage that only switches may take

# Weak drives (2 mA of an nRF52840) charge no gate of the catalogue in 10 µs: no stage is synthesised there.
STAGES = [(board, part(kind)) for board in BOARDS if "nrf" not in board for kind in ("led-strip-12v-dimming", "solenoid-12v")]


def switch_of(one: Fitted) -> tuple[Switch, Load]:
    load = one.placed.line.asks.load
    assert load is not None
    name = one.piece("switch").part
    return next(switch for switch in one.bench.switches if switch.part == name), load


def drive_of(one: Fitted) -> Range:
    return Range(pin_driver(one.view.chip, 1e-5).voh.at(one.rail).low, one.rail.high)


@pytest.mark.parametrize(("board", "body"), STAGES, ids=short)
def test_a_fitted_gate_gets_the_drive_its_on_resistance_is_promised_at(board: str, body: str) -> None:
    one = fitted(board, body)
    switch, load = switch_of(one)
    on = on_resistance(switch.r_on, drive_of(one).low)
    assert on.r_ohm is not None
    assert on.at_v is not None
    sheet = Sheet()
    pulls = around(one.ohm("pull-down"), one.bench.tolerance) if one.circuit.of("pull-down") else (12e3,)
    for number, (gate_ohm, pull_ohm) in enumerate(ends(around(one.ohm("gate"), one.bench.tolerance), pulls)):
        # the level of the pin while it also feeds the pull
        high_v = pin_driver(one.view.chip, one.rail.high / pull_ohm).voh.at(one.rail).low
        pin, gate, drain = sheet.source(high_v), sheet.node(), sheet.node()
        sheet.resistor(pin, 0, pull_ohm)  # the pull sits at the pin: at the gate it would take 5 % of the drive
        sheet.resistor(pin, gate, gate_ohm)
        sheet.capacitor(gate, 0, 1e-9)
        sheet.leak(gate, 0.1e-6)  # data sheets of small MOSFETs: at most 100 nA
        sheet.ask(f"gate{number}", f"v({gate})")
        # a channel of exactly the promised resistance; the load as a resistor
        sheet.resistor(drain, 0, on.r_ohm)
        sheet.resistor(sheet.source(load.v_v), drain, load.v_v / load.i_a - on.r_ohm)
        sheet.ask(f"heat{number}", f"v({drain})^2/{on.r_ohm:.12g}")
    found = sheet.at_dc()
    assert min(value for name, value in found.items() if name.startswith("gate")) >= on.at_v * (1 - VOLTS)
    assert close(found["heat0"], conduction_power(load.i_a, on.r_ohm, 1.0), 2 * VOLTS)


def mosfet(sheet: Sheet, switch: Switch, load: Load, gate: str, vth_v: float) -> str:
    """A switch of that gate charge, most of it Miller charge, on its load; gives the drain.

    Level 1 with fixed capacitors that take the charge together: Cgs · V + Cgd · (V + V_load) at 4.5 V.
    """
    charge = switch.gate_charge_c or 1e-8
    c_gd_f = 0.4 * charge / (4.5 + load.v_v)
    c_gs_f = 0.6 * charge / 4.5
    drain = sheet.node()
    sheet.model(f"switch nmos(level=1 vto={vth_v} kp=200)")
    sheet.add("M", drain, gate, 0, 0, "switch")
    sheet.capacitor(gate, 0, c_gs_f)
    sheet.capacitor(gate, drain, c_gd_f)
    sheet.resistor(sheet.source(load.v_v), drain, load.v_v / load.i_a)
    return drain


@pytest.mark.parametrize(("board", "body"), STAGES, ids=short)
def test_a_fitted_gate_resistor_switches_in_time_and_spares_the_pin(board: str, body: str) -> None:
    one = fitted(board, body)
    switch, load = switch_of(one)
    drive, ohm = drive_of(one), one.ohm("gate")
    window = one.piece("gate").window
    assert window is not None
    sheet = Sheet()
    for name, gate_ohm in (("chosen", ohm), ("end", window.high.value)):
        gate = sheet.node()
        sheet.resistor(sheet.step(0.0, drive.low), gate, gate_ohm)
        drain = mosfet(sheet, switch, load, gate, switch.vgs_th_max_v)
        sheet.measure(name, f"when v({drain})={0.1 * load.v_v:.12g} fall=1")
    gate, meter = sheet.node(), sheet.node()
    current = sheet.meter(sheet.step(0.0, drive.high), meter)
    sheet.resistor(meter, gate, ohm)
    mosfet(sheet, switch, load, gate, switch.vgs_th_max_v)
    sheet.measure("rush", f"max i({current})")
    found = sheet.over_time(2 * T_SWITCH_MAX_S)
    assert found["chosen"] <= found["end"] <= T_SWITCH_MAX_S * (1 + TIMES)
    limit_a = drive.high / window.low.value
    assert found["rush"] <= limit_a * (1 + VOLTS)
    assert close(found["rush"], drive.high / ohm, 0.02)  # an empty gate is a short at the first moment


def test_a_gate_of_a_given_charge_at_a_constant_current() -> None:
    # charge and capacitor are one: 20 nC at 5 V, pushed by 1 mA
    c_f = gate_capacitance(20e-9, 5.0)
    sheet = Sheet()
    gate = sheet.node()
    sheet.current(0, gate, 1e-3)
    sheet.capacitor(gate, 0, c_f, 0.0)
    sheet.measure("t", f"when v({gate})=5 rise=1")
    assert close(sheet.over_time(30e-6, from_states=True)["t"], gate_charge_time(20e-9, 1e-3), TIMES)


@pytest.mark.parametrize(
    ("ohm", "c_f", "drive_v", "threshold_v"), [(330.0, 1e-9, 3.3, 2.475), (10e3, 2.6e-9, 5.0, 4.5), (100.0, 4e-9, 3.2, 1.45)]
)
def test_a_gate_behind_a_resistor(ohm: float, c_f: float, drive_v: float, threshold_v: float) -> None:
    sheet = Sheet()
    gate = sheet.node()
    sheet.resistor(sheet.step(0.0, drive_v), gate, ohm)
    sheet.capacitor(gate, 0, c_f, 0.0)
    sheet.measure("t", f"when v({gate})={threshold_v} rise=1")
    assert close(sheet.over_time(4 * ohm * c_f, from_states=True)["t"], rc_charge_time(ohm, c_f, drive_v, threshold_v), TIMES)


def test_the_high_end_of_a_gate_resistor_is_on_the_safe_side() -> None:
    # at the end, the current left at the plateau moves the whole charge in just that time; a twentieth weaker it does not
    window = gate_resistor_window(Range(3.2, 3.4, 3.3), 20e-3, 5e-9, 1.45, 10e-6)
    sheet = Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        plateau = sheet.node()
        sheet.resistor(sheet.source(3.2), plateau, window.high.value * factor)
        sheet.ask(name, f"5e-9/i({sheet.add('V', plateau, 0, 'dc 1.45')})")
    found = sheet.at_dc()
    assert close(found["at"], 10e-6, TIMES)
    assert found["beyond"] > 10e-6 * (1 + TIMES)
    low = Sheet()
    low.resistor(low.source(3.4), 0, window.low.value)
    meter = low.node()
    low.ask("i", f"i({low.meter(low.source(3.4), meter)})")
    low.resistor(meter, 0, window.low.value)
    assert close(low.at_dc()["i"], 20e-3, VOLTS)


def test_the_power_a_gate_takes_from_its_driver() -> None:
    # one period at 100 kHz: what the source gives is Qg · V, half stored and half burnt
    c_f, v_v, f_hz = gate_capacitance(20e-9, 10.0), 10.0, 100e3
    sheet = Sheet()
    pin, gate, meter = sheet.step(0.0, v_v), sheet.node(), sheet.node()
    current = sheet.meter(pin, meter)
    sheet.resistor(meter, gate, 100.0)
    sheet.capacitor(gate, 0, c_f, 0.0)
    sheet.measure("charge", f"integ i({current})")
    found = sheet.over_time(20 * 100.0 * c_f, from_states=True)
    assert close(found["charge"] * v_v * f_hz, gate_drive_power(20e-9, v_v, f_hz), TIMES)


@pytest.mark.parametrize(
    ("dv_v", "t_s", "ohm", "c_gd_f", "c_gs_f"),
    [(12.0, 1e-6, 10e3, 50e-12, 500e-12), (24.0, 50e-9, 100e3, 75e-12, 550e-12), (12.0, 100e-9, 470.0, 50e-12, 500e-12)],
)
def test_an_edge_on_the_drain_couples_into_the_gate(dv_v: float, t_s: float, ohm: float, c_gd_f: float, c_gs_f: float) -> None:
    assert close(coupled(dv_v, t_s, ohm, c_gd_f, c_gs_f), coupled_gate_v(dv_v, t_s, ohm, c_gd_f, c_gs_f), VOLTS)


def coupled(dv_v: float, t_s: float, ohm: float, c_gd_f: float, c_gs_f: float) -> float:
    """Highest gate voltage by ngspice while the drain ramps up [V]."""
    sheet = Sheet()
    gate = sheet.node()
    drain = sheet.step(0.0, dv_v, edge_s=t_s)
    sheet.capacitor(gate, drain, c_gd_f)
    sheet.capacitor(gate, 0, c_gs_f)
    sheet.resistor(gate, 0, ohm)
    sheet.measure("v", f"max v({gate})")
    return sheet.over_time(2 * t_s)["v"]


def test_the_ends_of_a_gate_pull_window_are_ends() -> None:
    edge = {"dv_v": 24.0, "t_edge_s": 200e-9, "c_gd_f": 75e-12, "c_gs_f": 550e-12}
    by_edge = gate_pull_window(0.8, 2e-6, r_gate_ohm=22.0, i_idle_max_a=20e-3, **edge)
    assert "couples" in by_edge.high.because
    r_ohm = by_edge.high.value
    assert close(coupled(24.0, 200e-9, r_ohm, 75e-12, 550e-12), 0.4, VOLTS)
    assert coupled(24.0, 200e-9, 1.05 * r_ohm, 75e-12, 550e-12) > 0.4 * (1 + VOLTS)

    by_leak, by_loss = gate_pull_window(0.8, 20e-6), gate_pull_window(0.8, 2e-6, r_gate_ohm=220.0)
    sheet = Sheet()
    for name, factor in (("at", 1.0), ("beyond", 1.05)):
        floats, gate = sheet.node(), sheet.node()
        sheet.resistor(floats, 0, by_leak.high.value * factor)
        sheet.leak(floats, -20e-6)
        sheet.ask(f"leak_{name}", f"v({floats})")
        sheet.resistor(sheet.source(5.0), gate, 220.0)
        sheet.resistor(gate, 0, by_loss.low.value / factor)
        sheet.ask(f"loss_{name}", f"1-v({gate})/5")
    found = sheet.at_dc()
    assert close(found["leak_at"], 0.4, VOLTS)
    assert found["leak_beyond"] > 0.4 * (1 + VOLTS)
    assert close(found["loss_at"], 0.02, VOLTS)
    assert found["loss_beyond"] > 0.02 * (1 + VOLTS)
