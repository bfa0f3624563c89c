"""Oracle: every board of the Python package circuitpython-stubs that carries one of our chips, against our pad tables.

What a maker printed beside a pin must be possible on the pad behind it.
Source: board_definitions/<board>/__init__.pyi of that package, read when the test runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

import pytest

from pinwright.facts.loader import load_catalogue

Settle = Callable[[Iterable[str], Mapping[str, str]], None]
Names = list[tuple[str, str]]
Definitions = dict[str, tuple[str, Names]]

CATALOGUE = load_catalogue()


@dataclass(frozen=True)
class Market:
    """The definitions that carry one chip: their port, what their name holds, and boards of another chip among them."""

    port: str
    word: str
    other: tuple[str, ...] = ()


MARKET = {
    "ESP32-C3": Market("espressif", r"esp32c3(?!\d)"),
    "ESP32-C6": Market("espressif", r"esp32c6(?!\d)"),
    "ESP32-H2": Market("espressif", r"esp32h2(?!\d)"),
    "ESP32-S2": Market("espressif", r"esp32s2(?!\d)"),
    "ESP32-S3": Market("espressif", r"esp32s3(?!\d)"),
    "RP2350A": Market("raspberrypi", ""),  # the RP2040 among them has the same pads and a part of the same functions
    "SAMD21G18": Market("atmel-samd", r"m0|samd21|arduino|circuitplayground"),
    "STM32F411CE": Market("stm", r"stm32f411ce"),
    "nRF52840": Market("nordic", "", other=("bluemicro833", "microbit_v2", "pca10100", "simmel")),  # these carry an nRF52833
}
"""Our chips and the boards of the package that carry them."""


def boards(definitions: Definitions, chip: str) -> Iterator[tuple[str, Names]]:
    market = MARKET[chip]
    for name, (port, names) in definitions.items():
        if port == market.port and name not in market.other and re.search(market.word, re.sub("[-_]", "", name)):
            yield name, names


@pytest.mark.parametrize("chip", MARKET)
def test_every_chip_is_on_some_boards(chip: str, definitions: Definitions) -> None:
    assert any(True for _ in boards(definitions, chip))  # otherwise the reader is broken


# ------------------------------------------------------------------------------ pads we deny

_DUAL_LINE = "flash in two-line mode frees these pads; ours plans for four lines"

DENIED_EXPLAINED: dict[str, dict[str, str]] = {
    "ESP32-C3": {
        **{f"GPIO{n} (flash) is brought out": _DUAL_LINE + "; one maker lists every pad of the chip" for n in range(12, 18)},
        "GPIO11 (power) is brought out": "these boards burn the fuse that frees the flash supply pad; ours keeps to the factory state",
    },
    "nRF52840": {"P0.18 (reset) is brought out": "nine boards name it, most as reset; another use needs the UICR changed for good"},
    "SAMD21G18": {
        "PA30 (debug) is brought out": "seven boards give the debug clock a light, a speaker switch or a bus of their own besides",
        "PA31 (debug) is brought out": "one board runs its bus over both debug pads",
    },
}

WITH_DENIALS = [chip for chip in MARKET if chip != "RP2350A"]  # larger packages with more pads share that port


@pytest.mark.parametrize("chip", WITH_DENIALS)
def test_no_board_on_the_market_uses_a_pad_we_deny(chip: str, definitions: Definitions, settle: Settle) -> None:
    pads = {pad.name: pad for pad in CATALOGUE.chips[chip].pad}
    pattern = r"GPIO\d+|P[A-Z]\d+|P\d\.\d\d"
    found = set()
    for _, names in boards(definitions, chip):
        for pad in {pad for _, pad in names if re.fullmatch(pattern, pad)}:
            if pad not in pads:
                found.add(f"{pad} does not exist in ours")
            elif pads[pad].reserved not in ("", "usb"):  # the USB pair is often brought out as well
                found.add(f"{pad} ({pads[pad].reserved}) is brought out")
    settle(found, DENIED_EXPLAINED.get(chip, {}))


# ------------------------------------------------------------------------------ printed analog, touch and converter pins

_DIGITAL = "numbered on after the analog pins, but the pad reaches no converter: "

ANALOG_EXPLAINED: dict[str, dict[str, str]] = {
    "ESP32-C3": {f"GPIO{n} is printed as analog": _DIGITAL + "data sheet, ADC1 ends at GPIO4, ADC2 at GPIO5" for n in (6, 20, 21)},
    "ESP32-S3": {"GPIO48 is printed as analog": _DIGITAL + "named after its pad number; ADC2 ends at GPIO20"},
    "RP2350A": {f"GPIO{n} is printed as analog": _DIGITAL + "channels sit on GPIO26 to GPIO29" for n in (12, 13, 19, 21, 25)},
    "SAMD21G18": {
        f"{pad} is printed as analog": _DIGITAL + "one maker numbers all its pins so; the device file gives the same channels as ours"
        for pad in ("PA00", "PA01", "PA17", "PA18", "PA19", "PA22")
    },
    "nRF52840": {
        f"{pad} is printed as analog": _DIGITAL + "the device file gives the same eight channels as ours"
        for pad in ("P0.06", "P0.26", "P0.27", "P1.13", "P1.15")
    },
}


@pytest.mark.parametrize("chip", MARKET)
def test_pads_printed_as_analog_reach_a_converter(chip: str, definitions: Definitions, settle: Settle) -> None:
    pads = {pad.name: pad for pad in CATALOGUE.chips[chip].pad}
    printed = {
        pad
        for _, names in boards(definitions, chip)
        for name, pad in names
        if re.fullmatch(r"A\d+", name) and pad != f"P{name}"  # A8 for PA8 is a port
    }
    found = {f"{pad} is printed as analog" for pad in printed if pad in pads and not pads[pad].adc}
    settle(found, ANALOG_EXPLAINED.get(chip, {}))


@pytest.mark.parametrize(("chip", "word", "column", "least"), [
    ("ESP32-S3", "TOUCH", "touch", 7), ("SAMD21G18", "TOUCH", "touch", 8), ("ESP32-S2", "DAC", "dac", 2),
])  # fmt: skip
def test_pads_printed_as_touch_or_analog_output_are_such(chip: str, word: str, column: str, least: int, definitions: Definitions) -> None:
    pads = {pad.name: pad for pad in CATALOGUE.chips[chip].pad}
    printed = {pad for _, names in boards(definitions, chip) for name, pad in names if re.fullmatch(word + r"\d+", name)}
    assert len(printed) >= least  # otherwise the reader is broken
    assert {pad for pad in printed if not getattr(pads[pad], column)} == set()


# ------------------------------------------------------------------------------ printed buses

BUSES = {("SDA", "SCL"): "i2c", ("SCK", "MOSI", "MISO"): "spi", ("TX", "RX"): "uart"}
"""Printed names and the kind of bus that must lie behind them."""

WITH_FIXED_BUSES = {"RP2350A": 50, "SAMD21G18": 20}
"""Chips whose buses sit on certain pads, and how many boards must at least print each kind."""

_OTHER_ORACLE = "; the device file of test_device_files.py gives the same functions as ours"
_PLAIN_PADS = (
    "PAD0 and PAD1 outside the data sheet's table of I2C pads, which ours keeps to (note in samd21g18.toml); it works on these boards"
)

BUS_EXPLAINED: dict[str, str] = {
    "adafruit_floppsy_rp2040: SCK/MOSI/MISO": "MISO on GPIO19 and MOSI on GPIO20, swapped against the chip's TX and RX" + _OTHER_ORACLE,
    "challenger_nb_rp2040_wifi: SCK/MOSI/MISO": "MISO on GPIO24 belongs to SPI1, the other two to SPI0" + _OTHER_ORACLE,
    "challenger_rp2040_wifi: SCK/MOSI/MISO": "MISO on GPIO24 belongs to SPI1, the other two to SPI0" + _OTHER_ORACLE,
    "lilygo_t_display_rp2040: TX/RX": "TX on GPIO1 and RX on GPIO2, one off against GPIO0 and GPIO1" + _OTHER_ORACLE,
    "odt_bread_2040: TX/RX": "GPIO14 and GPIO15 are CTS and RTS of UART0 on the RP2040" + _OTHER_ORACLE,
    "odt_cast_away_rp2040: TX/RX": "GPIO14 and GPIO15 are CTS and RTS of UART0 on the RP2040" + _OTHER_ORACLE,
    **{
        f"{board}: SDA/SCL": _PLAIN_PADS
        for board in ("adafruit_sht4x_trinkey_m0", "circuitbrains_basic_m0", "gemma_m0", "gemma_m0_pycon2018", "stringcar_m0_express")
    },
    **{
        f"circuitplayground_express{variant}: SDA/SCL": _PLAIN_PADS
        for variant in ("", "_4h", "_crickit", "_digikey_pycon2019", "_displayio")
    },
    "cp_sapling_m0_revb: TX/RX": "TX on PAD1, where no block of this chip transmits (data sheet, TXPO)" + _OTHER_ORACLE,
}


def fits(chip: str, printed: tuple[str, ...], names: Names) -> bool | None:
    """Whether one bus of the chip has all its roles on the pads behind the printed names; ``None`` where it cannot be asked."""
    pads = {pad.name: pad for pad in CATALOGUE.chips[chip].pad}
    by_name = dict(names)
    if not all(by_name.get(role) in pads for role in printed):
        return None
    buses = [bus for bus in CATALOGUE.chips[chip].bus if bus.kind == BUSES[printed]]
    return any(all(bus.roles[role] in pads[by_name[role]].functions for role in printed) for bus in buses if bus.wiring == "fixed")


@pytest.mark.parametrize("printed", BUSES, ids="-".join)
def test_buses_printed_on_boards_fit_our_function_table(printed: tuple[str, ...], definitions: Definitions, settle: Settle) -> None:
    wrong = set()
    for chip, least in WITH_FIXED_BUSES.items():
        answers = {name: fits(chip, printed, names) for name, names in boards(definitions, chip)}
        assert sum(answer is not None for answer in answers.values()) > least  # otherwise the reader is broken
        wrong |= {f"{name}: {'/'.join(printed)}" for name, answer in answers.items() if answer is False}
    settle(wrong, {key: why for key, why in BUS_EXPLAINED.items() if key.endswith(": " + "/".join(printed))})
