"""LED resistors: published values, windows over tolerance, supplies that do not reach."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.leds import led_current, led_plan, series_resistor
from pinwright.circuits.preferred import preferred
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(
    ("v_v", "vf_v", "i_a", "exact", "bought"),
    [
        (5.0, 1.25, 50e-3, 75.0, 75.0),  # instruction manual of a shutter kit, opto input sheet
        (3.4, 1.8, 15e-3, 106.67, 110.0),  # university lecture on LEDs, 74LS541 sourcing
        (5.0, 2.1, 20e-3, 145.0, 150.0),  # University of Latvia, LED notes, table
        (3.3, 1.8, 10e-3, 150.0, 150.0),  # the same
        (5.0, 1.2, 20e-3, 190.0, 200.0),  # forum reply on a PC817 (exact value); E24 by our own rule
    ],
)
def test_published(v_v: float, vf_v: float, i_a: float, exact: float, bought: float) -> None:
    assert series_resistor(v_v, vf_v, i_a) == pytest.approx(exact, abs=0.01)
    assert preferred(series_resistor(v_v, vf_v, i_a), 24, "up") == bought


@given(st.floats(3, 24), st.floats(0.5, 2.5), st.floats(1e-4, 0.1))
@settings(max_examples=30)
def test_round_trip(v_v: float, vf_v: float, i_a: float) -> None:
    assert led_current(v_v, vf_v, series_resistor(v_v, vf_v, i_a)) == pytest.approx(i_a)


def test_current_stays_in_its_limits_over_everything() -> None:
    plan = led_plan(Range(4.75, 5.25, 5.0), Range(1.8, 2.4, 2.0), 20e-3, 1e-3, v_switch_v=Range(0.0, 0.3), r_pin_ohm=Range(10.0, 50.0))
    assert plan.choice is not None
    assert plan.i is not None
    assert 1e-3 <= plan.i.low < plan.i.high <= 20e-3
    assert plan.choice.value == 1500.0  # weak end of a window up to 1.9 kohm, coarsest series E6
    assert plan.p_resistor_w == pytest.approx(plan.i.high**2 * 1500 * 1.05)
    assert plan.p_led_w == pytest.approx(plan.i.high * 2.4)
    assert "allowed from" in plan.words


def test_a_blue_led_on_a_sagging_pin_has_no_resistor() -> None:
    plan = led_plan(Range(2.64, 3.6, 3.3), Range(2.8, 3.6, 3.2), 20e-3, 1e-3)
    assert plan.window.is_empty
    assert plan.words == "no value works: the LED needs up to 3.6 V and the supply may give only 2.64 V, 960 mV short"


def test_two_in_series_and_too_narrow_a_range() -> None:
    plan = led_plan(Range(11.0, 14.4, 12.0), Range(2.8, 3.6), 20e-3, 15e-3, leds=2)
    assert plan.window.is_empty
    assert "at most 20 mA, rated current" in plan.words
    assert "at least 15 mA" in plan.words
    assert led_current(3.0, 3.2, 100.0) == 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: series_resistor(3.0, 3.2, 0.01), "nothing is left for a resistor"),
        (lambda: series_resistor(5.0, 2.0, 0.01, leds=0), "at least one LED"),
        (lambda: led_plan(5.0, 2.0, 1e-3, 2e-3), "above the highest"),
        (lambda: led_current(5.0, 2.0, 0.0), "r must be above 0 Ω"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
