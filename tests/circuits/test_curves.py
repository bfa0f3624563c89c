"""Sensors from quantity to volts and back."""

from __future__ import annotations

import numpy as np
import pytest

from pinwright.circuits import curves, platinum
from pinwright.circuits.curves import Curve
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange, UnknownName

ONE = Range.around(10e3, 0.01)
NTC = (Range.around(10e3, 0.01), Range.around(3950, 0.01), ONE)
LDR = (Range(8e3, 20e3, 14e3), Range(0.6, 0.8, 0.7), ONE)
SUPPLY = Range.around(5.0, 0.05)

# curve, values of the quantity
EVERY = [
    (curves.linear("°C", 10e-3, 0.5, 0.02, 5e-3), (-40.0, 0.0, 125.0)),
    (curves.ntc_divider(*NTC), (-40.0, 25.0, 120.0)),
    (curves.ntc_divider(*NTC, supply_v=SUPPLY, is_low_side=False), (-40.0, 25.0, 120.0)),
    (curves.platinum_divider(Range.around(4.7e3, 0.001)), (-190.0, -1.0, 0.0, 100.0, 800.0)),
    (curves.platinum_divider(Range.around(4.7e3, 0.001), r_leads_ohm=Range(0.5, 2.0, 1.0), supply_v=SUPPLY), (-100.0, 100.0)),
    (curves.light_dependent(*LDR), (1.0, 10.0, 10e3)),
    (curves.light_dependent(*LDR, is_low_side=True), (1.0, 10.0, 10e3)),
    (curves.ratiometric("kPa", 0.1, 0.008, 0.01), (0.0, 50.0, 100.0)),
    (curves.ratiometric("kPa", 0.1, 0.008, supply_v=SUPPLY), (0.0, 100.0)),
    (curves.current_loop("%", 0, 100, Range.around(150.0, 0.001), 0.002), (0.0, 50.0, 100.0)),
]


def usual(curve: Curve) -> dict[str, float]:
    return {name: each.range.middle for name, each in curve.uncertain.items()} | {"v_ref_v": 3.3}


@pytest.mark.parametrize(("curve", "quantities"), EVERY)
def test_there_and_back(curve: Curve, quantities: tuple[float, ...]):
    values = usual(curve)
    for quantity in quantities:
        assert curve.quantity(curve.volts(quantity, values), values) == pytest.approx(quantity, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(("curve", "quantities"), EVERY)
def test_arrays_give_what_single_values_give(curve: Curve, quantities: tuple[float, ...]):
    values = usual(curve)
    together = curve.volts(np.array(quantities), values)
    assert together == pytest.approx([curve.volts(quantity, values) for quantity in quantities])
    many = {name: np.full(len(quantities), value) for name, value in values.items()}
    assert curve.volts(np.array(quantities), many) == pytest.approx(together)


def test_only_a_supply_of_its_own_is_a_contribution():
    assert "v_supply_v" not in curves.ntc_divider(*NTC).uncertain
    assert curves.ntc_divider(*NTC, supply_v=SUPPLY).uncertain["v_supply_v"].range == SUPPLY


def test_sides_of_the_divider():
    low, high = curves.ntc_divider(*NTC), curves.ntc_divider(*NTC, is_low_side=False)
    # hotter is less resistance: less voltage with the thermistor at ground, more with it at the supply
    assert low.volts(40.0, usual(low)) < 1.65 < high.volts(40.0, usual(high))
    assert low.volts(40.0, usual(low)) + high.volts(40.0, usual(high)) == pytest.approx(3.3)


def test_loop_ends():
    # Ohm's law: 4 and 20 mA in 150 ohm
    curve = curves.current_loop("bar", 0, 10, Range.around(150.0, 0.001))
    assert curve.volts(0, usual(curve)) == pytest.approx(0.6)
    assert curve.volts(10, usual(curve)) == pytest.approx(3.0)


def test_tolerance_class_shifts_by_its_own_size():
    curve = curves.platinum_divider(Range.around(4.7e3, 0.001), tolerance_class="B")
    values = usual(curve)
    read = curve.quantity(curve.volts(100.0, values | {"class_share": 1.0}), values)
    assert read - 100.0 == pytest.approx(platinum.tolerance(100.0, "B"), rel=0.001)


def test_bad_input():
    with pytest.raises(OutOfRange, match="tells nothing"):
        curves.linear("°C", 0)
    with pytest.raises(OutOfRange, match="tells nothing"):
        curves.ratiometric("kPa", 0.1, 0)
    with pytest.raises(OutOfRange, match="two different ends"):
        curves.current_loop("%", 5, 5, Range(150, 150))
    with pytest.raises(UnknownName, match="tolerance class"):
        curves.platinum_divider(Range(1e3, 1e3), tolerance_class="X")
