"""Expected values of the bench sheet against ngspice: dividers, pulls, transistor stages, on and off (kind: oracle)."""

from __future__ import annotations

import itertools
import os
import sys
from functools import lru_cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "spice"))

from ngspice import Sheet, available

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import prepare
from pinwright.pack.bench import BenchSheet, Expect, bench_sheet
from pinwright.pack.bench.mesh import edges_of, tolerance_of
from pinwright.pack.bench.outputs import switch_of
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build import Build, Item
from pinwright.pack.build.make import build_of
from pinwright.planning import plan_job
from pinwright.powerup.phases import internal_pull, leak_of_pin

BOARDS = ("esp32-wroom32-30pin", "atmega328p-narrow-30pin", "raspberry-pi-pico-w", "esp12f-30pin")
METER_OHM, NO_METER_OHM = 10e6, 1e12  # common practice, no source
CLOSE_V = 0.005


@pytest.fixture(autouse=True)
def _ngspice() -> None:
    if available():
        return
    text = "Debian package ngspice is not installed. Install it with: apt-get install ngspice"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    pytest.skip(text)


@lru_cache(maxsize=32)
def bench(board: str, kind: str, more: str = "") -> tuple[Build, BenchSheet, Rig]:
    catalogue = load_catalogue()
    text = f'title = "spice"\n[board]\nonly = ["{board}"]\n[[part]]\nname = "x"\nkind = "{kind}"\n{more}\n'
    build = build_of(plan_job(prepare(parse_brief(text, "spice.toml", catalogue), catalogue)))
    return build, bench_sheet(build), Rig(build)


def find(sheet: BenchSheet, phase: str, line: str, item: str, when: str, quantity: str = "voltage") -> Expect:
    """The one expectation at an item while something holds."""
    found = [
        e for step in sheet.steps if step.phase == phase and line in step.lines for e in step.expects
        if e.at is not None and e.at.item == item and when in e.when and e.quantity == quantity
    ]  # fmt: skip
    assert found, [(e.at, e.when) for step in sheet.steps if step.phase == phase for e in step.expects]
    return found[0]


def ends(build: Build, item: Item) -> tuple[float, float]:
    share = tolerance_of(build, item)
    assert item.value is not None
    return item.value * (1 - share), item.value * (1 + share)


def weakest_ohm(build: Build, rail_v: float) -> float:
    """The pad at its weakest: a resistor to its rail; a figure in plain volts holds at the usual supply."""
    electrical = build.plan.view.chip.electrical
    level = electrical.voh_min
    usual_v = rail_v if level.frac else electrical.vdd_typ_v.value or rail_v
    at_a = electrical.voh_i_a.value if electrical.voh_i_a is not None and electrical.voh_i_a.value else 4e-3
    return max((usual_v - level.at(usual_v)) / at_a, 0.1)


def one(rig: Rig, line: str, role: str) -> Item:
    return next(item for item in rig.pieces(line, "resistor") if item.role == role)


def held(expect: Expect, found: list[float], low_slack: float = CLOSE_V, high_slack: float = CLOSE_V) -> None:
    """What the simulator found lies within the bounds, and the bounds lie at what it found (no wider than the slack)."""
    assert expect.low is not None
    assert expect.high is not None
    assert expect.low - CLOSE_V <= min(found)
    assert max(found) <= expect.high + CLOSE_V
    assert min(found) - expect.low <= low_slack
    assert expect.high - max(found) <= high_slack


@pytest.mark.parametrize("board", [board for board in BOARDS if "atmega" not in board])
def test_a_divider_as_the_sheet_says(board: str):
    build, sheet, rig = bench(board, "ultrasonic-hc-sr04")
    upper, lower = one(rig, "x.ECHO", "upper"), one(rig, "x.ECHO", "lower")
    part = find(sheet, "running", "x.ECHO", "x", "high")
    expect = find(sheet, "running", "x.ECHO", "board", "high")
    leak = leak_of_pin(build.plan.view.chip)
    spice, names = Sheet(), []
    corners = itertools.product((part.low, part.high), ends(build, upper), ends(build, lower), (-leak, leak), (METER_OHM, NO_METER_OHM))
    for number, (echo_v, top, bottom, leak_a, meter_ohm) in enumerate(corners):
        assert echo_v is not None
        source, pin = spice.source(echo_v), spice.node()
        spice.resistor(source, pin, top)
        spice.resistor(pin, 0, bottom)
        spice.resistor(pin, 0, meter_ohm)
        spice.leak(pin, leak_a)
        names.append(spice.ask(f"v{number}", f"v({pin})"))
    found = spice.at_dc()
    held(expect, [found[name] for name in names])
    assert expect.typical == pytest.approx(5.0 * (lower.value or 0) / ((upper.value or 0) + (lower.value or 0)), rel=1e-6)


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("more", ["wire = '3 m'", "[part.change.SW]\npull_resistor = '4k7'"])
def test_a_fitted_pull_up_as_the_sheet_says(board: str, more: str):
    build, sheet, rig = bench(board, "push-button-momentary", more)
    rail, leak = rig.rail, leak_of_pin(build.plan.view.chip)
    pulls = [item for item in rig.pieces("x.SW", "resistor") if item.role == "pull-up"]
    expect = find(sheet, "running", "x.SW", "board", "open")
    hidden = [(low, high, v_low, v_high) for low, high, v_low, v_high in rig.hidden_pulls(rig.placed["x.SW"])]
    spice, names = Sheet(), []
    assert pulls or hidden  # one board brings the pull itself
    for number, (rail_v, leak_a, meter, side) in enumerate(
        itertools.product((rail.low, rail.high), (-leak, leak), (METER_OHM, NO_METER_OHM), (0, 1))
    ):
        pin = spice.node()
        for pull in pulls:
            spice.resistor(spice.source(rail_v), pin, ends(build, pull)[side])
        spice.resistor(pin, 0, meter)
        spice.leak(pin, leak_a)
        for branch in hidden:
            spice.resistor(spice.source(rail_v if branch[3] else 0.0), pin, branch[side])
        names.append(spice.ask(f"v{number}", f"v({pin})"))
    found = spice.at_dc()
    held(expect, [found[name] for name in names])


@pytest.mark.parametrize("board", BOARDS)
def test_a_relay_input_before_firmware_as_the_sheet_says(board: str):
    build, sheet, rig = bench(board, "relay-module-active-high", 'power_up = "must stay off"')
    rail, leak, chip = rig.rail, leak_of_pin(build.plan.view.chip), build.plan.view.chip
    expect = find(sheet, "set-up", "x.IN", "board", "the pad")
    own = {"is pulled up": "up", "is pulled down": "down"}
    direction = next((side for words, side in own.items() if words in expect.when), "")
    pulls = [item for item in rig.pieces("x.IN", "resistor") if item.role == "pull-down"]
    spice, names = Sheet(), []
    for number, (rail_v, leak_a, meter, side) in enumerate(
        itertools.product((rail.low, rail.high), (-leak, leak), (METER_OHM, NO_METER_OHM), (0, 1))
    ):
        for other in (0, 1):
            pin = spice.node()
            for pull in pulls:
                spice.resistor(pin, 0, ends(build, pull)[side])
            for branch in rig.hidden_pulls(rig.placed["x.IN"]):
                spice.resistor(spice.source(rail_v if branch[3] else 0.0), pin, branch[side])
            if direction:
                spice.resistor(spice.source(rail_v if direction == "up" else 0.0), pin, internal_pull(chip, direction)[other])
            spice.resistor(pin, 0, meter)
            spice.leak(pin, leak_a)
            names.append(spice.ask(f"v{number}x{other}", f"v({pin})"))
    found = spice.at_dc()
    volts = [max(found[name], -0.3) for name in names]  # the pad's own diode holds it there
    # The timeline's proof takes every resistor at ± 5 %, which may be wider than the tolerance bought.
    held(expect, volts, low_slack=0.05, high_slack=0.05)


NPN = "x_npn npn(is=1.2e-14 bf={bf:g} rb=10 rc=0.3)"


@pytest.mark.parametrize("board", BOARDS[:3])
def test_a_transistor_stage_on_and_off_as_the_sheet_says(board: str):
    build, sheet, rig = bench(board, "buzzer-active")
    base = one(rig, "x.SIG", "base") if "x.SIG" in rig.placed else one(rig, next(iter(rig.placed)), "base")
    line = base.line
    transistor = rig.pieces(line, "npn")[0]
    switch, load = (
        switch_of(rig, transistor),
        rig.placed[line].asks.load if hasattr(rig.placed[line], "asks") else rig.placed[line].line.asks.load,
    )
    assert switch is not None
    assert load is not None
    pin_on, base_on = (find(sheet, "running", line, item, "drives it high") for item in ("board", transistor.ref))
    top_off, top_on = (find(sheet, "loads", line, transistor.ref, f"pin {level}") for level in ("low", "high"))
    rail = rig.rail
    downs = [item for item in rig.pieces(line, "resistor") if item.role == "pull-down"]
    spice = Sheet()
    spice.model(NPN.format(bf=switch.hfe_min))
    names: list[tuple[str, str]] = []
    for number, (rail_v, ohm) in enumerate(itertools.product((rail.low, rail.high), ends(build, base))):
        weakest = weakest_ohm(build, rail_v)
        for kind, r_pad in (("weak", weakest), ("strong", 0.1)):
            pin, inner, top = spice.node(), spice.node(), spice.node()
            spice.resistor(spice.source(rail_v), pin, r_pad)
            spice.resistor(pin, inner, ohm)
            for down in downs:
                spice.resistor(pin, 0, down.value or 1e4)
            spice.add("Q", top, inner, 0, "x_npn")
            spice.resistor(spice.source(load.v_v), top, load.v_v / load.i_a)
            names += [
                (spice.ask(f"{what}{number}{kind}", f"v({node})"), what) for what, node in (("pin", pin), ("base", inner), ("top", top))
            ]
    # Off: the pin is low, at most its VOL; the collector rests at the supply of the load.
    inner, top = spice.node(), spice.node()
    spice.resistor(spice.source(0.01), inner, base.value or 1e3)
    spice.add("Q", top, inner, 0, "x_npn")
    spice.resistor(spice.source(load.v_v), top, load.v_v / load.i_a)
    off = spice.ask("off", f"v({top})")
    found = spice.at_dc()
    for expect, what in ((pin_on, "pin"), (base_on, "base"), (top_on, "top")):
        assert expect.low is not None
        assert expect.high is not None
        volts = [found[name] for name, which in names if which == what]
        assert expect.low - CLOSE_V <= min(volts), (what, expect)
        assert max(volts) <= expect.high + CLOSE_V, (what, expect)
    assert top_off.low is not None
    assert top_off.high is not None
    assert top_off.low <= found[off] <= top_off.high


@pytest.mark.parametrize("board", BOARDS)
def test_an_ohmmeter_shows_what_the_sheet_says(board: str):
    # A current of 1 A into one net and out of the other: the voltage between them is the resistance.
    build, sheet, _ = bench(board, "ultrasonic-hc-sr04", "[[part]]\nname='k'\nkind='push-button-momentary'\nwire='3 m'\ncount=3")
    edges = edges_of(build)
    steps = [
        step
        for step in sheet.of("continuity")
        if len(step.nets) == 2 and step.expects[0].quantity == "resistance" and "in place" in step.title
    ]
    assert len(steps) == len(edges)
    for step in steps:
        for end in ("low", "high"):
            spice = Sheet()
            nodes = {net.id: spice.node() for net in build.nets}
            for edge in edges:
                spice.resistor(nodes[edge.a], nodes[edge.b], getattr(edge.ohm, end))
            for node in nodes.values():
                spice.resistor(node, 0, 1e12)
            a, b = (nodes[net] for net in step.nets)
            spice.current(b, a, 1e-6)
            spice.ask("ohm", f"(v({a})-v({b}))/1e-6")
            ohm = spice.at_dc()["ohm"]
            expect = step.expects[0]
            assert expect.low is not None
            assert expect.high is not None
            assert expect.low <= ohm <= expect.high
            assert abs((expect.low if end == "low" else expect.high) / ohm - 1) < 0.01


@pytest.mark.parametrize("board", BOARDS[:3])
def test_a_mosfet_stage_on_and_off_as_the_sheet_says(board: str):
    build, sheet, rig = bench(board, "solenoid-12v", 'power_up = "must stay off"')
    line = next(iter(rig.placed))
    transistor, gate = rig.pieces(line, "nmos")[0], one(rig, line, "gate")
    switch, load = switch_of(rig, transistor), rig.placed[line].line.asks.load
    assert switch is not None
    assert load is not None
    gate_on, gate_off = (find(sheet, "running", line, transistor.ref, f"drives it {level}") for level in ("high", "low"))
    top_off, top_on = (find(sheet, "loads", line, transistor.ref, f"pin {level}") for level in ("low", "high"))
    downs = [item for item in rig.pieces(line, "resistor") if item.role == "pull-down"]
    rail, spice = rig.rail, Sheet()
    names = []
    volts_on, ohm_on = next((volts, ohm) for volts, ohm in switch.r_on if volts <= rail.low)
    # Level 1: R = 1 / (kp (VGS - VT)) at the gate voltage of the data sheet, hot: twice that (common practice, no source).
    for number, (rail_v, vt_v, hot) in enumerate(
        itertools.product((rail.low, rail.high), (switch.vgs_th_min_v, switch.vgs_th_max_v), (1.0, 2.0))
    ):
        spice.model(f"x_n{number} nmos(level=1 vto={vt_v:g} kp={1 / (ohm_on * hot * (volts_on - vt_v)):.6g})")
        for level, pin_v in (("on", rail_v), ("off", 0.0)):
            pin, inner, top = spice.node(), spice.node(), spice.node()
            spice.resistor(spice.source(pin_v), pin, weakest_ohm(build, rail_v) if level == "on" else 30.0)
            spice.resistor(pin, inner, gate.value or 330.0)
            for down in downs:
                spice.resistor(pin, 0, down.value or 1e4)
            spice.add("M", top, inner, 0, 0, f"x_n{number}", "w=1u", "l=1u")
            spice.resistor(spice.source(load.v_v), top, load.v_v / load.i_a)
            names += [(spice.ask(f"{what}{level}{number}", f"v({node})"), what + level) for what, node in (("gate", inner), ("top", top))]
    found = spice.at_dc()
    for expect, what in ((gate_on, "gateon"), (gate_off, "gateoff"), (top_on, "topon"), (top_off, "topoff")):
        volts = [found[name] for name, which in names if which == what]
        assert expect.low is not None
        assert expect.high is not None
        assert expect.low - CLOSE_V <= min(volts), (what, expect)
        assert max(volts) <= expect.high + CLOSE_V, (what, expect)


@pytest.mark.parametrize("board", BOARDS[:3])
def test_a_lamp_on_a_pin_as_the_sheet_says(board: str):
    build, sheet, rig = bench(board, "led-red")
    load, series = rig.placed["x.LED"].line.asks.load, one(rig, "x.LED", "series")
    assert load is not None
    assert load.vf_min_v is not None
    assert load.vf_max_v is not None
    pin_on, lamp_on = (find(sheet, "running", "x.LED", item, "drives it high") for item in ("board", "x"))
    spice, names = Sheet(), []
    for number, (rail_v, ohm, forward_v, strong) in enumerate(
        itertools.product((rig.rail.low, rig.rail.high), ends(build, series), (load.vf_min_v, load.vf_max_v), (True, False))
    ):
        pin, lamp = spice.node(), spice.node()
        spice.resistor(spice.source(rail_v), pin, 0.1 if strong else weakest_ohm(build, rail_v))
        spice.resistor(pin, lamp, ohm)
        spice.add("V", lamp, 0, f"dc {forward_v}")
        names += [(spice.ask(f"pin{number}", f"v({pin})"), "pin"), (spice.ask(f"lamp{number}", f"v({lamp})"), "lamp")]
    found = spice.at_dc()
    for expect, what in ((pin_on, "pin"), (lamp_on, "lamp")):
        volts = [found[name] for name, which in names if which == what]
        assert expect.low is not None
        assert expect.high is not None
        assert expect.low - CLOSE_V <= min(volts), (what, expect)
        assert max(volts) <= expect.high + CLOSE_V, (what, expect)
