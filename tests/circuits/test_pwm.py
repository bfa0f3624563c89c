"""PWM timers."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import pwm
from pinwright.circuits.pwm import Clock
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange, UnknownName


@pytest.mark.parametrize(("f_hz", "bits"), [(5000, 13), (40e6, 1), (20e6, 2), (1000, 16), (20e3, 11)])
def test_bits_published(f_hz: float, bits: int):
    # ESP-IDF Programming Guide, LED Control: 5 kHz, 20 MHz and 40 MHz; its forum: 20 kHz gives 11 bits; 1 kHz from a public table
    assert pwm.bits_max(80e6, f_hz) == bits


def test_frequency_and_step_published():
    # public table for 80 MHz: 312.5 kHz at 8 bits; ESP-IDF: 13 bits are 0.012 %
    assert pwm.frequency_max(80e6, 8) == 312_500
    assert pwm.duty_step(13) * 100 == pytest.approx(0.012, abs=0.0005)


@pytest.mark.parametrize(
    ("mode", "prescale", "top", "f_hz"), [("fast", 64, 255, 976.5625), ("phase-correct", 64, 255, 490.2), ("fast", 1, 1023, 15625)]
)
def test_counters_published(mode: pwm.Mode, prescale: int, top: int, f_hz: float):
    # ATmega328P data sheet, fast and phase-correct PWM at 16 MHz; 15625 Hz in a public question on a 10-bit DAC
    assert pwm.counter_frequency(16e6, prescale, top, mode) == pytest.approx(f_hz, abs=0.005)


@settings(max_examples=50)
@given(st.floats(1, 1e6))
def test_bits_are_the_most_that_fit(f_hz: float):
    bits = pwm.bits_max(80e6, f_hz)
    assert pwm.frequency_max(80e6, bits) >= f_hz * (1 - 1e-6)
    assert pwm.frequency_max(80e6, bits + 1) < f_hz * (1 + 1e-6)


@settings(max_examples=50)
@given(st.floats(1, 100e3), st.sampled_from(["fast", "phase-correct"]))
def test_no_setting_of_a_counter_is_nearer(f_hz: float, mode: pwm.Mode):
    made = pwm.counter_setting(16e6, f_hz, (1, 8, 64, 256, 1024), 65535, mode)
    for top in (made.top - 1, made.top + 1):
        if top >= 1:
            other = pwm.counter_frequency(16e6, int(made.divider), top, mode)
            assert abs(1 / other - 1 / f_hz) >= abs(1 / made.f_pwm_hz - 1 / f_hz) - 1e-12


def test_a_fraction_in_the_divider_makes_the_frequency_nearer():
    whole = pwm.divider_setting(Clock(80e6, 1023), 38e3, bits=10)
    fraction = pwm.divider_setting(Clock(80e6, 1023, fraction_bits=8), 38e3, bits=10)
    assert abs(fraction.error) < 0.001 < abs(whole.error)


def test_divider_keeps_within_its_range():
    slow = pwm.divider_setting(Clock(125e6, 255.9375, fraction_bits=4, width_bits=16), 50)
    assert slow.levels == 65536
    assert slow.f_pwm_hz == pytest.approx(50, rel=0.01)
    with pytest.raises(OutOfRange, match="With 8 bits this clock goes down to 305 Hz, not 50 Hz: use more bits"):
        pwm.divider_setting(Clock(80e6, 1024), 50, bits=8)
    with pytest.raises(OutOfRange, match="5000 Hz leaves 13 bits of this clock, not 14"):
        pwm.divider_setting(Clock(80e6, 1024), 5000, bits=14)


def test_channels_of_one_timer():
    assert pwm.shared_frequency([Range(40, 60), Range(50, 50)]) == Range(50, 50)
    with pytest.raises(OutOfRange, match="cannot share a timer: one needs at least 20000 Hz, another at most 60 Hz"):
        pwm.shared_frequency([Range(40, 60), Range(20e3, 25e3)])
    with pytest.raises(OutOfRange, match="No channel asks"):
        pwm.shared_frequency([])


def test_jitter_of_software():
    # derived: at 50 Hz a servo pulse that may come 5 us late still has 12 bits of the period; at 25 kHz it has 3
    assert pwm.software_bits(50, 5e-6) == pytest.approx(11.97, abs=0.01)
    assert pwm.software_bits(25e3, 5e-6) == pytest.approx(3.0, abs=0.01)
    assert pwm.software_bits(1e6, 5e-6) == 0


def test_hearing():
    assert pwm.is_audible(20)
    assert pwm.is_audible(20e3)
    assert not pwm.is_audible(20.1e3)


def test_advice_has_reasons_and_sources():
    # Intel 4-Wire PWM Fans Specification, 2.1.4: 25 kHz, 21 to 28 kHz accepted
    assert pwm.advice("fan-4-wire").f_hz == Range(21e3, 28e3, 25e3)
    for name, row in pwm.ADVICE.items():
        assert re.fullmatch(r"[a-z0-9-]+", name)
        assert row.because
        assert row.source
    assert not pwm.is_audible(pwm.advice("motor").f_hz.low + 1)
    with pytest.raises(UnknownName, match="Did you mean motor"):
        pwm.advice("moter")


def test_bad_input():
    with pytest.raises(OutOfRange, match="at most 40 Hz of PWM, not 50 Hz"):
        pwm.bits_max(80, 50)
    with pytest.raises(OutOfRange, match=re.escape("This timer makes 61 Hz to 8e+06 Hz, not 10 Hz.")):
        pwm.counter_setting(16e6, 10, (1, 8, 64, 256, 1024), 255)
    with pytest.raises(UnknownName, match="mode of a counter"):
        pwm.counter_frequency(16e6, 1, 255, "slow")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="f pwm must be above 0 Hz"):
        pwm.bits_max(80e6, 0)
