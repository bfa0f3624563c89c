"""The bench sheet: complete, in order, honest about what a meter sees, and never at a loss."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "fitting"))

from briefs import random_brief_text

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import prepare
from pinwright.fitting.timeline import timeline
from pinwright.pack.bench import BENCH_VERSION, PHASES, BenchSheet, Expect, bench_json, bench_rows, bench_sheet, self_test_duty, walk
from pinwright.pack.bench.mesh import edges_of, resistance
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.walk import must_stay_off
from pinwright.pack.build import Build
from pinwright.pack.build.make import build_of
from pinwright.planning import PlanResult, open_job, plan_job

ROOT = Path(__file__).parents[2]
EXAMPLES = ("bakery-proofer", "delivery-hatch", "flour-silo", "oven-wall")


@lru_cache(maxsize=8)
def planned(name: str) -> PlanResult:
    return plan_job(open_job(ROOT / "examples" / f"{name}.toml"))


@lru_cache(maxsize=32)
def of_text(text: str) -> tuple[Build, BenchSheet]:
    catalogue = load_catalogue()
    build = build_of(plan_job(prepare(parse_brief(text, "bench.toml", catalogue), catalogue)))
    return build, bench_sheet(build)


def one_part(kind: str, board: str = "raspberry-pi-pico", more: str = "") -> tuple[Build, BenchSheet]:
    return of_text(f'title = "t"\n[board]\nonly = ["{board}"]\n[[part]]\nname = "x"\nkind = "{kind}"\n{more}\n')


def expects(sheet: BenchSheet, phase: str, line: str = "") -> list[Expect]:
    return [e for step in sheet.steps if step.phase == phase and (not line or line in step.lines) for e in step.expects]


def sound(build: Build, sheet: BenchSheet) -> None:
    """What must hold of every sheet."""
    ids = [step.id for step in sheet.steps]
    assert len(ids) == len(set(ids))
    assert [PHASES.index(step.phase) for step in sheet.steps] == sorted(PHASES.index(step.phase) for step in sheet.steps)
    assert {net for step in sheet.of("continuity") for net in step.nets} >= {net.id for net in build.nets}
    joined = [frozenset(t for e in s.expects for t in (e.at, e.to)) for s in sheet.of("continuity") if "joined end to end" in s.title]
    assert {frozenset(net.terminals) for net in build.nets} == set(joined)
    assert [line for step in sheet.of("running") for line in step.lines] == list(walk(build))
    for row in timeline(build.plan, build.job.setting):
        for cell in row.cells:
            assert any(row.line in step.lines for step in sheet.steps if step.phase == cell.phase), (row.line, cell.phase)
    for step in sheet.steps:
        assert step.title
        assert step.do
        assert step.why, step.title
        for e in step.expects:
            if e.low is not None and e.high is not None:
                assert e.low <= e.high, (step.title, e)
                assert e.typical is None or e.low - 1e-9 <= e.typical <= e.high + 1e-9, (step.title, e)
            for terminal in (e.at, e.to):
                assert terminal is None or terminal.item in build.by_ref, terminal
            if (
                e.quantity in ("voltage", "resistance", "current", "reading", "address", "count")
                and e.low != e.high
                and e.words != "joined on purpose"
            ):
                assert e.cause_low or e.cause_high or e.cause_none, (step.title, e)
    text = json.dumps(bench_json(sheet), allow_nan=False)
    assert json.loads(text)["version"] == BENCH_VERSION
    assert len(bench_rows(sheet)) >= len(sheet.steps)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_has_a_sound_sheet_on_its_best_boards(name: str):
    result = planned(name)
    for plan in result.usable[:3]:
        build = build_of(result, plan.view.board.id)
        sound(build, bench_sheet(build))


@pytest.mark.slow
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_has_a_sound_sheet_on_every_board(name: str):
    result = planned(name)
    for plan in result.usable:
        build = build_of(result, plan.view.board.id)
        sound(build, bench_sheet(build))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_random_briefs_have_sound_sheets(seed: int):
    # Invented briefs over the whole catalogue, on every board that can do them.
    catalogue = load_catalogue()
    result = plan_job(prepare(parse_brief(random_brief_text(seed, 12, catalogue), "random.toml", catalogue), catalogue))
    for plan in result.usable[::4]:
        build = build_of(result, plan.view.board.id)
        sound(build, bench_sheet(build))


def test_the_same_build_gives_the_same_sheet():
    result = planned("delivery-hatch")
    first, second = (json.dumps(bench_json(bench_sheet(build_of(result)))) for _ in range(2))
    assert first == second


# ------------------------------------------------------------------------------ order


@pytest.mark.parametrize("name", EXAMPLES)
def test_loads_that_must_stay_off_are_walked_last_and_parts_stay_together(name: str):
    build = build_of(planned(name))
    order = walk(build)
    assert sorted(order) == sorted(placed.line.id for placed in build.plan.placed)
    by_line = {placed.line.id: placed for placed in build.plan.placed}
    parts = list(dict.fromkeys(by_line[line].line.part for line in order))
    dangerous = {placed.line.part for placed in build.plan.placed if must_stay_off(placed)}
    assert dangerous
    assert set(parts[-len(dangerous) :]) == dangerous
    assert [by_line[line].line.part for line in order] == sorted((by_line[line].line.part for line in order), key=parts.index)
    for part in parts:  # within a part, as planned
        planned_order = [placed.line.id for placed in build.plan.placed if placed.line.part == part]
        if part == "cell":
            planned_order = ["cell.SENSE_EN", "cell.VBAT"]  # what connects its divider comes before the reading
        assert [line for line in order if by_line[line].line.part == part] == planned_order


def test_loads_with_a_supply_of_their_own_stay_off_until_the_end():
    sheet = bench_sheet(build_of(planned("delivery-hatch")))
    first = sheet.of("first power")
    assert all("Leave 12 V supply off" in step.do for step in first)
    assert not any("12 V" in net for step in first for net in step.nets)
    assert sheet.steps[-1].phase == "loads"
    assert any(e.at is not None and e.low is not None and e.low > 11 for step in sheet.of("loads") for e in step.expects if e.unit == "V")


def test_dangerous_things_carry_their_cautions():
    sheet = bench_sheet(build_of(planned("bakery-proofer")))
    heater = next(step for step in sheet.of("loads") if "heater.CTRL" in step.lines)
    assert any("licensed" in words and "local code" in words for words in heater.cautions)
    assert any("lithium cell" in words for words in bench_sheet(build_of(planned("delivery-hatch"))).cautions)


# ------------------------------------------------------------------------------ published figures


def test_the_high_of_a_pin_is_that_of_its_data_sheet():
    # RP2040 data sheet, Table 625: VOH at least 2.62 V at 4 mA and 3.3 V, 0.68 V below the supply.
    # ATmega328P data sheet, Table 32-2: at least 2.1 V at 10 mA and 3 V, 105 °C, 0.9 V below it (the facts round 0.36 V at 4 mA to 0.4).
    for board, amps, drop_v, within_v in (("raspberry-pi-pico", 4e-3, 0.68, 1e-6), ("atmega328p-narrow-30pin", 10e-3, 0.9, 0.11)):
        build, _ = one_part("push-button-momentary", board)
        rig = Rig(build)
        assert rig.gives_high(amps).low == pytest.approx(rig.rail.low - drop_v, abs=within_v)
        assert rig.gives_high(amps).high == rig.rail.high


@pytest.mark.parametrize(
    ("kind", "low_v", "high_v"),
    [
        ("temperature-lm35", 0.25, 0.25),  # LM35, 10 mV/°C: 250 mV at 25 °C (TI SNIS159)
        ("temperature-tmp36", 0.75, 0.75),  # TMP36: 750 mV at 25 °C (Analog Devices TMP35/36/37)
    ],
)
def test_a_sensor_gives_the_voltage_of_its_data_sheet_at_25_degrees(kind: str, low_v: float, high_v: float):
    _, sheet = one_part(kind)
    found = [e for e in expects(sheet, "running") if e.quantity == "voltage" and "25 °C" in e.when]
    assert found
    assert found[0].low is not None
    assert found[0].high is not None
    assert found[0].typical == pytest.approx((low_v + high_v) / 2, abs=1e-3)
    assert found[0].low <= low_v
    assert found[0].high >= high_v
    reading = next(e for e in expects(sheet, "running") if e.quantity == "reading" and "25 °C" in e.when)
    assert (reading.typical, reading.unit) == (25.0, "°C")


def test_a_thermistor_of_its_nominal_value_halves_the_supply():
    # By definition 10 kΩ at 25 °C, over 10 kΩ.
    build, sheet = one_part("ntc-10k-b3950")
    found = next(e for e in expects(sheet, "running") if e.quantity == "voltage" and "25 °C" in e.when)
    assert found.typical == pytest.approx(Rig(build).rail.middle / 2, rel=1e-6)


def test_a_bus_scan_finds_the_addresses_of_the_data_sheets():
    # BME280: 0x76 or 0x77 (Bosch BST-BME280-DS001, 6.2); two of them on one bus get one each.
    _, sheet = of_text('title = "t"\n[board]\nonly = ["raspberry-pi-pico"]\n[[part]]\nname = "x"\nkind = "bme280"\ncount = 2\n')
    found = {e.low for e in expects(sheet, "running") if e.quantity == "address"}
    assert found == {0x76, 0x77}


def test_a_servo_shows_the_average_of_its_pulses():
    # 1.5 ms every 20 ms (common practice): 7.5 % of the supply.
    build, sheet = one_part("servo-hobby")
    placed = build.plan.placed[0]
    assert self_test_duty(placed) == pytest.approx(0.075)
    found = next(e for e in expects(sheet, "running") if e.meter == "average")
    assert found.typical == pytest.approx(0.075 * Rig(build).rail.middle, rel=0.02)


def test_a_dimmed_load_shows_half_the_supply():
    build, sheet = one_part("led-strip-12v-dimming", more='power_up = "must stay off"')
    found = next(e for e in expects(sheet, "running") if e.meter == "average")
    assert found.low is not None
    assert found.high is not None
    assert found.low < Rig(build).rail.middle / 2 < found.high


# ------------------------------------------------------------------------------ honest


def test_what_only_a_scope_sees_is_said():
    _, sheet = one_part("led-strip-12v-dimming", more='power_up = "must stay off"')
    assert all(e.meter == "scope only" for e in expects(sheet, "boot"))
    assert all(step.tool == "scope" for step in sheet.of("boot"))


def test_a_pin_that_nothing_holds_is_called_so():
    # ESP32: GPIO4 and others float after reset apart from their default pulls; a contact waits for the firmware's pull.
    _, sheet = one_part("push-button-momentary", "esp32-wroom32-30pin")
    found = [e for e in expects(sheet, "reset", "x.SW") if e.meter == "not held"]
    held = [e for e in expects(sheet, "reset", "x.SW") if e.low is not None]
    assert bool(found) != bool(held)
    for e in found:
        assert (e.low, e.high) == (None, None)
        assert "10 MΩ" in e.words


def test_a_load_that_must_stay_off_is_measured_where_it_takes_its_command():
    build, sheet = one_part("solenoid-12v", more='power_up = "must stay off"')
    transistor = next(item for item in build.items if item.symbol == "nmos")
    for phase in ("reset", "boot", "set-up"):
        at_gate = [e for e in expects(sheet, phase) if e.at is not None and (e.at.item, e.at.name) == (transistor.ref, "G")]
        assert at_gate, phase
        for e in at_gate:
            assert e.high is not None
            assert e.high <= 0.3  # fitting.quiet: a gate this near ground is off


def test_proofs_and_sheet_agree():
    for name in EXAMPLES:
        build = build_of(planned(name))
        sheet = bench_sheet(build)
        for row in timeline(build.plan, build.job.setting):
            placed = build.plan.of(row.line)
            assert placed is not None
            if not row.keeps or not placed.line.asks.drives:
                continue
            for cell in row.cells:
                for proof in cell.proofs:
                    if proof.v is None or cell.phase == "running":
                        continue
                    said = [e for e in expects(sheet, cell.phase, row.line) if e.low is not None and e.high is not None]
                    assert any(e.low - 1e-6 <= proof.v.low and proof.v.high <= e.high + 1e-6 for e in said), (row.line, cell.phase)  # type: ignore[operator]


def test_swapped_divider_ends_are_told_with_the_voltage_they_give():
    _, sheet = one_part("ultrasonic-hc-sr04")
    causes = [words for e in expects(sheet, "running", "x.ECHO") for words in e.cause_low]
    assert any("swapped" in words and " V instead of " in words for words in causes)


def test_neighbouring_pins_are_named():
    build, sheet = one_part("led-red")
    rig = Rig(build)
    pin = build.stages[0].pin
    step = next(step for step in sheet.of("continuity") if step.title.startswith(f"Pin {pin.name}:"))
    beside = rig.neighbours(pin)
    assert beside
    for other in beside:
        assert other.name in step.title
        assert any(e.to == other for e in step.expects)


def test_an_undiscovered_short_between_neighbours_would_be_found():
    # Every expectation against a neighbour that nothing joins asks for far more than a short shows.
    _, sheet = one_part("bme280")
    found = [e for step in sheet.of("continuity") if step.title.startswith("Pin ") for e in step.expects if e.words == "nothing joins them"]
    assert found
    assert all(e.low is not None and e.low >= 100 and e.high is None for e in found)


# ------------------------------------------------------------------------------ it bites


def found_by(sheet: BenchSheet, faulty: Build) -> list[str]:
    """Steps without power that a build with a fault fails."""
    edges = edges_of(faulty)
    failed = []
    for step in sheet.of("continuity"):
        for e in step.expects:
            nets = [faulty.net_at.get(t) for t in (e.at, e.to) if t is not None]
            if e.quantity != "resistance" or len(nets) != 2 or nets[0] is None or nets[1] is None:
                continue
            ohm = resistance(edges, nets[0].id, nets[1].id)
            shown = ohm.middle if ohm is not None else float("inf")
            if (e.low is not None and shown < e.low) or (e.high is not None and shown > e.high):
                failed.append(step.id)
    return failed


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_right_build_fails_no_step_without_power(name: str):
    build = build_of(planned(name))
    assert found_by(bench_sheet(build), build) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_resistor_of_another_decade_or_a_missing_one_is_found(name: str):
    build = build_of(planned(name))
    sheet = bench_sheet(build)
    resistors = [item for item in build.items if item.symbol == "resistor" and item.value]
    assert resistors
    for item in resistors:
        for wrong in (replace(item, value=(item.value or 0) * 10), replace(item, value=(item.value or 0) / 10), replace(item, value=None)):
            faulty = replace(build, items=tuple(wrong if other is item else other for other in build.items))
            assert found_by(sheet, faulty), (item.ref, wrong.value)


def test_swapped_divider_resistors_are_found_before_power():
    build, sheet = one_part("ultrasonic-hc-sr04")
    upper, lower = (next(item for item in build.items if item.role == role) for role in ("upper", "lower"))
    swapped = {upper.ref: replace(upper, value=lower.value), lower.ref: replace(lower, value=upper.value)}
    faulty = replace(build, items=tuple(swapped.get(item.ref, item) for item in build.items))
    assert found_by(sheet, faulty)


def test_a_bridge_between_two_neighbouring_pins_is_found():
    build, sheet = one_part("bme280")
    pins = [stage.pin for stage in build.stages]
    for pin in pins:
        for other in Rig(build).neighbours(pin):
            step = next(step for step in sheet.of("continuity") if step.title.startswith(f"Pin {pin.name}:"))
            against = next(e for e in step.expects if e.to == other)
            assert against.low is not None
            assert against.low > 10  # a bridge shows less than that


def test_a_sleeping_device_has_its_current_measured_and_a_dip_is_tried():
    build = build_of(planned("delivery-hatch"))
    sheet = bench_sheet(build)
    current = next(e for e in expects(sheet, "asleep") if e.quantity == "current")
    assert current.typical == pytest.approx(build.supply.draw.asleep)
    dip = next(step for step in sheet.of("restart") if step.title == "The supply dips")
    assert set(dip.lines) == {placed.line.id for placed in build.plan.placed if must_stay_off(placed)}


HOSTILE = (
    "</script><b>\"'",
    "=1+1",
    "R1",
    "GND",
    "board",
    "3.3 V",
    "line\\nbreak",
    "\\u202etfel",
    "🚿" * 100,
    "int main(void)",
    "U1 IN",
    "supply",
)


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_names_are_only_names(name: str):
    quoted = name.replace('"', '\\"')
    text = f'title = "{quoted}"\n[board]\nonly = ["raspberry-pi-pico"]\n'
    for kind, more in (("led-red", ""), ("solenoid-12v", 'power_up = "must stay off"\n')):
        text += f'[[part]]\nname = "{quoted}{"" if kind == "led-red" else "2"}"\nkind = "{kind}"\n{more}'
    build, sheet = of_text(text)
    sound(build, sheet)
