"""Level margins, dividers and preferred values against publications and a registry library."""

from __future__ import annotations

import math

import eseries
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinwright.circuits.levels import adc_step, divided, divider_top, margin_high, margin_low
from pinwright.circuits.preferred import E24, nearest_e24
from pinwright.errors import OutOfRange

# Published: (VOH, VIH, VOL, VIL) -> (high margin, low margin), all in volts.
MARGINS = [
    # onsemi MM74HC04 data sheet, DC characteristics at VCC 4.5 V, 20 uA
    ((4.4, 3.15, 0.1, 1.35), (1.25, 1.25)),
    # ESP32 Series Datasheet Table 13 (3.3 V) into MM74HC04 at 5 V, worst VIH at 5.5 V and VIL at 4.5 V: not guaranteed
    ((2.64, 3.85, 0.33, 1.35), (-1.21, 1.02)),
    # ESP32 Series Datasheet Table 13 into 74HCT (SN74HCT04 data sheet: VIH 2.0 V, VIL 0.8 V)
    ((2.64, 2.0, 0.33, 0.8), (0.64, 0.47)),
    # JEDEC JESD8C.01, LVTTL levels (from memory)
    ((2.4, 2.0, 0.4, 0.8), (0.4, 0.4)),
]


@pytest.mark.parametrize(("levels", "margins"), MARGINS)
def test_margins_published(levels: tuple[float, float, float, float], margins: tuple[float, float]) -> None:
    voh, vih, vol, vil = levels
    assert margin_high(voh, vih) == pytest.approx(margins[0], abs=1e-9)
    assert margin_low(vol, vil) == pytest.approx(margins[1], abs=1e-9)


def test_one_step_of_a_12_bit_converter_published() -> None:
    # Analog Devices AD8522 data sheet, features: 4.095 V full scale, 1 mV a step
    assert adc_step(4.096, 12) == pytest.approx(0.001, abs=1e-9)


def test_steps_makers_quote() -> None:
    # common practice, no source: 10 bits over 3.3 V are about 3.2 mV, 12 bits about 0.8 mV
    assert adc_step(3.3, 10) * 1e3 == pytest.approx(3.2, abs=0.05)
    assert adc_step(3.3, 12) * 1e3 == pytest.approx(0.8, abs=0.05)


def test_divider_published() -> None:
    # A public sketch for a battery-powered node (from memory): 1 M over 470 k and a 1.1 V reference measure up to 3.44 V
    assert 1.1 / divided(1.0, 1e6, 470e3) == pytest.approx(3.44, abs=0.005)


@given(st.floats(1, 9.99e6))
def test_nearest_e24_is_a_member_and_none_is_nearer(r_ohm: float) -> None:
    found = nearest_e24(r_ohm)
    members = [mantissa / 10 * 10.0**decade for decade in range(-1, 8) for mantissa in E24]
    assert min(abs(math.log(found / member)) for member in members) < 1e-9
    assert abs(math.log(found / r_ohm)) <= min(abs(math.log(member / r_ohm)) for member in members) + 1e-9


def test_e24_table_agrees_with_a_library() -> None:
    # Oracle: eseries from the registry; its E24 is the table of IEC 60063.
    assert list(E24) == [int(value) for value in eseries.series(eseries.E24)]


@given(st.floats(1.1, 24), st.floats(0.5, 5), st.floats(1e3, 1e5))
def test_a_divider_never_gives_more_than_allowed(v_in_v: float, v_out_v: float, bottom_ohm: float) -> None:
    if v_out_v >= v_in_v:
        with pytest.raises(OutOfRange, match="cannot bring"):
            divider_top(v_in_v, v_out_v, bottom_ohm)
        return
    top = divider_top(v_in_v, v_out_v, bottom_ohm)
    assert divided(v_in_v, top, bottom_ohm) <= v_out_v
    assert top <= bottom_ohm * (v_in_v / v_out_v - 1) * 1.25 + 1e-9


@pytest.mark.parametrize("r_ohm", [0.0, -1.0, math.nan, math.inf])
def test_no_preferred_value_for_nonsense(r_ohm: float) -> None:
    with pytest.raises(OutOfRange, match="finite and positive"):
        nearest_e24(r_ohm)


def test_no_step_for_nonsense() -> None:
    with pytest.raises(OutOfRange, match="at least one bit"):
        adc_step(3.3, 0)
