"""Limits of extra-low voltage against the standards."""

from __future__ import annotations

import pytest

from pinwright.circuits.touch_voltage import (
    CAUTION_CURRENT,
    CAUTION_INSULATE,
    CAUTION_LICENSED,
    LIMITS,
    classify,
    is_extra_low,
    is_touchable,
    limits,
)
from pinwright.errors import OutOfRange


def test_limits_published() -> None:
    # IEC 61140, IEC 60364-4-41; IEC 61558-1, 3.7.16: 50 V AC, 120 V ripple-free DC, peak 140 V
    general = limits()
    assert (general.ac_v, general.dc_v, general.dc_peak_v) == (50, 120, 140)
    # EN/IEC 60204-1, 6.4: 25 V AC, 60 V DC indoors and dry
    assert (limits("dry").ac_v, limits("dry").dc_v) == (25, 60)
    # IEC 60364-4-41, 414.4.5 (from memory): 12 V AC, 30 V DC elsewhere
    assert (limits("wet").ac_v, limits("wet").dc_v) == (12, 30)


def test_the_peak_follows_the_nominal_voltage() -> None:
    # IEC 61558-1 (from memory): 140 V for 120 V, 70 V for 60 V
    for one in LIMITS.values():
        assert one.dc_peak_v / one.dc_v == pytest.approx(7 / 6)


@pytest.mark.parametrize(
    ("kind", "v_v", "extra_low"), [("ac", 50, True), ("ac", 50.1, False), ("ac", 230, False), ("dc", 120, True), ("dc", 121, False)]
)
def test_the_limit_itself_is_extra_low(kind: str, v_v: float, extra_low: bool) -> None:
    # IEC 61558-1, 3.7.16: not exceeding
    assert is_extra_low(kind, v_v) is extra_low  # type: ignore[arg-type]


def test_classification() -> None:
    mains = classify("ac", 230)
    assert (mains.level, mains.caution, mains.limit_v) == ("licensed", CAUTION_LICENSED, 50)
    assert (classify("dc", 72).level, classify("dc", 72).caution) == ("insulate", CAUTION_INSULATE)
    assert (classify("dc", 24).level, classify("dc", 24).caution) == ("touchable", CAUTION_CURRENT)
    assert classify("dc", 48, "wet").level == "insulate"
    assert is_touchable("ac", 24)
    assert not is_touchable("ac", 24, "wet")


def test_cautions_defer_to_licensed_people_and_local_codes() -> None:
    assert "licensed" in CAUTION_LICENSED
    assert "50 V AC or 120 V DC" in CAUTION_LICENSED
    for caution in (CAUTION_LICENSED, CAUTION_INSULATE):
        assert "local code" in caution


def test_bad_input_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="ac or dc, not 'three-phase'"):
        is_extra_low("three-phase", 400)  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="v must not be below 0 V"):
        is_extra_low("dc", -5)
    with pytest.raises(OutOfRange, match="known for general, dry, wet, not for 'cellar'"):
        limits("cellar")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="depends on the place"):
        is_touchable("dc", 24, "general")
