"""Turning coils off: the decay against a step-by-step integration, energies, faults."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.clamps import clamp, decay_time, diode_needs, stored_energy, switch_voltage
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_switch_sees_supply_and_clamp() -> None:
    # TE 13C3311: with a diode across the coil the switch sees the supply and one diode drop
    assert switch_voltage(12.0, 0.7) == pytest.approx(12.7)
    assert stored_energy(0.1, 0.08) == pytest.approx(320e-6)


@pytest.mark.parametrize("v_clamp_v", [0.7, 15.7])
def test_decay_agrees_with_integration(v_clamp_v: float) -> None:
    # oracle: L di/dt = -R i - Vc in small steps
    l_h, r_ohm, i_a, t_s, step_s = 0.1, 63.0, 0.08, 0.0, 1e-7
    while i_a > 0.01:
        i_a -= (r_ohm * i_a + v_clamp_v) / l_h * step_s
        t_s += step_s
    assert decay_time(l_h, r_ohm, 0.08, 0.01, v_clamp_v) == pytest.approx(t_s, rel=2e-3)


@given(st.floats(0.3, 30), st.floats(1.1, 5))
@settings(max_examples=20)
def test_a_higher_clamp_is_always_faster(v_v: float, factor: float) -> None:
    assert decay_time(0.1, 63.0, 0.08, 0.01, v_v * factor) < decay_time(0.1, 63.0, 0.08, 0.01, v_v)


def test_over_ranges() -> None:
    found = over(decay_time, l_h=Range(0.05, 0.1), r_ohm=63.0, i_start_a=0.08, i_end_a=0.01, v_clamp_v=0.7)
    assert found.high == pytest.approx(2 * found.low)


def test_clamp_faults_and_power() -> None:
    found = clamp(24.0, 0.1, 36.7, l_h=0.2, r_ohm=240.0, i_release_a=0.01, f_switch_hz=10.0, v_switch_max_v=50.0)
    assert found.faults == ("the switch sees 60.7 V, 10.7 V more than it stands",)
    assert found.e_j == pytest.approx(1e-3)
    assert found.p_w == pytest.approx(10e-3)
    slow = clamp(24.0, 0.1, 0.7, l_h=0.2, r_ohm=240.0, i_release_a=0.01, t_release_max_s=1e-3)
    assert slow.faults[0].endswith("times what is allowed: raise the clamp")
    assert clamp(24.0, 0.1, 0.7).e_j is None


def test_diode() -> None:
    needs = diode_needs(24.0, 0.2)
    assert (needs.v_reverse_min_v, needs.i_forward_min_a) == (48.0, 0.2)  # twice the supply: common practice, no source
    assert "Zener or TVS" in needs.words


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: decay_time(0.1, 63.0, 0.01, 0.08, 0.7), "cannot end above where it starts"),
        (lambda: decay_time(0.1, 63.0, 0.08, 0.0, 0.0), "never reaches zero"),
        (lambda: diode_needs(12.0, 0.1, 0.5), "at least the supply"),
        (lambda: stored_energy(-0.1, 1.0), "l must not be below 0 H"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
