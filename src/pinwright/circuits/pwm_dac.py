"""A PWM pin and an RC filter as an analog output: ripple, settling, and how it compares with a true converter.

Ripple of one stage, exact, from the exponentials of charging and discharging; about V d (1 - d) / (f R C)   [derived; the
same formulas stand in the answer of a public question-and-answer thread on the time constant of a PWM filter].
Two stages: a ladder of two RC sections has two real time constants, and its response is the weighted difference of two
single ones   [derived: partial fractions].  Comparisons are definitions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import positive, share
from pinwright.circuits.plain import plain
from pinwright.circuits.settling import time_constants
from pinwright.circuits.window import Limit, Window
from pinwright.errors import OutOfRange

__all__ = [
    "AnalogOutput",
    "better",
    "ladder_time_constants",
    "pwm_output",
    "rc_window",
    "ripple",
    "ripple_estimate",
    "ripple_two_stages",
    "ripple_worst",
    "settling_time_two_stages",
]

_POINTS = 2048


def ripple(v_high_v: float, f_pwm_hz: float, tau_s: float, duty: float) -> float:
    """Ripple from peak to peak behind one RC stage, exact.   [derived]

    V (1 - e^(-dT/RC)) (1 - e^(-(1-d)T/RC)) / (1 - e^(-T/RC))

    Parameters
    ----------
    v_high_v : swing of the pin [V]
    f_pwm_hz : frequency of the PWM [Hz]
    tau_s : R times C, the resistance of the pin included [s]
    duty : share of the period the pin is high [-]

    Returns
    -------
    v_ripple_v : ripple from peak to peak [V]

    Raises
    ------
    OutOfRange : a value is not positive, or the duty is no share.

    >>> f"{ripple(5, 10e3, 10e3 * 0.1e-6, 0.5) * 1e3:.3f} mV"
    '124.974 mV'
    """
    positive(v_high_v=v_high_v, f_pwm_hz=f_pwm_hz, tau_s=tau_s)
    share(duty=duty)
    x = 1 / (f_pwm_hz * tau_s)
    swing: float = plain(v_high_v * np.expm1(-duty * x) * np.expm1(-(1 - duty) * x) / -np.expm1(-x))
    return swing


def ripple_worst(v_high_v: float, f_pwm_hz: float, tau_s: float) -> float:
    """Ripple at the worst duty, one half: V tanh(T / 4RC).   [derived]

    Parameters
    ----------
    v_high_v : swing of the pin [V]
    f_pwm_hz : frequency of the PWM [Hz]
    tau_s : R times C [s]

    Returns
    -------
    v_ripple_v : ripple from peak to peak [V]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{ripple_worst(3.3, 5e3, 1e-3) * 1e3:.0f} mV"
    '165 mV'
    """
    positive(v_high_v=v_high_v, f_pwm_hz=f_pwm_hz, tau_s=tau_s)
    swing: float = plain(v_high_v * np.tanh(1 / (4 * f_pwm_hz * tau_s)))
    return swing


def ripple_estimate(v_high_v: float, f_pwm_hz: float, tau_s: float, duty: float = 0.5) -> float:
    """The usual estimate V d (1 - d) / (f R C): never below the exact value, close once RC is a few periods.   [derived]

    Parameters
    ----------
    v_high_v : swing of the pin [V]
    f_pwm_hz : frequency of the PWM [Hz]
    tau_s : R times C [s]
    duty : share of the period the pin is high [-]

    Returns
    -------
    v_ripple_v : ripple from peak to peak [V]

    Raises
    ------
    OutOfRange : a value is not positive, or the duty is no share.

    >>> f"{ripple_estimate(5, 10e3, 10e3 * 0.1e-6) * 1e3:.1f} mV"
    '125.0 mV'
    """
    positive(v_high_v=v_high_v, f_pwm_hz=f_pwm_hz, tau_s=tau_s)
    share(duty=duty)
    return v_high_v * duty * (1 - duty) / (f_pwm_hz * tau_s)


def ladder_time_constants(r1_ohm: float, c1_f: float, r2_ohm: float, c2_f: float) -> tuple[float, float]:
    """Both time constants of two RC stages in a row, the second loading the first.   [derived]

    They have the sum R1 C1 + R2 C2 + R1 C2 and the product R1 C1 R2 C2.

    Parameters
    ----------
    r1_ohm : resistor at the pin [ohm]
    c1_f : capacitor behind it [F]
    r2_ohm : second resistor [ohm]
    c2_f : capacitor at the output [F]

    Returns
    -------
    taus_s : longer and shorter time constant [s]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> [f"{tau * 1e3:.3f} ms" for tau in ladder_time_constants(10e3, 100e-9, 10e3, 100e-9)]
    ['2.618 ms', '0.382 ms']
    """
    positive(r1_ohm=r1_ohm, c1_f=c1_f, r2_ohm=r2_ohm, c2_f=c2_f)
    half = (r1_ohm * c1_f + r2_ohm * c2_f + r1_ohm * c2_f) / 2
    product = r1_ohm * c1_f * r2_ohm * c2_f
    longer = half + math.sqrt(half**2 - product)
    return longer, product / longer


def ripple_two_stages(v_high_v: float, f_pwm_hz: float, taus_s: tuple[float, float], duty: float = 0.5) -> float:
    """Ripple from peak to peak behind a ladder of two stages, exact but for the points looked at (2048 a period).   [derived]

    Parameters
    ----------
    v_high_v : swing of the pin [V]
    f_pwm_hz : frequency of the PWM [Hz]
    taus_s : both time constants of the ladder, as from ``ladder_time_constants`` [s]
    duty : share of the period the pin is high [-]

    Returns
    -------
    v_ripple_v : ripple from peak to peak [V]

    Raises
    ------
    OutOfRange : a value is not positive, the time constants are equal, or the duty is no share.

    >>> f"{ripple_two_stages(3.3, 5e3, ladder_time_constants(10e3, 100e-9, 10e3, 100e-9)) * 1e3:.1f} mV"
    '4.1 mV'
    """
    longer, shorter = _two(taus_s)
    positive(v_high_v=v_high_v, f_pwm_hz=f_pwm_hz)
    share(duty=duty)
    if duty in (0, 1):
        return 0.0
    t = np.linspace(0, 1 / f_pwm_hz, _POINTS + 1)
    waves = (longer * _periodic(t, f_pwm_hz, longer, duty) - shorter * _periodic(t, f_pwm_hz, shorter, duty)) / (longer - shorter)
    return float(v_high_v * np.ptp(waves))


def settling_time_two_stages(taus_s: tuple[float, float], bits: float, lsb_divisor: float = 1.0) -> float:
    """Time in which a ladder of two stages settles to a part of one code.   [derived]

    Parameters
    ----------
    taus_s : both time constants [s]
    bits : resolution [-]
    lsb_divisor : 1 for one step, 2 for half a step [-]

    Returns
    -------
    t_s : settling time [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the time constants are equal.

    >>> f"{settling_time_two_stages((2.618e-3, 0.382e-3), 8) * 1e3:.1f} ms"
    '14.9 ms'
    """
    longer, shorter = _two(taus_s)
    n_tau = time_constants(bits, lsb_divisor)
    # After the shorter exponential has died away the longer one, started larger by T1 / (T1 - T2), is alone.
    low, high = 0.0, longer * (n_tau + math.log(longer / (longer - shorter)))
    for _ in range(100):
        middle = (low + high) / 2
        missing = (longer * math.exp(-middle / longer) - shorter * math.exp(-middle / shorter)) / (longer - shorter)
        low, high = (middle, high) if missing > math.exp(-n_tau) else (low, middle)
    return high


@dataclass(frozen=True, slots=True)
class AnalogOutput:
    """What an analog output can do, whether filtered PWM or a true converter."""

    bits: float
    v_step_v: float
    v_ripple_v: float
    t_settle_s: float

    @property
    def useful_bits(self) -> float:
        """Bits that stand out of the ripple: a step no smaller than the ripple."""
        if self.v_ripple_v <= self.v_step_v:
            return self.bits
        return max(0.0, self.bits - math.log2(self.v_ripple_v / self.v_step_v))


def pwm_output(v_high_v: float, f_pwm_hz: float, bits: int, tau_s: float | tuple[float, float]) -> AnalogOutput:
    """Filtered PWM as an output: worst ripple, and settling to one step.   [derived]

    Parameters
    ----------
    v_high_v : swing of the pin [V]
    f_pwm_hz : frequency of the PWM [Hz]
    bits : resolution of the duty [-]
    tau_s : R times C of one stage, or both time constants of a ladder [s]

    Returns
    -------
    output : steps, ripple, settling [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> made = pwm_output(3.3, 10e3, 8, 10e-3)
    >>> f"{made.v_ripple_v * 1e3:.1f} mV, {made.t_settle_s * 1e3:.0f} ms, {made.useful_bits:.1f} bits"
    '8.2 mV, 55 ms, 8.0 bits'
    """
    positive(bits=bits)
    if isinstance(tau_s, tuple):
        worst, settle = ripple_two_stages(v_high_v, f_pwm_hz, tau_s), settling_time_two_stages(tau_s, bits)
    else:
        worst, settle = ripple_worst(v_high_v, f_pwm_hz, tau_s), tau_s * time_constants(bits)
    return AnalogOutput(bits, v_high_v / (1 << bits), worst, settle)


def better(one: AnalogOutput, other: AnalogOutput) -> dict[str, float]:
    """How an output compares with another: useful bits more, ripple more, settling as a ratio.   [definition]

    Parameters
    ----------
    one : output looked at [-]
    other : output compared with [-]

    Returns
    -------
    comparison : ``bits_more``, ``ripple_more_v`` in volts, ``settling_ratio`` (below 1 is faster) [-]

    Raises
    ------
    OutOfRange : the other output settles in no time.

    >>> dac = AnalogOutput(bits=8, v_step_v=3.3 / 256, v_ripple_v=0.0, t_settle_s=10e-6)
    >>> f"{better(dac, pwm_output(3.3, 10e3, 8, 10e-3))['settling_ratio']:.5f}"
    '0.00018'
    """
    positive(t_settle_s=other.t_settle_s)
    return {
        "bits_more": one.useful_bits - other.useful_bits,
        "ripple_more_v": one.v_ripple_v - other.v_ripple_v,
        "settling_ratio": one.t_settle_s / other.t_settle_s,
    }


def rc_window(f_pwm_hz: float, bits: int, t_settle_s: float) -> Window:
    """Window for R times C of one stage: ripple of at most one step, settled to one step in time.   [derived]

    Parameters
    ----------
    f_pwm_hz : frequency of the PWM [Hz]
    bits : resolution wanted at the output [-]
    t_settle_s : time a new value may take [s]

    Returns
    -------
    tau_s : lowest and highest R times C; empty where one stage cannot do it [s]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> rc_window(20e3, 8, 0.1).words
    'from 3.2 ms (ripple of one step) to 18 ms (settling time)'
    """
    positive(f_pwm_hz=f_pwm_hz, bits=bits, t_settle_s=t_settle_s)
    low = 1 / (4 * f_pwm_hz * math.atanh(2.0**-bits))
    return Window(Limit(low, "ripple of one step"), Limit(t_settle_s / time_constants(bits), "settling time"), "s")


def _two(taus_s: tuple[float, float]) -> tuple[float, float]:
    longer, shorter = max(taus_s), min(taus_s)
    positive(tau_s=shorter)
    if longer == shorter:
        raise OutOfRange("Two stages that load each other never have the same time constant twice.")
    return longer, shorter


def _periodic(t: np.ndarray, f_pwm_hz: float, tau_s: float, duty: float) -> np.ndarray:
    """Steady answer of one stage to PWM of height 1, over one period that begins with the rising edge."""
    period = 1 / f_pwm_hz
    top = math.expm1(-duty * period / tau_s) / math.expm1(-period / tau_s)
    bottom = top * math.exp(-(1 - duty) * period / tau_s)
    rising = 1 - (1 - bottom) * np.exp(-t / tau_s)
    falling = top * np.exp(-np.maximum(t - duty * period, 0) / tau_s)
    return np.where(t <= duty * period, rising, falling)
