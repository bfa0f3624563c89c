"""The bench sheet of a build: every step in build order, from the empty table to the loads."""

from __future__ import annotations

from dataclasses import replace

from pinwright.pack.bench.dips import asleep_current, dip_step
from pinwright.pack.bench.loads import cautions_of, loads_steps
from pinwright.pack.bench.look import CAUTION_LITHIUM, inspect_steps
from pinwright.pack.bench.measure import continuity_steps
from pinwright.pack.bench.model import PHASES, BenchSheet, Phase, Step
from pinwright.pack.bench.power import first_power_steps
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.running import running_steps
from pinwright.pack.bench.startup import startup_steps
from pinwright.pack.build.model import Build

__all__ = ["bench_sheet"]

_LETTERS: dict[Phase, str] = {
    "inspect": "A", "continuity": "B", "first power": "C", "reset": "D", "boot": "E", "set-up": "F", "running": "G", "asleep": "H",
    "restart": "I", "upload": "K", "loads": "L",
}  # fmt: skip
_TOOLS = {
    "eye": "good light",
    "ohmmeter": "a meter with ohms and a beeper",
    "diode test": "its diode test",
    "voltmeter": "its volts (10 MΩ input)",
    "ammeter": "its 10 A range, or a supply with a current limit",
    "scope": "an oscilloscope or a logic analyser, for what is too fast for a meter",
    "firmware": "the self-test firmware and a serial console",
}
_ALWAYS = (
    "Change wires only with the power off.",
    "Touch ground before you touch the board: static kills inputs.",
    "Stop at the first step marked stop that fails, and find out why before you go on.",
    "A value is right anywhere between its two bounds; the meter's own error (0.5 % and a digit, common practice) comes on top.",
)


def bench_sheet(build: Build) -> BenchSheet:
    """Every step to test a build, in the order to take them; the same build gives the same sheet.

    Parameters
    ----------
    build : what is built [-]

    Returns
    -------
    sheet : steps A (look) to L (loads)
    """
    rig = Rig(build)
    steps: list[Step] = []
    for phase in PHASES:
        steps += [replace(step, id=f"{_LETTERS[phase]}{number}") for number, step in enumerate(_steps(rig, phase), 1)]
    cautions = [*_ALWAYS, *([CAUTION_LITHIUM] if build.supply.source.is_lithium else [])]
    for placed in build.plan.placed:
        cautions += cautions_of(rig, placed)
    used = {step.tool for step in steps} | ({"scope"} if any(e.meter == "scope only" for s in steps for e in s.expects) else set())
    tools = tuple(words for tool, words in _TOOLS.items() if tool in used)
    return BenchSheet(build.title, build.plan.view.board.name, tuple(steps), tuple(dict.fromkeys(cautions)), tools)


def _steps(rig: Rig, phase: Phase) -> list[Step]:
    if phase == "inspect":
        return list(inspect_steps(rig))
    if phase == "continuity":
        return list(continuity_steps(rig))
    if phase == "first power":
        return list(first_power_steps(rig))
    if phase == "running":
        return list(running_steps(rig))
    if phase == "loads":
        return list(loads_steps(rig))
    before = list(asleep_current(rig)) if phase == "asleep" else []
    after = list(dip_step(rig)) if phase == "restart" else []
    return [*before, *startup_steps(rig, phase), *after]
