"""PWM: can the chip make it on these pins, all lines at the same time?"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.facts.model import PwmPool
from pinwright.fitting.lines import Asks
from pinwright.quantities import show_quantity
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]

_SLACK = 1.001
"""Frequencies that differ less than this are the same."""
_Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to make a PWM: pool, channel (empty: any) and the frequencies that suit pool and line [Hz]."""

    pool: PwmPool
    channel: str
    ranges: tuple[_Range, ...]

    @property
    def timer(self) -> str:
        """The hardware timer behind it."""
        return self.pool.timer_id or self.pool.id


# ------------------------------------------------------------------------------ one line


def _pool_ranges(pool: PwmPool, scale: float) -> list[_Range]:
    """Frequencies [Hz] a pool can make, its clock scaled to the board's."""
    clock = pool.clock_hz * scale
    if pool.fixed_hz is not None:
        return [(pool.fixed_hz * scale,) * 2]
    if pool.hz_choices:
        return [(hz * scale,) * 2 for hz in pool.hz_choices]
    slowest = pool.hz_min_hz if pool.hz_min_hz is not None else clock / (pool.divider_max * 2**pool.counter_bits)
    fastest = pool.hz_max_hz if pool.hz_max_hz is not None else clock / 2
    return [(slowest, fastest)]


def _bits(pool: PwmPool, hz: float, scale: float) -> int:
    """Steps of duty at a frequency: floor(log2(clock / f)), at most the counter's bits."""
    return min(pool.counter_bits, math.floor(math.log2(pool.clock_hz * scale / hz) + 1e-9))


def _suiting(pool: PwmPool, asks: Asks, scale: float, mode_hz: float | None) -> tuple[_Range, ...]:
    """Frequencies [Hz] of a pool that suit the line, with enough bits; only the decided one where a plan has decided."""
    needs = asks.needs
    if pool.square_only and not needs.square_wave:
        return ()
    low, high = (needs.pwm_min_hz or 0.0) / _SLACK, (needs.pwm_max_hz or math.inf) * _SLACK
    if mode_hz is not None:
        low, high = max(low, mode_hz / _SLACK), min(high, mode_hz * _SLACK)
    most = pool.clock_hz * scale / 2 ** (needs.pwm_bits or 1) * _SLACK
    if (needs.pwm_bits or 1) > pool.counter_bits:
        return ()
    met = [(max(low, slow), min(high, fast, most)) for slow, fast in _pool_ranges(pool, scale)]
    return tuple((slow, fast) for slow, fast in met if slow <= fast)


def _mode_hz(mode: str) -> float | None:
    """Frequency [Hz] a plan has decided (``1000 Hz`` or ``1000 Hz TC1``)."""
    try:
        return float(mode.split()[0]) if mode else None
    except ValueError:
        return None


def _ways(wiring: Wiring, wire: Wire, decided: bool = True) -> list[_Way]:
    """All ways to make a line's PWM on its pin."""
    pools = {pool.id: pool for pool in wiring.view.chip.pwm}
    words = wire.mode.split() if decided else []
    ways = []
    for use in wire.place.pad.pwm:
        pool = pools[use.pool]
        if len(words) > 2 and pool.timer_id and words[2] != pool.id:
            continue
        ranges = _suiting(pool, wire.line.asks, wiring.view.clock_scale, _mode_hz(wire.mode) if decided else None)
        if ranges:
            ways.append(_Way(pool, use.channel, ranges))
    return ways


def _pwm_wires(wiring: Wiring) -> list[Wire]:
    return [wire for wire in wiring.wires if wire.line.asks.signal == "pwm" and wire.line.asks.direction == "out"]


def _wanted_words(asks: Asks) -> str:
    low, high = asks.needs.pwm_min_hz, asks.needs.pwm_max_hz
    hz = (
        ""
        if low is None and high is None
        else f" at {show_quantity(low or 0, 'Hz')}"
        if low == high
        else f" between {show_quantity(low or 0, 'Hz')} and {show_quantity(high or math.inf, 'Hz')}"
    )
    return f"PWM{hz}" + (f" with {asks.needs.pwm_bits} bits" if asks.needs.pwm_bits else "")


def _pwm(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for wire in _pwm_wires(wiring):
        cite = view.column_cite("pwm", wire.place.pad)
        if not wire.place.pad.pwm:
            yield found(
                "pwm-none",
                "refuse",
                wire,
                [f"{wire.place.name} cannot make PWM", f"{wire.line.id} needs {_wanted_words(wire.line.asks)}"],
                "Move the line to a PWM pin.",
                sources=[cite],
            )
            continue
        ways = _ways(wiring, wire)
        if not ways:
            yield _unreachable(wiring, wire, cite)
        elif all(way.pool.kind == "software" for way in ways):
            pool = ways[0].pool
            yield found(
                "pwm-software",
                "note",
                wire,
                [f"PWM on {wire.place.name} is made in software", pool.note or "its edges wait for whatever else the firmware does"],
                "Fine for slow dimming and servos; take a hardware PWM pin if it flickers or jitters.",
                sources=[view.chip_cite(pool)],
            )


def _unreachable(wiring: Wiring, wire: Wire, cite: str) -> Finding:
    view = wiring.view
    pools = {pool.id: pool for pool in view.chip.pwm}
    able = []
    for pool in (pools[use.pool] for use in wire.place.pad.pwm):
        if pool.square_only and not wire.line.asks.needs.square_wave:
            able.append("tones")
            continue
        able += [
            f"{show_quantity(slow, 'Hz')}" if slow == fast else f"{show_quantity(slow, 'Hz')} to {show_quantity(fast, 'Hz')}"
            for slow, fast in _pool_ranges(pool, view.clock_scale)
        ]
    most = max(_bits(pools[use.pool], wire.line.asks.needs.pwm_max_hz or 1000.0, view.clock_scale) for use in wire.place.pad.pwm)
    decided = f" (the plan says {wire.mode})" if wire.mode else ""
    return found(
        "pwm-reach",
        "refuse",
        wire,
        [
            f"{wire.line.id} needs {_wanted_words(wire.line.asks)}{decided}",
            f"{wire.place.name} makes {joined_names(able)}",
            "no frequency suits both with enough steps",
        ],
        "Move the line to another PWM pin, or allow another frequency or fewer bits.",
        {"frequency": joined_names(able), "bits at the fastest": str(most)},
        [cite, view.chip_cite(pools[wire.place.pad.pwm[0].pool])],
    )


# ------------------------------------------------------------------------------ all lines together


def _together(wiring: Wiring) -> Iterator[Finding]:
    """All PWM lines at once: named channels, numbers of channels, frequencies of each timer."""
    table = [(wire, ways) for wire in _pwm_wires(wiring) if (ways := _ways(wiring, wire))]
    while table and not _possible([ways for _, ways in table]):
        clash = list(table)
        for entry in table:  # leave out whatever the clash does not need
            rest = [other for other in clash if other is not entry]
            if not _possible([ways for _, ways in rest]):
                clash = rest
        yield _clash(wiring, clash)
        table = [entry for entry in table if entry is not clash[-1]]


def _at_once(wiring: Wiring) -> Iterator[Finding]:
    yield from _together(wiring)
    yield from _numbered(wiring)


def _possible(rows: list[list[_Way]]) -> bool:
    """Whether every line can have one of its ways."""
    return _place(sorted(rows, key=len), [])


def _place(rows: list[list[_Way]], taken: list[_Way]) -> bool:
    if not rows:
        return True
    # Ways of a pool that differ only in the line are tried once each; a pad has few.
    return any(_holds([*taken, way]) and _place(rows[1:], [*taken, way]) for way in rows[0])


def _holds(taken: list[_Way]) -> bool:
    named = Counter((way.pool.id, way.channel) for way in taken if way.channel)
    if any(number > 1 for number in named.values()):
        return False
    if any(sum(way.pool.id == pool.id for way in taken) > pool.channels for pool in {way.pool.id: way.pool for way in taken}.values()):
        return False
    for timer in {way.timer for way in taken}:
        ways = [way for way in taken if way.timer == timer]
        if len({way.pool.id for way in ways}) > 1 and ways[0].pool.timers == 1:
            return False
        if not _enough([way.ranges for way in ways], ways[0].pool.timers):
            return False
    return True


def _enough(wanted: list[tuple[_Range, ...]], frequencies: int) -> bool:
    """Whether so many frequencies can serve every line; the upper ends of the ranges are all that need trying."""
    if not wanted:
        return True
    if frequencies == 0:
        return False
    first = min(wanted, key=lambda ranges: max(fast for _, fast in ranges))
    points = {fast for ranges in wanted for _, fast in ranges if any(slow / _SLACK <= fast <= high * _SLACK for slow, high in first)}
    return any(_enough([ranges for ranges in wanted if not _covers(ranges, hz)], frequencies - 1) for hz in sorted(points))


def _covers(ranges: tuple[_Range, ...], hz: float) -> bool:
    return any(slow / _SLACK <= hz <= fast * _SLACK for slow, fast in ranges)


def _clash(wiring: Wiring, clash: list[tuple[Wire, list[_Way]]]) -> Finding:
    wires = [wire for wire, _ in clash]
    pools = {way.pool.id: way.pool for _, ways in clash for way in ways}
    names = joined_names(wire.line.id for wire in wires)
    places = joined_names(wire.place.name for wire in wires)
    channels = {(way.pool.id, way.channel) for _, ways in clash for way in ways}
    if len(clash) == 2 and len(channels) == 1 and next(iter(channels))[1]:
        because = [f"{places} are one and the same PWM channel ({' '.join(next(iter(channels)))})", f"{names} would always do the same"]
    elif len(pools) == 1 and len(clash) > next(iter(pools.values())).channels:
        pool = next(iter(pools.values()))
        because = [f"{names} need {len(clash)} PWM outputs", f"{pool.id} has {pool.channels}"]
    else:
        wants = [f"{wire.line.id} needs {_wanted_words(wire.line.asks)}" for wire in wires]
        because = [
            *wants,
            f"{places} share {joined_names(way.timer for _, ways in clash for way in ways)}, which cannot run all of that at once",
            *(pool.note for pool in pools.values() if pool.kind == "software" and pool.note),
        ]
    return found(
        "pwm-together",
        "refuse",
        wires[-1],
        because,
        f"Move {wires[-1].line.id} to a pin of another PWM timer.",
        sources=[wiring.view.chip_cite(pool) for pool in pools.values()],
    )


# ------------------------------------------------------------------------------ channels finished firmware names


def _numbered(wiring: Wiring) -> Iterator[Finding]:
    """Channels the firmware numbers itself: one line each, and neighbours on one timer at one frequency."""
    pools = {pool.id: pool for pool in wiring.view.chip.pwm}
    told: list[tuple[Wire, PwmPool, int]] = []
    for wire in _pwm_wires(wiring):
        free = [pools[use.pool] for use in wire.place.pad.pwm if not use.channel]
        number = wire.line.asks.pwm_channel
        if number is None or not free:
            continue
        pool = free[0]
        if number >= pool.channels:
            yield _misnumbered(wiring, wire, pool, number)
        told.append((wire, pool, number))
    for place, (wire, pool, number) in enumerate(told):
        for other, beside, its in told[place + 1 :]:
            if pool.id == beside.id and number // pool.neighbours == its // pool.neighbours:
                yield from _on_one_timer(wiring, (wire, number), (other, its), pool)


def _misnumbered(wiring: Wiring, wire: Wire, pool: PwmPool, number: int) -> Finding:
    return found(
        "pwm-together",
        "refuse",
        wire,
        [f"{wire.line.id} is said to use channel {number}", f"{pool.id} has {pool.channels}, counted from 0"],
        f"Give it a channel from 0 to {pool.channels - 1}.",
        sources=[wiring.view.chip_cite(pool)],
    )


def _on_one_timer(wiring: Wiring, one: tuple[Wire, int], other: tuple[Wire, int], pool: PwmPool) -> Iterator[Finding]:
    (first, number), (second, its) = one, other
    scale = wiring.view.clock_scale
    ranges = [_suiting(pool, wire.line.asks, scale, None) for wire in (first, second)]
    same = number == its
    if not same and _enough(ranges, 1):
        return
    names = f"{first.line.id} and {second.line.id}"
    because = [f"{first.line.id} uses channel {number} of {pool.id}, {second.line.id} channel {its}"]
    if same:
        because.append("one channel has one duty and one frequency: both would always do the same")
    else:
        because += [
            f"{first.line.id} needs {_wanted_words(first.line.asks)}, {second.line.id} needs {_wanted_words(second.line.asks)}",
            f"channels {min(number, its)} and {max(number, its)} run on one timer, so both get the frequency that was set last",
        ]
    away = (max(number, its) // pool.neighbours + 1) * pool.neighbours
    away = away if away < pool.channels else (min(number, its) // pool.neighbours - 1) * pool.neighbours
    yield found(
        "pwm-together",
        "refuse",
        second,
        because,
        f"Give {names} channels on two timers, for example {number} and {away}, or let the core choose channels by frequency.",
        sources=[wiring.view.chip_cite(pool)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "pwm-none",
        "PWM on a pin that makes it, at the frequency and with the steps needed (also pwm-reach, pwm-software)",
        "the load flickers, hums or stands still",
        "PWM table of the chip, named in the finding",
        _pwm,
    ),
    Rule(
        "pwm-together",
        "all PWM lines at once: one frequency a timer, one line a channel, also where finished firmware names channels by number",
        "lines disturb each other",
        "PWM table of the chip, named in the finding",
        _at_once,
    ),
)
