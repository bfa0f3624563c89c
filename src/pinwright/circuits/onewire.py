"""1-Wire lines: the pull-up between sink current, rise time and parasite supply, conversion times, temperature words.

Sources
-------
DS18B20 data sheet: sink 4 mA at 0.4 V, active current 1.5 mA at most, 25 pF a pin at most, conversion times, bus sampled
15 µs after the slot begins (tables read in stored copies); VIH 2.2 V on its own supply, 3.0 V on parasite supply (read).
Its temperature table, read in copies.
Maxim AN4255 (2008): 2.8 V at least for most parasite-powered parts; the thermometer itself asks 3.0 V, so 3.0 V is the default here.
Maxim AN148 (2008), long lines: about 50 pF for each metre of twisted pair (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.pulls import leakage_drop, pull_rise_max, pull_sink_min
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import Choice, Limit, Window, choose, shown
from pinwright.errors import OutOfRange

__all__ = [
    "C_CABLE_F_PER_M",
    "C_PART_F",
    "PullUp",
    "conversion_time",
    "pull_up_drop",
    "pull_up_max",
    "pull_up_min",
    "pull_up_plan",
    "temperature",
    "temperature_word",
]

C_PART_F = 25e-12
"""Highest input capacitance of one part [F].   [DS18B20 data sheet]"""

C_CABLE_F_PER_M = 50e-12
"""Twisted pair, data against ground [F/m].   [AN148, from memory]"""

_T_SAMPLE_S = 15e-6
_T_LOW_S = 5e-6
"""Of the 15 µs until a part samples, a third goes to the starting low and to the software (common practice)."""


def pull_up_min(v_pull_v: float, vol_v: float = 0.4, i_sink_a: float = 4e-3) -> float:
    """Smallest pull-up a part can pull low: (V - VOL) / IOL.   [DS18B20 data sheet: 4 mA at 0.4 V]

    Parameters
    ----------
    v_pull_v : highest rail [V]
    vol_v : level to reach [V]
    i_sink_a : current the part sinks there [A]

    Returns
    -------
    r_ohm : lower limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or the level not below the rail.

    >>> round(pull_up_min(3.3), 1)
    725.0
    """
    not_negative(vol_v=vol_v)
    return pull_sink_min(v_pull_v - vol_v, i_sink_a)


def pull_up_max(v_pull_v: float, v_min_v: float, i_a: float) -> float:
    """Largest pull-up that still feeds parts through the line: (V - V_min) / I.   [AN4255]

    Parameters
    ----------
    v_pull_v : lowest rail [V]
    v_min_v : voltage the parts need meanwhile [V]
    i_a : current of all that work at once [A]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or the rail does not exceed what is needed.

    >>> round(pull_up_max(3.3, 2.8, 1.5e-3), 1)
    333.3
    """
    positive(v_pull_v=v_pull_v, v_min_v=v_min_v)
    return pull_sink_min(v_pull_v - v_min_v, i_a)


def pull_up_drop(r_ohm: float, i_a: float, v_pull_v: float, v_min_v: float) -> tuple[float, bool]:
    """Voltage a current would drop over a pull-up, and whether enough is left.   [Ohm's law; AN4255]

    Parameters
    ----------
    r_ohm : pull-up [ohm]
    i_a : current of all parts that work at once [A]
    v_pull_v : rail [V]
    v_min_v : voltage the parts need [V]

    Returns
    -------
    drop_v, sufficient : the drop [V]; more than the rail means the current cannot flow

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> drop_v, sufficient = pull_up_drop(4700.0, 1.5e-3, 5.0, 2.8)
    >>> round(drop_v, 2), sufficient
    (7.05, False)
    """
    positive(v_pull_v=v_pull_v, v_min_v=v_min_v)
    drop_v = leakage_drop(r_ohm, i_a)
    return drop_v, bool(v_pull_v - drop_v >= v_min_v - 1e-12)


@dataclass(frozen=True, slots=True)
class PullUp:
    """Window and choice of a 1-Wire pull-up; ``strong_ohm`` is the largest strong pull-up during conversions on parasite supply."""

    window: Window
    choice: Choice | None
    c_line_f: float
    strong_ohm: float | None
    words: str


def pull_up_plan(
    v_pull_v: Value,
    parts: int,
    cable_m: float,
    *,
    vih_v: float = 2.2,
    vol_v: float = 0.4,
    i_sink_a: float = 4e-3,
    parasite: bool = False,
    converting: int = 1,
    i_active_a: float = 1.5e-3,
    v_parasite_v: float = 3.0,
    c_part_f: float = C_PART_F,
    cable_f_per_m: float = C_CABLE_F_PER_M,
    tolerance: float = 0.05,
    stock: Iterable[float] = (),
) -> PullUp:
    """Window of the pull-up by length, number of parts and supply.   [DS18B20 data sheet; AN148; AN4255]

    The line must reach VIH within what is left of the 15 µs in which a part samples.  Parts on parasite supply also draw while they
    recharge, which is not modelled: choose the strong end then.

    Parameters
    ----------
    v_pull_v : rail of the pull-up [V]
    parts : on the line [-]
    cable_m : length of all cable together [m]
    vih_v : level that reads high [V]
    vol_v : level a part reaches [V]
    i_sink_a : current it sinks there [A]
    parasite : parts live from the line, without a supply wire [-]
    converting : how many convert at once [-]
    i_active_a : current of one while it converts [A]
    v_parasite_v : voltage it needs meanwhile [V]
    c_part_f : of one part [F]
    cable_f_per_m : of the cable [F/m]
    tolerance : of the resistor, as a share [-]
    stock : resistances at hand [ohm]

    Returns
    -------
    plan : window, choice, note on the strong pull-up

    Raises
    ------
    OutOfRange : no part, or a value is not positive.

    >>> plan = pull_up_plan(Range(3.0, 3.6, 3.3), 5, 20.0)
    >>> plan.choice.value, f"{plan.c_line_f * 1e9:.3f} nF"
    (2200.0, '1.125 nF')
    """
    if parts < 1 or converting < 1:
        raise OutOfRange("There is at least one part on the line.")
    rail = v_pull_v if isinstance(v_pull_v, Range) else Range(v_pull_v, v_pull_v)
    positive(v_pull_v=rail.low, vih_v=vih_v, c_part_f=c_part_f, i_active_a=i_active_a)
    not_negative(cable_m=cable_m)
    not_negative(cable_capacitance=cable_f_per_m)
    c_line_f = parts * c_part_f + cable_m * cable_f_per_m
    vih = max(vih_v, v_parasite_v) if parasite else vih_v
    low = Limit(pull_up_min(rail.high, vol_v, i_sink_a), f"a part sinks {shown(i_sink_a, 'A')} at {vol_v:.3g} V")
    if vih >= rail.low:
        high = Limit(0.0, f"the rail of {rail.low:.3g} V leaves no room above the {vih:.3g} V needed")
    else:
        t_s = _T_SAMPLE_S - _T_LOW_S
        because = f"{shown(c_line_f, 'F')} must reach {vih:.3g} V in {shown(t_s, 's')}"
        high = Limit(pull_rise_max(t_s, c_line_f, 0.0, vih / rail.low), because)
    window = Window(low, high).narrowed(tolerance)
    choice = choose(window, stock, n=12)
    words = window.words if choice is None else f"{shown(choice.value)}: {choice.why}; allowed {window.words}"
    strong = None
    if parasite:
        strong = max(rail.low - v_parasite_v, 0.0) / (converting * i_active_a)
        words += (
            f"; parasite supply: {converting} converting draw {shown(converting * i_active_a, 'A')}, "
            + (f"so a transistor must feed the line with at most {shown(strong)} within 10 µs of the command"
               if strong > 0 else f"and {rail.low:.3g} V leave nothing above the {v_parasite_v:.3g} V they need: run a supply wire")
        )  # fmt: skip
    return PullUp(window, choice, c_line_f, strong, words)


def conversion_time(bits: int) -> float:
    """Longest conversion: 750 ms at 12 bits, half for each bit less.   [DS18B20 data sheet, tCONV]

    Parameters
    ----------
    bits : resolution, 9 to 12 [-]

    Returns
    -------
    t_s : conversion time [s]

    Raises
    ------
    OutOfRange : no such resolution.

    >>> [conversion_time(bits) * 1e3 for bits in (12, 11, 10, 9)]
    [750.0, 375.0, 187.5, 93.75]
    """
    _resolution(bits)
    return 0.75 / float(2 ** (12 - bits))


def temperature_word(t_c: float) -> int:
    """16-bit register of a temperature: sixteenths of a degree, two's complement.   [DS18B20 data sheet, temperature table]

    Parameters
    ----------
    t_c : -55 to 125 [°C]

    Returns
    -------
    word : 0 to 65535 [-]

    Raises
    ------
    OutOfRange : beyond what the part measures.

    >>> f"{temperature_word(85.0):04X} {temperature_word(-25.0625):04X}"
    '0550 FE6F'
    """
    finite(t_c=t_c)
    if not -55 <= t_c <= 125:
        raise OutOfRange(f"The part measures -55 to 125 °C, not {t_c:g} °C.")
    return round(t_c * 16) & 0xFFFF


def temperature(word: int, bits: int = 12) -> float:
    """Temperature of a register; the lowest bits are undefined at less than 12 bits and are dropped.   [DS18B20 data sheet]

    Parameters
    ----------
    word : both bytes, the high one first [-]
    bits : resolution, 9 to 12 [-]

    Returns
    -------
    t_c : temperature [°C]

    Raises
    ------
    OutOfRange : no 16-bit word, or no such resolution.

    >>> temperature(0x0191), temperature(0x0191, 9), temperature(0xFC90)
    (25.0625, 25.0, -55.0)
    """
    _resolution(bits)
    if not 0 <= word <= 0xFFFF:
        raise OutOfRange(f"A register holds 16 bits, not {word}.")
    signed = word - 0x10000 if word & 0x8000 else word
    return (signed >> (12 - bits) << (12 - bits)) / 16


def _resolution(bits: int) -> None:
    if bits not in (9, 10, 11, 12):
        raise OutOfRange(f"The resolution is 9 to 12 bits, not {bits}.")
