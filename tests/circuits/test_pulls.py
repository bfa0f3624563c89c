"""Pull resistors: limits against published figures, windows, and what an impossible one says."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.pulls import (
    leakage_drop,
    parallel,
    pull_down_plan,
    pull_leak_max,
    pull_rise_max,
    pull_sink_min,
    pull_up_plan,
    rise_constants,
    rise_time,
)
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_rise_published() -> None:
    # UM10204 r5 and r6, 7.1 (read): 0.3566749, 1.2039729 and 0.8473 time constants
    assert rise_constants() == pytest.approx((0.3566749, 1.2039729, 0.8473), abs=5e-5)
    # the same equation with the 45 kohm of ESP32 data sheet table 13 and 50 pF
    assert rise_time(45e3, 50e-12) == pytest.approx(1906.4e-9, rel=1e-4)
    assert rise_constants(0.1, 0.9)[2] == pytest.approx(math.log(9))


def test_leakage_and_parallel() -> None:
    assert leakage_drop(45e3, 50e-9) == pytest.approx(2.25e-3)  # ESP32 data sheet table 13: 45 kohm, 50 nA
    assert parallel(4700.0, 4700.0) == pytest.approx(2350)
    assert pull_leak_max(leakage_drop(33e3, 2e-6), 2e-6) == pytest.approx(33e3)
    assert pull_rise_max(rise_time(1e3, 1e-10), 1e-10) == pytest.approx(1e3)


@given(st.lists(st.floats(1, 1e6), min_size=2, max_size=5))
@settings(max_examples=30)
def test_parallel_is_below_the_smallest(values: list[float]) -> None:
    assert parallel(*values) < min(values)


def test_formulas_take_arrays_and_ranges() -> None:
    assert rise_time(np.array([1e3, 2e3]), 1e-10).shape == (2,)
    found = over(rise_time, r_ohm=Range.around(10e3, 0.05), c_f=Range(50e-12, 100e-12))
    assert found.high / found.low == pytest.approx(2 * 1.05 / 0.95)


def test_button_window() -> None:
    plan = pull_up_plan(Range(3.0, 3.6, 3.3), 0.75 * 3.0, 1e-6, i_wetting_a=0.1e-3, i_idle_max_a=1e-3, stock=[4.7e3, 10e3, 100e3])
    assert plan.choice is not None
    assert (plan.choice.value, plan.choice.origin) == (10e3, "stock")
    assert plan.window.low.because.startswith("at most 1 mA while held")
    assert plan.window.high.because.startswith("the contact needs 100 µA")
    assert plan.i_held_a == pytest.approx(3.6 / 9500)


def test_an_impossible_pull_up_names_both_limits() -> None:
    plan = pull_up_plan(3.3, 2.475, 1e-6, i_idle_max_a=50e-6, t_rise_s=1e-6, c_f=200e-12)
    assert plan.window.is_empty
    assert plan.choice is None
    assert "at most 50 µA while held" in plan.words
    assert "200 pF must reach VIH in 1 µs" in plan.words
    assert "a factor of" in plan.words


def test_a_rail_below_the_threshold_is_no_exception() -> None:
    plan = pull_up_plan(3.0, 3.5, 1e-6)
    assert plan.choice is None
    assert plan.words == "no value works: the rail leaves no room above VIH 3.5 V: 500 mV short, and 5 % tolerance"


@given(st.floats(1e-9, 1e-4), st.floats(1.1, 10))
@settings(max_examples=30)
def test_more_leakage_never_allows_a_weaker_pull(i_a: float, factor: float) -> None:
    assert pull_up_plan(3.3, 2.4, i_a * factor).window.high.value <= pull_up_plan(3.3, 2.4, i_a).window.high.value


def test_pull_down() -> None:
    plan = pull_down_plan(0.75, 10e-6, voh_v=3.6, i_source_a=4e-3, aim="weak")
    assert plan.window.low.value == pytest.approx(900 / 0.95)
    assert plan.window.high.value == pytest.approx(75e3 / 1.05)
    assert plan.choice is not None
    assert plan.choice.value == 68e3
    assert leakage_drop(68e3 * 1.05, 10e-6) < 0.75
    strong = pull_down_plan(0.75, 1e-3, voh_v=3.6, i_source_a=4e-3)
    assert "1 mA leakage must leave the level below VIL 0.75 V" in strong.words


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: parallel(), "No resistors"),
        (lambda: parallel(100.0, 0.0), "r must be above 0 Ω"),
        (lambda: rise_constants(0.7, 0.3), "from 0.7 to 0.3"),
        (lambda: rise_time(1e3, -1e-12), "c must be above 0 F"),
        (lambda: pull_sink_min(0.0, 1e-3), "v across must be above 0 V"),
        (lambda: pull_up_plan(3.3, 2.4, -1e-6), "i leak must not be below 0 A"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
