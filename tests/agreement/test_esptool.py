"""Oracle: what the maker's flashing tool knows of its chips (Python package esptool) against our Espressif chips.

Sources, read when the test runs:
- esptool.targets: the pad numbers a flash chip may hang on, the pads it warns of as USB, USB and radio by chip
- espefuse: which strap chooses the flash voltage
"""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

from pinwright.facts.loader import load_catalogue

Folder = Callable[[str, str], Path]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]

CATALOGUE = load_catalogue()

CHIPS = sorted(part for part, chip in CATALOGUE.chips.items() if chip.maker.startswith("Espressif"))

MODULE = {part: part.lower().replace("-", "").removesuffix("ex") for part in CHIPS}
"""Our chips and esptool's module for each."""


def _target(part: str, package_folder: Folder) -> Any:
    package_folder("esptool", f"esptool/targets/{MODULE[part]}.py")  # skips where the package is missing
    module = importlib.import_module(f"esptool.targets.{MODULE[part]}")
    return getattr(module, MODULE[part].upper() + "ROM")


def _flash_pad_answers(target: Any, monkeypatch: pytest.MonkeyPatch) -> tuple[set[int], set[int]]:
    """Pad numbers the tool lets a flash chip hang on, and those among them it warns of."""
    module = importlib.import_module(target.__module__)
    fatal = importlib.import_module("esptool.util").FatalError
    warnings: list[str] = []
    if hasattr(module, "log"):
        monkeypatch.setattr(module.log, "warn", warnings.append, raising=False)
    allowed, warned = set(), set()
    for number in range(64):
        before = len(warnings)
        try:
            target.check_spi_connection(None, [number, number, number, 0, number])  # the fourth is limited further on one chip
        except fatal:
            continue
        allowed.add(number)
        if len(warnings) > before:
            warned.add(number)
    return allowed, warned


_COARSE = "the tool only checks a range of numbers; the chip has no such pad"

PAD_EXPLAINED: dict[str, dict[str, str]] = {
    "ESP32": {f"GPIO{n}: only theirs can drive": _COARSE for n in (24, 28, 29)},
    "ESP32-S2": {"GPIO46: only theirs can drive": "the tool only checks a range of numbers; this pad is input only (esp32-s2.toml)"},
}

WITH_PAD_CHECK = [part for part in CHIPS if part in ("ESP32", "ESP32-C3", "ESP32-S2", "ESP32-S3")]
"""The chips for which the tool checks pad numbers."""


@pytest.mark.parametrize("part", WITH_PAD_CHECK)
def test_pads_that_can_drive_agree_with_the_tool(
    part: str, package_folder: Folder, settle: Settle, monkeypatch: pytest.MonkeyPatch
) -> None:
    allowed, _ = _flash_pad_answers(_target(part, package_folder), monkeypatch)
    ours = {int(pad.gpio) for pad in CATALOGUE.chips[part].pad if pad.output and isinstance(pad.gpio, int)}
    found = {f"GPIO{n}: only ours can drive" for n in ours - allowed} | {f"GPIO{n}: only theirs can drive" for n in allowed - ours}
    settle(found, PAD_EXPLAINED.get(part, {}))


@pytest.mark.parametrize("part", [part for part in WITH_PAD_CHECK if part != "ESP32"])
def test_usb_pads_agree_with_the_tools_warning(part: str, package_folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    _, warned = _flash_pad_answers(_target(part, package_folder), monkeypatch)
    assert {pad.gpio for pad in CATALOGUE.chips[part].pad if pad.reserved == "usb"} == warned


@pytest.mark.parametrize("part", CHIPS)
def test_usb_kind_agrees_with_the_tool(part: str, package_folder: Folder) -> None:
    # the tool tells a USB controller (OTG) from a plain serial-and-debug port; we call the S3, which has both, by the richer one
    target = _target(part, package_folder)
    theirs = "host-device" if target.USB_OTG_SUPPORTED else "serial" if target.USB_SERIAL_JTAG_SUPPORTED else "none"
    assert CATALOGUE.chips[part].usb == theirs


@pytest.mark.parametrize("part", CHIPS)
def test_radio_and_clock_agree_with_the_tools_feature_list(part: str, package_folder: Folder) -> None:
    text = inspect.getsource(_target(part, package_folder).get_chip_features)
    chip = CATALOGUE.chips[part]
    assert ("Wi-Fi" in text) == ("wifi" in chip.radio)
    assert ('"BT' in text) == ("ble" in chip.radio)
    assert ("802.15.4" in text) == ("802.15.4" in chip.radio)
    assert max(int(number) for number in re.findall(r"(\d+)MHz", text)) * 1e6 == chip.clock_max_hz


STRAPPED_FLASH_VOLTAGE = {"ESP32": "GPIO12", "ESP32-S2": "GPIO45", "ESP32-S3": "GPIO45"}


@pytest.mark.parametrize("part", STRAPPED_FLASH_VOLTAGE)
def test_flash_voltage_strap_agrees_with_the_fuse_tool(part: str, package_folder: Folder) -> None:
    text = package_folder("esptool", f"espefuse/efuse/{MODULE[part]}/fields.py").read_text(encoding="utf-8")
    theirs = set(re.findall(r"determined by (GPIO\d+) on reset", text))
    assert theirs == {STRAPPED_FLASH_VOLTAGE[part]}
    pad = next(pad for pad in CATALOGUE.chips[part].pad if pad.name in theirs)
    assert pad.strap is not None
    assert pad.strap.run != "high"  # high asks for 1.8 V, which the flash of our boards does not take
