"""USB budgets and the CC wire against the specifications' tables."""

from __future__ import annotations

import pytest

from pinwright.circuits.ranges import Range, over
from pinwright.circuits.usb_power import (
    CC_BANDS_V,
    CC_CURRENT_A,
    advertised,
    advertised_current,
    cc_voltage,
    cc_voltage_driven,
    cc_voltage_range,
    hub_budget,
    max_power_field,
    port_current,
)
from pinwright.errors import OutOfRange

# USB Type-C specification as reproduced in ST UM2191 Rev 2, Table 2: current source and its tolerance, pull-up to 4.75-5.5 V and to
# 3.3 V ± 5 % with their tolerances, by what the source offers.
TERMINATIONS = [
    ("default", (80e-6, 0.20), (56e3, 0.20), (36e3, 0.20)),
    ("1.5A", (180e-6, 0.08), (22e3, 0.05), (12e3, 0.05)),
    ("3.0A", (330e-6, 0.08), (10e3, 0.05), (4.7e3, 0.05)),
]
RD = Range.around(5100, 0.1)


def test_usb_2_published() -> None:
    # USB 2.0 specification, 7.2.1, as quoted in public documents: 100 mA a unit load, five at most, one before configuration
    assert port_current("configured", 5) == 0.5
    assert [port_current("unconfigured", n) for n in (1, 5)] == [0.1, 0.1]
    # 7.2.3, from memory: half a milliampere a unit load when suspended
    assert port_current("suspended", 1) == 0.5e-3


def test_hubs_published() -> None:
    # USB 2.0 specification, 7.2.1: four ports and the hub itself fill the five unit loads
    four = hub_budget(4)
    assert four.i_total_a == pytest.approx(0.5)
    assert four.fits
    five = hub_budget(5, i_hub_a=0.0)
    assert not five.fits
    assert "at most 4 ports" in five.because
    assert not hub_budget(4, i_hub_a=0.15).fits


def test_max_power_field_published() -> None:
    # USB 2.0 specification, Table 9-10, from memory: steps of 2 mA
    assert [max_power_field(i_a) for i_a in (0.0, 0.001, 0.1, 0.5)] == [0, 1, 50, 250]


@pytest.mark.parametrize(("offer", "driven", "pull_5v", "pull_3v3"), TERMINATIONS)
def test_every_allowed_source_is_read_right_by_every_allowed_sink(offer: str, driven, pull_5v, pull_3v3) -> None:  # type: ignore[no-untyped-def]
    # published tables against published thresholds: all corners of Rp, Rd and supply fall into the band of the offer
    found = [
        over(cc_voltage_driven, i_p_a=Range.around(*driven), rd_ohm=RD),
        cc_voltage_range(Range(4.75, 5.5), Range.around(*pull_5v), RD),
        cc_voltage_range(Range.around(3.3, 0.05), Range.around(*pull_3v3), RD),
    ]
    for one in found:
        assert advertised(one.low) == advertised(one.high) == offer
        assert advertised_current(one) == CC_CURRENT_A[offer]  # type: ignore[index]
        low, high = CC_BANDS_V[offer]  # type: ignore[index]
        assert low <= one.low
        assert one.high <= high + 0.005  # the table prints two digits


def test_highest_levels_published() -> None:
    # USB Type-C specification, Table 4-36, as quoted in public documents: 0.61 (0.612), 1.16 (1.164), 2.04 (2.042) V
    for (_, _, (rp_ohm, tolerance), _), highest in zip(TERMINATIONS, (0.612, 1.164, 2.042), strict=True):
        assert cc_voltage_range(5.5, Range.around(rp_ohm, tolerance), RD).high == pytest.approx(highest, abs=5e-4)


def test_thresholds_published() -> None:
    # USB Type-C specification: 0.20, 0.66, 1.23 V; the threshold itself counts as the smaller offer (ours, the safer side)
    assert [advertised(v) for v in (0.0, 0.2, 0.21, 0.66, 0.67, 1.23, 1.24, 2.04)] == [
        "none", "none", "default", "default", "1.5A", "1.5A", "3.0A", "3.0A",
    ]  # fmt: skip
    assert advertised(3.3) == "none"  # no sink resistor fitted


def test_a_wrong_pull_up_lies_about_the_current() -> None:
    # behaviour: the well-known faulty cable with 10 kΩ to 5 V promises 3 A, whatever its source gives
    assert advertised_current(cc_voltage(5.0, 10e3)) == 3.0
    assert advertised_current(cc_voltage(5.0, 56e3)) == 0.5


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: port_current("configured", 6), "1 to 5 unit loads, not 6"),
        (lambda: port_current("asleep"), "unconfigured, configured or suspended, not 'asleep'"),
        (lambda: hub_budget(0), "at least one, not 0"),
        (lambda: hub_budget(2, i_hub_a=-1.0), "i hub must not be below 0 A"),
        (lambda: max_power_field(0.6), "ask for 0.5 A at most, not 0.6 A"),
        (lambda: cc_voltage(5.0, 0.0), "rp must be above 0 Ω"),
        (lambda: advertised(float("nan")), "v cc must be a finite number"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
