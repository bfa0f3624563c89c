"""Oracle: the makers' register maps in the Python package pyocd against blocks and reset states of our nRF and STM32 chips.

A register map lists every block with its address and the value of its registers after reset.
Source: pyocd/debug/svd/svd_data.zip of that package, read when the test runs; two maps cover a whole series of STM32 and
list more than one chip has.
"""

from __future__ import annotations

import itertools
import re
import zipfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pinwright.facts.loader import load_catalogue

Folder = Callable[[str, str], Path]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]
Blocks = dict[str, ElementTree.Element]

CATALOGUE = load_catalogue()

MAP = {"nRF52840": "nrf52840.svd", "STM32F103C8": "STM32F103xx.svd", "STM32F411CE": "STM32F41x.svd"}
"""Our chips and their register map."""


@pytest.fixture(scope="module")
def blocks(package_folder: Folder) -> dict[str, Blocks]:
    with zipfile.ZipFile(package_folder("pyocd", "pyocd/debug/svd/svd_data.zip")) as folder:
        roots = {part: ElementTree.fromstring(folder.read(name)) for part, name in MAP.items()}
    return {part: {item.findtext("name", ""): item for item in root.iter("peripheral")} for part, root in roots.items()}


def address(block: ElementTree.Element) -> int:
    return int(block.findtext("baseAddress", ""), 0)


def register(blocks: Blocks, block: str, name: str) -> ElementTree.Element:
    """A register of a block, or of the block it is a copy of."""
    item = blocks[block]
    found = next((node for node in item.iter("register") if node.findtext("name") == name), None)
    return found if found is not None else register(blocks, item.get("derivedFrom", ""), name)


def after_reset(blocks: Blocks, block: str, name: str) -> int:
    return int(register(blocks, block, name).findtext("resetValue", ""), 0)


# ------------------------------------------------------------------------------ blocks

OURS_IN_THEIRS = {
    "nRF52840": r"UARTE\d|TWIM\d|SPIM\d|I2S|PWM\d",
    "STM32F103C8": r"USART\d|I2C\d|SPI[12]|CAN|TIM[1-4]",
    "STM32F411CE": r"USART[126]|I2C\d|SPI\d|TIM([1-5]|9|10|11)",
}
"""Blocks a chip has; the maps of the two series list further ones, which other packages or sisters have."""

BLOCKS_EXPLAINED: dict[str, dict[str, str]] = {
    "STM32F411CE": {
        f"only ours has {name}": "the map is that of another chip of the series; the device file of test_device_files.py has both"
        for name in ("SPI4", "SPI5")
    },
}


@pytest.mark.parametrize("part", MAP)
def test_buses_and_timers_are_the_blocks_of_the_map(part: str, blocks: dict[str, Blocks], settle: Settle) -> None:
    chip = CATALOGUE.chips[part]
    sides = {bus.id for bus in chip.bus if bus.kind == "i2s" and bus.block}  # the I2S side of an SPI block
    names = {bus.id for bus in chip.bus} - sides | {pool.id for pool in chip.pwm}
    ours = {re.sub(r"-(R\d|servo)$", "", name) for name in names}
    theirs = {name for name in blocks[part] if re.fullmatch(OURS_IN_THEIRS[part], name)}
    found = {f"only ours has {name}" for name in ours - theirs} | {f"only theirs has {name}" for name in theirs - ours}
    settle(found, BLOCKS_EXPLAINED.get(part, {}))


def test_buses_share_a_block_where_they_share_an_address(blocks: dict[str, Blocks]) -> None:
    # one address means one set of registers: I2C and SPI of the same number cannot run together
    theirs = blocks["nRF52840"]
    for one, other in itertools.combinations(CATALOGUE.chips["nRF52840"].bus, 2):
        shared = address(theirs[one.id]) == address(theirs[other.id])
        assert shared == (one.block == other.block != ""), f"{one.id} {other.id}"


def test_pwm_channels_agree_with_the_map(blocks: dict[str, Blocks]) -> None:
    outputs = int(register(blocks["nRF52840"], "PWM0", "OUT[%s]").findtext("dim", ""), 0)
    assert {pool.channels for pool in CATALOGUE.chips["nRF52840"].pwm} == {outputs}


def test_counter_lengths_agree_with_the_map(blocks: dict[str, Blocks]) -> None:
    # the map writes longer counters as two halves of 16 bits, also for TIM3 and TIM4, whose upper half this chip has not
    for pool in CATALOGUE.chips["STM32F411CE"].pwm:
        if pool.kind == "hardware":
            fields = register(blocks["STM32F411CE"], pool.id, "CNT").findall("fields/field")
            bits = sum(int(field.findtext("bitWidth", "")) for field in fields)
            assert pool.counter_bits == (16 if pool.id in ("TIM3", "TIM4") else bits), pool.id


# ------------------------------------------------------------------------------ reset states

PULL = {0: "float", 1: "pull-up", 2: "pull-down"}


def test_pulls_after_reset_agree_with_the_map(blocks: dict[str, Blocks]) -> None:
    # two bits a pad in PUPDR
    theirs = blocks["STM32F411CE"]
    for pad in CATALOGUE.chips["STM32F411CE"].pad:
        if found := re.fullmatch(r"P([A-H])(\d+)", pad.name):
            field = after_reset(theirs, f"GPIO{found[1]}", "PUPDR") >> 2 * int(found[2]) & 3
            assert [state.state for state in pad.boot] == [PULL[field]], pad.name


def test_pads_in_other_use_after_reset_are_the_debug_pads(blocks: dict[str, Blocks]) -> None:
    # two bits a pad in MODER; 2 is a use other than plain input or output
    theirs = blocks["STM32F411CE"]
    used = {f"P{port}{pin}" for port in "ABC" for pin in range(16) if after_reset(theirs, f"GPIO{port}", "MODER") >> 2 * pin & 3 == 2}
    debug = {pad.name for pad in CATALOGUE.chips["STM32F411CE"].pad if any(re.match("JTAG|SWD", name) for name in pad.functions)}
    assert used == debug


def test_pads_float_after_reset_in_the_older_map(blocks: dict[str, Blocks]) -> None:
    # four bits a pad in CRL and CRH; 4 is an input that floats.  The pulls of the debug pads come from the debugger, not from here.
    theirs = blocks["STM32F103C8"]
    for port, half, pin in itertools.product("ABCD", ("CRL", "CRH"), range(8)):
        assert after_reset(theirs, f"GPIO{port}", half) >> 4 * pin & 15 == 4
    debug = {pad.name for pad in CATALOGUE.chips["STM32F103C8"].pad if any(re.match("JTAG|SWD", name) for name in pad.functions)}
    pulled = {p.name for p in CATALOGUE.chips["STM32F103C8"].pad if re.match(r"P[A-D]\d", p.name) and p.boot[0].state != "float"}
    assert pulled <= debug


def test_pads_are_let_go_after_reset(blocks: dict[str, Blocks]) -> None:
    # PIN_CNF: bits 0 to 3 direction, input buffer and pull; 2 is an input with its buffer off and no pull
    assert after_reset(blocks["nRF52840"], "P0", "PIN_CNF[%s]") == 2
    for pad in CATALOGUE.chips["nRF52840"].pad:
        if re.fullmatch(r"P\d\.\d\d", pad.name) and pad.reserved != "reset":
            assert pad.boot[-1].state == "float", pad.name


def test_flash_and_memory_agree_with_the_tool(package_folder: Folder) -> None:
    text = package_folder("pyocd", "pyocd/target/builtin/target_nRF52840_xxAA.py").read_text(encoding="utf-8")
    flash = re.search(r"FlashRegion\(\s*start=0x0,\s*length=(\w+)", text)
    ram = re.search(r"RamRegion\(\s*start=0x20000000,\s*length=(\w+)", text)
    assert flash
    assert ram
    chip = CATALOGUE.chips["nRF52840"]
    assert (chip.flash_bytes, chip.ram_bytes) == (int(flash[1], 0), int(ram[1], 0))
