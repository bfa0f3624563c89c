"""Markings of resistors: published examples, a registry library, round trips."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import rkm_codes
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.marking import Marked, chip_decode, colour_bands, colours_of, eia96_decode, eia96_encode, rkm_decode, rkm_encode
from pinwright.circuits.preferred import series
from pinwright.errors import OutOfRange

MEMBERS = st.builds(lambda m, e: float(f"{m}e{e}"), st.sampled_from(series(96)), st.integers(-2, 5))
E24_MEMBERS = st.builds(lambda m, e: float(f"{m}e{e}"), st.sampled_from(series(24)), st.integers(-2, 6))


@pytest.mark.parametrize(
    ("code", "r_ohm"),  # IEC 60062 examples, read in a public summary
    [("R47", 0.47), ("4R7", 4.7), ("470R", 470.0), ("4K7", 4700.0), ("47K", 47e3), ("47K3", 47.3e3), ("470K", 470e3), ("4M7", 4.7e6)],
)
def test_letter_and_digit_code_published(code: str, r_ohm: float) -> None:
    assert rkm_decode(code).r_ohm == r_ohm
    assert rkm_encode(r_ohm) == code


@pytest.mark.parametrize("code", ["R47", "5K62", "12K", "1M", "3R3", "68R1"])
def test_letter_and_digit_code_agrees_with_a_library(code: str) -> None:
    # Oracle: rkm_codes from the registry
    assert rkm_decode(code).r_ohm == pytest.approx(float(rkm_codes.from_rkm(code)), rel=1e-12)


def test_tolerance_letter() -> None:
    # tolerance letters of IEC 60062, from memory
    assert rkm_decode("4K7J") == Marked(4700.0, 0.05)
    assert rkm_decode("100RF").tolerance == pytest.approx(0.01)
    assert rkm_decode("4k7") == rkm_decode(" 4K7 ")
    assert rkm_decode("5m0").r_ohm == 0.005


@given(MEMBERS)
@settings(max_examples=50)
def test_codes_round_trip(r_ohm: float) -> None:
    assert rkm_decode(rkm_encode(r_ohm)).r_ohm == pytest.approx(r_ohm, rel=1e-12)
    assert colour_bands(colours_of(r_ohm, 0.01, 5)) == Marked(pytest.approx(r_ohm, rel=1e-12), 0.01)
    if r_ohm >= 0.1:
        assert eia96_decode(eia96_encode(r_ohm)) == pytest.approx(r_ohm, rel=1e-12)


@given(E24_MEMBERS)
@settings(max_examples=30)
def test_four_bands_round_trip(r_ohm: float) -> None:
    assert colour_bands(colours_of(r_ohm)).r_ohm == pytest.approx(r_ohm, rel=1e-12)


def test_colour_bands() -> None:
    # IEC 60062 colour code, digits black 0 to white 9; worked by hand
    assert colour_bands(["yellow", "violet", "red", "gold"]) == Marked(4700.0, 0.05)
    assert colour_bands(["brown", "black", "black", "red", "brown"]) == Marked(10e3, 0.01)
    assert colour_bands(["Yellow", "purple", "silver", "silver"]) == Marked(0.47, 0.1)
    assert colour_bands(["brown", "black", "red"]).tolerance == 0.2
    assert colour_bands(["brown", "black", "black", "red", "brown", "red"]).drift_ppm_per_k == 50


def test_chip_codes() -> None:
    # 68C is 49.9 kohm on a resistor maker's page, 01C 10 kohm in a public list (both read)
    assert eia96_decode("68C") == 49.9e3
    assert eia96_decode("01C") == 10e3
    assert eia96_encode(49.9e3) == "68C"
    # digits and zeros as in a chip resistor data sheet (read): 333 is 33 k, 2701 is 2.7 k, 10R0 is 10, R300 is 0.3
    assert [chip_decode(code) for code in ("333", "2701", "10R0", "R300", "0")] == [33e3, 2700.0, 10.0, 0.3, 0.0]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rkm_decode("K"), "no resistance code"),
        (lambda: rkm_decode("4K7Q"), "no resistance code"),
        (lambda: rkm_decode("0R0"), "bridge, no resistor"),
        (lambda: colour_bands(["red"]), "3 to 6 bands, not 1"),
        (lambda: colour_bands(["gold", "red", "red"]), "Band 1 is 'gold'; as digit it may be black"),
        (lambda: colour_bands(["red", "red", "red", "black"]), "Band 4 is 'black'; as tolerance"),
        (lambda: colours_of(4990.0), "more than 2 digits"),
        (lambda: eia96_decode("97A"), "two digits from 01 to 96"),
        (lambda: eia96_decode("01H"), "H stands for 10 in some tables"),
        (lambda: eia96_decode("01Q"), "Q is no multiplier"),
        (lambda: eia96_encode(4700.0), "not in E96; the nearest is 4750"),
        (lambda: rkm_encode(-1.0), "must be above 0"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
