"""RC filters, PWM outputs and sampling capacitors against ngspice (kind: oracle)."""

from __future__ import annotations

import math

import pytest
from fitted import TIMES, VOLTS, close
from ngspice import Sheet, run

from pinwright.circuits.filters import anti_alias_corner, c_for_corner, corner, corner_for_attenuation, gain_db, r_for_corner
from pinwright.circuits.pwm_dac import (
    ladder_time_constants,
    pwm_output,
    rc_window,
    ripple,
    ripple_estimate,
    ripple_two_stages,
    ripple_worst,
    settling_time_two_stages,
)
from pinwright.circuits.settling import (
    holding_capacitor,
    holding_droop,
    holding_error,
    leakage_error,
    sample_interval_min,
    settling_error,
    settling_time,
    source_r_for_leakage,
    source_r_max,
)

DECIBELS = 0.05


def gains(r_ohm: float, c_f: float, stages: int, f_hz: list[float]) -> list[float]:
    """Gain of stages with an ideal buffer between, by an AC analysis [dB]."""
    lines, asked = ["vin n0 0 dc 0 ac 1"], []
    for stage in range(stages):
        lines += [f"r{stage} n{stage} m{stage} {r_ohm:.12g}", f"c{stage} m{stage} 0 {c_f:.12g}", f"e{stage} n{stage + 1} 0 m{stage} 0 1"]
    for number, f in enumerate(f_hz):
        asked += [f"ac lin 1 {f:.12g} {f:.12g}", f"let g{number} = db(v(n{stages}))", f"print g{number}"]
    found = run("\n".join(("filter", *lines, ".control", "set numdgt=12", *asked, "quit", ".endc", ".end", "")))
    return [found[f"g{number}"] for number in range(len(f_hz))]


@pytest.mark.parametrize(("r_ohm", "c_f"), [(4e3, 10e-9), (10e3, 100e-9), (1e6, 1e-9)])
@pytest.mark.parametrize("stages", [1, 2, 3])
def test_a_low_pass_loses_what_the_formula_says(r_ohm: float, c_f: float, stages: int) -> None:
    at = corner(r_ohm, c_f)
    f_hz = [0.1 * at, at, 3 * at, 50 * at]
    for found, f in zip(gains(r_ohm, c_f, stages, f_hz), f_hz, strict=True):
        assert abs(found - gain_db(f, at, stages)) < DECIBELS


def test_a_corner_for_an_attenuation_and_the_ends_of_an_anti_alias_window() -> None:
    window = anti_alias_corner(1000.0, 5.0, 40.0, droop_db=1.0)
    c_f = 1e-6
    at_low, at_high = (r_for_corner(end.value, c_f) for end in (window.low, window.high))
    assert abs(gains(at_low, c_f, 1, [5.0])[0] + 1.0) < DECIBELS
    assert abs(gains(at_high, c_f, 1, [995.0])[0] + 40.0) < DECIBELS
    assert gains(1.05 * at_low, c_f, 1, [5.0])[0] < -1.0 - DECIBELS
    assert gains(at_high / 1.05, c_f, 1, [995.0])[0] > -40.0 + DECIBELS
    two = corner_for_attenuation(10e3, 30.0, stages=2)
    assert abs(gains(10e3, c_for_corner(two, 10e3), 2, [10e3])[0] + 30.0) < DECIBELS


# ------------------------------------------------------------------------------ PWM as an analog output


def pwm(stages: list[tuple[float, float]], v_v: float, f_hz: float, duty: float, start_v: float) -> float:
    """Ripple behind a ladder in its steady state, started near it [V]."""
    sheet = Sheet()
    period = 1 / f_hz
    node = sheet.node()
    sheet.add("V", node, 0, f"pulse(0 {v_v:.12g} 0 {period * 1e-6:.12g} {period * 1e-6:.12g} {duty * period:.12g} {period:.12g})")
    tau = sum(r for r, _ in stages) * sum(c for _, c in stages)
    for r_ohm, c_f in stages:
        after = sheet.node()
        sheet.resistor(node, after, r_ohm)
        sheet.capacitor(after, 0, c_f, start_v)
        node = after
    periods = max(4, math.ceil(8 * tau * f_hz))
    begin, end = (periods - 2) * period, periods * period
    sheet.measure("top", f"max v({node}) from={begin:.12g} to={end:.12g}")
    sheet.measure("bottom", f"min v({node}) from={begin:.12g} to={end:.12g}")
    found = sheet.over_time(end, from_states=True, points=200 * periods)
    return found["top"] - found["bottom"]


@pytest.mark.parametrize(("f_hz", "r_ohm", "c_f", "duty"), [(10e3, 10e3, 0.1e-6, 0.5), (5e3, 10e3, 0.1e-6, 0.2), (1e3, 4.7e3, 0.1e-6, 0.8)])
def test_ripple_of_one_stage(f_hz: float, r_ohm: float, c_f: float, duty: float) -> None:
    found = pwm([(r_ohm, c_f)], 3.3, f_hz, duty, 3.3 * duty)
    assert close(found, ripple(3.3, f_hz, r_ohm * c_f, duty), VOLTS)
    assert found <= ripple_estimate(3.3, f_hz, r_ohm * c_f, duty) * (1 + VOLTS)
    assert found <= ripple_worst(3.3, f_hz, r_ohm * c_f) * (1 + VOLTS)


@pytest.mark.parametrize(
    "stages", [[(10e3, 100e-9), (10e3, 100e-9)], [(4.7e3, 100e-9), (47e3, 10e-9)]], ids=["equal stages", "second ten times lighter"]
)
def test_ripple_and_settling_of_two_stages(stages: list[tuple[float, float]]) -> None:
    taus = ladder_time_constants(*stages[0], *stages[1])
    assert close(pwm(stages, 3.3, 5e3, 0.5, 1.65), ripple_two_stages(3.3, 5e3, taus), 2 * VOLTS)
    sheet = Sheet()
    node = sheet.step(0.0, 1.0)
    for r_ohm, c_f in stages:
        after = sheet.node()
        sheet.resistor(node, after, r_ohm)
        sheet.capacitor(after, 0, c_f)
        node = after
    sheet.measure("t", f"when v({node})={1 - 2**-8:.12g} rise=1")
    claim = settling_time_two_stages(taus, 8)
    assert close(sheet.over_time(1.5 * claim)["t"], claim, TIMES)


def test_the_ends_of_an_rc_window_are_ends() -> None:
    window = rc_window(20e3, 6, 0.02)
    step_v = 3.3 / 2**6
    assert close(pwm([(10e3, window.low.value / 10e3)], 3.3, 20e3, 0.5, 1.65), step_v, 2 * VOLTS)
    assert pwm([(10e3, window.low.value / 1.05 / 10e3)], 3.3, 20e3, 0.5, 1.65) > step_v * (1 + VOLTS)
    sheet = Sheet()
    for name, tau_s in (("at", window.high.value), ("beyond", window.high.value * 1.05)):
        out = sheet.node()
        sheet.resistor(sheet.step(0.0, 3.3), out, 10e3)
        sheet.capacitor(out, 0, tau_s / 10e3)
        sheet.measure(name, f"when v({out})={3.3 - step_v:.12g} rise=1")
    t = sheet.over_time(0.03)
    assert close(t["at"], 0.02, TIMES)
    assert t["beyond"] > 0.02 * (1 + TIMES)
    assert close(pwm_output(3.3, 20e3, 6, window.high.value).t_settle_s, t["at"], TIMES)


# ------------------------------------------------------------------------------ sampling


@pytest.mark.parametrize(
    ("r_ohm", "switch_ohm", "c_f", "bits"), [(10e3, 1e3, 8e-12, 12), (50e3, 100.0, 14e-12, 10), (1e3, 11e3, 6e-12, 12)]
)
def test_a_sampling_capacitor_fills_in_time(r_ohm: float, switch_ohm: float, c_f: float, bits: int) -> None:
    quarter = 2.0**-bits / 4
    sheet = Sheet()
    inside = sheet.node()
    sheet.resistor(sheet.step(0.0, 1.0), inside, r_ohm + switch_ohm)
    sheet.capacitor(inside, 0, c_f)
    sheet.measure("t", f"when v({inside})={1 - quarter:.12g} rise=1")
    tau_s = (r_ohm + switch_ohm) * c_f
    sheet.measure("v", f"find v({inside}) at={3 * tau_s:.12g}")
    found = sheet.over_time(1.4 * settling_time(r_ohm + switch_ohm, c_f, bits, 4))
    assert close(found["t"], settling_time(r_ohm + switch_ohm, c_f, bits, 4), TIMES)
    assert close(source_r_max(found["t"], c_f, switch_ohm, bits), r_ohm, TIMES * (r_ohm + switch_ohm) / r_ohm)
    assert close(1 - found["v"], settling_error(3 * tau_s, r_ohm + switch_ohm, c_f), TIMES)


def sampled(c_sample_f: float, c_hold_f: float, r_ohm: float, interval_s: float) -> float:
    """Steady error of samples from a capacitor at the pin, the sampling capacitor emptied in between: share of the voltage.

    Two switches take turns: one joins the capacitors, one empties the sampling capacitor; read at the end of the sample.
    """
    tau_s = r_ohm * c_hold_f
    count = max(6, math.ceil(10 * tau_s / interval_s))
    width_s = min(0.02 * interval_s, 0.02 * tau_s)
    sheet = Sheet()
    sheet.model("gate sw(vt=0.5 vh=0.1 ron=1 roff=1e13)")
    hold, sample, close_, empty = sheet.node(), sheet.node(), sheet.node(), sheet.node()
    edge_s = width_s / 100
    first = interval_s - width_s  # the hold capacitor is full at the first sample
    sheet.add("V", close_, 0, f"pulse(0 1 {first:.12g} {edge_s:.12g} {edge_s:.12g} {width_s:.12g} {interval_s:.12g})")
    sheet.add("V", empty, 0, f"pulse(0 1 {first + 2 * width_s:.12g} {edge_s:.12g} {edge_s:.12g} {width_s:.12g} {interval_s:.12g})")
    sheet.resistor(sheet.source(1.0), hold, r_ohm)
    sheet.capacitor(hold, 0, c_hold_f, 1.0)
    sheet.add("S", hold, sample, close_, 0, "gate")
    sheet.capacitor(sample, 0, c_sample_f, 0.0)
    sheet.add("S", sample, 0, empty, 0, "gate")
    sheet.measure("v", f"find v({sample}) at={(count - 1) * interval_s + first + 0.1 * width_s:.12g}")
    return 1 - sheet.over_time(count * interval_s, from_states=True, points=400 * count)["v"]


@pytest.mark.parametrize(
    ("c_sample_f", "c_hold_f", "r_ohm", "interval_s"),
    [(1e-9, 100e-9, 10e3, 1e-3), (1e-9, 100e-9, 10e3, 3e-3), (1e-9, 20e-9, 100e3, 2e-3)],
)
def test_repeated_samples_from_a_holding_capacitor(c_sample_f: float, c_hold_f: float, r_ohm: float, interval_s: float) -> None:
    # a nanofarad instead of picofarads, so that the error stands far above the simulator's own
    found = sampled(c_sample_f, c_hold_f, r_ohm, interval_s)
    assert close(found, holding_error(c_sample_f, c_hold_f, r_ohm, interval_s), TIMES)
    assert close(sample_interval_min(c_sample_f, c_hold_f, r_ohm, found), interval_s, 3 * TIMES)
    assert found > holding_droop(c_sample_f, c_hold_f) * (1 - TIMES)


def test_the_ends_of_a_holding_capacitor_window_are_ends() -> None:
    bits, r_ohm, follow_s = 6, 10e3, 2e-3
    window = holding_capacitor(1e-9, r_ohm, 2e-3, follow_s, bits)
    half_step = 2.0**-bits / 2
    assert close(sampled(1e-9, window.low.value, r_ohm, 2e-3), half_step, TIMES)
    assert sampled(1e-9, window.low.value / 1.1, r_ohm, 2e-3) > half_step * (1 + TIMES)
    sheet = Sheet()
    pin = sheet.node()
    sheet.resistor(sheet.step(0.0, 1.0), pin, r_ohm)
    sheet.capacitor(pin, 0, window.high.value)
    sheet.measure("t", f"when v({pin})={1 - half_step:.12g} rise=1")
    assert close(sheet.over_time(2 * follow_s)["t"], follow_s, TIMES)


def test_leakage_at_a_measuring_pin() -> None:
    sheet = Sheet()
    for name, ohm in (("error", 10e3), ("limit", source_r_for_leakage(1e-6, 5e-3))):
        pin = sheet.node()
        sheet.resistor(sheet.source(1.0), pin, ohm)
        sheet.leak(pin, 1e-6)
        sheet.ask(name, f"1-v({pin})")
    found = sheet.at_dc()
    assert close(found["error"], leakage_error(1e-6, 10e3), VOLTS)
    assert close(found["limit"], 5e-3, VOLTS)
