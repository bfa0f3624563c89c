"""Platinum thermometers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import platinum
from pinwright.errors import OutOfRange, UnknownName

# IEC 60751, reference table, in public copies
TABLE = [(-200, 18.52), (-100, 60.26), (-50, 80.31), (-10, 96.09), (0, 100.0), (100, 138.51), (200, 175.86)]
# IEC 60751:1995, table of tolerances in a public copy: class, °C, ± K, ± ohm
TOLERANCES = [
    ("A", -200, 0.55, 0.24), ("A", 0, 0.15, 0.06), ("A", 100, 0.35, 0.13), ("A", 600, 1.35, 0.43),
    ("B", -100, 0.8, 0.32), ("B", 0, 0.3, 0.12), ("B", 400, 2.3, 0.79), ("B", 800, 4.3, 1.28),
]  # fmt: skip


@pytest.mark.parametrize(("t_c", "r_ohm"), TABLE)
def test_table_published(t_c: float, r_ohm: float):
    assert platinum.resistance(t_c) == pytest.approx(r_ohm, abs=0.0051)
    assert platinum.temperature(r_ohm) == pytest.approx(t_c, abs=0.015)


@pytest.mark.parametrize(("name", "t_c", "dt_k", "dr_ohm"), TOLERANCES)
def test_tolerances_published(name: str, t_c: float, dt_k: float, dr_ohm: float):
    assert platinum.tolerance(t_c, name) == pytest.approx(dt_k, abs=1e-9)
    assert platinum.tolerance(t_c, name) * platinum.slope(t_c) == pytest.approx(dr_ohm, abs=0.0055)


def test_later_classes_published():
    # IEC 60751:2008 in public summaries: AA 0.1 + 0.0017 |t|, C 0.6 + 0.01 |t|
    assert platinum.tolerance(100, "AA") == pytest.approx(0.27)
    assert platinum.tolerance(-100, "C") == pytest.approx(1.6)


def test_alpha_of_the_standard():
    # IEC 60751, scope: 3.851e-3 a degree between 0 and 100 °C
    assert (platinum.resistance(100) - 100) / 100 / 100 == pytest.approx(3.851e-3, abs=5e-7)


@settings(max_examples=50)
@given(st.floats(-200, 850), st.sampled_from([100.0, 500.0, 1000.0]))
def test_there_and_back(t_c: float, r0_ohm: float):
    assert platinum.temperature(platinum.resistance(t_c, r0_ohm), r0_ohm) == pytest.approx(t_c, abs=1e-6)


def test_arrays_on_both_sides_of_zero():
    t = np.array([-150.0, -1.0, 0.0, 1.0, 500.0])
    assert platinum.temperature(platinum.resistance(t)) == pytest.approx(t, abs=1e-6)


def test_slope_is_the_derivative():
    for t_c in (-120.0, -0.5, 0.5, 400.0):
        assert platinum.slope(t_c) == pytest.approx((platinum.resistance(t_c + 0.01) - platinum.resistance(t_c - 0.01)) / 0.02, rel=1e-6)


def test_leads():
    # 1 ohm of leads reads 2.6 K too warm on a Pt100 at 0 °C: 1 / 0.3908
    assert platinum.lead_error(1.0, 0) == pytest.approx(2.559, abs=0.001)
    assert platinum.lead_error(1.0, 0, 1000) == pytest.approx(0.2559, abs=0.0001)


def test_bad_input():
    with pytest.raises(OutOfRange, match="The standard holds from -200 °C to 850 °C"):
        platinum.resistance(900)
    with pytest.raises(OutOfRange, match=r"An element of 100 Ω has 18\.52 Ω to 390\.5 Ω between"):
        platinum.temperature(500)
    with pytest.raises(UnknownName, match="There is no tolerance class called 'D'"):
        platinum.tolerance(0, "D")
    with pytest.raises(OutOfRange, match="Class A of a film element holds from -30 °C to 300 °C"):
        platinum.tolerance(400, "A", "film")
    assert platinum.tolerance(400, "A", "wire") == pytest.approx(0.95)
