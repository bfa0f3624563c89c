"""Fuses: window, choice and polymer fuses."""

from __future__ import annotations

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from pinwright.circuits.fuses import (
    BLADE_FUSES_A,
    CAUTION_FUSE,
    CAUTION_POLYFUSE,
    FUSE_FACTOR,
    SMALL_FUSES_A,
    fuse_in,
    fuse_window,
    fused_feed,
    polyfuse_hold,
    polyfuse_window,
)
from pinwright.errors import OutOfRange


@settings(max_examples=50)
@given(st.floats(0.1, 9), st.floats(0.2, 3), st.floats(0.3, 2), st.sampled_from(["metric", "awg"]), st.floats(0, 45))
def test_wire_above_fuse_above_load(i_a: float, length_m: float, drop_v: float, system: str, t_c: float) -> None:
    # property; common practice, no source: load · 1.25 <= fuse <= what the wire stands, and the drop is kept
    try:
        feed = fused_feed(i_a, length_m, drop_v, t_c, system)
    except OutOfRange:
        reject()  # no wire of the table is thick enough; refusals have their own test
    assert feed.fuse_a in BLADE_FUSES_A
    assert FUSE_FACTOR * i_a <= feed.fuse_a * (1 + 1e-9)
    assert feed.fuse_a in feed.window
    assert feed.drop_v <= drop_v * (1 + 1e-9)
    assert feed.cautions == (CAUTION_FUSE,)


def test_a_strip_of_60_pixels() -> None:
    # behaviour: 60 pixels at 60 mA are 3.6 A (WS2812B practice): fuse 5 A, and the drop, not the current, sets the wire
    near, far = fused_feed(3.6, 0.5, 0.3), fused_feed(3.6, 3.0, 0.3)
    assert (near.fuse_a, near.wire.name) == (5.0, "0.75 mm²")
    assert (far.fuse_a, far.wire.name) == (5.0, "1.5 mm²")


def test_a_wire_too_thin_leaves_no_fuse() -> None:
    window = fuse_window(3.6, 3.0)
    assert window.is_empty
    assert "what the wire stands" in window.words
    assert fuse_in(window) is None
    assert fuse_in(fuse_window(3.6, 4.9)) is None  # the window is there, but no fuse in it
    assert fuse_in(fuse_window(0.2, 0.4), SMALL_FUSES_A) == 0.25


def test_ratings_rise() -> None:
    for ratings in (BLADE_FUSES_A, SMALL_FUSES_A):
        assert list(ratings) == sorted(set(ratings))


def test_small_fuses_are_the_r10_series() -> None:
    # IEC 60127 takes its ratings from the R10 series (from memory): ten steps a decade, rounded to two or three digits
    for k, rating in enumerate(SMALL_FUSES_A):
        assert rating == pytest.approx(10 ** (k / 10 - 1), rel=0.02)


def test_polymer_fuse_derating() -> None:
    # Bourns MF-R chart, 1.10 A type, from memory: 1.71, 1.50, 1.31, 1.10, 0.89, 0.79, 0.69, 0.59, 0.44 A at -40 to 85 °C
    for t_c, hold_a in ((-40, 1.71), (-20, 1.50), (0, 1.31), (23, 1.10), (40, 0.89), (50, 0.79), (60, 0.69), (70, 0.59), (85, 0.44)):
        assert polyfuse_hold(1.1, t_c) == pytest.approx(hold_a, abs=0.006)


@settings(max_examples=30)
@given(st.floats(-40, 85), st.floats(-40, 85))
def test_a_warmer_polymer_fuse_holds_less(one_c: float, other_c: float) -> None:
    # property
    assert polyfuse_hold(1.0, max(one_c, other_c)) <= polyfuse_hold(1.0, min(one_c, other_c))


def test_polymer_fuse_window() -> None:
    window = polyfuse_window(0.5, 2.5, 0, 50)
    assert 0.75 in window
    assert polyfuse_hold(window.low.value, 50) == pytest.approx(0.5)
    assert polyfuse_window(0.5, 0.6, -20, 60).is_empty  # a weak source cannot trip what holds the load when hot


def test_cautions_defer_to_the_local_code() -> None:
    assert "local code" in CAUTION_FUSE
    assert "licensed" in CAUTION_FUSE
    assert "does not disconnect" in CAUTION_POLYFUSE


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: fused_feed(40.0, 1.0, 0.5), "No fuse of the series carries 40 A with its margin"),
        (lambda: fused_feed(20.0, 30.0, 0.1), "Even 10 mm² does not do"),
        (lambda: fuse_window(0.0, 3.0), "i steady must be above 0 A"),
        (lambda: polyfuse_hold(1.0, 100), "runs from -40 to 85 °C"),
        (lambda: polyfuse_hold(1.0, 20, (0.0, 0.0), (1.0, 1.0)), "rising temperatures"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
