"""Servo pulses."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits import servo
from pinwright.circuits.ranges import Range, over
from pinwright.circuits.servo import ServoTravel
from pinwright.errors import OutOfRange


def test_pulses_published():
    # public descriptions: 1 to 2 ms every 20 ms are 5 to 10 % at 50 Hz; 1.5 ms of a 16-bit timer are 4915 counts
    assert servo.duty(1e-3) == pytest.approx(0.05)
    assert servo.duty(2e-3) == pytest.approx(0.10)
    assert servo.counts(1.5e-3, 16) == 4915


@pytest.mark.parametrize(("register", "f_hz"), [(30, 197), (3, 1526), (255, 24)])
def test_prescaled_frequency_published(register: int, f_hz: float):
    # NXP UM10574, section 8.2, with 25 MHz
    assert servo.prescaled_frequency(25e6, register) == pytest.approx(f_hz, abs=0.5)


def test_prescale_published():
    # PCA9685 data sheet, 7.3.5: 200 Hz from 25 MHz; 30 is the reset value by UM10574
    assert servo.prescale(25e6, 200) == 30


@settings(max_examples=50)
@given(st.integers(3, 255))
def test_prescale_is_the_inverse(register: int):
    assert servo.prescale(25e6, servo.prescaled_frequency(25e6, register)) == register


def test_oscillator_off():
    found = over(servo.prescaled_frequency, f_osc_hz=Range(23e6, 27e6, 25e6), prescale=121.0)
    assert found.middle == pytest.approx(50.03, abs=0.01)
    assert servo.pulse_error(1.5e-3, 0.08).high == pytest.approx(1.5e-3 / 0.92)


@settings(max_examples=30)
@given(st.floats(0, 180))
def test_angle_and_pulse_are_inverse(angle: float):
    travel = ServoTravel(0.5e-3, 2.5e-3, 180)
    assert travel.angle(travel.pulse(angle)) == pytest.approx(angle, abs=1e-9)


def test_resolution():
    # derived: 1 ms of 20 ms are 205 of 4096 counts, 90 degrees over them
    assert servo.degrees_per_count(ServoTravel(), 12) == pytest.approx(90 / 204.8)


def test_bad_input():
    with pytest.raises(OutOfRange, match="turns from 0 to 90 degrees, not to 91"):
        ServoTravel().pulse(91)
    with pytest.raises(OutOfRange, match="shorter than that of the high end"):
        ServoTravel(2e-3, 1e-3)
    with pytest.raises(OutOfRange, match="A pulse of 30 ms does not fit into a period of 20 ms"):
        servo.duty(30e-3)
    with pytest.raises(OutOfRange, match="This chip makes 24 Hz to 1526 Hz, not 5000 Hz"):
        servo.prescale(25e6, 5000)
