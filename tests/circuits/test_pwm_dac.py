"""Filtered PWM as an analog output."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import pwm_dac
from pinwright.circuits.pwm_dac import AnalogOutput
from pinwright.errors import OutOfRange

TAUS = pwm_dac.ladder_time_constants(10e3, 100e-9, 22e3, 47e-9)


def _stepped(f_hz: float, duty: float, r1: float, c1: float, r2: float, c2: float) -> float:
    """Ripple of a ladder by small time steps (Heun), from a start at the mean."""
    steps = 4000
    dt = 1 / f_hz / steps
    high = np.arange(steps) < duty * steps
    one = two = duty
    seen: list[float] = []
    for period in range(60):
        for on in high:
            slopes = []
            a, b = one, two
            for _ in range(2):
                i2 = (a - b) / r2
                slopes.append((((float(on) - a) / r1 - i2) / c1, i2 / c2))
                a, b = one + dt * slopes[0][0], two + dt * slopes[0][1]
            one += dt * (slopes[0][0] + slopes[1][0]) / 2
            two += dt * (slopes[0][1] + slopes[1][1]) / 2
            if period == 59:
                seen.append(two)
    return max(seen) - min(seen)


def _stretched(t_settle_s: float) -> tuple[float, float]:
    """The ladder made slower or faster as a whole until it settles to 8 bits in a time."""
    times = t_settle_s / pwm_dac.settling_time_two_stages(TAUS, 8)
    return TAUS[0] * times, TAUS[1] * times


def test_ripple_published():
    # Public answer on the time constant of a PWM filter: 5 V, 10 kHz, 10 kohm, 0.1 uF, half duty
    assert pwm_dac.ripple(5, 10e3, 1e-3, 0.5) * 1e3 == pytest.approx(124.974, abs=0.01)
    assert pwm_dac.ripple_estimate(5, 10e3, 1e-3) * 1e3 == pytest.approx(125.0, abs=1e-9)


@settings(max_examples=50)
@given(st.floats(0, 1), st.floats(0.01, 100))
def test_no_duty_ripples_more_than_one_half_and_the_estimate_is_never_below(duty: float, periods: float):
    exact = pwm_dac.ripple(1.0, 1.0, periods, duty)
    assert 0 <= exact <= pwm_dac.ripple_worst(1.0, 1.0, periods) * (1 + 1e-9)
    assert exact <= pwm_dac.ripple_estimate(1.0, 1.0, periods, duty) * (1 + 1e-9) + 1e-12


def test_worst_ripple_is_that_of_half_duty():
    assert pwm_dac.ripple(3.3, 5e3, 1e-4, 0.5) == pytest.approx(pwm_dac.ripple_worst(3.3, 5e3, 1e-4))


def test_limits_of_the_ripple():
    assert pwm_dac.ripple(3.3, 1.0, 1e-3, 0.5) == pytest.approx(3.3)  # a slow PWM swings fully
    assert pwm_dac.ripple(3.3, 5e3, 1e-3, 0.0) == 0


def test_ladder_has_the_sum_and_product_of_its_parts():
    assert sum(TAUS) == pytest.approx(10e3 * 100e-9 + 22e3 * 47e-9 + 10e3 * 47e-9)
    assert TAUS[0] * TAUS[1] == pytest.approx(10e3 * 100e-9 * 22e3 * 47e-9)


@pytest.mark.parametrize("duty", [0.5, 0.2])
def test_ladder_ripple_agrees_with_a_simulation(duty: float):
    # oracle: the two capacitors stepped in time; nothing of the partial fractions is used
    expected = _stepped(5e3, duty, 10e3, 100e-9, 22e3, 47e-9)
    assert pwm_dac.ripple_two_stages(1.0, 5e3, TAUS, duty) == pytest.approx(expected, rel=0.01)


def test_two_stages_ripple_as_the_triangle_formula_says():
    # V d (1-d) T^2 / (8 T1 T2) when the time constants are many periods: derived from the area of a triangle
    taus = (0.1, 0.05)
    assert pwm_dac.ripple_two_stages(1.0, 1000.0, taus) == pytest.approx(0.25e-6 / (8 * 0.1 * 0.05), rel=0.001)


def test_settling_of_two_stages_reaches_one_step_exactly():
    longer, shorter = TAUS
    t = pwm_dac.settling_time_two_stages(TAUS, 10)
    missing = (longer * np.exp(-t / longer) - shorter * np.exp(-t / shorter)) / (longer - shorter)
    assert missing == pytest.approx(2.0**-10)


def test_two_stages_do_more_than_one_in_the_same_time():
    # why a second stage is worth its two parts: same settling, less ripple
    one = pwm_dac.pwm_output(3.3, 20e3, 8, 5e-3)
    two = pwm_dac.pwm_output(3.3, 20e3, 8, _stretched(one.t_settle_s))
    assert two.t_settle_s == pytest.approx(one.t_settle_s)
    assert two.v_ripple_v < one.v_ripple_v / 5


def test_window_of_the_time_constant():
    window = pwm_dac.rc_window(20e3, 8, 0.1)
    made = pwm_dac.pwm_output(3.3, 20e3, 8, window.low.value)
    assert made.v_ripple_v == pytest.approx(made.v_step_v)
    assert made.useful_bits == 8
    assert pwm_dac.pwm_output(3.3, 20e3, 8, window.high.value).t_settle_s == pytest.approx(0.1)
    assert pwm_dac.rc_window(1e3, 12, 0.01).is_empty  # fast and fine: one stage cannot


def test_ripple_costs_bits():
    made = pwm_dac.pwm_output(3.3, 1e3, 8, 10e-3)
    assert made.useful_bits == pytest.approx(8 - np.log2(made.v_ripple_v / made.v_step_v))


def test_against_a_true_converter():
    dac = AnalogOutput(bits=12, v_step_v=3.3 / 4096, v_ripple_v=0.0, t_settle_s=10e-6)
    found = pwm_dac.better(dac, pwm_dac.pwm_output(3.3, 10e3, 8, 10e-3))
    assert found["bits_more"] == pytest.approx(4, abs=0.1)
    assert found["ripple_more_v"] < 0
    assert found["settling_ratio"] < 1e-3


def test_bad_input():
    with pytest.raises(OutOfRange, match=r"duty must lie between 0 and 1, not 1\.5"):
        pwm_dac.ripple(3.3, 1e3, 1e-3, 1.5)
    with pytest.raises(OutOfRange, match="never have the same time constant twice"):
        pwm_dac.ripple_two_stages(3.3, 1e3, (1e-3, 1e-3))
    with pytest.raises(OutOfRange, match="f pwm must be above 0 Hz"):
        pwm_dac.ripple_worst(3.3, 0, 1e-3)
