"""Thermistors in their circuits."""

from __future__ import annotations

import numpy as np
import pytest

from pinwright.circuits.thermistor_circuits import divider_resistor, linearising_resistor, self_heating, sensitivity
from pinwright.circuits.thermistors import r_by_beta
from pinwright.errors import OutOfRange


def test_sensitivity_is_the_slope():
    h = 1e-4
    slope = (r_by_beta(40 + h, 10e3, 3950) - r_by_beta(40 - h, 10e3, 3950)) / (2 * h) / r_by_beta(40, 10e3, 3950)
    assert sensitivity(40, 3950) == pytest.approx(slope, rel=1e-6)


def test_linearising_resistor_puts_the_inflection_there():
    # property: the second difference of parallel resistance and of divider voltage is zero at the temperature, with other signs beside
    r_ohm = linearising_resistor(25, 10e3, 3950)

    def bend(t_c: float) -> tuple[float, float]:
        sensor = np.array([r_by_beta(t, 10e3, 3950) for t in (t_c - 0.5, t_c, t_c + 0.5)])
        return tuple(float(curve[0] - 2 * curve[1] + curve[2]) for curve in (sensor * r_ohm / (sensor + r_ohm), r_ohm / (sensor + r_ohm)))

    for there, colder, warmer in zip(bend(25), bend(15), bend(35), strict=True):
        assert abs(there) < abs(colder) / 50
        assert colder * warmer < 0


def test_self_heating():
    # 3.3 V over 10 k + 10 k leave 272 uW in the thermistor, 136 mK at 2 mW/K [P = V^2/R]
    assert self_heating(3.3, 10e3, 10e3, 2e-3) == pytest.approx(0.136, abs=0.0005)


def test_divider_resistor_is_the_best_of_its_series():
    # oracle: every E12 value tried, the smallest step of voltage over the range compared
    t = np.linspace(0, 50, 501)
    sensor = np.array([r_by_beta(x, 10e3, 3950) for x in t])
    chosen = divider_resistor(10e3, 3950, 0, 50)

    def worst(r_ohm: float) -> float:
        return float(np.abs(np.diff(sensor / (sensor + r_ohm))).min())

    mantissas = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
    assert worst(chosen) == max(worst(m * 10.0**d) for m in mantissas for d in (3, 4, 5))


def test_bad_input():
    with pytest.raises(OutOfRange, match="No preferred value lies near"):
        divider_resistor(1e-12, 3950, 0, 50)
    with pytest.raises(OutOfRange, match="no inflection there"):
        linearising_resistor(100, 1e3, 700)
    with pytest.raises(OutOfRange, match="from low to high"):
        divider_resistor(10e3, 3950, 50, 0)
