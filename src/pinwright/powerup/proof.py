"""What a load does before the firmware is in charge, proved from the voltages at its pin in every corner.

Each stretch of time is one node: the pad (pull, drive or nothing, and its leakage), resistors on the board and in the circuit,
and the part's own input.  The node's bounds over all tolerances are compared with the part's thresholds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.facts.model import Chip
from pinwright.powerup.one_node import Branch, divider_bounds
from pinwright.powerup.phases import I_LEAK_A, Phase, PinFacts, Stretch, internal_pull, leak_of_pin, stretches

__all__ = ["Load", "Proof", "Pull", "node_v", "prove", "pull_to_beat"]

Verdict = Literal["off", "on", "undefined", "pulses", "obeys"]

MUCH_MORE = 10.0
"""A part that needs this many times what a pull can give is not switched by it (our choice)."""
USUAL_PULL_OHM = 10e3
"""Pull-up or pull-down on a board or module that does not say (common practice, no source)."""
RESISTOR_SPREAD = 0.05
MODULE_SPREAD = 0.2
"""Spread of a resistor somebody else fitted (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pull:
    """A resistor at the pin: ``up`` or ``down``, its least and most ohms, the rail it hangs on [V], and what it is."""

    direction: str
    ohm_low: float
    ohm_high: float
    rail_v: float
    words: str

    @property
    def branch(self) -> Branch:
        """The same for the node formula."""
        volts = self.rail_v if self.direction == "up" else 0.0
        return self.ohm_low, self.ohm_high, volts, volts


@dataclass(frozen=True, slots=True)
class Load:
    """What a part asks of its line while nobody commands it.

    ``safe_level`` high, low or released; ``off_v``: up to here (low) or from here (high) it is off for sure [V]; ``on_v``: beyond
    it is on.  ``i_in_a``: what it takes to be on [A]; ``is_off_undriven``: it stays off by itself; ``is_on_undriven``: it may not.
    """

    safe_level: str
    off_v: float
    on_v: float
    i_in_a: float = 0.0
    is_off_undriven: bool = False
    is_on_undriven: bool = False


@dataclass(frozen=True, slots=True)
class Proof:
    """One cell of the timeline: what the pad does, the voltage at the line [V] (``None``: nothing holds it), the verdict and why."""

    stretch: Stretch
    v: Range | None
    verdict: Verdict
    words: str

    @property
    def phase(self) -> Phase:
        """Its phase."""
        return self.stretch.phase

    @property
    def is_safe(self) -> bool:
        """Whether the load does nothing by itself."""
        return self.verdict in ("off", "obeys")


def prove(
    load: Load, pin: PinFacts, chip: Chip, rail: Range, pulls: Iterable[Pull], sleeping: bool = False, deciding: bool = False
) -> list[Proof]:
    """Verdict of every stretch before and between commands.

    Parameters
    ----------
    load : what the part asks [-]
    pin : the pin [-]
    chip : its chip [-]
    rail : the chip's supply over its tolerance [V]
    pulls : every resistor at the pin, on the board, in the circuit and in the part [-]
    sleeping : whether the device sleeps [-]
    deciding : leave out what only repeats another phase [-]
    """
    fitted = list(pulls)
    return [_cell(load, stretch, chip, rail, fitted) for stretch in stretches(pin, chip, sleeping, deciding)]


def _cell(load: Load, stretch: Stretch, chip: Chip, rail: Range, pulls: list[Pull]) -> Proof:
    does, lasts = stretch.does, f" for {shown(stretch.duration_s, 's')}" if stretch.duration_s else ""
    if does == "obeys":
        return Proof(stretch, None, "obeys", stretch.note or "the firmware decides")
    if does == "noisy":
        return Proof(stretch, Range(0.0, rail.high), "pulses", f"the pad carries signals{lasts}{_note(stretch)}")
    if does in ("high", "low"):
        volts = Range(rail.low * 0.8, rail.high) if does == "high" else Range(0.0, rail.high * 0.2)
        verdict: Verdict = "off" if does == load.safe_level else "on"
        return Proof(stretch, volts, verdict, f"the pad is driven {does}{lasts}{_note(stretch)}")
    own = _own_pull(does, chip, rail)
    held = node_v([*pulls, *own], chip, rail)
    return _judged(load, stretch, held, own, pulls, rail)


def _own_pull(does: str, chip: Chip, rail: Range) -> list[Pull]:
    if does not in ("pulled up", "pulled down"):
        return []
    direction = does.removeprefix("pulled ")
    low, high = internal_pull(chip, direction)
    return [Pull(direction, low, high, rail.middle, f"the pad's own pull-{direction} of {shown(low)} to {shown(high)}")]


def node_v(pulls: Iterable[Pull], chip: Chip, rail: Range) -> Range | None:
    """Voltage at a pin nobody drives, over all corners [V]; ``None`` where no resistor holds it."""
    amps = leak_of_pin(chip)
    branches = [
        (p.ohm_low, p.ohm_high, *((rail.low, rail.high) if p.direction == "up" and abs(p.rail_v - rail.middle) < 0.1 else p.branch[2:]))
        for p in pulls
    ]
    found = divider_bounds(branches, -amps, amps)
    return None if found is None else Range(max(found[0], -0.3), max(found[1], -0.3))


def _judged(load: Load, stretch: Stretch, volts: Range | None, own: list[Pull], pulls: list[Pull], rail: Range) -> Proof:
    state = f"the pad is {stretch.does}" if own else "the pad lets go"
    holding = " and ".join(p.words for p in (*own, *pulls)) or "nothing holds the line"
    if load.safe_level == "released":
        towards = [p for p in (*own, *pulls) if p.direction == "down"]
        verdict: Verdict = "undefined" if towards else "off"
        return Proof(stretch, volts, verdict, f"{state}: {holding}")
    wrong = "up" if load.safe_level == "low" else "down"
    against = [p for p in (*own, *pulls) if p.direction == wrong]
    if not load.is_on_undriven and load.i_in_a:
        gives = sum(rail.high / p.ohm_low for p in against) + I_LEAK_A
        if load.i_in_a > MUCH_MORE * gives:
            words = (
                f"{state}: at most {shown(gives, 'A')} flows, the part needs {shown(load.i_in_a, 'A')}" if gives else f"{state}: no current"
            )
            return Proof(stretch, volts, "off", words)
    if volts is None:
        return Proof(stretch, None, "off" if load.is_off_undriven else "undefined", f"{state}: {holding}")
    at = f"{volts.low:.3g} to {volts.high:.3g} V"
    if load.safe_level == "low":
        sure, on = volts.high <= load.off_v, volts.low >= load.on_v
        margin = load.off_v - volts.high
        words = (
            f"{state}: {at} by {holding}; off up to {load.off_v:.3g} V, {shown(abs(margin), 'V')} {'left' if margin >= 0 else 'too much'}"
        )
    else:
        sure, on = volts.low >= load.off_v, volts.high <= load.on_v
        margin = volts.low - load.off_v
        words = (
            f"{state}: {at} by {holding}; off from {load.off_v:.3g} V, {shown(abs(margin), 'V')} {'left' if margin >= 0 else 'too little'}"
        )
    return Proof(stretch, volts, "off" if sure else "on" if on else "undefined", words)


def _note(stretch: Stretch) -> str:
    return f" ({stretch.note})" if stretch.note else ""


def pull_to_beat(load: Load, does: str, chip: Chip, rail: Range) -> float | None:
    """Largest resistor that keeps a load off against the pad's own wrong pull [ohm]; ``None`` where no such pull is there.

    R = R_pull V_off / (VDD - V_off)   [the divider of both, at its worst corner]
    """
    wrong = {"low": "pulled up", "high": "pulled down"}.get(load.safe_level)
    if does != wrong:
        return None
    own = internal_pull(chip, "up" if load.safe_level == "low" else "down")[0]
    room = load.off_v if load.safe_level == "low" else rail.low - load.off_v
    across = rail.high - room
    return own * max(room, 1e-3) / max(across, 1e-3)
