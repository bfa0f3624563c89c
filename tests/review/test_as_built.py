"""What a brief says is fitted: the circuit built from it, what the rules make of it, and twins that are fine.

Behaviour through ``check``; where a figure is expected its formula stands beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pinwright.facts.loader import Catalogue
from pinwright.fitting.interface import Circuit
from pinwright.fitting.lines import Line
from pinwright.planning import CheckResult, check, open_job
from pinwright.review.model import Finding

Check = Callable[[str], CheckResult]
HEAD = 'title = "test"\n[supply]\nsource = "usb"\n[board]\nonly = ["{board}"]\n'
ESP32, PICO, UNO = "esp32-devkitc-v4", "raspberry-pi-pico", "atmega328p-32pin"


@pytest.fixture
def checked(tmp_path: Path, catalogue: Catalogue) -> Callable[..., CheckResult]:
    """``checked(parts, board)``: the check of a brief with these parts."""

    def run(parts: str, board: str = ESP32, head: str = HEAD) -> CheckResult:
        path = tmp_path / "device.toml"
        path.write_text(head.format(board=board) + parts, encoding="utf-8")
        return check(open_job(path, catalogue=catalogue))

    return run


def part(kind: str, pins: str, fitted: str = "", more: str = "") -> str:
    """One part; ``fitted`` left out says nothing about what is built."""
    said = f"fitted = {fitted}\n" if fitted else ""
    return f'[[part]]\nname = "it"\nkind = "{kind}"\npins = {pins}\n{said}{more}\n'


def about(result: CheckResult, *rules: str) -> list[Finding]:
    return [finding for finding in result.review.findings if finding.rule in rules]


def bad(result: CheckResult) -> set[tuple[str, str]]:
    """Everything that is not a note or a caution of the part's own."""
    return {(f.severity, f.rule) for f in result.review.findings if f.severity != "note" and not f.rule.startswith(("safety", "supply"))}


# ------------------------------------------------------------------------------ nothing said, nothing fitted, fitted

ECHO = ("ultrasonic-hc-sr04", '{ TRIG = "GPIO17", ECHO = "GPIO18" }')


def test_nothing_said_is_taken_to_be_there(checked: Callable[..., CheckResult]) -> None:
    assert bad(checked(part(*ECHO))) == {("caution", "needs-component")}


def test_straight_wire_and_divider(checked: Callable[..., CheckResult]) -> None:
    # HC-SR04 at 5 V: 10 kΩ over 20 kΩ leave 3.33 V of 5 V   (V R2 / (R1 + R2))
    assert bad(checked(part(*ECHO, "{ ECHO = [] }"))) == {("refuse", "level-over-pin")}
    assert bad(checked(part(*ECHO, '{ ECHO = ["divider 10k over 20k"] }'))) == set()
    assert bad(checked(part(*ECHO, '{ ECHO = ["level shifter"] }'))) == set()
    assert bad(checked(part(*ECHO, '{ ECHO = ["divider 1k over 20k"] }'))) == {("refuse", "level-over-pin")}
    too_low = checked(part(*ECHO, '{ ECHO = ["divider 20k over 10k"] }'))
    assert bad(too_low) == {("refuse", "level-into-pin")}


def test_the_circuit_is_what_is_listed(tmp_path: Path, catalogue: Catalogue) -> None:
    from pinwright.review.wirings import wiring_of_brief

    path = tmp_path / "device.toml"
    path.write_text(HEAD.format(board=ESP32) + part(*ECHO, '{ ECHO = ["divider 10k over 20k", "capacitor 47 pF"] }'), encoding="utf-8")
    wiring, _ = wiring_of_brief(open_job(path, catalogue=catalogue))
    echo = next(wire for wire in wiring.wires if wire.line.name == "ECHO")
    assert [(e.kind, [p.value for p in e.pieces], e.components) for e in echo.circuit.elements] == [
        ("divider", [10e3, 20e3], 0),
        ("capacitor", [47e-12], 0),
    ]
    assert wiring.as_built == {"it.ECHO"}
    high = next(c for c in echo.circuit.checks if c.what == "high the pin reads")
    assert high.holds
    assert high.margin > 0


def test_plan_ignores_it(tmp_path: Path, catalogue: Catalogue) -> None:
    from pinwright.planning import plan

    plans = []
    for number, said in enumerate(("", "{ TRIG = [], ECHO = [] }")):
        path = tmp_path / f"{number}.toml"
        path.write_text(HEAD.format(board=ESP32) + part(ECHO[0], "{}", said), encoding="utf-8")
        best = plan(path, catalogue=catalogue).ranking.best
        assert best is not None
        plans.append([(placed.line.id, placed.place.label, placed.circuit.words) for placed in best.placed])
    assert plans[0] == plans[1]


# ------------------------------------------------------------------------------ pulls


def test_a_key_rests_on_what_is_there(checked: Callable[..., CheckResult]) -> None:
    # ESP32 data sheet: GPIO34 to 39 have no pulls inside; GPIO33 has
    def key(pin: str, fitted: str, more: str = "") -> set[tuple[str, str]]:
        return bad(checked(part("push-button-momentary", f'{{ SW = "{pin}" }}', f"{{ SW = {fitted} }}", more)))

    assert key("GPIO35", "[]") == {("refuse", "pull-missing")}
    assert key("GPIO35", '["pull-up 10k"]') == set()
    assert key("GPIO33", "[]") == set()  # the firmware switches the inner one on
    assert key("GPIO35", '["pull-up 1M"]') == {("caution", "pull-weak")}
    assert key("GPIO35", '["pull-up 100k"]') == set()
    assert key("GPIO35", '["pull-up 100k"]', 'wire = "3 m"') == {("caution", "pull-weak")}
    assert key("GPIO35", '["pull-down 10k"]') == {("refuse", "pull-missing")}


def test_pull_up_to_another_rail(checked: Callable[..., CheckResult]) -> None:
    # ESP32 data sheet, absolute maximum: a pad sees 3.6 V at most; a 5 V board takes 5 V
    key = part("push-button-momentary", '{ SW = "PIN" }', '{ SW = ["pull-up 10k to 5 V"] }')
    assert ("refuse", "level-over-pin") in bad(checked(key.replace("PIN", "GPIO35")))
    assert bad(checked(key.replace("PIN", "2"), UNO)) == set()
    bus = part("bh1750", '{ SDA = "GPIO21", SCL = "GPIO22" }', '{ SDA = ["pull-up 4k7 to 5 V"], SCL = ["pull-up 4k7 to 3.3 V"] }')
    assert {f.line for f in about(checked(bus), "level-over-pin")} == {"it.SDA"}


def test_pull_up_taken_off_the_module(checked: Callable[..., CheckResult]) -> None:
    # the backpack's own resistors lead to 5 V; without them and with 4.7 kΩ to 3.3 V the pads are safe, the display may not read 3.3 V
    def menu(listed: str) -> set[tuple[str, str]]:
        return bad(checked(part("lcd1602-pcf8574", '{ SDA = "GPIO21", SCL = "GPIO22" }', f"{{ SDA = {listed}, SCL = {listed} }}")))

    assert menu("[]") == {("refuse", "level-over-pin")}
    assert menu('["module pull-up off"]') == {("refuse", "pull-missing")}
    assert menu('["module pull-up off", "pull-up 4k7"]') == {("refuse", "level-on-bus")}  # 0.7 of 5 V (PCF8574 data sheet)
    assert menu('["level shifter"]') == set()


# ------------------------------------------------------------------------------ I2C


def bus(fitted: str, wire: str = "20 cm", second: str = "") -> str:
    lines = "".join(
        f'  [[part.line]]\n  name = "{name}"\n  direction = "open-drain"\n  signal = "i2c"\n  role = "{name}"\n' for name in ("SDA", "SCL")
    )
    head = f'[[part]]\nname = "air"\nsupply = "3.3 V"\naddress = "0x44"\nspeed = "400 kHz"\nwire = "{wire}"\n'
    said = f"fitted = {{ SDA = {fitted}, SCL = {fitted} }}\n" if fitted else ""
    return head + 'pins = { SDA = "GP4", SCL = "GP5" }\n' + said + lines + second


def test_bus_pull_ups(checked: Callable[..., CheckResult]) -> None:
    # UM10204 7.1: t = 0.8473 R C.  4.7 kΩ, 40 pF: 159 ns, fast mode holds (300 ns); 10 kΩ, 320 pF: 2.7 µs, no mode does
    assert bad(checked(bus("[]"), PICO)) == {("refuse", "pull-missing")}
    assert bad(checked(bus('["pull-up 4k7"]'), PICO)) == set()
    assert not about(checked(bus('["pull-up 4k7"]'), PICO), "bus-slow-rise")
    assert bad(checked(bus('["pull-up 10k"]', "3 m"), PICO)) == {("refuse", "bus-slow-rise")}
    slow = about(checked(bus('["pull-up 10k"]', "3 m"), PICO), "bus-slow-rise")
    assert "2.71 µs against 1 µs" in slow[0].numbers["rise time"]
    # 10 kΩ, 60 pF: 508 ns, fine at 100 kHz and not at 400 kHz
    note = about(checked(bus('["pull-up 10k"]', "40 cm"), PICO), "bus-slow-rise")
    assert {f.severity for f in note} == {"note"}
    assert "100 kHz" in note[0].fix
    assert bad(checked(bus('["pull-up 2k2"]', "3 m"), PICO)) == set()


def test_pull_ups_of_all_lists_count_together(checked: Callable[..., CheckResult]) -> None:
    # 10 kΩ beside 10 kΩ make 5 kΩ; once one part has a list, the wire's pull-ups are those in the lists
    twin = bus('["pull-up 10k"]', "60 cm").replace('"air"', '"sky"').replace("0x44", "0x45")
    alone, both = checked(bus('["pull-up 10k"]', "60 cm"), PICO), checked(bus('["pull-up 10k"]', "60 cm", twin), PICO)
    words = [about(result, "bus-slow-rise")[0].because[0] for result in (alone, both)]
    assert words[0].startswith("pull-ups of 10 kΩ together against")
    assert words[1].startswith("pull-ups of 5 kΩ together against")
    unlisted = bus("", "20 cm").replace('"air"', '"sky"').replace("0x44", "0x45")
    assert bad(checked(bus("[]", second=unlisted), PICO)) == {("refuse", "pull-missing")}
    assert bad(checked(bus('["pull-up 4k7"]', second=unlisted), PICO)) == set()


# ------------------------------------------------------------------------------ stages


def test_coil_behind_a_transistor(checked: Callable[..., CheckResult]) -> None:
    # common practice, no source: a coil's current goes on when its switch opens
    def horn(*fitted: str) -> set[tuple[str, str]]:
        listed = "[" + ", ".join(f'"{word}"' for word in fitted) + "]"
        return bad(checked(part("solenoid-12v", '{ GATE = "GPIO26" }', f"{{ GATE = {listed} }}")))

    held = ("series 100 ohm", "pull-down 10k")
    assert horn(*held, "transistor") == {("refuse", "stage-no-diode")}
    assert horn(*held, "transistor", "diode") == set()
    assert ("refuse", "current-no-driver") in horn(*held, "diode")
    assert ("refuse", "start-floating") in horn("series 100 ohm", "transistor", "diode")


def test_gate_of_a_transistor_made_for_more(checked: Callable[..., CheckResult]) -> None:
    # AO3400A data sheet: on-resistance stated at 2.5 V; a transistor stated at 10 V only is not on at 3.3 V
    good = part("mosfet-ao3400a", '{ GATE = "GPIO26" }', '{ GATE = ["series 100 ohm", "pull-down 10k"] }')
    assert bad(checked(good)) == set()
    own = (
        '[[part]]\nname = "it"\nsupply = "12 V"\npins = { GATE = "GPIO26" }\nfitted = { GATE = ["series 100 ohm", "pull-down 10k"] }\n'
        '[[part.line]]\nname = "GATE"\ndirection = "out"\nsignal = "digital"\noff_level = "low"\ntakes_high_from = "10 V"\n'
    )
    found = about(checked(own), "level-into-part")
    assert [f.severity for f in found] == ["refuse"]
    assert "on-resistance is promised" in found[0].fix


def test_lamp_resistor(checked: Callable[..., CheckResult]) -> None:
    # red LED, 1.8 V at least: (3.3 - 1.8) V / 10 Ω = 150 mA, / 330 Ω = 4.5 mA   (Ohm)
    def lamp(ohm: str) -> set[tuple[str, str]]:
        return bad(checked(part("led-red", '{ LED = "GPIO26" }', f'{{ LED = ["series {ohm}"] }}')))

    assert lamp("330 ohm") == set()
    assert lamp("10 ohm") == {("refuse", "series-small")}
    assert ("refuse", "current-no-series") in bad(checked(part("led-red", '{ LED = "GPIO26" }', "{ LED = [] }")))


def test_lamp_behind_a_transistor(checked: Callable[..., CheckResult]) -> None:
    # Ohm: nothing but a resistor limits the current of an LED
    def lamp(fitted: str) -> set[tuple[str, str]]:
        return bad(checked(part("led-red", '{ LED = "GPIO26" }', f"{{ LED = {fitted} }}")))

    assert lamp('["transistor"]') == {("refuse", "series-small")}
    assert lamp('["transistor", "series 330 ohm"]') == set()


def test_opto_input_at_five_volts(checked: Callable[..., CheckResult]) -> None:
    # trade lore: what is left between 5 V and the pin's high keeps the input on; a 5 V board switches it off
    relay = '[[part]]\nname = "it"\nkind = "relay-module-opto-active-low"\nsupply = "5 V"\npins = { IN = "PIN" }\nfitted = { IN = [] }\n'
    found = about(checked(relay.replace("PIN", "GPIO23")), "level-into-part")
    assert [f.severity for f in found] == ["refuse"]
    assert "may never switch off" in found[0].because[1]
    assert not about(checked(relay.replace("PIN", "7"), UNO), "level-into-part")


# ------------------------------------------------------------------------------ analog


def test_source_of_a_reading(checked: Callable[..., CheckResult]) -> None:
    # ATmega328P data sheet, converter: made for sources of 10 kΩ or less (from memory)
    def fence(resistance: str, fitted: str) -> CheckResult:
        return checked(
            f'[[part]]\nname = "it"\npins = {{ V = "A0" }}\nfitted = {{ V = {fitted} }}\n'
            f'[[part.line]]\nname = "V"\ndirection = "analog-in"\nsignal = "analog"\nhighest = "5 V"\nsource_resistance = "{resistance}"\n',
            UNO,
        )

    assert bad(fence("500k", "[]")) == {("caution", "analog-source")}
    assert bad(fence("500k", '["capacitor 100 nF"]')) == set()
    assert bad(fence("8k", "[]")) == set()
    # 100 kΩ over 100 kΩ look like 50 kΩ
    assert "50 kΩ" in about(fence("0 ohm", '["divider 100k over 100k"]'), "analog-source")[0].because[0]


def test_accuracy_of_a_reading(checked: Callable[..., CheckResult]) -> None:
    # the chain's own error budget (tested against simulation elsewhere): degrees, not tenths, on this converter
    def dough(accuracy: str) -> CheckResult:
        return checked(part("ntc-10k-b3950", '{ NTC = "GPIO34" }', "", f'[part.change.NTC]\naccuracy = "{accuracy}"'))

    tight, loose = about(dough("0.5 degC"), "analog-accuracy"), about(dough("20 degC"), "analog-accuracy")
    assert [f.severity for f in tight] == ["caution"]
    assert "60 mV" in tight[0].because[0]
    assert loose == []


# ------------------------------------------------------------------------------ sleep, supply, USB, expanders

ASLEEP = HEAD.replace('source = "usb"', 'source = "battery"\nkind = "cells-aa-n"\ncells = 3\ncapacity = "2000 mAh"\n[use]\nsleeping = true')


def test_a_part_switched_off_in_sleep(checked: Callable[..., CheckResult]) -> None:
    # Kirchhoff: 3.3 V over 4.7 kΩ on two lines is 1.4 mA at most
    def probe(switched: str, fitted: str) -> CheckResult:
        more = f"switched = {switched}"
        return checked(part("bh1750", '{ SDA = "GPIO21", SCL = "GPIO22" }', f"{{ SDA = {fitted}, SCL = {fitted} }}", more), head=ASLEEP)

    fed = about(probe("true", '["pull-up 4k7"]'), "sleep-backfed")
    assert [f.severity for f in fed] == ["caution"]
    assert "1.4 mA" in fed[0].because[1]
    assert not about(probe("false", '["pull-up 4k7"]'), "sleep-backfed")
    assert not about(probe("true", "[]"), "sleep-backfed")  # its own pull-ups hang on the supply that is switched
    awake = checked(part("bh1750", '{ SDA = "GPIO21", SCL = "GPIO22" }', "", "switched = true"))
    assert not about(awake, "sleep-backfed")


def test_divider_that_never_sleeps(checked: Callable[..., CheckResult]) -> None:
    # Ohm: 4.2 V over 20 kΩ is 210 µA, over 2 MΩ 2.1 µA; this chip sleeps at 10 µA
    def cell(upper: str) -> CheckResult:
        return checked(
            f'[[part]]\nname = "it"\npins = {{ V = "GPIO34" }}\nfitted = {{ V = ["divider {upper} over {upper}", "capacitor 100 nF"] }}\n'
            '[[part.line]]\nname = "V"\ndirection = "analog-in"\nsignal = "analog"\nhighest = "4.2 V"\n',
            head=ASLEEP,
        )

    found = about(cell("10k"), "sleep-divider")
    assert [f.severity for f in found] == ["caution"]
    assert "210 µA" in found[0].because[0]
    assert not about(cell("1M"), "sleep-divider")


def test_adapter_plugs_into_usb(checked: Callable[..., CheckResult]) -> None:
    # a board whose only 5 V input is its USB socket is fed by a 5 V adapter through that socket; 12 V are not
    head = HEAD.replace('"usb"', '"adapter"\nvoltage = "VOLTS"\ncurrent = "2 A"')
    key = part("push-button-momentary", '{ SW = "D11" }')
    fine = checked(key, "feather-m0-express", head.replace("VOLTS", "5 V"))
    assert not about(fine, "supply-entry")
    assert fine.supply.entry.pin == "USB"
    assert about(checked(key, "feather-m0-express", head.replace("VOLTS", "12 V")), "supply-entry")


def test_usb_device(checked: Callable[..., CheckResult]) -> None:
    # USB 2.0, 7.1.5 (from memory): 1.5 kΩ to 3.3 V at D+; boards with a bridge cannot be a keyboard
    head = HEAD + '[use]\nusb = "device"\n'
    key = part("push-button-momentary", '{ SW = "PIN" }')
    assert ("caution", "board-usb-pull") in bad(checked(key.replace("PIN", "PB12"), "stm32f103c8-40pin", head))
    assert bad(checked(key.replace("PIN", "GP2"), PICO, head)) == set()
    assert ("refuse", "usb-device") in bad(checked(key.replace("PIN", "GPIO33"), ESP32, head))
    assert not about(checked(key.replace("PIN", "PB12"), "stm32f103c8-40pin"), "board-usb-pull")


def test_a_usb_device_is_planned_on_boards_that_can(tmp_path: Path, catalogue: Catalogue) -> None:
    from pinwright.planning import plan

    path = tmp_path / "device.toml"
    path.write_text(
        f'title = "t"\n[use]\nusb = "device"\n[board]\nonly = ["{ESP32}", "{PICO}"]\n' + part("push-button-momentary", "{}"), "utf-8"
    )
    ranking = plan(path, catalogue=catalogue).ranking
    assert [(p.view.board.id, p.feasible) for p in ranking.boards] == [(PICO, True), (ESP32, False)]
    conflict = ranking.boards[1].conflict
    assert conflict is not None
    assert "bridge" in " ".join(conflict.chain)


def test_ports_of_an_expander(checked: Callable[..., CheckResult]) -> None:
    # MCP23017 data sheet, later revisions (from memory): GPA7 and GPB7 are outputs only; TCA9555: every port goes both ways
    def keys(kind: str, ports: str) -> set[tuple[str, str]]:
        return bad(checked(part(kind, '{ SDA = "GPIO21", SCL = "GPIO22" }', "", f"ports = {ports}"))) - {("caution", "needs-component")}

    assert keys("mcp23017", '{ GPA7 = "in", GPA0 = "in" }') == {("refuse", "expander-pin")}
    assert keys("mcp23017", '{ GPA7 = "out", GPA0 = "in" }') == set()
    assert keys("tca9555", '{ P07 = "in", P17 = "in" }') == set()


# ------------------------------------------------------------------------------ property: what a plan says, built as it says


def listed(circuit: Circuit, is_led: bool) -> list[str]:
    """A planned circuit in the words of ``fitted``."""
    texts = []
    for element in circuit.elements:
        if element.kind == "driver":
            texts.append("transistor" if "transistor" in element.words or element.pieces else "series 330 ohm")
            texts += ["diode"] * ("diode" in element.words) + ["series 330 ohm"] * is_led
        elif element.kind in ("pull-up", "pull-down"):
            texts.append(f"{element.kind} {element.ohm:.6g} ohm")
        elif element.kind == "series resistor":
            texts.append(f"series {element.ohm:.6g} ohm")
        elif element.kind == "divider":
            upper, lower = (piece.value for piece in element.pieces)
            texts.append(f"divider {upper:.6g} ohm over {lower:.6g} ohm")
        elif element.kind == "capacitor":
            texts.append(f"capacitor {(element.pieces[0].value or 0.0) * 1e9:.6g} nF")
        elif element.kind == "level shifter":
            texts.append("level shifter")
        elif element.kind == "module pull-ups off":
            texts.append("module pull-up off")
    return texts


def _is_led(line: Line) -> bool:
    return line.asks.load is not None and line.asks.load.kind == "led"


@pytest.mark.parametrize("board", [ESP32, UNO, PICO, "stm32f103c8-40pin"])
def test_a_plan_built_as_it_says_raises_no_new_alarm(board: str, tmp_path: Path, catalogue: Catalogue) -> None:
    from pinwright.planning import plan

    path, tried = tmp_path / "device.toml", 0
    head = HEAD.replace('"usb"', '"adapter"\nvoltage = "5 V"\ncurrent = "3 A"').format(board=board)
    for kind in sorted(kind for kind, known in catalogue.parts.items() if known.line and known.form != "source"):
        text = f'{head}[[part]]\nname = "it"\nkind = "{kind}"\n'
        path.write_text(text, encoding="utf-8")
        planned = plan(path, catalogue=catalogue)
        best = planned.ranking.best
        if best is None or not best.placed:
            continue
        pins = ", ".join(f'"{placed.line.name}" = "{placed.place.label}"' for placed in best.placed)
        fitted = ", ".join(f'"{placed.line.name}" = {listed(placed.circuit, _is_led(placed.line))}' for placed in best.placed)
        path.write_text(f"{text}pins = {{ {pins} }}\nfitted = {{ {fitted} }}\n", encoding="utf-8")
        before = {(f.severity, f.rule) for f in planned.reviews[board].findings}
        now = {(f.severity, f.rule) for f in check(open_job(path, catalogue=catalogue)).review.findings if f.severity != "note"}
        assert now <= before, (kind, fitted)
        tried += 1
    assert tried > 120
