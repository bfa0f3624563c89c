"""``pinwright timeline`` and ``why --phase`` (behaviour)."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

ROOT = Path(__file__).parent.parent.parent
BRIEF = """
title = "Invented: a gate and a lamp"
[use]
sleeping = true
[board]
only = ["{board}"]
[[part]]
name = "pump"
kind = "relay-module-active-high"
power_up = "must stay off"
[[part]]
name = "lamp"
kind = "led-red"
"""


@pytest.fixture
def brief(tmp_path: Path):
    def make(board: str = "raspberry-pi-pico") -> Path:
        path = tmp_path / "gate.toml"
        path.write_text(BRIEF.format(board=board), encoding="utf-8")
        return path

    return make


def test_a_load_is_off_in_every_phase_and_a_cell_proves_it(brief, run, run_json, assert_narrow):
    shown = run("timeline", brief(), code=0).stdout
    assert_narrow(shown)
    (pump,) = [row for row in run_json("timeline", brief())["lines"] if row["line"] == "pump.IN"]
    assert pump["keeps"] == "must stay low"
    assert [cell["phase"] for cell in pump["phases"]] == ["reset", "boot", "set-up", "running", "asleep", "restart", "upload"]
    assert {cell["verdict"] for cell in pump["phases"]} <= {"off", "obeys"}
    cell = run_json("why", brief(), "pump", "--phase", "boot")
    assert cell["verdict"] == "off"
    (proof,) = cell["proofs"]
    # RP2040 pads pull down by 50 to 80 kΩ at reset, with 10 kΩ beside it; a microampere leaks: a few millivolts (Ohm's law)
    assert -0.02 < proof["low_v"] <= proof["high_v"] < 0.02
    assert "the part needs" in proof["words"]  # 2 mA, against a microampere
    assert cell["sources"]


def test_a_resistor_against_the_pads_own_pull_by_hand(brief, run_json):
    # ESP8266: GPIO12 is pulled up at reset. The plan may take any pin; where the pad is pulled up, the node is a divider of the
    # pad's least pull-up and the resistor at its most, from the highest rail (Kirchhoff)
    for row in run_json("timeline", brief("esp12f-30pin"))["lines"]:
        for cell in row["phases"]:
            for proof in cell["proofs"]:
                if proof["does"] == "pulled up" and row["line"] == "pump.IN":
                    assert proof["high_v"] <= 0.8


def test_a_drawing(brief, run, tmp_path: Path):
    target = tmp_path / "out.svg"
    assert "Open it" in run("timeline", brief(), "-o", target, code=0).stdout
    root = ElementTree.fromstring(target.read_text(encoding="utf-8"))
    assert root.tag.endswith("svg")
    assert "already there" in run("timeline", brief(), "-o", target, code=2).stderr
    run("timeline", brief(), "-o", target, "--force", code=0)


def test_a_phase_nobody_knows(brief, run):
    assert "There is no phase called 'bot'. Did you mean boot" in run("why", brief(), "pump", "--phase", "bot", code=2).stderr


def test_no_board_can(run, tmp_path: Path):
    path = tmp_path / "x.toml"
    path.write_text(BRIEF.format(board="attiny85-dip8").replace("[use]", '[use]\nradio = "wifi"'), encoding="utf-8")
    assert "No board" in run("timeline", path, code=1).stdout


def test_a_file_that_is_there_is_found_before_any_planning(tmp_path: Path, run):
    drawing = tmp_path / "start.svg"
    drawing.write_text("mine", encoding="utf-8")
    result = run("timeline", tmp_path / "no-such-brief.toml", "-o", drawing, code=2)
    assert "already there" in result.stderr
    assert drawing.read_text(encoding="utf-8") == "mine"
