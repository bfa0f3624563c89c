"""Light-dependent resistors."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import photocells
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


def test_gamma_is_what_makers_define():
    # Token CdS photo resistors, note 3: gamma = log(R10 / R100)
    r10, r100 = photocells.resistance(10, 15e3, 0.7), photocells.resistance(100, 15e3, 0.7)
    assert r10 == pytest.approx(15e3)
    assert math.log10(r10 / r100) == pytest.approx(0.7)


@settings(max_examples=30)
@given(st.floats(0.1, 1e4), st.floats(0.4, 1.0))
def test_there_and_back(e_lux: float, gamma: float):
    assert photocells.illuminance(photocells.resistance(e_lux, 15e3, gamma), 15e3, gamma) == pytest.approx(e_lux, rel=1e-9)


def test_spread_contains_the_reading_and_grows_away_from_ten_lux():
    r10, gamma = Range(10e3, 20e3, 15e3), Range(0.6, 0.8, 0.7)
    near, far = (photocells.illuminance_spread(e, r10, gamma) for e in (10.0, 1000.0))
    assert 10.0 in near
    assert 1000.0 in far
    assert far.high / far.low > near.high / near.low > 2  # a cell is no lux meter
    assert photocells.illuminance_spread(100.0, 15e3, 0.7).low == pytest.approx(100.0)


def test_divider_spreads_widest():
    made = photocells.light_divider(1, 1000, 15e3, 0.7, n=24)
    best = math.sqrt(photocells.resistance(1, 15e3, 0.7) * photocells.resistance(1000, 15e3, 0.7))
    assert made.r_ohm == pytest.approx(best, rel=0.06)  # the nearest of E24 to the geometric mean
    assert made.share_dark == pytest.approx(1 - made.share_bright, abs=0.03)
    assert made.span > photocells.light_divider(10, 100, 15e3, 0.7).span


def test_bad_input():
    with pytest.raises(OutOfRange, match="e lux must be above 0"):
        photocells.resistance(0, 15e3, 0.7)
    with pytest.raises(OutOfRange, match="from dark to bright, not from 100 lx to 10 lx"):
        photocells.light_divider(100, 10, 15e3, 0.7)
