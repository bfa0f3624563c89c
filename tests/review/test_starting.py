"""Straps, quiet lines and what sits on the board.  Boot states and straps are facts of the chips' documents."""

from __future__ import annotations

import pytest
from wired import C3, ESP32, ESP32_30, ESP8266, PICO, UNO, Build, down, inside, said, text, up

# ------------------------------------------------------------------------------ straps


@pytest.mark.parametrize(
    ("pin", "expected"),
    [
        # ESP8266 boot modes (esptool documentation): GPIO0 and GPIO2 high, GPIO15 low at reset
        ("D3", "refuse"),  # PIR output rests low on GPIO0
        ("D8", "caution"),  # rests low on GPIO15, but motion at reset drives it high
        ("D5", None),  # GPIO14 is no strap
    ],
)
def test_strap_driven_by_a_part(build: Build, pin: str, expected: str | None) -> None:
    found = said(build(ESP8266, {"pir": "pir-motion-am312"}, {"pir.OUT": pin}), "strap-level")
    assert found == ({(expected, "pir.OUT")} if expected else set())


def test_strap_and_a_button(build: Build) -> None:
    # a button to ground on GPIO0 keeps the board in its loader only while pressed; a switch may stay closed
    key = build(ESP8266, {"key": "push-button-momentary"}, {"key.SW": "D3"}, {"key.SW": [inside()]})
    assert said(key, "strap-level") == {("caution", "key.SW")}
    switch = build(ESP8266, {"sw": "toggle-or-slide-switch"}, {"sw.SW": "D3"}, {"sw.SW": [inside()]})
    assert said(switch, "strap-level") == {("refuse", "sw.SW")}


def test_pull_up_on_mtdi(build: Build) -> None:
    # GPIO12 of the ESP32 must be low at reset (data sheet, strapping pins): a 4.7 kΩ bus pull-up beats its weak pull-down
    probe = {"t": "temp-ds18b20"}
    assert said(build(ESP32, probe, {"t.DQ": "IO12"}, {"t.DQ": [up()]}), "strap-level") == {("refuse", "t.DQ")}
    assert not said(build(ESP32, probe, {"t.DQ": "IO13"}, {"t.DQ": [up()]}), "strap-level")
    # the same pull-up suits GPIO0, which must be high; the part answers only when asked, so it is silent at power-up
    assert said(build(ESP32, probe, {"t.DQ": "IO0"}, {"t.DQ": [up()]}), "strap-level") == {("note", "t.DQ")}


def test_strap_and_a_load(build: Build) -> None:
    # an LED to ground holds GPIO2 of the ESP8266 near its forward voltage, below VIH (common practice, no source)
    assert said(build(ESP8266, {"led": "led-red"}, {"led.LED": "D4"}), "strap-level") == {("refuse", "led.LED")}
    # chip select with an internal pull only leaves GPIO15 to the resistor on the board
    card = {"card": "sd-card-spi"}
    pins = {"card.SCK": "D5", "card.MOSI": "D7", "card.MISO": "D6", "card.CS": "D8"}
    assert said(build(ESP8266, card, pins, {"card.CS": [inside()]}), "strap-level") == {("note", "card.CS")}
    # a real pull-up of 4.7 kΩ against the 12 kΩ on the board makes 2.4 V: neither high nor low
    assert said(build(ESP8266, card, pins, {"card.CS": [up()]}), "strap-level") == {("refuse", "card.CS")}


def test_a_load_that_pulls_the_right_way_does_no_harm(build: Build) -> None:
    # GPIO15 must be low; a transistor's base only pulls it lower (12 kΩ on the board does the work, schematic)
    assert said(build(ESP8266, {"b": "buzzer-active"}, {"b.BUZ": "D8"}), "strap-level") == {("note", "b.BUZ")}


def test_strap_that_only_uploads_need(build: Build) -> None:
    # GPIO2 of the ESP32 must be low for the loader, a normal start does not care (esptool documentation)
    wiring = build(ESP32, {"t": "temp-ds18b20"}, {"t.DQ": "IO2"}, {"t.DQ": [up()]})
    assert said(wiring, "strap-upload") == {("caution", "t.DQ")}
    assert not said(wiring, "strap-level")
    assert not said(build(ESP32, {"led": "led-red"}, {"led.LED": "IO2"}), "strap-upload")


# ------------------------------------------------------------------------------ quiet lines

RELAY = {"pump": "relay-module-active-high"}


@pytest.mark.parametrize(
    ("board", "pin", "expected"),
    [
        (ESP32, "IO14", "refuse"),  # GPIO14 carries a signal at reset (common report, recalled in the chip's boot column)
        (ESP32, "IO5", "refuse"),  # pulled up and pulsing
        (ESP32, "IO26", None),  # floats
        (ESP8266, "D0", "refuse"),  # GPIO16 is driven high during boot
        (ESP8266, "D6", "refuse"),  # GPIO12 is pulled up, 10 kΩ against 30 kΩ leaves 0.83 V where 0.4 V is off
        (ESP8266, "D1", None),  # GPIO5 floats
        (UNO, "13", "refuse"),  # the boot loader blinks PB5 (boot loader source)
        (UNO, "7", None),
        (PICO, "GP10", None),  # RP2040 pads are pulled down at reset (pad reset value)
    ],
)
def test_relay_at_start(build: Build, board: str, pin: str, expected: str | None) -> None:
    found = said(build(board, RELAY, {"pump.IN": pin}, {"pump.IN": [down()]}), "start-quiet")
    assert found == ({(expected, "pump.IN")} if expected else set())


def test_pull_beaten_by_a_resistor_is_no_trouble(build: Build) -> None:
    # 3.3 V · 1 kΩ / (1 kΩ + 30 kΩ) = 0.11 V, under the 0.4 V at which this relay is off
    assert not said(build(ESP8266, RELAY, {"pump.IN": "D6"}, {"pump.IN": [down(1e3)]}), "start-quiet")


def test_a_flicker_is_no_reason_to_refuse(build: Build) -> None:
    strip = {"strip": "led-ws2812b"}
    assert said(build(ESP32, strip, {"strip.DIN": "IO14"}), "start-quiet") == {("note", "strip.DIN")}
    assert not said(build(ESP32, strip, {"strip.DIN": "IO26"}), "start-quiet")


def test_floating_gate(build: Build) -> None:
    # a gate that floats charges up and switches (common practice, no source); GPIO26 floats at reset (ESP32 data sheet)
    gate = {"pump": "mosfet-ao3400a"}
    assert said(build(ESP32, gate, {"pump.GATE": "IO26"}), "start-floating") == {("refuse", "pump.GATE")}
    assert not said(build(ESP32, gate, {"pump.GATE": "IO26"}, {"pump.GATE": [down()]}), "start-floating")
    assert not said(build(PICO, gate, {"pump.GATE": "GP10"}), "start-floating")  # pulled down at reset
    # the driver's own pull-down holds it (DRV8833 data sheet, 150 kΩ)
    motor = {"m.AIN1": "IO25", "m.AIN2": "IO26", "m.BIN1": "IO27", "m.BIN2": "IO32", "m.nSLEEP": "IO33"}
    assert not said(build(ESP32, {"m": "dc-motor-drv8833"}, motor), "start-floating")


def test_strap_that_wants_the_load_on(build: Build) -> None:
    # GPIO9 of the ESP32-C3 must be high at reset (data sheet): no place for a relay that is on at high
    assert said(build(C3, RELAY, {"pump.IN": "GPIO9"}, {"pump.IN": [down()]}), "start-strapped") == {("refuse", "pump.IN")}
    assert not said(build(C3, RELAY, {"pump.IN": "GPIO10"}, {"pump.IN": [down()]}), "start-strapped")


def test_contention(build: Build) -> None:
    # GPIO16 of the ESP8266 is driven high while it boots; a PIR module drives low (data sheets)
    pir = {"pir": "pir-motion-am312"}
    assert said(build(ESP8266, pir, {"pir.OUT": "D0"}), "start-contention") == {("caution", "pir.OUT")}
    assert not said(build(ESP8266, pir, {"pir.OUT": "D1"}), "start-contention")


# ------------------------------------------------------------------------------ what sits on the board


def test_led_on_the_board(build: Build) -> None:
    # GPIO2 of the 30-pin board carries an LED to ground: it holds a pulled-up input and a bus down (board data)
    key = {"key": "push-button-momentary"}
    assert said(build(ESP32_30, key, {"key.SW": "GPIO2"}, {"key.SW": [inside()]}), "board-led") == {("refuse", "key.SW")}
    assert said(build(ESP32_30, {"t": "temp-ds18b20"}, {"t.DQ": "GPIO2"}, {"t.DQ": [up()]}), "board-led") == {("refuse", "t.DQ")}
    assert said(build(ESP32_30, {"led": "led-red"}, {"led.LED": "GPIO2"}), "board-led") == {("note", "led.LED")}
    # the Uno drives its LED through an amplifier, so the pin itself is not loaded (schematic of the maker)
    assert not said(build(UNO, key, {"key.SW": "13"}, {"key.SW": [inside()]}), "board-led")


def test_button_and_upload_circuit(build: Build) -> None:
    # GPIO0 of this board: flash button through 470 Ω and the upload transistors (schematic)
    led = {"led": "led-red"}
    wiring = build(ESP8266, led, {"led.LED": "D3"})
    assert said(wiring, "board-button") == {("caution", "led.LED")}
    assert "470" in text(wiring, "board-button")
    assert said(wiring, "board-auto-program") == {("caution", "led.LED")}
    assert not said(build(ESP8266, led, {"led.LED": "D5"}), "board-button")
    # a load that is on at low is switched on by every upload
    relay = {"pump": "relay-module-opto-active-low"}
    assert ("refuse", "pump.IN") in said(build(ESP8266, relay, {"pump.IN": "D3"}), "board-auto-program")


def test_usb_bridge(build: Build) -> None:
    # Uno: 1 kΩ between the bridge and PD0; this ESP32-C3 board has none (schematics)
    key, free = {"key": "push-button-momentary"}, {"keep_console": False}
    assert said(build(UNO, key, {"key.SW": "PD0"}, **free), "board-usb-bridge") == {("caution", "key.SW")}
    assert said(build(C3, key, {"key.SW": "GPIO20"}, **free), "board-usb-bridge") == {("refuse", "key.SW")}
    assert not said(build(C3, key, {"key.SW": "GPIO10"}, **free), "board-usb-bridge")


def test_divider_and_pulls_on_the_board(build: Build) -> None:
    # 12 kΩ to ground on GPIO15 against a 10 kΩ pull-up: 1.8 V, against the VIH of 2.48 V (schematic; data sheet)
    key = {"key": "push-button-momentary"}
    assert said(build(ESP8266, key, {"key.SW": "D8"}, {"key.SW": [up(10e3)]}), "board-pull-down") == {("refuse", "key.SW")}
    assert "1.80 V against 2.47 V" in text(build(ESP8266, key, {"key.SW": "D8"}, {"key.SW": [up(10e3)]}), "board-pull-down")
    assert not said(build(ESP8266, key, {"key.SW": "D8"}, {"key.SW": [up(1e3)]}), "board-pull-down")  # 3.05 V
    assert not said(build(ESP8266, key, {"key.SW": "D5"}, {"key.SW": [up(10e3)]}), "board-pull-down")
    assert said(build(ESP8266, key, {"key.SW": "A0"}), "board-divider") == {("refuse", "key.SW")}
    # 10 kΩ to 3.3 V on GPIO18 of this board shifts a reading (board data)
    pot = {"pot": "potentiometer-10k"}
    assert said(build("esp32-s2-saola-1", pot, {"pot.WIPER": "GPIO18"}), "board-pull-up") == {("refuse", "pot.WIPER")}
    assert not said(build("esp32-s2-saola-1", pot, {"pot.WIPER": "GPIO17"}), "board-pull-up")
