"""Lines: RS-485 bias against published examples and Kirchhoff, terminators, series resistors."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.ranges import Range
from pinwright.circuits.termination import (
    bias_resistor,
    bias_voltage,
    bias_window,
    can_resistance,
    driver_resistance,
    is_long,
    matched_terminator,
    near_terminator,
    series_window,
    unit_loads,
)
from pinwright.errors import OutOfRange


def idle_v(v_v: float, rb: float, common: float, z0: float, near: float) -> float:
    """Differential voltage by solving both nodes: each wire to its rail, to ground, and across two terminators."""
    across = 1 / z0 + 1 / near
    matrix = [[1 / rb + 1 / common + across, -across], [-across, 1 / rb + 1 / common + across]]
    a, b = np.linalg.solve(matrix, [v_v / rb, 0.0])
    return float(a - b)


@given(st.floats(3, 5.5), st.floats(0.2, 0.5), st.floats(100, 130), st.floats(375, 6000))
@settings(max_examples=30)
def test_bias_resistor_agrees_with_kirchhoff(v_v: float, v_ab: float, z0: float, common: float) -> None:
    matched = bias_resistor(v_v, v_ab, z0, common)
    assert idle_v(v_v, matched, common, z0, near_terminator(z0, matched)) == pytest.approx(v_ab)
    plain = bias_resistor(v_v, v_ab, z0, common, extra=-1)
    assert idle_v(v_v, plain, common, z0, z0) == pytest.approx(v_ab)


def test_the_quoted_form_biases_less_than_it_says() -> None:
    # TB509 Rev. 1.01 as quoted in a public notebook (read): 333.33 ohm and 146.34 ohm for 0.3 V
    quoted = bias_resistor(3.3, 0.3, extra=1)
    assert quoted == pytest.approx(333.33, abs=0.01)
    assert near_terminator(120.0, quoted) == pytest.approx(146.34, abs=0.01)
    assert idle_v(3.3, quoted, 375.0, 120.0, near_terminator(120.0, quoted)) == pytest.approx(0.275)


def test_bias_voltage_published() -> None:
    # B+B RS-422/485 application ebook, chapter 2: about 57 ohm, 5 mA, 285 mV
    found = bias_voltage(5.0, [4700.0] * 10, [120.0, 120.0], [12e3] * 10)
    assert (found.r_load_ohm, found.i_a, found.v_ab_v) == pytest.approx((57, 5e-3, 0.285), rel=0.01)
    # application note 2506, example 2 (read): 32 nodes, 9 kohm of bias in all keep 200 mV with 0.53 mA
    bare = bias_voltage(5.0, [4500.0], [], [12e3] * 32)
    assert (bare.r_load_ohm, bare.i_a, bare.v_ab_v) == pytest.approx((375, 0.53e-3, 0.2), rel=0.01)


def test_loads_and_terminators_published() -> None:
    assert unit_loads(12e3, 32) == 375  # TIA/EIA-485-A (from memory)
    # Advantech ADAM-5000 manual: 30 receivers of 36 kohm are 1.2 kohm, which ask 110 ohm on a 100 ohm line
    assert unit_loads(36e3, 30) == 1200
    assert matched_terminator(100.0, unit_loads(36e3, 30)) == pytest.approx(110, abs=1)


def test_bias_window_keeps_both_ends() -> None:
    window = bias_window(4.75, 2)
    assert not window.is_empty
    for rb in (window.low.value, window.high.value):
        differential = 1 / (2 / 120 + 1 / (2 * rb) + 1 / 12e3)
        assert differential >= 54 - 1e-9
        assert idle_v(4.75, rb, 6000.0, 120.0, 120.0) >= 0.3 - 1e-9
    weak = bias_window(3.0, 2)
    assert weak.is_empty
    assert "an idle bus must keep 300 mV" in weak.words
    assert "terminators and receivers alone make 50 Ω" in bias_window(5.0, 2, z0_ohm=100.4).words


def test_can() -> None:
    # ISO 11898-2 (from memory): 120 ohm at both ends; a meter shows 60 ohm
    assert can_resistance([120.0, 120.0]) == (60.0, "right: 60 Ω, one at each end")
    assert "missing" in can_resistance([120.0])[1]
    assert "too many" in can_resistance([120.0] * 3)[1]
    assert can_resistance([])[0] is None


def test_series_resistor() -> None:
    # ESP32 data sheet table 13 (read): 2.64 V at 40 mA from 3.3 V
    assert driver_resistance(3.3, 2.64, 40e-3) == pytest.approx(16.5)
    window = series_window(100.0, Range(15.0, 35.0))
    for driver, wanted in ((15.0, window.low.value), (35.0, window.high.value)):
        source = driver + wanted
        assert abs((100 - source) / (100 + source)) == pytest.approx(0.25)
    assert 100.0 - 25.0 in window
    assert series_window(50.0, Range(100.0, 200.0)).is_empty


def test_long_lines() -> None:
    # common practice, no source: a round trip of 10 ns a metre against the edge
    assert not is_long(0.1, 5e-9)
    assert is_long(1.0, 2e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bias_voltage(5.0, []), "Without a bias resistor an idle bus floats"),
        (lambda: bias_resistor(0.2, 0.3, extra=-1), "cannot bias a bus to 0.3 V"),
        (lambda: matched_terminator(120.0, 100.0), "already too little for 120"),
        (lambda: unit_loads(12e3, 0), "at least one receiver"),
        (lambda: series_window(100.0, Range(10, 20), 1.0), "between 0 and 1, not 1"),
        (lambda: driver_resistance(3.3, 2.6, 0.0), "i must be above 0 A"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
