"""Can a sleeping device wake again?  The wire a timer needs to the reset input.

Pins that must wake the board by themselves are told by ``pin-no-wake``.
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import SleepState
from pinwright.fitting.places import BoardView
from pinwright.review.common import board_finding, found
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]


def _wake_wire(wiring: Wiring) -> Iterator[Finding]:
    if not wiring.setting.sleeping:
        return
    view = wiring.view
    for state in view.chip.sleep:
        if state.state != "deep-sleep" or state.timer_wake_pad is None:
            continue
        place = next((place for place in view.places if place.pad.gpio == state.timer_wake_pad), None)
        pad = next((pad.name for pad in view.chip.pad if pad.gpio == state.timer_wake_pad), str(state.timer_wake_pad))
        users = [wire for wire in wiring.wires if wire.place.pad.gpio == state.timer_wake_pad]
        fact = (
            f"the timer wakes {view.chip.part} by a pulse of {place.name if place else pad} into {state.timer_wake_to}, and by nothing else"
        )
        for wire in users:
            yield found(
                "sleep-wake-pin",
                "refuse",
                wire,
                [fact, f"{wire.line.id} uses that pin", "the device sleeps once and never wakes"],
                f"Move {wire.line.id} to another pin and wire this one to {state.timer_wake_to} (0 Ω to 1 kΩ).",
                sources=[view.chip_cite(state)],
            )
        if not users:
            yield _free(view, state, fact, is_led_out=place is not None)


def _counts_asleep(wiring: Wiring) -> Iterator[Finding]:
    """Pulses that must not be lost, at a pin that does not wake a device which sleeps most of the time."""
    if not wiring.setting.sleeping:
        return
    for wire in wiring.wires:
        if wire.line.asks.needs.count_pulses and not wire.line.asks.needs.wake:
            because = [
                f"no pulse of {wire.line.id} may be lost, and the device sleeps most of the time",
                "nothing counts in deep sleep, and the line does not wake the chip",
            ]
            fix = "Ask for wake = true on this line if pulses are rare, put a counter chip before the pin, or do not sleep."
            yield found("sleep-counts", "caution", wire, because, fix)


def _free(view: BoardView, state: SleepState, fact: str, *, is_led_out: bool) -> Finding:
    """The pin is free: a wire to add; or it is not there at all."""
    if is_led_out:
        fix = "Wire the two together (0 Ω to 1 kΩ); take the wire off while you upload if the upload fails."
        return board_finding("sleep-wake-pin", "note", [fact], fix, sources=[view.chip_cite(state)])
    return board_finding(
        "sleep-wake-pin",
        "caution",
        [fact, f"the {view.board.name} does not bring that pin out", "only a pulse on the reset input from outside wakes it"],
        f"Take a board that brings the pin out, or let something outside pulse {state.timer_wake_to}.",
        sources=[view.chip_cite(state)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "sleep-wake-pin",
        "a sleeping device whose timer needs a wire to the reset input",
        "it sleeps once and never wakes",
        "sleep data of the chip, named in the finding",
        _wake_wire,
    ),
    Rule(
        "sleep-counts",
        "pulses to be counted while the device sleeps",
        "every pulse that comes in deep sleep is lost",
        "sleep data of the chip; common practice",
        _counts_asleep,
    ),
)
