"""Firmware: does the chip run the language, and is there a maintained driver for every part?"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.review.common import board_finding, joined_names
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]

_WORDS = {"micropython": "MicroPython", "circuitpython": "CircuitPython", "cpp": "C++"}


def _language(wiring: Wiring) -> Iterator[Finding]:
    chip, wanted = wiring.view.chip, wiring.setting.language
    runs = {firmware.language: firmware for firmware in chip.firmware}
    if wanted and wanted not in runs:
        have = joined_names(_WORDS[language] for language in runs) if runs else "none we know of"
        yield board_finding(
            "firmware-language",
            "refuse",
            [f"the brief wants {_WORDS[wanted]}", f"the {chip.part} runs {have}"],
            "Take a board whose chip runs it, or another language.",
            sources=[wiring.view.chip_cite(next(iter(runs.values())))] if runs else [],
        )


def _drivers(wiring: Wiring) -> Iterator[Finding]:
    """The language with the fewest gaps counts, unless the brief names one."""
    chip = wiring.view.chip
    runs = [f.language for f in chip.firmware if wiring.setting.language in ("", f.language)]
    gaps: dict[str, list[tuple[str, str]]] = {language: [] for language in runs}
    for device in wiring.devices:
        part = wiring.catalogue_parts.get(device.kind)
        if part is None or part.needs_no_driver:
            continue
        for language in gaps:
            fitting = [
                d for d in part.driver if d.language == language and chip.part in (d.only or (chip.part,)) and chip.part not in d.not_on
            ]
            if not fitting:
                gaps[language].append((device.name, part.title))
    if not gaps:
        return
    best = min(gaps, key=lambda language: len(gaps[language]))
    for name, title in gaps[best]:
        others = [_WORDS[language] for language, missing in gaps.items() if name not in dict(missing)]
        there = f"there is one in {joined_names(others)}" if others else f"nor in any other language the {chip.part} runs"
        yield board_finding(
            "driver-missing",
            "caution",
            [
                f"no maintained {_WORDS[best]} driver for {name} ({title}) is known",
                there if len(gaps) > 1 else "the part speaks a protocol of its own",
            ],
            "Plan time to write one from its data sheet, or choose another part or language.",
            name,
            sources=["catalogue, drivers by part"],
        )


RULES: tuple[Rule, ...] = (
    Rule(
        "firmware-language",
        "a language the chip does not run",
        "the firmware cannot be written as planned",
        "chip data, named in the finding",
        _language,
    ),
    Rule(
        "driver-missing",
        "a part no maintained driver is known for, in the language with the fewest gaps",
        "the part works only after somebody has written one",
        "the parts' driver facts",
        _drivers,
    ),
)
