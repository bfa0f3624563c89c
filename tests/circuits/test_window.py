"""Windows: which limit sets each end, empty ones in words, and where a choice lies."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.window import Limit, Window, choose, shown
from pinwright.errors import OutOfRange


def test_the_tightest_limits_set_the_ends() -> None:
    window = Window.of([Limit(100, "a"), Limit(300, "b")], [Limit(1000, "c"), Limit(900, "d")])
    assert (window.low.because, window.high.because, window.is_empty) == ("b", "d", False)
    assert window.words == "from 300 Ω (b) to 900 Ω (d)"


def test_an_empty_window_says_what_clashes_and_by_how_much() -> None:
    window = Window(Limit(967, "sink current"), Limit(885, "rise time"))
    assert window.is_empty
    assert window.words == (
        "no value works: it must be at least 967 Ω (sink current) and at most 885 Ω (rise time); short by 82 Ω, a factor of 1.09"
    )
    assert choose(window) is None
    with pytest.raises(OutOfRange, match="no middle: no value works"):
        _ = window.middle


def test_tolerance_narrows_both_ends() -> None:
    window = Window(Limit(950, "a"), Limit(1050, "b")).narrowed(0.05)
    assert (window.low.value, window.high.value) == pytest.approx((1000, 1000))
    assert 1000 in window
    assert Window(Limit(950, "a"), Limit(1050, "b")).narrowed(0.1).is_empty
    assert "10 % tolerance" in Window(Limit(1, "a"), Limit(2, "b")).narrowed(0.1).low.because


@given(st.floats(10, 1e5), st.floats(1.0, 100), st.sampled_from(["middle", "weak", "strong"]))
@settings(max_examples=60)
def test_a_choice_lies_inside(low: float, factor: float, aim: str) -> None:
    window = Window(Limit(low, "a"), Limit(low * factor, "b"))
    choice = choose(window, aim=aim)
    if choice is None:
        assert factor < 1.12  # E24 has a member in every stretch longer than its largest step
    else:
        assert choice.value in window


def test_stock_first_then_the_coarsest_series() -> None:
    window = Window(Limit(967, "a"), Limit(1770, "b"))
    assert choose(window, [1234.0, 3300.0]).value == 1234.0
    found = choose(window, aim="weak")
    assert found is not None
    assert (found.value, found.origin) == (1500.0, "E6")
    assert "least current" in found.why
    narrow = choose(Window(Limit(1250, "a"), Limit(1350, "b")))
    assert narrow is not None
    assert (narrow.value, narrow.origin) == (1300.0, "E24")
    assert choose(Window(Limit(1310, "a"), Limit(1450, "b"))) is None
    assert choose(Window(Limit(1310, "a"), Limit(1450, "b")), n=96).value == 1400.0


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(4700.0, "Ω", "4.7 kΩ"), (1e-12, "F", "1 pF"), (999.6, "Ω", "1 kΩ"), (-0.15, "V", "-150 mV"), (math.inf, "Ω", "inf Ω")],
)
def test_values_are_shown_with_prefixes(value: float, unit: str, words: str) -> None:
    assert shown(value, unit) == words


def test_nonsense_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="at least one limit on each side"):
        Window.of([], [Limit(1, "a")])
    with pytest.raises(OutOfRange, match="finite limits"):
        Window.of([Limit(1, "a")], [Limit(math.inf, "b")])
    with pytest.raises(OutOfRange, match="share from 0 to below 1"):
        Window(Limit(1, "a"), Limit(2, "b")).narrowed(1.0)
    with pytest.raises(OutOfRange, match="middle, weak or strong"):
        choose(Window(Limit(1, "a"), Limit(2, "b")), aim="left")
