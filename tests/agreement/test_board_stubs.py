"""Oracle: the board definitions of the Python package circuitpython-stubs against our boards.

Each definition lists the names printed on a board and the chip pad behind each.
Source: board_definitions/<board>/__init__.pyi of that package, read when the test runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, Chip

Settle = Callable[[Iterable[str], Mapping[str, str]], None]
Names = list[tuple[str, str]]
Definitions = dict[str, tuple[str, Names]]

CATALOGUE = load_catalogue()

STUB = {
    "esp32-devkitc-v4": "espressif_esp32_devkitc_v4_wroom_32e",
    "esp32-devkitc-v4-wrover-e": "espressif_esp32_devkitc_v4_wrover",
    "esp32-wroom32-30pin": "doit_esp32_devkit_v1",
    "esp32-c3-devkitm-1": "espressif_esp32c3_devkitm_1_n4",
    "esp32c3-mini16-clone": "makergo_esp32c3_supermini",
    "esp32-c6-devkitc-1": "espressif_esp32c6_devkitc_1_n8",
    "esp32-c6-devkitm-1": "espressif_esp32c6_devkitm_1_n4",
    "esp32-h2-devkitm-1": "espressif_esp32h2_devkitm_1_n4",
    "esp32-s2-saola-1": "espressif_saola_1_wrover",
    "esp32-s3-devkitc-1-n8": "espressif_esp32s3_devkitc_1_n8",
    "esp32-s3-devkitc-1-n8r8": "espressif_esp32s3_devkitc_1_n8r8",
    "feather-m0-express": "feather_m0_express",
    "feather-nrf52840-express": "feather_nrf52840_express",
    "feather-rp2040": "adafruit_feather_rp2040",
    "nano-33-ble": "arduino_nano_33_ble",
    "nano-33-iot": "arduino_nano_33_iot",
    "pro-micro-rp2040": "sparkfun_pro_micro_rp2040",
    "raspberry-pi-pico": "raspberry_pi_pico",
    "raspberry-pi-pico-w": "raspberry_pi_pico_w",
    "raspberry-pi-pico-2": "raspberry_pi_pico2",
    "raspberry-pi-pico-2-w": "raspberry_pi_pico2_w",
    "stm32f411ce-40pin": "stm32f411ce_blackpill",
    "xiao-esp32c3": "seeed_xiao_esp32c3",
    "xiao-esp32s3": "seeed_xiao_esp32_s3_sense",
    "xiao-nrf52840": "Seeed_XIAO_nRF52840_Sense",
    "xiao-rp2040": "seeeduino_xiao_rp2040",
}
"""Our boards and their definition."""

WITHOUT_STUB = {
    "bare AVR and ESP8266: no runtime of that kind": {"ATmega2560", "ATmega328P", "ATmega32U4", "ATtiny85", "ESP8266EX"},
    "too little memory for it": {"STM32F103C8"},
}
"""Chips whose boards nobody defines there, and why."""

BOARD_WITHOUT_STUB = {"esp32-c3-devkitc-02", "esp32-s2-devkitm-1"}
"""Boards nobody defined, though others with their chip are."""

_INSIDE = "not on a header: this pad works inside the board, see its onboard entries"
_RADIO_CHIP = "a pin of the radio chip, not of the microcontroller"
_UNDERSIDE = "a bare pad on the underside, no header pin"
_CAMERA = "reaches only the camera version's own connector"
_COPY = "the definition repeats the pads of the board with the ESP32-C3; the maker's pin table says otherwise (esp32-c6-devkitm-1.toml)"


def _inside(*pads: str) -> dict[str, str]:
    return {f"only theirs brings out {pad}": _INSIDE for pad in pads}


EXPLAINED: dict[str, dict[str, str]] = {
    "esp32-h2-devkitm-1": {
        **{
            f"only ours brings out GPIO{n}": "labelled 13/N and 14/N: wired to the 32 kHz crystal, so the definition omits them"
            for n in (13, 14)
        },
        **{f"only ours brings out GPIO{n}": "the USB pair; the definition omits it" for n in (26, 27)},
    },
    **{board: _inside("GPIO23", "GPIO24", "GPIO25", "GPIO29") for board in ("raspberry-pi-pico", "raspberry-pi-pico-2")},
    **{
        board: {**_inside("GPIO29"), **{f"only theirs brings out CYW{n}": _RADIO_CHIP for n in (0, 1, 2)}}
        for board in ("raspberry-pi-pico-w", "raspberry-pi-pico-2-w")
    },
    "esp32-wroom32-30pin": {
        "label TX0: ours GPIO1, theirs GPIO3": "the definition swaps the two names: on the chip GPIO1 is U0TXD (esp32.toml, functions)",
        "label RX0: ours GPIO3, theirs GPIO1": "the definition swaps the two names: on the chip GPIO3 is U0RXD (esp32.toml, functions)",
        "console TX: ours GPIO1, theirs GPIO17": "the definition calls the second serial port TX and RX on this board",
        "console RX: ours GPIO3, theirs GPIO16": "the definition calls the second serial port TX and RX on this board",
    },
    "esp32-c6-devkitm-1": {
        **{f"{what} TX: ours GPIO16, theirs GPIO21": _COPY for what in ("label", "console")},
        **{f"{what} RX: ours GPIO17, theirs GPIO20": _COPY for what in ("label", "console")},
        **{f"only ours brings out GPIO{n}": _COPY for n in (12, 13, 14, 15, 16, 17, 22, 23)},
        "only theirs brings out GPIO10": _COPY,
    },
    "feather-m0-express": _inside("PA06"),
    "feather-nrf52840-express": {
        **_inside("P0.16", "P0.29", "P1.02", "P1.10", "P1.14", "P1.15"),
        "only theirs brings out P0.09": _UNDERSIDE,
    },
    "feather-rp2040": {
        **_inside("GPIO4", "GPIO16"),
        "BUTTON: ours ['QSPI_SS', 'RUN'], theirs GPIO4": "only later revisions join the boot button to GPIO4 as well",
    },
    "nano-33-ble": _inside("P0.06", "P0.14", "P0.15", "P0.16", "P0.17", "P0.19", "P0.22", "P0.24", "P0.25", "P0.26", "P1.00", "P1.09"),
    "nano-33-iot": {
        **_inside("PA08", "PA12", "PA13", "PA14", "PA15", "PA22", "PA23", "PA27", "PA28"),
        "only ours brings out PA03": "the pin AREF, which the definition does not name",
    },
    "pro-micro-rp2040": _inside("GPIO16", "GPIO17", "GPIO25"),
    "xiao-esp32s3": {
        **{f"only theirs brings out GPIO{n}": _CAMERA for n in (*range(10, 19), *range(38, 43), 47, 48)},
        **_inside("GPIO21"),
    },
    "xiao-nrf52840": {
        **_inside("P0.06", "P0.07", "P0.11", "P0.13", "P0.14", "P0.16", "P0.17", "P0.26", "P0.27", "P0.30", "P0.31"),
        **_inside("P1.00", "P1.08", "P1.10"),
        **{f"only theirs brings out P0.{n}": _UNDERSIDE for n in ("09", "10")},
        "LED: ours ['P0.17'], theirs P0.26": "the red of three user LEDs, which ours lists as one coloured LED; P0.17 is the charger's",
    },
    "xiao-rp2040": _inside("GPIO11", "GPIO12", "GPIO16", "GPIO17", "GPIO25"),
}


def disagreements(board: Board, chip: Chip, names: Names) -> Iterator[str]:
    ours = {pin.pad for pin in board.header if pin.pad}
    theirs = {pad for _, pad in names}
    yield from (f"only ours brings out {pad}" for pad in ours - theirs)
    yield from (f"only theirs brings out {pad}" for pad in theirs - ours)
    by_name = dict(names)
    for pin in board.header:
        if pin.label in by_name and by_name[pin.label] != pin.pad:
            yield f"label {pin.label}: ours {pin.pad}, theirs {by_name[pin.label]}"
    yield from _fitted(board, by_name, {pad.name for pad in chip.pad})
    for role, pad in zip(("TX", "RX"), chip.console, strict=False):
        if role in by_name and by_name[role] != pad:
            yield f"console {role}: ours {pad}, theirs {by_name[role]}"
    adc = {pad.name for pad in chip.pad if pad.adc}
    analog = [(name, pad) for name, pad in names if re.fullmatch(r"A\d", name) and pad != f"P{name}"]  # A8 for PA8 is a port
    yield from (f"{name}: {pad} is no ADC pad in ours" for name, pad in analog if pad not in adc)


_FITTED = {"LED": "led", "NEOPIXEL": "rgb-led", "BUTTON": "button", "BOOT0": "button"}


def _fitted(board: Board, by_name: dict[str, str], pads: set[str]) -> Iterator[str]:
    for name, what in _FITTED.items():
        ours = {item.pad for item in board.onboard if item.what == what and item.pad}
        if by_name.get(name, "") in pads and by_name[name] not in ours:  # a light may hang on another chip
            yield f"{name}: ours {sorted(ours)}, theirs {by_name[name]}"


@pytest.mark.parametrize("board_id", STUB)
def test_board_brings_out_the_same_pads(board_id: str, definitions: Definitions, settle: Settle) -> None:
    board = CATALOGUE.boards[board_id]
    chip = CATALOGUE.chips[board.chip]
    _, names = definitions[STUB[board_id]]
    assert len(names) > 10
    settle(disagreements(board, chip, names), EXPLAINED.get(board_id, {}))


@pytest.mark.parametrize("board_id", EXPLAINED)
def test_pad_that_works_inside_is_told_in_our_file(board_id: str) -> None:
    board = CATALOGUE.boards[board_id]
    told = {item.pad for item in board.onboard} | {pad for reserve in board.reserve for pad in reserve.pads}
    assert {key.split()[-1] for key, why in EXPLAINED[board_id].items() if why == _INSIDE} <= told


def test_boards_without_a_definition_are_known() -> None:
    chips = {chip for reason in WITHOUT_STUB.values() for chip in reason}
    left = {board.id for board in CATALOGUE.boards.values() if board.chip not in chips} - set(STUB)
    assert left == BOARD_WITHOUT_STUB
