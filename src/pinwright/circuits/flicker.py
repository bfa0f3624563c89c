"""Flicker of light: how deep a modulation may be at its frequency.

Percent modulation = 100 (max - min) / (max + min), half of the swing over the mean.   [IEEE 1789-2015, definition]
Low risk: below 90 Hz 0.025 f, from 90 Hz 0.08 f, free above 1250 Hz.  No effect: 0.01 f, 0.0333 f, free above 3000 Hz.
[IEEE 1789-2015, recommended practices 1 and 2, limits read in public summaries; one public page swaps the two, another puts
the factors of the stricter one to both: this module follows the practices as most summaries print them]
Light for people with photosensitive epilepsy is practice 3 and stricter; this is no medical advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.errors import OutOfRange

__all__ = ["LOW_RISK", "NO_EFFECT", "Practice", "Verdict", "min_frequency", "modulation", "modulation_limit", "verdict"]

Verdict = Literal["no effect", "low risk", "exceeds"]
"""Below both limits, between them, above both."""

_BREAK_HZ = 90.0


@dataclass(frozen=True, slots=True)
class Practice:
    """One line of the standard: shares of modulation a hertz below and above 90 Hz, and where it stops to ask."""

    per_hz_below: float
    per_hz_above: float
    free_above_hz: float


LOW_RISK = Practice(0.00025, 0.0008, 1250.0)
NO_EFFECT = Practice(0.0001, 0.000333, 3000.0)


def modulation(light_max: float, light_min: float) -> float:
    """Depth of modulation: (max - min) / (max + min).   [IEEE 1789-2015]

    Parameters
    ----------
    light_max : most light within a period, in any unit [-]
    light_min : least light, in the same unit [-]

    Returns
    -------
    modulation : share, 1 for light that goes out in between [-]

    Raises
    ------
    OutOfRange : a value is negative, or the two are the wrong way round.

    >>> modulation(100, 60)
    0.25
    """
    positive(light_max=light_max)
    not_negative(light_min=light_min)
    if light_min > light_max:
        raise OutOfRange("The least light cannot be more than the most.")
    return (light_max - light_min) / (light_max + light_min)


def modulation_limit(f_hz: float, practice: Practice) -> float:
    """Deepest modulation a practice allows at a frequency, 1 where it does not ask.   [IEEE 1789-2015]

    Parameters
    ----------
    f_hz : frequency of the modulation, that of the PWM or twice the mains [Hz]
    practice : ``LOW_RISK`` or ``NO_EFFECT`` [-]

    Returns
    -------
    modulation : share [-]

    Raises
    ------
    OutOfRange : the frequency is not positive.

    >>> f"{modulation_limit(100, LOW_RISK) * 100:.1f} %, {modulation_limit(100, NO_EFFECT) * 100:.1f} %"
    '8.0 %, 3.3 %'
    """
    positive(f_hz=f_hz)
    if f_hz > practice.free_above_hz:
        return 1.0
    return min(1.0, f_hz * (practice.per_hz_below if f_hz < _BREAK_HZ else practice.per_hz_above))


def min_frequency(modulation: float, practice: Practice) -> float:
    """Frequency from which on a depth of modulation is allowed, on the lines of the practice.   [IEEE 1789-2015]

    The line for no effect reaches full depth at 3003 Hz; the practice itself no longer asks above 3000 Hz.

    Parameters
    ----------
    modulation : share, 1 for plain on and off [-]
    practice : ``LOW_RISK`` or ``NO_EFFECT`` [-]

    Returns
    -------
    f_hz : lower limit [Hz]

    Raises
    ------
    OutOfRange : the modulation is not above 0 and at most 1.

    >>> f"{min_frequency(1.0, LOW_RISK):.0f} Hz, {min_frequency(1.0, NO_EFFECT):.0f} Hz"
    '1250 Hz, 3003 Hz'
    """
    positive(modulation=modulation)
    if modulation > 1:
        raise OutOfRange(f"A modulation is at most 1, not {modulation:g}.")
    below = modulation / practice.per_hz_below
    f_hz: float = plain(below if below < _BREAK_HZ else max(_BREAK_HZ, modulation / practice.per_hz_above))
    return f_hz


def verdict(f_hz: float, modulation: float) -> Verdict:
    """What the practices say of a light.   [IEEE 1789-2015]

    Parameters
    ----------
    f_hz : frequency of the modulation [Hz]
    modulation : share, 1 for plain on and off [-]

    Returns
    -------
    verdict : ``no effect``, ``low risk`` or ``exceeds`` [-]

    Raises
    ------
    OutOfRange : the frequency is not positive, or the modulation no share.

    >>> verdict(490.2, 1.0), verdict(1300, 1.0), verdict(100, 0.02)
    ('exceeds', 'low risk', 'no effect')
    """
    not_negative(modulation=modulation)
    if modulation > 1:
        raise OutOfRange(f"A modulation is at most 1, not {modulation:g}.")
    room = 1 + 1e-9  # a value on the line is on its good side, whatever its last binary digit
    if modulation <= modulation_limit(f_hz, NO_EFFECT) * room:
        return "no effect"
    return "low risk" if modulation <= modulation_limit(f_hz, LOW_RISK) * room else "exceeds"
