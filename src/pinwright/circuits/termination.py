"""Lines that ring or float: series resistors at the source, RS-485 bias and terminators, CAN terminators.

Sources
-------
Bias of a matched RS-485 bus: RB = (V / VAB) / (1 / R_common + 4 / Z0), by Kirchhoff at both wires with the near terminator
raised to match; the same form stands in TI and Renesas notes (from memory; Renesas TB509 Rev. 1.01 is quoted with V / VAB + 1,
which gives 8 % less bias than asked and is offered as ``extra`` only to reproduce it).
32 unit loads of 12 kΩ make 375 Ω; a driver is specified into 54 Ω: TIA/EIA-485-A (from memory).
B+B application note (2506), RS-485 biasing: two worked examples (read).
CAN: 120 Ω at both ends, 50 to 65 Ω allowed together: ISO 11898-2 (from memory).
A line is long where its round trip exceeds the edge: common practice, one sixth of the edge's length is stricter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.pulls import parallel
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import Limit, Window, shown
from pinwright.errors import OutOfRange

__all__ = [
    "R_UNIT_LOAD_OHM",
    "Bias",
    "bias_resistor",
    "bias_voltage",
    "bias_window",
    "can_resistance",
    "driver_resistance",
    "is_long",
    "matched_terminator",
    "near_terminator",
    "series_window",
    "unit_loads",
]

R_UNIT_LOAD_OHM = 12e3
"""Common-mode input resistance of one RS-485 unit load [ohm].   [TIA/EIA-485-A]"""

_R_DRIVER_LOAD_OHM = 54.0
_DELAY_S_PER_M = 5e-9
"""Signal delay of cable and circuit board, 5 to 7 ns a metre (common practice)."""


def driver_resistance(v_rail_v: float, v_out_v: float, i_a: float) -> float:
    """Output resistance of a pin from one line of its data sheet: how far the level moves for a current.

    R = |V_rail - V| / I   [Ohm's law]

    Parameters
    ----------
    v_rail_v : the rail the level leaves: VDD for a high, 0 for a low [V]
    v_out_v : level given [V]
    i_a : at this current [A]

    Returns
    -------
    r_ohm : output resistance, an upper bound where the level is a limit [ohm]

    Raises
    ------
    OutOfRange : current not positive.

    >>> round(driver_resistance(3.3, 2.64, 40e-3), 1)
    16.5
    """
    positive(i_a=i_a)
    not_negative(v_rail_v=v_rail_v, v_out_v=v_out_v)
    return abs(v_rail_v - v_out_v) / i_a


def is_long(length_m: float, t_edge_s: float, delay_s_per_m: float = _DELAY_S_PER_M) -> bool:
    """Whether a line is long for an edge: the way there and back takes longer than the edge.   [common practice, no source]

    Parameters
    ----------
    length_m : one way [m]
    t_edge_s : rise or fall time of the driver [s]
    delay_s_per_m : of the line [s/m]

    Returns
    -------
    is_long : it will ring without a terminator

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> is_long(0.1, 5e-9), is_long(1.0, 2e-9)
    (False, True)
    """
    positive(length_m=length_m, t_edge_s=t_edge_s)
    positive(delay=delay_s_per_m)
    return 2 * length_m * delay_s_per_m > t_edge_s


def series_window(z0_ohm: float, r_driver: Range, overshoot: float = 0.25) -> Window:
    """Series resistor at the source: the line's impedance less the driver's, with room for a driver that varies.

    exact: R = Z0 - R_driver; overshoot at an open end is (Z0 - Rs) / (Z0 + Rs), Rs the sum of both   [reflection coefficient]

    Parameters
    ----------
    z0_ohm : impedance of the line [ohm]
    r_driver : output resistance of the driver [ohm]
    overshoot : share of the step that may ring either way [-]

    Returns
    -------
    window : from little ringing to an edge that needs a second bounce

    Raises
    ------
    OutOfRange : a value is not positive, or the share not between 0 and 1.

    >>> series_window(100.0, Range(15.0, 35.0)).words
    'from 45 Ω (a strong driver rings at most 25 %) to 132 Ω (a weak driver reaches all but 25 % at once)'
    """
    positive(z0_ohm=z0_ohm, r_driver_ohm=r_driver.low)
    if not 0 < overshoot < 1:
        raise OutOfRange(f"The overshoot is a share between 0 and 1, not {overshoot:g}.")
    least = z0_ohm * (1 - overshoot) / (1 + overshoot) - r_driver.low
    most = z0_ohm * (1 + overshoot) / (1 - overshoot) - r_driver.high
    return Window(
        Limit(max(least, 0.0), f"a strong driver rings at most {overshoot * 100:g} %"),
        Limit(most, f"a weak driver reaches all but {overshoot * 100:g} % at once"),
    )


def unit_loads(r_unit_ohm: float, n: int) -> float:
    """Input resistance of several receivers in parallel: R / n.   [TIA/EIA-485-A]

    Parameters
    ----------
    r_unit_ohm : of one receiver [ohm]
    n : how many [-]

    Returns
    -------
    r_ohm : together [ohm]

    Raises
    ------
    OutOfRange : none, or the resistance is not positive.

    >>> unit_loads(12e3, 32)
    375.0
    """
    positive(r_unit_ohm=r_unit_ohm)
    if n < 1:
        raise OutOfRange("There is at least one receiver.")
    return r_unit_ohm / n


def matched_terminator(z0_ohm: float, r_parallel_ohm: float) -> float:
    """Terminator that makes a line's end match beside another load: Z0 · R / (R - Z0).   [parallel resistances]

    Parameters
    ----------
    z0_ohm : impedance of the line [ohm]
    r_parallel_ohm : load already across it [ohm]

    Returns
    -------
    r_ohm : terminator [ohm]

    Raises
    ------
    OutOfRange : the load alone is already too heavy, or a value is not positive.

    >>> round(matched_terminator(100.0, 1200.0), 1)
    109.1
    """
    positive(z0_ohm=z0_ohm, r_parallel_ohm=r_parallel_ohm)
    if r_parallel_ohm <= z0_ohm:
        raise OutOfRange(f"{r_parallel_ohm:g} Ω across the line are already too little for {z0_ohm:g} Ω.")
    return z0_ohm * r_parallel_ohm / (r_parallel_ohm - z0_ohm)


def near_terminator(z0_ohm: float, r_bias_ohm: float) -> float:
    """Terminator at the end that carries the bias resistors: both of them, in series, lie across it.   [TB509 Rev. 1.01]

    Parameters
    ----------
    z0_ohm : impedance of the line [ohm]
    r_bias_ohm : each bias resistor [ohm]

    Returns
    -------
    r_ohm : terminator [ohm]

    Raises
    ------
    OutOfRange : the bias resistors alone are already too heavy.

    >>> round(near_terminator(120.0, 333.33), 2)
    146.34
    """
    return matched_terminator(z0_ohm, 2 * r_bias_ohm)


def bias_resistor(v_supply_v: float, v_ab_v: float, z0_ohm: float = 120.0, r_common_ohm: float = 375.0, extra: float = 0.0) -> float:
    """Largest bias resistor, one to each rail, that keeps an idle RS-485 bus at a voltage.

    RB = (V / VAB + extra) / (1 / R_common + 4 / Z0)   [Kirchhoff, both ends matched; see the module for ``extra``]

    Parameters
    ----------
    v_supply_v : lowest supply of the bias [V]
    v_ab_v : wanted differential voltage, threshold and noise margin [V]
    z0_ohm : impedance of the line [ohm]
    r_common_ohm : of all receivers, each wire to ground [ohm]
    extra : 0 with the near terminator matched (exact), -1 with two plain terminators of Z0 (exact), 1 as TB509 is quoted [-]

    Returns
    -------
    r_ohm : upper limit [ohm]

    Raises
    ------
    OutOfRange : a value is not positive, or the supply does not exceed the bias.

    >>> round(bias_resistor(3.3, 0.3), 1), round(bias_resistor(3.3, 0.3, extra=1), 2)
    (305.6, 333.33)
    """
    positive(v_supply_v=v_supply_v, v_ab_v=v_ab_v, z0_ohm=z0_ohm, r_common_ohm=r_common_ohm)
    turns = v_supply_v / v_ab_v + extra
    if turns <= 0:
        raise OutOfRange(f"{v_supply_v:g} V cannot bias a bus to {v_ab_v:g} V.")
    return turns / (1 / r_common_ohm + 4 / z0_ohm)


@dataclass(frozen=True, slots=True)
class Bias:
    """An idle bus: load across both wires (None where nothing loads it), current through the bias, differential voltage."""

    r_load_ohm: float | None
    i_a: float
    v_ab_v: float


def bias_voltage(
    v_supply_v: float,
    bias_ohm: Sequence[float],
    terminators_ohm: Sequence[float] = (),
    nodes_ohm: Sequence[float] = (),
) -> Bias:
    """Differential voltage of an idle RS-485 bus: a divider of two bias resistors and everything across the wires.

    I = V / (2 RB + R_load), VAB = I · R_load   [B+B application note, biasing]

    Parameters
    ----------
    v_supply_v : supply of the bias [V]
    bias_ohm : each pair's resistor (the same up and down), one entry a node that has a pair [ohm]
    terminators_ohm : across the wires [ohm]
    nodes_ohm : input resistance of each receiver, taken across the wires [ohm]

    Returns
    -------
    bias : load, current, voltage

    Raises
    ------
    OutOfRange : no bias resistor, or a value is not positive.

    >>> found = bias_voltage(5.0, [4700.0] * 10, [120.0, 120.0], [12e3] * 10)
    >>> round(found.r_load_ohm, 1), round(found.v_ab_v * 1e3, 1)
    (57.1, 286.5)
    """
    positive(v_supply_v=v_supply_v)
    if not bias_ohm:
        raise OutOfRange("Without a bias resistor an idle bus floats.")
    pair = 2 * parallel(*bias_ohm)
    across = (*terminators_ohm, *nodes_ohm)
    if not across:
        return Bias(None, 0.0, v_supply_v)
    load = parallel(*across)
    i_a = v_supply_v / (pair + load)
    return Bias(load, i_a, i_a * load)


def bias_window(v_supply_v: float, loads: float, v_ab_v: float = 0.3, z0_ohm: float = 120.0) -> Window:
    """Window of each bias resistor on a bus with a plain terminator of Z0 at both ends.

    high: the wanted idle voltage; low: a driver is promised into 54 Ω, so Z0 / 2, both bias resistors and all receivers together
    must not be less   [TIA/EIA-485-A]

    Parameters
    ----------
    v_supply_v : lowest supply of the bias [V]
    loads : unit loads on the bus, an eighth for many modern receivers [-]
    v_ab_v : threshold of 0.2 V and 0.1 V for noise; receivers that are fail-safe themselves need no bias [V]
    z0_ohm : impedance of the line [ohm]

    Returns
    -------
    window : empty where the line is too heavy or the supply too low

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> bias_window(4.75, 2).words
    'from 283 Ω (a driver is promised into 54 Ω only) to 443 Ω (an idle bus must keep 300 mV)'
    """
    positive(loads=loads, z0_ohm=z0_ohm)
    because = f"a driver is promised into {_R_DRIVER_LOAD_OHM:g} Ω only"
    r_common_ohm = R_UNIT_LOAD_OHM / loads
    high = Limit(bias_resistor(v_supply_v, v_ab_v, z0_ohm, r_common_ohm, extra=-1), f"an idle bus must keep {shown(v_ab_v, 'V')}")
    without = parallel(z0_ohm / 2, 2 * r_common_ohm)
    if without <= _R_DRIVER_LOAD_OHM:
        heavy = f"{because}, and terminators and receivers alone make {shown(without)}"
        return Window(high, Limit(0.0, heavy))
    return Window(Limit(_R_DRIVER_LOAD_OHM * without / (without - _R_DRIVER_LOAD_OHM) / 2, because), high)


def can_resistance(terminators_ohm: Sequence[float]) -> tuple[float | None, str]:
    """Resistance between the wires of a CAN bus without power, and what it says.   [ISO 11898-2: 50 to 65 Ω together]

    Parameters
    ----------
    terminators_ohm : all fitted, on modules too [ohm]

    Returns
    -------
    r_ohm, words : what a meter shows (None for an open line) [ohm], and the verdict

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> can_resistance([120.0, 120.0])[1]
    'right: 60 Ω, one at each end'
    """
    if not terminators_ohm:
        return None, "no terminator: fit 120 Ω at both ends of the line, nowhere else"
    r_ohm = parallel(*terminators_ohm)
    if r_ohm > 65:
        return r_ohm, f"{shown(r_ohm)}: a terminator is missing; fit 120 Ω at both ends of the line"
    if r_ohm < 50:
        return r_ohm, f"{shown(r_ohm)}: too many terminators; leave only those at the two ends"
    return r_ohm, f"right: {shown(r_ohm)}, one at each end"
