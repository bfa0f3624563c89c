"""Baud rates."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import serial_rate
from pinwright.errors import OutOfRange

# ATmega48/88/168 data sheet 2545D, Tables 83 and 84, and Microchip's table for 1 MHz: clock, rate, samples, UBRR, error in %
ROWS = [
    (16e6, 9600, 16, 103, 0.2), (16e6, 14400, 8, 138, -0.1), (16e6, 57600, 16, 16, 2.1), (16e6, 115200, 16, 8, -3.5),
    (16e6, 115200, 8, 16, 2.1), (16e6, 230400, 16, 3, 8.5), (16e6, 250000, 16, 3, 0.0), (8e6, 76800, 16, 6, -7.0),
    (18.432e6, 250000, 8, 8, 2.4), (1e6, 38400, 16, 1, -18.6), (1e6, 57600, 16, 0, 8.5), (1.8432e6, 76800, 16, 1, -25.0),
]  # fmt: skip


@pytest.mark.parametrize(("f_hz", "baud", "samples", "ubrr", "error"), ROWS)
def test_divisors_published(f_hz: float, baud: float, samples: int, ubrr: int, error: float):
    made = serial_rate.divisor(f_hz, baud, samples)
    assert made.register == ubrr
    assert made.error * 100 == pytest.approx(error, abs=0.06)


# ATmega328P data sheet DS40002061A, Tables 20-2 and 20-3: bits, samples, slow and fast in %
WINDOWS = [
    (5, 16, 93.20, 106.67),
    (8, 16, 95.36, 104.58),
    (10, 16, 96.17, 103.78),
    (5, 8, 94.12, 105.66),
    (8, 8, 96.0, 103.9),
    (10, 8, 96.70, 103.23),
]


@pytest.mark.parametrize(("d_bits", "samples", "slow", "fast"), WINDOWS)
def test_windows_published(d_bits: int, samples: int, slow: float, fast: float):
    found = serial_rate.receiver_window(d_bits, samples)
    assert (found[0] * 100, found[1] * 100) == (pytest.approx(slow, abs=0.0065), pytest.approx(fast, abs=0.0065))


def test_recommendation_leaves_room():
    # property: twice the recommendation (both ends) fits into the window with room
    for samples, rows in serial_rate.RECOMMENDED.items():
        for d_bits, limit in rows.items():
            slow, fast = serial_rate.receiver_window(d_bits, samples)
            assert 2 * limit < min(1 - slow, fast - 1)


@settings(max_examples=50)
@given(st.floats(1e6, 50e6), st.integers(300, 100_000), st.sampled_from([8, 16]))
def test_no_divisor_next_to_it_is_nearer(f_hz: float, baud: int, samples: int):
    made = serial_rate.divisor(f_hz, baud, samples, value_max=1e6)
    exact = f_hz / (samples * baud)
    if exact >= 1:
        assert abs(made.value - exact) <= 0.5
    assert made.baud * made.value * samples == pytest.approx(f_hz)


def test_a_fraction_helps():
    assert abs(serial_rate.divisor(16e6, 115200, 16, fraction_bits=6).error) < 0.001 < abs(serial_rate.divisor(16e6, 115200, 16).error)


def test_115200_from_16_mhz_is_the_known_trouble():
    # ATmega48/88/168 Table 84: -3.5 % against ± 2.0 % recommended; works against an exact end, not against a resonator far off
    made = serial_rate.divisor(16e6, 115200)
    assert not serial_rate.is_within(made.error, serial_rate.recommended_error(8))
    assert serial_rate.link_budget(0, 50e-6, made.error, 50e-6).works
    assert not serial_rate.link_budget(0.0, 0.01, made.error, 0.005).works
    # two boards with the same error understand each other
    assert serial_rate.link_budget(made.error, 0.005, made.error, 0.005).works


def test_rc_oscillators_are_too_coarse():
    tolerance, source = serial_rate.CLOCK_TOLERANCE["rc-factory"]
    assert source
    assert not serial_rate.link_budget(0, 0, 0.002, tolerance).works


def test_plain_receiver():
    # derived: half a bit over nine and a half
    slow, fast = serial_rate.frame_window(10)
    assert slow == pytest.approx(0.95)
    assert fast == pytest.approx(9.5 / 9)
    tighter = serial_rate.frame_window(10, 0.3)
    assert slow < tighter[0] < 1 < tighter[1] < fast


def test_bad_input():
    with pytest.raises(OutOfRange, match="300 Bd is too slow for this clock: it goes down to 763 Bd"):
        serial_rate.divisor(50e6, 300)
    with pytest.raises(OutOfRange, match="frames of 5 to 10 bits with 8 or 16 samples, not 11 bits with 16"):
        serial_rate.receiver_window(11)
    with pytest.raises(OutOfRange, match=r"At most half a bit is left to drift, not 0\.6"):
        serial_rate.frame_window(10, 0.6)
    with pytest.raises(OutOfRange, match="baud must be above 0"):
        serial_rate.divisor(16e6, 0)
    with pytest.raises(OutOfRange, match="tx tolerance must lie between 0 and 1"):
        serial_rate.link_budget(0, 2, 0, 0)
    with pytest.raises(OutOfRange, match="rx rate must be above 0"):
        serial_rate.link_budget(0, 0, -1, 0)
    with pytest.raises(OutOfRange, match="at least one more, not 1 in all"):
        serial_rate.frame_window(1)
