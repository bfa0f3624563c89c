"""Plans an experienced maker would nod at (kind: behaviour; sources beside each check)."""

from __future__ import annotations

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.problem import Option, Problem
from pinwright.fitting.rank import plan_board, prepare
from pinwright.fitting.solver import solve


def planned(board: str, body: str, catalogue: Catalogue) -> BoardPlan:
    text = 'title = "t"\n' + body
    return plan_board(prepare(parse_brief(text, "t.toml", catalogue), catalogue), catalogue.boards[board])


def part(kind: str, name: str = "x", more: str = "") -> str:
    return f'[[part]]\nname = "{name}"\nkind = "{kind}"\n{more}\n'


def circuits(plan: BoardPlan) -> dict[str, str]:
    return {placed.line.id: placed.circuit.words for placed in plan.placed}


def test_a_resource_named_twice_by_one_option_counts_twice() -> None:
    # A row that named one column twice once kept the solver busy for ever.
    options = (Option(0, "a", uses=(("i", 2), ("i", 2))), Option(0, "b", components=1, uses=(("i", 1),)), Option(1, "a"), Option(1, "b"))
    found = solve(Problem((0, 1), options, capacity={"i": 3}))
    assert found is not None
    assert [options[index].pin for index in found.chosen] == ["b", "a"]


def test_many_shared_lines_with_currents_are_solved(catalogue: Catalogue) -> None:
    body = (
        part("can-mcp2515", "bus", 'count = 3\nconnect = ["RESET"]')
        + part("gnss-uart-neo6m", "gps", "count = 2")
        + part("led-true-green", "led")
    )
    plan = planned("raspberry-pi-pico-w", body, catalogue)
    assert plan.feasible
    assert plan.proved


def test_a_shifter_belongs_to_the_part_that_needs_it(catalogue: Catalogue) -> None:
    # The display backpack pulls its bus to 5 V; the BME280 takes 3.6 V at most (data sheet BST-BME280-DS002)
    found = circuits(planned("esp32-wroom32-30pin", part("bme280", "air") + part("lcd1602-pcf8574", "text"), catalogue))
    assert "shifter" in found["text.SDA"]
    assert "shifter" not in found["air.SDA"]


def test_a_weak_pull_on_the_board_does_not_replace_the_one_a_bus_needs(catalogue: Catalogue) -> None:
    # The board pulls GPIO0 and GPIO2 up with 12 k; a DS18B20 wants 4.7 k (data sheet, hardware configuration)
    found = circuits(planned("esp12f-30pin", part("temp-ds18b20", "t", 'wire = "5 m"'), catalogue))
    assert found["t.DQ"] == "4.7 kΩ to 3.3 V"


def test_one_wire_parts_share_a_pin(catalogue: Catalogue) -> None:
    plan = planned("esp12f-30pin", part("temp-ds18b20", "t", "count = 12"), catalogue)
    pins = [placed.place.label for placed in plan.placed]
    assert len(set(pins)) == 2  # ten on a pin at most: common practice, no source
    assert plan.objective is not None
    assert plan.objective.components == 2


def test_a_servo_may_sit_on_a_strap_it_does_not_hold(catalogue: Catalogue) -> None:
    # common practice, no source: a servo input is high-impedance, the board's own pull keeps GPIO2 high at reset
    assert planned("esp12f-30pin", part("servo-hobby", "s", 'pins = { SIG = "D4" }'), catalogue).feasible
    assert not planned("esp12f-30pin", part("led-red", "s", 'pins = { LED = "D4" }'), catalogue).feasible


def test_an_led_that_pulls_the_same_way_is_no_obstacle(catalogue: Catalogue) -> None:
    # The LEDs of this board hang on the supply: they pull D0 and D4 up, as a button's pull-up does
    body = part("push-button-momentary", "key", 'pins = { SW = "D4" }')
    plan = planned("esp12f-30pin", body, catalogue)
    assert plan.feasible


def test_a_stepper_is_never_pulled_up_to_its_motor_supply(catalogue: Catalogue) -> None:
    # TMC2130: the logic levels follow VCC_IO, not the motor supply (data sheet)
    for kind in ("stepper-tmc2130-spi", "stepper-a4988"):
        plan = planned("esp32-wroom32-30pin", part(kind, "m"), catalogue)
        assert all("supply" not in words and "12 V" not in words for words in circuits(plan).values())


def test_a_converter_that_does_not_work_is_not_used(catalogue: Catalogue) -> None:
    # ESP32-C3 errata: the second converter (GPIO5) can return wrong values; the maker's software dropped it
    assert planned("esp32c3-mini16-clone", part("ntc-10k-b3950", "t", "count = 4"), catalogue).feasible
    plan = planned("esp32c3-mini16-clone", part("ntc-10k-b3950", "t", 'pins = { NTC = "5" }'), catalogue)
    assert plan.conflict is not None
    assert "known fault" in " ".join(plan.conflict.chain)


def test_a_uart_too_slow_is_told_as_such(catalogue: Catalogue) -> None:
    # Software serial of the AVR core is planned up to 38400 Bd (catalogue); the modem's default is 115200 Bd
    plan = planned("atmega328p-narrow-30pin", part("gsm-sim800l", "m"), catalogue)
    assert plan.conflict is not None
    assert "fast enough" in " ".join(plan.conflict.chain)
    assert planned("atmega328p-narrow-30pin", part("gsm-sim800l", "m", 'baud = "9600 baud"'), catalogue).feasible


def test_a_frequency_range_is_met_in_its_middle(catalogue: Catalogue) -> None:
    # 4-wire fans: 25 kHz nominal, 21 to 28 kHz allowed (4-wire PWM fan specification, from memory)
    plan = planned("esp32-wroom32-30pin", part("fan-4wire-pwm", "f"), catalogue)
    mode = next(placed.mode for placed in plan.placed if placed.line.name == "PWM")
    assert 23_000 < float(mode.removesuffix(" Hz")) < 26_000


def test_the_console_port_stays_free_behind_a_pin_matrix(catalogue: Catalogue) -> None:
    # Three UARTs, one of them the console: two are left while the brief keeps it
    body = part("gnss-uart-neo6m", "g", "count = 3")
    assert not planned("esp32-wroom32-30pin", body, catalogue).feasible
    assert planned("esp32-wroom32-30pin", '[use]\nconsole = "free"\n' + body, catalogue).feasible


@pytest.mark.parametrize("amps", ["9 mA", "15 mA"])
def test_pins_of_a_weak_group_are_left_to_weak_loads(amps: str, catalogue: Catalogue) -> None:
    # ESP32 data sheet Table 13 note 3: pads of VDD_SDIO (GPIO16 and 17 here) give 10 mA when many are used
    body = f'[[part]]\nname = "x"\n[[part.line]]\nname = "A"\ndirection = "out"\nsignal = "digital"\ncurrent = "{amps}"\n'
    plan = planned("esp32-wroom32-30pin", body.replace('name = "x"', 'name = "x"\npins = { A = "RX2" }'), catalogue)
    assert circuits(plan)["x.A"] == ("direct" if amps == "9 mA" else "transistor stage")
