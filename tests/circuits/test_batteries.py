"""Life of cells against tutorials and makers, and what must hold for all inputs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.batteries import (
    CAUTION_LITHIUM,
    CAUTION_PRIMARY,
    YEAR_S,
    average_current,
    battery_life,
    capacity_at,
    daily_charge,
    divider_leak,
    mean_drain,
    resistor_load_charge,
    share_above,
    usable_capacity,
)
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

RATES_A, CAPACITIES_AH = [0.025, 0.1, 0.5, 1.0], [3.0, 2.6, 1.6, 1.0]
"""Alkaline AA cell to 0.8 V at 21 °C, read in a public comparison of the makers' graphs."""


def test_mean_current_published() -> None:
    # Public tutorial on a sensor node: 28 mA 0.65 s, 31 mA 50 ms, 120 µA 15 min: 0.142 mA, then 14101 h from 2000 mAh
    mean = average_current([0.028, 0.031, 120e-6], [0.65, 0.05, 900.0])
    assert mean == pytest.approx(0.142e-3, abs=0.5e-6)
    assert battery_life(2.0, mean) / 3600 == pytest.approx(14101, abs=1)


def test_daily_charge_derived() -> None:
    # Semtech, LoRa developer documentation, formula of the charge a day; numbers ours: 0.4 mAh of events, 0.04798 mAh asleep
    charge = daily_charge(24, 0.04, 1.5, 2e-6)
    assert (charge.active_ah, charge.sleep_ah) == pytest.approx((0.4e-3, 0.04798e-3), rel=1e-9)


@settings(max_examples=30)
@given(st.floats(0, 500), st.floats(0, 1), st.floats(0, 100), st.floats(0, 1e-3))
def test_a_day_of_events_is_the_mean_of_its_two_states(n: float, i_active_a: float, t_active_s: float, i_sleep_a: float) -> None:
    # property: two ways to the same charge
    mean = average_current([i_active_a, i_sleep_a], [n * t_active_s, 86400 - n * t_active_s])
    assert daily_charge(n, i_active_a, t_active_s, i_sleep_a).total_ah == pytest.approx(24 * mean, rel=1e-9, abs=1e-15)


def test_coin_cell_on_a_resistor_derived() -> None:
    # Specification of a CR2032 cell: 200 h on 3 kΩ to 2.0 V; bounds by Ohm's law
    assert resistor_load_charge(3000, 200 * 3600, 3.0, 2.0) == pytest.approx((0.13333, 0.2), abs=1e-5)


def test_capacity_at_a_rate_published() -> None:
    # The table's own points
    for rate, capacity in zip(RATES_A, CAPACITIES_AH, strict=True):
        assert capacity_at(rate, RATES_A, CAPACITIES_AH) == pytest.approx(capacity)
    # Another maker's cell, a few hours a day, gives 2.3 Ah at 250 mA (public review): the table without rest lies below it
    assert 1.6 < capacity_at(0.25, RATES_A, CAPACITIES_AH) < 2.3


def test_capacity_below_and_above_the_table() -> None:
    assert capacity_at(1e-5, RATES_A, CAPACITIES_AH) == 3.0
    with pytest.raises(OutOfRange, match="ends at 1 A; nothing is known of 2 A"):
        capacity_at(2.0, RATES_A, CAPACITIES_AH)
    with pytest.raises(OutOfRange, match="currents must rise"):
        capacity_at(0.1, [0.1, 0.1], [1.0, 1.0])
    with pytest.raises(OutOfRange, match="two points at least"):
        capacity_at(0.1, [0.1, 0.2], [1.0])


@settings(max_examples=30)
@given(st.floats(0.01, 10), st.floats(1e-7, 1), st.floats(0, 0.9))
def test_self_discharge_against_a_simulation_in_steps(capacity_ah: float, i_a: float, loss: float) -> None:
    # oracle: the charge left after that time, by the closed form of dQ/dt = -I - kQ, is none; and never longer than without loss
    life = battery_life(capacity_ah, i_a, loss)
    assert life <= battery_life(capacity_ah, i_a) * (1 + 1e-9)
    k = -math.log1p(-loss) / YEAR_S
    if k * life > 1e-9:
        q, steps = capacity_ah * 3600, 2000
        dt = life / steps
        for _ in range(steps):
            middle = q + dt / 2 * (-i_a - k * q)
            q += dt * (-i_a - k * middle)
        assert abs(q) < 1e-3 * capacity_ah * 3600


def test_self_discharge_alone_takes_its_share_in_a_year() -> None:
    # property: with next to no load the cell has lost 3 % after a year, so it lasts as long as the load needs for the rest
    life = battery_life(2.0, 2.0 * 3600 * 0.03 / YEAR_S, 0.0)
    assert life == pytest.approx(YEAR_S / 0.03)


def test_what_really_empties_a_sleeper() -> None:
    # behaviour: the regulator's 5 mA (AMS1117 data sheet) and not the 20 µA of the sleeper decide
    thrifty = mean_drain(20e-6, 2e-6, divider_leak(4.2, 2e6))
    hungry = mean_drain(20e-6, 5e-3, divider_leak(4.2, 2e6))
    assert battery_life(2.0, thrifty) > 180 * battery_life(2.0, hungry)


def test_share_above_a_cut_off() -> None:
    curve = [4.2, 3.8, 3.6, 3.4, 3.0], [0.0, 0.4, 0.7, 0.9, 1.0]  # invented: falls like a lithium cell
    assert share_above(3.6, *curve) == pytest.approx(0.7)
    assert share_above(2.5, *curve) == 1.0
    assert share_above(4.5, *curve) == 0.0
    with pytest.raises(OutOfRange, match="voltages, from the lowest must rise"):
        share_above(3.5, [3.0, 4.0], [0.0, 1.0])


def test_life_over_ranges() -> None:
    # property: worst corner is the least charge at the highest current
    capacity = usable_capacity(2.5, temperature=0.8, age=0.9)
    found = over(battery_life, capacity_ah=Range(capacity * 0.9, capacity), i_average_a=Range(1e-3, 2e-3), self_discharge_per_year=0.02)
    assert found.low == pytest.approx(battery_life(capacity * 0.9, 2e-3, 0.02))
    assert found.high == pytest.approx(battery_life(capacity, 1e-3, 0.02))


def test_cautions_say_what_can_happen() -> None:
    assert "burn" in CAUTION_LITHIUM
    assert "Local rules" in CAUTION_LITHIUM
    assert "children" in CAUTION_PRIMARY


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: average_current([1.0], [1.0, 2.0]), "1 currents and 2 times"),
        (lambda: average_current([], []), "0 currents"),
        (lambda: average_current([1.0], [0.0]), "must last some time"),
        (lambda: average_current([-1.0], [1.0]), "i must not be below 0 A"),
        (lambda: daily_charge(100000, 0.01, 1.0, 1e-6), "fill 100000 s of a day"),
        (lambda: battery_life(2.0, 0.0), "i average must be above 0 A"),
        (lambda: battery_life(2.0, 0.1, 1.0), "no life to compute"),
        (lambda: usable_capacity(2.0, temperature=1.2), "temperature must lie between 0 and 1"),
        (lambda: divider_leak(3.3, 0.0), "r total must be above 0 Ω"),
        (lambda: resistor_load_charge(3000, 10, 2.0, 3.0), "goes down"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
