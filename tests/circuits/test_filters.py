"""RC filters and anti-alias corners."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import filters
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(("f_hz", "gain_db"), [(10e3, -8.64), (100e3, -28.01), (20e3, -14.19)])
def test_gain_published(f_hz: float, gain_db: float):
    # Microchip online note GUID-2B9A050B, section 2.1: 4 kohm and 0.01 uF; AN538 at 20 kHz, formula corrected
    assert filters.gain_db(f_hz, filters.corner(4e3, 10e-9)) == pytest.approx(gain_db, abs=0.005)


def test_three_decibels_at_the_corner():
    assert filters.gain_db(1000, 1000) == pytest.approx(-3.0103, abs=1e-4)
    assert filters.gain_db(1000, 1000, stages=2) == pytest.approx(2 * filters.gain_db(1000, 1000))


@settings(max_examples=30)
@given(st.floats(1, 1e6), st.floats(0.1, 80), st.integers(1, 4))
def test_attenuation_and_corner_are_inverse(f_hz: float, loss_db: float, stages: int):
    corner = filters.corner_for_attenuation(f_hz, loss_db, stages)
    assert filters.gain_db(f_hz, corner, stages) == pytest.approx(-loss_db, rel=1e-6)


def test_r_and_c_for_a_corner():
    assert filters.corner(filters.r_for_corner(4e3, 10e-9), 10e-9) == pytest.approx(4e3)
    assert filters.corner(10e3, filters.c_for_corner(123.0, 10e3)) == pytest.approx(123.0)


def test_corner_over_tolerances():
    found = over(filters.corner, r_ohm=Range.around(10e3, 0.05), c_f=Range.around(100e-9, 0.2))
    assert found.low == pytest.approx(found.middle / 1.05 / 1.2)
    assert found.high == pytest.approx(found.middle / 0.95 / 0.8)


def test_anti_alias_window():
    window = filters.anti_alias_corner(10_000, 10, 40)
    assert filters.gain_db(10, window.low.value) == pytest.approx(-1.0)
    assert filters.gain_db(9_990, window.high.value) == pytest.approx(-40)
    assert not window.is_empty
    # one stage cannot do 40 dB when the signal is a tenth of the sample rate; more samples always widen the window
    assert filters.anti_alias_corner(1000, 100, 40).is_empty
    assert filters.anti_alias_corner(20_000, 10, 40).high.value > window.high.value


def test_bad_input():
    with pytest.raises(OutOfRange, match="A signal of 600 Hz needs more than 1200 samples a second, not 1000"):
        filters.anti_alias_corner(1000, 600, 40)
    with pytest.raises(OutOfRange, match="c must be above 0 F"):
        filters.corner(1e3, 0)
    with pytest.raises(OutOfRange, match="f must be a finite number"):
        filters.gain_db(float("inf"), 1)
