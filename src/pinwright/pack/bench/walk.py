"""The order of the self test, and what it drives: firmware and bench sheet both read it here."""

from __future__ import annotations

from collections.abc import Iterable

from pinwright.fitting.plan import Placed
from pinwright.pack.build.model import Build

__all__ = ["LOAD_SHOWN_S", "feed_of", "must_stay_off", "self_test_duty", "walk"]

LOAD_SHOWN_S = 5.0
"""Longest the self test leaves a load that must stay off on [s] (our choice; the firmware's own figure is held against it in the tests)."""

HALF = 0.5
SERVO_PERIOD_S, SERVO_MIDDLE_S = 20e-3, 1.5e-3
"""Period and middle of the pulses a hobby servo obeys [s] (common practice, no source)."""


def walk(build: Build) -> tuple[str, ...]:
    """Line ids in the order of the self test: part by part as planned; parts with a load that must stay off come last.

    What switches a part's measuring on comes before the reading it is for.

    Parameters
    ----------
    build : what is built [-]
    """
    parts: dict[str, list[Placed]] = {}
    for placed in build.plan.placed:
        parts.setdefault(placed.line.part, []).append(placed)
    ordered = sorted(parts.values(), key=lambda lines: any(map(must_stay_off, lines)))  # stable: otherwise as planned
    return tuple(placed.line.id for lines in ordered for placed in _feeds_first(lines))


def _feeds_first(lines: list[Placed]) -> list[Placed]:
    found: list[Placed] = []
    for placed in lines:
        feed = feed_of(placed, lines)
        found += [each for each in (feed, placed) if each is not None and each not in found]
    return found


def feed_of(placed: Placed, lines: Iterable[Placed]) -> Placed | None:
    """The line that switches the measuring of an analog line on: the one plain output of its part, if it may move freely.

    Parameters
    ----------
    placed : a line on its pin [-]
    lines : all lines, or those of its part [-]
    """
    if placed.line.asks.direction != "analog-in":
        return None
    own = [other for other in lines if other.line.part == placed.line.part and _is_plain_output(other)]
    return own[0] if len(own) == 1 and not must_stay_off(own[0]) else None


def _is_plain_output(placed: Placed) -> bool:
    asks = placed.line.asks
    if asks.direction != "out" or asks.role == "CS" or placed.net.bus >= 0 or asks.signal in ("analog", "pwm", "touch", "onewire"):
        return False
    return not (asks.signal == "pulse" and asks.needs.exact_pulses)


def must_stay_off(placed: Placed) -> bool:
    """Whether somebody or something is hurt if this line moves by itself.

    Parameters
    ----------
    placed : the line on its pin [-]
    """
    asks = placed.line.asks
    return asks.drives and asks.quiet == "must" and asks.safe_level != "any"


def self_test_duty(placed: Placed) -> float | None:
    """Duty the self test drives a PWM line with, as a share; ``None`` for a line that carries no PWM.

    Half, so that a meter shows half the supply; the middle of its travel for a line of exactly 50 Hz, which is a servo's.

    Parameters
    ----------
    placed : the line on its pin [-]
    """
    asks = placed.line.asks
    if asks.signal != "pwm" or not asks.drives:
        return None
    low, high = asks.needs.pwm_min_hz, asks.needs.pwm_max_hz
    if low is not None and high is not None and low <= 1 / SERVO_PERIOD_S <= high and high <= 400.0 and not asks.needs.square_wave:
        return SERVO_MIDDLE_S / SERVO_PERIOD_S
    return HALF
