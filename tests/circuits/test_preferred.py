"""Series of preferred values against a registry library, published picks, and properties of choosing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import eseries
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.preferred import SERIES, best_pair, formula_value, from_stock, in_range, preferred, series
from pinwright.errors import OutOfRange


@pytest.mark.parametrize("n", SERIES)
def test_series_agree_with_a_library(n: int) -> None:
    # Oracle: eseries from the registry
    theirs = eseries.series(getattr(eseries, f"E{n}"))
    assert list(series(n)) == [round(value) for value in theirs]


def test_formula_and_its_exceptions() -> None:
    # IEC 60063, E96 column, 42nd value (published); the rest from memory: E24 differs in eight places, E192 in one
    assert formula_value(96, 41) == 267
    assert [series(24)[i] for i in range(24) if series(24)[i] != formula_value(24, i)] == [27, 30, 33, 36, 39, 43, 47, 82]
    assert [(formula_value(192, i), series(192)[i]) for i in range(192) if series(192)[i] != formula_value(192, i)] == [(919, 920)]
    assert all(series(n)[i] == formula_value(n, i) for n in (48, 96) for i in range(n))


@pytest.mark.parametrize(
    ("r_ohm", "n", "how", "wanted"),
    [
        (436.3, 96, "nearest", 432.0),  # TI SLTS284E table 1, 3.3 V row
        (977.7, 96, "nearest", 976.0),  # the same, 1.8 V row
        (640.0, 24, "up", 680.0),  # University of Latvia, LED notes, table
        (9.6, 24, "up", 10.0),  # common practice: the next decade
        (10.0, 24, "down", 10.0),  # a member is its own neighbour
        (4700.0, 24, "up", 4700.0),
    ],
)
def test_picks(r_ohm: float, n: int, how: str, wanted: float) -> None:
    assert preferred(r_ohm, n, how) == wanted


@given(st.floats(1, 1e7), st.sampled_from(SERIES))
@settings(max_examples=60)
def test_up_and_down_embrace_and_nearest_is_one_of_them(r_ohm: float, n: int) -> None:
    below, above, near = preferred(r_ohm, n, "down"), preferred(r_ohm, n, "up"), preferred(r_ohm, n)
    assert below <= r_ohm * (1 + 1e-9)
    assert above >= r_ohm * (1 - 1e-9)
    assert near in (below, above)
    assert abs(math.log(near / r_ohm)) <= min(math.log(above / r_ohm), math.log(r_ohm / below)) + 2e-9


def test_all_in_a_range() -> None:
    # TI SLVA689 section 4 limits, E24: any value between
    assert in_range(966.667, 1770.0) == [1000.0, 1100.0, 1200.0, 1300.0, 1500.0, 1600.0]
    assert in_range(2000.0, 1000.0) == []
    assert in_range(1000.0, 10000.0, 12) == [m * 100.0 for m in series(12)] + [10000.0]


def test_stock_comes_as_it_is() -> None:
    assert from_stock(4100.0, [10e3, 4.7e3, 1e3]) == 4700.0
    assert from_stock(4100.0, [10e3, 4.7e3, 1e3], "down") == 1000.0


def test_best_pair_is_the_best_of_all_pairs() -> None:
    # property: exhaustive search over the same totals finds nothing nearer
    pair = best_pair(0.2345, 24, 0.01, 10e3, 100e3)
    values = in_range(10.0, 100e3)
    errors = [abs(b / (a + b) / 0.2345 - 1) for a, b in itertools.product(values, values) if 10e3 <= a + b <= 100e3]
    assert abs(pair.error) == pytest.approx(min(errors), abs=1e-9)
    assert pair.ratios.low < pair.ratio < pair.ratios.high
    assert 10e3 <= pair.top_ohm + pair.bottom_ohm <= 100e3


def test_best_pair_from_stock() -> None:
    pair = best_pair(0.66, stock=[10e3, 20e3, 47e3], total_low_ohm=20e3, total_high_ohm=50e3)
    assert (pair.top_ohm, pair.bottom_ohm) == (10e3, 20e3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: series(23), "no series E23; there are E3, E6"),
        (lambda: formula_value(24, 24), "places 0 to 23, not 24"),
        (lambda: preferred(1e12), "from 1 mΩ to 1 GΩ"),
        (lambda: preferred(math.nan), "finite and positive"),
        (lambda: preferred(100.0, 24, "sideways"), "nearest, up or down, not 'sideways'"),
        (lambda: from_stock(100.0, []), "stock is empty"),
        (lambda: from_stock(100.0, [47.0], "up"), "the stock has nothing from 100 Ω up"),
        (lambda: best_pair(1.0), "between 0 and 1, not at 1"),
        (lambda: best_pair(0.5, total_low_ohm=10.0, total_high_ohm=5.0), "add up to 10 to 5"),
        (lambda: in_range(-1.0, 5.0), "low must be above 0"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
