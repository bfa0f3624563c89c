"""What a pin does by itself in each phase, from facts: hi-Z, pulled, driven or noisy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from pinwright.facts.model import BootState, Chip, Cite, Fact, Onboard, Pad

__all__ = ["I_LEAK_A", "PHASES", "Phase", "PinFacts", "Stretch", "internal_pull", "leak_of_pin", "stretches"]

Phase = Literal["reset", "boot", "set-up", "running", "asleep", "restart", "upload"]
PHASES: tuple[Phase, ...] = ("reset", "boot", "set-up", "running", "asleep", "restart", "upload")
"""Stretches of time with a state of their own.

*reset*: supply ramp and reset; *boot*: ROM and loader; *set-up*: firmware runs but has not set the pin yet; *running*;
*asleep*: deep sleep; *restart*: reset while running, by a watchdog or a brown-out; *upload*: the loader waits for or takes firmware.
"""

PadDoes = Literal["hi-Z", "pulled up", "pulled down", "high", "low", "noisy", "obeys"]
_DOES: dict[str, PadDoes] = {
    "float": "hi-Z",
    "pull-up": "pulled up",
    "pull-down": "pulled down",
    "high": "high",
    "low": "low",
    "noisy": "noisy",
}
I_LEAK_A = 1e-6
"""Leakage of an input nobody gives a figure for [A] (common practice, no source)."""
SPREAD = (0.5, 1.6)
"""Spread of an internal pull whose limits nobody gives, as shares of its typical value (common practice, no source)."""


class PinFacts(Protocol):
    """What must be known of a pin: its pad and what sits on it on the board."""

    @property
    def pad(self) -> Pad: ...
    @property
    def onboard(self) -> tuple[Onboard, ...]: ...


@dataclass(frozen=True, slots=True)
class Stretch:
    """One thing a pad does in a phase; ``fact`` is the claim it rests on (``None``: nobody says), ``is_console`` for log text."""

    phase: Phase
    does: PadDoes
    duration_s: float | None = None
    note: str = ""
    fact: BootState | Cite | Onboard | object | None = None


def stretches(pin: PinFacts, chip: Chip, sleeping: bool = False, deciding: bool = False) -> list[Stretch]:
    """Everything a pad does, phase by phase, in order of time.  Nothing known counts as noise.

    ``deciding``: without what only repeats (a restart is reset and boot once more, and so is most of an upload).
    """
    boot = pin.pad.boot
    if not boot:
        found = [Stretch(phase, "noisy", note="nobody says what this pad does before firmware") for phase in ("reset", "boot", "set-up")]
    else:
        found = [Stretch("reset", _DOES[boot[0].state], boot[0].duration_s, boot[0].note, boot[0])]
        # A pad with one state keeps it from reset through the loader.
        later = boot[1:] if len(boot) > 1 or deciding else boot
        found += [Stretch("boot", _DOES[state.state], state.duration_s, state.note, state) for state in later]
        found.append(Stretch("set-up", _DOES[boot[-1].state], None, "as the loader leaves it", boot[-1]))
    found += [Stretch("boot", "noisy", note=item.effect, fact=item) for item in pin.onboard if item.what == "bootloader" and item.drives]
    if not deciding:
        found.append(Stretch("running", "obeys"))
    if sleeping:
        found.append(_asleep(pin, chip))
    before = [s for s in found if s.phase in ("reset", "boot", "set-up")]
    if deciding:
        before = []
    found += [Stretch("restart", s.does, s.duration_s, s.note, s.fact) for s in before]
    found += [Stretch("upload", s.does, s.duration_s, s.note, s.fact) for s in before if s.phase != "set-up"]
    if any(item.what == "auto-program" for item in pin.onboard):
        item = next(item for item in pin.onboard if item.what == "auto-program")
        found.append(Stretch("upload", "low", note="the upload circuit pulls it low", fact=item))
    return found


def _asleep(pin: PinFacts, chip: Chip) -> Stretch:
    """What a pad does in the deepest sleep: it keeps what firmware left, or lets go."""
    state = next((s for s in chip.sleep if s.state == "deep-sleep"), None)
    if state is None:
        return Stretch("asleep", "noisy", note="nobody says what the pads do in deep sleep")
    if state.pads == "held" or (state.pads == "held-if-asked" and (not state.hold_pads or pin.pad.gpio in state.hold_pads)):
        asked = " if firmware asks for it" if state.pads == "held-if-asked" else ""
        return Stretch("asleep", "obeys", note=f"the pad keeps its level{asked}", fact=state)
    return Stretch("asleep", "hi-Z", note="the pad lets go", fact=state)


def leak_of_pin(chip: Chip) -> float:
    """Leakage of one pad [A]."""
    fact = chip.electrical.i_leak_max_a
    return (fact.value or fact.max or I_LEAK_A) if fact else I_LEAK_A


def internal_pull(chip: Chip, direction: str) -> tuple[float, float]:
    """Least and most resistance of the chip's own pull [ohm]; of the other direction's where this one is not given."""
    electrical = chip.electrical
    order = (electrical.pull_up_ohm, electrical.pull_down_ohm) if direction == "up" else (electrical.pull_down_ohm, electrical.pull_up_ohm)
    fact = next((each for each in order if each is not None), None)
    return _spread(fact) if fact is not None else (20e3, 100e3)


def _spread(fact: Fact) -> tuple[float, float]:
    middle = fact.value or fact.typ or fact.min or fact.max or 45e3
    low = fact.min if fact.min is not None else middle * SPREAD[0]
    high = fact.max if fact.max is not None else middle * SPREAD[1]
    return low, high
