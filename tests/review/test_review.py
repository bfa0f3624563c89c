"""The review as a whole: safety, order, registry, independence, wording."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from wired import ESP32, UNO, Build, divider, down, inside, said, text, up

import pinwright.review
from pinwright.facts.loader import Catalogue
from pinwright.review.registry import all_rules, review

FOLDER = Path(pinwright.review.__file__).parent


def test_cautions_of_parts_always_surface(build: Build, catalogue: Catalogue) -> None:
    # the catalogue's own cautions; one finding for several parts of a kind
    two = {"pump": "relay-module-active-high", "lamp": "relay-module-active-high"}
    wiring = build(ESP32, two, {"pump.IN": "IO26", "lamp.IN": "IO27"})
    assert said(wiring, "safety-mains") == {("caution", "pump, lamp")}
    assert "licensed" in text(wiring, "safety-mains")
    assert said(wiring, "safety-inductive") == {("note", "pump, lamp")}
    assert not said(build(ESP32, {"key": "push-button-momentary"}, {"key.SW": "IO18"}), "safety-mains")


@pytest.mark.parametrize("tag", ["mains", "fire", "heat", "battery", "fuse", "inductive", "supply", "motor"])
def test_every_tag_that_can_hurt_is_said(build: Build, catalogue: Catalogue, tag: str) -> None:
    kinds = [part.id for part in catalogue.parts.values() if any(c.tag == tag for c in part.caution) and part.line]
    assert kinds
    expected = "caution" if tag in ("mains", "fire", "heat", "battery") else "note"
    for kind in kinds:
        assert (expected, "x") in said(build(ESP32, {"x": kind}, {}), f"safety-{tag}")


def test_a_sound_device_is_clear(build: Build) -> None:
    # a sensor with its pull-ups, a button with a pull-up: nothing to say
    parts = {"air": "bme280", "key": "push-button-momentary"}
    wiring = build(ESP32, parts, {"air.SDA": "IO21", "air.SCL": "IO22", "key.SW": "IO18"}, {"key.SW": [inside()]})
    assert review(wiring).findings == ()
    assert review(wiring).verdict == "clear"


def test_a_relay_on_a_quiet_pin_is_clear_but_for_safety(build: Build) -> None:
    wiring = build(ESP32, {"pump": "relay-module-active-high"}, {"pump.IN": "IO26"}, {"pump.IN": [down()]})
    assert all(finding.rule.startswith("safety-") for finding in review(wiring).findings)


def test_worst_first_and_verdict(build: Build) -> None:
    wiring = build(
        ESP32,
        {"eye": "ultrasonic-hc-sr04", "pump": "relay-module-active-high"},
        {"eye.TRIG": "IO34", "eye.ECHO": "IO19", "pump.IN": "IO14"},
    )
    order = [{"refuse": 0, "caution": 1, "note": 2}[finding.severity] for finding in review(wiring).findings]
    assert order == sorted(order)
    assert review(wiring).verdict == "refused"
    assert review(wiring) == review(wiring)


def test_findings_can_be_followed(build: Build) -> None:
    """Every finding has reasons and a way out; no internal names, no empty sources."""
    wirings = [
        build(
            ESP32,
            {"eye": "ultrasonic-hc-sr04", "pump": "relay-module-active-high"},
            {"eye.TRIG": "IO34", "eye.ECHO": "IO12", "pump.IN": "IO14"},
        ),
        build(UNO, {"card": "sd-card-spi"}, {"card.SCK": "13", "card.MOSI": "11", "card.MISO": "12", "card.CS": "PD1"}),
        build(ESP32, {"ir": "ir-receiver-tsop17"}, {"ir.OUT": "IO19"}, {"ir.OUT": [divider(11e3, "divider 11 kΩ over 20 kΩ")]}),
        build(ESP32, {"t": "temp-ds18b20"}, {"t.DQ": "IO12"}, {"t.DQ": [up()]}),
    ]
    for wiring in wirings:
        for finding in review(wiring).findings:
            assert finding.because, finding
            assert finding.fix.endswith("."), finding
            assert all(finding.sources), finding
            assert not re.search(r"None|True|False|Fact\(|Level\(", repr(finding.because)), finding


def test_recalled_figures_are_named(build: Build) -> None:
    # the reach of this module's echo is recalled, not read
    assert "(recalled)" in text(build(ESP32, {"eye": "ultrasonic-hc-sr04"}, {"eye.ECHO": "IO19", "eye.TRIG": "IO18"}), "level-over-pin")


def test_rules_are_documented_and_unique() -> None:
    rules = all_rules()
    assert len({rule.id for rule in rules}) == len(rules)
    assert all(rule.what and rule.why and rule.source for rule in rules)


def test_every_finding_comes_from_a_documented_rule() -> None:
    """Ids that appear in code are an id of a rule, named beside one, or made from what sits on the board."""
    documented = " ".join(f"{rule.id} {rule.what}" for rule in all_rules())
    for path in FOLDER.glob("*.py"):
        if path.name in ("wirings.py", "registry.py"):
            continue
        for name in re.findall(r'(?:found|board_finding)\(\s*"([a-z0-9-]+)"', path.read_text(encoding="utf-8")):
            rest = name.partition("-")[2]
            assert name in documented or f"-{rest}" in documented, f"{path.name}: {name}"


def test_the_review_knows_nothing_of_the_solver() -> None:
    """Imports: no candidates, solver, plan, judge rules or quiet rule (``Setting`` and ``Circuit`` are data)."""
    allowed = {
        "pinwright.fitting.setting": {"Setting"},
        "pinwright.fitting.interface": {"Circuit", "Element"},
        "pinwright.fitting.lines": {"Asks", "Device", "Line"},
        "pinwright.fitting.places": {"BoardView", "Place"},
        # the solver of networks is a formula, tested against a circuit simulator; what it is asked is the review's own
        "pinwright.powerup.elements": {"GROUND", "Diode", "Element", "Leak", "Network", "Resistor", "Supply", "Switch", "diode_between"},
        "pinwright.powerup.nodal": {"settle", "solve"},
    }
    for path in FOLDER.glob("*.py"):
        if path.name == "wirings.py":  # the adapter from plans to wirings
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(("pinwright.fitting", "pinwright.powerup")):
                assert {alias.name for alias in node.names} <= allowed.get(node.module or "", set()), f"{path.name}: {node.module}"
