"""Junction temperatures against data sheets' examples."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.heat import (
    CAUTION_HOT,
    caution_for,
    current_max,
    current_max_resistive,
    junction_temperature,
    power_max,
    temperature_rise,
    theta_max,
)
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_published() -> None:
    # Microchip DS22070A (MCP1824), 5.1.1, SOT-223-5: 240 mW at 62 K/W are 14.88 K
    assert temperature_rise(0.24, 62) == pytest.approx(14.88, abs=0.005)
    # Microchip DS21380B (TC1269), 4.2: 125, 55, 200 K/W: 350 mW
    assert power_max(125, 55, 200) == pytest.approx(0.350, abs=5e-4)
    # TelCom TC1070/TC1071 data sheet (6/13/97), thermal example: 318 mW at 220 K/W
    assert power_max(125, 55, 220) == pytest.approx(0.318, abs=5e-4)


@settings(max_examples=30)
@given(st.floats(60, 175), st.floats(-40, 50), st.floats(1, 400), st.floats(0.1, 20))
def test_the_limits_just_reach_the_highest_junction(top_c: float, ambient_c: float, theta: float, drop_v: float) -> None:
    # property: round trips
    assert junction_temperature(power_max(top_c, ambient_c, theta), theta, ambient_c) == pytest.approx(top_c, abs=1e-6)
    i_a = current_max(top_c, ambient_c, theta, drop_v)
    assert theta_max(i_a * drop_v, top_c, ambient_c) == pytest.approx(theta, rel=1e-9)
    r_ohm = 0.05
    assert current_max_resistive(top_c, ambient_c, theta, r_ohm) ** 2 * r_ohm == pytest.approx(power_max(top_c, ambient_c, theta), rel=1e-9)


def test_over_ranges() -> None:
    # property: the hottest corner is the most power at the hottest air
    found = over(junction_temperature, p_w=Range(0.1, 0.5), theta_k_per_w=90.0, t_ambient_c=Range(-10, 50))
    assert (found.low, found.high) == pytest.approx((-1.0, 95.0))


def test_cautions() -> None:
    assert caution_for(25) == ""
    assert caution_for(85) == CAUTION_HOT
    assert "burn" in CAUTION_HOT


def test_bad_input_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="At an ambient of 130 °C nothing is left up to 125 °C"):
        power_max(125, 130, 60)
    with pytest.raises(OutOfRange, match="p must not be below 0 W"):
        temperature_rise(-1, 60)
    with pytest.raises(OutOfRange, match="thermal resistance must be above 0, not 0"):
        power_max(125, 25, 0)
    with pytest.raises(OutOfRange, match="finite"):
        junction_temperature(1, 60, float("inf"))
