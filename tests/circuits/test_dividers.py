"""Dividers: published values, Thévenin against Kirchhoff, straps, and designs against exhaustive search."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.dividers import (
    design,
    divider_out,
    feedback_out,
    feedback_top,
    full_scale_in,
    loaded_out,
    set_resistor,
    set_resistor_out,
    source_resistance,
    strap_level,
)
from pinwright.circuits.preferred import in_range
from pinwright.circuits.pulls import parallel
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

OHMS = st.floats(10, 1e6)


def test_published() -> None:
    # a public sketch of a battery node (from memory): 1 M over 470 k with 1.1 V reference measures 3.44 V
    assert full_scale_in(1.1, 1e6, 470e3) == pytest.approx(3.44, abs=0.005)
    # Microchip DS51721B 2.3.3: 330 and 1000 ohm give 5.04 V, 1.18 k beside the latter 3.3 V
    assert feedback_out(1.25, 1000.0, 330.0) == pytest.approx(5.04, abs=0.005)
    assert feedback_out(1.25, parallel(1000.0, 1180.0), 330.0) == pytest.approx(3.3, abs=0.005)
    # TI SLTS284E table 1: 0.432 k gives 3.327 V, 3.3 V would need 0.4363 k
    assert set_resistor_out(0.591, 1182.0, 432.0) == pytest.approx(3.327, abs=0.0005)
    assert set_resistor(0.591, 1182.0, 3.3) == pytest.approx(436.3, abs=0.05)


@given(st.floats(0.1, 60), OHMS, OHMS, OHMS)
@settings(max_examples=40)
def test_a_load_is_a_resistor_beside_the_lower_one(v_v: float, top: float, bottom: float, load: float) -> None:
    assert loaded_out(v_v, top, bottom, load) == pytest.approx(divider_out(v_v, top, parallel(bottom, load)))


@given(st.floats(0.1, 60), OHMS, OHMS, st.floats(-1e-6, 1e-6))
@settings(max_examples=40)
def test_leakage_obeys_kirchhoff(v_v: float, top: float, bottom: float, i_a: float) -> None:
    out = divider_out(v_v, top, bottom, i_a)
    assert (v_v - out) / top == pytest.approx(out / bottom + i_a, rel=1e-6, abs=1e-12)


@given(st.floats(1.3, 30), OHMS)
@settings(max_examples=20)
def test_feedback_round_trip(v_v: float, bottom: float) -> None:
    assert feedback_out(1.25, feedback_top(1.25, v_v, bottom), bottom) == pytest.approx(v_v)


def test_bounds_over_tolerance() -> None:
    # interval corners worked by hand: 12.6 V, 30 k and 10 k with 1 %
    found = over(divider_out, v_in_v=12.6, top_ohm=Range.around(30e3, 0.01), bottom_ohm=Range.around(10e3, 0.01))
    assert (found.low, found.high, found.typ) == pytest.approx((3.1030, 3.1975, 3.15), abs=1e-4)


@pytest.mark.parametrize(
    ("v_v", "top", "bottom", "vil", "vih", "level", "low", "high"),
    [
        # ESP32 data sheet table 13 (45 kohm pulls, thresholds), 10 kohm to 3.3 V and to ground
        (3.3, Range(10e3, 10e3), Range(45e3, 45e3), 0.825, 2.475, "high", 2.7, 2.7),
        (3.3, Range(45e3, 45e3), Range(10e3, 10e3), 0.825, 2.475, "low", 0.6, 0.6),
        # RP2040 data sheet 5.2.3 (pull-down 50 to 80 k); VIH from memory
        (3.3, Range(9500, 10500), Range(50e3, 80e3), 0.8, 2.0, "high", 2.7273, 2.9497),
        # ATmega328P data sheet, common DC characteristics (pull-up 20 to 50 k)
        (5.0, Range(20e3, 50e3), Range(9500, 10500), 1.5, 3.0, "undefined", 0.7983, 1.7213),
    ],
)
def test_straps(v_v: float, top: Range, bottom: Range, vil: float, vih: float, level: str, low: float, high: float) -> None:
    strap = strap_level(v_v, top, bottom, vil, vih)
    assert strap.level == level
    assert (strap.v.low, strap.v.high) == pytest.approx((low, high), abs=1e-4)


def test_leakage_may_undo_a_strap() -> None:
    assert strap_level(3.3, 10e3, 45e3, 0.825, 2.475, 10e-6).level == "high"
    leaky = strap_level(3.3, 10e3, 45e3, 0.825, 2.475, 50e-6)
    assert leaky.level == "undefined"
    assert leaky.words == "2.29 V to 3.11 V: up to 2.28 V above VIL 0.825 V, and down to 184 mV below VIH 2.48 V"


@pytest.mark.parametrize("tolerance", [0.0, 0.01, 0.05])
def test_never_above_is_the_best_that_keeps_the_limit(tolerance: float) -> None:
    found = design(5.25, 3.3, tolerance=tolerance, total_low_ohm=20e3, total_high_ohm=60e3)
    assert found.v_out.high <= 3.3 + 1e-9
    values = in_range(100.0, 60e3)
    best = 0.0
    for top, bottom in itertools.product(values, values):
        worst = divider_out(5.25, top * (1 - tolerance), bottom * (1 + tolerance))
        if 20e3 <= top + bottom <= 60e3 and worst <= 3.3:
            best = max(best, divider_out(5.25, top, bottom))
    usual = divider_out(5.25, found.top_ohm, found.bottom_ohm)
    assert best * 0.999 <= usual <= best + 1e-12


def test_best_range_comes_nearer_and_says_what_it_risks() -> None:
    careful, full = (design(16.8, 1.1, goal=goal, total_low_ohm=50e3, total_high_ohm=500e3, n=96) for goal in ("never above", "best range"))
    assert divider_out(16.8, full.top_ohm, full.bottom_ohm) > divider_out(16.8, careful.top_ohm, careful.bottom_ohm)
    assert "below 1.1 V" in careful.words
    assert "above 1.1 V" in full.words
    assert full.i_drain.high == pytest.approx(16.8 / (full.top_ohm + full.bottom_ohm) / 0.99)
    assert full.r_source_ohm == pytest.approx(source_resistance(full.top_ohm, full.bottom_ohm))


def test_leakage_counts_in_a_design() -> None:
    found = design(12.0, 3.3, i_leak_a=1e-6, total_low_ohm=100e3, total_high_ohm=1e6)
    assert found.v_out.high <= 3.3
    assert found.v_out.high - found.v_out.low > 2e-6 * found.r_source_ohm * 0.98


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: divider_out(5.0, 0.0, 1e3), "top must be above 0 Ω"),
        (lambda: feedback_top(1.25, 1.2, 330.0), "below its reference of 1.25 V"),
        (lambda: set_resistor(0.591, 1182.0, 0.5), "lowest output is 0.591 V"),
        (lambda: design(3.0, 3.3), "no divider is needed"),
        (lambda: design(12.0, 3.3, stock=[1e3], total_low_ohm=1e3), "keeps 12 V down to 3.3 V"),
        (lambda: strap_level(3.3, 1e4, 1e4, 2.0, 1.0), "cannot lie above VIH"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
