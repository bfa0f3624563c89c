"""1-Wire: published tables, windows by length and number, parasite supply."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.onewire import (
    conversion_time,
    pull_up_drop,
    pull_up_max,
    pull_up_min,
    pull_up_plan,
    temperature,
    temperature_word,
)
from pinwright.circuits.pulls import rise_time
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


@pytest.mark.parametrize(
    ("t_c", "word"),  # DS18B20 data sheet, temperature table, read in two public copies
    [
        (125, 0x07D0), (85, 0x0550), (25.0625, 0x0191), (10.125, 0x00A2), (0.5, 0x0008), (0, 0x0000),
        (-0.5, 0xFFF8), (-10.125, 0xFF5E), (-25.0625, 0xFE6F), (-55, 0xFC90),
    ],
)  # fmt: skip
def test_words_published(t_c: float, word: int) -> None:
    assert temperature_word(t_c) == word
    assert temperature(word) == t_c


def test_times_published() -> None:
    # DS18B20 data sheet, AC characteristics (read)
    assert [conversion_time(bits) for bits in (9, 10, 11, 12)] == pytest.approx([0.09375, 0.1875, 0.375, 0.75])


def test_pull_up_limits() -> None:
    # DS18B20 data sheet (read): 4 mA at 0.4 V, 1.5 mA active; AN4255: 2.8 V at least; worked by hand
    assert pull_up_min(3.3) == pytest.approx(725)
    assert pull_up_max(3.3, 2.8, 1.5e-3) == pytest.approx(333.3, abs=0.05)
    assert pull_up_drop(4700.0, 1.5e-3, 5.0, 2.8) == (pytest.approx(7.05), False)
    assert pull_up_drop(330.0, 1.5e-3, 3.3, 2.8)[1]


@given(st.integers(0, 0xFFFF), st.sampled_from([9, 10, 11]))
@settings(max_examples=30)
def test_fewer_bits_drop_the_lowest(word: int, bits: int) -> None:
    step = 2.0 ** (8 - bits)
    assert 0 <= temperature(word) - temperature(word, bits) < step
    assert temperature(word, bits) % step == 0


def test_the_usual_4k7_fits_a_short_line() -> None:
    plan = pull_up_plan(Range(3.0, 3.6, 3.3), 1, 1.0)
    assert 4700.0 in plan.window
    assert plan.strong_ohm is None


@given(st.integers(1, 20), st.floats(0, 100))
@settings(max_examples=30)
def test_longer_lines_want_stronger_pulls(parts: int, cable_m: float) -> None:
    near, far = pull_up_plan(3.3, parts, cable_m), pull_up_plan(3.3, parts + 1, cable_m + 1)
    assert far.window.high.value < near.window.high.value
    if near.choice is not None:
        assert rise_time(near.choice.value * 1.05, near.c_line_f, 0.0, 2.2 / 3.3) <= 10e-6 * (1 + 1e-9)


def test_too_long_a_line_says_so() -> None:
    plan = pull_up_plan(Range(3.0, 3.6, 3.3), 20, 300.0)
    assert plan.choice is None
    assert "a part sinks 4 mA at 0.4 V" in plan.words
    assert "15.5 nF must reach 2.2 V in 10 µs" in plan.words


def test_parasite_supply_needs_a_strong_pull_up() -> None:
    plan = pull_up_plan(Range(4.75, 5.25, 5.0), 3, 5.0, parasite=True, converting=3)
    assert plan.strong_ohm == pytest.approx((4.75 - 3.0) / 4.5e-3)
    assert "3 converting draw 4.5 mA, so a transistor must feed the line with at most 389 Ω within 10 µs" in plan.words
    low = pull_up_plan(3.0, 1, 1.0, parasite=True)
    assert low.strong_ohm == 0
    assert "run a supply wire" in low.words
    assert low.window.is_empty


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: temperature_word(130.0), "measures -55 to 125"),
        (lambda: temperature(70000), "holds 16 bits, not 70000"),
        (lambda: conversion_time(8), "9 to 12 bits, not 8"),
        (lambda: pull_up_plan(3.3, 0, 1.0), "at least one part"),
        (lambda: pull_up_max(3.3, 3.5, 1e-3), "v across must be above 0 V"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
