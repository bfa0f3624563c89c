"""A cautious rule for power-up: where may a line sit that must keep its level until the firmware runs?

A pin is quiet for a level when nothing drives it elsewhere, nothing pulls it the wrong way and no strap hangs
on it, in any stretch between power-on and the firmware's first line.  A floating pin is quiet if the part
itself stays off when nobody drives it, or with a resistor towards the safe level.

This rule refuses pins that a calculation of the node voltages could allow.  It is asked through ``disturbances``
only, so that such a proof can take its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from pinwright.facts.model import BootState, Onboard, Pad, Strap

__all__ = ["Disturbance", "PinFacts", "boot_states", "can_be_held_low", "disturbances", "floats_at_boot"]


class PinFacts(Protocol):
    """What the rule needs to know of a pin."""

    @property
    def pad(self) -> Pad: ...
    @property
    def onboard(self) -> tuple[Onboard, ...]: ...


@dataclass(frozen=True, slots=True)
class Disturbance:
    """Why a pin is not quiet.

    ``kind``: noisy | driven | pulled | strapped | on-board; ``fact`` is the claim of the catalogue it rests on.
    """

    kind: str
    words: str
    fact: BootState | Strap | Onboard


def boot_states(pin: PinFacts) -> tuple[str, ...]:
    """States of the pin before firmware, in order; a pull on the board wins over a floating pad."""
    fitted = {item.what for item in pin.onboard}
    states = []
    for state in pin.pad.boot:
        name: str = state.state
        if name == "float" and "pull-up" in fitted:
            name = "pull-up"
        elif name == "float" and "pull-down" in fitted:
            name = "pull-down"
        states.append(name)
    return tuple(states) or ("noisy",)  # nothing known counts as noise


def floats_at_boot(pin: PinFacts) -> bool:
    """Whether nothing at all defines the pin's level for some time before firmware."""
    return "float" in boot_states(pin)


def disturbances(pin: PinFacts, safe_level: str) -> list[Disturbance]:
    """Everything that keeps the pin from holding ``safe_level`` (high, low or released) at power-up."""
    found = []
    wrong_pull = {"high": "pull-down", "low": "pull-up"}.get(safe_level)
    for stretch in pin.pad.boot:
        if stretch.state == "noisy":
            found.append(Disturbance("noisy", f"carries signals before your firmware runs{_why(stretch.note)}", stretch))
        elif stretch.state in ("high", "low") and stretch.state != safe_level:
            found.append(Disturbance("driven", f"is driven {stretch.state} before your firmware runs{_why(stretch.note)}", stretch))
        elif stretch.state == wrong_pull:
            direction = "up" if stretch.state == "pull-up" else "down"
            found.append(Disturbance("pulled", f"is pulled {direction} before your firmware runs", stretch))
    if pin.pad.strap is not None:
        strap = pin.pad.strap
        found.append(Disturbance("strapped", f"is read at reset to choose how the chip starts{_why(strap.why)}", strap))
    for item in pin.onboard:
        if item.drives or item.what in ("auto-program", "button"):
            found.append(Disturbance("on-board", f"has a {item.what} on the board that can move it", item))
        elif item.what == wrong_pull:
            found.append(Disturbance("pulled", f"has a {item.what} on the board", item))
    return found


def _why(note: str) -> str:
    return f" ({note})" if note else ""


def can_be_held_low(pin: PinFacts) -> bool:
    """Whether a resistor can keep this output low from power-on: never driven high, never noisy, strap allows low.

    Weaker than ``disturbances``: an internal pull-up may be beaten by a resistor, a strap may want low anyway.
    """
    pad = pin.pad
    if not pad.output or pad.reserved or any(item.drives for item in pin.onboard):
        return False
    if not set(boot_states(pin)) <= {"float", "pull-up", "pull-down", "low"}:
        return False
    return pad.strap is None or pad.strap.run != "high"
