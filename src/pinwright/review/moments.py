"""What a pad does by itself from reset until firmware sets it, read from the facts once more, moment by moment."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pinwright.facts.model import BootState
from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import show_quantity

__all__ = ["Does", "Moment", "before_firmware"]

Does = Literal["hi-Z", "pull-up", "pull-down", "high", "low", "noisy"]

_DOES: dict[str, Does] = {
    "float": "hi-Z",
    "pull-up": "pull-up",
    "pull-down": "pull-down",
    "high": "high",
    "low": "low",
    "noisy": "noisy",
}
_WORDS: dict[Does, str] = {
    "hi-Z": "floats",
    "pull-up": "is pulled up",
    "pull-down": "is pulled down",
    "high": "is driven high",
    "low": "is driven low",
    "noisy": "carries signals",
}


@dataclass(frozen=True, slots=True)
class Moment:
    """What the pad does for some time before firmware, in words that begin with when, and the document that says so.

    ``is_reported``: people tell of it, no document confirms it.
    """

    does: Does
    words: str
    cite: str
    lasts: str = ""
    is_reported: bool = False


def before_firmware(place: Place, view: BoardView) -> Iterator[Moment]:
    """Everything that happens at the pad before the firmware's first line, in order; what nobody describes may be anything."""
    states = place.pad.boot
    if not states:
        words = f"before your firmware runs {place.name} may do anything: nobody says what the pad does then"
        yield Moment("noisy", words, view.column_cite("boot", place.pad))
    for number, state in enumerate(states):
        does, lasts = _DOES[state.state], _lasts(state)
        note = f" ({state.note})" if state.note else ""
        words = f"{_when(number, len(states))} {place.name} {_WORDS[does]}{lasts}{note}"
        cite = view.chip_cite(state) if state.src else view.column_cite("boot", place.pad)
        yield Moment(does, words, cite, lasts, state.reported)
    for item in place.onboard:
        if item.what == "bootloader" and item.drives:
            effect = f": {item.effect}" if item.effect else ""
            yield Moment("noisy", f"before your firmware runs the boot loader drives {place.name}{effect}", view.board_cite(item))


def _when(number: int, count: int) -> str:
    if number == count - 1:
        return "before your firmware runs"
    return "at reset" if number == 0 else "while it boots"


def _lasts(state: BootState) -> str:
    return f" for {show_quantity(state.duration_s, 's')}" if state.duration_s else ""
