"""Sag of cells under load."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.cells import burst_current_max, cutoff_voltage, internal_resistance, loaded_voltage
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_internal_resistance_published() -> None:
    # Energizer Technical Bulletin, Battery Internal Resistance, 1.1.0 (2005), figure 1: 5 mA and 505 mA, 1.485 V and 1.378 V: 0.107 V
    r_ohm = internal_resistance(1.485, 1.378, 0.005, 0.505)
    assert r_ohm * 0.5 == pytest.approx(0.107, abs=5e-4)


def test_coin_cell_burst_published() -> None:
    # A public article after a CR2032 data sheet: 20 Ω, 1.2 V of sag allowed: 60 mA
    assert burst_current_max(3.0, 1.8, 20) == pytest.approx(0.060, abs=1e-6)


@settings(max_examples=30)
@given(st.floats(1, 12), st.floats(0.01, 40), st.floats(0.1, 0.9))
def test_the_highest_burst_just_reaches_the_lowest_voltage(v_open_v: float, r_ohm: float, part: float) -> None:
    # property: round trips
    i_a = burst_current_max(v_open_v, v_open_v * part, r_ohm)
    assert loaded_voltage(v_open_v, i_a, r_ohm) == pytest.approx(v_open_v * part, rel=1e-9)
    assert cutoff_voltage(v_open_v * part, 0.0, i_a, r_ohm) == pytest.approx(v_open_v, rel=1e-9)
    assert internal_resistance(v_open_v, v_open_v * part, 0.0, i_a) == pytest.approx(r_ohm, rel=1e-9)


def test_radio_bursts_are_too_much_for_a_coin_cell() -> None:
    # behaviour: 350 mA of a radio burst behind 10 to 40 Ω (common practice, no source)
    with pytest.raises(OutOfRange, match=r"cannot give 0\.35 A"):
        loaded_voltage(3.0, 0.35, 10)
    assert over(loaded_voltage, v_open_v=Range(2.8, 3.2), i_a=0.015, r_internal_ohm=Range(10, 40)).low == pytest.approx(2.2)


def test_two_cells_and_a_brown_out_level() -> None:
    # property: without regulator the brown-out level counts, shared by both cells
    assert cutoff_voltage(1.8, cells=2) == pytest.approx(0.9)


def test_bad_input_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="must draw more current"):
        internal_resistance(1.3, 1.5, 0.1, 0.2)
    with pytest.raises(OutOfRange, match=r"Even without load 1\.7 V lie below the 1\.8 V"):
        burst_current_max(1.7, 1.8, 20)
    with pytest.raises(OutOfRange, match="at least one cell"):
        cutoff_voltage(3.3, cells=0)
    with pytest.raises(OutOfRange, match="v open must be above 0 V"):
        loaded_voltage(0, 0.1, 1)
