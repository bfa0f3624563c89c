"""Limits of flicker."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import flicker
from pinwright.circuits.flicker import LOW_RISK, NO_EFFECT
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(("f_hz", "low_risk", "no_effect"), [(100, 8.0, 3.3), (120, 9.6, 4.0), (50, 1.25, 0.5), (60, 1.5, 0.6)])
def test_limits_published(f_hz: float, low_risk: float, no_effect: float):
    # IEEE 1789-2015, practices 1 and 2, as a public summary prints them (100 Hz: 8.0 % and 3.3 %)
    assert flicker.modulation_limit(f_hz, LOW_RISK) * 100 == pytest.approx(low_risk, abs=0.05)
    assert flicker.modulation_limit(f_hz, NO_EFFECT) * 100 == pytest.approx(no_effect, abs=0.05)


def test_full_depth_published():
    # the same: plain on and off is low risk above 1250 Hz, without effect above 3000 Hz
    assert flicker.min_frequency(1.0, LOW_RISK) == pytest.approx(1250)
    assert flicker.min_frequency(1.0, NO_EFFECT) == pytest.approx(3000, abs=4)
    assert flicker.verdict(490.2, 1.0) == "exceeds"
    assert flicker.verdict(1251, 1.0) == "low risk"
    assert flicker.verdict(3001, 1.0) == "no effect"


def test_percent_flicker_published():
    # IES definition: 100 (A - B) / (A + B)
    assert flicker.modulation(100, 60) == 0.25
    assert flicker.modulation(1, 0) == 1


@settings(max_examples=100)
@given(st.floats(0.001, 1), st.sampled_from([LOW_RISK, NO_EFFECT]))
def test_the_lowest_frequency_is_allowed_and_a_lower_one_is_not(depth: float, practice: flicker.Practice):
    f_hz = flicker.min_frequency(depth, practice)
    assert flicker.modulation_limit(f_hz, practice) >= depth * (1 - 1e-9)
    if f_hz <= practice.free_above_hz:
        assert flicker.modulation_limit(f_hz * 0.999, practice) < depth


@settings(max_examples=50)
@given(st.floats(1, 4000), st.floats(1, 4000))
def test_more_frequency_never_allows_less(one_hz: float, other_hz: float):
    low, high = sorted((one_hz, other_hz))
    for practice in (LOW_RISK, NO_EFFECT):
        assert flicker.modulation_limit(low, practice) <= flicker.modulation_limit(high, practice)
    assert flicker.modulation_limit(low, NO_EFFECT) <= flicker.modulation_limit(low, LOW_RISK)


def test_bad_input():
    with pytest.raises(OutOfRange, match="cannot be more than the most"):
        flicker.modulation(1, 2)
    with pytest.raises(OutOfRange, match=r"A modulation is at most 1, not 1\.5"):
        flicker.verdict(100, 1.5)
    with pytest.raises(OutOfRange, match="at most 1, not 2"):
        flicker.min_frequency(2, LOW_RISK)
    with pytest.raises(OutOfRange, match="f must be above 0 Hz"):
        flicker.modulation_limit(0, LOW_RISK)
