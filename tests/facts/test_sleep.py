"""What the catalogue says about sleep: whole, consistent with pads and currents, and as a few published texts have it."""

from __future__ import annotations

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Chip, SleepState

CHIPS = tuple(load_catalogue().chips.values())
STATES = [(chip, state) for chip in CHIPS for state in chip.sleep]
SLEEPS = ("light-sleep", "deep-sleep")


def name(value: object) -> str:
    return value.part if isinstance(value, Chip) else value.state if isinstance(value, SleepState) else str(value)


def sleep(part: str, state: str) -> SleepState:
    (chip,) = (chip for chip in CHIPS if chip.part.casefold() == part)
    (found,) = (each for each in chip.sleep if each.state == state)
    return found


@pytest.mark.parametrize("chip", CHIPS, ids=name)
def test_every_sleep_with_a_current_or_a_wake_word_is_described(chip: Chip) -> None:
    known = [each.state for each in chip.sleep]
    words = {word for pad in chip.pad for word in pad.wake} | {current.state for current in chip.current}
    assert len(known) == len(set(known))
    assert words & set(SLEEPS) <= set(known)


@pytest.mark.parametrize(("chip", "state"), STATES, ids=name)
def test_sleep_is_cited_and_in_words(chip: Chip, state: SleepState) -> None:
    assert state.src in {source.id for source in chip.source}
    assert state.where
    assert state.wake_limits


@pytest.mark.parametrize(("chip", "state"), STATES, ids=name)
def test_pads_that_hold_exist_and_can_drive(chip: Chip, state: SleepState) -> None:
    pads = {pad.gpio: pad for pad in chip.pad}
    assert len(set(state.hold_pads)) == len(state.hold_pads)
    for gpio in state.hold_pads:
        assert pads[gpio].output, gpio
        assert pads[gpio].reserved != "flash", gpio
    if state.hold_pads:
        assert state.pads == "held-if-asked"  # a list says which pads may be asked


@pytest.mark.parametrize(("chip", "state"), STATES, ids=name)
def test_the_ways_of_waking_fit_the_pads(chip: Chip, state: SleepState) -> None:
    able = sum(state.state in pad.wake for pad in chip.pad)
    assert (able == 0) == (state.wake_pins_max == 0)
    if state.wake_pins_max is not None:
        assert 0 <= state.wake_pins_max <= max(able, 0)
    if state.pads == "held":
        assert state.pulls == "kept"  # a pad that keeps its registers keeps its pulls
    if state.state == "light-sleep":
        assert not state.wake_is_reset  # firmware goes on: that is what makes it light


@pytest.mark.parametrize("part", ["esp32", "esp32-s2", "esp32-s3", "esp32-c3", "esp32-c6", "esp32-h2"])
def test_deep_sleep_of_one_family_lets_go_unless_asked(part: str) -> None:
    # published: ESP-IDF, driver/gpio.h, gpio_hold_en: after deep sleep a pad is at its default unless held
    found = sleep(part, "deep-sleep")
    assert (found.pads, found.wake_is_reset) == ("held-if-asked", True)


@pytest.mark.parametrize(("part", "levels"), [("esp32", "one-level-for-all"), ("esp32-s3", "one-level-for-all"), ("esp32-c6", "any")])
def test_levels_of_the_wake_pads(part: str, levels: str) -> None:
    # published: ESP-IDF, sleep modes, ext1: a level a pad only where the chip supports a mode per pin
    assert sleep(part, "deep-sleep").wake_levels == levels


def test_the_page_on_sleep_lists_six_pads_that_hold() -> None:
    # published: ESP-IDF, sleep modes, configuring IOs: GPIO0 to GPIO5 retain the latched state, GPIO6 to 21 are high impedance
    assert sleep("esp32-c3", "deep-sleep").hold_pads == (0, 1, 2, 3, 4, 5)


def test_no_pad_wakes_the_chip_that_needs_its_reset_wired() -> None:
    # published: ESP8266_RTOS_SDK, esp_sleep.h, esp_deep_sleep: wired reset or a falling edge on it
    assert sleep("esp8266ex", "deep-sleep").wake_pins_max == 0


def test_stop_keeps_pads_and_goes_on() -> None:
    # published: STM32F1 HAL driver, stm32f1xx_hal_pwr.c, Stop mode: I/O pins stay as in Run mode
    found = sleep("stm32f103c8", "deep-sleep")
    assert (found.pads, found.pulls, found.wake_is_reset) == ("held", "kept", False)
