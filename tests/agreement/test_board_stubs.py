"""Oracle: the board definitions of the Python package circuitpython-stubs against our boards and pad tables.

Each definition lists the names printed on a board and the chip pad behind each.
Source: board_definitions/<board>/__init__.pyi of that package, read when the test runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, Chip

Folder = Callable[[str, str], Path]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]
Names = list[tuple[str, str]]

CATALOGUE = load_catalogue()

STUB = {
    "esp32-devkitc-v4": "espressif_esp32_devkitc_v4_wroom_32e",
    "esp32-devkitc-v4-wrover-e": "espressif_esp32_devkitc_v4_wrover",
    "esp32-wroom32-30pin": "doit_esp32_devkit_v1",
    "esp32-c3-devkitm-1": "espressif_esp32c3_devkitm_1_n4",
    "esp32c3-mini16-clone": "makergo_esp32c3_supermini",
    "esp32-c6-devkitc-1": "espressif_esp32c6_devkitc_1_n8",
    "esp32-h2-devkitm-1": "espressif_esp32h2_devkitm_1_n4",
    "esp32-s2-saola-1": "espressif_saola_1_wrover",
    "esp32-s3-devkitc-1-n8": "espressif_esp32s3_devkitc_1_n8",
    "esp32-s3-devkitc-1-n8r8": "espressif_esp32s3_devkitc_1_n8r8",
    "raspberry-pi-pico": "raspberry_pi_pico",
    "raspberry-pi-pico-w": "raspberry_pi_pico_w",
    "raspberry-pi-pico-2": "raspberry_pi_pico2",
    "raspberry-pi-pico-2-w": "raspberry_pi_pico2_w",
}
"""Our boards and their definition; boards without one (bare AVR, ESP8266, ESP32-S2-DevKitM-1) are left out."""

_INSIDE = "not on a header: this pad works inside the board, see its onboard entries"
_RADIO_CHIP = "a pin of the radio chip, not of the microcontroller"

EXPLAINED: dict[str, dict[str, str]] = {
    "esp32-h2-devkitm-1": {
        **{
            f"only ours brings out GPIO{n}": "labelled 13/N and 14/N: wired to the 32 kHz crystal, so the definition omits them"
            for n in (13, 14)
        },
        **{f"only ours brings out GPIO{n}": "the USB pair; the definition omits it" for n in (26, 27)},
    },
    **{
        board: {f"only theirs brings out GPIO{n}": _INSIDE for n in (23, 24, 25, 29)}
        for board in ("raspberry-pi-pico", "raspberry-pi-pico-2")
    },
    **{
        board: {"only theirs brings out GPIO29": _INSIDE, **{f"only theirs brings out CYW{n}": _RADIO_CHIP for n in (0, 1, 2)}}
        for board in ("raspberry-pi-pico-w", "raspberry-pi-pico-2-w")
    },
    "esp32-wroom32-30pin": {
        "label TX0: ours GPIO1, theirs GPIO3": "the definition swaps the two names: on the chip GPIO1 is U0TXD (esp32.toml, functions)",
        "label RX0: ours GPIO3, theirs GPIO1": "the definition swaps the two names: on the chip GPIO3 is U0RXD (esp32.toml, functions)",
        "console TX: ours GPIO1, theirs GPIO17": "the definition calls the second serial port TX and RX on this board",
        "console RX: ours GPIO3, theirs GPIO16": "the definition calls the second serial port TX and RX on this board",
    },
}


def read_names(folder: Path, board: str) -> Names:
    """Printed names and pads of one definition."""
    text = (folder / board / "__init__.pyi").read_text(encoding="utf-8")
    return re.findall(r"^(\w+): microcontroller\.Pin\s+# (\w+)", text, re.MULTILINE)


def disagreements(board: Board, chip: Chip, names: Names) -> Iterator[str]:
    ours = {pin.pad for pin in board.header if pin.pad}
    theirs = {pad for _, pad in names}
    yield from (f"only ours brings out {pad}" for pad in ours - theirs)
    yield from (f"only theirs brings out {pad}" for pad in theirs - ours)
    by_name = dict(names)
    for pin in board.header:
        if pin.label in by_name and by_name[pin.label] != pin.pad:
            yield f"label {pin.label}: ours {pin.pad}, theirs {by_name[pin.label]}"
    yield from _fitted(board, by_name, theirs)
    for role, pad in zip(("TX", "RX"), chip.console, strict=False):
        if role in by_name and by_name[role] != pad:
            yield f"console {role}: ours {pad}, theirs {by_name[role]}"
    adc = {pad.name for pad in chip.pad if pad.adc}
    yield from (f"{name}: {pad} is no ADC pad in ours" for name, pad in names if re.fullmatch(r"A\d", name) and pad not in adc)


_FITTED = {"LED": "led", "NEOPIXEL": "rgb-led", "BUTTON": "button", "BOOT0": "button"}


def _fitted(board: Board, by_name: dict[str, str], theirs: set[str]) -> Iterator[str]:
    for name, what in _FITTED.items():
        ours = {item.pad for item in board.onboard if item.what == what and item.pad}
        if by_name.get(name, "").startswith("GPIO") and by_name[name] not in ours:
            yield f"{name}: ours {sorted(ours)}, theirs {by_name[name]}"


@pytest.mark.parametrize("board_id", STUB)
def test_board_brings_out_the_same_pads(board_id: str, package_folder: Folder, settle: Settle) -> None:
    board = CATALOGUE.boards[board_id]
    names = read_names(package_folder("circuitpython-stubs", "board_definitions"), STUB[board_id])
    assert len(names) > 10
    settle(disagreements(board, CATALOGUE.chips[board.chip], names), EXPLAINED.get(board_id, {}))


# ------------------------------------------------------------------------------ every board with one of our chips

FAMILY = {"esp32c3": "ESP32-C3", "esp32c6": "ESP32-C6", "esp32h2": "ESP32-H2", "esp32s2": "ESP32-S2", "esp32s3": "ESP32-S3"}
"""Word in a definition's name and the chip it means."""

_OWN_FUSE = "these boards burn the fuse that turns the flash supply pad into an ordinary one; ours keeps to the factory state"
_DUAL_LINE = "flash in two-line mode frees these pads; ours plans for four lines"

FAMILY_EXPLAINED: dict[str, dict[str, str]] = {
    "ESP32-C3": {
        **{f"GPIO{n} (flash) is brought out": _DUAL_LINE + "; one maker lists every pad of the chip" for n in range(12, 18)},
        "GPIO11 (power) is brought out": _OWN_FUSE,
    },
}


def _boards(folder: Path, word: str) -> Iterator[Names]:
    for path in sorted(folder.iterdir()):
        found = path.name.replace("-", "").replace("_", "")
        if word in found and not re.search(word + r"\d", found):  # esp32c61 is another chip than esp32c6
            yield read_names(folder, path.name)


@pytest.mark.parametrize("word", FAMILY)
def test_no_board_on_the_market_uses_a_pad_we_deny(word: str, package_folder: Folder, settle: Settle) -> None:
    folder = package_folder("circuitpython-stubs", "board_definitions")
    pads = {pad.name: pad for pad in CATALOGUE.chips[FAMILY[word]].pad}
    found = set()
    for names in _boards(folder, word):
        for pad in {pad for _, pad in names if pad.startswith("GPIO")}:
            if pad not in pads:
                found.add(f"{pad} does not exist in ours")
            elif pads[pad].reserved not in ("", "usb"):  # the USB pair is often brought out as well
                found.add(f"{pad} ({pads[pad].reserved}) is brought out")
    settle(found, FAMILY_EXPLAINED.get(FAMILY[word], {}))


BUSES = {
    ("SDA", "SCL"): ("I2C", ("SDA", "SCL")),
    ("SCK", "MOSI", "MISO"): ("SPI", ("SCK", "TX", "RX")),
    ("TX", "RX"): ("UART", ("TX", "RX")),
}
"""Printed names, and the block and functions of RP2040 and RP2350 that must lie behind them."""

_OTHER_ORACLE = "; the device file of test_device_files.py gives the same functions as ours"

BUS_EXPLAINED: dict[str, str] = {
    "adafruit_floppsy_rp2040: SCK/MOSI/MISO": "MISO on GPIO19 and MOSI on GPIO20, swapped against the chip's TX and RX" + _OTHER_ORACLE,
    "challenger_nb_rp2040_wifi: SCK/MOSI/MISO": "MISO on GPIO24 belongs to SPI1, the other two to SPI0" + _OTHER_ORACLE,
    "challenger_rp2040_wifi: SCK/MOSI/MISO": "MISO on GPIO24 belongs to SPI1, the other two to SPI0" + _OTHER_ORACLE,
    "lilygo_t_display_rp2040: TX/RX": "TX on GPIO1 and RX on GPIO2, one off against GPIO0 and GPIO1" + _OTHER_ORACLE,
    "odt_bread_2040: TX/RX": "GPIO14 and GPIO15 are CTS and RTS of UART0 on the RP2040" + _OTHER_ORACLE,
    "odt_cast_away_rp2040: TX/RX": "GPIO14 and GPIO15 are CTS and RTS of UART0 on the RP2040" + _OTHER_ORACLE,
}


def _same_block(names: Names, printed: tuple[str, ...], block: str, functions: tuple[str, ...]) -> bool | None:
    """Whether one block has all functions on the pads behind the printed names; ``None`` where it cannot be asked."""
    pads = {pad.name: pad for pad in CATALOGUE.chips["RP2350A"].pad}
    by_name = dict(names)
    wanted = [pads.get(by_name.get(name, "")) for name in printed]
    found = [pad for pad in wanted if pad is not None]
    if len(found) < len(printed):
        return None
    return any(all(f"{block}{n}_{function}" in pad.functions for pad, function in zip(found, functions, strict=True)) for n in (0, 1))


@pytest.mark.parametrize("printed", BUSES, ids="-".join)
def test_buses_printed_on_boards_fit_our_function_table(printed: tuple[str, ...], package_folder: Folder, settle: Settle) -> None:
    folder = package_folder("circuitpython-stubs", "board_definitions")
    block, functions = BUSES[printed]
    asked, wrong = 0, set()
    for path in sorted(folder.iterdir()):
        if "port: raspberrypi" not in (path / "__init__.pyi").read_text(encoding="utf-8"):
            continue
        fits = _same_block(read_names(folder, path.name), printed, block, functions)
        asked += fits is not None
        if fits is False:
            wrong.add(f"{path.name}: {'/'.join(printed)}")
    assert asked > 50  # otherwise the reader is broken
    settle(wrong, {key: why for key, why in BUS_EXPLAINED.items() if key.endswith("/".join(printed))})
