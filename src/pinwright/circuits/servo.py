"""Model servos: pulse, duty, counts, angle; and PWM chips that make the pulses for many.

1 to 2 ms, 1.5 ms in the middle, every 20 ms   [common practice, no source: servos differ, many go from 0.5 to 2.5 ms]
prescale = round(f_osc / (4096 f)) - 1, from 3 to 255   [PCA9685 data sheet Rev. 2 (16 July 2009), 7.3.5; UM10574 (1 April 2014), 8.2]
What needs no source is tagged derived or definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, positive, share
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

__all__ = ["ServoTravel", "counts", "degrees_per_count", "duty", "prescale", "prescaled_frequency", "pulse_error"]


@dataclass(frozen=True, slots=True)
class ServoTravel:
    """Pulses at both ends of a servo's travel, and the travel in degrees.

    >>> f"{ServoTravel().pulse(45) * 1e3:.2f} ms"
    '1.50 ms'
    """

    pulse_low_s: float = 1.0e-3
    pulse_high_s: float = 2.0e-3
    travel_deg: float = 90.0

    def __post_init__(self) -> None:
        positive(pulse_low_s=self.pulse_low_s, pulse_high_s=self.pulse_high_s, travel_deg=self.travel_deg)
        if self.pulse_low_s >= self.pulse_high_s:
            raise OutOfRange("The pulse of the low end must be shorter than that of the high end.")

    def pulse(self, angle_deg: float) -> float:
        """Pulse for an angle from the low end [s]."""
        finite(angle_deg=angle_deg)
        if not 0 <= angle_deg <= self.travel_deg:
            raise OutOfRange(f"This servo turns from 0 to {self.travel_deg:g} degrees, not to {angle_deg:g}.")
        return self.pulse_low_s + (self.pulse_high_s - self.pulse_low_s) * angle_deg / self.travel_deg

    def angle(self, pulse_s: float) -> float:
        """Angle from the low end a pulse asks for, in degrees; beyond the ends the servo may stall and heat."""
        positive(pulse_s=pulse_s)
        return (pulse_s - self.pulse_low_s) / (self.pulse_high_s - self.pulse_low_s) * self.travel_deg


def duty(pulse_s: float, f_pwm_hz: float = 50.0) -> float:
    """Duty of a pulse: pulse times frequency.   [definition]

    Parameters
    ----------
    pulse_s : length of the pulse [s]
    f_pwm_hz : pulses a second [Hz]

    Returns
    -------
    duty : share of the period [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the pulse is longer than the period.

    >>> duty(1.5e-3)
    0.075
    """
    positive(pulse_s=pulse_s, f_pwm_hz=f_pwm_hz)
    found = pulse_s * f_pwm_hz
    if np.any(np.asarray(found) > 1):
        longest_s, period_s = float(np.max(pulse_s)), float(np.min(1 / f_pwm_hz))
        raise OutOfRange(f"A pulse of {longest_s * 1e3:g} ms does not fit into a period of {period_s * 1e3:g} ms.")
    return found


def counts(pulse_s: float, bits: int, f_pwm_hz: float = 50.0) -> int:
    """Pulse in counts of a timer whose period is 2^bits: the nearest whole number.   [definition]

    Parameters
    ----------
    pulse_s : length of the pulse [s]
    bits : resolution of the timer [-]
    f_pwm_hz : pulses a second [Hz]

    Returns
    -------
    counts : whole counts [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the pulse is longer than the period.

    >>> counts(1.5e-3, 16), counts(1.5e-3, 12)
    (4915, 307)
    """
    positive(bits=bits)
    return math.floor(duty(pulse_s, f_pwm_hz) * (1 << bits) + 0.5)


def degrees_per_count(travel: ServoTravel, bits: int, f_pwm_hz: float = 50.0) -> float:
    """Smallest turn a timer can ask for.   [derived]

    Parameters
    ----------
    travel : pulses and angle of the servo [-]
    bits : resolution of the timer [-]
    f_pwm_hz : pulses a second [Hz]

    Returns
    -------
    step_deg : degrees a count [-]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{degrees_per_count(ServoTravel(), 8):.1f}, {degrees_per_count(ServoTravel(), 12):.2f} degrees"
    '7.0, 0.44 degrees'
    """
    positive(bits=bits, f_pwm_hz=f_pwm_hz)
    return travel.travel_deg / (travel.pulse_high_s - travel.pulse_low_s) / (f_pwm_hz * (1 << bits))


def prescale(f_osc_hz: float, f_pwm_hz: float, bits: int = 12, low: int = 3, high: int = 255) -> int:
    """Prescale register of a PWM chip: round(f_osc / (2^bits f)) - 1.   [PCA9685, 7.3.5]

    Parameters
    ----------
    f_osc_hz : oscillator of the chip [Hz]
    f_pwm_hz : wanted frequency [Hz]
    bits : resolution of the chip [-]
    low : smallest value it takes [-]
    high : largest value it takes [-]

    Returns
    -------
    prescale : register [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the frequency needs another value than the register takes.

    >>> prescale(25e6, 200), prescale(25e6, 50)
    (30, 121)
    """
    positive(f_osc_hz=f_osc_hz, f_pwm_hz=f_pwm_hz, bits=bits)
    found = math.floor(f_osc_hz / ((1 << bits) * f_pwm_hz) + 0.5) - 1
    if not low <= found <= high:
        slow, fast = prescaled_frequency(f_osc_hz, high, bits), prescaled_frequency(f_osc_hz, low, bits)
        raise OutOfRange(f"This chip makes {slow:.0f} Hz to {fast:.0f} Hz, not {f_pwm_hz:g} Hz.")
    return found


def prescaled_frequency(f_osc_hz: float, prescale: float, bits: int = 12) -> float:
    """Frequency a prescale register gives: f_osc / (2^bits (prescale + 1)).   [UM10574, 8.2]

    Parameters
    ----------
    f_osc_hz : oscillator of the chip [Hz]
    prescale : register [-]
    bits : resolution of the chip [-]

    Returns
    -------
    f_pwm_hz : frequency [Hz]

    Raises
    ------
    OutOfRange : a value is not positive, or the register negative.

    >>> f"{prescaled_frequency(25e6, 30):.0f} Hz"
    '197 Hz'
    """
    positive(f_osc_hz=f_osc_hz, bits=bits, prescale_and_one=prescale + 1)
    return f_osc_hz / ((1 << bits) * (prescale + 1))


def pulse_error(pulse_s: float, oscillator_tolerance: float) -> Range:
    """Pulses a chip really makes when its oscillator is off: pulse / (1 ± tolerance).   [derived]

    Chips with a built-in oscillator are reported to lie 8 % off, a tenth of a servo's travel: calibrate, or feed a clock.

    Parameters
    ----------
    pulse_s : pulse asked for [s]
    oscillator_tolerance : tolerance of the oscillator [-]

    Returns
    -------
    pulse_s : shortest and longest pulse [s]

    Raises
    ------
    OutOfRange : the pulse is not positive, or the tolerance no share below 1.

    >>> found = pulse_error(1.5e-3, 0.08)
    >>> f"{found.low * 1e3:.2f} ms to {found.high * 1e3:.2f} ms"
    '1.39 ms to 1.63 ms'
    """
    positive(pulse_s=pulse_s)
    share(oscillator_tolerance=oscillator_tolerance)
    return over(lambda pulse_s, oscillator: pulse_s / oscillator, pulse_s=pulse_s, oscillator=Range.around(1.0, oscillator_tolerance))
