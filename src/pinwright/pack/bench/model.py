"""The bench sheet as data: steps in build order, each with its probes, what is expected there, and what else may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pinwright.pack.build.model import Terminal

__all__ = ["PHASES", "PHASE_WORDS", "BenchSheet", "Expect", "Meter", "Phase", "Step", "Tool"]

Phase = Literal[
    "inspect", "continuity", "first power", "reset", "boot", "set-up", "running", "loads", "asleep", "restart", "upload"
]  # fmt: skip
PHASES: tuple[Phase, ...] = (
    "inspect",
    "continuity",
    "first power",
    "reset",
    "boot",
    "set-up",
    "running",
    "asleep",
    "restart",
    "upload",
    "loads",
)
PHASE_WORDS: dict[Phase, str] = {
    "inspect": "Look before anything is joined",
    "continuity": "Without power: what is joined, what is not",
    "first power": "First power, loads unplugged",
    "reset": "Held in reset",
    "boot": "While ROM and loader run",
    "set-up": "A program runs that sets no pin",
    "running": "Self test, line by line",
    "asleep": "Deep sleep",
    "restart": "Reset while running, brown-out",
    "upload": "While new firmware is uploaded",
    "loads": "Loads with their own supply, last",
}
Tool = Literal["eye", "ohmmeter", "diode test", "voltmeter", "ammeter", "scope", "firmware"]
Meter = Literal["shows", "average", "scope only", "not held"]
"""What an ordinary meter (10 MΩ) tells: the value, the average of something fast, nothing (it takes a scope), or itself (nothing holds the
node)."""


@dataclass(frozen=True, slots=True)
class Expect:
    """What is measured: red probe ``at``, black probe ``to``, while ``when`` holds.

    ``low``, ``high`` and ``typical`` in the SI unit ``unit`` (``None``: no bound); ``quantity`` voltage, resistance, current, reading,
    count, address or sight.  ``cause_low``, ``cause_high``, ``cause_none``: what is likely wrong where it is less, more, or nothing at all.
    """

    at: Terminal | None
    to: Terminal | None
    when: str
    quantity: str
    low: float | None
    high: float | None
    typical: float | None
    unit: str
    meter: Meter = "shows"
    words: str = ""
    cause_low: tuple[str, ...] = ()
    cause_high: tuple[str, ...] = ()
    cause_none: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: ``id`` unique and stable for one plan, ``do`` in words, ``why`` with formula or source, ``stop`` if it fails.

    ``lines`` and ``nets`` it tests; ``stimulus`` what the self test drives or asks for, by name in SI units (``duty``, ``level``, ...).
    """

    id: str
    phase: Phase
    title: str
    do: str
    tool: Tool
    lines: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    expects: tuple[Expect, ...] = ()
    why: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    stimulus: tuple[tuple[str, float], ...] = ()
    stop: bool = False


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """All steps of a build in the order to take them; ``cautions`` hold for all of it."""

    title: str
    board: str
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    tools: tuple[str, ...]

    def of(self, phase: Phase) -> tuple[Step, ...]:
        """Steps of one phase."""
        return tuple(step for step in self.steps if step.phase == phase)
