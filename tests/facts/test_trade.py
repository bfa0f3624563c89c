"""Oracle of a kind: what makers tell each other about these boards must follow from our facts.

Every expectation here is common practice, no source; it is checked because a slip in the facts would show.
"""

from __future__ import annotations

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.places import Place, view

CATALOGUE = load_catalogue()

ESP32_BOARDS = sorted(board.id for board in CATALOGUE.boards.values() if board.chip == "ESP32")
ESP8266_BOARDS = sorted(board.id for board in CATALOGUE.boards.values() if board.chip == "ESP8266EX")
RP_BOARDS = sorted(board.id for board in CATALOGUE.boards.values() if board.chip.startswith("RP2"))


def places(board_id: str) -> tuple[Place, ...]:
    return view(CATALOGUE.boards[board_id], CATALOGUE).places


def states(place: Place) -> set[str]:
    return {state.state for state in place.pad.boot}


def can_hold(board_id: str) -> set[str]:
    """Outputs that a resistor can keep low from power-on: nothing drives them, no noise, no strap that wants high."""
    found = [place for place in places(board_id) if place.pad.output and states(place) <= {"float", "pull-up", "pull-down", "low"}]
    found = [place for place in found if not any(item.drives for item in place.onboard)]
    return {place.pad.name for place in found if place.pad.strap is None or place.pad.strap.run != "high"}


def test_six_pins_of_the_esp8266_board_can_hold_a_relay_off() -> None:
    # common practice, no source
    assert can_hold("esp12f-30pin") == {"GPIO4", "GPIO5", "GPIO12", "GPIO13", "GPIO14", "GPIO15"}


def test_the_30_pin_esp32_board_has_more_than_twice_as_many() -> None:
    # common practice, no source; one more or less according to how GPIO2 with its LED is counted
    assert len(can_hold("esp32-wroom32-30pin")) in (15, 16)
    assert len(can_hold("esp32-wroom32-30pin")) > 2 * len(can_hold("esp12f-30pin"))


@pytest.mark.parametrize("board_id", RP_BOARDS)
def test_every_pin_of_an_rp_board_can_hold_a_relay_off(board_id: str) -> None:
    # common practice, no source: reset leaves every pad pulled down
    assert can_hold(board_id) == {place.pad.name for place in places(board_id)}


def test_two_quiet_pins_of_the_esp8266_board_need_nothing_at_all() -> None:
    # common practice, no source: D1 and D2 are the pins makers tell each other to take for relays
    calm = [place for place in places("esp12f-30pin") if states(place) <= {"float", "pull-down", "low"} and place.pad.strap is None]
    quiet = {place.pad.name for place in calm if not {"auto-program", "button", "pull-up"} & {item.what for item in place.onboard}}
    assert quiet & {"GPIO4", "GPIO5", "GPIO12", "GPIO13", "GPIO14", "GPIO15", "GPIO0", "GPIO2"} == {"GPIO4", "GPIO5"}


@pytest.mark.parametrize("board_id", ESP32_BOARDS)
def test_esp32_boards_bring_out_six_channels_of_the_first_converter(board_id: str) -> None:
    # common practice, no source: GPIO37 and GPIO38 stay inside the module
    found = {place.pad.name for place in places(board_id) if place.pad.adc and place.pad.adc.unit == 1}
    assert found == {"GPIO32", "GPIO33", "GPIO34", "GPIO35", "GPIO36", "GPIO39"}
    assert sum(pad.adc is not None and pad.adc.unit == 1 for pad in CATALOGUE.chips["ESP32"].pad) == 8


@pytest.mark.parametrize("board_id", ESP32_BOARDS)
def test_esp32_boards_have_two_real_analog_outputs(board_id: str) -> None:
    # common practice, no source
    assert {place.pad.name for place in places(board_id) if place.pad.dac} == {"GPIO25", "GPIO26"}


@pytest.mark.parametrize("board_id", ESP8266_BOARDS)
def test_esp8266_boards_have_no_analog_output_and_at_most_one_analog_input(board_id: str) -> None:
    # common practice, no source
    assert not any(place.pad.dac for place in places(board_id))
    assert sum(place.pad.adc is not None for place in places(board_id)) == (0 if board_id == "esp01s" else 1)


@pytest.mark.parametrize("board_id", ESP32_BOARDS)
def test_second_converter_of_the_esp32_stops_with_wifi(board_id: str) -> None:
    # common practice, no source
    units = {unit.unit: unit for unit in CATALOGUE.chips["ESP32"].adc}
    assert "wifi" in units[2].blocked_by
    assert not units[1].blocked_by


@pytest.mark.parametrize("board_id", ESP32_BOARDS)
def test_four_pins_of_the_esp32_board_are_input_only_without_pulls(board_id: str) -> None:
    # common practice, no source
    deaf = {place.pad.name for place in places(board_id) if not place.pad.output}
    assert deaf == {"GPIO34", "GPIO35", "GPIO36", "GPIO39"}
    assert not any(place.pad.pull_up or place.pad.pull_down for place in places(board_id) if place.pad.name in deaf)


FOURTH_IS_FREE = {"feather-rp2040", "pro-micro-rp2040", "xiao-rp2040"}
"""Boards of other makers, which leave the measuring of the supply out."""


@pytest.mark.parametrize("board_id", RP_BOARDS)
def test_rp_boards_bring_out_three_or_four_analog_inputs(board_id: str) -> None:
    # common practice, no source: on the chip maker's own boards the fourth channel measures the supply inside the board
    fourth = {"GPIO29"} if board_id in FOURTH_IS_FREE else set()
    assert {place.pad.name for place in places(board_id) if place.pad.adc} == {"GPIO26", "GPIO27", "GPIO28"} | fourth


@pytest.mark.parametrize("board_id", ["atmega328p-32pin", "atmega328p-narrow-30pin", "atmega328p-3v3-8mhz-narrow"])
def test_small_avr_boards_have_six_pwm_pins_and_two_interrupt_pins(board_id: str) -> None:
    # common practice, no source: 3, 5, 6, 9, 10, 11 and 2, 3
    pwm = {place.pad.name for place in places(board_id) if any(use.channel for use in place.pad.pwm)}
    assert pwm == {"PD3", "PD5", "PD6", "PB1", "PB2", "PB3"}
    assert {place.pad.name for place in places(board_id) if {"INT0", "INT1"} & set(place.pad.functions)} == {"PD2", "PD3"}
