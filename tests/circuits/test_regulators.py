"""Regulators and converters against data sheets' examples and what must hold for all inputs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.ranges import Range
from pinwright.circuits.regulators import (
    boost_output_max,
    converter_dissipation,
    converter_input_current,
    ldo_dissipation,
    ldo_dissipation_range,
    ldo_headroom,
    ldo_input_max,
    ldo_input_min,
    ldo_input_window,
)
from pinwright.errors import OutOfRange


def test_dissipation_published() -> None:
    # Taiwan Semiconductor TS2940 data sheet, version A07, thermal example: 836 mW (three digits printed)
    assert ldo_dissipation(3.3, 2.5, 1.0, 0.011) == pytest.approx(0.836, abs=5e-4)
    # Microchip DS22070A (MCP1824), 5.1.1: 240 mW
    assert ldo_dissipation(3.3, 2.5, 0.3) == pytest.approx(0.240, abs=5e-4)


def test_worst_case_over_tolerances_published() -> None:
    # Microchip DS20001826C (MCP1700), 6.3.1: input 2.3 to 3.2 V, 1.8 V - 3 %, 150 mA: 218.1 mW
    found = ldo_dissipation_range(Range(2.3, 3.2), Range.around(1.8, 0.03), 0.15)
    assert found.high == pytest.approx(0.2181, abs=5e-5)
    # Microchip DS21380B (TC1269), 4.2: 3.0 V + 10 %, 2.7 V - 2.5 %, 250 mA: 167 mW
    assert ldo_dissipation_range(Range(3.0, 3.3), Range(2.6325, 2.7), 0.25).high == pytest.approx(0.167, abs=5e-4)


def test_input_limits_published() -> None:
    # Microchip DS21380B, 4.2, equations solved for the input
    assert ldo_input_max(0.35, 0.25, 2.6325) == pytest.approx(4.0325, abs=1e-6)
    # Microchip DS22070A, 5.1.1: dropout of 0.350 V at most
    assert ldo_input_min(2.5, 0.35) == pytest.approx(2.85, abs=1e-9)


@settings(max_examples=30)
@given(st.floats(0.01, 5), st.floats(0.001, 2), st.floats(0.8, 12), st.floats(0, 0.02))
def test_highest_input_dissipates_just_what_is_allowed(p_w: float, i_out_a: float, v_out_v: float, i_ground_a: float) -> None:
    # property: the one formula undoes the other
    if p_w <= v_out_v * i_ground_a:
        with pytest.raises(OutOfRange, match="own current alone"):
            ldo_input_max(p_w * 0.999, i_out_a, v_out_v, i_ground_a)
        return
    highest = ldo_input_max(p_w, i_out_a, v_out_v, i_ground_a)
    assert ldo_dissipation(highest, v_out_v, i_out_a, i_ground_a) == pytest.approx(p_w, rel=1e-6)


def test_one_cell_does_not_feed_an_old_regulator() -> None:
    # behaviour: 1.3 V dropout at 800 mA (AMS1117 data sheet) over a cell from 3.0 to 4.2 V; the window opens above the cell
    window = ldo_input_window(Range.around(3.3, 0.02), 1.3, 0.3, 1.0, 12.0)
    assert 4.2 not in window
    assert 5.0 in window
    assert ldo_headroom(4.2, 3.366, 1.3) < 0 < ldo_headroom(5.0, 3.366, 1.3)


def test_the_window_is_empty_when_heat_and_dropout_clash() -> None:
    window = ldo_input_window(3.3, 1.3, 0.8, 0.5, 12.0)
    assert window.is_empty
    assert "the output and the dropout" in window.words
    assert "the heat of the package" in window.words


def test_the_rated_input_ends_a_window_of_small_loads() -> None:
    assert ldo_input_window(3.3, 0.3, 0.001, 0.5, 6.0).high.because == "the rated input"


@settings(max_examples=30)
@given(st.floats(1, 30), st.floats(1, 30), st.floats(0.001, 5), st.floats(0.3, 1))
def test_a_converter_conserves_power(v_in_v: float, v_out_v: float, i_out_a: float, efficiency: float) -> None:
    # property: input power is output power and heat together
    taken = v_in_v * converter_input_current(v_in_v, v_out_v, i_out_a, efficiency)
    assert taken == pytest.approx(v_out_v * i_out_a + converter_dissipation(v_out_v, i_out_a, efficiency), rel=1e-9)


def test_a_boost_module_gives_less_than_its_label() -> None:
    # TI technical article SSZTAX7: a 2.1 A switch, 5 V to 12 V, gives about 0.73 A; its efficiency of 0.83 is taken from that result
    assert boost_output_max(2.1, 5.0, 12.0, 0.834, ripple=0.0) == pytest.approx(0.73, abs=0.005)
    assert boost_output_max(2.1, 5.0, 12.0, 0.834) < boost_output_max(2.1, 5.0, 12.0, 0.834, ripple=0.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ldo_dissipation(3.0, 3.3, 0.1), "cannot make 3.3 V from 3 V"),
        (lambda: ldo_dissipation(5.0, 3.3, -0.1), "i out must not be below 0 A, not -0.1"),
        (lambda: ldo_dissipation(math.nan, 3.3, 0.1), "v in must be a finite number"),
        (lambda: ldo_input_min(3.3, -0.1), "dropout must not be below 0 V"),
        (lambda: converter_input_current(5.0, 3.3, 1.0, 1.2), "efficiency is a share from above 0 to 1, not 1.2"),
        (lambda: converter_input_current(5.0, 3.3, 1.0, 0.0), "efficiency must be above 0"),
        (lambda: boost_output_max(2.0, 5.0, 3.3, 0.9), "cannot make 3.3 V from 5 V"),
        (lambda: boost_output_max(2.0, 3.0, 5.0, 0.9, 1.5), "ripple is a share"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
