"""Gates of MOSFETs: charge, resistors, what an edge couples in."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.gates import (
    coupled_gate_v,
    gate_capacitance,
    gate_charge_time,
    gate_drive_power,
    gate_pull_window,
    gate_resistor_window,
    rc_charge_time,
)
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


def test_published() -> None:
    # IR AN-944, introductory example (from memory): 20 nC with 1 mA take 20 us
    assert gate_charge_time(20e-9, 1e-3) == pytest.approx(20e-6)
    # a public question: 30 nC at 5 V act like 6 nF
    assert gate_capacitance(30e-9, 5.0) == pytest.approx(6e-9)
    # P = Qg VGS f as in AN-944 (from memory)
    assert gate_drive_power(20e-9, 10.0, 100e3) == pytest.approx(20e-3)


def test_charging_through_a_resistor() -> None:
    assert rc_charge_time(330.0, 1e-9, 3.3, 2.475) == pytest.approx(330e-9 * math.log(4))
    assert rc_charge_time(330.0, 1e-9, 3.3, 0.0) == 0.0


@given(st.floats(10, 1e6), st.floats(1, 50), st.floats(1e-8, 1e-3))
@settings(max_examples=40)
def test_coupling_is_bounded_by_both_simple_rules(r_ohm: float, dv_v: float, t_s: float) -> None:
    found = coupled_gate_v(dv_v, t_s, r_ohm, 50e-12, 450e-12)
    assert found <= dv_v * 50e-12 / 500e-12 * (1 + 1e-9)  # the capacitive divider
    assert found <= r_ohm * 50e-12 * dv_v / t_s * (1 + 1e-9)  # current through Cgd into the resistor
    assert found <= coupled_gate_v(dv_v, t_s, r_ohm * 1.5, 50e-12, 450e-12) * (1 + 1e-9)


def test_gate_resistor() -> None:
    good = gate_resistor_window(Range(3.0, 3.6, 3.3), 20e-3, 5e-9, 1.5, 2e-6)
    assert (good.low.value, good.high.value) == pytest.approx((180.0, 600.0))
    bad = gate_resistor_window(Range(3.0, 3.6, 3.3), 20e-3, 10e-9, 2.0, 1e-6)
    assert bad.words.endswith("and at most 100 Ω (10 nC in 1 µs); short by 80 Ω, a factor of 1.8")
    never = gate_resistor_window(Range(3.0, 3.6, 3.3), 20e-3, 10e-9, 4.0, 1e-6)
    assert never.words == "no value works: the drive of 3 V does not pass the plateau at 4 V"


def test_gate_pull() -> None:
    calm = gate_pull_window(0.8, 10e-6, r_gate_ohm=100.0)
    assert (calm.low.value, calm.high.value) == pytest.approx((5000.0, 40e3))
    edgy = gate_pull_window(0.8, 1e-6, dv_v=24.0, t_edge_s=1e-6, c_gd_f=100e-12, c_gs_f=400e-12)
    assert "an edge of 24 V in 1 µs couples in through 100 pF" in edgy.words
    assert edgy.is_empty
    assert coupled_gate_v(24.0, 1e-6, edgy.high.value, 100e-12, 400e-12) == pytest.approx(0.4, rel=1e-6)
    harmless = gate_pull_window(0.8, 1e-6, dv_v=1.0, t_edge_s=1e-6, c_gd_f=100e-12, c_gs_f=400e-12)
    assert harmless.high.value == pytest.approx(100e3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rc_charge_time(1e3, 1e-9, 3.3, 3.3), "never reaches a threshold of 3.3 V"),
        (lambda: gate_charge_time(0.0, 1e-3), "q g must be above 0 "),
        (lambda: gate_pull_window(0.8, 1e-6, dv_v=1.0), "An edge needs its height"),
        (lambda: gate_drive_power(1e-9, 5.0, -1.0), "f must not be below 0 Hz"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
