"""RC low-pass filters: corner, attenuation, what an anti-alias filter may be.

One stage: gain = 1 / sqrt(1 + (f / fc)^2), fc = 1 / (2 pi R C)   [Microchip online note GUID-2B9A050B, section 2.1 "RC Filter
Example"; AN538 prints the same with a misprinted formula].  Stages in a row that do not load each other multiply their gains.
What lies above half the sample rate folds down: fs - f is read as f   [sampling theorem].
"""

from __future__ import annotations

import math

import numpy as np

from pinwright.circuits.bounds import positive
from pinwright.circuits.plain import computed, plain
from pinwright.circuits.window import Limit, Window
from pinwright.errors import OutOfRange

__all__ = ["anti_alias_corner", "c_for_corner", "corner", "corner_for_attenuation", "gain_db", "r_for_corner"]


def corner(r_ohm: float, c_f: float) -> float:
    """Frequency at which one stage has lost 3 dB: 1 / (2 pi R C).   [GUID-2B9A050B]

    Parameters
    ----------
    r_ohm : resistance the capacitor sees [ohm]
    c_f : capacitance [F]

    Returns
    -------
    f_corner_hz : corner [Hz]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{corner(4e3, 10e-9):.0f} Hz"
    '3979 Hz'
    """
    positive(r_ohm=r_ohm, c_f=c_f)
    return 1 / (2 * math.pi * r_ohm * c_f)


def r_for_corner(f_corner_hz: float, c_f: float) -> float:
    """Resistance that gives a corner with a capacitor: 1 / (2 pi f C).   [GUID-2B9A050B]

    Parameters
    ----------
    f_corner_hz : wanted corner [Hz]
    c_f : capacitance [F]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{r_for_corner(4e3, 10e-9):.0f} Ω"
    '3979 Ω'
    """
    positive(f_corner_hz=f_corner_hz, c_f=c_f)
    return 1 / (2 * math.pi * f_corner_hz * c_f)


def c_for_corner(f_corner_hz: float, r_ohm: float) -> float:
    """Capacitance that gives a corner with a resistor: 1 / (2 pi f R).   [GUID-2B9A050B]

    Parameters
    ----------
    f_corner_hz : wanted corner [Hz]
    r_ohm : resistance [ohm]

    Returns
    -------
    c_f : capacitance [F]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{c_for_corner(4e3, 10e3) * 1e9:.1f} nF"
    '4.0 nF'
    """
    positive(f_corner_hz=f_corner_hz, r_ohm=r_ohm)
    return 1 / (2 * math.pi * f_corner_hz * r_ohm)


def gain_db(f_hz: float, f_corner_hz: float, stages: int = 1) -> float:
    """Gain of equal stages that do not load each other: -10 n log10(1 + (f / fc)^2).   [GUID-2B9A050B]

    Parameters
    ----------
    f_hz : frequency [Hz]
    f_corner_hz : corner of each stage [Hz]
    stages : how many [-]

    Returns
    -------
    gain_db : negative, 0 at DC [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{gain_db(10e3, corner(4e3, 10e-9)):.2f} dB"
    '-8.64 dB'
    """
    positive(f_hz=f_hz, f_corner_hz=f_corner_hz, stages=stages)
    gain: float = plain(-10 * stages * np.log10(1 + (f_hz / f_corner_hz) ** 2))
    return gain


def corner_for_attenuation(f_hz: float, attenuation_db: float, stages: int = 1) -> float:
    """Corner of equal stages that lose so much at a frequency: f / sqrt(10^(A / 10 n) - 1).   [GUID-2B9A050B]

    Parameters
    ----------
    f_hz : frequency [Hz]
    attenuation_db : loss wanted there, positive [-]
    stages : how many [-]

    Returns
    -------
    f_corner_hz : corner of each stage [Hz]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{corner_for_attenuation(10e3, 8.64):.0f} Hz"
    '3980 Hz'
    """
    positive(f_hz=f_hz, attenuation_db=attenuation_db, stages=stages)
    f_corner_hz: float = computed(lambda: f_hz / np.sqrt(np.expm1(np.log(10) * attenuation_db / (10 * stages))))
    return f_corner_hz


def anti_alias_corner(f_sample_hz: float, f_signal_hz: float, attenuation_db: float, droop_db: float = 1.0, stages: int = 1) -> Window:
    """Window for the corner of an anti-alias filter.   [sampling theorem]

    What lies at f_sample - f_signal folds onto the top of the signal, so the filter has to lose ``attenuation_db`` there: that
    sets the high end.  The low end is set by what the filter may take from the signal itself.  An empty window
    asks for faster sampling or more stages.

    Parameters
    ----------
    f_sample_hz : sample rate [Hz]
    f_signal_hz : highest frequency of the signal [Hz]
    attenuation_db : loss wanted where it folds [-]
    droop_db : loss allowed at the top of the signal [-]
    stages : equal stages that do not load each other [-]

    Returns
    -------
    f_corner_hz : lowest and highest corner of each stage [Hz]

    Raises
    ------
    OutOfRange : a value is not positive, or the signal reaches half the sample rate.

    >>> anti_alias_corner(1000, 5, 40).words
    'from 9.83 Hz (loss at the top of the signal) to 9.95 Hz (loss where higher frequencies fold down)'
    """
    positive(f_sample_hz=f_sample_hz, f_signal_hz=f_signal_hz)
    if f_signal_hz >= f_sample_hz / 2:
        raise OutOfRange(f"A signal of {f_signal_hz:g} Hz needs more than {2 * f_signal_hz:g} samples a second, not {f_sample_hz:g}.")
    low = corner_for_attenuation(f_signal_hz, droop_db, stages)
    high = corner_for_attenuation(f_sample_hz - f_signal_hz, attenuation_db, stages)
    return Window(Limit(low, "loss at the top of the signal"), Limit(high, "loss where higher frequencies fold down"), "Hz")
