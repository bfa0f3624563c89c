"""NTC thermistors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import thermistors as ntc
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

# Amphenol Thermometrics Reference Guide Rev. C, Material Type 1: temperature and Rt/R25 as printed
TYPE_1 = [(-40, 33.36), (-20, 9.681), (0, 3.264), (10, 1.990), (25, 1.0), (50, 0.3601), (85, 0.1070), (100, 0.06781), (130, 0.02993)]
FORWARD = (-14.195756, 4407.4785, -5165.873, -14017368.0)
BACK = (3.3539438e-3, 2.5646095e-4, 2.5158166e-6, 1.0503069e-7)
# Campbell Scientific 109SS manual, constants in section 6 and rows of Table C-1
PROBE = (1.129241e-3, 2.341077e-4, 8.775468e-8)
PROBE_ROWS = [(-40, 336103.2), (-20, 97006.9), (-10, 55303.9), (0, 32650.9), (1, 31030.8)]


@pytest.mark.parametrize(("t_c", "ratio"), TYPE_1)
def test_polynomials_published(t_c: float, ratio: float):
    assert ntc.ratio_by_polynomial(t_c, *FORWARD) == pytest.approx(ratio, rel=2e-4)
    assert ntc.t_by_polynomial(ratio, *BACK) == pytest.approx(t_c, abs=0.02)


@pytest.mark.parametrize(("t_c", "r_ohm"), PROBE_ROWS)
def test_steinhart_hart_published(t_c: float, r_ohm: float):
    assert ntc.t_by_steinhart_hart(r_ohm, *PROBE) == pytest.approx(t_c, abs=0.005)
    assert ntc.r_by_steinhart_hart(t_c, *PROBE) == pytest.approx(r_ohm, rel=2e-4)


@pytest.mark.parametrize(("t1_c", "t2_c", "ratio", "beta_k"), [(25, 85, 9.35, 3977), (0, 50, 9.07, 3892), (25, 125, 29.39, 4013)])
def test_beta_published(t1_c: float, t2_c: float, ratio: float, beta_k: float):
    # Thermometrics Reference Guide Rev. C, Material Type 1: the ratio is printed with three or four digits
    assert ntc.beta(ratio, t1_c, 1.0, t2_c) == pytest.approx(beta_k, abs=2.5)


def test_interpolation_published():
    # EPCOS Standardized R/T Characteristics 05/02, section 1.1: curve 1006, 4.7 kohm, 7 °C
    assert ntc.r_by_alpha(7, 2.2739 * 4700, 5, 0.044) == pytest.approx(9793.2, abs=0.5)


def test_three_points_published():
    # LDT-5525 manual, Table A.1: fitted at 10, 30 and 50 °C, 20 and 25 °C foretold
    constants = ntc.steinhart_hart_constants([19549, 7908, 3542], [10, 30, 50])
    assert ntc.t_by_steinhart_hart(12262, *constants) == pytest.approx(20, abs=0.01)
    assert ntc.t_by_steinhart_hart(9814, *constants) == pytest.approx(25, abs=0.01)


def test_three_points_agree_with_linear_equations():
    # oracle: numpy's solver on the three equations
    r, t = [32650.9, 10e3, 1451.0], [0.0, 25.0, 85.0]
    x = np.log(r)
    expected = np.linalg.solve(np.stack([np.ones(3), x, x**3], axis=1), 1 / (np.array(t) + 273.15))
    assert ntc.steinhart_hart_constants(r, t) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=40)
@given(st.floats(-55, 150))
def test_every_formula_goes_there_and_back(t_c: float):
    assert ntc.t_by_beta(ntc.r_by_beta(t_c, 10e3, 3950), 10e3, 3950) == pytest.approx(t_c, abs=1e-6)
    assert ntc.t_by_steinhart_hart(ntc.r_by_steinhart_hart(t_c, *PROBE), *PROBE) == pytest.approx(t_c, abs=1e-6)


def test_over_tolerances():
    found = over(ntc.r_by_beta, t_c=85.0, r25_ohm=Range.around(10e3, 0.01), beta_k=Range.around(3435, 0.01))
    # Semitec 103AT table (extracted in a public repository): 1.451 kohm at 85 °C
    assert found.middle == pytest.approx(1451, abs=2)
    assert found.low < 0.975 * found.middle
    assert found.high > 1.025 * found.middle


def test_bad_input():
    with pytest.raises(OutOfRange, match=r"A temperature lies above -273\.15 °C"):
        ntc.r_by_beta(-300, 10e3, 3950)
    with pytest.raises(OutOfRange, match="it gives no temperature"):
        ntc.t_by_beta(1e-9, 10e3, 3950)
    with pytest.raises(OutOfRange, match="no finite result"):
        ntc.r_by_beta(-200, 10e3, 1e6)
    with pytest.raises(OutOfRange, match="two points of different temperature"):
        ntc.beta(1, 25, 2, 25)
    with pytest.raises(OutOfRange, match="from 55 °C to 60 °C and says nothing beyond"):
        ntc.r_by_table(70, [55, 60], [2986, 2488])
    with pytest.raises(OutOfRange, match="at least two rows, with rising temperatures"):
        ntc.r_by_table(57, [60, 55], [2488, 2986])
    with pytest.raises(OutOfRange, match="exactly three points"):
        ntc.steinhart_hart_constants([1, 2], [3, 4])
    with pytest.raises(OutOfRange, match="three different resistances"):
        ntc.steinhart_hart_constants([1, 1, 2], [3, 4, 5])
