"""Hold-up and bursts against published examples and a simulation in small steps."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.holdup import (
    USB_ATTACH_MAX_F,
    brown_out_margin,
    burst_capacitor,
    burst_capacitor_window,
    burst_dip,
    cap_for_current,
    cap_for_power,
    droop,
    hold_up_time,
    inductance_max,
    nominal_for,
)
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

BURSTS = (st.floats(0.01, 2), st.floats(1e-5, 0.1), st.floats(1e-6, 1e-2), st.floats(0.05, 40), st.floats(0, 5))


def test_published() -> None:
    # Public page of power supply formulas: 200 W, 20 ms, 400 to 300 V: 114 µF
    assert cap_for_power(200, 20e-3, 400, 300) == pytest.approx(114e-6, abs=0.5e-6)
    # Public note on decoupling: 10 A for 2 µs with 0.1 V: 200 µF; and 20 nH
    assert cap_for_current(10, 2e-6, 0.1) == pytest.approx(200e-6, rel=1e-9)
    assert inductance_max(0.1, 2e-6, 10) == pytest.approx(20e-9, rel=1e-9)


@settings(max_examples=30)
@given(st.floats(0.01, 1), st.floats(1e-5, 1), st.floats(0.2, 2), st.floats(0, 0.15))
def test_capacitor_droop_and_time_undo_each_other(i_a: float, t_s: float, dv_v: float, esr_ohm: float) -> None:
    # property: round trips
    c_f = cap_for_current(i_a, t_s, dv_v, esr_ohm)
    assert droop(i_a, t_s, c_f, esr_ohm) == pytest.approx(dv_v, rel=1e-9)
    assert hold_up_time(c_f, 5.0, 5.0 - dv_v, i_a, esr_ohm) == pytest.approx(t_s, rel=1e-6)


def test_constant_power_lies_between_two_currents() -> None:
    # property: a converter draws more current the lower its input gets
    c_f = cap_for_power(1.0, 0.1, 12.0, 6.0)
    assert hold_up_time(c_f, 12, 6, 1.0 / 6) < 0.1 < hold_up_time(c_f, 12, 6, 1.0 / 12)


@settings(max_examples=15, deadline=None)
@given(*BURSTS)
def test_dip_against_a_simulation(i_a: float, t_s: float, c_f: float, r_ohm: float, esr_ohm: float) -> None:
    # oracle: the circuit stepped in time, charge by charge
    q_v, steps = 0.0, 4000  # how far the capacitor itself has fallen
    for _ in range(steps):
        # node: (dip)/R + (dip - q)/ESR = I, with ESR = 0 the node is the capacitor
        i_c = i_a - q_v / r_ohm if esr_ohm == 0 else (i_a - q_v / r_ohm) * r_ohm / (r_ohm + esr_ohm)
        q_v += i_c * t_s / steps / c_f
        if q_v > i_a * r_ohm:
            q_v = i_a * r_ohm
    i_c = (i_a - q_v / r_ohm) * r_ohm / (r_ohm + esr_ohm)
    assert burst_dip(i_a, t_s, c_f, r_ohm, esr_ohm) == pytest.approx(q_v + i_c * esr_ohm, rel=0.01)


@settings(max_examples=50)
@given(*BURSTS)
def test_dip_has_its_limits(i_a: float, t_s: float, c_f: float, r_ohm: float, esr_ohm: float) -> None:
    # property: never more than the source alone, never less than both resistances side by side, deeper with a stiffer load
    dip = burst_dip(i_a, t_s, c_f, r_ohm, esr_ohm)
    assert i_a * r_ohm * esr_ohm / (r_ohm + esr_ohm) <= dip + 1e-9
    assert dip <= i_a * r_ohm + 1e-9
    assert burst_dip(i_a, t_s, c_f, r_ohm * 1.1, esr_ohm) >= dip - 1e-12
    assert burst_dip(i_a, t_s * 1.1, c_f, r_ohm, esr_ohm) >= dip - 1e-12
    assert burst_dip(i_a, t_s, c_f * 1.1, r_ohm, esr_ohm) <= dip + 1e-12


@settings(max_examples=50)
@given(*BURSTS)
def test_smallest_capacitor_just_keeps_the_dip(i_a: float, t_s: float, c_f: float, r_ohm: float, esr_ohm: float) -> None:
    # property: round trip
    dip = burst_dip(i_a, t_s, c_f, r_ohm, esr_ohm)
    if not (i_a * r_ohm * esr_ohm / (r_ohm + esr_ohm)) * 1.001 < dip < i_a * r_ohm * 0.999:
        return  # so flat there that a rounded dip says nothing of the capacitor
    assert burst_capacitor(i_a, t_s, dip, r_ohm, esr_ohm) == pytest.approx(c_f, rel=1e-3)


@settings(max_examples=30)
@given(*BURSTS, st.floats(0, 1))
def test_worst_dip_over_a_range_of_series_resistances_is_at_an_end(
    i_a: float, t_s: float, c_f: float, r_ohm: float, esr_ohm: float, part: float
) -> None:
    # property: the formula may turn back over the series resistance, but never to a deeper dip inside
    found = over(burst_dip, i_burst_a=i_a, t_burst_s=t_s, c_f=c_f, r_source_ohm=r_ohm, esr_ohm=Range(0.0, esr_ohm))
    assert burst_dip(i_a, t_s, c_f, r_ohm, esr_ohm * part) <= found.high + 1e-9


def test_a_strong_source_needs_no_capacitor() -> None:
    assert burst_capacitor(0.1, 1e-3, 0.2, 1.0) == 0.0
    assert burst_capacitor(0.1, 1e-3, 0.1, 1.0) == 0.0  # the source alone dips just as far as allowed


def test_a_usb_device_may_need_more_than_it_may_carry() -> None:
    # USB 2.0, 7.2.4.1 (from memory): 10 µF at most at the moment of attaching
    window = burst_capacitor_window(0.5, 1e-3, 0.1, 0.5, USB_ATTACH_MAX_F, "USB inrush")
    assert window.is_empty
    assert "USB inrush" in window.words
    assert not burst_capacitor_window(0.1, 1e-5, 0.2, 10.0, USB_ATTACH_MAX_F, "USB inrush").is_empty


def test_brown_out_margin() -> None:
    # property: without a capacitor worth the name only the source counts
    assert brown_out_margin(3.3, 2.8, 0.3, 1.0, 1e-9, 1.0) == pytest.approx(0.2)
    assert brown_out_margin(3.3, 2.8, 0.3, 1e-3, 4700e-6, 1.0) > 0.4


def test_nominal_value_leaves_enough() -> None:
    assert nominal_for(100e-6, 0.2, 0.5) * 0.8 * 0.5 == pytest.approx(100e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: cap_for_current(1.0, 1e-3, 0.1, 0.2), r"alone drops 0\.2 V and 0\.1 V are allowed"),
        (lambda: burst_capacitor(1.0, 1e-3, 0.1, 1.0, 0.5), r"alone drops 0\.33 V and 0\.1 V"),
        (lambda: hold_up_time(1.0, 3.0, 5.0, 0.1), "5 V must lie below 3 V"),
        (lambda: hold_up_time(1.0, 5.0, 4.9, 0.1, 30.0), "alone drops 3 V"),
        (lambda: cap_for_power(1.0, 1.0, 5.0, 3.0, 1.5), "efficiency must lie between 0 and 1"),
        (lambda: nominal_for(1e-6, 0.0, 1.0), "loses everything"),
        (lambda: droop(1.0, 1.0, 0.0), "c must be above 0 F"),
        (lambda: burst_dip(0.1, 1e-3, math.inf, 1.0), "finite"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
