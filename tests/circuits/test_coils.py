"""Coils: published ratings, copper at temperature, whether a relay pulls in."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.coils import coil_check, coil_current, coil_levels, coil_power, copper_resistance
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(
    ("v_v", "r_ohm", "i_a", "p_w"),
    [
        (5.0, 63.0, 79.4e-3, 0.4),  # Omron G5LE data sheet, coil ratings
        (24.0, 1440.0, 16.7e-3, 0.4),  # the same
        (5.0, 125.0, 40e-3, 0.2),  # Omron G5Q data sheet, coil ratings
    ],
)
def test_ratings_published(v_v: float, r_ohm: float, i_a: float, p_w: float) -> None:
    assert coil_current(v_v, r_ohm) == pytest.approx(i_a, rel=0.01)
    assert coil_power(v_v, r_ohm) == pytest.approx(p_w, rel=0.01)


def test_copper_published() -> None:
    # a relay maker's note (Babcock, read): 320 ohm at 25 °C become 443.3 ohm at 125 °C
    assert copper_resistance(320.0, 125.0, 25.0) == pytest.approx(443.3, abs=0.05)
    # another (read): 16 V pull-in at 25 °C become 19.7 V at 85 °C, 20.6 V at 100 °C and 12.9 V at -25 °C
    assert [round(copper_resistance(16.0, t, 25.0), 1) for t in (85.0, 100.0, -25.0)] == [19.7, 20.6, 12.9]
    # TE, temperature considerations (read): 0.003929 a kelvin from 20 °C
    assert copper_resistance(1.0, 21.0, 20.0) - 1 == pytest.approx(0.003929, abs=5e-7)


@given(st.floats(1, 1e4), st.floats(-40, 125), st.floats(-40, 125))
@settings(max_examples=30)
def test_copper_there_and_back(r_ohm: float, there: float, start: float) -> None:
    assert copper_resistance(copper_resistance(r_ohm, there, start), start, there) == pytest.approx(r_ohm)


def test_levels_published() -> None:
    # Omron G5LE data sheet: 75 %, 10 %, 170 % of 12 V
    levels = coil_levels(12.0, 0.75, 0.10, 1.7)
    assert (levels.must_operate_v, levels.must_release_v, levels.max_v) == pytest.approx((9.0, 1.2, 20.4))


LEVELS = coil_levels(5.0, 0.75, 0.10, 1.7)


def test_a_darlington_starves_a_hot_5_v_relay() -> None:
    check = coil_check(LEVELS, Range(4.75, 5.25, 5.0), Range(0.7, 1.1), 63.0, Range(0.0, 70.0))
    assert not check.works
    assert check.operate_margin_v == pytest.approx(3.65 - 3.75 * 304.5 / 257.5)
    assert "gets only 3.65 V" in check.faults[0]
    assert coil_check(LEVELS, Range(4.75, 5.25, 5.0), Range(0.0, 0.2), 63.0, Range(0.0, 70.0)).works


def test_current_is_highest_cold_and_power_too() -> None:
    check = coil_check(LEVELS, 5.0, 0.0, Range.around(63.0, 0.1), Range(-40.0, 70.0))
    assert check.i.high == pytest.approx(5.0 / (63 * 0.9 * 194.5 / 257.5))
    assert check.p_max_w == pytest.approx(5.0 * check.i.high)


def test_leakage_may_hold_and_voltage_may_burn() -> None:
    stuck = coil_check(LEVELS, 5.0, 0.0, 63.0, Range(20.0, 20.0), i_leak_off_a=10e-3)
    assert "leakage leaves 0.623 V on it" in stuck.faults[0]
    assert "above the 0.494 V where it lets go" in stuck.faults[0]
    assert "9 V is 500 mV more than the coil takes" in coil_check(LEVELS, 9.0, 0.0, 63.0, Range(20.0, 20.0)).faults


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: copper_resistance(100.0, -273.0), "below -200"),
        (lambda: coil_levels(12.0, 0.1, 0.75, 1.7), "lets go below where it operates"),
        (lambda: coil_current(-1.0, 100.0), "v must not be below 0 V"),
        (lambda: coil_power(5.0, 0.0), "r must be above 0 Ω"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
