"""Addressable LEDs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import pixels
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


def test_timing_published():
    # WS2812B data sheet (reproduced form): 0.4 + 0.85 us, 0.8 + 0.45 us; 0.4 us ± 150 ns; 60 pixels and 50 us of reset
    assert pixels.bit_time(0.4e-6, 0.85e-6) == pytest.approx(1.25e-6)
    assert pixels.bit_time(0.8e-6, 0.45e-6) == pytest.approx(1.25e-6)
    window = pixels.pulse_window(0.4e-6, 150e-9)
    assert (window.low, window.high) == (pytest.approx(250e-9), pytest.approx(550e-9))
    assert pixels.frame_time(60, t_reset_s=50e-6) == pytest.approx(1850e-6)


def test_windows_of_both_bits_do_not_overlap():
    # the same data sheet: a 0 of 550 ns and a 1 of 650 ns are still told apart
    assert pixels.pulse_window(0.4e-6, 150e-9).high < pixels.pulse_window(0.8e-6, 150e-9).low


def test_level_published():
    # the same data sheet: VIH = 0.7 VDD, so 3.3 V into 5 V pixels is 0.2 V short; it reaches at 4.7 V
    assert pixels.level_margin(3.3, 5.0) == pytest.approx(-0.2)
    limit = pixels.supply_max_for_level(3.3)
    assert pixels.level_margin(3.3, limit) == pytest.approx(0, abs=1e-12)
    assert limit == pytest.approx(4.71, abs=0.005)


@settings(max_examples=30)
@given(st.floats(1, 400))
def test_pixels_and_rate_are_inverse(f_hz: float):
    n = pixels.pixels_max(f_hz)
    if n:
        assert pixels.frame_rate_max(n) >= f_hz * (1 - 1e-9)
    assert pixels.frame_rate_max(n + 1) < f_hz * (1 + 1e-9)


def test_ticks_lie_in_the_window():
    window = Range(250e-9, 550e-9)
    assert list(pixels.ticks(window, 8e6)) == [2, 3, 4]  # of 125 ns
    assert not pixels.ticks(window, 1.5e6)  # ticks of 667 ns


def test_current():
    # common planning figure, from memory: 60 mA a pixel at full white
    assert pixels.supply_current(60) == pytest.approx(3.6)
    assert pixels.supply_current(60, brightness=0, i_idle_a=1e-3) == pytest.approx(0.06)
    assert pixels.supply_current(60, i_idle_a=1e-3) == pytest.approx(3.6)


def test_bad_input():
    with pytest.raises(OutOfRange, match="shorter than the pulse"):
        pixels.pulse_window(1e-7, 2e-7)
    with pytest.raises(OutOfRange, match="n must be above 0"):
        pixels.frame_time(0)
    with pytest.raises(OutOfRange, match="brightness must lie between 0 and 1"):
        pixels.supply_current(10, brightness=2)
