"""Counting pulses, measuring frequencies."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import pulses
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_reading_a_counter_in_time():
    # derived: 2^16 pulses at 10 kHz take 6.5536 s
    assert pulses.counter_read_interval_max(16, 10e3) == pytest.approx(6.5536)


def test_interrupts():
    assert pulses.interrupt_rate_max(4e-6, 0.5) == pytest.approx(125e3)
    # blocked for long, the wait counts, not the load
    assert pulses.interrupt_rate_max(4e-6, 0.5, 1e-3) == pytest.approx(1 / 1.004e-3)
    assert pulses.interrupt_rate_max(4e-6, 0.5, 1e-9) == pytest.approx(125e3)


def test_debounce():
    # both levels last 10 ms at 50 Hz; a short pulse leaves less
    assert pulses.debounced_rate_max(10e-3) == pytest.approx(50)
    assert pulses.debounced_rate_max(10e-3, 0.1) == pytest.approx(10)
    assert pulses.debounced_rate_max(10e-3, 0.9) == pytest.approx(10)


@settings(max_examples=30)
@given(st.floats(1, 5000), st.floats(0.1, 500))
def test_quadrature_is_its_own_inverse(lines: float, turns: float):
    assert pulses.quadrature_speed_max(lines, pulses.quadrature_rate(lines, turns)) == pytest.approx(turns)


def _counted(f_hz: float, t_gate_s: float) -> float:
    """Worst error of counting over every phase of the first pulse."""
    counts = [math.floor(f_hz * t_gate_s + phase / 100) for phase in range(100)]
    return max(abs(count / t_gate_s / f_hz - 1) for count in counts)


@pytest.mark.parametrize("f_hz", [7.3, 123.4, 9999.9])
def test_gate_error_bounds_what_counting_gives(f_hz: float):
    # oracle: whole pulses counted for a hundred phases
    assert _counted(f_hz, 1.0) <= pulses.gate_error(f_hz, 1.0) * (1 + 1e-9)


def test_period_published():
    # public text on frequency counters: 1345 Hz timed with 1 MHz gives 743 ticks, read as 1345.895 Hz
    assert pulses.period_error(1345, 1e6) >= 1345.895 / 1345 - 1
    assert pulses.period_error(1345, 1e6) == pytest.approx(0.001345)


@settings(max_examples=50)
@given(st.floats(0.1, 1e6), st.floats(0.01, 10), st.integers(1, 100))
def test_the_methods_cross_where_they_err_alike(f_hz: float, t_gate_s: float, periods: int):
    crossing = pulses.method_crossover(t_gate_s, 16e6, periods)
    assert pulses.gate_error(crossing, t_gate_s) == pytest.approx(pulses.period_error(crossing, 16e6, periods))
    if f_hz < crossing * 0.999:
        assert pulses.best_method(f_hz, t_gate_s, 16e6, periods) == "period"
    if f_hz > crossing * 1.001:
        assert pulses.best_method(f_hz, t_gate_s, 16e6, periods) == "gate"


def test_gate_for_an_error():
    t_s = pulses.gate_for_error(50, 0.01, 0.001)
    assert pulses.gate_error(50, t_s, 0.001) == pytest.approx(0.01)
    assert over(pulses.gate_error, f_hz=Range(10, 100), t_gate_s=1.0).high == pytest.approx(0.1)


def test_bad_input():
    with pytest.raises(OutOfRange, match=r"The clock alone errs by 0\.01: no gate keeps 0\.005"):
        pulses.gate_for_error(50, 0.005, 0.01)
    with pytest.raises(OutOfRange, match="duty between 0 and 1, not 1"):
        pulses.debounced_rate_max(1e-3, 1)
    with pytest.raises(OutOfRange, match="lose their order at a phase error of 1"):
        pulses.quadrature_speed_max(100, 1e3, 1.0)
    with pytest.raises(OutOfRange, match="cpu share must lie between 0 and 1"):
        pulses.interrupt_rate_max(1e-6, 2)
