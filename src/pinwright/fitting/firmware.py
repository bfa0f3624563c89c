"""In which languages a device can be programmed on a board, and which of its parts lack a maintained driver there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pinwright.facts.model import Chip, Language, Part
from pinwright.fitting.lines import Device

__all__ = ["DRIVER_WEIGHT", "LANGUAGE_WORDS", "Support", "supports"]

DRIVER_WEIGHT = 3
"""Risk marks of a part without a driver: writing one takes longer than moving any wire (our choice)."""

LANGUAGE_WORDS: dict[Language, str] = {"micropython": "MicroPython", "circuitpython": "CircuitPython", "cpp": "C++"}


@dataclass(frozen=True, slots=True)
class Support:
    """A language the chip runs, and the parts (as the brief names them) no driver is known for in it."""

    language: Language
    missing: tuple[str, ...]

    @property
    def words(self) -> str:
        """The language as people write it."""
        return LANGUAGE_WORDS[self.language]


def supports(chip: Chip, devices: Iterable[Device], parts: Mapping[str, Part], wanted: str = "") -> tuple[Support, ...]:
    """Languages for these parts on a chip, the one with the fewest gaps first.

    Parameters
    ----------
    chip : what runs the firmware [-]
    devices : the parts of the brief; nothing is known of those that are not in the catalogue [-]
    parts : the catalogue's parts by id [-]
    wanted : only this language, if given [-]
    """
    known = [(device.name, parts[device.kind]) for device in devices if device.kind in parts]
    found = [
        Support(language, tuple(name for name, part in known if not has_driver(part, language, chip)))
        for language in dict.fromkeys(firmware.language for firmware in chip.firmware)
        if wanted in ("", language)
    ]
    order = list(LANGUAGE_WORDS)
    return tuple(sorted(found, key=lambda support: (len(support.missing), order.index(support.language))))


def has_driver(part: Part, language: str, chip: Chip) -> bool:
    """Whether a maintained driver for the part is known in a language that runs on the chip, or none is needed."""
    if part.needs_no_driver:
        return True
    return any(
        driver.language == language and (not driver.only or chip.part in driver.only) and chip.part not in driver.not_on
        for driver in part.driver
    )
