"""The files ``facts template`` prints: whole, correct as they are, and usable (behaviour)."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from pinwright.facts import model
from pinwright.facts.across import uncited
from pinwright.facts.loader import load_catalogue
from pinwright.facts.templates import template_text

FILES = {"chip": "chips/my-chip.toml", "board": "boards/my-board.toml", "part": "parts/my-parts.toml"}
NOT_FOR_BEGINNERS = {"also", "chosen", "safer", "text", "of", "cite", "note", "family", "see", "mpn", "form", "names", "package_pin"}
"""Fields the starting files may leave to docs/facts.md."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for what, name in FILES.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(template_text(what), encoding="utf-8")
    return tmp_path


def test_they_pass_the_check_and_every_value_has_its_source(folder: Path):
    catalogue = load_catalogue([folder])
    assert catalogue.faults == ()
    assert {"MY-CHIP"} <= set(catalogue.chips)
    assert {"my-board"} <= set(catalogue.boards)
    assert {"my-flow-meter"} <= set(catalogue.parts)
    assert [fault for fault in uncited(catalogue) if "my-" in fault.file] == []


@pytest.mark.parametrize(
    ("what", "classes"),
    [
        ("chip", (model.Chip, model.Pad, model.PwmPool, model.BusInstance, model.Strap, model.Firmware)),
        ("board", (model.Board, model.BoardPin, model.BoardSupply, model.Reserve)),
        ("part", (model.Part, model.PartSupply, model.I2cFacts, model.SpiFacts, model.UartFacts, model.Driver)),
    ],
)
def test_they_show_the_keys_a_beginner_needs(what: str, classes: tuple[type, ...]):
    shown = set(re.findall(r"\b([a-z_0-9]+)\b(?= = | =\{)|\[\[?(?:part\.)?([a-z_]+)\]", template_text(what)))
    words = {word for pair in shown for word in pair if word}
    required = {
        field.name
        for cls in classes
        for field in dataclasses.fields(cls)
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    }
    assert required - words - NOT_FOR_BEGINNERS == set()


def test_a_plan_can_use_them(folder: Path, run_json, tmp_path: Path):
    brief = tmp_path / "meter.toml"
    brief.write_text(
        'title = "Meter"\n[board]\nonly = ["my-board"]\n[[part]]\nname = "flow"\nkind = "my-flow-meter"\nsupply = "5 V"\n', encoding="utf-8"
    )
    plan = run_json("plan", brief, "--catalogue", folder)
    assert plan["boards"][0]["feasible"]
    assert "divider" in plan["boards"][0]["lines"]["flow.PULSE"]["circuit"]  # 4.7 V into a 3.3 V pad


@pytest.mark.parametrize(
    ("what", "old", "new", "words"),
    [
        ("board", "logic_v = 3.3", "logic_v = nan", "logic_v\n    nan is no number to calculate with."),
        ("board", "logic_v = 3.3", "logic_v = 12", "logic_v\n    RP2040 runs at 1.62 V to 3.63 V, not at 12 V."),
        ("board", 'pad = "GPIO27"', 'pad = "GPIO26"', "Two header pins have the pad 'GPIO26'."),
        ("chip", "pull_up_ohm = { min = 30000", "pull_up_ohm = { min = 0", "pull_up_ohm.min\n    0 ohm cannot be a resistance."),
        ("chip", "vdd_typ_v = { value = 3.3", "vdd_typ_v = { value = 0", "vdd_typ_v.value\n    0 V cannot be a supply voltage."),
        ("chip", "voh_min = { frac = 1, v = -0.4", "voh_min = { frac = 0, v = 0", "voh_min\n    A high output stands at 0 V"),
        ("chip", "i_pin_source_max_a = { value = 0.012", "i_pin_source_max_a = { value = -0.012", "-0.012 A cannot be a current."),
        ("part", "value = 0.015", "value = inf", "inf is no number to calculate with."),
    ],
)
def test_impossible_figure_is_left_out_and_a_plan_goes_on(what: str, old: str, new: str, words: str, folder: Path, run, tmp_path: Path):
    text = template_text(what)
    assert text.count(old) == 1
    (folder / FILES[what]).write_text(text.replace(old, new), encoding="utf-8")
    checked = run("facts", "check", "--catalogue", folder, code=1).stdout
    assert words in checked
    assert re.match(rf"{FILES[what]}:\d+  ", checked)
    brief = tmp_path / "button.toml"
    brief.write_text('title = "B"\n[[part]]\nname = "b"\nkind = "push-button-momentary"\n', encoding="utf-8")
    planned = run("plan", brief, "--catalogue", folder, code=0)
    assert "left out: " in planned.stderr
    assert words in planned.stderr


def test_they_are_written_once(run, tmp_path: Path):
    target = tmp_path / "parts" / "mine.toml"
    target.parent.mkdir()
    assert "pinwright facts check --catalogue" in run("facts", "template", "part", "-o", target, code=0).stdout
    assert target.read_text(encoding="utf-8") == template_text("part")
    assert "already there" in run("facts", "template", "part", "-o", target, code=2).stderr
    run("facts", "template", "board", "-o", target, "--force", code=0)
    assert target.read_text(encoding="utf-8") == template_text("board")
    assert "Did you mean part?" in run("facts", "template", "prat", code=2).stderr
