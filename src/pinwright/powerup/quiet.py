"""What a pad does before firmware, in short: with the resistors on the board counted in."""

from __future__ import annotations

from pinwright.powerup.phases import PinFacts

__all__ = ["boot_states", "floats_at_boot"]


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
