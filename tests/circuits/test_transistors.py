"""Bipolar switches: published base resistors, windows, pull-downs, both sides."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from pinwright.circuits.ranges import Range
from pinwright.circuits.transistors import (
    base_current,
    base_pull_max,
    base_resistor,
    high_side_plan,
    input_current,
    low_side_plan,
    pnp_off_margin,
    switch_power,
)
from pinwright.errors import OutOfRange

# 2N3904 data sheet (MCC, read): VBE(sat) 0.65 to 0.95 V, VCE(sat) 0.3 V at a forced gain of 10
SMALL = {"v_be_v": Range(0.65, 0.95), "gain": 10.0, "v_ce_v": 0.3}


def test_published() -> None:
    # a public answer on a 12 V, 90 ohm relay: 133 mA, gain 30, VBE(sat) 0.95 V from 5 V give 4.43 mA and 913 ohm
    assert base_current(0.133, 30) == pytest.approx(4.43e-3, abs=5e-6)
    assert base_resistor(5.0, 0.95, base_current(0.133, 30)) == pytest.approx(913, abs=1)
    # a public worked example: 100 mA, forced gain 10, 3.3 V and 0.7 V give 260 ohm
    assert base_resistor(3.3, 0.7, base_current(0.1, 10)) == pytest.approx(260)
    # Toshiba ULN2003APG (2006-06-14, read): 0.4 mA typical at 2.4 V; 2.7 kohm from SLRS027M, 1.35 V assumed for two drops
    assert input_current(2.4, 1.35, 2700.0) == pytest.approx(0.4e-3, abs=0.05e-3)
    assert input_current(1.0, 1.35, 2700.0) == 0.0


def test_a_pull_down_steals_from_the_base() -> None:
    with_pull = base_resistor(3.3, 0.7, 1e-3, r_be_ohm=7000.0)
    assert with_pull == pytest.approx(2.6 / 1.1e-3)
    assert base_pull_max(1e-6) == pytest.approx(300e3)


def test_a_small_relay_from_3_3_v() -> None:
    plan = low_side_plan(Range(2.9, 3.4, 3.3), 0.04, **SMALL, i_pin_max_a=12e-3, i_leak_a=2e-6)
    assert plan.base_choice is not None
    assert plan.pull_choice is not None
    assert plan.base_choice.value in plan.base
    # property: at the worst corner the base still gets what saturation asks, the pull-down included
    worst_i = (2.9 - 0.95) / (plan.base_choice.value * 1.05) - 0.95 / (plan.pull_choice.value * 0.95)
    assert worst_i >= 0.04 / 10 - 1e-9
    assert plan.i_drive_max_a is not None
    assert plan.i_drive_max_a <= 12e-3 * 1.0001
    assert plan.p_w == pytest.approx(switch_power(0.04, 0.3, plan.i_drive_max_a, 0.95))
    assert "pull-down" in plan.words


def test_a_pin_too_weak_for_the_load_is_named() -> None:
    plan = low_side_plan(Range(2.64, 3.6, 3.3), 0.1, **SMALL, i_pin_max_a=12e-3, i_leak_a=2e-6)
    assert plan.base.is_empty
    assert plan.base_choice is None
    assert "the pin gives at most 12 mA" in plan.words
    assert "100 mA at a forced gain of 10 needs" in plan.words
    dead = low_side_plan(0.8, 0.1, **SMALL, i_pin_max_a=12e-3, i_leak_a=2e-6)
    assert "the pin gives 0.8 V and the base takes 0.95 V, 150 mV short" in dead.words


def test_high_side() -> None:
    assert pnp_off_margin(5.0, 3.3) == pytest.approx(-1.4)  # a 3.3 V pin never turns a PNP at 5 V off
    assert pnp_off_margin(3.3, 3.2) == pytest.approx(0.2)
    plan = high_side_plan(
        Range(10.8, 13.2, 12.0), 0.2, v_eb_v=Range(0.7, 1.2), gain=20, v_ec_v=0.5, v_ce_driver_v=0.3, i_driver_max_a=0.05, i_leak_a=5e-6
    )
    assert plan.base_choice is not None
    assert (10.8 - 0.3 - 1.2) / (plan.base_choice.value * 1.05) >= 0.2 / 20
    assert plan.v_drop_v == 0.5


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: base_resistor(0.5, 0.7, 1e-3), "cannot push current into a base at 0.7 V"),
        (lambda: base_current(0.1, 0), "gain must be above 0"),
        (lambda: base_pull_max(0.0), "i leak must be above 0 A"),
        (lambda: switch_power(-1.0, 0.3), "i c must not be below 0 A"),
        (lambda: input_current(-1.0, 0.7, 1e3), "v in must not be below 0 V"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()
