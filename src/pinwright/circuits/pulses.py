"""Counting pulses and measuring frequencies: how fast, how often to read, how exact.

A gate of T seconds counts f T pulses, one more or less; a period of N pulses is timed in N f_clk / f ticks, one more or less.
Both err by one count, so the gate suits high frequencies and the period low ones; they meet where both count the same:
f = sqrt(N f_clk / T)   [derived; the two methods as described in public texts on frequency counters]
Quadrature: four edges a line and turn   [definition]
"""

from __future__ import annotations

import math
from typing import Literal

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.errors import OutOfRange

__all__ = [
    "best_method",
    "counter_read_interval_max",
    "debounced_rate_max",
    "gate_error",
    "gate_for_error",
    "interrupt_rate_max",
    "method_crossover",
    "period_error",
    "quadrature_rate",
    "quadrature_speed_max",
]


def counter_read_interval_max(width_bits: int, f_pulse_hz: float) -> float:
    """Longest time between two readings of a free-running counter before it laps unseen: 2^width / f.   [derived]

    Parameters
    ----------
    width_bits : width of the counter [-]
    f_pulse_hz : highest pulse rate [Hz]

    Returns
    -------
    t_s : upper limit [s]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{counter_read_interval_max(16, 100e3):.3f} s"
    '0.655 s'
    """
    positive(width_bits=width_bits, f_pulse_hz=f_pulse_hz)
    return (1 << width_bits) / f_pulse_hz


def interrupt_rate_max(t_service_s: float, cpu_share: float = 0.25, t_blocked_s: float = 0.0) -> float:
    """Highest edge rate an interrupt routine can follow.   [derived]

    Two limits, the lower counts: the share of the processor it may take, and that no second edge falls into the longest time
    another routine keeps it waiting (one edge is remembered, the next is lost).

    Parameters
    ----------
    t_service_s : time of the routine, entry and exit included [s]
    cpu_share : share of the processor it may take [-]
    t_blocked_s : longest time interrupts are held off by others [s]

    Returns
    -------
    f_edge_hz : upper limit [Hz]

    Raises
    ------
    OutOfRange : a value is negative, or the share is 0 or more than 1.

    >>> f"{interrupt_rate_max(5e-6):.0f}, {interrupt_rate_max(5e-6, t_blocked_s=100e-6):.0f}"
    '50000, 9524'
    """
    positive(t_service_s=t_service_s, cpu_share=cpu_share)
    share(cpu_share=cpu_share)
    not_negative(t_blocked_s=t_blocked_s)
    by_load = cpu_share / t_service_s
    return by_load if t_blocked_s == 0 else min(by_load, 1 / (t_blocked_s + t_service_s))


def debounced_rate_max(t_debounce_s: float, duty: float = 0.5) -> float:
    """Highest pulse rate that passes a debounce which wants both levels steady: min(d, 1-d) / t.   [derived]

    Parameters
    ----------
    t_debounce_s : time a level must be steady, longer than the contact bounces [s]
    duty : share of the period the contact is closed [-]

    Returns
    -------
    f_pulse_hz : upper limit [Hz]

    Raises
    ------
    OutOfRange : the time is not positive, or the duty not between 0 and 1.

    >>> debounced_rate_max(10e-3)
    50.0
    """
    positive(t_debounce_s=t_debounce_s)
    if not 0 < duty < 1:
        raise OutOfRange(f"A contact that opens and closes has a duty between 0 and 1, not {duty:g}.")
    return min(duty, 1 - duty) / t_debounce_s


def quadrature_rate(lines_per_turn: float, turns_per_s: float, edges_per_line: int = 4) -> float:
    """Edges a second of an encoder with two tracks: lines times turns times edges.   [definition]

    Parameters
    ----------
    lines_per_turn : lines, or full cycles, of one track [-]
    turns_per_s : speed of the shaft [1/s]
    edges_per_line : 4 to use every edge, 2 for one track, 1 for one edge [-]

    Returns
    -------
    f_edge_hz : edge rate [Hz]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> quadrature_rate(600, 50)
    120000
    """
    positive(lines_per_turn=lines_per_turn, edges_per_line=edges_per_line)
    not_negative(turns_per_s=turns_per_s)
    return lines_per_turn * turns_per_s * edges_per_line


def quadrature_speed_max(lines_per_turn: float, f_edge_max_hz: float, phase_error: float = 0.0, edges_per_line: int = 4) -> float:
    """Fastest turn an edge rate can follow; tracks that are not 90° apart bring two edges closer together.   [derived]

    Parameters
    ----------
    lines_per_turn : lines of one track [-]
    f_edge_max_hz : highest edge rate, as from ``interrupt_rate_max`` [Hz]
    phase_error : error of the phase as a share of the 90° between two edges [-]
    edges_per_line : 4 to use every edge [-]

    Returns
    -------
    turns_per_s : upper limit [1/s]

    Raises
    ------
    OutOfRange : a value is not positive, or the phase error reaches 1.

    >>> quadrature_speed_max(600, 50e3), quadrature_speed_max(24, 1000, phase_error=0.5)
    (20.833333333333332, 5.208333333333333)
    """
    positive(lines_per_turn=lines_per_turn, f_edge_max_hz=f_edge_max_hz, edges_per_line=edges_per_line)
    if not 0 <= phase_error < 1:
        raise OutOfRange(f"The tracks lose their order at a phase error of 1, not {phase_error:g}.")
    return f_edge_max_hz * (1 - phase_error) / (lines_per_turn * edges_per_line)


def gate_error(f_hz: float, t_gate_s: float, clock_tolerance: float = 0.0) -> float:
    """Error of counting during a gate: 1 / (f T) + tolerance of the clock.   [derived]

    Parameters
    ----------
    f_hz : frequency measured [Hz]
    t_gate_s : gate [s]
    clock_tolerance : tolerance of the clock as a share [-]

    Returns
    -------
    error : largest share of the frequency, either sign [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the tolerance negative.

    >>> gate_error(1000, 1.0)
    0.001
    """
    positive(f_hz=f_hz, t_gate_s=t_gate_s)
    not_negative(clock_tolerance=clock_tolerance)
    return 1 / (f_hz * t_gate_s) + clock_tolerance


def period_error(f_hz: float, f_clk_hz: float, periods: int = 1, clock_tolerance: float = 0.0) -> float:
    """Error of timing some periods: f / (N f_clk) + tolerance of the clock.   [derived]

    Parameters
    ----------
    f_hz : frequency measured [Hz]
    f_clk_hz : clock that times [Hz]
    periods : periods timed in one go [-]
    clock_tolerance : tolerance of the clock as a share [-]

    Returns
    -------
    error : largest share of the frequency, either sign [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the tolerance negative.

    >>> period_error(1000, 1e6)
    0.001
    """
    positive(f_hz=f_hz, f_clk_hz=f_clk_hz, periods=periods)
    not_negative(clock_tolerance=clock_tolerance)
    return f_hz / (periods * f_clk_hz) + clock_tolerance


def gate_for_error(f_hz: float, error: float, clock_tolerance: float = 0.0) -> float:
    """Shortest gate that keeps an error: 1 / (f (error - tolerance)).   [derived]

    Parameters
    ----------
    f_hz : lowest frequency measured [Hz]
    error : share allowed [-]
    clock_tolerance : tolerance of the clock as a share [-]

    Returns
    -------
    t_gate_s : lower limit [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the clock alone errs by as much.

    >>> f"{gate_for_error(50, 0.01):.1f} s"
    '2.0 s'
    """
    positive(f_hz=f_hz, error=error)
    not_negative(clock_tolerance=clock_tolerance)
    if error <= clock_tolerance:
        raise OutOfRange(f"The clock alone errs by {clock_tolerance:g}: no gate keeps {error:g}.")
    return 1 / (f_hz * (error - clock_tolerance))


def method_crossover(t_gate_s: float, f_clk_hz: float, periods: int = 1) -> float:
    """Frequency at which gate and period err alike: sqrt(N f_clk / T).   [derived]

    Parameters
    ----------
    t_gate_s : gate [s]
    f_clk_hz : clock that times periods [Hz]
    periods : periods timed in one go [-]

    Returns
    -------
    f_hz : above it count during a gate, below it time periods [Hz]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> method_crossover(1.0, 1e6)
    1000.0
    """
    positive(t_gate_s=t_gate_s, f_clk_hz=f_clk_hz, periods=periods)
    return math.sqrt(periods * f_clk_hz / t_gate_s)


def best_method(f_hz: float, t_gate_s: float, f_clk_hz: float, periods: int = 1) -> Literal["gate", "period"]:
    """Which of the two errs less at a frequency.   [derived]

    Parameters
    ----------
    f_hz : frequency measured [Hz]
    t_gate_s : gate [s]
    f_clk_hz : clock that times periods [Hz]
    periods : periods timed in one go [-]

    Returns
    -------
    method : ``gate`` or ``period`` [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> best_method(50, 1.0, 1e6), best_method(40e3, 1.0, 1e6)
    ('period', 'gate')
    """
    return "gate" if gate_error(f_hz, t_gate_s) < period_error(f_hz, f_clk_hz, periods) else "period"
