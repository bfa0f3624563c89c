"""Pull-up and pull-down resistors: what bounds them on both sides, and which value to fit.

A pull must be strong enough for the leakage of every part on the line, for the rise time with the line's capacitance and
for the current a contact needs; and weak enough for the driver that must overpower it and for the idle current.
The exponential and Ohm's law need no source; where a default comes from is said beside it.
I2C has its own limits (module i2c).   [UM10204 r5 and r6, 7.1, for the rise between two thresholds]
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Aim, Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "R_NOISE_MAX_OHM",
    "PullPlan",
    "leakage_drop",
    "parallel",
    "pull_down_plan",
    "pull_leak_max",
    "pull_rise_max",
    "pull_sink_min",
    "pull_up_plan",
    "rise_constants",
    "rise_time",
]

R_NOISE_MAX_OHM = 100e3
"""Weakest pull on a line that leaves the board: weaker ones pick up hum and moisture (common practice, no source)."""


def parallel(*r_ohm: float) -> float:
    """Resistors in parallel.

    1 / R = sum of 1 / R_i   [definition]

    Parameters
    ----------
    r_ohm : one or more resistances [ohm]

    Returns
    -------
    r_ohm : together [ohm]

    Raises
    ------
    OutOfRange : none given, or one is not positive.

    >>> parallel(4700.0, 4700.0)
    2350.0
    """
    if not r_ohm:
        raise OutOfRange("No resistors to put in parallel.")
    for one in r_ohm:
        positive(r_ohm=one)
    return 1 / sum(1 / one for one in r_ohm)


def leakage_drop(r_ohm: float, i_leak_a: float) -> float:
    """Voltage a leakage current makes across a resistor: R · I.   [Ohm's law]

    Parameters
    ----------
    r_ohm : the pull [ohm]
    i_leak_a : of all parts on the line together [A]

    Returns
    -------
    drop_v : how far the level moves away from the rail [V]

    Raises
    ------
    OutOfRange : resistance not positive or current negative.

    >>> f"{leakage_drop(45e3, 50e-9) * 1e3:.2f} mV"
    '2.25 mV'
    """
    positive(r_ohm=r_ohm)
    not_negative(i_leak_a=i_leak_a)
    return r_ohm * i_leak_a


def pull_leak_max(v_room_v: float, i_leak_a: float) -> float:
    """Weakest pull that still holds its level against leakage.

    R = room / I; the room is VDD - VIH for a pull-up, VIL for a pull-down, less the noise kept free   [Ohm's law]

    Parameters
    ----------
    v_room_v : how far the level may move [V]
    i_leak_a : of all parts on the line together [A]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(pull_leak_max(3.3 - 2.475, 1e-6))
    825000
    """
    positive(v_room_v=v_room_v, i_leak_a=i_leak_a)
    return v_room_v / i_leak_a


def pull_sink_min(v_across_v: float, i_sink_a: float) -> float:
    """Strongest pull a driver overpowers: R = (VDD - VOL) / IOL.   [UM10204 r5, 7.1, eq. 2]

    Parameters
    ----------
    v_across_v : voltage across the pull while driven [V]
    i_sink_a : current the driver takes at that level [A]

    Returns
    -------
    r_ohm : lower limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(pull_sink_min(3.3 - 0.4, 3e-3), 1)
    966.7
    """
    positive(v_across_v=v_across_v, i_sink_a=i_sink_a)
    return v_across_v / i_sink_a


def rise_constants(low: float = 0.3, high: float = 0.7) -> tuple[float, float, float]:
    """When an exponential passes two fractions of its end, and the time between, in units of R · C.

    t1 = -ln(1 - low), t2 = -ln(1 - high), rise = ln((1 - low) / (1 - high))   [UM10204 r5, 7.1]

    Parameters
    ----------
    low : lower fraction [-]
    high : upper fraction [-]

    Returns
    -------
    t1, t2, rise : in time constants [-]

    Raises
    ------
    OutOfRange : not 0 <= low < high < 1.

    >>> [round(value, 4) for value in rise_constants()]
    [0.3567, 1.204, 0.8473]
    """
    if not 0 <= low < high < 1:
        raise OutOfRange(f"A rise runs from one fraction to a higher one below 1, not from {low:g} to {high:g}.")
    t1, t2 = -math.log1p(-low), -math.log1p(-high)
    if t2 <= t1:
        raise OutOfRange(f"{low:g} and {high:g} are too close to tell a rise between them.")
    return t1, t2, t2 - t1


def rise_time(r_ohm: float, c_f: float, low: float = 0.3, high: float = 0.7) -> float:
    """Time a line takes between two fractions of its rail.

    t = R · C · ln((1 - low) / (1 - high))   [UM10204 r5, 7.1]

    Parameters
    ----------
    r_ohm : pull [ohm]
    c_f : wires, pins and parts together [F]
    low : lower fraction of the rail [-]
    high : upper fraction [-]

    Returns
    -------
    t_s : rise time [s]

    Raises
    ------
    OutOfRange : resistance or capacitance not positive, or the fractions not in order.

    >>> f"{rise_time(45e3, 50e-12) * 1e9:.1f} ns"
    '1906.4 ns'
    """
    positive(r_ohm=r_ohm, c_f=c_f)
    return r_ohm * c_f * rise_constants(low, high)[2]


def pull_rise_max(t_rise_s: float, c_f: float, low: float = 0.3, high: float = 0.7) -> float:
    """Weakest pull that still rises in time.

    R = t / (C · ln((1 - low) / (1 - high)))   [UM10204 r5, 7.1, eq. 1]

    Parameters
    ----------
    t_rise_s : longest allowed time between the fractions [s]
    c_f : wires, pins and parts together [F]
    low : lower fraction of the rail [-]
    high : upper fraction [-]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : time or capacitance not positive, or the fractions not in order.

    >>> round(pull_rise_max(300e-9, 200e-12))
    1770
    """
    positive(t_rise_s=t_rise_s, c_f=c_f)
    return t_rise_s / (c_f * rise_constants(low, high)[2])


@dataclass(frozen=True, slots=True)
class PullPlan:
    """Window of a pull resistor (nominal value), the choice (None where nothing fits) and the current while held against it."""

    window: Window
    choice: Choice | None
    i_held_a: float | None

    @property
    def words(self) -> str:
        """What to fit and why, or what stands against it."""
        if self.choice is None:
            return self.window.words if self.window.is_empty else f"nothing on the market {self.window.words}"
        return f"{shown(self.choice.value)} ({self.choice.origin}): {self.choice.why}; allowed {self.window.words}"


def pull_up_plan(
    vdd_v: Value,
    vih_v: float,
    i_leak_a: float,
    *,
    vol_v: float = 0.0,
    i_sink_a: float | None = None,
    i_idle_max_a: float | None = None,
    i_wetting_a: float | None = None,
    t_rise_s: float | None = None,
    c_f: float | None = None,
    v_noise_v: float = 0.0,
    r_max_ohm: float = R_NOISE_MAX_OHM,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
    aim: Aim = "middle",
) -> PullPlan:
    """Window and choice of a pull-up over supply and tolerance.   [UM10204 r5, 7.1, for sink and rise]

    Parameters
    ----------
    vdd_v : rail the pull hangs on [V]
    vih_v : level the strictest receiver needs while this rail is at its lowest [V]
    i_leak_a : of all parts on the line together, worst case [A]
    vol_v : level the driver or closed contact holds [V]
    i_sink_a : current the driver takes at that level; None for a bare contact [A]
    i_idle_max_a : highest current allowed while the line is held low [A]
    i_wetting_a : lowest current a contact needs to stay clean [A]
    t_rise_s : longest time to VIH after release; with ``c_f`` [s]
    c_f : capacitance of the line [F]
    v_noise_v : margin kept above VIH [V]
    r_max_ohm : weakest pull for the surroundings; see R_NOISE_MAX_OHM [ohm]
    tolerance : of the resistor, as a share [-]
    stock : resistances at hand [ohm]
    aim : middle, weak or strong [-]

    Returns
    -------
    plan : window, choice, current while low

    Raises
    ------
    OutOfRange : a value is negative or not finite.

    >>> plan = pull_up_plan(Range(3.0, 3.6, 3.3), 2.7, 2e-6, i_sink_a=4e-3, vol_v=0.4)
    >>> plan.choice.value, plan.window.low.because
    (10000.0, 'the driver sinks 4 mA at 0.4 V, and 5 % tolerance')
    """
    rail = vdd_v if isinstance(vdd_v, Range) else Range(vdd_v, vdd_v)
    positive(vdd_v=rail.low, vih_v=vih_v)
    not_negative(i_leak_a=i_leak_a, vol_v=vol_v, v_noise_v=v_noise_v)
    if vol_v >= vih_v:
        raise OutOfRange(f"The driver's low of {vol_v:g} V cannot lie above the high threshold of {vih_v:g} V.")
    lows = [*_overpowered(rail.high - vol_v, i_sink_a, f"the driver sinks {{}} at {vol_v:.3g} V", i_idle_max_a)]
    room = rail.low - vih_v - v_noise_v
    highs = [*_held(room, i_leak_a, f"above VIH {vih_v:.3g} V", r_max_ohm)]
    if i_wetting_a is not None:
        positive(i_wetting_a=i_wetting_a)
        highs.append(Limit((rail.low - vol_v) / i_wetting_a, f"the contact needs {shown(i_wetting_a, 'A')}"))
    if t_rise_s is not None and c_f is not None and room > 0:
        because = f"{shown(c_f, 'F')} must reach VIH in {shown(t_rise_s, 's')}{' beside the leakage' if i_leak_a else ''}"
        highs.append(Limit(_rise_max_leaking(t_rise_s, c_f, rail.low, vih_v, i_leak_a), because))
    return _plan(Window.of(lows, highs).narrowed(tolerance), stock, aim, rail.high - vol_v, tolerance)


def pull_down_plan(
    vil_v: float,
    i_leak_a: float,
    *,
    voh_v: float,
    i_source_a: float | None = None,
    i_idle_max_a: float | None = None,
    v_noise_v: float = 0.0,
    r_max_ohm: float = R_NOISE_MAX_OHM,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
    aim: Aim = "middle",
) -> PullPlan:
    """Window and choice of a pull-down.   [Ohm's law]

    Parameters
    ----------
    vil_v : level below which the strictest receiver reads low, at its lowest rail [V]
    i_leak_a : of all parts on the line together, worst case [A]
    voh_v : highest level the driver holds the line at [V]
    i_source_a : current the driver gives at its high level [A]
    i_idle_max_a : highest current allowed while the line is held high [A]
    v_noise_v : margin kept below VIL [V]
    r_max_ohm : weakest pull for the surroundings; see R_NOISE_MAX_OHM [ohm]
    tolerance : of the resistor, as a share [-]
    stock : resistances at hand [ohm]
    aim : middle, weak or strong [-]

    Returns
    -------
    plan : window, choice, current while high

    Raises
    ------
    OutOfRange : a value is negative or not finite.

    >>> pull_down_plan(0.75, 10e-6, voh_v=3.6, i_source_a=4e-3, aim="weak").choice.value
    68000.0
    """
    positive(vil_v=vil_v, voh_v=voh_v)
    not_negative(i_leak_a=i_leak_a, v_noise_v=v_noise_v)
    lows = [*_overpowered(voh_v, i_source_a, f"the driver gives {{}} at {voh_v:.3g} V", i_idle_max_a)]
    highs = [*_held(vil_v - v_noise_v, i_leak_a, f"below VIL {vil_v:.3g} V", r_max_ohm)]
    return _plan(Window.of(lows, highs).narrowed(tolerance), stock, aim, voh_v, tolerance)


def _rise_max_leaking(t_rise_s: float, c_f: float, v_v: float, vih_v: float, i_leak_a: float) -> float:
    """Largest pull-up with which a leaking line still reaches VIH in time, by halving; it rises towards V - R I only."""

    def takes(r_ohm: float) -> float:
        end = v_v - r_ohm * i_leak_a
        return math.inf if end <= vih_v else r_ohm * c_f * math.log(end / (end - vih_v))

    high = pull_rise_max(t_rise_s, c_f, 0.0, vih_v / v_v)
    if not i_leak_a or takes(high) <= t_rise_s:
        return high
    low = 0.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if takes(middle) <= t_rise_s else (low, middle)
    return low


def _overpowered(v_across_v: float, i_driver_a: float | None, driver: str, i_idle_a: float | None) -> Iterable[Limit]:
    """Lower limits: what must be able to hold the line against the pull."""
    if i_driver_a is not None:
        yield Limit(pull_sink_min(v_across_v, i_driver_a), driver.format(shown(i_driver_a, "A")))
    if i_idle_a is not None:
        yield Limit(pull_sink_min(v_across_v, i_idle_a), f"at most {shown(i_idle_a, 'A')} while held")
    if i_driver_a is None and i_idle_a is None:
        yield Limit(v_across_v / 10e-3, "at most 10 mA where nothing else limits (common practice)")


def _held(room_v: float, i_leak_a: float, level: str, r_max_ohm: float) -> Iterable[Limit]:
    """Upper limits: what the pull must hold its level against."""
    positive(r_max_ohm=r_max_ohm)
    yield Limit(r_max_ohm, f"weaker than {shown(r_max_ohm)} picks up noise")
    if room_v <= 0:
        yield Limit(0.0, f"the rail leaves no room {level}: {shown(-room_v, 'V')} short")
    elif i_leak_a > 0:
        yield Limit(pull_leak_max(room_v, i_leak_a), f"{shown(i_leak_a, 'A')} leakage must leave the level {level}")


def _plan(window: Window, stock: Iterable[float], aim: Aim, v_across_v: float, tolerance: float) -> PullPlan:
    choice = choose(window, stock, aim=aim)
    return PullPlan(window, choice, v_across_v / (choice.value * (1 - tolerance)) if choice else None)
