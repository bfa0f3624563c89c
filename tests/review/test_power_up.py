"""The review's own proof of power-up, sleep and separate supplies: voltages by hand from Kirchhoff, verdicts by what they mean."""

from __future__ import annotations

from math import log
from typing import Any

import pytest
from wired import C3, ESP32, ESP32_30, ESP8266, PICO, UNO, Build, down, inside, said, text, up

from pinwright.circuits.ranges import Range
from pinwright.facts.loader import Catalogue
from pinwright.fitting.interface import Element
from pinwright.fitting.interface.pieces import Piece
from pinwright.fitting.places import view
from pinwright.powerup.phases import stretches
from pinwright.review.loads import off_when_hi_z, reading
from pinwright.review.moments import Moment, before_firmware
from pinwright.review.netlist import at_pin, internal_pull_ohm, rail_of, solved
from pinwright.review.unpowered import clamp_current_a

S3, PICO2 = "esp32-s3-devkitc-1-n8", "raspberry-pi-pico-2"
RELAY = {"pump": "relay-module-active-high"}
PULLED_UP = Moment("pull-up", "at reset it is pulled up", "")


def standing(wiring: Any, does: Any, **how: bool) -> Range:
    """Voltage at the first wire's pad."""
    place = wiring.wires[0].place
    volts = solved(at_pin(wiring.wires, place, wiring.view, does, **how)).at("pad")
    assert volts is not None
    return volts


# ------------------------------------------------------------------------------ voltages by hand


def test_pull_down_against_the_pads_own_pull_up(build: Build) -> None:
    # Kirchhoff at the pad: V = (VDD/R_up ± I_leak) / (1/R_up + 1/R_down), 30 to 100 kΩ inside (recalled), 10 kΩ ± 5 % outside,
    # 50 nA of leakage (ESP8266 data sheet)
    wiring = build(ESP8266, RELAY, {"pump.IN": "D6"}, {"pump.IN": [down()]})
    rail = rail_of(wiring.view)
    highest = (rail.high / 30e3 + 50e-9) / (1 / 30e3 + 1 / 10.5e3)
    lowest = (rail.low / 100e3 - 50e-9) / (1 / 100e3 + 1 / 9.5e3)
    volts = standing(wiring, "pull-up")
    assert (volts.low, volts.high) == pytest.approx((lowest, highest), rel=1e-6)
    assert f"{lowest:.2f} to {highest:.2f} V, where the part is off up to 0.40 V" in text(wiring, "start-quiet")


def test_a_pull_nobody_limits_is_spread(build: Build) -> None:
    # typical 45 kΩ without limits (ESP32-C3 data sheet, Table 5-4): half to 1.6 times (common practice, no source)
    wiring = build(C3, RELAY, {"pump.IN": "GPIO10"}, {"pump.IN": [down()]})
    pull = internal_pull_ohm(wiring.view, "up")
    assert (pull.low, pull.high) == pytest.approx((22.5e3, 72e3))


def test_the_way_out_names_a_resistor_that_works(build: Build) -> None:
    # R = 30 kΩ · 0.4 V / (VDD - 0.4 V), 5 % less for its tolerance (Kirchhoff)
    wiring = build(ESP8266, RELAY, {"pump.IN": "D6"}, {"pump.IN": [down()]})
    limit = 30e3 * 0.4 / (rail_of(wiring.view).high - 0.4) / 1.05
    assert "to ground (a pull-down) of at most 3.8 kΩ" in text(wiring, "start-quiet")
    assert 3.8e3 <= limit < 3.9e3
    assert not said(build(ESP8266, RELAY, {"pump.IN": "D6"}, {"pump.IN": [down(3.6e3)]}), "start-quiet")


def test_lamp_on_the_pads_own_pull(build: Build) -> None:
    # I = (VDD - V_F) / R with V_F = 1.6 V - 2 V_T ln(5 mA / I), V_T = 25.87 mV (Shockley): about 67 µA at 3.4 V and 30 kΩ
    wiring = build(ESP8266, {"led": "led-red"}, {"led.LED": "D6"})
    found = solved(at_pin(wiring.wires, wiring.wires[0].place, wiring.view, "pull-up")).i_load
    assert found is not None
    amps, rail = 60e-6, rail_of(wiring.view).high
    for _ in range(50):
        amps = (rail - 1.6 + 2 * 0.02587 * log(5e-3 / amps)) / 30e3
    assert found.high == pytest.approx(amps, rel=0.01)
    assert not said(wiring, "start-quiet")  # a tenth of the 1 mA from which this LED is seen is taken for off


def stage(ohm: float) -> Element:
    """An NPN stage with its base resistor."""
    return Element("driver", "transistor", 3, "", None, (Piece("NPN transistor", "switch"), Piece("resistor", "base", ohm)))


def test_transistor_behind_its_base_resistor(build: Build) -> None:
    # 10.5 kΩ against 30 kΩ inside: 0.88 V at most, more than the 0.5 V a base stands; 3.3 kΩ: 3.4 V · 3.465/33.465 = 0.35 V
    siren = {"siren": "buzzer-active"}
    weak = build(ESP8266, siren, {"siren.BUZ": "D6"}, {"siren.BUZ": [stage(2.2e3), down()]})
    strong = build(ESP8266, siren, {"siren.BUZ": "D6"}, {"siren.BUZ": [stage(2.2e3), down(3.3e3)]})
    assert reading(weak, weak.wires[0], PULLED_UP).verdict == "undefined"
    assert reading(strong, strong.wires[0], PULLED_UP).verdict == "off"
    # the junction holds the base below the open divider's voltage
    base = solved(at_pin(weak.wires, weak.wires[0].place, weak.view, "pull-up")).at("base part 0")
    assert base is not None
    assert 0.5 < base.high < 0.7 < standing(weak, "pull-up").high + 0.2
    assert off_when_hi_z(weak, weak.wires[0]).verdict == "off"


def test_lamp_on_the_board_holds_a_pulled_up_pad(build: Build) -> None:
    # GPIO2 of the 30-pin board: LED to ground (board data). Any LED passes some µA from about 1.2 V (Shockley, 1.6 V at 1 mA):
    # the pad's own pull-up never makes the 2.48 V of a high
    wiring = build(ESP32_30, RELAY, {"pump.IN": "GPIO2"})
    volts = standing(wiring, "pull-up")
    assert 1.0 < volts.low < 1.6
    assert volts.high < 3.3


def test_a_pull_on_the_board_that_switches_the_load_on(build: Build) -> None:
    # 4.7 kΩ to 3.3 V sits on A4 of this board (board data), and an input of this driver is on from 2.3 V (data sheet)
    motor = {"m": "dc-motor-l298n"}
    wiring = build("nano-33-iot", motor, {"m.ENA": "A4"})
    assert said(wiring, "start-floating") == {("refuse", "m.ENA")}
    assert "the other way" in text(wiring, "start-floating")


def test_moments_are_those_of_the_facts(catalogue: Catalogue) -> None:
    # oracle: powerup.phases reads the same facts for the fitting; both must tell the same states in the same order
    words = {"pull-up": "pulled up", "pull-down": "pulled down"}
    count = 0
    for board in catalogue.boards.values():
        seen = view(board, catalogue)
        for place in seen.places:
            if not place.pad.boot:
                continue
            mine = [words.get(moment.does, moment.does) for moment in before_firmware(place, seen)]
            theirs = [each.does for each in stretches(place, seen.chip, deciding=True) if each.phase in ("reset", "boot")]
            assert mine == theirs, f"{board.id} {place.name}"
            count += 1
    assert count > 500


# ------------------------------------------------------------------------------ straps


def test_strap_reads_the_same_in_every_corner_or_not_at_all(build: Build) -> None:
    # GPIO15, 12 kΩ ± 20 % to ground on the board against 4.7 kΩ ± 5 % (and 30 kΩ or more inside) at 3.3 V:
    # lowest 3.3 (1/4935 + 1/100k) / (1/4935 + 1/100k + 1/9600), highest with 4465, 30k and 14400
    card = {"card": "sd-card-spi"}
    pins = {"card.SCK": "D5", "card.MOSI": "D7", "card.MISO": "D6", "card.CS": "D8"}
    wiring = build(ESP8266, card, pins, {"card.CS": [up()]})
    low_s, high_s = 1 / 4935 + 1 / 100e3, 1 / 4465 + 1 / 30e3
    lowest, highest = 3.3 * low_s / (low_s + 1 / 9600), 3.3 * high_s / (high_s + 1 / 14400)
    assert f"{lowest:.2f} to {highest:.2f} V stand there" in text(wiring, "strap-level")


def test_strap_names_what_the_chip_does(build: Build) -> None:
    # boot modes: ESP8266 and ESP32-C3 tables (esptool documentation; hardware design guidelines)
    pir = {"pir": "pir-motion-am312"}
    assert "waits in its loader" in text(build(ESP8266, pir, {"pir.OUT": "D3"}), "strap-level")
    assert "starts in mode 'sdio' and not its program" in text(build(ESP8266, pir, {"pir.OUT": "D8"}), "strap-level")
    low = text(build(C3, pir, {"pir.OUT": "GPIO8"}), "strap-upload")
    assert "GPIO8 high and GPIO9 low" in low
    assert "is the mode 'invalid'" in low


def test_an_idle_bus_leaves_its_straps_alone(build: Build) -> None:
    # parts of a bus answer only when asked: silent at power-up (UM10204, 3.1.1, recalled)
    assert said(build(ESP8266, {"air": "bme280"}, {"air.SDA": "D3", "air.SCL": "D5"}), "strap-level") == {("note", "air.SDA")}


def test_many_pull_ups_on_one_strap(build: Build) -> None:
    # fourteen modules with 10 kΩ each are 714 Ω: side by side conductances add (Kirchhoff); GPIO12 must be low, so it is refused
    parts = {f"s{number}": "bme280" for number in range(14)}
    pins = {f"s{number}.SDA": "IO12" for number in range(14)} | {f"s{number}.SCL": "IO22" for number in range(14)}
    wiring = build(ESP32, parts, pins, {"s0.SDA": [up()]})
    fitted = [wire.line.asks.pull_fitted for wire in wiring.wires if wire.line.name == "SDA"]
    ohms = [each.ohm or 10e3 for each in fitted if each is not None]
    assert len(ohms) == 14
    weakest = 1 / (1 / (4700 * 1.05) + sum(1 / (ohm * 1.2) for ohm in ohms))
    sda = [wire for wire in wiring.wires if wire.line.name == "SDA"]
    lowest = solved(at_pin(sda, sda[0].place, wiring.view, "pull-down", exact=True)).at("pad")
    assert lowest is not None
    assert lowest.low == pytest.approx((3.3 / weakest - 50e-9) / (1 / weakest + 1 / 30e3), rel=1e-6)
    assert ("refuse", "s0.SDA") in said(wiring, "strap-level")


def test_capacitor_on_a_strap(build: Build) -> None:
    # R C ln(1 / (1 - 0.75)): 30 to 80 kΩ inside (assumed in the chip's data), 1 µF: up to 0.11 s; the maker asks for no large capacitor
    key = {"key": "push-button-momentary"}
    slow = Element("capacitor", "1 µF to ground", 1, "", None, (Piece("capacitor", "from the pin to ground", 1e-6, "F"),))
    quick = Element("capacitor", "1 nF to ground", 1, "", None, (Piece("capacitor", "from the pin to ground", 1e-9, "F"),))
    assert said(build(ESP32, key, {"key.SW": "IO0"}, {"key.SW": [slow]}), "strap-slow") == {("caution", "key.SW")}
    assert "111 ms to 2.47 V" in text(build(ESP32, key, {"key.SW": "IO0"}, {"key.SW": [slow]}), "strap-slow")
    assert not said(build(ESP32, key, {"key.SW": "IO0"}, {"key.SW": [quick]}), "strap-slow")
    assert not said(build(ESP32, key, {"key.SW": "IO4"}, {"key.SW": [slow]}), "strap-slow")


# ------------------------------------------------------------------------------ deep sleep

GATE = {"pump": "mosfet-ao3400a"}


@pytest.mark.parametrize(
    ("board", "pin", "expected"),
    [
        (ESP32, "IO26", "caution"),  # holds if firmware asks (ESP-IDF, sleep modes)
        (ESP8266, "D1", "refuse"),  # lets go of all pads but GPIO16 (recalled)
        (PICO, "GP10", None),  # pads keep their state (recalled)
        (UNO, "7", None),  # port registers stay (recalled)
        (C3, "GPIO4", "caution"),  # GPIO0 to GPIO5 hold
        (C3, "GPIO10", "refuse"),  # the others do not for sure
    ],
)
def test_gate_on_a_pad_that_lets_go(build: Build, board: str, pin: str, expected: str | None) -> None:
    bare = build(board, GATE, {"pump.GATE": pin}, sleeping=True)
    assert said(bare, "sleep-released") == ({(expected, "pump.GATE")} if expected else set())
    assert not said(build(board, GATE, {"pump.GATE": pin}, {"pump.GATE": [down()]}, sleeping=True), "sleep-released")
    assert not said(build(board, GATE, {"pump.GATE": pin}), "sleep-released")


def test_a_part_that_takes_milliamperes_asleep(build: Build) -> None:
    # relay module, 3 mA to switch on: nobody says what it does undriven, but a loose wire does not give that (common practice, no source)
    wiring = build(C3, {"pump": "relay-module-level-jumper"}, {"pump.IN": "GPIO10"}, sleeping=True)
    assert said(wiring, "sleep-released") == {("caution", "pump.IN")}


def test_a_lamp_that_goes_out_asleep_is_no_trouble(build: Build) -> None:
    assert not said(build(ESP32, {"led": "led-red"}, {"led.LED": "IO26"}, sleeping=True), "sleep-released")


def keys(*names: str, pull: str = "up") -> str:
    """Buttons that wake the board."""
    part = '[[part]]\nname = "{}"\nkind = "push-button-momentary"\n[part.change.SW]\nwake = true\npull = "{}"\n'
    return "".join(part.format(name, pull) for name in names)


TWO = {"a.SW": "IO32", "b.SW": "IO33"}


def test_buttons_that_wake(build: Build) -> None:
    # ESP32: any number wakes when one goes high or all go low, and one more by a level of its own; S3 and C3: any one low
    # (ESP-IDF, sleep modes, ext0 and ext1)
    three = TWO | {"c.SW": "IO27"}
    assert said(build(ESP32, keys("a", "b", "c"), three, sleeping=True), "sleep-wake-lines") == {("caution", "a.SW, b.SW and c.SW")}
    assert "one diode each" in text(build(ESP32, keys("a", "b", "c"), three, sleeping=True), "sleep-wake-lines")
    assert said(build(ESP32, keys("a", "b"), TWO, sleeping=True), "sleep-wake-lines") == {("note", "a.SW and b.SW")}
    assert "a level of its own" in text(build(ESP32, keys("a", "b"), TWO, sleeping=True), "sleep-wake-lines")
    assert not said(build(ESP32, keys("a", "b", pull="down"), TWO, sleeping=True), "sleep-wake-lines")
    assert not said(build(ESP32, keys("a"), {"a.SW": "IO32"}, sleeping=True), "sleep-wake-lines")
    assert not said(build(ESP32, keys("a", "b"), TWO), "sleep-wake-lines")
    assert not said(build(S3, keys("a", "b"), {"a.SW": "GPIO4", "b.SW": "GPIO5"}, sleeping=True), "sleep-wake-lines")
    assert not said(build(C3, keys("a", "b"), {"a.SW": "GPIO3", "b.SW": "GPIO4"}, sleeping=True), "sleep-wake-lines")


def test_levels_that_do_not_go_together(build: Build) -> None:
    mixed = keys("a") + keys("b", pull="down")
    # one of them can take the way with a level of its own; with two of each kind it no longer helps
    assert said(build(S3, mixed, {"a.SW": "GPIO4", "b.SW": "GPIO5"}, sleeping=True), "sleep-wake-lines") == {("note", "a.SW and b.SW")}
    four = keys("a", "c") + keys("b", "d", pull="down")
    pins = {f"{name}.SW": f"GPIO{number}" for number, name in enumerate("abcd", 4)}
    assert {severity for severity, _ in said(build(S3, four, pins, sleeping=True), "sleep-wake-lines")} == {"caution"}
    assert not said(build(C3, mixed, {"a.SW": "GPIO3", "b.SW": "GPIO4"}, sleeping=True), "sleep-wake-lines")  # each with its own


def test_more_lines_than_can_wake(build: Build) -> None:
    # RP2350: four pads wake it from the deepest states (data sheet, POWMAN)
    names = "abcde"
    pins = {f"{name}.SW": f"GP{number}" for number, name in enumerate(names, 2)}
    assert {severity for severity, _ in said(build(PICO2, keys(*names), pins, sleeping=True), "sleep-wake-lines")} == {"caution"}
    four = dict(list(pins.items())[:4])
    assert not said(build(PICO2, keys(*names[:4]), four, sleeping=True), "sleep-wake-lines")


def test_facts_that_decide_which_low_wakes(catalogue: Catalogue) -> None:
    # ESP-IDF, sleep modes: only the first of the family waits for all low
    all_low = {chip.part for chip in catalogue.chips.values() for state in chip.sleep if state.wake_low == "all"}
    assert all_low == {"ESP32"}


def test_a_contact_on_the_chips_own_pull(build: Build) -> None:
    one = {"a.SW": "IO32"}
    assert said(build(ESP32, keys("a"), one, {"a.SW": [inside()]}, sleeping=True), "sleep-pull") == {("note", "a.SW")}
    assert not said(build(ESP32, keys("a"), one, {"a.SW": [up(47e3)]}, sleeping=True), "sleep-pull")
    assert not said(build(PICO, keys("a"), {"a.SW": "GP4"}, {"a.SW": [inside()]}, sleeping=True), "sleep-pull")


# ------------------------------------------------------------------------------ separate supplies

ALARM = """
[[part]]
name = "alarm"
supply = "12 V"
[[part.line]]
name = "OUT"
direction = "in"
signal = "digital"
rest = "high"
gives_high_of = "12 V"
gives_low_of = "0.4 V"
"""


def test_current_into_a_chip_without_supply() -> None:
    # Kirchhoff: (12 V - V_F) / 9.5 kΩ with the diode at 0.6 V at 1 mA (and 5 mV more at 1.2 mA, Shockley): 1.2 mA
    assert clamp_current_a(12.0, 10e3) == pytest.approx((12 - 0.605) / 9.5e3, rel=0.002)


def test_part_on_while_the_chip_is_off(build: Build) -> None:
    def series(ohm: float) -> Element:
        return Element("series resistor", f"{ohm:g} Ω in series", 1, "", ohm)

    pins = {"alarm.OUT": "IO26"}
    assert said(build(ESP32, ALARM, pins, {"alarm.OUT": [series(4.7e3)]}), "unpowered-chip") == {("caution", "alarm.OUT")}
    assert not said(build(ESP32, ALARM, pins, {"alarm.OUT": [series(27e3)]}), "unpowered-chip")
    same = ALARM.replace("12 V", "3.3 V")
    assert not said(build(ESP32, same, pins), "unpowered-chip")  # one supply: both rise and fall together
    five = ALARM.replace("12 V", "5 V")
    assert not said(build(ESP32, five, pins), "unpowered-chip")  # the board's 5 V pin


def test_part_off_while_the_chip_is_on(build: Build) -> None:
    line = (
        ALARM.replace('direction = "in"', 'direction = "out"')
        .replace("gives_high_of", "takes_high_from")
        .replace("gives_low_of", "takes_low_up_to")
    )
    line = line.replace('"12 V"\ntakes', '"2.4 V"\ntakes').replace('supply = "2.4 V"', 'supply = "12 V"')
    pins = {"alarm.OUT": "IO26"}
    assert said(build(ESP32, line, pins), "unpowered-part") == {("note", "alarm.OUT")}
    assert not said(build(ESP32, line.replace('rest = "high"', 'rest = "low"'), pins), "unpowered-part")
