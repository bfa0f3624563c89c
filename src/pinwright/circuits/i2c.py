"""Pull-ups of an I2C bus: the window of each mode, what pulls already on modules make together, and the bus's capacitance.

Sources
-------
UM10204: NXP, I2C-bus specification and user manual, Rev. 5 (2012) and Rev. 6 (2014), section 7.1, equations 1 and 2 (both read);
limits of the modes from its tables 9 and 10, read in a microcontroller data sheet that repeats them.
The tables give 10 pF at most for each pin.  Wire: about 100 pF for each metre of unshielded cable is common practice, no source;
the specification sets no figure.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.pulls import parallel, pull_rise_max, pull_sink_min
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "C_CABLE_F_PER_M",
    "C_PIN_F",
    "MODES",
    "Fitted",
    "Mode",
    "bus_capacitance",
    "bus_window",
    "c_bus_max",
    "fitted_pulls",
    "mode_named",
    "pull_up_max",
    "pull_up_min",
]

C_PIN_F = 10e-12
"""Highest capacitance of one pin of a part on the bus [F].   [UM10204 table 9]"""

C_CABLE_F_PER_M = 100e-12
"""Loose wires and ribbon cable [F/m] (common practice, no source; measure long cables)."""


@dataclass(frozen=True, slots=True)
class Mode:
    """Limits of one speed: clock, capacitance of a line, rise time from 30 % to 70 %, current every part must sink."""

    name: str
    f_max_hz: float
    c_max_f: float
    t_rise_max_s: float
    i_sink_a: float


MODES = {
    "standard": Mode("standard", 100e3, 400e-12, 1000e-9, 3e-3),
    "fast": Mode("fast", 400e3, 400e-12, 300e-9, 3e-3),
    "fast_plus": Mode("fast_plus", 1e6, 550e-12, 120e-9, 20e-3),
}


def mode_named(name: str) -> Mode:
    """Limits of a mode.   [UM10204 tables 9 and 10]

    Parameters
    ----------
    name : standard, fast or fast_plus [-]

    Returns
    -------
    mode : its limits

    Raises
    ------
    OutOfRange : no such mode.

    >>> mode_named("fast").t_rise_max_s
    3e-07
    """
    try:
        return MODES[name]
    except KeyError:
        raise OutOfRange(f"There is no I2C mode {name!r}; there are {', '.join(MODES)}.") from None


def pull_up_min(vdd_v: float, vol_v: float = 0.4, i_sink_a: float = 3e-3) -> float:
    """Smallest pull-up every part can pull low.

    R = (VDD - VOL) / IOL   [UM10204 r5, 7.1, eq. 2]

    Parameters
    ----------
    vdd_v : highest rail [V]
    vol_v : level that must be reached [V]
    i_sink_a : current every part sinks at that level [A]

    Returns
    -------
    r_ohm : lower limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or VOL not below the rail.

    >>> round(pull_up_min(3.3), 1)
    966.7
    """
    not_negative(vol_v=vol_v)
    return pull_sink_min(vdd_v - vol_v, i_sink_a)


def pull_up_max(t_rise_s: float, c_bus_f: float) -> float:
    """Largest pull-up that still rises in time.

    R = t_r / (0.8473 Cb)   [UM10204 r5, 7.1, eq. 1]

    Parameters
    ----------
    t_rise_s : longest rise, 30 % to 70 % [s]
    c_bus_f : wires, pins and parts together [F]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> round(pull_up_max(300e-9, 200e-12))
    1770
    """
    return pull_rise_max(t_rise_s, c_bus_f)


def c_bus_max(t_rise_s: float, r_ohm: float) -> float:
    """Largest capacitance a pull-up charges in time.

    Cb = t_r / (0.8473 R)   [UM10204 r5, 7.1, eq. 1]

    Parameters
    ----------
    t_rise_s : longest rise, 30 % to 70 % [s]
    r_ohm : all pull-ups of the line in parallel [ohm]

    Returns
    -------
    c_bus_f : upper limit [F]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{c_bus_max(1e-6, 10e3) * 1e12:.0f} pF"
    '118 pF'
    """
    return pull_rise_max(t_rise_s, r_ohm)  # the equation is symmetrical in R and C


def bus_capacitance(parts: int, cable_m: float = 0.0, c_pin_f: float = C_PIN_F, cable_f_per_m: float = C_CABLE_F_PER_M) -> float:
    """Estimate of the capacitance of one line of a bus.

    C = parts · C_pin + length · C_cable   [UM10204 table 9 for the pin; the cable is common practice]

    Parameters
    ----------
    parts : on the bus, the controller included [-]
    cable_m : length of all cable together, branches too [m]
    c_pin_f : of one pin [F]
    cable_f_per_m : of the cable [F/m]

    Returns
    -------
    c_bus_f : estimate; measure where it comes near the limit [F]

    Raises
    ------
    OutOfRange : a value is negative, or there is no part.

    >>> f"{bus_capacitance(4, 0.5) * 1e12:.0f} pF"
    '90 pF'
    """
    if parts < 1:
        raise OutOfRange("A bus has at least one part.")
    not_negative(cable_m=cable_m, c_pin_f=c_pin_f)
    not_negative(cable_capacitance=cable_f_per_m)
    return parts * c_pin_f + cable_m * cable_f_per_m


def bus_window(
    mode: str, vdd_v: Value, c_bus_f: float, vol_v: float | None = None, i_sink_a: float | None = None, tolerance: float = 0.0
) -> Window:
    """Window of all pull-ups of one line together.   [UM10204 r5, 7.1]

    Parameters
    ----------
    mode : standard, fast or fast_plus [-]
    vdd_v : rail the pull-ups hang on [V]
    c_bus_f : capacitance of the line [F]
    vol_v : level that must be reached; without it 0.4 V, or 0.2 VDD up to 2 V [V]
    i_sink_a : what the weakest part sinks; without it what the mode asks [A]
    tolerance : of the resistors, as a share [-]

    Returns
    -------
    window : may be empty; a capacitance above the mode's limit empties it too

    Raises
    ------
    OutOfRange : no such mode, or a value is not positive.

    >>> bus_window("fast", 3.3, 400e-12).is_empty
    True
    """
    limits = mode_named(mode)
    rail = vdd_v if isinstance(vdd_v, Range) else Range(vdd_v, vdd_v)
    positive(vdd_v=rail.low, c_bus_f=c_bus_f)
    sink = limits.i_sink_a if i_sink_a is None else i_sink_a
    # UM10204 table 9: 0.4 V above a rail of 2 V, 0.2 VDD up to it
    vol = (0.4 if rail.high > 2 else 0.2 * rail.high) if vol_v is None else vol_v
    low = Limit(pull_up_min(rail.high, vol, sink), f"the weakest part sinks {shown(sink, 'A')} at {vol:.3g} V from {rail.high:.3g} V")
    rise = f"{shown(c_bus_f, 'F')} must rise in {shown(limits.t_rise_max_s, 's')}"
    highs = [Limit(pull_up_max(limits.t_rise_max_s, c_bus_f), rise)]
    if c_bus_f > limits.c_max_f * (1 + 1e-9):
        too_much = (
            f"{shown(c_bus_f, 'F')} is above the {shown(limits.c_max_f, 'F')} of {mode} mode by {shown(c_bus_f - limits.c_max_f, 'F')}"
        )
        highs.append(Limit(0.0, too_much))
    return Window.of([low], highs).narrowed(tolerance)


@dataclass(frozen=True, slots=True)
class Fitted:
    """What to do with the pull-ups already on the modules.

    ``action`` is ``leave``, ``add``, ``remove``, ``replace`` (remove all and fit one) or ``none`` (no pull helps: the window is empty).
    ``together_ohm`` is what they make now (None without any), ``after_ohm`` what they make then,
    ``remove`` the places (from 0) of those to take off.
    """

    action: str
    together_ohm: float | None
    after_ohm: float | None
    remove: tuple[int, ...]
    add: Choice | None
    words: str


def fitted_pulls(window: Window, fitted_ohm: Sequence[float], stock: Iterable[float] = ()) -> Fitted:
    """Whether the pull-ups on several modules suit together, and which to add or remove.   [UM10204 r5, 7.1, through the window]

    As few as possible are removed; of equal ways the one nearest to the middle of the window.

    Parameters
    ----------
    window : for all together, from ``bus_window`` [-]
    fitted_ohm : pull-up of one line on each module, up to 12 [ohm]
    stock : resistances at hand [ohm]

    Returns
    -------
    advice : with words

    Raises
    ------
    OutOfRange : more than 12 modules, or a value is not positive.

    >>> advice = fitted_pulls(bus_window("fast", 3.3, 100e-12), [4700.0, 10e3, 2200.0, 2200.0])
    >>> advice.action, advice.remove
    ('remove', (2,))
    """
    if len(fitted_ohm) > 12:
        raise OutOfRange("More than 12 fitted pull-ups on one line are not looked at.")
    now = parallel(*fitted_ohm) if fitted_ohm else None
    says = "no pull-up is fitted" if now is None else f"the fitted ones make {shown(now)} together"
    if window.is_empty:
        return Fitted("none", now, None, (), None, f"{says}, but {window.words}")
    if now is not None and now in window:
        return Fitted("leave", now, now, (), None, f"{says}, allowed {window.words}: leave them")
    if now is None or now > window.high.value:
        return _with_one_more(window, now, stock, says)
    conducts = [1 / r for r in fitted_ohm]
    for count in range(1, len(fitted_ohm)):
        ways = []
        for taken in itertools.combinations(range(len(fitted_ohm)), count):
            left = 1 / (1 / now - sum(conducts[place] for place in taken))
            if left in window:
                ways.append((max(left / window.middle, window.middle / left), taken, left))
        if ways:
            _, taken, left = min(ways)
            off = " and ".join(f"number {place + 1} ({shown(fitted_ohm[place])})" for place in taken)
            words = f"{says}, too strong: {window.low.because}, which asks {shown(window.low.value)}; take off {off}, leaving {shown(left)}"
            return Fitted("remove", now, left, taken, None, words)
    return _replaced(window, fitted_ohm, now, stock, says)


def _with_one_more(window: Window, now: float | None, stock: Iterable[float], says: str) -> Fitted:
    """A resistor beside those fitted: its own window is the bus window less what they already conduct."""
    if now is None:
        extra = window
    else:
        high = Limit(1 / (1 / window.high.value - 1 / now), window.high.because)
        strong = 1 / window.low.value - 1 / now if window.low.value > 0 else 0.0
        extra = Window(Limit(1 / strong if strong > 0 else 0.0, window.low.because), high, window.unit)
    choice = choose(extra, stock)
    if choice is None:
        return Fitted("none", now, None, (), None, f"{says}; one more would have to lie {extra.words}, and no value of E24 does")
    after = choice.value if now is None else parallel(now, choice.value)
    words = f"{says}, {'' if now is None else 'too weak: ' + window.high.because + '; '}add {shown(choice.value)}, making {shown(after)}"
    return Fitted("add", now, after, (), choice, words)


def _replaced(window: Window, fitted_ohm: Sequence[float], now: float, stock: Iterable[float], says: str) -> Fitted:
    choice = choose(window, stock)
    if choice is None:
        return Fitted("none", now, None, (), None, f"{says}, and no value of E24 lies {window.words}")
    every = tuple(range(len(fitted_ohm)))
    words = f"{says}, too strong: {window.low.because}; take all off and fit one of {shown(choice.value)}"
    return Fitted("replace", now, choice.value, every, choice, words)
