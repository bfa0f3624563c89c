"""Lines nobody holds, faults of the silicon, blocks shared by several kinds of bus, wake wires and slow parts."""

from __future__ import annotations

import pytest
from wired import ESP32, ESP8266, PICO, UNO, Build, down, inside, said, text

CONTACT = """
[[part]]
name = "gate"
wire = "5 m"

  [[part.line]]
  name = "SW"
  direction = "in"
  signal = "digital"
  rest = "released"
  highest = "3.3 V"
"""


def test_contact_without_any_pull(build: Build) -> None:
    # common practice, no source: an open input follows stray fields
    pins = {"gate.SW": "IO33"}
    assert said(build(ESP32, CONTACT, pins), "line-undefined") == {("refuse", "gate.SW")}
    assert "pull-down" in text(build(ESP32, CONTACT, pins), "line-undefined")
    assert not said(build(ESP32, CONTACT, pins, {"gate.SW": [down()]}), "line-undefined")
    assert not said(build(ESP32, CONTACT, pins, {"gate.SW": [inside("down")]}), "line-undefined")


@pytest.mark.parametrize("signal", ["analog", "touch", "uart"])
def test_other_signals_may_let_go(build: Build, signal: str) -> None:
    # an idle serial port or an analog source is none of this rule's business
    direction = "analog-in" if signal == "analog" else "in"
    role = '\n  role = "RX"' if signal == "uart" else ""
    part = CONTACT.replace('"digital"', f'"{signal}"{role}').replace('"in"', f'"{direction}"')
    part = part.replace('wire = "5 m"', 'baud = "9600 Bd"') if signal == "uart" else part
    assert not said(build(ESP32, part, {"gate.SW": "IO33"}), "line-undefined")


def test_a_part_that_drives_needs_no_pull(build: Build) -> None:
    # AM312: push-pull output (data sheet)
    assert not said(build(ESP32, {"pir": "pir-motion-am312"}, {"pir.OUT": "IO33"}), "line-undefined")


def test_output_enable_left_out(build: Build) -> None:
    # 74HC595 data sheet, function table (from memory): the storage register has no defined state at power-up
    parts, pins = {"bells": "shift-out-74hc595"}, {"bells.SER": "IO23", "bells.SRCLK": "IO18", "bells.RCLK": "IO19"}
    wiring = build(ESP32, parts, pins)
    assert said(wiring, "line-left-out") == {("caution", "bells.OE")}
    assert "random" in text(wiring, "line-left-out")
    with_oe = '[[part]]\nname = "bells"\nkind = "shift-out-74hc595"\nconnect = ["OE"]\n'
    assert not said(build(ESP32, with_oe, {**pins, "bells.OE": "IO27"}), "line-left-out")
    # a part whose own resistor holds the optional line is left alone (TMC2209 carriers and the like): none is told here
    assert not said(build(ESP32, {"d": "climate-dht22"}, {"d.DATA": "IO27"}), "line-left-out")


def test_pads_the_radio_glitches(build: Build) -> None:
    # ESP32 errata GPIO-3.11: GPIO36 and GPIO39 are pulled low for 80 ns whenever the converter is powered up
    rain, pins = {"rain": "reed-pulse-counter"}, {"rain.PULSE": "VP"}
    assert said(build(ESP32, rain, pins, radio=("wifi",)), "pin-erratum") == {("refuse", "rain.PULSE")}
    assert "GPIO39" in text(build(ESP32, rain, pins, radio=("wifi",)), "pin-erratum")
    assert said(build(ESP32, rain, pins), "pin-erratum") == {("note", "rain.PULSE")}  # nothing powers the converter
    key = {"key": "push-button-momentary"}
    assert said(build(ESP32, key, {"key.SW": "VP"}, radio=("wifi",)), "pin-erratum") == {("note", "key.SW")}  # it can be polled
    pot = {"pot": "potentiometer-10k"}
    assert not said(build(ESP32, pot, {"pot.WIPER": "VP"}, radio=("wifi",)), "pin-erratum")
    assert not said(build(ESP32, rain, {"rain.PULSE": "IO33"}, radio=("wifi",)), "pin-erratum")


SERIAL = """
[[part]]
name = "modem"
baud = "9600 Bd"

  [[part.line]]
  name = "TX"
  direction = "out"
  signal = "uart"
  role = "TX"

  [[part.line]]
  name = "RX"
  direction = "in"
  signal = "uart"
  role = "RX"
"""


def test_one_block_for_two_kinds_of_bus(build: Build) -> None:
    # SAMD21 data sheet, SERCOM mux (from memory): PA16 to PA19 reach SERCOM1 and SERCOM3, PB02 and PA20 SERCOM5 only
    board = "feather-m0-express"
    parts = '[[part]]\nname = "snow"\nkind = "bh1750"\n[[part]]\nname = "air"\nkind = "sht31"\n' + SERIAL
    pins = {"snow.SDA": "D11", "snow.SCL": "D13", "air.SDA": "SDA", "air.SCL": "SCL", "modem.TX": "D10", "modem.RX": "D12"}
    assert not said(build(board, parts, pins), "bus-block")  # SERCOM1, 3 and 5
    third, more = SERIAL.replace("modem", "fix"), {"fix.TX": "A5", "fix.RX": "D6"}
    wiring = build(board, parts + third, {**pins, **more})
    assert {severity for severity, _ in said(wiring, "bus-block")} == {"refuse"}
    assert "SERCOM1" in text(wiring, "bus-block")
    # leaving out any one of the four buses helps
    for gone in ("snow", "air", "modem", "fix"):
        rest = {line: pin for line, pin in {**pins, **more}.items() if not line.startswith(gone)}
        assert not said(build(board, parts + third, rest), "bus-block"), gone


def test_blocks_of_one_kind_are_told_elsewhere(build: Build) -> None:
    # RP2040: each block serves one kind only (data sheet)
    assert not said(build(PICO, SERIAL, {"modem.TX": "GP0", "modem.RX": "GP1"}), "bus-block")


def test_wire_that_wakes(build: Build) -> None:
    # documentation of the usual C++ core: the timer wakes the chip by a pulse of GPIO16 into RST and by nothing else
    led = {"led": "led-red"}
    assert said(build(ESP8266, led, {"led.LED": "D0"}, sleeping=True), "sleep-wake-pin") == {("refuse", "led.LED")}
    assert said(build(ESP8266, led, {"led.LED": "D1"}, sleeping=True), "sleep-wake-pin") == {("note", "")}
    assert said(build("esp01s", led, {"led.LED": "GPIO2"}, sleeping=True), "sleep-wake-pin") == {("caution", "")}
    assert not said(build(ESP8266, led, {"led.LED": "D0"}), "sleep-wake-pin")
    assert not said(build(ESP32, led, {"led.LED": "IO27"}, sleeping=True), "sleep-wake-pin")


def test_switch_that_cannot_follow(build: Build) -> None:
    # common practice, no source: a zero-cross switch passes whole half waves of the mains
    def dimmed(hz: str) -> str:
        return f'[[part]]\nname = "light"\nkind = "ssr-zero-cross-panel"\n[part.change.CTRL]\npwm = "{hz}"\n'

    assert said(build(ESP32, dimmed("100 Hz"), {"light.CTRL": "IO27"}), "part-too-slow") == {("refuse", "light.CTRL")}
    assert not said(build(ESP32, dimmed("0.5 Hz"), {"light.CTRL": "IO27"}), "part-too-slow")
    assert not said(build(ESP32, {"light": "ssr-zero-cross-panel"}, {"light.CTRL": "IO27"}), "part-too-slow")
    assert not said(build(UNO, {"lamp": "mosfet-irlz44n"}, {"lamp.GATE": "9"}), "part-too-slow")


def test_equal_addresses_with_shutdown_lines(build: Build) -> None:
    # VL53L0X data sheet: always 0x29 after power-up; another address by command
    one = '[[part]]\nname = "{0}"\nkind = "vl53l0x"\nconnect = ["XSHUT"]\n'
    pins = {"a.SDA": "IO21", "a.SCL": "IO22", "b.SDA": "IO21", "b.SCL": "IO22"}
    plain = build(ESP32, {"a": "vl53l0x", "b": "vl53l0x"}, pins)
    assert said(plain, "bus-address") == {("refuse", "b.SDA")}
    assert "XSHUT" in text(plain, "bus-address")
    shut = {**pins, "a.XSHUT": "IO25", "b.XSHUT": "IO26"}
    wiring = build(ESP32, one.format("a") + one.format("b"), shut, addresses={"a": 0x29, "b": 0x2A})
    assert said(wiring, "bus-address") == {("note", "b.SDA")}
    assert not said(build(ESP32, {"a": "vl53l0x"}, {"a.SDA": "IO21", "a.SCL": "IO22"}), "bus-address")


def test_unloaded_input_within_reach(build: Build) -> None:
    # WS2812B: VIH 0.7 of its supply (data sheet, from memory): 3.01 V at 4.3 V, 3.5 V at 5 V; its input draws nothing
    def strip(volts: str) -> str:
        return f'[[part]]\nname = "strip"\nkind = "led-ws2812b"\nsupply = "{volts}"\n'

    assert said(build(ESP32, strip("4.3 V"), {"strip.DIN": "IO18"}), "level-into-part") == {("note", "strip.DIN")}
    assert said(build(ESP32, strip("4.6 V"), {"strip.DIN": "IO18"}), "level-into-part") == {("caution", "strip.DIN")}
    assert said(build(ESP32, strip("5 V"), {"strip.DIN": "IO18"}), "level-into-part") == {("refuse", "strip.DIN")}


def test_top_of_the_range_lost(build: Build) -> None:
    # ESP8266: full scale 1.0 V, 3.2 V behind the divider of this board (220 and 100 kΩ); less than half lost is a caution only
    def probe(volts: str) -> str:
        return f"""
[[part]]
name = "probe"

  [[part.line]]
  name = "OUT"
  direction = "analog-in"
  signal = "analog"
  highest = "{volts}"
"""

    assert said(build(ESP8266, probe("3 V"), {"probe.OUT": "A0"}), "analog-clipped") == set()
    assert said(build(ESP32, probe("3.3 V"), {"probe.OUT": "IO34"}), "analog-clipped") == {("caution", "probe.OUT")}


def test_pull_down_that_a_pad_outdoes(build: Build) -> None:
    # RP2350 data sheet, appendix E, E9: an external pull-down of 8.2 kΩ or less works, the internal one does not
    part = """
[[part]]
name = "call"

  [[part.line]]
  name = "SW"
  direction = "in"
  signal = "digital"
  rest = "low"
  pull = "down"
  gives_high_of = "3.3 V"
"""
    pins = {"call.SW": "GP28"}

    def at(ohm: float) -> set[tuple[str, str]]:
        return said(build("raspberry-pi-pico-2", part, pins, {"call.SW": [down(ohm)]}), "pin-erratum")

    assert at(22e3) == {("refuse", "call.SW")}
    assert at(8.2e3) == {("note", "call.SW")}
    assert said(build("raspberry-pi-pico-2", part, pins, {"call.SW": [inside("down")]}), "pin-erratum") == {("refuse", "call.SW")}
    assert not said(build(PICO, part, pins, {"call.SW": [down(22e3)]}), "pin-erratum")
    key = {"key": "push-button-momentary"}
    assert not said(build("raspberry-pi-pico-2", key, {"key.SW": "GP28"}, {"key.SW": [inside()]}), "pin-erratum")
