"""What a bench sheet says before and at first power, and of loads: a fault must not pass, a right build must not fail."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from test_bench import EXAMPLES, expects, of_text, one_part, planned

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
    # A dead short takes what the supply is limited to: that must fail the step.
    assert max(current.high * LIMIT_SHARE, LIMIT_LEAST_A) > current.high


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
