"""Will the sampling capacitor have filled before the converter looks, and what a capacitor at the pin does about it.

R < t_s / (C ln 2^(N+2)) - R_adc for a quarter of a step   [STM32F103x4/x6 data sheet, Doc ID 15060 Rev 6, Equation 1]
N bits take N ln 2 time constants   [TI SLYW038D, Analog Engineer's Pocket Reference, April 2025, settling tables; its row of
16 bits prints 11.04, the formula gives 11.09]
Charge shared between two capacitors, balance over one sample: derived here from charge conservation   [derived]; leakage is Ohm's law
"""

from __future__ import annotations

import math

import numpy as np

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.circuits.plain import computed, plain
from pinwright.circuits.window import Limit, Window
from pinwright.errors import OutOfRange

__all__ = [
    "holding_capacitor",
    "holding_droop",
    "holding_error",
    "leakage_error",
    "sample_interval_min",
    "settled_bits",
    "settling_error",
    "settling_time",
    "source_r_for_leakage",
    "source_r_max",
    "time_constants",
]


def time_constants(bits: float, lsb_divisor: float = 1.0) -> float:
    """Time constants after which a step has settled to a part of one code: ln(2^N k).   [SLYW038D]

    Parameters
    ----------
    bits : resolution N [-]
    lsb_divisor : k, 1 for one step, 2 for half a step, 4 for a quarter [-]

    Returns
    -------
    n_tau : time constants [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive, or the divisor below 1.

    >>> f"{time_constants(12):.2f}, {time_constants(12, 4):.2f}"
    '8.32, 9.70'
    """
    positive(bits=bits, lsb_divisor=lsb_divisor)
    if np.any(np.asarray(lsb_divisor) < 1):
        raise OutOfRange("An error is counted in steps or parts of one: the divisor is at least 1.")
    n_tau: float = plain(bits * math.log(2) + np.log(lsb_divisor))
    return n_tau


def settled_bits(n_tau: float) -> float:
    """Bits to which a step has settled after some time constants: n / ln 2.   [SLYW038D]

    Parameters
    ----------
    n_tau : time constants [-]

    Returns
    -------
    bits : settled bits [-]

    Raises
    ------
    OutOfRange : the value is not finite and positive.

    >>> f"{settled_bits(5):.2f}"
    '7.21'
    """
    positive(n_tau=n_tau)
    return n_tau / math.log(2)


def settling_time(r_ohm: float, c_f: float, bits: float, lsb_divisor: float = 1.0) -> float:
    """Time in which a resistor fills a capacitor to a part of one code: R C ln(2^N k).   [SLYW038D]

    Parameters
    ----------
    r_ohm : everything the charge passes through [ohm]
    c_f : capacitor to be filled [F]
    bits : resolution [-]
    lsb_divisor : 1 for one step, 4 for a quarter [-]

    Returns
    -------
    t_s : settling time [s]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{settling_time(10e3, 12e-12, 12, 4) * 1e9:.1f} ns"
    '1164.5 ns'
    """
    positive(r_ohm=r_ohm, c_f=c_f)
    return r_ohm * c_f * time_constants(bits, lsb_divisor)


def settling_error(t_s: float, r_ohm: float, c_f: float) -> float:
    """Share of a step still missing after some time: exp(-t / RC).   [SLYW038D]

    Parameters
    ----------
    t_s : time allowed [s]
    r_ohm : source and switch together [ohm]
    c_f : capacitor to be filled [F]

    Returns
    -------
    missing : share of the step [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{settling_error(0.5e-6, 10e3, 12e-12):.3f}"
    '0.016'
    """
    positive(t_s=t_s, r_ohm=r_ohm, c_f=c_f)
    missing: float = plain(np.exp(-t_s / (r_ohm * c_f)))
    return missing


def source_r_max(t_sample_s: float, c_sample_f: float, r_switch_ohm: float, bits: float, lsb_divisor: float = 4.0) -> float:
    """Largest source resistance with which the sampling capacitor still fills.   [STM32F103x4/x6, Equation 1]

    R = t / (C ln(2^N k)) - R_switch

    Parameters
    ----------
    t_sample_s : time the sampling switch is closed [s]
    c_sample_f : sampling capacitor, with the stray capacitance behind the source [F]
    r_switch_ohm : resistance of the sampling switch [ohm]
    bits : resolution [-]
    lsb_divisor : 4 for an error of a quarter of a step [-]

    Returns
    -------
    r_ohm : upper limit of the source resistance [ohm]

    Raises
    ------
    OutOfRange : a value is negative, or even a source of 0 ohm does not settle in time.

    >>> f"{source_r_max(13.5 / 14e6, 8e-12, 1000, 12) / 1e3:.1f} kΩ"
    '11.4 kΩ'
    """
    positive(t_sample_s=t_sample_s, c_sample_f=c_sample_f)
    not_negative(r_switch_ohm=r_switch_ohm)
    r_ohm = t_sample_s / (c_sample_f * time_constants(bits, lsb_divisor)) - r_switch_ohm
    if not np.all(np.asarray(r_ohm) > 0):
        raise OutOfRange("Even a source of 0 Ω does not settle in this sampling time: sample longer.")
    return r_ohm


def holding_droop(c_sample_f: float, c_hold_f: float) -> float:
    """Share of the voltage lost when an empty sampling capacitor meets a capacitor at the pin: Cs / (Cs + Ch).   [derived]

    Parameters
    ----------
    c_sample_f : sampling capacitor [F]
    c_hold_f : capacitor at the pin [F]

    Returns
    -------
    droop : share of the voltage [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{holding_droop(12e-12, 100e-9) * 4096:.2f} steps of 12 bits"
    '0.49 steps of 12 bits'
    """
    positive(c_sample_f=c_sample_f, c_hold_f=c_hold_f)
    return c_sample_f / (c_sample_f + c_hold_f)


def holding_error(c_sample_f: float, c_hold_f: float, r_source_ohm: float, t_interval_s: float) -> float:
    """Steady error of repeated samples from a capacitor at the pin that a source refills in between.   [derived]

    Each sample takes k = Cs / (Cs + Ch) of the voltage, the source makes good all but a = exp(-T / (R Ch)):
    error = k / (1 - a (1 - k)).  It assumes the worst, a sampling capacitor that comes back empty, as after another channel.

    Parameters
    ----------
    c_sample_f : sampling capacitor [F]
    c_hold_f : capacitor at the pin [F]
    r_source_ohm : source resistance [ohm]
    t_interval_s : time from sample to sample [s]

    Returns
    -------
    error : share of the voltage, always too low [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{holding_error(12e-12, 100e-9, 100e3, 1.0) * 4096:.2f}, {holding_error(12e-12, 100e-9, 100e3, 1e-3) * 4096:.2f} steps"
    '0.49, 5.16 steps'
    """
    positive(r_source_ohm=r_source_ohm, t_interval_s=t_interval_s)
    k = holding_droop(c_sample_f, c_hold_f)
    error: float = computed(lambda: k / (1 - np.exp(-t_interval_s / (r_source_ohm * c_hold_f)) * (1 - k)))
    return error


def sample_interval_min(c_sample_f: float, c_hold_f: float, r_source_ohm: float, error: float) -> float:
    """Shortest time from sample to sample that keeps the error of ``holding_error``.   [derived]

    Parameters
    ----------
    c_sample_f : sampling capacitor [F]
    c_hold_f : capacitor at the pin [F]
    r_source_ohm : source resistance [ohm]
    error : share of the voltage allowed [-]

    Returns
    -------
    t_interval_s : lower limit [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the capacitor is too small for any interval.

    >>> f"{sample_interval_min(12e-12, 1e-6, 100e3, 0.25 / 4096) * 1e3:.0f} ms"
    '22 ms'
    """
    positive(r_source_ohm=r_source_ohm, error=error)
    share(error=error)
    k = holding_droop(c_sample_f, c_hold_f)
    if np.any(np.asarray(k) >= error):
        raise OutOfRange("One sample alone takes more of the voltage than is allowed: use a larger capacitor at the pin.")
    refilled = (1 - k / error) / (1 - k)
    t_interval_s: float = plain(-r_source_ohm * c_hold_f * np.log(refilled))
    return t_interval_s


def holding_capacitor(
    c_sample_f: float, r_source_ohm: float, t_interval_s: float, t_follow_s: float, bits: float, lsb_divisor: float = 2.0
) -> Window:
    """Window for the capacitor at the pin of a slow source.   [derived]

    The low end is set by the error of repeated samples (``holding_error``), the high end by how fast the source must be
    followed: R C ln(2^N k) = t_follow.

    Parameters
    ----------
    c_sample_f : sampling capacitor [F]
    r_source_ohm : source resistance [ohm]
    t_interval_s : time from sample to sample [s]
    t_follow_s : time in which a change of the source has to be read right [s]
    bits : resolution [-]
    lsb_divisor : 2 for an error of half a step [-]

    Returns
    -------
    c_hold_f : lowest and highest capacitor [F]

    Raises
    ------
    OutOfRange : a value is not positive, or no capacitor keeps the error because samples come too often.

    >>> holding_capacitor(12e-12, 10e3, 0.1, 0.1, 12).words
    'from 98.3 nF (the charge each sample takes) to 1.11 µF (the time in which a change must be read)'
    """
    positive(c_sample_f=c_sample_f, r_source_ohm=r_source_ohm, t_interval_s=t_interval_s, t_follow_s=t_follow_s)
    n_tau = time_constants(bits, lsb_divisor)
    error = math.exp(-n_tau)
    least = r_source_ohm / (r_source_ohm + t_interval_s / c_sample_f)  # what the mean current of the samples drops, however large Ch
    if least >= error:
        raise OutOfRange(
            f"Samples every {t_interval_s:.2g} s draw too much from {r_source_ohm:.3g} Ω, whatever the capacitor: "
            "sample less often or add a buffer."
        )
    low, high = c_sample_f, c_sample_f * 1e3 / error
    while holding_error(c_sample_f, high, r_source_ohm, t_interval_s) > error and high < 1.0:
        high *= 10
    for _ in range(100):  # the error falls as the capacitor grows: halve by ratio
        middle = math.sqrt(low * high)
        low, high = (middle, high) if holding_error(c_sample_f, middle, r_source_ohm, t_interval_s) > error else (low, middle)
    return Window(
        Limit(high, "the charge each sample takes"),
        Limit(t_follow_s / (r_source_ohm * n_tau), "the time in which a change must be read"),
        "F",
    )


def leakage_error(i_leak_a: float, r_source_ohm: float) -> float:
    """Voltage that leakage at the pin drops across the source: I R.   [Ohm's law]

    Parameters
    ----------
    i_leak_a : leakage of pin, clamps and protection parts together, hot [A]
    r_source_ohm : source resistance, protection resistor included [ohm]

    Returns
    -------
    v_error_v : error, either sign [V]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> f"{leakage_error(1e-6, 10e3) * 1e3:.0f} mV"
    '10 mV'
    """
    not_negative(i_leak_a=i_leak_a, r_source_ohm=r_source_ohm)
    return i_leak_a * r_source_ohm


def source_r_for_leakage(i_leak_a: float, v_error_v: float) -> float:
    """Largest source resistance that keeps the error of leakage: V / I.   [Ohm's law]

    Parameters
    ----------
    i_leak_a : leakage of pin, clamps and protection parts together, hot [A]
    v_error_v : error allowed [V]

    Returns
    -------
    r_source_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{source_r_for_leakage(1e-6, 1e-3):.0f} Ω"
    '1000 Ω'
    """
    positive(i_leak_a=i_leak_a, v_error_v=v_error_v)
    return v_error_v / i_leak_a
