"""Behaviour: the checks of test_consistency.py and test_units.py bite: a fact spoilt in memory makes them fail.

Each case takes a chip, board or part that passes, changes one thing, and expects the check to refuse it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import test_consistency as checks
import test_units as units

from pinwright.facts.model import Board, Chip, Fact, Level, Part

CHIPS, BOARDS, PARTS = checks.CATALOGUE.chips, checks.CATALOGUE.boards, checks.CATALOGUE.parts


def with_pad(chip: Chip, name: str, **changes: Any) -> Chip:
    return replace(chip, pad=tuple(replace(pad, **changes) if pad.name == name else pad for pad in chip.pad))


def with_bus(chip: Chip, name: str, **changes: Any) -> Chip:
    return replace(chip, bus=tuple(replace(bus, **changes) if bus.id == name else bus for bus in chip.bus))


AVR, ESP, C3, RP, STM = CHIPS["ATmega328P"], CHIPS["ESP32"], CHIPS["ESP32-C3"], CHIPS["RP2040"], CHIPS["STM32F411CE"]
UNO, WROVER, PICO = BOARDS["atmega328p-32pin"], BOARDS["esp32-devkitc-v4-wrover-e"], BOARDS["raspberry-pi-pico"]
CONSOLE = next(bus for bus in ESP.bus if bus.console)
RUN, *OTHER_MODES = ESP.boot_mode
PULLED = next(pad for pad in ESP.pad if pad.strap is not None and pad.strap.internal == "up")


def first(kind: str, **changes: Any) -> Part:
    """The first part with a line on a bus of this kind, that line changed."""
    part = next(part for part in PARTS.values() if any(line.signal == kind for line in part.line))
    number = next(n for n, line in enumerate(part.line) if line.signal == kind)
    return replace(part, line=(*part.line[:number], replace(part.line[number], **changes), *part.line[number + 1 :]))


def dangerous() -> Part:
    part = next(part for part in PARTS.values() if any(line.quiet == "must" for line in part.line))
    return replace(part, line=tuple(replace(line, floats="") for line in part.line))


def swapped_levels() -> Part:
    part = next(part for part in PARTS.values() if any(line.vil and line.vih for line in part.line))
    return replace(part, line=tuple(replace(line, vil=line.vih, vih=line.vil) for line in part.line))


BROKEN: dict[str, tuple[Callable[[Any], None], Chip | Board | Part]] = {
    "two pins of one pad": (
        checks.test_no_two_header_pins_claim_one_pad_unless_bonded,
        replace(PICO, header=(*PICO.header, replace(PICO.header[0], order=41))),
    ),
    "one label for two pads": (
        checks.test_header_labels_tell_pads_apart,
        replace(PICO, header=tuple(replace(pin, label="x") for pin in PICO.header)),
    ),
    "no ground": (
        checks.test_board_has_ground_and_a_way_to_feed_it,
        replace(PICO, header=tuple(pin for pin in PICO.header if pin.power != "GND")),
    ),
    "too much voltage": (checks.test_board_runs_its_chip_inside_its_supply_range, replace(PICO, logic_v=5.0)),
    "a radio from nowhere": (checks.test_radio_of_the_board_comes_from_its_chip_or_a_radio_chip, replace(PICO, radio=("wifi",))),
    "no bridge": (
        checks.test_usb_of_the_board_fits_its_chip,
        replace(WROVER, onboard=tuple(item for item in WROVER.onboard if item.what != "usb-bridge")),
    ),
    "a button on a plain pad": (
        checks.test_boot_button_sits_on_a_strap,
        replace(WROVER, onboard=tuple(replace(item, pad="GPIO4") if item.what == "button" else item for item in WROVER.onboard)),
    ),
    "extra memory without pads": (checks.test_module_with_extra_memory_reserves_its_pads, replace(WROVER, reserve=())),
    "extra memory on a wrong pad": (
        checks.test_extra_memory_takes_the_pads_its_bus_needs,
        replace(WROVER, reserve=tuple(replace(item, pads=("GPIO16",)) for item in WROVER.reserve)),
    ),
    "reserved twice": (
        checks.test_board_does_not_reserve_again_what_the_chip_reserves,
        replace(WROVER, reserve=tuple(replace(item, pads=("GPIO6",)) for item in WROVER.reserve)),
    ),
    "a UART that cannot listen": (
        checks.test_every_bus_is_whole_or_says_what_is_missing,
        with_bus(AVR, "UART0", roles={"TX": "UART0_TX"}),
    ),
    "a role without a pad": (
        checks.test_every_role_of_a_fixed_bus_has_a_pad_a_board_can_use,
        with_pad(AVR, "PD0", functions=()),
    ),
    "one pad for two roles": (
        checks.test_one_fixed_bus_does_not_need_one_pad_twice,
        with_bus(AVR, "UART0", roles={"TX": "UART0_TX", "RX": "UART0_TX"}),
    ),
    "a bus nobody lists": (
        checks.test_no_bus_in_the_functions_column_is_forgotten,
        replace(STM, bus=tuple(bus for bus in STM.bus if bus.id != "USART6")),
    ),
    "a console without pads": (checks.test_console_pads_and_console_bus_go_together, replace(ESP, console=())),
    "no way to run": (checks.test_chip_with_straps_says_how_it_runs, replace(ESP, boot_mode=tuple(OTHER_MODES))),
    "a strap left out": (
        checks.test_run_and_download_say_a_level_for_every_strap,
        replace(ESP, boot_mode=(replace(RUN, levels={"GPIO0": "high"}), *OTHER_MODES)),
    ),
    "a mode that looks like run": (
        checks.test_no_other_way_of_starting_looks_like_run,
        replace(ESP, boot_mode=(RUN, replace(OTHER_MODES[0], levels=RUN.levels))),
    ),
    "a strap whose pull does not show": (
        checks.test_internal_pull_of_a_strap_shows_in_its_first_boot_state,
        with_pad(ESP, PULLED.name, boot=(replace(PULLED.boot[0], state="float"),)),
    ),
    "a pull without resistor": (
        checks.test_pad_is_never_pulled_a_way_it_has_no_resistor_for,
        with_pad(RP, "GPIO2", pull_down=False),
    ),
    "reserved without a reason": (checks.test_reserved_pads_say_why, with_pad(ESP, "GPIO6", reserved_why="")),
    "analog only, without converter": (
        checks.test_abilities_of_a_pad_agree_with_each_other,
        with_pad(ESP, "GPIO4", dac="", adc=None, analog_only=True),
    ),
    "a PWM pool forgotten": (checks.test_every_pool_unit_and_engine_is_used, replace(RP, pwm=RP.pwm[1:])),
    "low above high on the chip": (
        checks.test_low_lies_under_high_on_the_chip,
        replace(C3, electrical=replace(C3.electrical, vil_max=Level(v=3.0, of="VDD"))),
    ),
    "a wire missing": (checks.test_part_on_a_bus_has_all_wires_of_it, first("i2c", role="SCL")),
    "wrong way round": (checks.test_direction_fits_the_role, first("spi", role="MISO", direction="out")),
    "dangerous and silent": (checks.test_dangerous_line_says_what_happens_when_it_floats, dangerous()),
    "low above high": (checks.test_low_lies_under_high, swapped_levels()),
}


@pytest.mark.parametrize("case", BROKEN)
def test_check_refuses_a_spoilt_fact(case: str) -> None:
    check, item = BROKEN[case]
    with pytest.raises(AssertionError):
        check(item)


def test_every_check_of_one_entry_has_a_case() -> None:
    bitten = {check.__name__ for check, _ in BROKEN.values()}
    marked = {
        name
        for name, check in vars(checks).items()
        if name.startswith("test_") and any(mark.args[0] in ("chip", "board", "part") and mark.kwargs.get("ids") for mark in _marks(check))
    }
    assert marked == bitten


def _marks(check: Any) -> list[Any]:
    return [mark for mark in getattr(check, "pytestmark", []) if mark.name == "parametrize"]


SPOILT: dict[str, tuple[Callable[[], None], Chip]] = {
    "a column emptied": (
        lambda: checks.test_chips_of_a_family_fill_the_same_columns("RP"),
        replace(RP, pad=tuple(replace(pad, interrupt=False) for pad in RP.pad)),
    ),
    "a figure left out": (
        lambda: checks.test_chips_of_a_family_have_the_same_kinds_of_figures("RP"),
        replace(RP, electrical=replace(RP.electrical, pull_up_ohm=None)),
    ),
    "a chip without family": (checks.test_every_chip_belongs_to_a_family, replace(RP, part="RP9999")),
    "a PWM use nobody names": (
        lambda: checks.test_timer_outputs_and_pwm_uses_agree("STM32", "STM32F411CE"),
        with_pad(STM, "PA6", functions=("SPI1_MISO",)),
    ),
}
"""Checks that look at the whole catalogue: the check and the chip that takes its own place there."""


@pytest.mark.parametrize("case", SPOILT)
def test_check_of_the_whole_refuses_a_spoilt_chip(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    check, chip = SPOILT[case]
    check()
    monkeypatch.setitem(CHIPS, chip.part, chip)
    with pytest.raises(AssertionError):
        check()


def milli(fact: Fact) -> Fact:
    """A slip of a prefix: a thousand times too much."""
    return replace(fact, value=1000 * (fact.value or 0))


def test_slip_of_a_prefix_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    electrical = replace(RP.electrical, i_pin_design_a=milli(RP.electrical.i_pin_design_a))
    monkeypatch.setitem(units.CATALOGUE.chips, RP.part, replace(RP, electrical=electrical))
    with pytest.raises(AssertionError, match="i_pin_design_a"):
        units.test_every_figure_lies_in_its_range()


def test_figure_without_a_range_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(units.RANGES, "voh_i_a")
    with pytest.raises(AssertionError):
        units.test_every_figure_has_a_range()
