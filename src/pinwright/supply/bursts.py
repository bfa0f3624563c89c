"""What a capacitor can carry: the frames of a radio, which last milliseconds, and nothing that runs for seconds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.circuits.holdup import cap_for_current
from pinwright.fitting.rank import Job
from pinwright.supply.budget import CHIP_WORDS
from pinwright.supply.endurance import converted

if TYPE_CHECKING:
    from pinwright.supply.report import SupplyReport

__all__ = ["FRAME_S", "bulk_capacitor", "frames_a", "in_reach"]

FRAME_S = 5e-3
"""A radio frame nobody gives a length for [s] (common practice, no source)."""
BULK_F = (10e-6, 2200e-6)
"""Capacitors a maker puts across a supply [F] (common practice, no source)."""


def frames_a(report: SupplyReport, job: Job) -> float:
    """Current that sending adds to listening, as the source sees it [A]; 0 without a radio."""
    if not job.setting.radio:
        return 0.0
    more = sum(c.draw.burst - c.draw.awake for c in report.fed if c.words == CHIP_WORDS)
    return min(more * converted(report.stages), report.draw.burst - report.draw.awake)


def in_reach(c_f: float) -> float | None:
    """The capacitance [F] if a maker can buy and charge it, the least usual one if less would do, else ``None``."""
    return None if c_f > BULK_F[1] else max(c_f, BULK_F[0])


def bulk_capacitor(lacking_a: float, dip_v: float) -> float | None:
    """Capacitor that carries what a source lacks through a frame [F], ``None`` where no usual one does.   [C = I t / ΔV]"""
    return in_reach(cap_for_current(lacking_a, FRAME_S, dip_v)) if lacking_a > 0 and dip_v > 0 else None
