"""What a bench sheet says before and at first power, and of loads: a fault must not pass, a right build must not fail."""

from __future__ import annotations

from pathlib import Path

import pytest
from test_bench import EXAMPLES, one_part, planned

from pinwright.circuits.window import shown
from pinwright.pack.bench import bench_sheet
from pinwright.pack.bench.measure import MODULE_OHM, SHORT_OHM
from pinwright.pack.bench.power import LIMIT_LEAST_A, LIMIT_SHARE, still_plugged, unplugged_draw
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build.make import build_of

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_first_current_is_that_of_what_is_still_plugged_in(name: str):
    build = build_of(planned(name))
    rig, step = Rig(build), bench_sheet(build).of("first power")[0]
    current = step.expects[0]
    left = {rig.refs.get(c.name, c.name) for c in still_plugged(rig)}
    assert not left & set(rig.load_parts)
    assert all(f in step.do for f in rig.load_parts)
    assert current.low is not None
    assert current.high == unplugged_draw(rig).burst
    assert 0 < current.low < current.high <= build.supply.draw.burst
    # What the source gives is at most what all of it takes, and something for its regulators (sum of currents, Kirchhoff).
    board = sum(c.draw.burst for c in still_plugged(rig))
    assert current.high <= board * 2 + 0.01
    # A dead short takes what the supply is limited to, which is more than the step lets pass.
    limit_a = max(current.high * LIMIT_SHARE, LIMIT_LEAST_A)
    assert f"limit it to {shown(limit_a, 'A')}" in step.do or "USB meter" in step.do
    assert LIMIT_SHARE > 1


def test_a_heavy_load_no_longer_hides_a_short():
    # A solenoid of 2 A on the board's own rail: unplugged it takes nothing, so an ampere is a fault.
    more = 'power_up = "must stay off"\n[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "3 A"\n'
    build, sheet = one_part("solenoid-12v", "atmega328p-narrow-30pin", more)
    assert build.supply.draw.burst > 0.5
    current = sheet.of("first power")[0].expects[0]
    assert current.high is not None
    assert current.high < 0.5


def test_what_takes_much_is_plugged_in_after_the_rails_are_right():
    build = build_of(planned("oven-wall"))
    steps = bench_sheet(build).of("first power")
    assert "Unplug flap 1, flap 2 as well" in steps[0].do
    assert "plug flap 1, flap 2 in again" in steps[-1].do
    assert all("flap 1" in step.do for step in steps)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_rail_is_checked_for_shorts_without_what_hides_one(name: str):
    build = build_of(planned(name))
    rig, sheet = Rig(build), bench_sheet(build)
    rails = [net for net in build.nets if net.role == "supply"]
    for net in rails:
        step = next(step for step in sheet.of("continuity") if step.title == f"{net.name}: no short" and step.nets == (net.id,))
        to_ground = step.expects[0]
        assert to_ground.low is not None
        assert to_ground.low >= MODULE_OHM  # the asked-for least where a module hangs (common practice, no source)
        away = [t.item for t in net.terminals if t.item in rig.load_parts or build.by_ref[t.item].kind == "supply"]
        assert all(ref in step.do for ref in away)


def test_a_rail_of_a_load_alone_shows_kilohms():
    build = build_of(planned("delivery-hatch"))
    step = next(step for step in bench_sheet(build).of("continuity") if step.title == "12 V: no short")
    assert step.expects[0].low == SHORT_OHM
    assert "Unplug bolt, 12 V supply" in step.do


def test_a_step_whose_voltage_nobody_can_tell_does_not_stop():
    # An opto input is off while it is let go: no voltage is right or wrong, so the load stays unplugged instead.
    _, sheet = one_part("relay-module-opto-active-low", "atmega328p-narrow-30pin", 'power_up = "must stay off"')
    loose = [step for phase in ("reset", "set-up") for step in sheet.of(phase) if "x.IN" in step.lines]
    assert loose
    for step in loose:
        assert all(e.low is None and e.high is None for e in step.expects)
        assert not step.stop
        assert "must stay" not in step.title
        assert any("stays unplugged in this step" in words for words in step.cautions)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_step_that_stops_says_between_which_bounds(name: str):
    result = planned(name)
    for plan in result.usable[:3]:
        for step in bench_sheet(build_of(result, plan.view.board.id)).steps:
            if step.stop and step.lines and step.tool == "voltmeter":
                assert all(e.low is not None or e.high is not None for e in step.expects if e.quantity == "voltage"), step.title


# ------------------------------------------------------------------------------ the words of the sheet and the firmware's deeds


def test_states_last_as_long_as_the_firmware_holds_them():
    from pinwright.pack.bench.walk import LOAD_SHOWN_S
    from pinwright.pack.firmware.cpp_bench import SHOW_MS
    from pinwright.pack.firmware.micropython_kit import kit_source

    assert SHOW_MS / 1000 == LOAD_SHOWN_S
    assert f"LOAD_MS = {LOAD_SHOWN_S * 1000:.0f}" in kit_source((), ("output",), False, True)
    steps = {line: step for step in bench_sheet(build_of(planned("delivery-hatch"))).of("running") for line in step.lines}
    assert "holds it until you press Enter" in steps["ready.LED"].do
    assert f"for {LOAD_SHOWN_S:g} s at most" in steps["bolt.GATE"].do


@pytest.mark.parametrize("kind", ["climate-dht22", "temp-ds18b20"])
def test_no_step_drives_a_two_way_wire_high(kind: str):
    # Either side pulls low or lets go (DS18B20 data sheet, 1-Wire bus system; DHT22 likewise; both from memory).
    _, sheet = one_part(kind)
    (step,) = sheet.of("running")
    words = " ".join([step.do, *(e.when for e in step.expects)])
    assert "high" not in words
    assert step.stimulus == ()


def test_what_feeds_a_sensor_is_tried_before_its_reading():
    from pinwright.pack.firmware.program import program_of

    build = build_of(planned("delivery-hatch"))
    steps = bench_sheet(build).of("running")
    at = [step.lines[0] for step in steps]
    assert at.index("cell.SENSE_EN") + 1 == at.index("cell.VBAT")
    assert "cell.SENSE_EN" in steps[at.index("cell.VBAT")].do
    walked = [step.words for step in program_of(build.plan, build.job).steps]
    assert walked.index("cell.SENSE_EN") + 1 == walked.index("cell.VBAT")


def test_the_long_trial_says_how_loads_come_on():
    assert "switch the loads on" in bench_sheet(build_of(planned("bakery-proofer"))).of("loads")[-1].do


def test_the_range_firmware_tells_is_what_can_be_read():
    # The plan's own figure for each reading [fitting: readings].
    from pinwright.pack.firmware.program import program_of

    for name in EXAMPLES:
        result = planned(name)
        for plan in result.usable[:4]:
            worth = plan.readings(build_of(result, plan.view.board.id).job.setting.bench)
            for analog in program_of(plan, result.ranking.job).analogs:
                found = worth.get(analog.pin.words)
                if found is not None and found.low < found.high:
                    assert (analog.conversion.low, analog.conversion.high) == (found.low, found.high)


def test_a_fused_source_is_still_the_source(tmp_path: Path) -> None:
    from pinwright.pack.bench.power import own_supplies
    from pinwright.pack.bench.rig import Rig
    from pinwright.pack.build.make import build_of
    from pinwright.planning import open_job, plan_job

    path = tmp_path / "brief.toml"
    path.write_text(
        'title = "x"\n[supply]\nsource = "adapter"\nvoltage = "5 V"\ncurrent = "10 A"\n[[part]]\nname = "flap"\nkind = "servo-hobby"\n'
        'count = 8\n[board]\nonly = ["raspberry-pi-pico"]\n',
        encoding="utf-8",
    )
    rig = Rig(build_of(plan_job(open_job(path))))
    assert any(item.symbol == "fuse" and item.line == "supply" for item in rig.build.items)
    assert rig.source is rig.build.by_ref["supply"]
    assert "supply" not in own_supplies(rig)
