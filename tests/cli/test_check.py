"""``pinwright check``: pins fixed by hand (behaviour)."""

from __future__ import annotations

import pytest

COPIED = "examples/copied-wiring.toml"
BELL = """\
title = "Bell"
[board]
only = ["raspberry-pi-pico"]
[[part]]
name = "key"
kind = "push-button-momentary"
pins = {{ SW = "{}" }}
"""


def findings_on(found: dict, pin: str) -> list[dict]:
    return [finding for finding in found["findings"] if finding["pin"] == pin]


def test_check_refuses_the_copied_wiring(run, assert_narrow):
    shown = run("check", COPIED, code=1).stdout
    assert_narrow(shown)
    assert "esp32-wroom32-30pin: Do not build this as it is." in shown
    assert "[REFUSE] soil.AOUT on D25 (GPIO25)  (pin-adc-blocked)" in shown
    assert "Wi-Fi takes that converter away while it is on" in shown


def test_check_finds_the_converter_that_wi_fi_takes(run_json):
    # ESP32 data sheet and ESP-IDF: ADC2 cannot be read while Wi-Fi runs; GPIO25 is ADC2 channel 8 (published)
    found = run_json("check", COPIED, code=1)
    assert found["verdict"] == "refused"
    assert ("pin-adc-blocked", "refuse") in {(f["rule"], f["severity"]) for f in findings_on(found, "D25")}


def test_check_finds_the_strap_pin_under_the_pump(run_json):
    # ESP32 data sheet, strapping pins: GPIO12 high at reset selects 1.8 V for the flash (published)
    (finding,) = [f for f in findings_on(run_json("check", COPIED, code=1), "D12") if f["rule"].startswith("strap")]
    assert finding["line"] == "pump.IN"
    assert "low at reset" in finding["because"][0]


def test_check_tells_of_the_button_on_a_pin_without_a_pull(run_json):
    # ESP32 data sheet: GPIO34 to GPIO39 have no pull resistors (published)
    words = str(findings_on(run_json("check", COPIED, code=1), "D34"))
    assert "key.SW" in words
    assert "10 kΩ" in words


def test_check_tells_of_the_5_v_echo(run_json):
    # the sensor runs at 5 V and so does ECHO; an ESP32 pin stands 3.3 V and a little (published)
    words = str(findings_on(run_json("check", COPIED, code=1), "D18"))
    assert "echo.ECHO" in words
    assert "divider" in words or "level shifter" in words


def test_check_of_a_sound_wiring(run, run_json, brief):
    path = brief(BELL.format("GP2"))
    assert "raspberry-pi-pico: " in run("check", path, code=0).stdout
    assert run_json("check", path)["verdict"] in ("clear", "caution")


def test_check_of_a_pin_the_board_does_not_have(run, brief):
    path = brief(BELL.format("D7"))
    result = run("check", path)
    assert result.exit_code in (1, 2)
    assert "D7" in result.output


@pytest.mark.parametrize(
    ("board", "pins", "message"),
    [
        ("", 'pins = { SW = "GP2" }', "A check needs to know the board."),
        ('[board]\nonly = ["raspberry-pi-pico"]', "", "This brief fixes no pin."),
    ],
)
def test_check_without_board_or_pins(board: str, pins: str, message: str, run, brief):
    path = brief(f'title = "Bell"\n{board}\n[[part]]\nname = "key"\nkind = "push-button-momentary"\n{pins}\n')
    assert message in run("check", path, code=2).stderr
