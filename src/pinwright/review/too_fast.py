"""Is a part asked to follow what it cannot?  PWM or timed pulses on switches the catalogue calls slow."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Fact, Part
from pinwright.quantities import show_quantity
from pinwright.review.common import found
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]


def _too_fast(wiring: Wiring) -> Iterator[Finding]:
    kinds = {device.name: device.kind for device in wiring.devices}
    for wire in wiring.wires:
        part = wiring.catalogue_parts.get(kinds.get(wire.line.part, ""))
        limit = _limit(part) if part else None
        if part is None or limit is None or wire.line.asks.direction != "out":
            continue
        most_hz, fact = limit
        needs = wire.line.asks.needs
        wanted_hz = needs.pwm_min_hz or 0.0
        if needs.exact_pulses or (wire.line.asks.signal == "pwm" and wanted_hz > most_hz):
            yield _finding(wire, part, fact, most_hz, wanted_hz)


def _limit(part: Part) -> tuple[float, Fact] | None:
    """Fastest switching [Hz] the part's data allow, and the fact that says so."""
    fastest, slowest = part.facts.get("pwm_max_hz"), part.facts.get("slow_pwm_s")
    if fastest is not None and fastest.value:
        return fastest.value, fastest
    return (1.0 / slowest.value, slowest) if slowest is not None and slowest.value else None


def _finding(wire: Wire, part: Part, fact: Fact, most_hz: float, wanted_hz: float) -> Finding:
    wish = f"is to switch {show_quantity(wanted_hz, 'Hz')}" if wanted_hz else "is to switch at exact moments"
    title = next((source.title for source in part.source if source.id == fact.src.split(";")[0].strip()), part.title)
    return found(
        "part-too-slow",
        "refuse",
        wire,
        [
            f"{wire.line.id} {wish}",
            f"{part.title} follows {show_quantity(most_hz, 'Hz')} at most" + (f": {fact.cond}" if fact.cond else ""),
            "the load does not do what the firmware tells it",
        ],
        "Take a part made for it, or switch it slowly: on for some time, off for some time.",
        {"frequency": f"{show_quantity(wanted_hz, 'Hz') if wanted_hz else 'exact pulses'} against {show_quantity(most_hz, 'Hz')}"},
        [f"{title} (recalled)" if fact.seen == "memory" else title],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "part-too-slow",
        "PWM or timed pulses on a part that only switches slowly",
        "the load flickers, heats or does not follow",
        "the part's data, named in the finding",
        _too_fast,
    ),
)
