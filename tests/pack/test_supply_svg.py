"""The supply picture: every limit a wall, nothing overlaps, unknown things said to be unknown (behaviour and properties)."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import plan_board, prepare
from pinwright.pack.drawing import Drawing
from pinwright.pack.supply_shares import rows_of
from pinwright.pack.supply_svg import gauges_of, supply_svg
from pinwright.review.wirings import wiring_of_plan
from pinwright.supply.budget import Consumer, Draw
from pinwright.supply.report import SupplyReport, supply_of

sys.path.insert(0, str(Path(__file__).parent))

from drawn import HOSTILE, SVG, inks, negative_sizes, outside, parsed, touching

SUPPLIES = {
    "usb": 'source = "usb"',
    "adapter": 'source = "adapter"\nvoltage = "5 V"\ncurrent = "2 A"',
    "weak": 'source = "adapter"\nvoltage = "5 V"\ncurrent = "10 mA"',
    "no limit": 'source = "adapter"\nvoltage = "5 V"',
    "too high": 'source = "adapter"\nvoltage = "24 V"\ncurrent = "2 A"',
    "cells": 'source = "battery"\nvoltage = "4.5 V"\ncapacity = "2000 mAh"',
    "lithium": 'source = "lithium cell"\ncapacity = "3000 mAh"',
    "long wire": 'source = "adapter"\nvoltage = "5 V"\ncurrent = "2 A"\nwire = "8 m"',
}
PARTS = '[[part]]\nname = "led"\nkind = "led-red"\n[[part]]\nname = "bolt"\nkind = "solenoid-12v"\n'
BOARDS = ("raspberry-pi-pico", "esp32-devkitc-v4", "atmega328p-32pin", "feather-m0-express")
each_supply = pytest.mark.parametrize("supply", SUPPLIES)


@cache
def report_of(supply: str, board: str = "raspberry-pi-pico", sleeping: bool = False) -> SupplyReport:
    facts = load_catalogue()
    text = f'title = "t"\n[supply]\n{SUPPLIES[supply]}\n[use]\nsleeping = {str(sleeping).lower()}\n{PARTS}'
    job = prepare(parse_brief(text, "t.toml", facts), facts)
    plan = plan_board(job, facts.boards[board])
    assert plan.feasible
    return supply_of(wiring_of_plan(plan, job), job)


def healthy(drawing: Drawing) -> ElementTree.Element:
    root = parsed(drawing)
    assert touching(root) == []
    assert outside(root) == []
    assert negative_sizes(root) == []
    assert drawing.width <= 186.0  # A4 (ISO 216) and Letter less their margins
    return root


def words_of(root: ElementTree.Element) -> str:
    """All words in a row; what is wrapped reads on."""
    return " ".join(ink.words for ink in inks(root))


# ------------------------------------------------------------------------------ all kinds of supply


@each_supply
@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("sleeping", [False, True])
def test_nothing_overlaps_whatever_feeds_the_device(supply: str, board: str, sleeping: bool) -> None:
    report = report_of(supply, board, sleeping)
    words = words_of(healthy(supply_svg(report, "Hatch")))
    assert ("asleep" in words) == sleeping
    assert ("What empties the battery" in words) == (report.endurance is not None)
    for consumer in report.consumers:
        assert consumer.name in words


@each_supply
def test_every_limit_has_a_gauge_with_its_numbers(supply: str) -> None:
    report = report_of(supply)
    gauges = gauges_of(report)
    drawn = words_of(healthy(supply_svg(report)))
    assert len(gauges) >= 1 + 3 * len(report.stages)
    for gauge in gauges:
        assert gauge.name.split(" ")[0] in drawn
        assert gauge.words.split(" ")[0] in drawn


# ------------------------------------------------------------------------------ what the bars say


def test_the_bar_ends_at_the_share_of_the_limit_that_is_used() -> None:
    """Worked out by hand: 250 mA awake and 300 mA in a burst of a source of 500 mA are 50 % and 60 % of it."""
    report = report_of("adapter")
    report = replace(report, source=replace(report.source, i_max_a=0.5), draw=Draw(0.0, 0.25, 0.3))
    assert gauges_of(report)[0].usual == pytest.approx(0.5)
    assert gauges_of(report)[0].most == pytest.approx(0.6)
    assert gauges_of(report)[0].words == "300 mA of 500 mA: 200 mA left"
    root = healthy(supply_svg(report))
    (group,) = [g for g in root.iter(f"{SVG}g") if (g.findtext(f"{SVG}title") or "").startswith("source: current")]
    whole, burst, awake = group.findall(f"{SVG}rect")
    left, span = float(whole.get("x", "0")), float(whole.get("width", "0"))
    assert float(awake.get("width", "0")) / span == pytest.approx(0.5, abs=0.001)
    assert (float(burst.get("x", "0")) + float(burst.get("width", "0")) - left) / span == pytest.approx(0.6, abs=0.001)


def test_too_much_is_drawn_beyond_the_wall_and_said() -> None:
    report = report_of("weak")  # 10 mA for a board that takes more by itself
    gauge = gauges_of(report)[0]
    assert gauge.most is not None
    assert gauge.most > 1
    assert "lacking" in gauge.words
    root = healthy(supply_svg(report))
    (group,) = [g for g in root.iter(f"{SVG}g") if (g.findtext(f"{SVG}title") or "").startswith("source: current")]
    assert group.find(f"{SVG}polygon") is not None
    assert "pw-bad" in ElementTree.tostring(group, encoding="unicode")


def test_a_regulator_at_its_limits() -> None:
    """Headroom and heat from the stage's own figures: full when nothing is to spare, beyond when it lacks."""
    report = report_of("adapter", "esp32-devkitc-v4")
    stage = report.stages[0]
    tight = replace(report, stages=(replace(stage, headroom_v=0.0, junction_c=stage.junction_max_c),))
    by_name = {gauge.name.split(": ")[1]: gauge for gauge in gauges_of(tight)[1:]}
    assert by_name["voltage"].most == pytest.approx(1.0)
    assert by_name["heat"].most == pytest.approx(1.0)
    lacking = replace(report, stages=(replace(stage, headroom_v=-0.3),))
    voltage = next(gauge for gauge in gauges_of(lacking) if gauge.name.endswith("voltage"))
    assert voltage.most is not None
    assert voltage.most > 1
    assert "300 mV lacking" in voltage.words


def test_what_nobody_gives_is_said() -> None:
    report = report_of("no limit")
    report = replace(
        report,
        source=replace(report.source, i_max_a=None),
        stages=tuple(replace(stage, headroom_v=None, junction_c=None) for stage in report.stages),
        consumers=(*report.consumers, Consumer("mat", "logic", 3.3, Draw(), "nobody gives its current", False)),
    )
    words = words_of(healthy(supply_svg(report)))
    assert "nobody gives the limit" in words
    assert "nobody gives its dropout" in words
    assert "nobody gives its heat" in words
    assert "nobody gives its current" in words
    assert "known, from the source" in words
    assert "unknown currents not counted" in gauges_of(report)[0].words


def test_a_source_that_fits_nowhere_is_told_in_the_way_of_the_current() -> None:
    report = report_of("too high")
    assert report.entry.supply is None
    assert "no way in" in words_of(healthy(supply_svg(report)))


def test_rows_add_up_to_what_the_source_gives() -> None:
    """Also with a converter, whose saving is a row of its own: the sum over all rows before the sum is the sum."""
    for supply in SUPPLIES:
        rows = rows_of(report_of(supply))
        at = next(number for number, row in enumerate(rows) if row.is_sum)
        total = rows[at].draw
        assert total is not None
        for state in ("asleep", "awake", "burst"):
            summed = sum(getattr(row.draw, state) for row in rows[:at] if row.draw)
            assert summed == pytest.approx(getattr(total, state), rel=1e-6, abs=1e-9)


def test_a_rail_with_a_supply_of_its_own_stands_behind_the_sum() -> None:
    report = report_of("usb")
    assert report.others  # the 12 V of the solenoid
    rows = rows_of(report)
    at = next(number for number, row in enumerate(rows) if row.is_sum)
    assert any("a supply of its own" in row.name for row in rows[at + 1 :])
    assert not any("a supply of its own" in row.name for row in rows[:at])


def test_shares_of_the_battery_fill_the_bar() -> None:
    report = report_of("lithium", sleeping=True)
    assert report.endurance is not None
    root = healthy(supply_svg(report))
    bars = [
        group.find(f"{SVG}rect") for group in root.iter(f"{SVG}g") if re.fullmatch(r".*: [\d.]+ %", group.findtext(f"{SVG}title") or "")
    ]
    assert sum(float(bar.get("width", "0")) for bar in bars if bar is not None) == pytest.approx(180.0, abs=0.1)
    assert report.endurance.words[:20] in words_of(root)


# ------------------------------------------------------------------------------ names


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_makes_a_sound_drawing(name: str) -> None:
    report = report_of("lithium", sleeping=True)
    more = tuple(Consumer(name, rail, 3.3, Draw(1e-6, 1e-3, 0.1), name) for rail in ("logic", "12 V"))
    stages = tuple(replace(s, regulator=replace(s.regulator, takes=name, gives=name)) for s in report.stages)
    assert report.endurance is not None
    endurance = replace(report.endurance, shares=((name, 0.6), ("b", 0.4)), advice=name)
    hostile = replace(
        report, consumers=(*report.consumers, *more), stages=stages, side_stages=stages, endurance=endurance,
        entry=replace(report.entry, pin=name, because=name), source=replace(report.source, words=name),
    )  # fmt: skip
    root = healthy(supply_svg(hostile, name))
    assert not root.findall(f".//{SVG}script")


def test_many_consumers_make_it_longer_not_denser() -> None:
    report = report_of("usb")
    many = tuple(Consumer(f"part {n}", "logic", 3.3, Draw(10.0 ** -(n % 8), 1e-3, 0.1), "") for n in range(60))
    assert supply_svg(replace(report, consumers=many)).height > supply_svg(report).height + 200
    healthy(supply_svg(replace(report, consumers=many)))


def test_ids_begin_with_the_drawings_name_and_the_same_input_gives_the_same_bytes() -> None:
    made = [supply_svg(report_of("usb"), name="power").markup() for _ in range(2)]
    assert made[0] == made[1]
    assert all(each.startswith("power-") for each in re.findall(r' id="([^"]*)"', made[0]))
    assert all(each.startswith("power-") for each in re.findall(r"url\(#([^)]*)\)", made[0]))
