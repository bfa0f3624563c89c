"""Oracle: the device files of the Python package modm-devices against the functions column of our chips.

That package carries, for every pad, the signals its maker lists (AVR: from the maker's device descriptions,
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
}
"""Our chips and the file that describes them."""

SELECTOR = {"ATmega328P": "328", "ATmega32U4": "32", "ATmega2560": "2560", "ATtiny85": "85", "RP2040": ""}
"""The device-name by which a file for several chips tells ours apart."""

_LEFT_OUT = "the package leaves this signal out; it stands in the data sheet's pin figure"
_TEST_ONLY = "a factory test function (F0) or an outside USB transceiver (F9) no maker uses; our column leaves it out on purpose"

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
}


def read_signals(path: Path, name: str) -> dict[str, set[str]]:
    """Signals of each pad in our spelling, pad by pad."""
    root = ElementTree.parse(path).getroot()
    signals: dict[str, set[str]] = {}
    for gpio in root.iter("gpio"):
        if not _is_meant(gpio, name):
            continue
        port, pin = gpio.get("port", ""), gpio.get("pin", "")
        pad = f"GPIO{pin}" if port == "bank0" else f"P{port.upper()}{pin}"
        if port not in ("qspi", "Qspi"):
            found = {_ours(signal, pin) for signal in gpio.iter("signal") if _is_meant(signal, name)}
            signals.setdefault(pad, set()).update(found - {""})
    return signals


def _is_meant(node: ElementTree.Element, name: str) -> bool:
    wanted = node.get("device-name")
    return wanted is None or not name or name in wanted.split("|")


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
    ours = {pad.name: pad for pad in chip.pad if re.fullmatch(r"P[A-L][0-7]|GPIO\d+", pad.name)}
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
    assert len(read_signals(folder / FILE["ATmega328P"], "328")) == 23
    assert len(read_signals(folder / FILE["RP2040"], "")) == 30


@pytest.mark.parametrize("part", FILE)
def test_functions_agree_with_the_device_file(part: str, package_folder: Folder, settle: Settle) -> None:
    folder = package_folder("modm-devices", "modm_devices/resources/devices")
    theirs = read_signals(folder / FILE[part], SELECTOR[part])
    settle(disagreements(CATALOGUE.chips[part], theirs), EXPLAINED.get(part, {}))


def test_rp2350_keeps_the_bus_and_pwm_functions_of_the_rp2040(package_folder: Folder) -> None:
    # The package has no pads for the RP2350; its function columns F1 to F4 repeat the RP2040's (both data sheets, recalled).
    theirs = read_signals(package_folder("modm-devices", "modm_devices/resources/devices") / FILE["RP2040"], "")
    ours = {pad.name: _our_signals(pad) for pad in CATALOGUE.chips["RP2350A"].pad}
    for name, signals in theirs.items():
        kept = {signal for signal in signals if re.match(r"(SPI|UART|I2C)\d_|PWM\d_|ADC\d", signal)}
        assert kept <= ours[name], name
