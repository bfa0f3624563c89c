"""Oracle: the device files of the Python package modm-devices against the functions column of our chips.

That package carries, for every pad, the signals its maker lists (from the makers' own device descriptions;
RP2040: from its data sheet's function table).  Source: modm_devices/resources/devices/*/*.xml, read when the test runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Chip, Pad

Folder = Callable[[str, str], Path]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]

CATALOGUE = load_catalogue()

FILE = {
    "ATmega328P": "avr/atmega-48_88_168_328-a_n_p_pa_pv_v.xml",
    "ATmega32U4": "avr/atmega-16_32-u4_u4rc.xml",
    "ATmega2560": "avr/atmega-640_1280_2560.xml",
    "ATtiny85": "avr/attiny-25_45_85.xml",
    "RP2040": "rp/rp2040.xml",
    "nRF52840": "nrf/nrf52820_840.xml",
    "SAMD21G18": "sam/samd21.xml",
    "STM32F103C8": "stm32/stm32f1-01_02_03-8_b.xml",
    "STM32F411CE": "stm32/stm32f4-01_11.xml",
}
"""Our chips and the file that describes them."""

SELECTOR: dict[str, dict[str, str]] = {
    "ATmega328P": {"name": "328"},
    "ATmega32U4": {"name": "32"},
    "ATmega2560": {"name": "2560"},
    "ATtiny85": {"name": "85"},
    "RP2040": {},
    "nRF52840": {"series": "840", "package": "qi"},
    "SAMD21G18": {"pin": "g", "flash": "18", "variant": "a", "package": "a"},
    "STM32F103C8": {"name": "03", "pin": "c", "size": "8", "package": "t", "temperature": "6"},
    "STM32F411CE": {"name": "11", "pin": "c", "size": "e", "package": "u", "temperature": "6"},
}
"""The attributes by which a file for several chips tells ours apart."""

_LEFT_OUT = "the package leaves this signal out; it stands in the data sheet's pin figure"
_TEST_ONLY = "a factory test function (F0) or an outside USB transceiver (F9) no maker uses; our column leaves it out on purpose"
_I2C_PADS = "our name for PAD0 and PAD1 where the block can be an I2C bus; the data sheet lists those pads in a table of its own"
_SAM_I2C = [("A08", "A09", "02"), ("A12", "A13", "24"), ("A16", "A17", "13"), ("A22", "A23", "35"), ("B08", "B09", "4")]
"""Data pad, clock pad and the blocks that can be an I2C bus there."""

EXPLAINED: dict[str, dict[str, str]] = {
    "ATmega328P": {f"PC6: only ours has {name}": _LEFT_OUT for name in ("DW", "RESET")},
    "ATmega2560": {
        **{f"PA{n}: only ours has XMEM_AD{n}": _LEFT_OUT for n in range(8)},
        **{f"PC{n}: only ours has XMEM_A{n + 8}": _LEFT_OUT for n in range(8)},
        **{f"PG{n}: only ours has XMEM_{name}": _LEFT_OUT for n, name in enumerate(("WR", "RD", "ALE"))},
        **{f"PE{n}: only ours has ISP_{name}": _LEFT_OUT for n, name in enumerate(("PDI", "PDO"))},
        "PH7: only ours has TC4_T4": _LEFT_OUT,
    },
    "ATtiny85": {
        **{f"PB3: only ours has {name}": _LEFT_OUT for name in ("ADC3", "CLKI", "XOSC_XTAL1")},
        **{f"PB4: only ours has {name}": _LEFT_OUT for name in ("CLKO", "XOSC_XTAL2")},
        **{f"PB5: only ours has {name}": _LEFT_OUT for name in ("DW", "RESET")},
    },
    "RP2040": {
        **{f"GPIO{n}: only theirs has JTAG_{name}": _TEST_ONLY for n, name in enumerate(("TCK", "TMS", "TDI", "TDO"))},
        **{
            f"GPIO{n + 6}: only theirs has USB_EXTPHY_{name}": _TEST_ONLY
            for n, name in enumerate(("SOFTCON", "OE_N", "RCV", "VP", "VM", "SUSPND", "SPEED", "VPO", "VMO"))
        },
        "GPIO15: only theirs has USB_DIGITAL_DP": _TEST_ONLY,
        "GPIO16: only theirs has USB_DIGITAL_DM": _TEST_ONLY,
    },
    "nRF52840": {
        **{f"P0.{n:02d}: only ours has CLOCK_XL{n + 1}": _LEFT_OUT for n in (0, 1)},
        **{f"P0.{n:02d}: only ours has NFCT_NFC{n - 8}": _LEFT_OUT for n in (9, 10)},
        "P0.18: only ours has POWER_NRESET": _LEFT_OUT,
        **{f"P1.{n}: only theirs": "the second port ends at P1.15; the file fills it up to 32" for n in range(16, 32)},
    },
    "SAMD21G18": {
        "PA03: only ours has ADC_VREFA": _LEFT_OUT,
        "PA30: only ours has SWD_SWCLK": _LEFT_OUT,
        "PA31: only ours has SWD_SWDIO": _LEFT_OUT,
        **{f"P{data}: only ours has SERCOM{n}_SDA": _I2C_PADS for data, _, blocks in _SAM_I2C for n in blocks},
        **{f"P{clock}: only ours has SERCOM{n}_SCL": _I2C_PADS for _, clock, blocks in _SAM_I2C for n in blocks},
    },
    "STM32F103C8": {
        f"PB{n}: only theirs has USART3_{name}_R1": "a map of this port whose TX and RX have no pad here; our column leaves it out"
        for n, name in ((13, "CTS"), (14, "RTS"))
    },
}


def read_signals(path: Path, chosen: Mapping[str, str]) -> dict[str, set[str]]:
    """Signals of each pad in our spelling, pad by pad."""
    root = ElementTree.parse(path).getroot()
    spell = _SPELLING.get(path.parent.name, _ours)
    signals: dict[str, set[str]] = {}
    for gpio in root.iter("gpio"):
        if _is_meant(gpio, chosen) and gpio.get("port") not in ("qspi", "Qspi"):
            found = {spell(signal, gpio.get("pin", "")) for signal in gpio.iter("signal") if _is_meant(signal, chosen)}
            signals.setdefault(_pad(gpio), set()).update(found - {""})
    for pad, name in _moved_signals(root, chosen):
        signals[pad].add(name)
    return signals


def _pad(node: ElementTree.Element) -> str:
    port, pin = node.get("port", ""), node.get("pin", "")
    if port == "bank0":
        return f"GPIO{pin}"
    return f"P{port}.{int(pin):02d}" if port.isdigit() else f"P{port.upper()}{pin}"


def _is_meant(node: ElementTree.Element, chosen: Mapping[str, str]) -> bool:
    """Whether every condition of the node (``device-name="48|88|168"``) holds for the chosen chip."""
    return all(node.get(f"device-{key}") is None or value in node.get(f"device-{key}", "").split("|") for key, value in chosen.items())


def _moved_signals(root: ElementTree.Element, chosen: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Pads and signals of blocks that move as a whole from one map to another; our names end in the number of the map."""
    for remap in root.iter("remap"):
        for group in remap.iter("group"):
            for signal in group.iter("signal"):
                if all(_is_meant(node, chosen) for node in (remap, group, signal)):
                    block = remap.get("driver", "").upper() + remap.get("instance", "")
                    moved = "" if group.get("id") == "0" else f"_R{group.get('id')}"
                    yield _pad(signal), f"{block}_{signal.get('name', '').upper()}{moved}"


def _ours(signal: ElementTree.Element, pin: str) -> str:
    """One signal in the spelling of our functions column; empty where our column leaves it out on purpose."""
    driver, name, n = signal.get("driver", ""), signal.get("name", ""), signal.get("instance", "")
    table: dict[str, Callable[[], str]] = {
        "spi": lambda: f"ISP_{name.upper()}" if name in ("pdi", "pdo") else f"SPI{n or 0}_{_SPI.get(name, name.upper())}",
        "usi": lambda: f"USI_{name.upper()}",
        "uart": lambda: f"UART{n}_{name.upper()}",
        "usart": lambda: f"UART{n}_{name.upper().removesuffix('D')}",
        "i2c": lambda: f"I2C{n}_{name.upper()}",
        "twi": lambda: f"I2C0_{name.upper()}",
        "tc": lambda: _timer(name, n),
        "pwm": lambda: f"PWM{int(pin) // 2 % 8}_{name.upper()}",
        "exint": lambda: name.upper() if name.startswith("pcint") else f"INT{name}",
        "adc": lambda: "AREF" if name == "aref" else f"ADC{name.removeprefix('in')}",
        "ac": lambda: f"AC_{name.upper()}",
        "jtag": lambda: f"JTAG_{name.upper()}",
        "sio": lambda: "SIO",
        "pio": lambda: f"PIO{n}",
        "usb": lambda: "USB_" + name.removeprefix("muxing_").upper().replace("OVERCURR_DETECT", "OVCUR_DET").replace("DETECT", "DET"),
        "clocks": lambda: f"CLOCK_{name.upper()}{_CLOCK[pin]}",
        "core": lambda: "CLKO" if name.startswith("clk") else f"XOSC_{name.upper()}",
    }
    return "HWB" if name == "hwb" else table[driver]()


def _ours_nrf(signal: ElementTree.Element, pin: str) -> str:
    driver, name = signal.get("driver", ""), signal.get("name", "")
    return f"ADC{name.removeprefix('ain')}" if driver == "saadc" else f"{driver}_{name}".upper()


_SAM = {"adc_vrefp": "ADC_VREFB", "dac_vrefp": "DAC_VREFA", "gclk_gpio_io": "GCLK_IO", "usb_sof_1khz": "USB_SOF"}
"""Names the maker's data sheet and the file write differently."""


def _ours_sam(signal: ElementTree.Element, pin: str) -> str:
    driver, index = signal.get("driver", ""), signal.get("index", "")
    name = f"{driver}{signal.get('instance', '')}_{signal.get('name', '')}"
    if driver == "sysctrl":  # the 32 kHz crystal: a use of the pad that our column does not name
        return ""
    return f"ADC{index}" if name == "adc_ain" else _SAM.get(name, name).upper() + index


_STM = {
    "sys_jtms": "JTAG_TMS", "sys_jtck": "JTAG_TCK", "sys_jtdi": "JTAG_TDI", "sys_jtdo": "JTAG_TDO",
    "sys_njtrst": "JTAG_TRST", "sys_jtrst": "JTAG_TRST", "sys_swdio": "SWD_DIO", "sys_swclk": "SWD_CLK",
    "sys_traceswo": "SWO", "sys_swo": "SWO",
}  # fmt: skip
"""Debug signals, which we call by their usual names."""


def _ours_stm(signal: ElementTree.Element, pin: str) -> str:
    driver, name = signal.get("driver", "").removesuffix("_otg_fs"), signal.get("name", "")
    if driver == "adc":
        return f"ADC{name.removeprefix('in')}"
    block = f"{driver.upper()}{signal.get('instance', '')}"
    return _STM.get(f"{driver}_{name}") or f"{block}_{name.upper().replace('EXT_', 'ext_')}"


_SPELLING = {"nrf": _ours_nrf, "sam": _ours_sam, "stm32": _ours_stm}
"""Folder of a file and how its names become ours; the others share ``_ours``."""

_CLOCK = {"20": "0", "21": "0", "22": "1", "23": "1", "24": "2", "25": "3"}
"""The file leaves the number of a clock pad out; RP2040 data sheet, function table, column F8."""

_SPI = {"ss_n": "CSN", "sclk": "SCK"}


def _timer(name: str, n: str) -> str:
    if found := re.fullmatch(r"(_?)oc\d?([a-d])(inv)?", name):  # underscore or inv: the complementary output
        return f"TC{n}_OC{n}{found[2].upper()}{'N' if found[1] or found[3] else ''}"
    if name.startswith("tosc"):
        return f"TC{n}_{name.upper()}"
    return f"TC{n}_{name.rstrip('0123456789').upper()}{n}"


def _our_signals(pad: Pad) -> set[str]:
    return set(pad.functions) | ({f"ADC{pad.adc.channel}"} if pad.adc else set())


def disagreements(chip: Chip, theirs: dict[str, set[str]]) -> Iterator[str]:
    ours = {pad.name: pad for pad in chip.pad if re.fullmatch(r"P[A-L]\d+|P\d\.\d\d|GPIO\d+", pad.name)}
    for name in sorted(set(ours) ^ set(theirs)):
        yield f"{name}: only {'ours' if name in ours else 'theirs'}"
    for name in set(ours) & set(theirs):
        for signal in sorted(_our_signals(ours[name]) - theirs[name]):
            yield f"{name}: only ours has {signal}"
        for signal in sorted(theirs[name] - _our_signals(ours[name])):
            yield f"{name}: only theirs has {signal}"


def test_reader_sees_a_whole_chip(package_folder: Folder) -> None:
    # counted in the data sheet's pin list: 23 port pads, 30 numbered pads
    folder = package_folder("modm-devices", "modm_devices/resources/devices")
    assert len(read_signals(folder / FILE["ATmega328P"], SELECTOR["ATmega328P"])) == 23
    assert len(read_signals(folder / FILE["RP2040"], {})) == 30
    # 38 numbered pads on 48 pins (SAMD21 data sheet, pin tables); 37 and 36 on the packages of the two others
    for part, count in (("SAMD21G18", 38), ("STM32F103C8", 37), ("STM32F411CE", 36)):
        assert len(read_signals(folder / FILE[part], SELECTOR[part])) == count


def test_reader_follows_a_block_from_map_to_map(package_folder: Folder) -> None:
    # STM32F103x8 data sheet, Table 5: SPI1 sits on PA5 after reset and on PB3 when moved
    signals = read_signals(package_folder("modm-devices", "modm_devices/resources/devices") / FILE["STM32F103C8"], SELECTOR["STM32F103C8"])
    assert {pad for pad, names in signals.items() if "SPI1_SCK" in names} == {"PA5"}
    assert {pad for pad, names in signals.items() if "SPI1_SCK_R1" in names} == {"PB3"}


@pytest.mark.parametrize("part", FILE)
def test_functions_agree_with_the_device_file(part: str, package_folder: Folder, settle: Settle) -> None:
    folder = package_folder("modm-devices", "modm_devices/resources/devices")
    theirs = read_signals(folder / FILE[part], SELECTOR[part])
    settle(disagreements(CATALOGUE.chips[part], theirs), EXPLAINED.get(part, {}))


def test_rp2350_keeps_the_bus_and_pwm_functions_of_the_rp2040(package_folder: Folder) -> None:
    # The package has no pads for the RP2350; its function columns F1 to F4 repeat the RP2040's (both data sheets, recalled).
    theirs = read_signals(package_folder("modm-devices", "modm_devices/resources/devices") / FILE["RP2040"], {})
    ours = {pad.name: _our_signals(pad) for pad in CATALOGUE.chips["RP2350A"].pad}
    for name, signals in theirs.items():
        kept = {signal for signal in signals if re.match(r"(SPI|UART|I2C)\d_|PWM\d_|ADC\d", signal)}
        assert kept <= ours[name], name
