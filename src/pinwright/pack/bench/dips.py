"""Two things only a whole device shows: what it draws asleep, and what its loads do while the supply dips."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.window import shown
from pinwright.fitting.quiet import load_of
from pinwright.pack.bench.causes import label, of_pin
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.power import source_terminal
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.startup import control_of
from pinwright.pack.bench.walk import must_stay_off

__all__ = ["asleep_current", "dip_step"]

ASLEEP_SPREAD = 2.0
"""So many times the sum of usual sleep currents is still no fault (our choice; makers give typical figures for sleep)."""


def asleep_current(rig: Rig) -> Iterator[Step]:
    """What the source gives in deep sleep, for a device that sleeps.

    Parameters
    ----------
    rig : the build [-]
    """
    supply = rig.build.supply
    if not supply.is_sleeping or supply.draw.asleep <= 0:
        return
    shares = sorted((c for c in supply.fed if c.draw.asleep > 0), key=lambda c: -c.draw.asleep)
    much = tuple(f"{c.name} awake ({shown(c.draw.asleep, 'A')} reckoned with)" for c in shares[:3])
    expect = Expect(
        source_terminal(rig), None, "asleep", "current", 0.0, supply.draw.asleep * ASLEEP_SPREAD, supply.draw.asleep, "A",
        words="in the range for small currents; bridge the meter while it wakes, or its resistance restarts the board",
        cause_high=(*much, "a pin is left driving against a pull", "the board's power lamp or USB bridge draws"),
        cause_none=("the meter's fuse is blown", "the supply is off"),
    )  # fmt: skip
    yield Step(
        "", "asleep", "Current asleep", "Let the firmware go to deep sleep, meter in the wire of the source.", "ammeter", expects=(expect,),
        why=("sum of all consumers asleep, supply report: " + ", ".join(f"{c.name} {shown(c.draw.asleep, 'A')}" for c in shares[:4]),),
    )  # fmt: skip


def dip_step(rig: Rig) -> Iterator[Step]:
    """Loads that must stay off while the supply sinks and comes back.

    Parameters
    ----------
    rig : the build [-]
    """
    view = rig.build.plan.view
    held = [placed for placed in rig.build.plan.placed if must_stay_off(placed)]
    if not held:
        return
    fact = view.chip.electrical.brownout_v
    limit = f"the chip resets itself below {fact.value:g} V [{view.chip_cite(fact)}]" if fact is not None and fact.value else (
        fact.text if fact is not None and fact.text else "nobody gives the voltage below which the chip resets itself"
    )  # fmt: skip
    expects, when = [], "supply sinks and returns"
    for placed in held:
        low, high, none = of_pin(rig, placed)
        at = control_of(rig, placed) or rig.pins.get(placed.line.id)
        words = f"{label(at, rig)}: the load stays off all the way"
        if placed.line.asks.safe_level == "low":
            off_v = load_of(placed.line.asks, view, placed.circuit).off_v
            expects.append(Expect(at, rig.ground, when, "voltage", None, off_v, 0.0, "V", "scope only", words, (), high, none))
        else:
            expects.append(Expect(at, None, when, "sight", None, None, None, "", "scope only", words, low, (), none))
    yield Step(
        "", "restart", "The supply dips",
        "Loads unplugged. With an adjustable supply, go down to nothing within a second and back up; then again with a short dip. Where "
        "there is none, a USB plug pulled and put back does.",
        "scope", lines=tuple(placed.line.id for placed in held), expects=tuple(expects), why=(limit, "timeline, restart"), stop=True,
    )  # fmt: skip
