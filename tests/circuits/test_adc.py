"""Codes, noise and errors of converters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import adc
from pinwright.circuits.adc import AdcErrors, InputRange
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange


def test_noise_published():
    # Analog Devices MT-001: 74 dB at 12 bits; article on fast converters, part 3: 60 dB are 9.67 bits
    assert adc.snr_ideal(12) == pytest.approx(74.0, abs=0.05)
    assert adc.enob(60) == pytest.approx(9.67, abs=0.005)


def test_differential_code_published():
    # ATmega32A data sheet 8155D, page 205: -400 = 0x270, left-adjusted 0x9C00
    assert adc.differential_code(0.3, 0.5, 2.56, gain=10) == -400
    assert adc.left_adjusted(adc.two_complement(-400, 10), 10) == (0x9C, 0x00)
    # ATmega169A/329A/649A data sheet 8284E, page 217: -93.09 is cut to -93 = 0x3A3
    assert adc.differential_code(0.3, 0.5, 1.1) == -93
    assert adc.two_complement(-93, 10) == 0x3A3


def test_differential_code_ends_like_the_table():
    # ATmega32A, Table 23-2: VREF and more above give 0x1FF, VREF below gives 0x200
    assert adc.differential_code(2.56, 0.0, 2.56) == 511
    assert adc.differential_code(0.0, 2.56, 2.56) == -512


@settings(max_examples=40)
@given(st.integers(1, 16), st.data())
def test_the_middle_of_a_code_reads_as_that_code(bits: int, data: st.DataObject):
    wanted = data.draw(st.integers(0, 2**bits - 1))
    assert adc.code(adc.volts_of_code(wanted, 3.3, bits), 3.3, bits) == wanted


def test_quantisation_noise_is_the_deviation_of_many_readings():
    # property: the error of an ideal converter is spread evenly over one step
    v = np.linspace(0.1, 3.0, 100_001)
    read = (np.floor(v / adc.step(3.3, 8)) + 0.5) * adc.step(3.3, 8)
    assert (read - v).std() == pytest.approx(adc.quantisation_noise(3.3, 8), rel=0.01)


def test_snr_matches_a_sine_through_an_ideal_converter():
    # property: 6.02 N + 1.76 for a full-scale sine
    phase = np.arange(200_000) * 0.6180339887498949 % 1
    sine = np.sin(2 * np.pi * phase)
    step = 2 / 2**10
    noise = (np.floor(sine / step) + 0.5) * step - sine
    assert 20 * np.log10(sine.std() / noise.std()) == pytest.approx(adc.snr_ideal(10), abs=0.1)


def test_step_over_a_range_of_references():
    assert over(adc.step, v_full_v=Range.around(1.1, 0.1), bits=10.0).high == pytest.approx(1.21 / 1024)


def test_errors_at_the_input():
    made = AdcErrors(10, 1.1, reference_share=0.1, offset_lsb=2, gain_lsb=1, inl_lsb=0.5)
    parts = made.at(0.55)
    assert parts["reference"] == pytest.approx(0.055)  # a tenth of the reading
    assert parts["gain"] == pytest.approx(0.5 * made.step_v)  # half of full scale
    assert made.rss(0.55) < made.worst(0.55) == pytest.approx(sum(parts.values()))
    assert made.at(0.0)["reference"] == 0


def test_the_range_that_just_covers():
    known = [InputRange("low", 0.95, 0.1), InputRange("high", 3.1, 0.15, 2.45)]
    assert adc.narrowest_range(known, 0.9, 0.2).name == "low"
    assert adc.narrowest_range(known, 1.2, 0.2).name == "high"
    with pytest.raises(OutOfRange, match=r"No input range reaches 3\.3 V: the widest ends at 2\.45 V\. Divide by 1\.35 or more\."):
        adc.narrowest_range(known, 3.3)
    with pytest.raises(OutOfRange, match="begins low enough"):
        adc.narrowest_range(known, 0.9, 0.0)
    with pytest.raises(OutOfRange, match="at least one input range"):
        adc.narrowest_range([], 1.0)


def test_bad_input():
    with pytest.raises(OutOfRange, match="v full must be above 0 V, not 0"):
        adc.step(0, 10)
    with pytest.raises(OutOfRange, match="codes 0 to 1023, not 1024"):
        adc.volts_of_code(1024, 3.3, 10)
    with pytest.raises(OutOfRange, match="512 does not fit into 10 bits with a sign"):
        adc.two_complement(512, 10)
    with pytest.raises(OutOfRange, match="no result of 10 bits"):
        adc.left_adjusted(1024, 10)
    with pytest.raises(OutOfRange, match="from low to high"):
        adc.narrowest_range([InputRange("any", 5.0)], 1.0, 2.0)
    with pytest.raises(OutOfRange, match="finite number"):
        adc.code(float("nan"), 3.3, 10)
