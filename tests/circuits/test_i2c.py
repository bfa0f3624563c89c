"""I2C pull-ups: published limits, windows of the modes, several modules on one bus."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.i2c import MODES, bus_capacitance, bus_window, c_bus_max, fitted_pulls, mode_named, pull_up_max, pull_up_min
from pinwright.circuits.pulls import parallel
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange


def test_limits_published() -> None:
    # TI SLVA689 (Feb 2015), section 4, example: 966.7 ohm and 1.77 kohm
    assert pull_up_min(3.3) == pytest.approx(966.667, abs=5e-4)
    assert pull_up_max(300e-9, 200e-12) == pytest.approx(1770, abs=5)
    # UM10204 r5, 7.1, equations 1 and 2, worked by hand
    assert pull_up_min(3.3, 0.4, 20e-3) == pytest.approx(145)
    assert c_bus_max(1e-6, 10e3) == pytest.approx(118.02e-12, rel=1e-4)


def test_modes_published() -> None:
    # Microchip AVR data sheet, TWI characteristics (read), as UM10204 tables 9 and 10
    found = {name: (mode.c_max_f, mode.t_rise_max_s, mode.i_sink_a, mode.f_max_hz) for name, mode in MODES.items()}
    assert found == {
        "standard": (400e-12, 1000e-9, 3e-3, 100e3),
        "fast": (400e-12, 300e-9, 3e-3, 400e3),
        "fast_plus": (550e-12, 120e-9, 20e-3, 1e6),
    }


def test_a_full_fast_bus_at_3_3_v_has_no_pull_up() -> None:
    window = bus_window("fast", 3.3, 400e-12)
    assert window.is_empty
    assert window.words == (
        "no value works: it must be at least 967 Ω (the weakest part sinks 3 mA at 0.4 V from 3.3 V) "
        "and at most 885 Ω (400 pF must rise in 300 ns); short by 81.5 Ω, a factor of 1.09"
    )


def test_too_much_capacitance_is_named() -> None:
    window = bus_window("standard", 5.0, 500e-12)
    assert window.words == "no value works: 500 pF is above the 400 pF of standard mode by 100 pF"


def test_a_low_rail_asks_a_fifth_of_it() -> None:
    # UM10204 table 9: VOL 0.2 VDD up to 2 V
    assert bus_window("fast", 1.8, 50e-12).low.value == pytest.approx(0.8 * 1.8 / 3e-3)


def test_the_worst_rail_sets_the_low_end() -> None:
    assert bus_window("fast", Range(3.0, 3.6, 3.3), 50e-12).low.value == pytest.approx(3.2 / 3e-3)
    assert bus_window("fast", 3.3, 50e-12, i_sink_a=6e-3, vol_v=0.6).low.value == pytest.approx(450)


def test_capacitance_estimate() -> None:
    # 10 pF a pin (UM10204 table 9, read in a data sheet that repeats it); 100 pF a metre is common practice, no source
    assert bus_capacitance(4, 0.5) == pytest.approx(90e-12)


def test_module_pulls_are_left_where_they_suit() -> None:
    advice = fitted_pulls(bus_window("fast", 3.3, 100e-12), [4700.0, 4700.0])
    assert (advice.action, advice.together_ohm, advice.remove) == ("leave", 2350.0, ())


def test_too_many_are_taken_off_few_at_a_time() -> None:
    window = bus_window("fast", 3.3, 100e-12)
    advice = fitted_pulls(window, [4700.0, 10e3, 2200.0, 2200.0])
    assert advice.action == "remove"
    assert len(advice.remove) == 1
    assert advice.after_ohm in window
    assert "make 818 Ω together, too strong" in advice.words
    assert "take off number 3 (2.2 kΩ)" in advice.words


def test_too_weak_ones_get_company() -> None:
    window = bus_window("fast", 3.3, 200e-12)
    advice = fitted_pulls(window, [10e3])
    assert (advice.action, advice.add.origin) == ("add", "E6")
    assert parallel(10e3, advice.add.value) == pytest.approx(advice.after_ohm)
    assert advice.after_ohm in window
    assert fitted_pulls(window, []).words.startswith("no pull-up is fitted, add")


def test_no_pull_helps_an_impossible_bus() -> None:
    advice = fitted_pulls(bus_window("fast", 3.3, 400e-12), [4700.0])
    assert advice.action == "none"
    assert "short by" in advice.words


def test_strong_ones_only_are_replaced() -> None:
    advice = fitted_pulls(bus_window("fast", 5.0, 100e-12), [1000.0, 1000.0])
    assert (advice.action, advice.remove) == ("replace", (0, 1))
    assert advice.after_ohm in bus_window("fast", 5.0, 100e-12)


@given(st.lists(st.sampled_from([1e3, 2.2e3, 4.7e3, 10e3, 47e3]), max_size=6), st.sampled_from(list(MODES)), st.floats(30e-12, 300e-12))
@settings(max_examples=60, deadline=None)
def test_advice_always_ends_inside_the_window(fitted: list[float], mode: str, c_f: float) -> None:
    window = bus_window(mode, 3.3, c_f)
    advice = fitted_pulls(window, fitted)
    if advice.action == "none":
        assert advice.after_ohm is None
    else:
        left = [r for place, r in enumerate(fitted) if place not in advice.remove] + ([advice.add.value] if advice.add else [])
        assert parallel(*left) in window


def test_nonsense_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="no I2C mode 'turbo'; there are standard, fast, fast_plus"):
        mode_named("turbo")
    with pytest.raises(OutOfRange, match="at least one part"):
        bus_capacitance(0)
    with pytest.raises(OutOfRange, match="More than 12"):
        fitted_pulls(bus_window("fast", 3.3, 1e-10), [1e4] * 13)
    with pytest.raises(OutOfRange, match="c bus must be above 0 F"):
        bus_window("fast", 3.3, 0.0)
