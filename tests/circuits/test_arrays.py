"""Darlington arrays: figures are taken as given, never in between."""

from __future__ import annotations

from typing import Any

import pytest

from pinwright.circuits.arrays import array_plan
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

# TI SLRS027M (Feb 2013): 2.7 kohm input, 500 mA a channel, 67 K/W in a DIP; Toshiba ULN2003APG (both read): drops; input levels from memory
SEVEN: dict[str, Any] = {
    "v_ce": [(0.1, 1.1), (0.2, 1.3), (0.35, 1.6)],
    "v_in_on": [(0.2, 2.4), (0.25, 2.7), (0.3, 3.0)],
    "r_in_ohm": 2700.0,
    "v_be_v": 1.35,
    "i_out_max_a": 0.5,
    "r_th_k_per_w": 67.0,
    "t_ambient_c": 40.0,
}


def test_two_relays_from_3_3_v() -> None:
    plan = array_plan(Range(2.64, 3.6, 3.3), [0.08, 0.08], **SEVEN)
    assert plan.works
    assert plan.v_drop_v == 1.1  # the next higher current given, not something in between
    assert plan.p_w == pytest.approx(0.176)
    assert plan.t_junction_c == pytest.approx(40 + 0.176 * 67)
    assert plan.i_in.high == pytest.approx((3.6 - 1.35) / 2700)


def test_what_is_not_specified_is_said() -> None:
    plan = array_plan(Range(2.64, 3.6), [0.25, 0.4, 0.6], **SEVEN)
    assert plan.v_drop_v is None
    assert plan.faults == (
        "250 mA needs 2.7 V at the input, 2.64 V is 60 mV short",
        "no output drop is specified at 400 mA",
        "no input voltage is specified for 400 mA",
        "600 mA exceeds the 500 mA of a channel",
        "no output drop is specified at 600 mA",
        "no input voltage is specified for 600 mA",
    )


def test_seven_hot_channels() -> None:
    plan = array_plan(Range(4.5, 5.0), [0.2] * 7, **SEVEN)
    assert plan.faults == ("the junction reaches 162 °C, 12 K too hot",)


def test_nonsense_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="No channel is on"):
        array_plan(Range(3, 3), [], **SEVEN)
