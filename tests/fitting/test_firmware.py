"""Languages and drivers in the choice of a board (behaviour); the facts themselves are checked in tests/facts/test_drivers.py."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pinwright.facts.loader import Catalogue
from pinwright.facts.model import Driver
from pinwright.fitting.firmware import DRIVER_WEIGHT, has_driver, supports
from pinwright.planning import open_job, plan_job

BRIEF = """
title = "Invented: a thing with one sensor"
[firmware]
{language}
[board]
only = ["raspberry-pi-pico", "atmega328p-32pin"]
[[part]]
name = "air"
kind = "bme280"
"""


@pytest.fixture
def job(tmp_path: Path):
    def make(language: str, catalogue: Catalogue):
        path = tmp_path / "brief.toml"
        path.write_text(BRIEF.format(language=f'language = "{language}"' if language else ""), encoding="utf-8")
        return open_job(path, catalogue=catalogue)

    return make


def test_a_chip_that_does_not_run_the_language_is_out(job, catalogue: Catalogue):
    # The ATmega328P has 2 KiB of RAM; no Python runtime has a port for it (list of ports of the stub packages, see test_drivers).
    plans = {plan.view.board.id: plan for plan in plan_job(job("micropython", catalogue)).ranking.boards}
    assert plans["raspberry-pi-pico"].feasible
    refused = plans["atmega328p-32pin"]
    assert refused.conflict is not None
    assert refused.conflict.wishes == (("language", "firmware in MicroPython"),)
    assert refused.conflict.chain[-1] == "The ATmega328P runs C++."


def test_a_missing_driver_marks_the_board_down_and_says_so(job, catalogue: Catalogue):
    bare = replace(catalogue.parts["bme280"], driver=(), needs_no_driver=False)
    poorer = replace(catalogue, parts={**catalogue.parts, "bme280": bare})
    for language in ("", "cpp"):
        with_driver, without = (plan_job(job(language, facts)) for facts in (catalogue, poorer))
        for board in ("raspberry-pi-pico", "atmega328p-32pin"):
            good, bad = (next(p for p in result.ranking.boards if p.view.board.id == board) for result in (with_driver, without))
            assert good.firmware[0].missing == ()
            assert bad.firmware[0].missing == ("air",)
            assert bad.objective.risk == good.objective.risk + DRIVER_WEIGHT
            finding = next(f for f in without.reviews[board].findings if f.rule == "driver-missing")
            assert "no maintained" in finding.because[0]
            assert "air" in finding.because[0]
            assert not [f for f in with_driver.reviews[board].findings if f.rule == "driver-missing"]


def test_the_language_with_the_fewest_gaps_counts(catalogue: Catalogue, job):
    only_circuitpython = replace(catalogue.parts["bme280"], driver=(Driver(language="circuitpython", package="p"),), needs_no_driver=False)
    parts = {**catalogue.parts, "bme280": only_circuitpython}
    devices = job("", catalogue).nets.devices
    found = supports(catalogue.chips["RP2040"], devices, parts)
    assert [(support.language, support.missing) for support in found] == [
        ("circuitpython", ()), ("micropython", ("air",)), ("cpp", ("air",)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("only", "not_on", "has"), [((), (), True), (("RP2040",), (), False), (("ESP32",), (), True), ((), ("ESP32",), False)]
)
def test_a_driver_may_be_for_some_chips_only(only: tuple[str, ...], not_on: tuple[str, ...], has: bool, catalogue: Catalogue):
    part = replace(
        catalogue.parts["bme280"], driver=(Driver(language="cpp", package="p", only=only, not_on=not_on),), needs_no_driver=False
    )
    assert has_driver(part, "cpp", catalogue.chips["ESP32"]) is has
    assert not has_driver(part, "micropython", catalogue.chips["ESP32"])
