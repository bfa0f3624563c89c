"""What could still be added to a plan without moving anything.

Each ability is counted by trying: how many more lines of one exemplary kind fit beside the wires already there,
with the timers, channels and engines that are left.  The abilities are counted one at a time; they share pins.
"""

from __future__ import annotations

from collections import Counter

from pinwright.facts.model import Needs
from pinwright.fitting.candidates import Candidates, candidates
from pinwright.fitting.lines import Asks, Line
from pinwright.fitting.nets import Net, Nets
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.setting import Setting

__all__ = ["SPARE_KINDS", "spare_lines"]

SPARE_KINDS: dict[str, tuple[str, Asks]] = {
    "outputs": ("outputs", Asks("out", "digital", "", Needs())),
    "quiet_outputs": (
        "outputs that stay low while the board starts",
        Asks("out", "digital", "", Needs(), safe_level="low", quiet="must", floats="safe"),
    ),
    "holdable_outputs": (
        "outputs a resistor can hold low at power-up",
        Asks("out", "digital", "", Needs(), safe_level="low", quiet="must", floats="unsafe"),
    ),
    "pulled_up_inputs": ("inputs with a pull-up of their own", Asks("in", "digital", "", Needs(pull="up", interrupt="yes"), rest="high")),
    "analog_inputs": ("analog inputs that work in this device", Asks("analog-in", "analog", "", Needs())),
    "pwm": ("PWM outputs at about 1 kHz", Asks("out", "pwm", "", Needs(pwm_min_hz=400.0, pwm_max_hz=1100.0))),
}
"""Name, words and exemplary needs of each ability counted."""


def spare_lines(plan: BoardPlan, setting: Setting) -> dict[str, int]:
    """How many more lines of each kind could be added together with what is there."""
    used_pins = {placed.place.pad.name for placed in plan.placed}
    nets = Nets(tuple(Net(kind, (Line(kind, kind, kind, words, "", asks),)) for kind, (words, asks) in SPARE_KINDS.items()), (), ())
    found = candidates(plan.view, nets, setting)
    return {kind: _room(plan, found, number, used_pins) for number, kind in enumerate(SPARE_KINDS)}


def _room(plan: BoardPlan, found: Candidates, number: int, used_pins: set[str]) -> int:
    """Greedy count: exemplary lines are all alike and pins and channels are the only limits, so greedy is exact."""
    used: Counter[str] = Counter()
    running: dict[str, set[str]] = {}
    for placed in {p.net.id: p for p in plan.placed}.values():
        for name, amount in placed.choice.uses:
            used[name] += amount
        if placed.choice.timer:
            running.setdefault(placed.choice.timer, set()).add(placed.mode)
    capacity = {**plan.candidates.capacity, **found.capacity}
    room = 0
    for candidate in found.found[number]:
        if candidate.is_hopeless or candidate.blocked or candidate.place.pad.name in used_pins:
            continue
        for choice in candidate.choices:
            if any(used[name] + amount > capacity[name] for name, amount in choice.uses):
                continue
            if choice.timer:
                modes = running.setdefault(choice.timer, set())
                if not modes & set(choice.modes):
                    if len(modes) >= found.timers[choice.timer]:
                        continue
                    modes.add(choice.modes[0])
            for name, amount in choice.uses:
                used[name] += amount
            room += 1
            break
    return room
