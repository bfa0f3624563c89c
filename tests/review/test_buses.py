"""Buses, PWM, exact pulses.  Which pin carries what is a fact of the chips' data sheets."""

from __future__ import annotations

from wired import C3, ESP32, ESP8266, PICO, UNO, Build, said, text

SENSOR = {"s": "bme280"}


def test_i2c_on_fixed_pins(build: Build) -> None:
    # RP2040 data sheet, function table: GP4 I2C0 SDA, GP5 I2C0 SCL, GP7 I2C1 SCL
    assert not said(build(PICO, SENSOR, {"s.SDA": "GP4", "s.SCL": "GP5"}), "bus-role")
    swapped = build(PICO, SENSOR, {"s.SDA": "GP5", "s.SCL": "GP4"})
    assert said(swapped, "bus-role") == {("refuse", "s.SDA"), ("refuse", "s.SCL")}
    assert "Swap the two wires" in text(swapped, "bus-role")
    assert said(build(PICO, SENSOR, {"s.SDA": "GP4", "s.SCL": "GP7"}), "bus-split") == {("refuse", "s.SDA")}
    nowhere = build(UNO, SENSOR, {"s.SDA": "7", "s.SCL": "8"})  # the ATmega328P has I2C on PC4 and PC5 only
    assert said(nowhere, "bus-role") == {("refuse", "s.SDA"), ("refuse", "s.SCL")}
    assert "A4" in text(nowhere, "bus-role")
    assert not said(build(ESP32, SENSOR, {"s.SDA": "IO16", "s.SCL": "IO4"}), "bus-role")  # any pin (matrix)
    assert not said(build(ESP8266, SENSOR, {"s.SDA": "D5", "s.SCL": "D6"}), "bus-software")  # software is its only I2C


def test_uart_crossed(build: Build) -> None:
    # RP2040: GP0 is UART0 TX, GP1 UART0 RX; the part's TXD goes to RX
    gps, wish = "gnss-uart-neo6m", 'connect = ["RXD"]\n'
    both = f'[[part]]\nname = "gps"\nkind = "{gps}"\n{wish}'
    assert not said(build(PICO, both, {"gps.TXD": "GP1", "gps.RXD": "GP0"}), "bus-role")
    assert said(build(PICO, both, {"gps.TXD": "GP0", "gps.RXD": "GP1"}), "bus-role") == {("refuse", "gps.TXD"), ("refuse", "gps.RXD")}


def test_spi_on_fixed_pins(build: Build) -> None:
    # ATmega328P: SCK PB5, MOSI PB3, MISO PB4; no other pins
    pins = {"t.SCK": "13", "t.SO": "12", "t.CS": "10"}
    assert not said(build(UNO, {"t": "thermocouple-max31855"}, pins), "bus-role")
    assert said(build(UNO, {"t": "thermocouple-max31855"}, {**pins, "t.SCK": "9"}), "bus-role") == {("refuse", "t.SCK")}


def test_rate_and_software_serial(build: Build) -> None:
    # software serial of the ATmega328P ends at 38400 Bd (library facts); the radar talks at 256000 Bd (module data)
    radar = '[[part]]\nname = "r"\nkind = "radar-ld2410"\nconnect = ["TXD"]\n'
    assert said(build(UNO, radar, {"r.OUT": "7", "r.TXD": "8"}), "bus-rate") == {("refuse", "r.TXD")}
    slow = build(UNO, {"gps": "gnss-uart-neo6m"}, {"gps.TXD": "8"})
    assert not said(slow, "bus-rate")
    assert said(slow, "bus-software") == {("caution", "gps.TXD")}
    assert not said(build(ESP32, radar, {"r.OUT": "IO18", "r.TXD": "IO16"}), "bus-rate")


def test_more_ports_than_the_chip_has(build: Build) -> None:
    # ESP32: three UARTs, of which UART0 is the boot console (data sheet)
    three = {"a": "gnss-uart-neo6m", "b": "gnss-uart-neo6m", "c": "gnss-uart-neo6m"}
    pins = {"a.TXD": "IO16", "b.TXD": "IO17", "c.TXD": "IO18"}
    assert said(build(ESP32, three, pins, keep_console=True), "bus-too-many") == {("refuse", "c.TXD")}
    assert not said(build(ESP32, three, pins, keep_console=False), "bus-too-many")
    two = build(ESP32, {"a": "gnss-uart-neo6m", "b": "gnss-uart-neo6m"}, {"a.TXD": "IO16", "b.TXD": "IO17"})
    assert not said(two, "bus-too-many")
    # a board with its own USB has its console there, so both UARTs of the ESP32-C3 are free
    own_usb = build("esp32c3-mini16-clone", {"a": "gnss-uart-neo6m", "b": "gnss-uart-neo6m"}, {"a.TXD": "GPIO0", "b.TXD": "GPIO1"})
    assert not said(own_usb, "bus-too-many")


def test_console_on_other_pins(build: Build) -> None:
    # ESP8266: UART0 can be swapped to GPIO13 and GPIO15, but it is one and the same block (hardware design guidelines)
    gps = {"gps": "gnss-uart-neo6m"}
    assert said(build(ESP8266, gps, {"gps.TXD": "D7"}), "bus-console-moved") == {("caution", "gps.TXD")}
    assert not said(build(ESP8266, gps, {"gps.TXD": "D7"}, keep_console=False), "bus-console-moved")


def test_forked_and_half(build: Build) -> None:
    # UM10204 (from memory): a bus is one pair of wires
    two = {"a": "bme280", "b": "bh1750"}
    forked = build(ESP32, two, {"a.SDA": "IO21", "b.SDA": "IO21", "a.SCL": "IO22", "b.SCL": "IO23"})
    assert {severity for severity, _ in said(forked, "bus-forked")} == {"refuse"}
    assert not said(build(ESP32, two, {"a.SDA": "IO21", "b.SDA": "IO21", "a.SCL": "IO22", "b.SCL": "IO22"}), "bus-forked")
    left_out = '[[part]]\nname = "s"\nkind = "bme280"\nleave_out = ["SCL"]\n'
    assert said(build(ESP32, left_out, {"s.SDA": "IO21"}), "bus-half") == {("refuse", "s.SDA")}
    assert not said(build(ESP32, SENSOR, {"s.SDA": "IO21"}), "bus-half")  # SCL is merely without a pin yet


def test_addresses(build: Build) -> None:
    # BME280: 0x76 or 0x77; HDC1080: 0x40 only (data sheets)
    pins = {f"{name}.{line}": pin for name in ("a", "b") for line, pin in (("SDA", "IO21"), ("SCL", "IO22"))}
    two = {"a": "bme280", "b": "bme280"}
    clash = build(ESP32, two, pins, addresses={"a": 0x76, "b": 0x76})
    assert said(clash, "bus-address") == {("refuse", "b.SDA")}
    assert "0x77" in text(clash, "bus-address")
    assert not said(build(ESP32, two, pins, addresses={"a": 0x76, "b": 0x77}), "bus-address")
    assert said(build(ESP32, two, pins, addresses={"a": 0x20, "b": 0x77}), "bus-address") == {("refuse", "a.SDA")}
    assert said(build(ESP32, two, pins), "bus-address") == {("refuse", "b.SDA")}  # as they come from the shop
    fixed = build(ESP32, {"a": "hdc1080", "b": "hdc1080"}, pins)
    assert said(fixed, "bus-address") == {("refuse", "b.SDA")}
    assert "another bus" in text(fixed, "bus-address")
    apart = {**pins, "b.SDA": "IO18", "b.SCL": "IO19"}
    assert not said(build(ESP32, {"a": "hdc1080", "b": "hdc1080"}, apart), "bus-address")


def test_chip_selects(build: Build) -> None:
    # common practice, no source: without a select of its own a part takes part in every transfer
    two = {"a": "thermocouple-max31855", "b": "thermocouple-max31855"}
    bus = {"a.SCK": "IO18", "b.SCK": "IO18", "a.SO": "IO19", "b.SO": "IO19"}
    assert not said(build(ESP32, two, {**bus, "a.CS": "IO5", "b.CS": "IO4"}), "bus-no-select")
    assert said(build(ESP32, two, {**bus, "a.CS": "IO5"}), "bus-no-select") == {("refuse", "b.SCK")}
    # the 74HC165 drives its output all the time (data sheet)
    mixed = {"a": "thermocouple-max31855", "k": "shift-in-74hc165"}
    pins = {"a.SCK": "IO18", "k.CLK": "IO18", "a.SO": "IO19", "k.QH": "IO19", "a.CS": "IO5", "k.SH_LD": "IO4"}
    assert said(build(ESP32, mixed, pins), "bus-not-shared") == {("refuse", "k.CLK")}
    alone = {line: pin for line, pin in pins.items() if line.startswith("k")}
    assert not said(build(ESP32, {"k": "shift-in-74hc165"}, alone), "bus-not-shared")


# ------------------------------------------------------------------------------ PWM


def test_pwm_pins_and_frequencies(build: Build) -> None:
    # ATmega328P: D9 and D10 belong to timer 1 (16 bits, any frequency), D7 has no timer; timer 2 makes fixed steps
    fan = {"fan": "fan-4wire-pwm"}  # 25 kHz wanted
    assert not said(build(UNO, fan, {"fan.PWM": "9", "fan.TACH": "2"}), "pwm-reach")
    assert said(build(UNO, fan, {"fan.PWM": "3", "fan.TACH": "2"}), "pwm-reach") == {("refuse", "fan.PWM")}
    assert said(build(UNO, {"led": "led-dimmed"}, {"led.LED": "7"}), "pwm-reach") == {("refuse", "led.LED")}  # servo pulses only
    assert said(build(ESP8266, {"led": "led-dimmed"}, {"led.LED": "D0"}), "pwm-none") == {("refuse", "led.LED")}  # GPIO16 has no PWM
    assert said(build(ESP8266, {"led": "led-dimmed"}, {"led.LED": "D5"}), "pwm-software") == {("note", "led.LED")}
    assert not said(build(ESP32, {"led": "led-dimmed"}, {"led.LED": "IO18"}), "pwm-software")


def test_pwm_bits(build: Build) -> None:
    # 80 MHz / 25 kHz = 3200 steps: 11 bits, not 12 (ESP32 technical reference, LED PWM)
    def wish(bits: int) -> str:
        return f'[[part]]\nname = "x"\n[[part.line]]\nname = "P"\ndirection = "out"\nsignal = "pwm"\npwm = "25 kHz"\npwm_bits = {bits}\n'

    assert not said(build(ESP32, wish(11), {"x.P": "IO18"}), "pwm-reach")
    assert said(build(ESP32, wish(12), {"x.P": "IO18"}), "pwm-reach") == {("refuse", "x.P")}


def test_one_channel_twice(build: Build) -> None:
    # RP2040: GP0 and GP16 are both channel A of slice 0 (data sheet, 4.5.2)
    two = {"a": "led-dimmed", "b": "led-dimmed"}
    same = build(PICO, two, {"a.LED": "GP0", "b.LED": "GP16"})
    assert said(same, "pwm-together") == {("refuse", "b.LED")}
    assert "PWM0 A" in text(same, "pwm-together")
    assert not said(build(PICO, two, {"a.LED": "GP0", "b.LED": "GP17"}), "pwm-together")


def test_one_timer_two_frequencies(build: Build) -> None:
    # GP0 and GP1 share slice 0 and its frequency: a servo at 50 Hz and a fan at 25 kHz cannot
    two = {"arm": "servo-hobby", "fan": "fan-4wire-pwm"}
    shared = build(PICO, two, {"arm.SIG": "GP0", "fan.PWM": "GP1", "fan.TACH": "GP5"})
    assert len(said(shared, "pwm-together")) == 1
    assert "50 Hz" in text(shared, "pwm-together")
    assert not said(build(PICO, two, {"arm.SIG": "GP0", "fan.PWM": "GP2", "fan.TACH": "GP5"}), "pwm-together")


def test_decided_modes_are_checked(build: Build) -> None:
    # two LEDs suit one timer; a plan that gives each another frequency on it does not
    two = {"a": "led-dimmed", "b": "led-dimmed"}
    pins = {"a.LED": "GP0", "b.LED": "GP1"}
    assert not said(build(PICO, two, pins, modes={"a.LED": "1000 Hz", "b.LED": "1000 Hz"}), "pwm-together")
    assert len(said(build(PICO, two, pins, modes={"a.LED": "1000 Hz", "b.LED": "500 Hz"}), "pwm-together")) == 1
    assert said(build(PICO, {"a": "led-dimmed"}, {"a.LED": "GP0"}, modes={"a.LED": "50 Hz"}), "pwm-reach") == {("refuse", "a.LED")}


def test_more_lines_than_channels(build: Build) -> None:
    # ESP32-C3: six LED PWM channels (data sheet)
    pins = ["GPIO0", "GPIO1", "GPIO3", "GPIO4", "GPIO5", "GPIO6", "GPIO7"]
    seven = {f"l{n}": "led-dimmed" for n in range(7)}
    wiring = build(C3, seven, {f"l{n}.LED": pin for n, pin in enumerate(pins)})
    assert len(said(wiring, "pwm-together")) == 1
    assert "LEDC has 6" in text(wiring, "pwm-together")
    six = {name: kind for name, kind in seven.items() if name != "l6"}
    assert not said(build(C3, six, {f"l{n}.LED": pin for n, pin in enumerate(pins[:6])}), "pwm-together")


# ------------------------------------------------------------------------------ exact pulses


def test_pulse_engines(build: Build) -> None:
    # ESP32-C3: two channels send (data sheet, RMT); the ATmega328P counts cycles in software
    strips = {"a": "led-ws2812b", "b": "led-ws2812b", "c": "led-ws2812b"}
    pins = {"a.DIN": "GPIO4", "b.DIN": "GPIO5", "c.DIN": "GPIO6"}
    assert said(build(C3, strips, pins), "pulse-too-many") == {("refuse", "c.DIN")}
    assert not said(build(C3, {"a": "led-ws2812b", "b": "led-ws2812b"}, {"a.DIN": "GPIO4", "b.DIN": "GPIO5"}), "pulse-too-many")
    assert said(build(UNO, {"a": "led-ws2812b"}, {"a.DIN": "7"}), "pulse-software") == {("note", "a.DIN")}
    assert not said(build(ESP32, {"a": "led-ws2812b"}, {"a.DIN": "IO18"}), "pulse-software")


def numbered(*lines: tuple[str, str, int]) -> str:
    """LEDs on PWM channels that firmware names by number."""
    part = '[[part]]\nname = "{}"\nkind = "led-dimmed"\n[part.change.LED]\npwm = "{}"\npwm_channel = {}\n'
    return "".join(part.format(*line) for line in lines)


def test_pwm_channels_by_number(build: Build) -> None:
    # two channels in a row get one timer in cores that number them (from memory; threads of makers tell of tones that dim lamps)
    pins = {"a.LED": "IO25", "b.LED": "IO26"}

    def of(first: tuple[str, int], second: tuple[str, int]) -> set[tuple[str, str]]:
        return said(build(ESP32, numbered(("a", *first), ("b", *second)), pins), "pwm-together")

    assert of(("440 Hz", 0), ("5 kHz", 1)) == {("refuse", "b.LED")}
    assert not of(("440 Hz", 1), ("5 kHz", 2))
    assert not of(("1 kHz", 0), ("1 kHz", 1))
    assert of(("1 kHz", 4), ("1 kHz", 4)) == {("refuse", "b.LED")}  # one channel has one duty
    assert of(("1 kHz", 0), ("1 kHz", 16)) == {("refuse", "b.LED")}  # 16 channels, counted from 0 (ESP-IDF, LEDC)
    assert "for example 0 and 2" in text(build(ESP32, numbered(("a", "440 Hz", 0), ("b", "5 kHz", 1)), pins), "pwm-together")


def test_an_input_on_the_select_pin_stops_the_bus(build: Build) -> None:
    # ATmega328P data sheet, section 23: SS (PB2, printed 10) as an input that goes low ends the chip's turn as controller
    pins = {"t.SCK": "13", "t.SO": "12", "t.CS": "9"}
    both = {"t": "thermocouple-max31855", "key": "push-button-momentary"}
    assert said(build(UNO, both, {**pins, "key.SW": "10"}), "bus-input-stops-it") == {("refuse", "key.SW")}
    assert not said(build(UNO, both, {**pins, "key.SW": "8"}), "bus-input-stops-it")
    lamp = {"t": "thermocouple-max31855", "lamp": "led-red"}
    assert not said(build(UNO, lamp, {**pins, "lamp.LED": "10"}), "bus-input-stops-it")  # an output may stay there
    assert not said(build(UNO, {"key": "push-button-momentary"}, {"key.SW": "10"}), "bus-input-stops-it")  # no bus, no harm
