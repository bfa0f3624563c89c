"""Property: what must hold inside the shipped catalogue whatever the sources say.

Exceptions are listed with their reason; an exception nobody needs any more fails.
"""

from __future__ import annotations

import dataclasses
import re
from collections import Counter, defaultdict
from collections.abc import Iterator

import pytest

from pinwright.facts.across import uncited
from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, BusInstance, Chip, Pad, Part

CATALOGUE = load_catalogue()
CHIPS = sorted(CATALOGUE.chips.values(), key=lambda chip: chip.part)
BOARDS = sorted(CATALOGUE.boards.values(), key=lambda board: board.id)
PARTS = sorted(CATALOGUE.parts.values(), key=lambda part: part.id)

each_chip = pytest.mark.parametrize("chip", CHIPS, ids=lambda chip: chip.part)
each_board = pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.id)
each_part = pytest.mark.parametrize("part", PARTS, ids=lambda part: part.id)


def test_every_value_names_a_source() -> None:
    assert uncited(CATALOGUE) == []


# ------------------------------------------------------------------------------ boards


BONDED = {
    "atmega2560-54pin": {"PD0": "SCL beside AREF and pin 21", "PD1": "SDA beside AREF and pin 20"},
    "atmega328p-32pin": {"PC4": "A4 and SDA", "PC5": "A5 and SCL"},
    "atmega32u4-32pin": {"PD0": "SCL and 3", "PD1": "SDA and 2"},
    "atmega328p-3v3-8mhz-narrow": {"PD0": "RXI on the row and on the serial header", "PD1": "TXO on the row and on the serial header"},
}
"""Pads that two header pins of a board are bonded to, and where."""


@each_board
def test_no_two_header_pins_claim_one_pad_unless_bonded(board: Board) -> None:
    counted = Counter(pin.pad for pin in board.header if pin.pad)
    assert {pad for pad, count in counted.items() if count > 1} == set(BONDED.get(board.id, {}))


@each_board
def test_header_labels_tell_pads_apart(board: Board) -> None:
    pads = defaultdict(set)
    for pin in board.header:
        if pin.pad:
            pads[pin.label.casefold()].add(pin.pad)
    assert {label: found for label, found in pads.items() if len(found) > 1} == {}


@each_board
def test_board_has_ground_and_a_way_to_feed_it(board: Board) -> None:
    assert any(pin.power == "GND" for pin in board.header)
    assert any(supply.direction != "out" for supply in board.supply)


@each_board
def test_board_runs_its_chip_inside_its_supply_range(board: Board) -> None:
    limits = CATALOGUE.chips[board.chip].electrical
    assert (limits.vdd_min_v.value or 0) <= board.logic_v <= (limits.vdd_max_v.value or 0)


@each_board
def test_radio_of_the_board_comes_from_its_chip_or_a_radio_chip(board: Board) -> None:
    chip = CATALOGUE.chips[board.chip]
    has_radio_chip = any(reserve.use == "radio" for reserve in board.reserve)
    assert set(board.radio) <= set(chip.radio) or has_radio_chip
    assert bool(board.radio) == bool(chip.radio or has_radio_chip)


@each_board
def test_usb_of_the_board_fits_its_chip(board: Board) -> None:
    chip = CATALOGUE.chips[board.chip]
    driven = {item.pad for item in board.onboard if item.what == "usb-bridge" and item.drives}
    listened = {item.pad for item in board.onboard if item.what == "usb-bridge" and not item.drives}
    if board.usb == "bridge":  # the bridge drives the chip's receiver and listens to its transmitter
        transmitter, receiver = chip.console
        assert (listened, driven) == ({transmitter}, {receiver})
    else:
        assert driven == set()
    if board.usb == "native":
        assert chip.usb != "none"


USER_BUTTONS = {
    "feather-nrf52840-express": {"P1.02": "user switch; the loader in flash looks at it, the chip has no straps"},
    "stm32f411ce-40pin": {"PA0": "user key; a loader in flash may look at it, the strap has a button of its own"},
}
"""Buttons that are no boot buttons of the chip, and why."""


@each_board
def test_boot_button_sits_on_a_strap(board: Board) -> None:
    pads = {pad.name: pad for pad in CATALOGUE.chips[board.chip].pad}
    pressed = {item.pad for item in board.onboard if item.what in ("button", "auto-program") and item.pad}
    plain = {pad for pad in pressed if pads[pad].strap is None and pads[pad].reserved != "reset"}
    assert plain == set(USER_BUTTONS.get(board.id, {}))


# reserved pads follow from the module: what its name or description says must show in the pads


@each_board
def test_module_with_extra_memory_reserves_its_pads(board: Board) -> None:
    says = re.search(r"WROVER|\dR\d|PSRAM", board.module) is not None and "no PSRAM" not in board.module
    reserved = {pad for reserve in board.reserve if reserve.use == "psram" for pad in reserve.pads}
    assert says == bool(reserved)


# ESP32-WROVER-E data sheet, pin table; ESP32-S2 data sheet, memory in the package; ESP32-S3-WROOM-1 data sheet, pin table note
PSRAM_PADS = {
    "ESP32": {"GPIO16", "GPIO17"},
    "ESP32-S2": {"GPIO26"},
    "ESP32-S3": {"GPIO26", "GPIO33", "GPIO34", "GPIO35", "GPIO36", "GPIO37"},
}
"""Pads that extra memory takes: one more select line, or the whole eight-line bus on the S3."""


@each_board
def test_extra_memory_takes_the_pads_its_bus_needs(board: Board) -> None:
    reserved = {pad for reserve in board.reserve if reserve.use == "psram" for pad in reserve.pads}
    if reserved:
        assert reserved == PSRAM_PADS[board.chip]


@each_board
def test_board_does_not_reserve_again_what_the_chip_reserves(board: Board) -> None:
    pads = {pad.name: pad for pad in CATALOGUE.chips[board.chip].pad}
    again = [pad for reserve in board.reserve for pad in reserve.pads if pads[pad].reserved]
    assert again == []


# ------------------------------------------------------------------------------ buses

NEEDED_ROLES = {"uart": {"TX", "RX"}, "i2c": {"SDA", "SCL"}, "spi": {"SCK", "MOSI", "MISO"}, "i2s": {"BCLK", "WS"}, "can": {"TX", "RX"}}


@each_chip
def test_every_bus_is_whole_or_says_what_is_missing(chip: Chip) -> None:
    for bus in chip.bus:
        if bus.wiring != "fixed":
            assert not bus.roles, f"{bus.id}: any pad will do, so it names none"
            continue
        missing = NEEDED_ROLES[bus.kind] - set(bus.roles)
        if missing:
            assert (bus.kind, missing) == ("uart", {"RX"}), bus.id
            assert "transmit only" in bus.note.lower(), bus.id
        if bus.kind == "i2s":
            assert {"DOUT", "DIN"} & set(bus.roles), bus.id


@each_chip
def test_every_role_of_a_fixed_bus_has_a_pad_a_board_can_use(chip: Chip) -> None:
    for bus in chip.bus:
        for role, function in bus.roles.items():
            assert any(function in pad.functions and pad.reserved in ("", "usb") for pad in chip.pad), f"{bus.id} {role}"


@each_chip
def test_one_fixed_bus_does_not_need_one_pad_twice(chip: Chip) -> None:
    for bus in chip.bus:
        choices = [[pad.name for pad in chip.pad if function in pad.functions] for function in bus.roles.values()]
        assert len({name for names in choices for name in names}) >= len(choices), bus.id


BUS_PADS_WITHOUT_BUS = {
    "ESP32": {"SPI01": "the flash's own bus"},
    "ESP8266EX": {"SPI": "the flash's own bus", "UART1": "its receiver lies on a flash pad"},
    **{f"ESP32-{kind}": {"SPI0": "the flash's own bus"} for kind in ("C3", "C6", "H2", "S2", "S3")},
}


@each_chip
def test_no_bus_in_the_functions_column_is_forgotten(chip: Chip) -> None:
    anywhere = {bus.id for bus in chip.bus if bus.wiring != "fixed"}
    used = {function for bus in chip.bus for function in bus.roles.values()}
    named = {name: _bus_block(name) for pad in chip.pad for name in pad.functions if pad.reserved != "crystal"}
    forgotten = {block for name, block in named.items() if block and block not in anywhere and name not in used}
    assert forgotten == set(BUS_PADS_WITHOUT_BUS.get(chip.part, {}))


def _bus_block(function: str) -> str:
    found = re.fullmatch(r"((?:US?ART|I2C|SPI|CAN|SERCOM)\w*?)_(?:TX|RX|SDA|SCL|SCK|CLK|MOSI|MISO|PAD\d)(_R\d)?", function)
    return found[1] if found else ""


@each_chip
def test_console_pads_and_console_bus_go_together(chip: Chip) -> None:
    console = [bus for bus in chip.bus if bus.console]
    assert len(console) == bool(chip.console)
    for bus in console:
        assert (bus.kind, len(chip.console)) == ("uart", 2)
        if bus.wiring == "fixed":
            transmitter, receiver = chip.console
            assert (transmitter, receiver) == (_pad_with(chip, bus, "TX"), _pad_with(chip, bus, "RX"))


def _pad_with(chip: Chip, bus: BusInstance, role: str) -> str:
    return next(pad.name for pad in chip.pad if bus.roles[role] in pad.functions)


# ------------------------------------------------------------------------------ straps and boot


@each_chip
def test_chip_with_straps_says_how_it_runs(chip: Chip) -> None:
    straps = {pad.name for pad in chip.pad if pad.strap}
    assert bool(straps) == any(mode.name == "run" for mode in chip.boot_mode)
    assert {name for mode in chip.boot_mode for name in mode.levels} == straps


@each_chip
def test_run_and_download_say_a_level_for_every_strap(chip: Chip) -> None:
    for mode in chip.boot_mode:
        if mode.name in ("run", "download"):
            wanted = {pad.name: getattr(pad.strap, mode.name) for pad in chip.pad if pad.strap}
            assert mode.levels == wanted, mode.name


@each_chip
def test_no_other_way_of_starting_looks_like_run(chip: Chip) -> None:
    run = next((mode for mode in chip.boot_mode if mode.name == "run"), None)
    for mode in chip.boot_mode:
        if run is not None and mode is not run:
            opposite = [name for name, level in mode.levels.items() if {level, run.levels.get(name, "any")} == {"high", "low"}]
            assert opposite, mode.name


@each_chip
def test_internal_pull_of_a_strap_shows_in_its_first_boot_state(chip: Chip) -> None:
    for pad in chip.pad:
        if pad.strap is not None and pad.strap.internal != "none":
            assert any(state.state in (f"pull-{pad.strap.internal}", "noisy") for state in pad.boot), pad.name


PULLED_WITHOUT_RESISTOR = {"RP2350A": "the pull-downs exist but are denied to firmware on purpose: erratum E9 of the A2 chip"}


@each_chip
def test_pad_is_never_pulled_a_way_it_has_no_resistor_for(chip: Chip) -> None:
    for pad in chip.pad:
        for state in pad.boot:
            if pad.reserved == "":
                assert state.state != "pull-up" or pad.pull_up, pad.name
                assert state.state != "pull-down" or pad.pull_down or chip.part in PULLED_WITHOUT_RESISTOR, pad.name


@pytest.mark.parametrize("part", PULLED_WITHOUT_RESISTOR)
def test_exception_for_pulls_is_still_needed(part: str) -> None:
    pads = CATALOGUE.chips[part].pad
    assert any(state.state == "pull-down" and not pad.pull_down for pad in pads for state in pad.boot if not pad.reserved)


# ------------------------------------------------------------------------------ pads


@each_chip
def test_reserved_pads_say_why(chip: Chip) -> None:
    for pad in chip.pad:
        assert bool(pad.reserved) == bool(pad.reserved_why), pad.name


@each_chip
def test_abilities_of_a_pad_agree_with_each_other(chip: Chip) -> None:
    for pad in chip.pad:
        assert pad.input or pad.output or pad.analog_only, pad.name
        assert not pad.analog_only or pad.adc, pad.name
        assert not pad.dac or chip.dac_bits, pad.name
        assert not pad.open_drain or pad.output, pad.name
        assert not pad.interrupt or pad.input, pad.name


WITHOUT_COUNTER = {"ESP32-C3": "no counter block; slow pulses are counted by interrupt (note in its file)"}


@each_chip
def test_every_pool_unit_and_engine_is_used(chip: Chip) -> None:
    assert {use.pool for pad in chip.pad for use in pad.pwm} == {pool.id for pool in chip.pwm}
    assert {pad.adc.unit for pad in chip.pad if pad.adc} == {adc.unit for adc in chip.adc}
    assert bool(chip.dac_bits) == any(pad.dac for pad in chip.pad)
    gives = {kind for engine in chip.engine for kind in engine.gives}
    assert {"pulse-out", "pulse-in"} <= gives
    assert ("count" in gives) == (chip.part not in WITHOUT_COUNTER)


FAMILIES = {
    "AVR": ("ATmega2560", "ATmega328P", "ATmega32U4", "ATtiny85"),
    "ESP": ("ESP32", "ESP32-C3", "ESP32-C6", "ESP32-H2", "ESP32-S2", "ESP32-S3", "ESP8266EX"),
    "RP": ("RP2040", "RP2350A"),
    "SAM": ("SAMD21G18",),
    "STM32": ("STM32F103C8", "STM32F411CE"),
    "nRF": ("nRF52840",),
}

# columns alike: a timer output in the functions column is a PWM use of the pad, and the other way round

OUTPUT = {"STM32": r"(TIM\d+)_CH(\d)N?(?:_(R\d))?", "SAM": r"(TCC?\d)_WO(\d)"}
"""How the makers write a timer output."""

NO_POOL = {
    "STM32F103C8": {"TIM1-R1": "moves only the complementary outputs, to pads that have TIM3 (note at the pool)"},
}
"""Maps of a timer that are named but offered to nobody."""


@pytest.mark.parametrize(("family", "part"), [(family, part) for family in OUTPUT for part in FAMILIES[family]])
def test_timer_outputs_and_pwm_uses_agree(family: str, part: str) -> None:
    chip = CATALOGUE.chips[part]
    channels = {pool.id: pool.channels for pool in chip.pwm}
    without = set()
    for pad in chip.pad:
        named = set()
        for function in pad.functions:
            if found := re.fullmatch(OUTPUT[family], function):
                timer, number, *moved = found.groups()
                pool = "-".join([timer, *filter(None, moved)])
                if pool not in channels:
                    without.add(pool)
                elif family == "SAM":  # output n repeats channel n modulo the number of channels
                    named.add((pool, f"CC{int(number) % channels[pool]}"))
                else:
                    named.add((pool, f"CH{number}"))
        used = {(use.pool, use.channel) for use in pad.pwm if use.channel and not use.pool.endswith("-16")}
        assert used == named or pad.reserved, pad.name
    assert without == set(NO_POOL.get(part, {}))


PROSE = {"names", "note", "limits", "src", "where", "seen"}

SOME_ONLY = {
    "AVR": {"analog_only": "the 32-pin ATmega328P alone has pads that only reach the converter"},
    "ESP": {
        "analog_only": "TOUT of the ESP8266",
        "dac": "ESP32 and ESP32-S2 have converters",
        "touch": "ESP32, ESP32-S2 and ESP32-S3 sense touch",
        "source_max_a": "only the ESP32 sheet gives weaker figures for single pads",
    },
    "RP": {},
    "SAM": {},
    "STM32": {"needs_setup": "on the STM32F103C8 firmware must take three pads from the debugger"},
    "nRF": {},
}
"""Columns of the pad table that only some chips of a family fill, and why."""


@pytest.mark.parametrize("family", FAMILIES)
def test_chips_of_a_family_fill_the_same_columns(family: str) -> None:
    columns = [_filled(CATALOGUE.chips[part]) for part in FAMILIES[family]]
    common = columns[0].intersection(*columns)
    assert columns[0].union(*columns) - common == set(SOME_ONLY[family])
    expected = {"package_pin", "interrupt", "wake", "adc", "pwm", "functions", "reserved", "boot"}
    assert expected - common == set(COLUMNS_LEFT_EMPTY.get(family, {}))


COLUMNS_LEFT_EMPTY = {"nRF": {"package_pin": "the balls of its package have names, not numbers"}}
"""Columns every other family fills."""


def _filled(chip: Chip) -> set[str]:
    fields = [f for f in dataclasses.fields(Pad) if f.name not in PROSE]
    return {f.name for f in fields if any(getattr(pad, f.name) != f.default for pad in chip.pad)}


def test_every_chip_belongs_to_a_family() -> None:
    assert {part for parts in FAMILIES.values() for part in parts} == set(CATALOGUE.chips)


@pytest.mark.parametrize("family", FAMILIES)
def test_chips_of_a_family_have_the_same_kinds_of_figures(family: str) -> None:
    figures = [_figures(CATALOGUE.chips[part]) for part in FAMILIES[family]]
    assert figures[0].union(*figures) - figures[0].intersection(*figures) == set(FIGURES_OF_SOME[family])


def _figures(chip: Chip) -> set[str]:
    return {f.name for f in dataclasses.fields(chip.electrical) if getattr(chip.electrical, f.name)}


FIGURES_OF_SOME: dict[str, dict[str, str]] = {
    "AVR": {"c_in_f": "listed as unknown for the ATtiny85, which has no two-wire block"},
    "ESP": {
        "brownout_v": "listed as unknown for the ESP8266",
        "adc_input_max_v": "published for ESP32 and ESP8266; elsewhere vin_max is the limit",
        "i_total_max_a": "listed as unknown for ESP32-S2 and ESP8266",
        "pull_down_ohm": "the ESP8266 has pull-ups only, but for GPIO16, whose value nobody gives",
    },
    "RP": {},
    "SAM": {},
    "STM32": {},
    "nRF": {},
}


# ------------------------------------------------------------------------------ parts


@each_part
def test_part_on_a_bus_has_all_wires_of_it(part: Part) -> None:
    roles = defaultdict(set)
    for line in part.line:
        roles[line.signal].add(line.role)
    if "i2c" in roles:
        assert roles["i2c"] == {"SDA", "SCL"}
    if "spi" in roles:
        assert "SCK" in roles["spi"]
        assert roles["spi"] & {"MOSI", "MISO"}
    if "uart" in roles:
        assert roles["uart"] & {"TX", "RX"}
    if "i2s" in roles:
        assert {"BCLK", "WS"} <= roles["i2s"]


@each_part
def test_direction_fits_the_role(part: Part) -> None:
    wanted = {"TX": "out", "RX": "in", "SCK": "out", "MOSI": "out", "MISO": "in", "CS": "out", "DOUT": "out", "DIN": "in"}
    for line in part.line:
        if line.signal in ("uart", "spi", "i2s") and line.role in wanted:
            assert line.direction in (wanted[line.role], "bidir"), line.name
        if line.signal == "i2c":
            assert line.direction in ("open-drain", "bidir", "out"), line.name
        if line.signal == "analog":
            assert line.direction in ("analog-in", "analog-out"), line.name


@each_part
def test_dangerous_line_says_what_happens_when_it_floats(part: Part) -> None:
    for line in part.line:
        if line.quiet == "must":
            assert line.floats, line.name


def levels_in_order(part: Part) -> Iterator[tuple[str, bool]]:
    """Whether low lies under high for each line, at the part's usual supply."""
    supply = part.supply_v.typ or part.supply_v.max or part.supply_v.min or 5.0
    for line in part.line:
        if line.vil and line.vih:
            yield f"{line.name} input", line.vil.at(supply) < line.vih.at(supply)
        if line.vol and line.voh:
            yield f"{line.name} output", line.vol.at(supply) < line.voh.at(supply)


@each_part
def test_low_lies_under_high(part: Part) -> None:
    assert [name for name, fine in levels_in_order(part) if not fine] == []


@each_chip
def test_low_lies_under_high_on_the_chip(chip: Chip) -> None:
    e = chip.electrical
    for supply in (e.vdd_typ_v.value or 0, e.vdd_max_v.value or 0):  # several limits are only stated for the usual supply
        assert e.vil_max.at(supply) < e.vih_min.at(supply) <= e.vin_max.at(supply)
        assert e.vol_max.at(supply) < e.voh_min.at(supply)
    assert (e.vdd_min_v.value or 0) <= (e.vdd_typ_v.value or 0) <= (e.vdd_max_v.value or 0)
    assert (e.i_pin_design_a.value or 0) <= min(e.i_pin_source_max_a.value or 0, e.i_pin_sink_max_a.value or 0)
