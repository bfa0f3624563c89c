"""The files ``facts template`` prints: whole, correct as they are, and usable (behaviour)."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from pinwright.facts import model
from pinwright.facts.loader import load_catalogue
from pinwright.facts.templates import template_text
from pinwright.facts.validate import uncited

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


def test_they_are_written_once(run, tmp_path: Path):
    target = tmp_path / "parts" / "mine.toml"
    target.parent.mkdir()
    assert "pinwright facts check --catalogue" in run("facts", "template", "part", "-o", target, code=0).stdout
    assert target.read_text(encoding="utf-8") == template_text("part")
    assert "already there" in run("facts", "template", "part", "-o", target, code=2).stderr
    run("facts", "template", "board", "-o", target, "--force", code=0)
    assert target.read_text(encoding="utf-8") == template_text("board")
    assert "nearest" not in run("facts", "template", "prat", code=2).stdout
