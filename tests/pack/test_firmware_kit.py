"""Helpers of the MicroPython programme, run here with stand-ins for the board."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from pinwright.pack.firmware.micropython import micropython_source
from pinwright.pack.firmware.micropython_kit import kit_source
from pinwright.pack.firmware.program import program_of
from pinwright.planning import open_job, plan_job

ROOT = Path(__file__).parents[2]


def kit(monkeypatch: pytest.MonkeyPatch, *pieces: str) -> dict[str, Any]:
    """The helpers, with a clock that takes no time."""
    clock = ModuleType("time")
    clock.sleep_ms = lambda _ms: None  # type: ignore[attr-defined]
    found: dict[str, Any] = {}
    with monkeypatch.context() as patch:
        patch.setitem(sys.modules, "time", clock)
        exec(kit_source(pieces, ("value",), False, True), found)
    return found


def test_an_open_or_shorted_sensor_has_no_resistance(monkeypatch: pytest.MonkeyPatch):
    # Voltage divider: x = R / (R + R fixed); half the supply is the fixed value, an end of it no resistor at all.
    resistance = kit(monkeypatch, "resistance")["resistance"]
    assert resistance(0.5, 10e3, 0.005, 0.995) == pytest.approx(10e3)
    assert resistance(0.25, 10e3, 0.005, 0.995, to_supply=True) == pytest.approx(30e3)
    for share in (0.0, 0.004, 0.996, 1.0):
        assert resistance(share, 10e3, 0.005, 0.995) is None


def test_a_fault_is_no_value_and_is_said(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    found = kit(monkeypatch, "Analog", "resistance")
    adc = SimpleNamespace(read_u16=lambda: 65535)
    law = lambda volts: found["resistance"](volts / 3.3, 10e3, 0.005, 0.995)  # noqa: E731
    line = found["Analog"](adc, 3.3, 1.0, law, ((0, 0), (1, 1)), 4)
    assert line.read() is None
    found["Test"](lambda _: "n", 1).value("warm", line.read, "°C", "look", "25")
    assert "no value: open, shorted" in capsys.readouterr().out


def test_what_feeds_a_sensor_is_on_for_the_reading_only(monkeypatch: pytest.MonkeyPatch):
    told: list[str] = []
    feed = SimpleNamespace(on=lambda: told.append("on"), off=lambda: told.append("off"))

    def reads() -> int:
        told.append("reads")
        return 32768

    line = kit(monkeypatch, "Analog")["Analog"](SimpleNamespace(read_u16=reads), 3.3, 1.0, lambda volts: volts, ((0, 0), (1, 1)), 2, feed)
    line.read()
    assert told == ["on", "reads", "reads", "off"]

    def breaks() -> int:
        raise OSError("gone")

    told.clear()
    line.adc = SimpleNamespace(read_u16=breaks)
    with pytest.raises(OSError, match="gone"):
        line.read()
    assert told == ["on", "off"]


def test_the_cell_of_the_hatch_is_read_with_its_divider_joined():
    # The part's own note: its divider is joined for a reading only.
    result = plan_job(open_job(ROOT / "examples" / "delivery-hatch.toml"))
    checked = 0
    for plan in result.usable:
        files = micropython_source(program_of(plan, result.ranking.job))
        if files:
            made = files["device.py"].split("self.cell_vbat = ")[1].split("\n        self.")[0]
            assert "self.cell_sense_en" in made, plan.view.board.id
            checked += 1
    assert checked > 3
