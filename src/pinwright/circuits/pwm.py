"""PWM from a timer: how many bits at which frequency, what divider and error, what several channels can share, what software does.

f = f_clk / (divider 2^bits), bits = floor(log2(f_clk / f))   [ESP-IDF Programming Guide, LED Control, "Supported Range of
Frequency and Duty Resolutions"]
Counters that run up: f_clk / (N (top + 1)); up and down: f_clk / (2 N top)   [ATmega328P data sheet, DS40002061A, timer chapters]
Frequencies that suit a load stand with their sources in ``ADVICE``; the audible band is common practice.  What needs no source is tagged
derived or definition.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange, UnknownName

__all__ = [
    "ADVICE",
    "AUDIBLE_HZ",
    "Advice",
    "Clock",
    "Mode",
    "Setting",
    "advice",
    "bits_max",
    "counter_frequency",
    "counter_setting",
    "divider_setting",
    "duty_step",
    "frequency_max",
    "is_audible",
    "shared_frequency",
    "software_bits",
]

Mode = Literal["fast", "phase-correct"]
"""A counter that runs up and starts again, or one that runs up and down."""

AUDIBLE_HZ = (20.0, 20e3)
"""What a young ear hears; coils and ceramic capacitors sing within it.   [common practice, no source]"""


def bits_max(f_clk_hz: float, f_pwm_hz: float, width_bits: int | None = None) -> int:
    """Whole bits of duty a timer can offer at a frequency: floor(log2(f_clk / f)).   [ESP-IDF]

    Parameters
    ----------
    f_clk_hz : clock of the timer [Hz]
    f_pwm_hz : frequency of the PWM [Hz]
    width_bits : width of the counter, where it sets a limit [-]

    Returns
    -------
    bits : resolution [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the frequency leaves less than one bit.

    >>> bits_max(80e6, 5000), bits_max(80e6, 20e6), bits_max(80e6, 100, width_bits=14)
    (13, 2, 14)
    """
    positive(f_clk_hz=f_clk_hz, f_pwm_hz=f_pwm_hz)
    bits = math.floor(math.log2(f_clk_hz / f_pwm_hz) + 1e-9)
    if bits < 1:
        raise OutOfRange(f"A clock of {f_clk_hz:g} Hz makes at most {f_clk_hz / 2:g} Hz of PWM, not {f_pwm_hz:g} Hz.")
    return bits if width_bits is None else min(bits, width_bits)


def frequency_max(f_clk_hz: float, bits: int) -> float:
    """Highest PWM frequency with so many bits: f_clk / 2^bits.   [ESP-IDF]

    Parameters
    ----------
    f_clk_hz : clock of the timer [Hz]
    bits : resolution [-]

    Returns
    -------
    f_pwm_hz : upper limit [Hz]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> frequency_max(80e6, 8)
    312500.0
    """
    positive(f_clk_hz=f_clk_hz, bits=bits)
    return f_clk_hz / (1 << bits)


def duty_step(bits: int) -> float:
    """Smallest change of the duty: 1 / 2^bits.   [ESP-IDF]

    Parameters
    ----------
    bits : resolution [-]

    Returns
    -------
    step : share of the period [-]

    Raises
    ------
    OutOfRange : the resolution is not positive.

    >>> f"{duty_step(13) * 100:.4f} %"
    '0.0122 %'
    """
    positive(bits=bits)
    return 1 / (1 << bits)


def counter_frequency(f_clk_hz: float, prescale: int, top: int, mode: Mode = "fast") -> float:
    """PWM frequency of a counter with a prescaler and a top value.   [ATmega328P]

    Parameters
    ----------
    f_clk_hz : clock before the prescaler [Hz]
    prescale : divider of the clock [-]
    top : highest count [-]
    mode : ``fast`` f / (N (top + 1)), ``phase-correct`` f / (2 N top) [-]

    Returns
    -------
    f_pwm_hz : frequency [Hz]

    Raises
    ------
    OutOfRange : a value is not positive.
    UnknownName : no such mode.

    >>> counter_frequency(16e6, 64, 255), f"{counter_frequency(16e6, 64, 255, 'phase-correct'):.1f}"
    (976.5625, '490.2')
    """
    positive(f_clk_hz=f_clk_hz, prescale=prescale, top=top)
    if mode == "fast":
        return f_clk_hz / (prescale * (top + 1))
    if mode == "phase-correct":
        return f_clk_hz / (2 * prescale * top)
    raise UnknownName("mode of a counter", mode, ("fast", "phase-correct"))


@dataclass(frozen=True, slots=True)
class Setting:
    """What a timer really does: divider, highest count, frequency, its error as a share, and the levels of duty it offers."""

    divider: float
    top: int
    f_pwm_hz: float
    error: float
    levels: int

    @property
    def bits(self) -> float:
        """Levels as bits, not whole where the top is no power of two [-]."""
        return math.log2(self.levels)


def counter_setting(f_clk_hz: float, f_pwm_hz: float, prescalers: Sequence[int], top_max: int, mode: Mode = "fast") -> Setting:
    """Prescaler and top of a counter nearest to a frequency; the smallest prescaler that reaches has the most levels.   [ATmega328P]

    Parameters
    ----------
    f_clk_hz : clock before the prescaler [Hz]
    f_pwm_hz : wanted frequency [Hz]
    prescalers : dividers the timer has [-]
    top_max : highest top, 255 or 65535 [-]
    mode : ``fast`` or ``phase-correct`` [-]

    Returns
    -------
    setting : prescaler, top, true frequency [-]

    Raises
    ------
    OutOfRange : a value is not positive, or no prescaler reaches the frequency.
    UnknownName : no such mode.

    >>> made = counter_setting(16e6, 50, (1, 8, 64, 256, 1024), 65535)
    >>> made.divider, made.top, made.f_pwm_hz
    (8, 39999, 50.0)
    """
    positive(f_clk_hz=f_clk_hz, f_pwm_hz=f_pwm_hz, prescalers=prescalers, top_max=top_max)
    counts = 2 if mode == "phase-correct" else 1
    for prescale in sorted(prescalers):
        top = round(f_clk_hz / (counts * prescale * f_pwm_hz)) - (mode == "fast")
        if 1 <= top <= top_max:
            found = counter_frequency(f_clk_hz, prescale, top, mode)
            return Setting(prescale, top, found, found / f_pwm_hz - 1, top + 1)
    low = counter_frequency(f_clk_hz, max(prescalers), top_max, mode)
    high = counter_frequency(f_clk_hz, min(prescalers), 1, mode)
    raise OutOfRange(f"This timer makes {low:.3g} Hz to {high:.3g} Hz, not {f_pwm_hz:g} Hz.")


@dataclass(frozen=True, slots=True)
class Clock:
    """A timer clock with a divider of ``fraction_bits`` binary places, from ``div_min`` to ``div_max``, and a counter's width."""

    f_clk_hz: float
    div_max: float
    div_min: float = 1.0
    fraction_bits: int = 0
    width_bits: int = 16


def divider_setting(clock: Clock, f_pwm_hz: float, bits: int | None = None) -> Setting:
    """Divider for a frequency with a counter of 2^bits levels; as many bits as the clock allows if none are asked for.   [ESP-IDF]

    Parameters
    ----------
    clock : clock and divider of the timer [-]
    f_pwm_hz : wanted frequency [Hz]
    bits : resolution wanted [-]

    Returns
    -------
    setting : divider rounded to its fraction, true frequency [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the divider cannot reach the frequency with these bits.

    >>> clock = Clock(80e6, div_max=1024, fraction_bits=8, width_bits=20)
    >>> made = divider_setting(clock, 5000)
    >>> made.divider, made.levels, f"{made.error * 1e6:.0f} ppm"
    (1.953125, 8192, '0 ppm')
    """
    most = bits_max(clock.f_clk_hz / clock.div_min, f_pwm_hz, clock.width_bits)
    wanted = most if bits is None else bits
    positive(bits=wanted)
    if wanted > most:
        raise OutOfRange(f"{f_pwm_hz:g} Hz leaves {most} bits of this clock, not {wanted}: ask for a lower frequency or fewer bits.")
    steps = 1 << clock.fraction_bits
    exact = clock.f_clk_hz / (f_pwm_hz * (1 << wanted))
    divider = max(clock.div_min, round(exact * steps) / steps)
    if divider > clock.div_max:
        lowest = clock.f_clk_hz / (clock.div_max * (1 << wanted))
        raise OutOfRange(f"With {wanted} bits this clock goes down to {lowest:.3g} Hz, not {f_pwm_hz:g} Hz: use more bits.")
    found = clock.f_clk_hz / (divider * (1 << wanted))
    return Setting(divider, (1 << wanted) - 1, found, found / f_pwm_hz - 1, 1 << wanted)


def shared_frequency(wants: Sequence[Range]) -> Range:
    """Frequencies that suit every channel of one timer: where their ranges overlap.   [definition]

    Parameters
    ----------
    wants : range of frequency each channel accepts [Hz]

    Returns
    -------
    f_pwm_hz : what suits all [Hz]

    Raises
    ------
    OutOfRange : nothing was asked, or the ranges do not all overlap.

    >>> shared_frequency([Range(200, 2000), Range(1250, 10e3)])
    Range(low=1250, high=2000, typ=None)
    """
    if not wants:
        raise OutOfRange("No channel asks for a frequency.")
    low, high = max(want.low for want in wants), min(want.high for want in wants)
    if low > high:
        raise OutOfRange(f"These channels cannot share a timer: one needs at least {low:g} Hz, another at most {high:g} Hz.")
    return Range(low, high)


def software_bits(f_pwm_hz: float, t_jitter_s: float) -> float:
    """Bits that stand out of the jitter of PWM made in software: log2(T / jitter).   [derived]

    Parameters
    ----------
    f_pwm_hz : frequency of the PWM [Hz]
    t_jitter_s : how much later an edge may come, as by other interrupts [s]

    Returns
    -------
    bits : equivalent resolution, 0 where the jitter is a whole period [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{software_bits(500, 5e-6):.1f}"  # 5 us of other interrupts at 500 Hz
    '8.6'
    """
    positive(f_pwm_hz=f_pwm_hz, t_jitter_s=t_jitter_s)
    return max(0.0, -math.log2(f_pwm_hz * t_jitter_s))


def is_audible(f_hz: float) -> bool:
    """Whether a frequency lies between 20 Hz and 20 kHz; harmonics of a lower one may still be heard.   [common practice]

    Parameters
    ----------
    f_hz : frequency [Hz]

    Returns
    -------
    audible : lies in the band [-]

    Raises
    ------
    OutOfRange : the frequency is negative.

    >>> is_audible(490), is_audible(25e3)
    (True, False)
    """
    not_negative(f_hz=f_hz)
    return AUDIBLE_HZ[0] <= f_hz <= AUDIBLE_HZ[1]


@dataclass(frozen=True, slots=True)
class Advice:
    """Frequencies that suit a kind of load, why, and who says so."""

    f_hz: Range
    because: str
    source: str


ADVICE = {
    "led": Advice(
        Range(1250, 30e3), "full depth is low risk from 1250 Hz on; edges of slow drivers eat short pulses above", "IEEE 1789-2015"
    ),
    "led-filmed": Advice(Range(3003, 30e3), "no effect at full depth; cameras show bands below", "IEEE 1789-2015"),
    "motor": Advice(Range(20e3, 30e3), "above hearing; the bridge must switch that fast", "common practice, no source"),
    "motor-slow-bridge": Advice(Range(200, 2e3), "audible, but little loss in a slow bipolar bridge", "common practice, no source"),
    "fan-4-wire": Advice(
        Range(21e3, 28e3, 25e3), "what the control input of such fans takes", "Intel 4-Wire PWM Fans Specification, 2.1.4"
    ),
    "servo": Advice(Range(40, 60, 50), "analog servos expect a pulse every 20 ms", "common practice, no source"),
    "heater": Advice(
        Range(0.1, 2, 1), "thermal mass averages; relays and zero-crossing switches cannot go faster", "common practice, no source"
    ),
    "solenoid": Advice(Range(200, 25e3, 20e3), "the coil averages the current; a free-wheel diode is needed", "common practice, no source"),
    "passive-buzzer": Advice(Range(1e3, 5e3), "the tone itself; loudest at the resonance of its data sheet", "common practice, no source"),
}
"""Advice by kind of load."""


def advice(load: str) -> Advice:
    """Frequencies that suit a kind of load.   [``ADVICE``]

    Parameters
    ----------
    load : a key of ``ADVICE`` [-]

    Returns
    -------
    advice : range, reason and source [-]

    Raises
    ------
    UnknownName : nothing is known of this load.

    >>> advice("fan-4-wire").f_hz.middle
    25000.0
    """
    if load not in ADVICE:
        raise UnknownName("kind of PWM load", load, ADVICE)
    return ADVICE[load]
