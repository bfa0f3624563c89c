"""What the circuits between pin and part do not hold: an inequality that fails where nothing that could be fitted helps."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.review.common import found
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]


def _tight(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        for check in wire.circuit.checks:
            if not check.holds:
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
    Rule("circuit-fails", "a line no circuit makes work on its pin", "it cannot work", "docs/formulas.md", _failing),
)
