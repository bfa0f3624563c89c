"""Linear regulators and switching converters: headroom, dissipation, what they take from the source.

P = (V_in - V_out) I_out + V_in I_ground   [TS2940: Taiwan Semiconductor TS2940 data sheet, version A07, thermal example;
DS22070A: Microchip MCP1824 data sheet (2007), section 5.1.1]
Worst case of a linear regulator: highest input, lowest output, highest current   [DS20001826C: Microchip MCP1700 data sheet,
section 6.3.1; DS21380B: Microchip TC1269 data sheet (2002), section 4.2]
I_in = V_out I_out / (η V_in): power is conserved but for the efficiency   [definition]
Highest output of a boost converter from its switch current   [SSZTAX7: TI technical article, part 2 on the maximum output
current of converters; the formula itself follows from the conservation of power]
"""

from __future__ import annotations

import numpy as np

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import Limit, Window
from pinwright.errors import OutOfRange

__all__ = [
    "boost_output_max",
    "converter_dissipation",
    "converter_input_current",
    "ldo_dissipation",
    "ldo_dissipation_range",
    "ldo_headroom",
    "ldo_input_max",
    "ldo_input_min",
    "ldo_input_window",
]


def ldo_dissipation(v_in_v: float, v_out_v: float, i_out_a: float, i_ground_a: float = 0.0) -> float:
    """Power a linear regulator turns into heat: (V_in - V_out) I_out + V_in I_ground.   [TS2940]

    Parameters
    ----------
    v_in_v : input [V]
    v_out_v : output [V]
    i_out_a : load current [A]
    i_ground_a : the regulator's own current at that load [A]

    Returns
    -------
    p_w : dissipated power [W]

    Raises
    ------
    OutOfRange : the input lies below the output, or a value is negative.

    >>> f"{ldo_dissipation(3.3, 2.5, 1.0, 0.011) * 1e3:.1f} mW"
    '836.3 mW'
    """
    positive(v_in_v=v_in_v, v_out_v=v_out_v)
    not_negative(i_out_a=i_out_a, i_ground_a=i_ground_a)
    if not np.all(np.asarray(v_in_v) >= np.asarray(v_out_v)):
        raise OutOfRange(f"A linear regulator cannot make {np.max(v_out_v):g} V from {np.min(v_in_v):g} V.")
    return (v_in_v - v_out_v) * i_out_a + v_in_v * i_ground_a


def ldo_dissipation_range(v_in_v: Value, v_out_v: Value, i_out_a: Value, i_ground_a: Value = 0.0) -> Range:
    """Lowest and highest dissipation over ranges of input, output and current.   [DS20001826C]

    Parameters
    ----------
    v_in_v : input, a number or a range [V]
    v_out_v : output with its tolerance [V]
    i_out_a : load current [A]
    i_ground_a : the regulator's own current [A]

    Returns
    -------
    p_w : bounds; design for the high end [W]

    Raises
    ------
    OutOfRange : the lowest input lies below the highest output, or a value is negative.

    >>> f"{ldo_dissipation_range(Range(2.3, 3.2), Range.around(1.8, 0.03), 0.15).high * 1e3:.1f} mW"
    '218.1 mW'
    """
    return over(ldo_dissipation, v_in_v=v_in_v, v_out_v=v_out_v, i_out_a=i_out_a, i_ground_a=i_ground_a)


def ldo_input_min(v_out_v: float, dropout_v: float) -> float:
    """Lowest input at which a linear regulator still holds its output: V_out + V_dropout.   [DS22070A]

    Parameters
    ----------
    v_out_v : output, at the top of its tolerance [V]
    dropout_v : highest dropout at the load current, hot [V]

    Returns
    -------
    v_in_v : lower limit of the input [V]

    Raises
    ------
    OutOfRange : the output is not positive or the dropout negative.

    >>> f"{ldo_input_min(2.5, 0.35):.2f} V"
    '2.85 V'
    """
    positive(v_out_v=v_out_v)
    not_negative(dropout_v=dropout_v)
    return v_out_v + dropout_v


def ldo_input_max(p_w: float, i_out_a: float, v_out_v: float, i_ground_a: float = 0.0) -> float:
    """Highest input at which a dissipation is kept: (P + V_out I_out) / (I_out + I_ground).   [DS21380B]

    Parameters
    ----------
    p_w : power the package may dissipate [W]
    i_out_a : load current [A]
    v_out_v : output, at the bottom of its tolerance [V]
    i_ground_a : the regulator's own current [A]

    Returns
    -------
    v_in_v : upper limit of the input [V]

    Raises
    ------
    OutOfRange : a value is not positive, or the regulator's own current alone is too much.

    >>> f"{ldo_input_max(0.35, 0.25, 2.6325):.4f} V"
    '4.0325 V'
    """
    positive(p_w=p_w, i_out_a=i_out_a, v_out_v=v_out_v)
    not_negative(i_ground_a=i_ground_a)
    v_in_v = (p_w + v_out_v * i_out_a) / (i_out_a + i_ground_a)
    if not np.all(np.asarray(v_in_v) >= np.asarray(v_out_v)):
        raise OutOfRange("The regulator's own current alone dissipates more than allowed.")
    return v_in_v


def ldo_headroom(v_in_v: float, v_out_v: float, dropout_v: float) -> float:
    """How far the input lies above what the regulator needs: V_in - V_out - V_dropout.   [DS22070A]

    Parameters
    ----------
    v_in_v : lowest input, under load and at the end of its wires [V]
    v_out_v : highest output [V]
    dropout_v : highest dropout at the load current [V]

    Returns
    -------
    margin_v : negative means the output sags [V]

    Raises
    ------
    OutOfRange : a value is not positive or the dropout negative.

    >>> f"{ldo_headroom(3.5, 3.366, 0.25):.3f} V"
    '-0.116 V'
    """
    positive(v_in_v=v_in_v)
    return v_in_v - ldo_input_min(v_out_v, dropout_v)


def ldo_input_window(
    v_out_v: Value, dropout_v: float, i_out_a: float, p_max_w: float, v_in_rated_v: float, i_ground_a: float = 0.0
) -> Window:
    """Inputs a linear regulator may be fed from: between dropout and heat or rating.   [DS21380B, DS22070A]

    Parameters
    ----------
    v_out_v : output, with its tolerance as a range [V]
    dropout_v : highest dropout at the load current [V]
    i_out_a : highest lasting load current [A]
    p_max_w : power the package may dissipate at the highest ambient, see ``heat.power_max`` [W]
    v_in_rated_v : highest input the part is rated for [V]
    i_ground_a : the regulator's own current [A]

    Returns
    -------
    v_in_v : lowest and highest input [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> ldo_input_window(Range.around(3.3, 0.02), 1.3, 0.5, 1.0, 12.0).words
    'from 4.67 V (the output and the dropout) to 5.23 V (the heat of the package)'
    """
    positive(v_in_rated_v=v_in_rated_v)
    highest = v_out_v.high if isinstance(v_out_v, Range) else v_out_v
    lowest = v_out_v.low if isinstance(v_out_v, Range) else v_out_v
    return Window.of(
        [Limit(ldo_input_min(highest, dropout_v), "the output and the dropout")],
        [
            Limit(ldo_input_max(p_max_w, i_out_a, lowest, i_ground_a), "the heat of the package"),
            Limit(v_in_rated_v, "the rated input"),
        ],
        "V",
    )


def converter_input_current(v_in_v: float, v_out_v: float, i_out_a: float, efficiency: float, i_idle_a: float = 0.0) -> float:
    """What a buck or boost converter takes from its source: V_out I_out / (η V_in), plus its idle current.   [definition]

    The current is highest at the *lowest* input; fuse, wires and cells are chosen for that.

    Parameters
    ----------
    v_in_v : input [V]
    v_out_v : output [V]
    i_out_a : load current [A]
    efficiency : share of the power that arrives at this load [-]
    i_idle_a : the converter's own current without load, matters for sleepers only [A]

    Returns
    -------
    i_in_a : mean input current [A]

    Raises
    ------
    OutOfRange : a value is not positive or the efficiency above 1.

    >>> f"{converter_input_current(3.0, 5.0, 0.5, 0.85):.2f} A"
    '0.98 A'
    """
    positive(v_in_v=v_in_v, v_out_v=v_out_v, efficiency=efficiency)
    not_negative(i_out_a=i_out_a, i_idle_a=i_idle_a)
    _efficiency(efficiency)
    return v_out_v * i_out_a / (efficiency * v_in_v) + i_idle_a


def converter_dissipation(v_out_v: float, i_out_a: float, efficiency: float) -> float:
    """Heat of a converter: P_out (1/η - 1).   [definition]

    Parameters
    ----------
    v_out_v : output [V]
    i_out_a : load current [A]
    efficiency : share of the power that arrives [-]

    Returns
    -------
    p_w : dissipated power, in converter and coil together [W]

    Raises
    ------
    OutOfRange : a value is not positive or the efficiency above 1.

    >>> f"{converter_dissipation(5.0, 2.0, 0.9):.2f} W"
    '1.11 W'
    """
    positive(v_out_v=v_out_v, efficiency=efficiency)
    not_negative(i_out_a=i_out_a)
    _efficiency(efficiency)
    return v_out_v * i_out_a * (1 / efficiency - 1)


def boost_output_max(i_switch_a: float, v_in_v: float, v_out_v: float, efficiency: float, ripple: float = 0.3) -> float:
    """Highest output current of a boost converter whose switch is limited: η I_sw (1 - r/2) V_in / V_out.   [SSZTAX7]

    The current on a boost module's label is that of the switch, on the input side.

    Parameters
    ----------
    i_switch_a : lowest peak current limit of the switch [A]
    v_in_v : lowest input [V]
    v_out_v : output [V]
    efficiency : share of the power that arrives [-]
    ripple : peak-to-peak ripple of the coil as a share of its peak current [-]

    Returns
    -------
    i_out_a : upper limit of the load [A]

    Raises
    ------
    OutOfRange : a value is not positive, the output not above the input, or a share not from 0 to 1.

    >>> f"{boost_output_max(2.0, 3.0, 5.0, 0.85):.2f} A"
    '0.87 A'
    """
    positive(i_switch_a=i_switch_a, v_in_v=v_in_v, v_out_v=v_out_v, efficiency=efficiency)
    _efficiency(efficiency)
    not_negative(ripple=ripple)
    if not np.all(np.asarray(ripple) <= 1):
        raise OutOfRange("The ripple is a share from 0 to 1 of the peak current.")
    if not np.all(np.asarray(v_out_v) > np.asarray(v_in_v)):
        raise OutOfRange(f"A boost converter raises a voltage; it cannot make {np.min(v_out_v):g} V from {np.max(v_in_v):g} V.")
    return efficiency * i_switch_a * (1 - ripple / 2) * v_in_v / v_out_v


def _efficiency(efficiency: float) -> None:
    if not np.all(np.asarray(efficiency) <= 1):
        raise OutOfRange(f"An efficiency is a share from above 0 to 1, not {np.max(efficiency):g}.")
