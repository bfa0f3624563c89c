"""Error of analog chains: worst case, RSS, Monte Carlo, resolution."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pinwright.circuits import curves
from pinwright.circuits.adc import AdcErrors
from pinwright.circuits.chain import Chain, budget, monte_carlo, resolution, resolution_over, sample_errors, widest
from pinwright.circuits.curves import Uncertain
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

NTC = curves.ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
ADC = AdcErrors(12, 3.3, reference_share=0.02, offset_lsb=2, gain_lsb=2, inl_lsb=2)


def test_a_linear_sensor_by_hand():
    # by hand: 10 mV/°C at 25 °C into 10 bits of 1.1 V: half a step is 0.537 mV, 0.054 °C; a reference 10 % high reads 250 mV as 227 mV
    chain = Chain(curves.linear("°C", 10e-3), AdcErrors(10, 1.1, reference_share=0.1))
    found = budget(chain, 25.0)
    assert found.parts["steps_lsb"] == pytest.approx(1.1 / 1024 / 2 / 10e-3)
    assert found.parts["v_ref_v"] == pytest.approx(25 * (1 / 0.9 - 1))
    assert found.worst.low == pytest.approx(25 / 1.1 - 25 - 1.1 / 2048 / 10e-3)
    assert found.worst.high == pytest.approx(25 / 0.9 - 25 + 1.1 / 2048 / 10e-3)
    assert found.main == "v_ref_v"
    assert sum(found.shares.values()) == pytest.approx(1)


def test_reference_cancels_only_where_it_feeds_the_sensor():
    fed = budget(Chain(NTC, ADC), 60.0)
    apart = budget(
        Chain(curves.ntc_divider(*(NTC.uncertain[n].range for n in ("r25_ohm", "beta_k", "r_fixed_ohm")), supply_v=Range(3.3, 3.3)), ADC),
        60.0,
    )
    assert fed.parts["v_ref_v"] == pytest.approx(0, abs=1e-9)
    assert apart.parts["v_ref_v"] > 0.5


def test_worst_is_beyond_rss_and_every_specimen():
    found, made = budget(Chain(NTC, ADC), 60.0), monte_carlo(Chain(NTC, ADC), 60.0, 50_000)
    assert found.worst.low < made.extremes.low < made.band.low < made.mean < made.band.high < made.extremes.high < found.worst.high
    assert made.deviation < found.rss < max(-found.worst.low, found.worst.high)


def test_worst_case_agrees_with_a_plain_search():
    # oracle: corners of the three resistive values and the offset, in plain Python, written out
    chain = Chain(NTC, AdcErrors(12, 3.3, offset_lsb=3))
    errors = []
    for r25 in (9.9e3, 10.1e3):
        for beta in (3950 * 0.99, 3950 * 1.01):
            for fixed in (9.9e3, 10.1e3):
                for lsb in (-3.5, 3.5):  # offset and half a step of one sign
                    r = r25 * math.exp(beta * (1 / 333.15 - 1 / 298.15))
                    share = r / (r + fixed) + lsb / 4096
                    errors.append(1 / (1 / 298.15 + math.log(share / (1 - share)) / 3950) - 273.15 - 60)
    found = budget(chain, 60.0)
    assert found.worst.low == pytest.approx(min(errors))
    assert found.worst.high == pytest.approx(max(errors))


def test_deviation_is_that_of_rectangles():
    # JCGM 101 (from memory): a rectangle of half width a has the deviation a / sqrt(3); nearly linear chains add in squares
    found, made = budget(Chain(NTC, ADC), 60.0), monte_carlo(Chain(NTC, ADC), 60.0, 200_000)
    assert made.deviation == pytest.approx(found.rss / 3**0.5, rel=0.01)


def test_normal_contributions_take_their_limits_for_three_deviations():
    rectangular = curves.linear("V", 1.0, offset_v=0.03)
    normal = curves.Curve(
        "V",
        rectangular.volts,
        rectangular.quantity,
        rectangular.uncertain | {"sensor_offset_v": Uncertain(Range(-0.03, 0.03, 0.0), "normal")},
    )
    errors = sample_errors(Chain(normal, AdcErrors(16, 3.3)), 1.0, 100_000)
    assert errors.std() == pytest.approx(0.01, rel=0.02)


def test_same_question_same_answer():
    chain = Chain(NTC, ADC)
    assert np.array_equal(sample_errors(chain, 25.0, 40_000), sample_errors(chain, 25.0, 40_000))
    assert not np.array_equal(sample_errors(chain, 25.0, 1000), sample_errors(chain, 25.0, 1000, seed=2))


def test_a_divider_before_the_pin():
    # by hand: 10 V sensor, 20 k over 10 k of 1 % each; the ratio is off by up to 2/3 of 2 %
    chain = Chain(curves.linear("V", 1.0), AdcErrors(12, 3.3), (Range.around(20e3, 0.01), Range.around(10e3, 0.01)))
    found = budget(chain, 9.0)
    ratio = 10.1 / (10.1 + 19.8) * 3 - 1
    assert found.worst.high == pytest.approx(9 * ratio + 3.3 / 8192 * 3, rel=1e-6)
    assert resolution(chain, 5.0) == pytest.approx(3 * 3.3 / 4096)


def test_better_parts_never_make_it_worse():
    better = curves.ntc_divider(Range.around(10e3, 0.005), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    for t_c in (-20.0, 25.0, 80.0):
        assert budget(Chain(better, ADC), t_c).worst.high <= budget(Chain(NTC, ADC), t_c).worst.high


def test_resolution_follows_the_slope_of_the_curve():
    # oracle: numerical slope of the divider
    chain = Chain(NTC, AdcErrors(10, 3.3))
    usual = chain.usual
    slope = (chain.share(60.01, usual) - chain.share(59.99, usual)) / 0.02
    assert resolution(chain, 60.0) == pytest.approx(abs(1 / 1024 / slope), rel=0.001)
    over = resolution_over(chain, -40.0, 120.0)
    assert over.low <= resolution(chain, 25.0) <= over.high
    assert over.high > 3 * over.low  # an NTC is coarse at its ends


def test_the_widest_budget_is_one_of_the_range():
    found = widest(Chain(NTC, ADC), -40.0, 120.0, 9)
    spans = [(lambda b: b.worst.high - b.worst.low)(budget(Chain(NTC, ADC), t_c)) for t_c in np.linspace(-40, 120, 9)]
    assert found.worst.high - found.worst.low == max(spans)
    assert found.quantity in (-40.0, 120.0)
    with pytest.raises(OutOfRange, match="has two ends"):
        widest(Chain(NTC, ADC), 1.0, 2.0, 1)


def test_platinum_in_a_divider_needs_more_than_ten_bits():
    # common practice, no source: a Pt1000 below 4.7 k with 10 bits resolves about 1 to 2 °C only
    chain = Chain(curves.platinum_divider(Range.around(4.7e3, 0.001)), AdcErrors(10, 3.3))
    assert 1 < resolution(chain, 25.0) < 2


def test_an_open_sensor_reads_far_but_never_nan():
    chain = Chain(NTC, ADC)
    for share in (-0.1, 0.0, 1.0, 1.5):
        assert np.isfinite(chain.reading(share))


def test_bad_input():
    chain = Chain(curves.linear("V", 1.0), AdcErrors(12, 3.3))
    with pytest.raises(OutOfRange, match=r"puts 4\.2 V on an input that reads 0 to 3\.3 V: divide it or choose a wider range"):
        budget(chain, 4.2)
    with pytest.raises(OutOfRange, match="samples must be above 0"):
        monte_carlo(chain, 1.0, 0)
    with pytest.raises(OutOfRange, match="from low to high"):
        resolution_over(chain, 2.0, 1.0)
    with pytest.raises(OutOfRange, match="quantity must be a finite number"):
        budget(chain, float("nan"))
