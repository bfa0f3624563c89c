"""MOSFET switches: nothing is interpolated, every fault is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from pinwright.circuits.gates import gate_pull_window
from pinwright.circuits.mosfets import (
    FetSpec,
    conduction_power,
    high_side_plan,
    junction_c,
    low_side_plan,
    on_resistance,
    switching_power,
)
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

# IRFZ44NS data sheet (read): 17.5 mohm at 10 V only, threshold 2 to 4 V, 55 V, 175 °C; 62 K/W from memory
OLD = FetSpec(((10.0, 0.0175),), Range(2.0, 4.0), 20.0, 55.0, 62.0, 175.0)
# invented, in the shape of a small logic-level part
LOGIC = FetSpec(((2.5, 0.05), (4.5, 0.035)), Range(0.5, 1.2), 8.0, 20.0, 120.0)
# invented P channel, magnitudes
PFET = FetSpec(((4.5, 0.06), (10.0, 0.04)), Range(1.0, 2.5), 12.0, 30.0, 100.0)


def test_a_10_v_part_is_not_specified_at_logic_levels() -> None:
    for drive_v, lacks in ((3.3, "6.7 V"), (5.0, "5 V")):
        plan = low_side_plan(OLD, drive_v, 12.0, 2.0)
        assert not plan.works
        assert plan.p_w is None
        assert plan.words == f"on-resistance not specified at {drive_v:.3g} V: the lowest drive with a figure is 10 V, {lacks} more"
    assert low_side_plan(OLD, 10.0, 12.0, 2.0).works


def test_the_lower_figure_is_used_between_two() -> None:
    assert on_resistance([(4.5, 0.035), (2.5, 0.05)], 3.3).r_ohm == 0.05
    assert on_resistance([(4.5, 0.035), (2.5, 0.05)], 4.5).r_ohm == 0.035
    assert on_resistance([(4.5, 0.035), (2.5, 0.05)], 2.4).r_ohm is None


def test_heat() -> None:
    plan = low_side_plan(LOGIC, Range(3.0, 3.6, 3.3), 12.0, 2.0, hot_factor=1.5)
    assert plan.p_w == pytest.approx(4 * 0.05 * 1.5)
    assert plan.t_junction_c == pytest.approx(40 + 0.3 * 120)
    assert plan.v_drop_v == pytest.approx(2 * 0.05 * 1.5)
    assert plan.words == "at most 50 mΩ as given at 2.5 V: drops 150 mV, 300 mW, junction 76 °C"
    hot = low_side_plan(LOGIC, 3.3, 12.0, 5.0)
    assert "the junction would reach 310 °C, 160 K above its limit" in hot.words
    assert conduction_power(2.0, 0.05, 1.0) == pytest.approx(0.2)
    assert junction_c(25.0, 1.0, 50.0) == 75.0


def test_ratings() -> None:
    faults = low_side_plan(LOGIC, 10.0, 24.0, 1.0).faults
    assert faults == ("a gate drive of 10 V exceeds the 8 V VGS rating: divide or clamp it", "24 V exceeds the 20 V VDS rating")


def test_high_side_from_a_pin_never_turns_off() -> None:
    assert "it never turns off" in high_side_plan(PFET, 5.0, 1.0, voh_v=3.3).words
    assert high_side_plan(PFET, 5.0, 1.0, voh_v=4.5).works
    assert "exceeds the 12 V VGS rating" in high_side_plan(PFET, Range(11.0, 14.4, 12.0), 1.0).words
    assert "not specified at 3 V" in high_side_plan(PFET, 3.3, 1.0).words


def test_pull_is_chosen_or_its_clash_named() -> None:
    plan = low_side_plan(LOGIC, 3.3, 12.0, 1.0, pull=gate_pull_window(0.5, 1e-6, r_gate_ohm=100.0), stock=[10e3, 100e3])
    assert plan.pull_choice is not None
    assert plan.pull_choice.value in (10e3, 100e3)
    clash = low_side_plan(LOGIC, 3.3, 12.0, 1.0, pull=gate_pull_window(0.5, 100e-6))
    assert clash.words.startswith("gate pull: no value works")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: on_resistance([], 3.3), "No on-resistance is given"),
        (lambda: conduction_power(1.0, 0.1, 0.5), "the factor is at least 1, not 0.5"),
        (lambda: junction_c(25.0, 1.0, 0.0), "thermal resistance must be above 0"),
        (lambda: low_side_plan(replace(LOGIC, v_gs_max_v=0.0), 3.3, 12.0, 1.0), "v gs max must be above 0 V"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()


def test_heat_of_edges_bounds_a_simulated_edge():
    # oracle: a linear edge integrated step by step, voltage falling while an inductive load keeps its current (numpy)
    volts, amps, edge_s, hertz = 12.0, 3.0, 2e-6, 20e3
    time_s = np.linspace(0.0, edge_s, 2001)
    one_edge_j = float(np.trapezoid(volts * (1 - time_s / edge_s) * amps, time_s))
    assert switching_power(volts, amps, edge_s, hertz) == pytest.approx(2 * one_edge_j * hertz)
    assert switching_power(volts, amps, edge_s, 0.0) == 0.0
    with pytest.raises(OutOfRange):
        switching_power(volts, -1.0, edge_s, hertz)
