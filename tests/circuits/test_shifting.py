"""Level shifting: MOSFET, divider, dedicated parts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pinwright.circuits.logic import Band
from pinwright.circuits.ranges import Range
from pinwright.circuits.shifting import Fet, Shifter, dedicated_shifter, divider_speed, fet_shifter, speed_limit
from pinwright.errors import OutOfRange

# BSS138 data sheet, electrical characteristics (read): threshold 0.8 to 1.5 V at 1 mA, 6 ohm at 4.5 V, body diode 1.4 V at most
SMALL_FET = Fet(vgs_th_max_v=1.5, i_th_a=1e-3, vf_body_max_v=1.4, vds_max_v=50.0, r_on_ohm=6.0, r_on_at_v=4.5)
LINE = {"r_low_ohm": 10e3, "r_high_ohm": 10e3, "c_low_f": 50e-12, "c_high_f": 50e-12}


def test_3_3_v_to_5_v_works() -> None:
    found = fet_shifter(SMALL_FET, 3.3, 5.0, **LINE)
    assert found.works
    # both sides are joined until the gate's drive is gone, and the hand-over costs up to a fifth (tests/spice/test_shifting.py)
    assert found.f_max_hz == pytest.approx(0.25 / (1.2 * 0.8473 * 10e3 * 50e-12), rel=1e-4)
    assert found.words.startswith("works up to 492 kHz")
    early = fet_shifter(replace(SMALL_FET, vgs_th_min_v=2.9, vgs_th_max_v=2.9, vf_body_max_v=0.0), 3.3, 5.0, **LINE, vol_low_v=0.0)
    assert early.f_max_hz == pytest.approx(0.25 / (0.8473 * 10e3 * 50e-12), rel=1e-4)


def test_1_8_v_side_cannot_be_pulled_low_from_above() -> None:
    # an answer in a public forum reaches the same: 1.4 V of body diode leave 0.4 V of drive from 1.8 V (there VOL 0)
    found = fet_shifter(SMALL_FET, 1.8, 3.3, **LINE, vol_high_v=0.0)
    assert "driven from above, VGS is 0.4 V, 1.1 V under the 1.5 V threshold" in found.faults


def test_rails_swapped_ratings_and_rise() -> None:
    found = fet_shifter(SMALL_FET, 5.0, 3.3, **LINE, t_rise_max_s=300e-9)
    assert "the upper rail 3.3 V lies below the lower rail 5 V: the body diode joins them" in found.faults
    assert "the lower side rises in 508 ns, 1.7 times the 300 ns" in found.faults
    assert any("exceeds VDS" in fault for fault in fet_shifter(SMALL_FET, 3.3, 60.0, **LINE).faults)


def test_strong_pulls_ask_more_than_the_threshold_promises() -> None:
    found = fet_shifter(SMALL_FET, 3.3, 5.0, **LINE | {"r_low_ohm": 2.2e3, "r_high_ohm": 2.2e3})
    assert found.works
    assert "no on-resistance is specified at a drive of 2.9 V" in found.cautions[0]
    better = replace(SMALL_FET, r_on_at_v=2.5)
    assert (
        "a low gets up to 22.6 mV higher" in fet_shifter(better, 3.3, 5.0, **LINE | {"r_low_ohm": 2.2e3, "r_high_ohm": 2.2e3}).cautions[0]
    )


def test_a_divider_is_slow_with_large_resistors() -> None:
    t_s, f_hz = divider_speed(10e3, 20e3, 15e-12)
    assert t_s == pytest.approx(2.197 * 6667 * 15e-12, rel=1e-3)  # ln 9 time constants, worked by hand
    assert divider_speed(100e3, 200e3, 15e-12)[1] == pytest.approx(f_hz / 10)
    assert speed_limit(t_s) == f_hz


BUFFER = Shifter(Range(4.5, 5.5), Range(4.5, 5.5), Band(0, 2.0), Band(0, 0.8), "a to b", open_drain=False, f_max_hz=50e6)
# input thresholds of 74AHCT parts: SN74AHCT125 data sheet (from memory)


def test_a_ttl_buffer_suits_one_way_push_pull() -> None:
    assert dedicated_shifter(BUFFER, 5.0, 5.0, voh_v=2.64, vol_v=0.33, f_hz=800e3).works
    bus = dedicated_shifter(BUFFER, 5.0, 5.0, voh_v=2.64, vol_v=0.33, f_hz=400e3, both_ways=True, open_drain=True)
    assert bus.faults == (
        "the line is driven from both sides, the shifter is a to b",
        "the line is open-drain, the shifter drives both levels or mistakes slow edges",
    )


def test_an_automatic_shifter_is_overpowered_by_pulls() -> None:
    # invented figures in the shape of an edge-accelerated part that asks for weak pulls
    auto = Shifter(Range(1.2, 3.6), Range(1.65, 5.5), Band(0.65), Band(0.35), "automatic", False, 50e6, 50e3, needs_a_below_b=True)
    found = dedicated_shifter(auto, 3.3, 5.0, voh_v=2.9, vol_v=0.2, f_hz=1e6, both_ways=True, r_pull_ohm=4.7e3)
    assert found.faults == ("a pull of 4.7 kΩ overpowers it; it wants 50 kΩ or weaker",)
    swapped = dedicated_shifter(auto, 3.3, 1.8, voh_v=2.0, vol_v=1.3, f_hz=60e6)
    assert [fault.split()[0:3] for fault in swapped.faults] == [
        ["rail", "a", "must"],
        ["the", "high", "of"],
        ["the", "low", "of"],
        ["60", "MHz", "is"],
    ]


def test_nonsense_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="direction is a to b"):
        dedicated_shifter(replace(BUFFER, direction="up"), 5.0, 5.0, voh_v=3, vol_v=0, f_hz=1)
    with pytest.raises(OutOfRange, match="t rise must be above 0 s"):
        speed_limit(0.0)
    with pytest.raises(OutOfRange, match="between 0 and 1"):
        speed_limit(1e-6, 2.0)
