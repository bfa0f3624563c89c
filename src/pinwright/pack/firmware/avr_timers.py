"""PWM by the timers' registers where the core's own call knows one frequency only: prescaler, top and mode for each timer.

Register and bit names as in the device headers of avr-libc (package avr-libc, read); modes and prescalers from the data sheets'
tables of waveform modes and clock select bits, sections on the timers (from memory, held to the simulator by the tests).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pinwright.pack.firmware.model import Pwm

__all__ = ["TimerMode", "timer_mode"]

_WIDE = (1, 8, 64, 256, 1024)
_SMALL = (1, 8, 32, 64, 128, 256, 1024)
"""Prescalers by clock select bits, from 1 on: of the 16-bit timers, and of the 8-bit timer 2."""


@dataclass(frozen=True, slots=True)
class TimerMode:
    """How one timer makes one frequency: ``number`` of the timer, ``top`` of its count, the ``hz`` it really reaches [Hz].

    ``set_up``: C++ statements; ``words``: the sum in words.  ``kind``: ``wide`` (16 bits), ``small`` (8 bits) or ``fast`` (10 bits).
    ``rounds``: a count too many is high in fast mode, none in the other.
    """

    number: str
    kind: str
    top: int
    hz: float
    rounds: bool
    set_up: tuple[str, ...]
    words: str

    def connect(self, channel: str) -> tuple[str, str]:
        """Register and bit that join the timer's output to the pin."""
        register = f"TCCR{self.number}C" if self.kind == "fast" and channel == "D" else f"TCCR{self.number}A"
        return register, f"COM{self.number}{channel}1"

    def compare(self, channel: str, value: str) -> tuple[str, ...]:
        """Statements that set the compare value."""
        if self.kind == "fast":
            return (f"TC{self.number}H = {value} >> 8;", f"OCR{self.number}{channel} = {value} & 0xFF;")
        return (f"OCR{self.number}{channel} = {value};",)


def timer_mode(pwm: Pwm) -> TimerMode | None:
    """Mode of the timer behind a PWM line, ``None`` where the core's own call serves it (the clock's timer, or none known).

    Parameters
    ----------
    pwm : the line, with the width and clock of its timer [-]
    """
    match = re.fullmatch(r"TC(\d)", pwm.pool)
    if not match or match[1] == "0" or not pwm.clock_hz or pwm.software:
        return None
    number = match[1]
    if pwm.counter_bits == 16:
        return _wide(number, pwm)
    return _fast(number, pwm) if pwm.counter_bits == 10 else _small(number, pwm)


def _wide(n: str, pwm: Pwm) -> TimerMode:
    """Fast PWM up to ICRn (mode 14)."""
    index, divider = next(((i, d) for i, d in enumerate(_WIDE, 1) if pwm.clock_hz / d / pwm.hz <= 65536), (5, 1024))
    top = min(max(round(pwm.clock_hz / divider / pwm.hz) - 1, 3), 65535)
    hz = pwm.clock_hz / divider / (top + 1)
    set_up = (
        f"TCCR{n}B = 0;",
        f"TCCR{n}A = _BV(WGM{n}1);",
        f"ICR{n} = {top};",
        f"TCCR{n}B = _BV(WGM{n}3) | _BV(WGM{n}2) | {_clock(n, index)};",
    )
    return TimerMode(n, "wide", top, hz, True, set_up, _words(pwm, divider, top + 1, hz))


def _small(n: str, pwm: Pwm) -> TimerMode:
    """8 bits at the nearest fixed step: fast (256 counts) or phase-correct (510)."""
    low, high = pwm.low_hz or 0.0, pwm.high_hz or 1e9
    steps = [(pwm.clock_hz / d / count, i, d, count) for i, d in enumerate(_SMALL, 1) for count in (256, 510)]
    fits = [step for step in steps if low * 0.999 <= step[0] <= high * 1.001] or steps
    hz, index, divider, count = min(fits, key=lambda step: (abs(step[0] - pwm.hz), step[3]))
    fast = count == 256
    mode = f"_BV(WGM{n}1) | _BV(WGM{n}0)" if fast else f"_BV(WGM{n}0)"
    return TimerMode(n, "small", 255, hz, fast, (f"TCCR{n}A = {mode};", f"TCCR{n}B = {_clock(n, index)};"), _words(pwm, divider, count, hz))


def _fast(n: str, pwm: Pwm) -> TimerMode:
    """The 10-bit timer: powers of two, free top in OCRnC, its high bits through a register of their own."""
    index = next((i for i in range(1, 16) if pwm.clock_hz / 2 ** (i - 1) / pwm.hz <= 1024), 15)
    divider = 2 ** (index - 1)
    top = min(max(round(pwm.clock_hz / divider / pwm.hz) - 1, 3), 1023)
    hz = pwm.clock_hz / divider / (top + 1)
    set_up = (
        f"TCCR{n}A = _BV(PWM{n}A) | _BV(PWM{n}B);",
        f"TCCR{n}C = _BV(PWM{n}D);",
        f"TCCR{n}D = 0;",
        f"TC{n}H = {top} >> 8;",
        f"OCR{n}C = {top} & 0xFF;",
        f"TCCR{n}B = {_clock(n, index, 4)};",
    )
    return TimerMode(n, "fast", top, hz, True, set_up, _words(pwm, divider, top + 1, hz))


def _clock(n: str, index: int, bits: int = 3) -> str:
    return " | ".join(f"_BV(CS{n}{bit})" for bit in reversed(range(bits)) if index >> bit & 1)


def _words(pwm: Pwm, divider: int, count: int, hz: float) -> str:
    return f"{pwm.clock_hz / 1e6:g} MHz / {divider} / {count} = {hz:.6g} Hz"
