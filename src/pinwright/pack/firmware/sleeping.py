"""Deep sleep as the brief asks for it and the chip offers it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.pack.firmware.model import Pin, Sleep, WakePin

if TYPE_CHECKING:
    from pinwright.fitting.plan import BoardPlan
    from pinwright.fitting.rank import Job

__all__ = ["sleep_of"]


def sleep_of(plan: BoardPlan, job: Job, pins: tuple[Pin, ...], left_out: list[str]) -> Sleep | None:
    """Sleep settings, or ``None`` where the brief wants no sleep or the chip has none; what is missing goes to ``left_out``."""
    use = job.file.brief.use
    if not use.sleeping:
        return None
    state = next((state for state in plan.view.chip.sleep if state.state == "deep-sleep"), None)
    if state is None:
        left_out.append(f"Deep sleep: nothing is known of it on the {plan.view.chip.part}.")
        return None
    pads = {pad.name: pad for pad in plan.view.chip.pad}
    wake: list[WakePin] = []
    for pin in (pin for pin in pins if pin.wake):
        if "deep-sleep" not in pads[pin.pad].wake or state.wake_pins_max == 0:
            left_out.append(f"{pin.words} cannot wake the {plan.view.chip.part} from deep sleep.")
        elif state.wake_pins_max is not None and len(wake) >= state.wake_pins_max:
            left_out.append(f"{pin.words} cannot wake it as well: at most {state.wake_pins_max} pins do.")
        else:
            wake.append(WakePin(pin, None if pin.rest_level is None else 1 - pin.rest_level))
    holds = state.pads == "held-if-asked"
    held = tuple(pin for pin in pins if pin.must_stay_off and holds and (not state.hold_pads or pin.gpio in state.hold_pads))
    pulls = tuple(w.pin for w in wake if w.pin.pull != "none") if state.pulls == "kept-if-asked" else ()
    timer = "" if state.timer_wake_pad is None else str(state.timer_wake_pad)
    return Sleep(
        tuple(wake), use.wake_every_s, use.awake_for_s, state.wake_is_reset, held, pulls, state.wake_levels, state.wake_alone,
        state.wake_low, state.wake_pins_max, state.wake_limits, timer, state.timer_wake_to,
    )  # fmt: skip
