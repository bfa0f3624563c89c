"""Who draws what from which rail, added up by hand.   Sources: conservation of charge; the catalogue's figures."""

from __future__ import annotations

from dataclasses import replace

import pytest
from supply_rig import LED, asleep, awake, catalogue, known_catalogue, linear, supplied, way_in, wired

from pinwright.facts.model import Onboard, StateCurrent

NANO = "nano-33-iot"


def test_a_rail_is_the_sum_of_its_consumers_by_hand() -> None:
    # oracle: chip 20 mA awake and 30 mA at most, lamp on the board 2 mA always; LED: what `why` says, printed with three digits
    facts = known_catalogue(NANO, awake(0.020, 0.030), asleep(10e-6))
    lamp = Onboard(what="led", i_a=0.002, pin="3V3")
    facts = replace(facts, boards={**facts.boards, NANO: replace(facts.boards[NANO], onboard=(lamp,))})
    report = supplied(LED + "[use]\nsleeping = true\n", NANO, facts)
    wiring, _ = wired(LED, NANO, facts)
    check = next(c for c in wiring.wires[0].circuit.checks if c.formula == "leds.led_plan")
    i_led = float(check.words.split(" to ")[1].split(" mA")[0]) / 1e3
    logic = report.rails["logic"]
    assert logic.asleep == pytest.approx(10e-6 + 0.002)
    assert logic.awake == pytest.approx(0.020 + 0.002 + i_led, abs=1e-5)
    assert logic.burst == pytest.approx(0.030 + 0.002 + i_led, abs=1e-5)


def test_the_radio_counts_only_while_it_is_on() -> None:
    # behaviour: Wi-Fi listens 80 mA, sends 300 mA; Bluetooth is another row
    def states(radio: str) -> tuple[StateCurrent, ...]:
        return (
            StateCurrent(state="radio-listen", typ_a=0.08, radio=radio),
            StateCurrent(state="radio-send", typ_a=0.2, max_a=0.3, radio=radio),
        )

    facts = known_catalogue("esp32-wroom32-30pin", awake(0.03), *states("wifi"))
    off = supplied(LED, "esp32-wroom32-30pin", facts).consumers[0].draw
    on = supplied('[use]\nradio = "wifi"\n' + LED, "esp32-wroom32-30pin", facts).consumers[0].draw
    ble = supplied('[use]\nradio = "ble"\n' + LED, "esp32-wroom32-30pin", facts).consumers[0].draw
    assert (off.awake, off.burst) == (0.03, 0.03)
    assert (on.awake, on.burst) == (0.08, 0.3)
    assert (ble.awake, ble.burst) == (0.03, 0.03)


def test_a_device_that_never_sleeps_draws_the_same_asleep() -> None:
    facts = known_catalogue(NANO, awake(0.02), asleep(10e-6))
    draw = supplied(LED, NANO, facts).consumers[0].draw
    assert draw.asleep == draw.awake


def test_the_brief_s_current_replaces_the_catalogue_s_for_that_part_only() -> None:
    # behaviour: two parts whose names begin alike once took each other's current
    body = (
        '[[part]]\nname = "lamp"\nkind = "led-strip-12v-dimming"\ncurrent = "1.5 A"\n'
        '[[part]]\nname = "lamp two"\nkind = "led-strip-12v-dimming"\n'
        '[[part]]\nname = "row"\nkind = "led-strip-12v-dimming"\ncount = 2\ncurrent = "300 mA"\n'
    )
    report = supplied(body, "raspberry-pi-pico")
    taken = {c.name: c.draw.awake for c in report.consumers}
    load = catalogue().parts["led-strip-12v-dimming"].line[0].load
    assert load is not None
    assert taken["lamp"] == 1.5
    assert taken["lamp two"] == load.i_a
    assert taken["row 1"] == taken["row 2"] == 0.3


def test_a_load_behind_a_transistor_is_off_asleep_and_its_start_is_a_burst() -> None:
    # property: asleep <= awake <= burst for everybody whose current is known
    body = '[[part]]\nname = "fan"\nkind = "fan-2wire-12v"\n' + LED + '[[part]]\nname = "s"\nkind = "servo-hobby"\n'
    report = supplied(body, "raspberry-pi-pico")
    fan = next(c for c in report.consumers if c.name == "fan")
    load = catalogue().parts["fan-2wire-12v"].line[0].load
    assert load is not None
    assert fan.draw.asleep == 0.0
    assert fan.draw.burst == max(load.i_a, load.inrush_a or 0.0)
    assert fan.rail == "12 V"
    for consumer in report.consumers:
        assert consumer.draw.asleep <= consumer.draw.awake <= consumer.draw.burst, consumer.name


def test_a_part_nobody_knows_is_named_not_guessed() -> None:
    body = '[[part]]\nname = "mine"\n  [[part.line]]\n  name = "OUT"\n  direction = "in"\n  signal = "digital"\n'
    report = supplied(body, "raspberry-pi-pico")
    mine = next(c for c in report.consumers if c.name == "mine")
    assert not mine.known
    assert mine.draw.burst == 0.0
    unknown = [f for f in report.findings if f.rule == "supply-unknown"]
    assert "mine" in unknown[0].because[0]


def test_a_divider_drains_what_feeds_it_always() -> None:
    # oracle: I = V / (R1 + R2), asleep too
    body = (
        '[[part]]\nname = "high"\nsupply = "9 V"\n  [[part.line]]\n  name = "V"\n  direction = "analog-in"\n  signal = "analog"\n'
        '  highest = "9 V"\n'
    )
    wiring, _ = wired(body, "raspberry-pi-pico")
    element = next(w.circuit.of("divider") for w in wiring.wires)
    assert element is not None
    ohms = sum(piece.value or 0.0 for piece in element.pieces)
    drain = next(c for c in supplied(body, "raspberry-pi-pico").consumers if c.name.startswith("divider at"))
    assert drain.rail == "9 V"
    assert drain.draw.asleep == drain.draw.awake == pytest.approx(9.0 / ohms)


def test_the_small_rail_of_a_five_volt_board_is_counted_with_what_feeds_it() -> None:
    # conservation: the 3.3 V parts of a 5 V board hang on a linear regulator behind its 5 V, so the source gives their current
    board = "atmega328p-32pin"
    facts = known_catalogue(
        board, awake(0.02), regulator=(linear("VIN", "5V", 5.0), linear("5V", "3V3", 3.3)),
    )  # fmt: skip
    body = '[supply]\nsource = "adapter"\nvoltage = "9 V"\n'
    less = supplied(body + LED, board, facts)
    more = supplied(body + LED + '[[part]]\nname = "reader"\nkind = "rfid-mfrc522"\n', board, facts)
    reader = next(c for c in more.consumers if c.name == "reader")
    assert reader.rail == "3.3 V"
    assert "3.3 V" not in more.others
    assert more.draw.awake - less.draw.awake == pytest.approx(reader.draw.awake, rel=1e-6)
    assert more.stages[0].draw.awake - less.stages[0].draw.awake == pytest.approx(reader.draw.awake, rel=1e-6)


def test_a_board_fed_by_its_battery_makes_no_five_volts() -> None:
    # behaviour: the 5 V pin of a board with a battery pin lives from USB only; a 5 V part needs a supply of its own
    board = "feather-rp2040"
    servo = '[[part]]\nname = "servo"\nkind = "servo-hobby"\n'
    on_cell = supplied('[supply]\nsource = "lithium cell"\n' + servo, board)
    on_usb = supplied('[supply]\nsource = "usb"\n' + servo, board)
    assert on_cell.entry.pin == "BAT"
    assert on_cell.others == ("5 V",)
    assert any(f.rule == "supply-rail" and "servo" in f.because[0] for f in on_cell.findings)
    assert on_usb.others == ()
    assert on_cell.endurance is not None
    assert "servo" not in dict(on_cell.endurance.shares)


def test_ways_in_and_regulators_of_the_catalogue_make_a_finite_budget() -> None:
    # property: every board, on USB and on its own pins
    for name in catalogue().boards:
        for source in ("usb", "lithium cell"):
            report = supplied(f'[supply]\nsource = "{source}"\n[use]\nconsole = "free"\n' + LED, name)
            assert 0.0 <= report.draw.asleep <= report.draw.awake + 1e-12 <= report.draw.burst + 2e-12, name
    assert way_in("X", 1.0, 2.0).direction == "in"


def test_a_contact_closed_at_rest_costs_its_pull_up_asleep_too() -> None:
    # oracle: I = V / R; a contact open at rest costs nothing
    def body(rest: str) -> str:
        line = '  name = "OUT"\n  direction = "in"\n  signal = "digital"\n  pull = "up"\n  pull_resistor = "4k7"\n'
        return f'[[part]]\nname = "door"\ncurrent = "0 A"\n  [[part.line]]\n{line}  rest = "{rest}"\n[use]\nsleeping = true\n'

    closed, opened = (supplied(body(rest), "raspberry-pi-pico").consumers for rest in ("low", "high"))
    wiring, _ = wired(body("low"), "raspberry-pi-pico")
    ohm = next(e.ohm for e in wiring.wires[0].circuit.elements if e.kind == "pull-up")
    assert ohm == 4700
    drain = next(c for c in closed if c.name == "pull-up at door.OUT")
    assert drain.draw.asleep == drain.draw.awake == pytest.approx(3.3 / 4700)
    assert not [c for c in opened if c.name.startswith("pull-up")]


def test_rows_of_the_source_add_up_to_its_total() -> None:
    # conservation: consumers and the regulators' own current, behind linear regulators
    for board in ("atmega328p-32pin", "esp32-wroom32-30pin", "feather-rp2040"):
        report = supplied('[[part]]\nname = "s"\nkind = "servo-hobby"\n' + LED, board)
        own = sum(stage.regulator.i_quiescent_a or 0.0 for stage in report.stages)
        assert sum(c.draw.burst for c in report.fed) + own == pytest.approx(report.draw.burst)
        assert sum(c.draw.awake for c in report.fed) + own == pytest.approx(report.draw.awake)
