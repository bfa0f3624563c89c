"""Show the supply of a wiring: who takes what from which rail, and what source and regulators have left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.circuits.window import shown
from pinwright.cli.console import bullet, heading, table, text

if TYPE_CHECKING:
    from rich.console import Console

    from pinwright.supply.report import SupplyReport

__all__ = ["show_supply"]

MOST_CONSUMERS = 8
"""Consumers listed one by one; the rest is summed up."""


def show_supply(out: Console, report: SupplyReport) -> None:
    """Print the budget by consumer, then source, regulators and endurance in a line each."""
    heading(out, f"Supply: {text(report.source.words)}")
    made = table(("consumer", "left"), ("rail", "left"), ("asleep", "right"), ("awake", "right"), ("burst", "right"))
    ranked = sorted(report.consumers, key=lambda c: -c.draw.burst)
    for consumer in ranked[:MOST_CONSUMERS]:
        draw = [shown(amps, "A") if consumer.known else "?" for amps in (consumer.draw.asleep, consumer.draw.awake, consumer.draw.burst)]
        made.add_row(text(consumer.name), consumer.rail, *draw)
    rest = ranked[MOST_CONSUMERS:]
    if rest:
        sums = [shown(sum(getattr(c.draw, state) for c in rest), "A") for state in ("asleep", "awake", "burst")]
        made.add_row(f"{len(rest)} more", "", *sums)
    made.add_row("from the source", "", *(shown(amps, "A") for amps in (report.draw.asleep, report.draw.awake, report.draw.burst)))
    out.print(made)
    if report.source.i_max_a is not None:
        left = report.source.i_max_a - report.draw.burst
        bullet(out, f"the source gives {shown(report.source.i_max_a, 'A')}: {shown(left, 'A')} left in a burst")
    for stage in report.stages:
        regulator = stage.regulator
        said = [f"{shown(regulator.i_max_a - stage.draw.burst, 'A')} left of {shown(regulator.i_max_a, 'A')}"]
        if stage.headroom_v is not None:
            said.append(f"{shown(stage.headroom_v, 'V')} of headroom")
        if stage.junction_c is not None:
            said.append(f"junction {stage.junction_c:.0f} of {stage.junction_max_c:.0f} °C")
        bullet(out, f"{regulator.takes} to {regulator.gives}: {', '.join(said)}")
    if report.endurance is not None:
        bullet(out, f"battery: {report.endurance.words}")
        if report.endurance.advice:
            bullet(out, report.endurance.advice)
    out.print()
