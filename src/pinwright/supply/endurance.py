"""How long a battery lasts, and what to change first to make it last longer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.circuits.batteries import average_current, battery_life
from pinwright.circuits.window import shown
from pinwright.fitting.source import Source
from pinwright.supply.budget import CHIP_WORDS, Consumer, Draw, total
from pinwright.supply.rails import Stage

__all__ = ["Endurance", "converted", "endurance_of"]

_DAY_S = 86400.0
USABLE = 0.85
"""Share of a battery's charge to count on: age, cold and cut-off take the rest (common practice, no source)."""
DEFAULT_EVERY_S, DEFAULT_AWAKE_S = 600.0, 5.0
"""A device that sleeps and does not say how often: awake 5 s every 10 minutes (our choice)."""


@dataclass(frozen=True, slots=True)
class Endurance:
    """Mean current [A] and life [s]; ``shares`` lists who takes how much of the charge, biggest first."""

    mean_a: float
    life_s: float
    awake_share: float
    shares: tuple[tuple[str, float], ...]
    cycle_words: str
    advice: str

    @property
    def words(self) -> str:
        """Life in the unit people use."""
        return f"about {life_words(self.life_s)} at {shown(self.mean_a, 'A')} on average ({self.cycle_words})"


def life_words(life_s: float) -> str:
    """A time in hours, days, months or years."""
    for unit, seconds in (("years", 365.25 * _DAY_S), ("months", 30.4 * _DAY_S), ("days", _DAY_S)):
        if life_s >= 2 * seconds:
            return f"{life_s / seconds:.2g} {unit}"
    return f"{life_s / 3600:.2g} hours"


def endurance_of(
    source: Source,
    draw: Draw,
    consumers: Sequence[Consumer],
    stages: Sequence[Stage],
    sleeping: bool,
    every_s: float | None,
    awake_s: float | None,
) -> Endurance | None:
    """Life of a battery with the device's cycle, or ``None`` for a source that is not emptied."""
    if source.capacity_ah is None:
        return None
    if sleeping:
        period, awake = every_s or DEFAULT_EVERY_S, awake_s or DEFAULT_AWAKE_S
        assumed = "" if every_s and awake_s else ", assumed"
        words = f"awake {awake:g} s of every {period:g} s{assumed}"
        share = min(1.0, awake / period)
    else:
        words, share, period = "always awake", 1.0, 1.0
    mean = average_current([draw.awake, draw.asleep], [period * share, period * (1 - share)]) if share < 1 else draw.awake
    if mean <= 0:
        return None
    life = battery_life(source.capacity_ah * USABLE, mean, source.self_discharge)
    shares = _shares(consumers, stages, share)
    return Endurance(mean, life, share, shares, words, _advice(consumers, stages, share, shares))


def _shares(consumers: Sequence[Consumer], stages: Sequence[Stage], share: float) -> tuple[tuple[str, float], ...]:
    """Who takes which part of the charge; converters count with what their consumers take."""
    mean = {c.name: 0.0 for c in consumers}
    for consumer in consumers:
        as_seen = converted(stages) if consumer.rail == "logic" else 1.0
        mean[consumer.name] += as_seen * (consumer.draw.awake * share + consumer.draw.asleep * (1 - share))
    for stage in stages:
        mean[f"regulator for {stage.regulator.gives}"] = stage.regulator.i_quiescent_a or 0.0
    whole = sum(mean.values())
    ranked = sorted(((name, amps / whole) for name, amps in mean.items() if amps > 0), key=lambda pair: (-pair[1], pair[0]))
    return tuple(ranked)


def converted(stages: Sequence[Stage]) -> float:
    """Current a battery gives for each ampere of the logic rail, through converters at its lowest voltage [-]."""
    factor = 1.0
    for stage in stages:
        if stage.regulator.efficiency:
            factor *= stage.regulator.v_out_v / (min(stage.regulator.efficiency, 0.999) * max(stage.v_in.low, 0.1))
    return factor


def _advice(consumers: Sequence[Consumer], stages: Sequence[Stage], share: float, shares: tuple[tuple[str, float], ...]) -> str:
    """The change that helps most."""
    if not shares:
        return ""
    name, part = shares[0]
    percent = f"{part * 100:.0f} % of the charge"
    if name.startswith("regulator for"):
        when = ", most of it while the device sleeps" if share < 0.5 else ""
        return f"{name} takes {percent}{when}: feed the rail from a regulator with microamperes of its own current"
    mine = [c for c in consumers if c.name == name]
    who, whole = mine[0], total(mine)
    asleep, awake = whole.asleep * (1 - share), whole.awake * share
    if who.name.startswith("divider"):
        return f"the {name} takes {percent}: switch it off between readings, or take ten times the resistances and a capacitor at the pin"
    if who.name.startswith("pull-up at"):
        return f"the {name} takes {percent}, for its contact is closed at rest: take a larger resistor, or a contact open at rest"
    if asleep > awake and who.words != CHIP_WORDS:
        return f"{name} takes {percent}, most of it while the device sleeps: switch its supply off, or remove it"
    if who.words == CHIP_WORDS and asleep <= awake:
        change = "wake less often or for less time" if share < 1 else "let it sleep between its tasks"
        return f"the chip takes {percent}, most of it awake: {change}"
    return f"{name} takes {percent}"
