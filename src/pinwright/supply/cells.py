"""Findings about batteries: too few cells, voltage lost inside them, how long they last, what they need to be safe."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from pinwright.circuits.batteries import CAUTION_LITHIUM, CAUTION_PRIMARY
from pinwright.circuits.holdup import burst_capacitor
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.fitting.rank import Job
from pinwright.review.common import PRACTICE, board_finding
from pinwright.review.model import Finding, Wiring
from pinwright.supply.bursts import FRAME_S, frames_a, in_reach

if TYPE_CHECKING:
    from pinwright.supply.report import SupplyReport

__all__ = ["capacity", "cells", "cycle", "life", "low", "sag"]

CAUTION_ROUND = "Never charge primary cells, never mix old and new ones, and take cells out of a device that lies idle: empty ones leak."
MUCH_CHARGE = 1.5
"""A cell of more charge than this many times the catalogue's is another cell, or several (our choice)."""


def least_v(report: SupplyReport, wiring: Wiring) -> float:
    """Lowest voltage of the source the chip still works from [V].

    The chip's own limit with the diode, the dropout and the wire before it; a regulator that feeds another one must keep its
    output; where a regulator steps up too, the pin's range says it.
    """
    chip_v = wiring.view.chip.electrical.vdd_min_v.value or 0.0
    pin_v = (report.entry.supply.v_min_v or 0.0) if report.entry.supply else 0.0
    if not report.stages:
        return max(chip_v, pin_v) + report.wire_drop_v
    first = report.stages[0].regulator
    if first.dropout_v is None:
        return pin_v + report.wire_drop_v
    out_v = chip_v if len(report.stages) == 1 else first.v_out_v
    return max(out_v + first.drop_v + first.dropout_v, pin_v) + report.wire_drop_v


def low(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A battery whose voltage at rest is too low already: no capacitor helps."""
    source, needs = report.source, least_v(report, wiring)
    if not source.is_battery or report.entry.supply is None:
        return
    if source.v.middle >= needs:
        if source.v.low < needs and not report.stages:
            because = [
                f"{source.words} falls below {needs:.3g} V before it is empty",
                "the board then stops or runs beyond its data sheet, and part of the charge stays unused",
            ]
            fix = "Count on less life than the charge promises, or put a boost module before the board."
            yield board_finding("supply-low", "note", because, fix, sources=[PRACTICE])
        return
    count = math.ceil(needs / (source.v.middle / source.cells) - 1e-9)
    because = [f"{source.words} has {source.v.middle:.3g} V at rest", f"the board needs {needs:.3g} V at {report.entry.pin}"]
    fix = f"Take {count} cells in series if the pin stands them when new, or put a boost module before the board."
    numbers = {"lacking": f"{shown(needs - source.v.middle, 'V')} at rest"}
    yield board_finding("supply-low", "caution", because, fix, numbers=numbers, sources=[PRACTICE])


def sag(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A battery that has the voltage at rest and loses it inside while the device works."""
    source, needs, burst = report.source, least_v(report, wiring), report.draw.burst
    rest = source.v.middle
    if not source.is_battery or not source.r_ohm or report.entry.supply is None or rest < needs:
        return
    left = max(rest - burst * source.r_ohm, 0.0)
    if left >= needs:
        return
    because = [
        f"a burst of {shown(burst, 'A')} drops {shown(burst * source.r_ohm, 'V')} in the battery itself",
        f"that leaves {left:.3g} V of {rest:.3g} V, and the board needs {needs:.3g} V",
    ]
    farads = _carries(burst, frames_a(report, job), rest - needs, source.r_ohm)
    fix = "Take cells that give more current, or several in parallel"
    if farads is not None:
        fix += f", or put at least {shown(farads, 'F')} across the supply for the radio's frames ({shown(FRAME_S, 's')} each)"
    numbers = {"sag": f"{shown(needs - left, 'V')} lacking"}
    yield board_finding("supply-sag", "caution", because, f"{fix}.", numbers=numbers, sources=[PRACTICE])


def _carries(burst_a: float, frames: float, spare_v: float, r_ohm: float) -> float | None:
    """Capacitor [F] that keeps the battery above what is needed while the radio sends, if one can.

    What lasts longer than a frame the battery must carry alone: its drop comes off the spare voltage first.
    """
    dip_v = spare_v - (burst_a - frames) * r_ohm
    if frames <= 0 or dip_v <= 0:
        return None
    try:
        return in_reach(burst_capacitor(frames, FRAME_S, dip_v, r_ohm))
    except OutOfRange:
        return None


def life(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A battery emptied by something else than the chip; how long it lasts stands with the budget."""
    source, lasts = report.source, report.endurance
    if lasts is None:
        if source.is_battery and source.capacity_ah is None:
            because = [f"nobody gives the charge of {source.words}", "how long it lasts cannot be told"]
            fix = 'Say it in the brief: capacity = "2000 mAh".'
            yield board_finding("supply-life", "note", because, fix, sources=[PRACTICE])
        return
    chip = wiring.view.chip.part
    if not job.setting.sleeping or not lasts.shares or lasts.shares[0][0] == chip or lasts.shares[0][1] <= 0.5:
        return
    because = [lasts.advice, f"the chip itself takes {dict(lasts.shares).get(chip, 0.0) * 100:.0f} %"]
    shares = {name: f"{share * 100:.0f} %" for name, share in lasts.shares[:4]}
    fix = "Otherwise the battery goes into what does no work."
    yield board_finding("supply-life", "caution", because, fix, numbers=shares, sources=[PRACTICE])


def cycle(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A cycle of sleep in the brief of a device that does not sleep."""
    use = job.file.brief.use
    if job.setting.sleeping or (use.wake_every_s is None and use.awake_for_s is None):
        return
    named = " and ".join(key for key, value in (("wake_every", use.wake_every_s), ("awake_for", use.awake_for_s)) if value is not None)
    because = [f"the brief gives {named}", "sleeping is not true, so the device counts as always awake"]
    yield board_finding("supply-cycle", "note", because, f"Add sleeping = true, or leave {named} out.", sources=["the brief"])


def capacity(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A charge one cell of the kind cannot hold."""
    part, given = report.source.part, job.file.brief.supply.capacity_ah
    fact = part.facts.get("capacity_c") if part is not None else None
    most_c = max((v for v in (fact.max, fact.value, fact.typ) if v is not None), default=None) if fact is not None else None
    if not report.source.is_battery or part is None or given is None or not most_c or given <= MUCH_CHARGE * most_c / 3600:
        return
    because = [f"the brief gives {given:g} Ah", f"{part.title}: one holds {most_c / 3600:.3g} Ah at most"]
    fix = "Look at the label again: the charge of cells in series is that of one; cells in parallel add up."
    yield board_finding("supply-charge", "note", because, fix, sources=["catalogue, charge of the cell"])


def cells(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """What cells need to be safe."""
    source = report.source
    if source.is_lithium:
        yield board_finding("supply-cells", "caution", [f"the device runs on {source.words}"], CAUTION_LITHIUM, sources=[PRACTICE])
    elif source.is_battery:
        is_coin = source.part is not None and any("swallow" in caution.text for caution in source.part.caution)
        fix = CAUTION_PRIMARY if is_coin else CAUTION_ROUND
        yield board_finding("supply-cells", "note", [f"the device runs on {source.words}"], fix, sources=[PRACTICE])
