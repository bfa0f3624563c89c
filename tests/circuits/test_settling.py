"""Sampling capacitors, the capacitor at the pin, leakage."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import settling
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(("cycles", "r_kohm"), [(1.5, 0.4), (7.5, 5.9), (13.5, 11.4), (28.5, 25.2), (41.5, 37.2)])
def test_source_r_max_published(cycles: float, r_kohm: float):
    # STM32F103x4/x6 data sheet, Doc ID 15060 Rev 6, Table 47: 14 MHz, 8 pF, 1 kohm, 12 bits
    assert settling.source_r_max(cycles / 14e6, 8e-12, 1000, 12) / 1e3 == pytest.approx(r_kohm, abs=0.05)


@pytest.mark.parametrize(("bits", "n_tau"), [(8, 5.5), (12, 8.32), (15, 10.40), (24, 16.64)])
def test_time_constants_published(bits: int, n_tau: float):
    # TI SLYW038D, settling table (its row of 16 bits is a misprint)
    assert settling.time_constants(bits) == pytest.approx(n_tau, abs=0.05 if bits == 8 else 0.006)


@settings(max_examples=30)
@given(st.floats(1, 24))
def test_bits_and_time_constants_are_inverse(bits: float):
    assert settling.settled_bits(settling.time_constants(bits)) == pytest.approx(bits)


def test_time_and_error_agree():
    t_s = settling.settling_time(10e3, 12e-12, 12, 4)
    assert settling.settling_error(t_s, 10e3, 12e-12) == pytest.approx(1 / 4096 / 4)
    # and the source that just settles in this time is the one meant
    assert settling.source_r_max(t_s, 12e-12, 0.0, 12) == pytest.approx(10e3)


def test_over_ranges():
    found = over(settling.settling_time, r_ohm=Range.around(10e3, 0.01), c_f=Range(8e-12, 14e-12), bits=12.0)
    assert found.high == pytest.approx(10.1e3 * 14e-12 * 12 * math.log(2))


def _simulated(c_s: float, c_h: float, r: float, t: float) -> float:
    """Share the thousandth sample reads too low, sample by sample."""
    v = 1.0
    for _ in range(1000):
        shared = v * c_h / (c_s + c_h)
        v = 1 - (1 - shared) * math.exp(-t / (r * c_h))
    return 1 - shared


@pytest.mark.parametrize("t_s", [1e-5, 1e-3, 1e-1])
def test_holding_error_agrees_with_a_simulation(t_s: float):
    # oracle: charge shared and refilled one sample after the other; nothing of the closed formula is used
    assert settling.holding_error(14e-12, 10e-9, 47e3, t_s) == pytest.approx(_simulated(14e-12, 10e-9, 47e3, t_s), rel=1e-6)


def test_holding_error_limits():
    # rare samples: the droop alone; frequent ones: the mean current of a switched capacitor, R / (R + T / C)
    assert settling.holding_error(14e-12, 10e-9, 47e3, 1.0) == pytest.approx(settling.holding_droop(14e-12, 10e-9))
    assert settling.holding_error(14e-12, 1e-6, 47e3, 1e-5) == pytest.approx(47e3 / (47e3 + 1e-5 / 14e-12), rel=0.001)


def test_interval_is_the_inverse_of_the_error():
    error = 0.5 / 4096
    t_s = settling.sample_interval_min(14e-12, 1e-6, 100e3, error)
    assert settling.holding_error(14e-12, 1e-6, 100e3, t_s) == pytest.approx(error)


def test_window_of_the_capacitor():
    window = settling.holding_capacitor(14e-12, 100e3, 1.0, 1.0, 12)
    assert settling.holding_error(14e-12, window.low.value, 100e3, 1.0) == pytest.approx(0.5 / 4096)
    assert settling.settling_time(100e3, window.high.value, 12, 2) == pytest.approx(1.0)
    assert not window.is_empty
    # the usual 100 nF is near the low end for 12 bits: common practice, no source
    assert 50e-9 < window.low.value < 200e-9


def test_leakage():
    # 1 uA through 10 kohm is 10 mV [Ohm's law]; three steps of 12 bits over 3.3 V
    assert settling.leakage_error(1e-6, 10e3) == pytest.approx(10e-3)
    assert settling.source_r_for_leakage(1e-6, settling.leakage_error(1e-6, 10e3)) == pytest.approx(10e3)


def test_bad_input():
    with pytest.raises(OutOfRange, match=r"Even a source of 0 Ω does not settle in this sampling time: sample longer\."):
        settling.source_r_max(1e-8, 14e-12, 1000, 12)
    with pytest.raises(OutOfRange, match="use a larger capacitor at the pin"):
        settling.sample_interval_min(14e-12, 1e-9, 10e3, 1e-4)
    with pytest.raises(OutOfRange, match="sample less often or add a buffer"):
        settling.holding_capacitor(14e-12, 1e6, 1e-4, 1.0, 12)
    with pytest.raises(OutOfRange, match="the divisor is at least 1"):
        settling.time_constants(12, 0.5)
    with pytest.raises(OutOfRange, match="r must be above 0 Ω"):
        settling.settling_time(0, 1e-12, 12)
    with pytest.raises(OutOfRange, match="i leak must not be below 0 A"):
        settling.leakage_error(-1e-9, 1)
