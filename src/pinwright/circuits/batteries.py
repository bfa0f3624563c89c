"""How long cells last: the mean current of a duty cycle with all its leaks, and what of the charge is really usable.

Mean current = Σ I t / Σ t, life = usable charge / mean current   [charge balance; worked in public tutorials]
Charge a day of events and sleep   [Semtech: LoRa developer documentation, Calculate battery life; its line for days divides
by 24 once too often, which is left out here]
A cell gives less at high current: use the capacity of the maker's curve at the real drain   [Energizer and Duracell data
sheets of alkaline cells, read in public comparisons]
Self-discharge as a constant share of what is left a year   [common practice, no source]
V / R   [Ohm's law, definition].  How far the voltage sags under load, and where a circuit stops, is in ``cells``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.circuits.plain import plain
from pinwright.errors import OutOfRange

__all__ = [
    "CAUTION_LITHIUM",
    "CAUTION_PRIMARY",
    "YEAR_S",
    "DailyCharge",
    "average_current",
    "battery_life",
    "capacity_at",
    "daily_charge",
    "divider_leak",
    "mean_drain",
    "resistor_load_charge",
    "share_above",
    "usable_capacity",
]

CAUTION_LITHIUM = (
    "Lithium-ion and lithium-polymer cells burn when shorted, pierced, overcharged or charged below 0 °C: use cells with a "
    "protection circuit, a charger made for them and a fuse close to the cell, never solder to a bare cell, and do not charge "
    "unattended. Local rules for transport and disposal apply."
)
CAUTION_PRIMARY = (
    "Never charge primary cells, never mix old and new ones, and keep coin cells away from children: a swallowed one burns within hours."
)

YEAR_S = 365.25 * 86400.0
_HOUR_S = 3600.0
_DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class DailyCharge:
    """Charge a day [Ah]: ``active_ah`` in events, ``sleep_ah`` between them."""

    active_ah: float
    sleep_ah: float

    @property
    def total_ah(self) -> float:
        """Both together."""
        return self.active_ah + self.sleep_ah


def average_current(i_a: Sequence[float], t_s: Sequence[float]) -> float:
    """Mean current of a cycle of states such as asleep, awake, sending: Σ I t / Σ t.   [charge balance]

    Parameters
    ----------
    i_a : current in each state [A]
    t_s : time in each state of one cycle [s]

    Returns
    -------
    i_average_a : mean current [A]

    Raises
    ------
    OutOfRange : the lists differ in length or are empty, a value is negative, or the cycle lasts no time.

    >>> f"{average_current([28e-3, 31e-3, 120e-6], [0.65, 0.05, 900]) * 1e6:.1f} µA"
    '141.8 µA'
    """
    if len(i_a) != len(t_s) or not len(i_a):
        raise OutOfRange(f"Each state needs a current and a time; there are {len(i_a)} currents and {len(t_s)} times.")
    not_negative(i_a=i_a, t_s=t_s)
    currents, times = np.asarray(i_a, dtype=float), np.asarray(t_s, dtype=float)
    if times.sum() <= 0:
        raise OutOfRange("The states of a cycle must last some time together.")
    average: float = plain((currents * times).sum() / times.sum())
    return average


def daily_charge(events_per_day: float, i_active_a: float, t_active_s: float, i_sleep_a: float) -> DailyCharge:
    """Charge taken in a day of equal events with sleep between them.   [Semtech]

    Parameters
    ----------
    events_per_day : number of events [-]
    i_active_a : mean current during an event [A]
    t_active_s : length of an event [s]
    i_sleep_a : current between events [A]

    Returns
    -------
    charge : charge of a day, parts and sum [Ah]

    Raises
    ------
    OutOfRange : a value is negative, or the events fill more than a day.

    >>> f"{daily_charge(24, 40e-3, 1.5, 2e-6).total_ah * 1e3:.5f} mAh"
    '0.44798 mAh'
    """
    not_negative(events_per_day=events_per_day, i_active_a=i_active_a, t_active_s=t_active_s, i_sleep_a=i_sleep_a)
    busy_s = events_per_day * t_active_s
    if np.any(np.asarray(busy_s) > _DAY_S):
        raise OutOfRange(f"The events fill {np.max(busy_s):g} s of a day, which has {_DAY_S:g} s.")
    return DailyCharge(busy_s * i_active_a / _HOUR_S, (_DAY_S - busy_s) * i_sleep_a / _HOUR_S)


def divider_leak(v_v: float, r_total_ohm: float) -> float:
    """Current a divider, pull-up or indicator resistor takes all the time: V / R.   [definition]

    Parameters
    ----------
    v_v : voltage across it, for a lamp less its forward voltage [V]
    r_total_ohm : whole resistance [ohm]

    Returns
    -------
    i_a : steady current [A]

    Raises
    ------
    OutOfRange : the voltage is negative or the resistance not positive.

    >>> f"{divider_leak(4.2, 1.47e6) * 1e6:.1f} µA"
    '2.9 µA'
    """
    not_negative(v_v=v_v)
    positive(r_total_ohm=r_total_ohm)
    return v_v / r_total_ohm


def mean_drain(i_load_a: float, i_regulator_a: float = 0.0, i_leak_a: float = 0.0) -> float:
    """Everything that empties the cell: the load's mean, the regulator's own current, dividers and lamps.   [charge balance]

    Parameters
    ----------
    i_load_a : mean current of the load, as the cell sees it [A]
    i_regulator_a : the regulator's own current [A]
    i_leak_a : dividers, pull-ups, lamps and other leaks [A]

    Returns
    -------
    i_average_a : mean current out of the cell [A]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> f"{mean_drain(20e-6, 5e-3, 3e-6) * 1e3:.3f} mA"
    '5.023 mA'
    """
    not_negative(i_load_a=i_load_a, i_regulator_a=i_regulator_a, i_leak_a=i_leak_a)
    return i_load_a + i_regulator_a + i_leak_a


def usable_capacity(capacity_ah: float, temperature: float = 1.0, above_cutoff: float = 1.0, age: float = 1.0) -> float:
    """Charge that can be counted on: the capacity at the real drain times the shares that cold, cut-off and age leave.

    The shares come from the maker's curves; 0.8 for a cell that is neither new nor warm is usual [common practice, no source].

    Parameters
    ----------
    capacity_ah : capacity at the real drain, see ``capacity_at`` [Ah]
    temperature : share left at the lowest temperature [-]
    above_cutoff : share delivered before the voltage is too low, see ``share_above`` [-]
    age : share left after storage and cycles [-]

    Returns
    -------
    usable_ah : charge [Ah]

    Raises
    ------
    OutOfRange : the capacity is not positive, or a share not from 0 to 1.

    >>> f"{usable_capacity(2.5, temperature=0.7, above_cutoff=0.8):.2f} Ah"
    '1.40 Ah'
    """
    positive(capacity_ah=capacity_ah)
    share(temperature=temperature, above_cutoff=above_cutoff, age=age)
    return capacity_ah * temperature * above_cutoff * age


def capacity_at(i_a: float, rates_a: Sequence[float], capacities_ah: Sequence[float]) -> float:
    """Capacity at a drain, read between the points of a maker's table (straight over the logarithm of the current).

    Below the lowest current of the table its capacity is used; above the highest nothing is promised.

    Parameters
    ----------
    i_a : real drain [A]
    rates_a : drains of the table, rising [A]
    capacities_ah : capacity at each of them [Ah]

    Returns
    -------
    capacity_ah : capacity at the drain [Ah]

    Raises
    ------
    OutOfRange : the table is not rising or of unequal length, or the drain lies above it.

    >>> f"{capacity_at(0.25, [0.025, 0.1, 0.5, 1.0], [3.0, 2.6, 1.6, 1.0]):.2f} Ah"
    '2.03 Ah'
    """
    positive(i_a=i_a, rates_a=rates_a, capacities_ah=capacities_ah)
    _curve("currents", rates_a, capacities_ah)
    if np.any(np.asarray(i_a) > rates_a[-1]):
        raise OutOfRange(f"The table ends at {rates_a[-1]:g} A; nothing is known of {np.max(i_a):g} A.")
    found: float = plain(np.interp(np.log(i_a), np.log(rates_a), capacities_ah))
    return found


def share_above(v_cutoff_v: float, v_v: Sequence[float], delivered: Sequence[float]) -> float:
    """Share of its charge a cell has given when its voltage falls to a cut-off, from the maker's discharge curve.

    Parameters
    ----------
    v_cutoff_v : voltage below which the circuit stops, see ``cells.cutoff_voltage`` [V]
    v_v : voltages of the curve, falling [V]
    delivered : share delivered when each is reached, rising from 0 to 1 [-]

    Returns
    -------
    usable : share of the capacity [-]

    Raises
    ------
    OutOfRange : the curve is not falling, of unequal length, or its shares leave 0 to 1.

    >>> share_above(3.5, [4.2, 3.8, 3.6, 3.4, 3.0], [0.0, 0.4, 0.7, 0.9, 1.0]) > 0.79
    True
    """
    positive(v_cutoff_v=v_cutoff_v, v_v=v_v)
    share(delivered=delivered)
    _curve("voltages, from the lowest", list(v_v)[::-1], list(delivered)[::-1])
    usable: float = plain(np.interp(v_cutoff_v, list(v_v)[::-1], list(delivered)[::-1], left=1.0, right=0.0))
    return usable


def battery_life(capacity_ah: float, i_average_a: float, self_discharge_per_year: float = 0.0) -> float:
    """Time until a charge is used up, with self-discharge of what is left: ln(1 + k Q / I) / k, or Q / I without.   [charge balance]

    Parameters
    ----------
    capacity_ah : usable charge Q [Ah]
    i_average_a : mean current I out of the cell [A]
    self_discharge_per_year : share of the charge lost in a year of storage; k = -ln(1 - share) / year [-]

    Returns
    -------
    life_s : time [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the share not from 0 to below 1.

    >>> f"{battery_life(2.0, 0.141834e-3) / 3600:.0f} h, {battery_life(2.0, 0.141834e-3, 0.03) / 3600:.0f} h"
    '14101 h, 13766 h'
    """
    positive(capacity_ah=capacity_ah, i_average_a=i_average_a)
    share(self_discharge_per_year=self_discharge_per_year)
    if np.any(np.asarray(self_discharge_per_year) >= 1):
        raise OutOfRange("A cell that loses all its charge in a year has no life to compute.")
    plain_life_s = np.asarray(capacity_ah, dtype=float) * _HOUR_S / i_average_a
    per_s = -np.log1p(-np.asarray(self_discharge_per_year, dtype=float)) / YEAR_S
    lossy = per_s * plain_life_s > 1e-12  # below, ln(1 + x) / x is 1 to the last digit, and a subnormal rate would lose its digits
    rate = np.where(lossy, per_s, 1.0)  # any number where it is not used: no division by zero
    life_s: float = plain(np.where(lossy, np.log1p(rate * plain_life_s) / rate, plain_life_s))
    return life_s


def resistor_load_charge(r_ohm: float, t_s: float, v_start_v: float, v_end_v: float) -> tuple[float, float]:
    """Bounds of the charge a resistor draws while the voltage falls: V_end t / R to V_start t / R.   [Ohm's law]

    Makers of coin cells print the time on a resistor, not the capacity at a current.

    Parameters
    ----------
    r_ohm : load resistor [ohm]
    t_s : time until the end voltage [s]
    v_start_v : voltage at the start [V]
    v_end_v : voltage at the end [V]

    Returns
    -------
    lowest_ah, highest_ah : charge [Ah]

    Raises
    ------
    OutOfRange : a value is not positive, or the voltage rises.

    >>> low, high = resistor_load_charge(3000, 200 * 3600, 3.0, 2.0)
    >>> f"{low * 1e3:.1f} to {high * 1e3:.1f} mAh"
    '133.3 to 200.0 mAh'
    """
    positive(r_ohm=r_ohm, t_s=t_s, v_start_v=v_start_v, v_end_v=v_end_v)
    if np.any(np.asarray(v_end_v) > np.asarray(v_start_v)):
        raise OutOfRange(f"A discharge goes down: {np.max(v_end_v):g} V cannot follow {np.min(v_start_v):g} V.")
    hours = t_s / _HOUR_S
    return v_end_v / r_ohm * hours, v_start_v / r_ohm * hours


def _curve(what: str, x: Sequence[Any], y: Sequence[Any]) -> None:
    if len(x) != len(y) or len(x) < 2:
        raise OutOfRange(f"A curve needs two points at least and as many values as {what.partition(',')[0]}.")
    if np.any(np.diff(x) <= 0):
        raise OutOfRange(f"The {what} must rise.")
