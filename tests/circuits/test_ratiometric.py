"""Ratiometric sensors."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import ratiometric
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


@settings(max_examples=30)
@given(st.floats(0, 1), st.floats(1.0, 6.0))
def test_one_rail_cancels(output: float, v: float):
    assert ratiometric.full_scale_share(output, v, v) == pytest.approx(output, rel=1e-12)


def test_two_rails_do_not():
    # definition: 5 % more supply reads 5 % more, 2 % less reference another 2 %
    found = ratiometric.reading_error(Range.around(5.0, 0.05), Range.around(3.3, 0.02), 0.6)
    assert found.high == pytest.approx(1.05 / 0.98 - 1)
    assert found.low == pytest.approx(0.95 / 1.02 - 1)
    assert found.middle == 0
    assert ratiometric.reading_error(5.0, 3.3).high == 0


def test_divider_adds_its_own():
    plain = ratiometric.reading_error(5.0, 3.3, 0.6)
    divided = ratiometric.reading_error(5.0, 3.3, Range.around(0.6, 0.01))
    assert divided.high > plain.high
    assert divided.high == pytest.approx(0.01)


def test_drop_of_a_wire():
    # Ohm's law: 10 mA through 1 ohm is 10 mV of 3.3 V
    assert ratiometric.drop_error(10e-3, 1.0, 3.3) == pytest.approx(-0.00303, abs=1e-5)


def test_quantity_is_the_inverse_of_the_line():
    assert ratiometric.quantity(0.1 + 0.008 * 50, 0.1, 0.008) == pytest.approx(50)


def test_bad_input():
    with pytest.raises(OutOfRange, match=r"The wire would drop 5 V of 3\.3 V"):
        ratiometric.drop_error(1.0, 5.0, 3.3)
    with pytest.raises(OutOfRange, match="tells nothing"):
        ratiometric.quantity(0.5, 0.1, 0)
    with pytest.raises(OutOfRange, match="v ref must be above 0 V"):
        ratiometric.full_scale_share(0.5, 5.0, 0)
