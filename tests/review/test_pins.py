"""Who owns a pin and what it can do.  Expectations are facts of the data sheets named beside each check."""

from __future__ import annotations

import pytest
from wired import C3, ESP32, ESP8266, PICO, UNO, Build, inside, said, text

BUTTON = {"key": "push-button-momentary"}
OWN = '[[part]]\nname = "own"\n[[part.line]]\nname = "L"\n'


def test_two_nets_on_one_pin(build: Build) -> None:
    # common practice, no source: two unrelated lines on one pin move each other
    two = {"a": "push-button-momentary", "b": "push-button-momentary"}
    assert said(build(ESP32, two, {"a.SW": "IO18", "b.SW": "IO18"}), "pin-shared") == {("refuse", "b.SW")}
    assert not said(build(ESP32, two, {"a.SW": "IO18", "b.SW": "IO19"}), "pin-shared")


def test_lines_of_one_bus_share_a_pin_in_one_role(build: Build) -> None:
    # UM10204 (from memory): all SDA of a bus are joined; SDA and SCL never are
    two = {"a": "bme280", "b": "bh1750"}
    good = {"a.SDA": "IO21", "b.SDA": "IO21", "a.SCL": "IO22", "b.SCL": "IO22"}
    assert not said(build(ESP32, two, good), "pin-shared")
    crossed = {**good, "b.SDA": "IO22", "b.SCL": "IO21"}
    assert {severity for severity, _ in said(build(ESP32, two, crossed), "pin-shared")} == {"refuse"}
    probes = {"a": "temp-ds18b20", "b": "temp-ds18b20"}  # 1-Wire devices have serial numbers (DS18B20 data sheet)
    assert not said(build(ESP32, probes, {"a.DQ": "IO4", "b.DQ": "IO4"}), "pin-shared")


@pytest.mark.parametrize(
    ("board", "pin", "expected"),
    [
        ("esp32-devkitc-v4-wrover-e", "IO16", {("refuse", "key.SW")}),  # PSRAM of the module takes GPIO16 and 17 (WROVER-E data sheet)
        (ESP32, "IO16", set()),  # the same pad is free on a module without PSRAM
        (ESP32, "CLK", {("refuse", "key.SW")}),  # GPIO6 is the flash clock on every ESP32 module
    ],
)
def test_reserved(build: Build, board: str, pin: str, expected: set[tuple[str, str]]) -> None:
    assert said(build(board, BUTTON, {"key.SW": pin}), "pin-reserved") == expected


def test_usb_pads_depend_on_the_brief(build: Build) -> None:
    # GPIO18 and 19 are D- and D+ of the ESP32-C3 (its data sheet)
    pins = {"key.SW": "GPIO18"}
    assert said(build(C3, BUTTON, pins, keep_usb=True), "pin-reserved") == {("refuse", "key.SW")}
    assert said(build(C3, BUTTON, pins, keep_usb=False), "pin-reserved") == {("caution", "key.SW")}


def test_console(build: Build) -> None:
    # PD0 and PD1 of an Uno go to its USB bridge (board schematic)
    assert said(build(UNO, BUTTON, {"key.SW": "PD1"}, keep_console=True), "pin-console") == {("refuse", "key.SW")}
    assert said(build(UNO, BUTTON, {"key.SW": "PD1"}, keep_console=False), "pin-console") == {("caution", "key.SW")}
    assert not said(build(UNO, BUTTON, {"key.SW": "PD2"}), "pin-console")


def test_direction(build: Build) -> None:
    # GPIO34 to 39 of the ESP32 are inputs only (data sheet); A0 of the ESP8266 is analog only
    assert said(build(ESP32, {"led": "led-red"}, {"led.LED": "IO34"}), "pin-direction") == {("refuse", "led.LED")}
    assert not said(build(ESP32, {"led": "led-red"}, {"led.LED": "IO25"}), "pin-direction")
    assert not said(build(ESP32, BUTTON, {"key.SW": "IO34"}), "pin-direction")
    assert said(build(ESP8266, BUTTON, {"key.SW": "A0"}), "pin-direction") == {("refuse", "key.SW")}


def test_open_drain(build: Build) -> None:
    # GPIO16 of the ESP8266 has no open-drain output, GPIO5 has; no pad of the RP2040 has (data sheets)
    probe = {"t": "temp-ds18b20"}
    assert said(build(ESP8266, probe, {"t.DQ": "D0"}), "pin-open-drain") == {("refuse", "t.DQ")}
    assert not said(build(ESP8266, probe, {"t.DQ": "D1"}), "pin-open-drain")
    assert not said(build(PICO, probe, {"t.DQ": "GP5"}), "pin-open-drain")


def test_adc_blocked_by_wifi(build: Build) -> None:
    # ADC2 of the ESP32 cannot be read while Wi-Fi runs; GPIO4 is ADC2, GPIO32 is ADC1 (data sheet)
    pot = {"pot": "potentiometer-10k"}
    assert said(build(ESP32, pot, {"pot.WIPER": "IO4"}, radio=("wifi",)), "pin-adc-blocked") == {("refuse", "pot.WIPER")}
    assert not said(build(ESP32, pot, {"pot.WIPER": "IO4"}), "pin-adc-blocked")
    assert not said(build(ESP32, pot, {"pot.WIPER": "IO32"}, radio=("wifi",)), "pin-adc-blocked")
    assert "converter 1" in text(build(ESP32, pot, {"pot.WIPER": "IO4"}, radio=("wifi",)), "pin-adc-blocked")


def test_adc_there_and_fine_enough(build: Build) -> None:
    # GPIO18 of the ESP32 has no ADC; the ATmega328P measures with 10 bits, the ESP32 with 12 (data sheets)
    assert said(build(ESP32, {"pot": "potentiometer-10k"}, {"pot.WIPER": "IO18"}), "pin-no-adc") == {("refuse", "pot.WIPER")}
    rtd = {"t": "pt1000-divider"}
    assert said(build(UNO, rtd, {"t.PT": "A0"}), "pin-adc-bits") == {("refuse", "t.PT")}
    assert not said(build(ESP32, rtd, {"t.PT": "IO32"}), "pin-adc-bits")


def test_analog_out_and_touch(build: Build) -> None:
    # GPIO25 and 26 of the ESP32 have a DAC, GPIO27 has touch, GPIO18 neither (data sheet)
    dac = OWN + 'direction = "analog-out"\nsignal = "analog"\n'
    assert said(build(ESP32, dac, {"own.L": "IO18"}), "pin-no-dac") == {("refuse", "own.L")}
    assert not said(build(ESP32, dac, {"own.L": "IO25"}), "pin-no-dac")
    touch = OWN + 'direction = "in"\nsignal = "touch"\n'
    assert said(build(ESP32, touch, {"own.L": "IO18"}), "pin-no-touch") == {("refuse", "own.L")}
    assert not said(build(ESP32, touch, {"own.L": "IO27"}), "pin-no-touch")


def test_interrupt(build: Build) -> None:
    # GPIO16 of the ESP8266 has no interrupt (data sheet); a rain gauge needs one
    rain = {"rain": "reed-pulse-counter"}
    assert said(build(ESP8266, rain, {"rain.PULSE": "D0"}), "pin-no-interrupt") == {("refuse", "rain.PULSE")}
    assert not said(build(ESP8266, rain, {"rain.PULSE": "D5"}), "pin-no-interrupt")
    assert not said(build(ESP8266, BUTTON, {"key.SW": "D0"}), "pin-no-interrupt")  # a button can be polled


def test_interrupt_lines_collide(build: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    # invented data: no chip of the catalogue joins interrupt lines of two pads yet
    two = {"a": "reed-pulse-counter", "b": "reed-pulse-counter"}
    wiring = build(ESP32, two, {"a.PULSE": "IO18", "b.PULSE": "IO19"})
    assert not said(wiring, "pin-interrupt-line")
    for wire in wiring.wires:
        object.__setattr__(wire.place, "pad", _with_line(wire.place.pad, "7"))
    assert said(wiring, "pin-interrupt-line") == {("refuse", "b.PULSE")}


def _with_line(pad: object, line: str) -> object:
    from dataclasses import replace

    return replace(pad, interrupt_line=line)  # type: ignore[type-var]


def test_wake(build: Build) -> None:
    # GPIO18 of the ESP32 is no RTC pad and cannot end deep sleep, GPIO33 can (data sheet)
    door = '[[part]]\nname = "door"\nkind = "reed-contact-door"\n[part.change.SW]\nwake = true\n'
    assert said(build(ESP32, door, {"door.SW": "IO18"}, sleeping=True), "pin-no-wake") == {("refuse", "door.SW")}
    assert not said(build(ESP32, door, {"door.SW": "IO33"}, sleeping=True), "pin-no-wake")
    assert not said(build(ESP32, door, {"door.SW": "IO18"}), "pin-no-wake")


def test_fixed_missing_radio(build: Build) -> None:
    # the brief itself
    fixed = '[[part]]\nname = "key"\nkind = "push-button-momentary"\npins = { SW = "IO18" }\n'
    assert said(build(ESP32, fixed, {"key.SW": "IO19"}), "pin-locked") == {("refuse", "key.SW")}
    assert not said(build(ESP32, fixed, {"key.SW": "IO18"}), "pin-locked")
    assert said(build(ESP32, BUTTON, {}), "pin-missing") == {("caution", "key.SW")}
    assert said(build(PICO, BUTTON, {"key.SW": "GP2"}, radio=("wifi",)), "board-radio") == {("refuse", "")}
    assert not said(build(ESP32, BUTTON, {"key.SW": "IO18"}, radio=("wifi",)), "board-radio")


def test_pull_missing(build: Build) -> None:
    # GPIO34 of the ESP32 has no pull inside, GPIO18 has (data sheet)
    assert said(build(ESP32, BUTTON, {"key.SW": "IO34"}), "pull-missing") == {("refuse", "key.SW")}
    assert said(build(ESP32, BUTTON, {"key.SW": "IO18"}), "pull-missing") == {("note", "key.SW")}
    assert not said(build(ESP32, BUTTON, {"key.SW": "IO18"}, {"key.SW": [inside()]}), "pull-missing")
    # an internal pull promised on a pad that has none does not help
    assert said(build(ESP32, BUTTON, {"key.SW": "IO34"}, {"key.SW": [inside()]}), "pull-missing") == {("refuse", "key.SW")}
