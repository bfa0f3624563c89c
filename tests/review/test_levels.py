"""Levels, limits, analog ranges, pulls of a bus and currents."""

from __future__ import annotations

from wired import ESP32, ESP8266, MINI_3V3, PICO, SERIES, SHIFTER, STAGE, UNO, Build, divider, said, text, up

ECHO = {"eye.TRIG": "IO18", "eye.ECHO": "IO19"}
EYE = {"eye": "ultrasonic-hc-sr04"}


def test_five_volts_into_a_3v3_pin(build: Build) -> None:
    # ESP32 pins take VDD + 0.3 V (data sheet); the echo of this module is 5 V (module data)
    bare = build(ESP32, EYE, ECHO)
    assert said(bare, "level-over-pin") == {("refuse", "eye.ECHO")}
    assert "5.00 V against 3.60 V" in text(bare, "level-over-pin")
    assert not said(build(ESP32, EYE, ECHO, {"eye.ECHO": [SHIFTER]}), "level-over-pin")
    assert not said(build(UNO, EYE, {"eye.TRIG": "7", "eye.ECHO": "8"}), "level-over-pin")


def test_divider_is_checked_both_ways(build: Build) -> None:
    # 5 V · 20/(11+20) = 3.23 V, worst of 5 % parts 3.40 V; too small a top resistor lets 3.8 V through; too large starves VIH
    good = build(ESP32, EYE, ECHO, {"eye.ECHO": [divider(11e3, "divider 11 kΩ over 20 kΩ")]})
    assert not said(good, "level-over-pin")
    assert not said(good, "level-into-pin")
    assert said(build(ESP32, EYE, ECHO, {"eye.ECHO": [divider(7.5e3, "divider 7.5 kΩ over 20 kΩ")]}), "level-over-pin") == {
        ("refuse", "eye.ECHO")
    }
    assert said(build(ESP32, EYE, ECHO, {"eye.ECHO": [divider(33e3, "divider 33 kΩ over 20 kΩ")]}), "level-into-pin") == {
        ("refuse", "eye.ECHO")
    }


def test_divider_behind_a_weak_output(build: Build) -> None:
    # this infrared receiver pulls up through 80 kΩ (data sheet): 5 V · 20/(80+11+20) = 0.90 V is no high
    ir = {"ir": "ir-receiver-tsop17"}
    wiring = build(ESP32, ir, {"ir.OUT": "IO19"}, {"ir.OUT": [divider(11e3, "divider 11 kΩ over 20 kΩ")]})
    assert said(wiring, "level-into-pin") == {("refuse", "ir.OUT")}
    assert "0.90 V against" in text(wiring, "level-into-pin")


def test_bus_pulled_to_five_volts(build: Build) -> None:
    # the display's adapter pulls SDA and SCL to its 5 V supply (module data)
    lcd = {"lcd": "lcd1602-pcf8574"}
    pins = {"lcd.SDA": "IO21", "lcd.SCL": "IO22"}
    assert {severity for severity, _ in said(build(ESP32, lcd, pins), "level-over-pin")} == {"refuse"}
    both = {"lcd.SDA": [SHIFTER], "lcd.SCL": [SHIFTER]}
    assert not said(build(ESP32, lcd, pins, both), "level-over-pin")
    # a 6 V rating of an input is no voltage it puts out: these sensors are fine on a 3.3 V bus (TMP117 data sheet)
    assert not said(build(ESP32, {"t": "tmp117"}, {"t.SDA": "IO21", "t.SCL": "IO22"}), "level-over-pin")


def test_parts_of_two_rails_on_one_bus(build: Build) -> None:
    # the clock fed with 5 V pulls the bus to 5 V; the display's lines take 3.6 V (data sheets)
    both = '[[part]]\nname = "clock"\nkind = "lcd1602-pcf8574"\n[[part]]\nname = "oled"\nkind = "ssd1306-oled-i2c"\nsupply = "3.3 V"\n'
    pins = {"clock.SDA": "A4", "oled.SDA": "A4", "clock.SCL": "A5", "oled.SCL": "A5"}
    assert said(build(UNO, both, pins), "level-over-part") == {("caution", "oled.SDA"), ("caution", "oled.SCL")}
    assert not said(build(UNO, {"clock": "lcd1602-pcf8574"}, {"clock.SDA": "A4", "clock.SCL": "A5"}), "level-over-part")


def test_bus_too_low_for_a_part(build: Build) -> None:
    # at 5 V this sensor wants 0.7 · 5 = 3.5 V; its bus rests at 3.3 V (DHT22 data sheet)
    dht = '[[part]]\nname = "air"\nkind = "climate-dht22"\nsupply = "5 V"\n'
    assert said(build(ESP32, dht, {"air.DATA": "IO4"}, {"air.DATA": [up()]}), "level-on-bus") == {("refuse", "air.DATA")}
    assert not said(build(ESP32, dht.replace("5 V", "3.3 V"), {"air.DATA": "IO4"}, {"air.DATA": [up()]}), "level-on-bus")


def test_five_volt_board_into_a_3v3_part(build: Build) -> None:
    # SD cards take VDD + 0.3 V at most (SD physical layer specification, recalled)
    card, pins = {"card": "sd-card-spi"}, {"card.SCK": "13", "card.MOSI": "11", "card.MISO": "12", "card.CS": "10"}
    assert said(build(UNO, card, pins), "level-over-part") == {("refuse", f"card.{line}") for line in ("SCK", "MOSI", "CS")}
    assert not said(build(MINI_3V3, card, pins), "level-over-part")
    assert not said(build(UNO, card, pins, {f"card.{line}": [SHIFTER] for line in ("SCK", "MOSI", "CS")}), "level-over-part")


def test_board_high_against_the_part(build: Build) -> None:
    # WS2812B at 5 V: VIH 3.5 V, out of reach of a 3.3 V pin (data sheet); a module that wants 3.0 V is within reach when lightly loaded
    strip = {"strip": "led-ws2812b"}
    assert said(build(ESP32, strip, {"strip.DIN": "IO18"}), "level-into-part") == {("refuse", "strip.DIN")}
    assert "0.86 V below VIH (2.64 V against 3.50 V)" in text(build(ESP32, strip, {"strip.DIN": "IO18"}), "level-into-part")
    assert not said(build(ESP32, strip, {"strip.DIN": "IO18"}, {"strip.DIN": [SHIFTER]}), "level-into-part")
    assert not said(build(UNO, strip, {"strip.DIN": "7"}), "level-into-part")
    assert said(build(ESP32, {"m": "mosfet-module-lowside"}, {"m.TRIG": "IO18"}), "level-into-part") == {("note", "m.TRIG")}
    # a guaranteed low of 0.5 V at full current is no matter for an input that only takes current at high (RP2040 data sheet)
    assert not said(build(PICO, {"r": "relay-module-active-high"}, {"r.IN": "GP3"}), "level-into-part")


def test_part_high_against_the_pin(build: Build) -> None:
    # Uno: VIH 0.6 · 5 = 3.0 V (data sheet); this receiver reaches 2.8 V at most, the other 3.3 V with 2.9 V guaranteed
    assert said(build(UNO, {"gps": "gnss-uart-pa"}, {"gps.TXD": "8"}), "level-into-pin") == {("refuse", "gps.TXD")}
    assert said(build(UNO, {"gps": "gnss-uart-neo6m"}, {"gps.TXD": "8"}), "level-into-pin") == {("caution", "gps.TXD")}
    assert not said(build(PICO, {"gps": "gnss-uart-neo6m"}, {"gps.TXD": "GP1"}), "level-into-pin")


def test_unknown_thresholds(build: Build) -> None:
    # nobody prints the threshold of a hobby servo's signal
    assert said(build(ESP32, {"arm": "servo-hobby"}, {"arm.SIG": "IO18"}), "level-unknown") == {("note", "arm.SIG")}
    assert not said(build(UNO, {"arm": "servo-hobby"}, {"arm.SIG": "9"}), "level-unknown")


def test_pull_up_to_a_higher_rail(build: Build) -> None:
    # invented circuit: 10 kΩ from a driven line to 5 V pushes 0.14 mA into the protection of a 3.3 V pin
    from pinwright.fitting.interface import Element

    to_part = Element("pull-up", "10 kΩ to the part's supply", 1, "", 10e3)
    relay, pins = {"r": "relay-module-opto-active-low"}, {"r.IN": "IO26"}
    assert said(build(ESP32, relay, pins, {"r.IN": [to_part]}), "level-pulled-over") == {("caution", "r.IN")}
    assert not said(build(UNO, relay, {"r.IN": "7"}, {"r.IN": [to_part]}), "level-pulled-over")


# ------------------------------------------------------------------------------ analog


def test_analog_range(build: Build) -> None:
    # ESP32 measures to 2.45 V at 12 dB (hardware design guidelines); the ATmega328P to its supply (data sheet)
    pot = {"pot": "potentiometer-10k"}
    assert said(build(ESP32, pot, {"pot.WIPER": "IO32"}), "analog-clipped") == {("caution", "pot.WIPER")}
    assert "26 %" in text(build(ESP32, pot, {"pot.WIPER": "IO32"}), "analog-clipped")
    assert not said(build(UNO, pot, {"pot.WIPER": "A0"}), "analog-clipped")
    assert not said(build(ESP8266, pot, {"pot.WIPER": "A0"}), "analog-clipped")  # 220 kΩ over 100 kΩ on the board: 3.2 V full scale
    assert not said(build(ESP32, {"t": "temperature-tmp36"}, {"t.VOUT": "IO32"}), "analog-clipped")  # 2.0 V at most


def test_analog_too_high(build: Build) -> None:
    # a sensor fed with 5 V reaches 5 V, the pin takes 3.6 V (ESP32 data sheet)
    amp = {"i": "current-sensor-acs712"}
    assert said(build(ESP32, amp, {"i.OUT": "IO32"}), "analog-over-pin") == {("refuse", "i.OUT")}
    assert not said(build(UNO, amp, {"i.OUT": "A0"}), "analog-over-pin")
    cut = {"i.OUT": [divider(24e3, "divider 24 kΩ over 20 kΩ")]}
    assert not said(build(ESP32, amp, {"i.OUT": "IO32"}, cut), "analog-over-pin")
    assert not said(build(ESP32, amp, {"i.OUT": "IO32"}, cut), "analog-clipped")


# ------------------------------------------------------------------------------ pulls of a bus


def test_bus_without_pull_ups(build: Build) -> None:
    # the bare memory chip has no pull-ups, the sensor's module has (module data); I2C lives on them (UM10204, from memory)
    bare, pins = {"m": "eeprom-24lc512"}, {"m.SDA": "IO21", "m.SCL": "IO22"}
    assert said(build(ESP32, bare, pins), "pull-missing") == {("refuse", "m.SDA"), ("refuse", "m.SCL")}
    assert not said(build(ESP32, bare, pins, {"m.SDA": [up()], "m.SCL": [up()]}), "pull-missing")
    assert not said(build(ESP32, {"s": "bme280"}, {"s.SDA": "IO21", "s.SCL": "IO22"}), "pull-missing")


def test_pull_ups_too_strong(build: Build) -> None:
    # (3.3 V - 0.4 V) / 3 mA = 967 Ω is the least (UM10204, from memory); 2.2 kΩ and six of 4.7 kΩ make 578 Ω
    kinds = ["mpu6050", "bh1750", "aht20", "ds3231", "ssd1306-oled-i2c", "eeprom-24c256", "mlx90614"]
    parts = {f"p{number}": kind for number, kind in enumerate(kinds)}
    pins = {f"p{n}.{line}": pin for n in range(len(kinds)) for line, pin in (("SDA", "IO21"), ("SCL", "IO22"))}
    strong = build(ESP32, parts, pins)
    assert {severity for severity, _ in said(strong, "pull-strong")} == {"caution"}
    assert "578 Ω against 967 Ω" in text(strong, "pull-strong")
    few = {name: kind for name, kind in parts.items() if name in ("p0", "p1")}
    assert not said(build(ESP32, few, {line: pin for line, pin in pins.items() if line[:2] in few}), "pull-strong")


# ------------------------------------------------------------------------------ currents


def _load(current: str) -> str:
    return f'[[part]]\nname = "load"\n[[part.line]]\nname = "L"\ndirection = "out"\nsignal = "digital"\ncurrent = "{current}"\n'


def test_current_of_a_pin(build: Build) -> None:
    # RP2040: 12 mA a pin (data sheet), plan with 8 mA; ATmega328P: 20 mA
    assert said(build(PICO, _load("15 mA"), {"load.L": "GP3"}), "current-pin") == {("refuse", "load.L")}
    assert said(build(PICO, _load("10 mA"), {"load.L": "GP3"}), "current-pin") == {("caution", "load.L")}
    assert not said(build(PICO, _load("5 mA"), {"load.L": "GP3"}), "current-pin")
    assert not said(build(PICO, _load("15 mA"), {"load.L": "GP3"}, {"load.L": [STAGE]}), "current-pin")
    assert "15 mA against 12 mA" in text(build(PICO, _load("15 mA"), {"load.L": "GP3"}), "current-pin")


def test_current_of_all_pins(build: Build) -> None:
    # RP2040: 50 mA for all pins together (data sheet); seven times 8 mA are more, six are not
    seven = _load("8 mA").replace("[[part.line]]", "count = 7\n[[part.line]]")
    pins = {f"load {n}.L": f"GP{n + 1}" for n in range(1, 8)}
    wiring = build(PICO, seven, pins)
    assert {severity for severity, _ in said(wiring, "current-group")} == {"refuse"}
    assert said(wiring, "current-chip") == {("refuse", "")}
    six = build(PICO, seven.replace("7", "6"), {line: pin for line, pin in pins.items() if "7" not in line})
    assert not said(six, "current-group")
    assert not said(six, "current-chip")


def test_stages(build: Build) -> None:
    # common practice, no source: solenoids and LEDs do not hang on bare pins
    assert said(build(ESP32, {"s": "solenoid-12v"}, {"s.GATE": "IO26"}), "current-no-driver") == {("refuse", "s.GATE")}
    assert not said(build(ESP32, {"s": "solenoid-12v"}, {"s.GATE": "IO26"}, {"s.GATE": [STAGE]}), "current-no-driver")
    assert said(build(ESP32, {"q": "npn-2n2222a"}, {"q.BASE": "IO26"}), "current-no-series") == {("refuse", "q.BASE")}
    assert not said(build(ESP32, {"q": "npn-2n2222a"}, {"q.BASE": "IO26"}, {"q.BASE": [SERIES]}), "current-no-series")
