"""What the circuits between pin and part do not hold: an inequality that fails where nothing that could be fitted helps."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.review.common import found
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]


_SOURCE_FIX = (
    "Fit 100 nF from the pin to ground, close to the pin, or take smaller resistors; firmware may also read twice and drop the first."
)
_ACCURACY_FIX = "Calibrate each copy at two points and average many readings, take a converter chip of its own or a digital sensor."
_OWN_RULES = {
    "source of the reading": (
        "analog-source",
        "the sampling capacitor is not charged in time: readings lean to the channel before",
        _SOURCE_FIX,
    ),
    "accuracy of the reading": ("analog-accuracy", "the reading cannot be trusted to that", _ACCURACY_FIX),
}
"""Checks that are told by a rule of their own: what comes of it, and what to do."""


def _readings(wiring: Wiring) -> Iterator[Finding]:
    """Analog readings whose source is too weak for the converter, or that are worth less than the brief asks for."""
    for wire in wiring.wires:
        for check in wire.circuit.checks:
            if check.what in _OWN_RULES and not check.holds:
                rule, effect, fix = _OWN_RULES[check.what]
                unit = next((unit for unit in wiring.view.chip.adc if wire.place.pad.adc and unit.unit == wire.place.pad.adc.unit), None)
                sources = [wiring.view.chip_cite(unit)] if unit else []
                yield found(rule, "caution", wire, [check.words, effect], fix, {check.what: f"formula {check.formula}"}, sources)


def _tight(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        for check in wire.circuit.checks:
            if not check.holds and check.what not in _OWN_RULES:
                yield found(
                    "circuit-tight",
                    "caution",
                    wire,
                    [check.words, "it may work on your bench and fail with the next copy, warmer or on a longer wire"],
                    "Shorten the wire, slow the signal down, feed both ends from one supply, or take a part that fits.",
                    {check.what: f"formula {check.formula}"},
                    [wiring.view.chip_cite(wiring.view.chip.electrical.vih_min)],
                )


def _failing(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        if wire.circuit.fails:
            yield found(
                "circuit-fails",
                "refuse",
                wire,
                [f"no circuit makes {wire.line.id} work here", wire.circuit.fails],
                "Take another pin, another board, or a part that fits.",
                sources=[wiring.view.chip_cite(wiring.view.chip.electrical.vin_max)],
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "circuit-tight", "an inequality of a circuit that does not hold at its worst corner", "it works by luck", "docs/formulas.md", _tight
    ),
    Rule(
        "analog-source",
        "an analog source too weak for the converter, or a reading worth less than asked for (also analog-accuracy)",
        "readings are wrong although everything is wired right",
        "converter data of the chip; docs/formulas.md",
        _readings,
    ),
    Rule("circuit-fails", "a line no circuit makes work on its pin", "it cannot work", "docs/formulas.md", _failing),
)
