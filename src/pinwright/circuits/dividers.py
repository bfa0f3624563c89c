"""Dividers of two resistors: plain, loaded, leaking, in a regulator's feedback, on a strap pin, and designed for a limit.

V = V_in · bottom / (top + bottom); seen from the middle it is a source of that voltage behind top and bottom in parallel
(Thévenin).  Set-point resistors of regulators follow their data sheets.   [TI SLTS284E (Apr 2009), equation for RSET;
Microchip DS51721B (2008), 2.3.3; the rest is Ohm's law]
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.logic import level_read
from pinwright.circuits.preferred import in_range
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = [
    "Design",
    "Goal",
    "Strap",
    "design",
    "divider_out",
    "feedback_out",
    "feedback_top",
    "full_scale_in",
    "loaded_out",
    "set_resistor",
    "set_resistor_out",
    "source_resistance",
    "strap_level",
]

Goal = Literal["never above", "best range"]
"""``never above``: not even at the worst corner.  ``best range``: the usual output comes nearest to the limit from below;
with the tolerances it may lie a little above, which a converter clips but a pin's rating may not allow."""


def divider_out(v_in_v: float, top_ohm: float, bottom_ohm: float, i_leak_a: float = 0.0) -> float:
    """Voltage at the middle of a divider, with a current leaking into the pin (negative: out of it).

    V = V_in · bottom / (top + bottom) - I · (top parallel bottom)   [Thévenin]

    Parameters
    ----------
    v_in_v : voltage on top [V]
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]
    i_leak_a : current the pin takes [A]

    Returns
    -------
    v_out_v : voltage at the middle [V]

    Raises
    ------
    OutOfRange : a resistance is not positive, or a value not finite.

    >>> round(divider_out(5.0, 10e3, 20e3), 3), round(divider_out(5.0, 1e6, 1e6, 1e-6), 3)
    (3.333, 2.0)
    """
    finite(v_in_v=v_in_v, i_leak_a=i_leak_a)
    source = source_resistance(top_ohm, bottom_ohm)
    return v_in_v * bottom_ohm / (top_ohm + bottom_ohm) - i_leak_a * source


def source_resistance(top_ohm: float, bottom_ohm: float) -> float:
    """Resistance of a divider seen from its middle: both in parallel.   [Thévenin]

    Parameters
    ----------
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]

    Returns
    -------
    r_ohm : source resistance [ohm]

    Raises
    ------
    OutOfRange : a resistance is not positive.

    >>> round(source_resistance(1e6, 470e3))
    319728
    """
    positive(top_ohm=top_ohm, bottom_ohm=bottom_ohm)
    return top_ohm * bottom_ohm / (top_ohm + bottom_ohm)


def loaded_out(v_in_v: float, top_ohm: float, bottom_ohm: float, load_ohm: float) -> float:
    """Voltage at the middle with a load to ground.

    V = V_open · load / (load + source resistance)   [Thévenin]

    Parameters
    ----------
    v_in_v : voltage on top [V]
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]
    load_ohm : load from the middle to ground [ohm]

    Returns
    -------
    v_out_v : voltage at the middle [V]

    Raises
    ------
    OutOfRange : a resistance is not positive, or the voltage not finite.

    >>> round(loaded_out(5.0, 10e3, 20e3, 20e3), 3)
    2.5
    """
    positive(load_ohm=load_ohm, top_ohm=top_ohm, bottom_ohm=bottom_ohm)
    return divider_out(v_in_v, top_ohm, bottom_ohm) * load_ohm / (load_ohm + source_resistance(top_ohm, bottom_ohm))


def full_scale_in(v_full_v: float, top_ohm: float, bottom_ohm: float) -> float:
    """Input voltage that brings the middle to full scale: V · (top + bottom) / bottom.   [Ohm's law]

    Parameters
    ----------
    v_full_v : full scale at the middle [V]
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]

    Returns
    -------
    v_in_v : voltage on top [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(full_scale_in(1.1, 1e6, 470e3), 2)
    3.44
    """
    positive(v_full_v=v_full_v, top_ohm=top_ohm, bottom_ohm=bottom_ohm)
    return v_full_v * (top_ohm + bottom_ohm) / bottom_ohm


def feedback_out(v_ref_v: float, top_ohm: float, bottom_ohm: float, i_adjust_a: float = 0.0) -> float:
    """Output of a regulator whose divider holds the middle at its reference.

    V = V_ref · (1 + top / bottom) + I_adj · top; "top" runs from the output to the feedback pin.  For a regulator whose
    reference lies between output and adjust pin, "bottom" is the resistor across the reference.   [DS51721B 2.3.3]

    Parameters
    ----------
    v_ref_v : reference [V]
    top_ohm : resistor the whole current flows on through [ohm]
    bottom_ohm : resistor across the reference [ohm]
    i_adjust_a : current of the feedback or adjust pin [A]

    Returns
    -------
    v_out_v : regulated output [V]

    Raises
    ------
    OutOfRange : reference or a resistance not positive, or the current not finite.

    >>> round(feedback_out(1.25, 1000.0, 330.0), 2)
    5.04
    """
    positive(v_ref_v=v_ref_v, top_ohm=top_ohm, bottom_ohm=bottom_ohm)
    finite(i_adjust_a=i_adjust_a)
    return v_ref_v * (1 + top_ohm / bottom_ohm) + i_adjust_a * top_ohm


def feedback_top(v_ref_v: float, v_out_v: float, bottom_ohm: float) -> float:
    """Resistor that sets a regulator to a voltage: bottom · (V / V_ref - 1).   [DS51721B 2.3.3]

    Parameters
    ----------
    v_ref_v : reference [V]
    v_out_v : wanted output, above the reference [V]
    bottom_ohm : resistor across the reference [ohm]

    Returns
    -------
    top_ohm : exact value, before choosing a preferred one [ohm]

    Raises
    ------
    OutOfRange : the output does not lie above the reference, or a value is not positive.

    >>> round(feedback_top(1.25, 5.0, 330.0))
    990
    """
    positive(v_ref_v=v_ref_v, v_out_v=v_out_v, bottom_ohm=bottom_ohm)
    if not np.all(np.asarray(v_out_v) > v_ref_v):
        raise OutOfRange(f"A regulator cannot go below its reference of {v_ref_v:g} V.")
    return bottom_ohm * (v_out_v / v_ref_v - 1)


def set_resistor_out(v_base_v: float, k: float, r_set_ohm: float) -> float:
    """Output of a regulator set by one resistor: V = V_base + k / R.   [SLTS284E, RSET solved for VO]

    Parameters
    ----------
    v_base_v : output without the resistor [V]
    k : the data sheet's constant [V·ohm]
    r_set_ohm : set-point resistor [ohm]

    Returns
    -------
    v_out_v : regulated output [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> round(set_resistor_out(0.591, 1182.0, 432.0), 3)
    3.327
    """
    positive(v_base_v=v_base_v, r_set_ohm=r_set_ohm)
    positive(constant=k)
    return v_base_v + k / r_set_ohm


def set_resistor(v_base_v: float, k: float, v_out_v: float) -> float:
    """Single resistor that sets a regulator: R = k / (V - V_base).   [SLTS284E, equation for RSET]

    Parameters
    ----------
    v_base_v : output without the resistor [V]
    k : the data sheet's constant [V·ohm]
    v_out_v : wanted output, above the base [V]

    Returns
    -------
    r_set_ohm : exact value [ohm]

    Raises
    ------
    OutOfRange : the output does not lie above the base, or a value is not positive.

    >>> round(set_resistor(0.591, 1182.0, 3.3), 1)
    436.3
    """
    positive(v_base_v=v_base_v, v_out_v=v_out_v)
    positive(constant=k)
    if not np.all(np.asarray(v_out_v) > v_base_v):
        raise OutOfRange(f"The lowest output is {v_base_v:g} V, without a resistor.")
    return k / (v_out_v - v_base_v)


@dataclass(frozen=True, slots=True)
class Strap:
    """Level a strap pin reads: ``high``, ``low`` or ``undefined``, the bounds of its voltage, and the inequality in words."""

    level: str
    v: Range
    words: str


def strap_level(v_in_v: Value, top_ohm: Value, bottom_ohm: Value, vil_v: float, vih_v: float, i_leak_a: float = 0.0) -> Strap:
    """What a pin reads between a pull-up and a pull-down, over all their tolerances.   [Ohm's law; JESD8C.01 for the reading]

    Parameters
    ----------
    v_in_v : rail of the pull-up [V]
    top_ohm : everything that pulls up, in parallel [ohm]
    bottom_ohm : everything that pulls down, in parallel [ohm]
    vil_v : up to here the pin reads low [V]
    vih_v : from here it reads high [V]
    i_leak_a : leakage of the pin, either way [A]

    Returns
    -------
    strap : level, bounds, words

    Raises
    ------
    OutOfRange : a resistance is not positive, or the thresholds cross.

    >>> strap_level(5.0, Range(20e3, 50e3), Range(9500, 10500), 1.5, 3.0).level
    'undefined'
    """
    not_negative(i_leak_a=i_leak_a)
    leak = Range(-i_leak_a, i_leak_a)
    v = over(divider_out, v_in_v=v_in_v, top_ohm=top_ohm, bottom_ohm=bottom_ohm, i_leak_a=leak)
    level, words = level_read(v, vil_v, vih_v)
    return Strap(level, v, words)


@dataclass(frozen=True, slots=True)
class Design:
    """A divider to build: resistors, bounds of the output at the highest input range, what it draws, its source resistance, words."""

    top_ohm: float
    bottom_ohm: float
    v_out: Range
    i_drain: Range
    r_source_ohm: float
    words: str


def design(
    v_in_v: Value,
    v_limit_v: float,
    *,
    goal: Goal = "never above",
    tolerance: float = 0.01,
    i_leak_a: float = 0.0,
    total_low_ohm: float = 10e3,
    total_high_ohm: float = 100e3,
    n: int = 24,
    stock: Iterable[float] = (),
) -> Design:
    """The preferred pair that uses most of a range without exceeding it.   [Ohm's law; IEC 60063 for the values]

    Every pair of the series is tried.  Among those within a thousandth of the best, the largest total wins (least current).

    Parameters
    ----------
    v_in_v : voltage on top; its highest end counts [V]
    v_limit_v : limit at the middle [V]
    goal : ``never above`` even at the worst corner, or ``best range`` at usual values [-]
    tolerance : of both resistors, as a share [-]
    i_leak_a : leakage of the pin, either way [A]
    total_low_ohm : lowest sum of both [ohm]
    total_high_ohm : highest sum of both [ohm]
    n : values a decade to choose from [-]
    stock : choose among these instead [ohm]

    Returns
    -------
    design : the pair, with its bounds

    Raises
    ------
    OutOfRange : nothing to divide, or no pair with such a total keeps the limit.

    >>> found = design(5.25, 3.3, total_low_ohm=20e3, total_high_ohm=60e3)
    >>> found.top_ohm, found.bottom_ohm, round(found.v_out.high, 3)
    (20000.0, 33000.0, 3.293)
    """
    v_in = v_in_v if isinstance(v_in_v, Range) else Range(v_in_v, v_in_v)
    positive(v_in_v=v_in.high, v_limit_v=v_limit_v, total_low_ohm=total_low_ohm, total_high_ohm=total_high_ohm)
    not_negative(i_leak_a=i_leak_a)
    Range.around(1.0, tolerance)
    if v_limit_v >= v_in.high:
        raise OutOfRange(f"{v_in.high:g} V never exceeds {v_limit_v:g} V; no divider is needed.")
    least = 0.1 * min(v_limit_v, v_in.high - v_limit_v) / v_in.high * total_low_ohm  # the smaller of both is about ten times this
    values = np.array(sorted(stock) or in_range(least, total_high_ohm, n), dtype=float)
    top, bottom = (grid.ravel() for grid in np.meshgrid(values, values, indexing="ij"))
    fits = (top + bottom >= total_low_ohm * (1 - 1e-9)) & (top + bottom <= total_high_ohm * (1 + 1e-9))
    top, bottom = top[fits], bottom[fits]
    usual = v_in.high * bottom / (top + bottom)
    worst = usual
    if goal == "never above":
        low, high = top * (1 - tolerance), bottom * (1 + tolerance)
        worst = v_in.high * high / (low + high) + i_leak_a * top * bottom / (top + bottom) * (1 + tolerance)
    kept = worst <= v_limit_v * (1 + 1e-12)
    if not kept.any():
        raise OutOfRange(f"No pair of {total_low_ohm:g} to {total_high_ohm:g} Ω in total keeps {v_in.high:g} V down to {v_limit_v:g} V.")
    top, bottom, usual = top[kept], bottom[kept], usual[kept]
    best = int(np.lexsort((top + bottom, np.where(usual >= usual.max() * 0.999, 1, 0)))[-1])
    return _described(float(top[best]), float(bottom[best]), v_in, v_limit_v, goal, tolerance, i_leak_a)


def _described(top_ohm: float, bottom_ohm: float, v_in: Range, v_limit_v: float, goal: Goal, tolerance: float, i_leak_a: float) -> Design:
    resistors: dict[str, Value] = {"top_ohm": Range.around(top_ohm, tolerance), "bottom_ohm": Range.around(bottom_ohm, tolerance)}
    v_out = over(divider_out, v_in_v=v_in.high, i_leak_a=Range(-i_leak_a, i_leak_a), **resistors)
    i_drain = over(lambda v_v, top_ohm, bottom_ohm: v_v / (top_ohm + bottom_ohm), v_v=v_in, **resistors)
    source = source_resistance(top_ohm, bottom_ohm)
    gap = v_limit_v - v_out.high
    side = f"{shown(gap, 'V')} below" if gap >= 0 else f"{shown(-gap, 'V')} above"
    words = (
        f"{shown(top_ohm)} over {shown(bottom_ohm)}, {goal}: {v_in.high:.3g} V becomes {v_out.low:.3g} V to {v_out.high:.3g} V, "
        f"at worst {side} {v_limit_v:.3g} V; it draws {shown(i_drain.high, 'A')} and looks like {shown(source)}"
    )
    return Design(top_ohm, bottom_ohm, v_out, i_drain, source, words)
