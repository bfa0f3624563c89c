"""Level compatibility over supplies: published margins, one rail against two, verdicts in words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.logic import Band, Driver, Receiver, compatibility, level_read, noise_margins, threshold
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

PIN = Driver(voh=Band(0.8), vol=Band(0.1))  # ESP32 Series Datasheet, table 13
HC = Receiver(vih=Band(0.7), vil=Band(0.3))  # MM74HC04 data sheet, DC characteristics
HCT = Receiver(vih=Band(0, 2.0), vil=Band(0, 0.8))  # SN74HCT04 data sheet
FIVE = Range(4.5, 5.5, 5.0)


def test_a_5_v_gate_does_not_promise_to_read_3_3_v() -> None:
    # levels published (ESP32 table 13, MM74HC04 note 3), the margin is their difference
    found = compatibility(PIN, HC, 3.3, FIVE)
    assert found.high_v == pytest.approx(-1.21, abs=1e-9)
    assert found.low_v == pytest.approx(1.02, abs=1e-9)
    assert found.verdict == "high undefined"
    assert found.words == "high undefined: VOH 2.64 V is 1.21 V below VIH 3.85 V"
    assert (found.undefined_v.low, found.undefined_v.high) == pytest.approx((1.35, 3.85))
    assert not found.is_sure


def test_ttl_thresholds_do() -> None:
    found = compatibility(PIN, HCT, 3.3, FIVE)
    assert (found.high_v, found.low_v) == pytest.approx((0.64, 0.47))
    assert found.words == "compatible: VOL 0.33 V is 470 mV below VIL 0.8 V, the smaller margin"
    assert found.is_sure


def test_one_rail_moves_both_sides_together() -> None:
    rail = Range(2.7, 3.6, 3.3)
    together, apart = compatibility(PIN, HC, rail), compatibility(PIN, HC, rail, rail)
    assert together.high_v == pytest.approx(0.1 * 2.7)
    assert apart.high_v == pytest.approx(0.8 * 2.7 - 0.7 * 3.6)
    assert "on one rail" in together.words


def test_too_high_a_rail_is_named() -> None:
    found = compatibility(PIN, Receiver(Band(0.7), Band(0.3), v_max_v=3.6), 5.0, 3.3)
    assert found.over_v == pytest.approx(1.4)
    assert "the driver's rail 5 V is 1.4 V above the 3.6 V the receiver takes" in found.words
    assert not found.is_sure


def test_both_levels_may_fail() -> None:
    weak = Driver(voh=Band(0, 1.0), vol=Band(0, 0.9))
    found = compatibility(weak, HCT, 3.3, 5.0)
    assert found.verdict == "both undefined"
    assert found.words == "both undefined: VOH 1 V is 1 V below VIH 2 V; VOL 0.9 V is 100 mV above VIL 0.8 V"


@given(st.floats(0.5, 5.5), st.floats(0, 1))
@settings(max_examples=40)
def test_a_wider_supply_never_leaves_more(vdd_v: float, spread: float) -> None:
    wide = Range(vdd_v, vdd_v * (1 + spread))
    assert compatibility(PIN, HC, 3.3, wide).high_v <= compatibility(PIN, HC, 3.3, vdd_v).high_v + 1e-12


def test_steady_levels() -> None:
    assert level_read(Range(2.7, 2.95), 0.8, 2.0) == ("high", "700 mV above VIH 2 V")
    assert level_read(Range(0.5, 0.6), 0.825, 2.475) == ("low", "225 mV below VIL 0.825 V")
    assert level_read(Range(1.0, 2.2), 0.8, 2.0)[0] == "undefined"


def test_nonsense_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match=r"VIL \(2 V\) cannot lie above VIH \(1 V\)"):
        level_read(Range(0, 1), 2.0, 1.0)
    with pytest.raises(OutOfRange, match="cannot lie above its VIH"):
        compatibility(PIN, Receiver(Band(0.3), Band(0.7)), 3.3)
    with pytest.raises(OutOfRange, match="vdd must be above 0 V"):
        threshold(0.0, 0.5)
    with pytest.raises(OutOfRange, match="voh must be a finite number"):
        noise_margins(float("nan"), 1, 1, 1)
