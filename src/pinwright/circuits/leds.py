"""Light-emitting diodes and optocoupler inputs behind a resistor.

R = (supply - VF - drop of the switch) / IF.  The supply is a rail or a pin's high level, which sags under load.
[a manual's worked opto-input example; University lecture slides on a buffered LED; both read as quoted]
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import Aim, Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = ["LedPlan", "led_current", "led_plan", "series_resistor"]


def series_resistor(v_v: float, vf_v: float, i_f_a: float, v_switch_v: float = 0.0, leds: int = 1) -> float:
    """Resistor for a current through one or more LEDs in series.

    R = (V - leds · VF - V_switch) / IF   [Ohm's law]

    Parameters
    ----------
    v_v : rail, or the pin's high level at that current [V]
    vf_v : forward voltage of one LED at that current [V]
    i_f_a : wanted current [A]
    v_switch_v : drop of the transistor or the pin's low level [V]
    leds : in series [-]

    Returns
    -------
    r_ohm : exact value [ohm]

    Raises
    ------
    OutOfRange : nothing is left for the resistor, or a value is not positive.

    >>> series_resistor(5.0, 1.25, 50e-3)
    75.0
    """
    positive(v_v=v_v, vf_v=vf_v, i_f_a=i_f_a)
    not_negative(v_switch_v=v_switch_v)
    if leds < 1:
        raise OutOfRange("There is at least one LED.")
    left = v_v - leds * vf_v - v_switch_v
    if not np.all(np.asarray(left) > 0):
        raise OutOfRange(
            f"The LEDs need {leds * vf_v + v_switch_v:.3g} V and the supply gives {v_v:.3g} V: nothing is left for a resistor."
        )
    return left / i_f_a


def led_current(v_v: float, vf_v: float, r_ohm: float, v_switch_v: float = 0.0, r_pin_ohm: float = 0.0, leds: int = 1) -> float:
    """Current through LEDs behind a resistor; nothing flows where the supply does not reach.

    I = (V - leds · VF - V_switch) / (R + R_pin), at least 0   [Ohm's law]

    Parameters
    ----------
    v_v : rail [V]
    vf_v : forward voltage of one LED [V]
    r_ohm : series resistor [ohm]
    v_switch_v : drop of the switch [V]
    r_pin_ohm : output resistance of a pin [ohm]
    leds : in series [-]

    Returns
    -------
    i_a : current [A]

    Raises
    ------
    OutOfRange : the resistor is not positive, or a value negative.

    >>> f"{led_current(3.3, 2.0, 220.0, r_pin_ohm=30.0) * 1e3:.1f} mA"
    '5.2 mA'
    """
    positive(r_ohm=r_ohm)
    finite(v_v=v_v)
    not_negative(vf_v=vf_v, v_switch_v=v_switch_v, r_pin_ohm=r_pin_ohm)
    flows: float = plain(np.maximum(v_v - leds * vf_v - v_switch_v, 0.0) / (r_ohm + r_pin_ohm))
    return flows


@dataclass(frozen=True, slots=True)
class LedPlan:
    """Resistor of an LED: window (nominal), choice, bounds of the current, highest power in the resistor and in one LED."""

    window: Window
    choice: Choice | None
    i: Range | None
    p_resistor_w: float | None
    p_led_w: float | None

    @property
    def words(self) -> str:
        """What to fit and what flows, or why nothing works."""
        if self.choice is None or self.i is None:
            return self.window.words
        return (
            f"{shown(self.choice.value)} ({self.choice.origin}): {shown(self.i.low, 'A')} to {shown(self.i.high, 'A')}; "
            f"allowed {self.window.words}"
        )


def led_plan(
    v_v: Value,
    vf_v: Value,
    i_max_a: float,
    i_min_a: float,
    *,
    max_because: str = "rated current",
    v_switch_v: Value = 0.0,
    r_pin_ohm: Value = 0.0,
    leds: int = 1,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
    aim: Aim = "weak",
) -> LedPlan:
    """Window and choice of a series resistor over supply, forward voltage and tolerance.   [Ohm's law]

    The weak end is the usual aim: the eye hardly sees the difference, pin and supply do (common practice).

    Parameters
    ----------
    v_v : rail, or the pin's own rail with its output resistance in ``r_pin_ohm`` [V]
    vf_v : forward voltage of one LED [V]
    i_max_a : highest current of LED, pin or switch [A]
    i_min_a : lowest current that is still bright enough, or that an optocoupler needs [A]
    max_because : what sets the highest current [-]
    v_switch_v : drop of the switch [V]
    r_pin_ohm : output resistance of a pin that drives the LED [ohm]
    leds : in series [-]
    tolerance : of the resistor, as a share [-]
    stock : resistances at hand [ohm]
    aim : middle, weak or strong [-]

    Returns
    -------
    plan : window, choice, currents, powers; an empty window where the supply does not reach

    Raises
    ------
    OutOfRange : a current is not positive or the lowest above the highest.

    >>> plan = led_plan(Range(3.2, 3.4, 3.3), Range(1.8, 2.2, 2.0), 12e-3, 2e-3)
    >>> plan.choice.value, f"{plan.i.high * 1e3:.1f} mA"
    (470.0, '3.6 mA')
    >>> led_plan(Range(3.0, 3.6), Range(2.8, 3.6, 3.2), 12e-3, 2e-3).words
    'no value works: the LED needs up to 3.6 V and the supply may give only 3 V, 600 mV short'
    """
    positive(i_max_a=i_max_a, i_min_a=i_min_a)
    if i_min_a > i_max_a:
        raise OutOfRange(f"The lowest current ({i_min_a:g} A) lies above the highest ({i_max_a:g} A).")
    if leds < 1:
        raise OutOfRange("There is at least one LED.")
    v, vf, drop, pin = (value if isinstance(value, Range) else Range(value, value) for value in (v_v, vf_v, v_switch_v, r_pin_ohm))
    positive(v_v=v.low, vf_v=vf.low)
    most, least = v.high - leds * vf.low - drop.low, v.low - leds * vf.high - drop.high
    low = Limit(max(most / i_max_a - pin.low, 0.0), f"at most {shown(i_max_a, 'A')}, {max_because}")
    if least <= 0:
        needs = leds * vf.high + drop.high
        who = "the LED needs" if leds == 1 else "the LEDs need"
        says = f"{who} up to {needs:.3g} V and the supply may give only {v.low:.3g} V, {shown(-least, 'V')} short"
        return LedPlan(Window(low, Limit(0.0, says)), None, None, None, None)
    window = Window.of([low], [Limit(least / i_min_a - pin.high, f"at least {shown(i_min_a, 'A')}")]).narrowed(tolerance)
    choice = choose(window, stock, aim=aim)
    if choice is None:
        return LedPlan(window, None, None, None, None)
    resistor = Range.around(choice.value, tolerance)
    i = over(
        lambda v_v, vf_v, r_ohm, v_switch_v, r_pin_ohm: led_current(v_v, vf_v, r_ohm, v_switch_v, r_pin_ohm, leds),
        v_v=v, vf_v=vf, r_ohm=resistor, v_switch_v=drop, r_pin_ohm=pin,
    )  # fmt: skip
    return LedPlan(window, choice, i, i.high**2 * choice.value * (1 + tolerance), i.high * vf.high)
