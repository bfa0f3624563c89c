"""Pull resistors against ngspice: levels under leakage, currents while held, rises; and the ends of every window (kind: oracle)."""

from __future__ import annotations

from typing import Any

import pytest
from fitted import BOARDS, TIMES, VOLTS, Fitted, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.pulls import (
    leakage_drop,
    parallel,
    pull_down_plan,
    pull_rise_max,
    pull_sink_min,
    pull_up_plan,
    rise_time,
)
from pinwright.circuits.ranges import Range

I_PART_A = 1e-6  # leakage of a part nobody gives a figure for, common practice, no source
I_CONTACT_MAX_A = 1e-3  # what a contact held closed for hours may draw, common practice, no source
T_RISE_MAX_S = 100e-6  # contacts bounce for milliseconds, common practice, no source

UPS = [
    (board, body)
    for board in BOARDS
    for body in (part("reed-contact-door", "x", 'wire = "3 m"'), part("limit-switch-micro", "x", 'wire = "10 m"'))
]
DOWNS = [(board, part("led-strip-12v-dimming")) for board in BOARDS] + [
    (board, part("buzzer-active"))
    for board in BOARDS
    if board != "esp12f-30pin"  # its own pull-down serves there
]


def capacitance(one: Fitted) -> float:
    """Pin and part of 10 pF each, 100 pF for each metre of wire [F]   [UM10204 r5, table 10; wire: common practice]."""
    return 20e-12 + 100e-12 * one.placed.line.asks.wire_m


@pytest.mark.parametrize(("board", "body"), UPS, ids=short)
def test_a_fitted_pull_up_holds_its_level_and_spares_the_battery(board: str, body: str) -> None:
    one = fitted(board, body)
    sheet = Sheet()
    for number, (rail_v, ohm) in enumerate(ends((one.rail.low, one.rail.high), around(one.ohm("pull-up"), one.bench.tolerance))):
        rail, open_, closed = sheet.source(rail_v), sheet.node(), sheet.node()
        sheet.resistor(rail, open_, ohm)
        sheet.leak(open_, one.leak_a + I_PART_A)
        sheet.ask(f"margin{number}", f"v({open_})-{one.vih_v(rail_v):.12g}")
        sheet.ask(f"drop{number}", f"v({rail})-v({open_})-{leakage_drop(ohm, one.leak_a + I_PART_A):.12g}")
        sheet.resistor(rail, closed, ohm)
        held = sheet.meter(closed, 0)
        sheet.ask(f"held{number}", f"i({held})")
    found = sheet.at_dc()
    assert min(value for name, value in found.items() if name.startswith("margin")) > 0
    assert max(abs(value) for name, value in found.items() if name.startswith("drop")) < VOLTS * one.rail.low
    held_a = max(value for name, value in found.items() if name.startswith("held"))
    piece = one.piece("pull-up")
    assert piece.window is not None
    assert piece.value is not None
    # A part may ask for more than the usual current (2.2 kΩ wet the contacts of a switch): then its window starts lower.
    asked = one.placed.line.asks.needs.pull_ohm
    most_a = max(I_CONTACT_MAX_A, 1.1 * one.rail.high / asked if asked else 0.0)
    assert (held_a <= most_a * (1 + VOLTS)) == (piece.value in piece.window)
    assert piece.value in piece.window or piece.origin == "as asked"


@pytest.mark.parametrize(("board", "body"), UPS, ids=short)
def test_a_fitted_pull_up_rises_in_time(board: str, body: str) -> None:
    one = fitted(board, body)
    sheet = Sheet()
    c_f = capacitance(one)
    worst_ohm = one.ohm("pull-up") * (1 + one.bench.tolerance)
    line = sheet.node()
    rail_v = one.rail.low
    sheet.resistor(sheet.step(0.0, rail_v), line, worst_ohm)
    sheet.leak(line, one.leak_a + I_PART_A)
    sheet.capacitor(line, 0, c_f, 0.0)
    sheet.measure("high", f"when v({line})={one.vih_v(rail_v):.12g} rise=1")
    assert sheet.over_time(6 * worst_ohm * c_f, from_states=True)["high"] <= T_RISE_MAX_S


@pytest.mark.parametrize(("board", "body"), DOWNS, ids=short)
def test_a_fitted_pull_down_keeps_a_stage_off_and_the_pin_overpowers_it(board: str, body: str) -> None:
    one = fitted(board, body)
    sheet = Sheet()
    for number, ohm in enumerate(around(one.ohm("pull-down"), one.bench.tolerance)):
        floats = sheet.node()
        sheet.resistor(floats, 0, ohm)
        sheet.leak(floats, -(one.leak_a + I_PART_A))
        sheet.ask(f"off{number}", f"v({floats})")
        meter = sheet.node()
        held = sheet.meter(sheet.source(one.rail.high), meter)
        sheet.resistor(meter, 0, ohm)
        sheet.ask(f"held{number}", f"i({held})")
    found = sheet.at_dc()
    window, design = one.piece("pull-down").window, one.view.chip.electrical.i_pin_design_a.value
    assert window is not None
    assert design is not None
    # Against a pull that a chip turns on at boot it may have to be strong: then the pin's design current is the limit.
    most_a = I_CONTACT_MAX_A if window.low.because.startswith("at most 1 mA") else design
    assert max(found["off0"], found["off1"]) <= 0.3  # below any transistor's threshold, common practice, no source
    assert max(found["held0"], found["held1"]) <= most_a


# ------------------------------------------------------------------------------ ends of windows

RAIL = Range(3.2, 3.4, 3.3)
VIH_V = 2.4
Case = tuple[str, dict[str, Any], str, str]
# What asks for the end, arguments, end of the window, and what ngspice must find there: level, current or time.
CASES: list[Case] = [
    ("leakage", {"i_leak_a": 20e-6}, "high", "level"),
    ("leakage and noise", {"i_leak_a": 20e-6, "v_noise_v": 0.3}, "high", "noise"),
    ("sink", {"i_leak_a": 1e-6, "i_sink_a": 4e-3, "vol_v": 0.4}, "low", "sink"),
    ("idle", {"i_leak_a": 1e-6, "i_idle_max_a": 1e-3}, "low", "idle"),
    ("wetting", {"i_leak_a": 1e-6, "i_wetting_a": 0.5e-3}, "high", "wetting"),
    ("rise", {"i_leak_a": 1e-9, "t_rise_s": 1e-6, "c_f": 100e-12}, "high", "rise"),
]


@pytest.mark.parametrize(("name", "given", "end", "kind"), CASES, ids=[case[0] for case in CASES])
def test_the_ends_of_a_pull_up_window_are_ends(name: str, given: dict[str, Any], end: str, kind: str) -> None:
    """At the end, with the resistor at its worse tolerance, the condition just holds; a twentieth further it fails."""
    tolerance = 0.05
    window = pull_up_plan(RAIL, VIH_V, tolerance=tolerance, **given).window
    limit = getattr(window, end)
    assert "noise" not in limit.because.split(" picks up ")[-1:], name
    outward = 1.05 if end == "high" else 1 / 1.05
    worse = 1 + tolerance if end == "high" else 1 - tolerance
    at, beyond = (_holds(kind, limit.value * worse * factor, given) for factor in (1.0, outward))
    assert at >= -_allowed(kind, given), f"{name}: at the end {at:g}"
    assert beyond < 0, f"{name}: beyond the end {beyond:g}"


def _allowed(kind: str, given: dict[str, Any]) -> float:
    share = TIMES if kind == "rise" else VOLTS
    size = {"level": VIH_V, "noise": VIH_V, "sink": 0.4, "idle": 1e-3, "wetting": 0.5e-3, "rise": given.get("t_rise_s", 0.0)}
    return share * float(size[kind])


def _holds(kind: str, ohm: float, given: dict[str, Any]) -> float:
    """Room left of the condition, by ngspice: negative fails."""
    sheet = Sheet()
    line = sheet.node()
    if kind in ("level", "noise"):
        sheet.resistor(sheet.source(RAIL.low), line, ohm)
        sheet.leak(line, given["i_leak_a"])
        sheet.ask("v", f"v({line})")
        return sheet.at_dc()["v"] - VIH_V - float(given.get("v_noise_v", 0.0))
    if kind == "sink":  # an output of 100 Ω: 0.4 V at 4 mA
        sheet.resistor(sheet.source(RAIL.high), line, ohm)
        sheet.resistor(line, 0, given["vol_v"] / given["i_sink_a"])
        sheet.ask("v", f"v({line})")
        return float(given["vol_v"] - sheet.at_dc()["v"])
    if kind in ("idle", "wetting"):
        sheet.resistor(sheet.source(RAIL.high if kind == "idle" else RAIL.low), line, ohm)
        sheet.ask("i", f"i({sheet.meter(line, 0)})")
        i_a = sheet.at_dc()["i"]
        return float(given["i_idle_max_a"] - i_a if kind == "idle" else i_a - given["i_wetting_a"])
    sheet.resistor(sheet.step(0.0, RAIL.low), line, ohm)
    sheet.capacitor(line, 0, given["c_f"], 0.0)
    sheet.measure("t", f"when v({line})={VIH_V} rise=1")
    return float(given["t_rise_s"] - sheet.over_time(8 * ohm * given["c_f"], from_states=True)["t"])


@pytest.mark.parametrize("end", ["low", "high"])
def test_the_ends_of_a_pull_down_window_are_ends(end: str) -> None:
    tolerance = 0.05
    window = pull_down_plan(0.8, 20e-6, voh_v=3.4, i_source_a=4e-3, tolerance=tolerance).window
    for factor, holds in ((1.0, True), (1.05 if end == "high" else 1 / 1.05, False)):
        sheet = Sheet()
        floats, driven = sheet.node(), sheet.node()
        ohm = getattr(window, end).value * (1 + tolerance if end == "high" else 1 - tolerance) * factor
        sheet.resistor(floats, 0, ohm)
        sheet.leak(floats, -20e-6)
        sheet.ask("level", f"v({floats})")
        meter = sheet.meter(sheet.source(3.4), driven)
        sheet.resistor(driven, 0, ohm)
        sheet.ask("drive", f"i({meter})")
        found = sheet.at_dc()
        room = (0.8 - found["level"]) / 0.8 if end == "high" else (4e-3 - found["drive"]) / 4e-3
        assert (room >= -VOLTS) == holds


def test_pulls_in_parallel_and_their_rise() -> None:
    ohms, c_f = (10e3, 4.7e3, 2.2e3), 150e-12
    sheet = Sheet()
    rail, line = sheet.step(0.0, 3.3), sheet.node()
    for ohm in ohms:
        sheet.resistor(rail, line, ohm)
    sheet.capacitor(line, 0, c_f, 0.0)
    sheet.measure("low", f"when v({line})={0.3 * 3.3} rise=1")
    sheet.measure("high", f"when v({line})={0.7 * 3.3} rise=1")
    together = parallel(*ohms)
    t = sheet.over_time(5 * together * c_f, from_states=True)
    assert close(t["high"] - t["low"], rise_time(together, c_f), TIMES)
    assert close(pull_rise_max(t["high"] - t["low"], c_f), together, TIMES)


def test_the_strongest_pull_a_driver_overpowers() -> None:
    # 16.5 Ω of output resistance: 0.66 V at 40 mA
    sheet = Sheet()
    line = sheet.node()
    sheet.resistor(sheet.source(3.3), line, pull_sink_min(3.3 - 0.66, 40e-3))
    sheet.resistor(line, 0, 16.5)
    sheet.ask("v", f"v({line})")
    assert close(sheet.at_dc()["v"], 0.66, VOLTS)


def test_a_leaking_line_rises_in_time() -> None:
    window = pull_up_plan(RAIL, VIH_V, 2e-6, t_rise_s=10e-6, c_f=100e-12, tolerance=0.05).window
    sheet = Sheet()
    line = sheet.node()
    sheet.resistor(sheet.step(0.0, RAIL.low), line, window.high.value * 1.05)
    sheet.capacitor(line, 0, 100e-12, 0.0)
    sheet.leak(line, 2e-6)
    sheet.measure("t", f"when v({line})={VIH_V} rise=1")
    assert sheet.over_time(50e-6, from_states=True)["t"] <= 10e-6 * (1 + TIMES)
