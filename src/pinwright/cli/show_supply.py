"""Show the supply of a wiring: who takes what from which rail, and what source and regulators have left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.circuits.window import shown
from pinwright.cli.console import bullet, heading, table, text
from pinwright.supply.budget import Draw, total

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from pinwright.supply.budget import Consumer
    from pinwright.supply.report import SupplyReport

__all__ = ["show_supply"]

MOST_CONSUMERS = 8
"""Consumers listed one by one; the rest is summed up."""


def show_supply(out: Console, report: SupplyReport) -> None:
    """Print the budget by consumer, then source, regulators and endurance in a line each."""
    heading(out, f"Supply: {text(report.source.words)}")
    _budget(out, report)
    if report.source.i_max_a is not None:
        left = _left(report.source.i_max_a, report.draw.burst)
        bullet(out, f"the source gives {shown(report.source.i_max_a, 'A')}: {left} in a burst")
    for stage in (*report.stages, *report.side_stages):
        regulator = stage.regulator
        said = [f"{_left(regulator.i_max_a, stage.draw.burst)} of {shown(regulator.i_max_a, 'A')}"]
        if stage.headroom_v is not None:
            said.append(f"{shown(abs(stage.headroom_v), 'V')} of headroom{' lacking' if stage.headroom_v < 0 else ''}")
        if stage.junction_c is not None:
            said.append(f"junction {stage.junction_c:.0f} of {stage.junction_max_c:.0f} °C")
        bullet(out, f"{regulator.takes} to {regulator.gives}: {', '.join(said)}")
    if report.endurance is not None:
        bullet(out, f"battery: {report.endurance.words}")
        if report.endurance.advice:
            bullet(out, report.endurance.advice)
    out.print()


def _left(can_a: float, takes_a: float) -> str:
    """What is left, or lacking, as words."""
    return f"{shown(abs(can_a - takes_a), 'A')} {'left' if can_a >= takes_a else 'lacking'}"


def _budget(out: Console, report: SupplyReport) -> None:
    """The table of currents: what the source feeds adds up to the total; what has a supply of its own stands below."""
    states = ("asleep", "awake", "burst") if report.is_sleeping else ("awake", "burst")
    made = table(("consumer", "left"), ("rail", "left"), *((state, "right") for state in states))

    def amps(draw: Draw) -> list[str]:
        return [shown(getattr(draw, state), "A") for state in states]

    def rows(consumers: Iterable[Consumer]) -> None:
        ranked = sorted(consumers, key=lambda c: -c.draw.burst)
        for consumer in ranked[:MOST_CONSUMERS]:
            made.add_row(text(consumer.name), consumer.rail, *(amps(consumer.draw) if consumer.known else ["?"] * len(states)))
        if ranked[MOST_CONSUMERS:]:
            made.add_row(f"{len(ranked) - MOST_CONSUMERS} more", "", *amps(total(ranked[MOST_CONSUMERS:])))

    rows(report.fed)
    itself = Draw()
    for stage in report.stages:
        own = Draw(*(stage.regulator.i_quiescent_a or 0.0,) * 3)
        itself = itself + own
        if own.burst:
            made.add_row(f"regulator {stage.regulator.takes} to {stage.regulator.gives}", "itself", *amps(own))
    counted = total(report.fed) + itself
    more = Draw(report.draw.asleep - counted.asleep, report.draw.awake - counted.awake, report.draw.burst - counted.burst)
    if any(stage.regulator.efficiency for stage in report.stages):
        made.add_row("conversion", "", *(f"{'-' if value < 0 else ''}{shown(abs(value), 'A')}" for value in _of(more, states)))
    made.add_row("from the source", "", *amps(report.draw))
    apart = [c for c in report.consumers if c.rail in report.others]
    for consumer in sorted(apart, key=lambda c: -c.draw.burst):
        name = f"{text(consumer.name)} (own supply)"
        made.add_row(name, consumer.rail, *(amps(consumer.draw) if consumer.known else ["?"] * len(states)))
    out.print(made)


def _of(draw: Draw, states: Iterable[str]) -> list[float]:
    return [getattr(draw, state) for state in states]
