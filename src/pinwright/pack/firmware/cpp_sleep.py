"""Deep sleep in a C++ programme, where the core has a call for it."""

from __future__ import annotations

import re
from string import Template

from pinwright.pack.firmware.cpp_inputs import change_watch
from pinwright.pack.firmware.cpp_sketch import Sketch

__all__ = ["AWAKE_S", "let_go", "write_sleep"]

AWAKE_S = 5.0
"""How long it stays awake where the brief does not say [s] (our choice)."""
_WATCHDOG_S = 8


def write_sleep(sketch: Sketch) -> bool:
    """``sleep_now()`` as the core does it; false where the programme never sleeps."""
    sleep, core = sketch.program.sleep, sketch.core
    if sleep is None:
        return False
    if not core.sleep:
        sketch.notes.append(core.sleep_note or "This core has no call for deep sleep: the firmware only waits between its rounds.")
        return False
    sketch.section("sleep")
    sketch.include(*core.sleep_includes)
    kind = core.wake.get(sketch.program.chip, "")
    pins = []
    for wake in sleep.wake:
        if core.sleep == "stays" and core.change_vector(sketch.program.chip, wake.pin) is None:
            pins.append(f"attachInterrupt(digitalPinToInterrupt(pins::{wake.pin.snake}), on_wake, CHANGE);")
            continue
        if not core.sleep_pin:
            sketch.notes.append(f"{wake.pin.words}: on this core no pin wakes the chip from deep sleep, only its reset.")
            continue
        pull = core.sleep_pulls.get(wake.pin.pull, "")
        fixed = -1 if wake.level is None else wake.level
        pins.append(Template(core.sleep_pin).safe_substitute(pin=f"pins::{wake.pin.snake}", level=fixed, pull=pull))
    if kind not in core.sleep_pull_not and core.sleep_pull:
        pins += [Template(core.sleep_pull).substitute(way=pin.pull, pin=f"pins::{pin.snake}") for pin in sleep.keep_pulls]
    if core.sleep_hold and sleep.hold:
        pins += [Template(core.sleep_hold).substitute(pin=f"pins::{pin.snake}") for pin in sleep.hold]
        pins += [core.sleep_hold_all] if core.sleep_hold_all and kind not in core.sleep_hold_all_not else []
    if sleep.every_s and core.sleep_timer:
        pins.append(Template(core.sleep_timer).substitute(us=round(sleep.every_s * 1e6)))
    elif sleep.every_s and core.sleep == "reset":
        sketch.notes.append("No timer wakes this chip from its deepest sleep: only pins do.")
    elif core.sleep_forever:
        pins.append(core.sleep_forever)
    if core.sleep == "stays":
        _stay(sketch)
    text = Template(core.sleep_code).safe_substitute(
        wake=core.wake_code.get(kind, ""),
        pins="\n".join(f"  {line}" for line in pins),
        steps=max(1, round((sleep.every_s or _WATCHDOG_S) / _WATCHDOG_S)),
        tick="    WATCHDOG" if sleep.every_s else "    NOTHING",
    )
    text = text.replace("    WATCHDOG", "    arm_watchdog();").replace("    NOTHING\n", "")
    sketch.add(*re.sub(r"\n{3,}", "\n\n", text).strip("\n").replace("{\n\n", "{\n").split("\n"))
    return True


def _stay(sketch: Sketch) -> None:
    """What wakes a chip that goes on where it was: pin changes, and the watchdog as a clock."""
    sleep, core, chip = sketch.program.sleep, sketch.core, sketch.program.chip
    assert sleep is not None
    vectors = {vector for wake in sleep.wake if (vector := core.change_vector(chip, wake.pin)) is not None}
    if not any("watch_change(pin_number" in line for line in sketch.code) and vectors:
        sketch.add(*change_watch())
    if any(core.change_vector(chip, wake.pin) is None for wake in sleep.wake):
        sketch.add("void on_wake() {}  // waking is all it does")
    for vector in sorted(vectors - set(sketch.changes)):
        sketch.vectors += [f"ISR(PCINT{vector}_vect) {{ device::woken = true; }}", ""]
    if sleep.every_s:
        sketch.add(
            "void arm_watchdog() {  // interrupt only, after 8 s",
            "  noInterrupts();",
            "  wdt_reset();",
            "  MCUSR = 0;",
            f"  {core.watchdog} = _BV(WDCE) | _BV(WDE);",
            f"  {core.watchdog} = _BV(WDIE) | _BV(WDP3) | _BV(WDP0);",
            "  interrupts();",
            "}",
        )
        sketch.vectors += ["ISR(WDT_vect) {}", ""]


def let_go(sketch: Sketch) -> list[str]:
    """Statements after the first levels: what was held through sleep is let go."""
    sleep, core = sketch.program.sleep, sketch.core
    if sleep is None or not core.sleep_let_go or not core.sleep:
        return []
    return [Template(core.sleep_let_go).substitute(pin=f"pins::{pin.snake}") for pin in sleep.hold]
