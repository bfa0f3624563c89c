"""Sensors whose output is a share of their supply: why the reference cancels, and what is left when it does not.

V = s Vs, code / full = V / Vref = s Vs / Vref: with Vs = Vref the supply is gone from the result.   [definition]
The output of a 5 V sensor that is divided for a 3.3 V reference depends on both again, and on the divider.
What a wire drops is Ohm's law.
"""

from __future__ import annotations

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.ranges import Range, Value, over
from pinwright.errors import OutOfRange

__all__ = ["drop_error", "full_scale_share", "quantity", "reading_error"]


def full_scale_share(output_share: float, v_supply_v: float, v_ref_v: float, divider_ratio: float = 1.0) -> float:
    """Share of the converter's full scale a ratiometric output gives: s Vs k / Vref.   [definition]

    Parameters
    ----------
    output_share : output of the sensor as a share of its supply [-]
    v_supply_v : supply at the sensor's own pins [V]
    v_ref_v : reference of the converter [V]
    divider_ratio : divider between the two, 1 for none [-]

    Returns
    -------
    reading : share of full scale [-]

    Raises
    ------
    OutOfRange : a voltage or the ratio is not positive, or the share negative.

    >>> full_scale_share(0.5, 3.3, 3.3), f"{full_scale_share(0.5, 5.0, 3.3, 2 / 3):.4f}"
    (0.5, '0.5051')
    """
    not_negative(output_share=output_share)
    positive(v_supply_v=v_supply_v, v_ref_v=v_ref_v, divider_ratio=divider_ratio)
    return output_share * (v_supply_v / v_ref_v) * divider_ratio


def reading_error(v_supply_v: Value, v_ref_v: Value, divider_ratio: Value = 1.0) -> Range:
    """Error of a reading, as a share of it, when supply and reference are two voltages and the firmware believes the usual ones.

    Where they are one voltage (the same rail, the same reference pin) the error is 0: then do not call this.   [definition]

    Parameters
    ----------
    v_supply_v : supply at the sensor's pins [V]
    v_ref_v : reference of the converter [V]
    divider_ratio : divider between the two [-]

    Returns
    -------
    error : lowest and highest error as a share of the reading [-]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> found = reading_error(Range.around(5.0, 0.05), Range.around(3.3, 0.02))
    >>> f"{found.low * 100:.1f} % to {found.high * 100:+.1f} %"
    '-6.9 % to +7.1 %'
    """
    usual = full_scale_share(1.0, _middle(v_supply_v), _middle(v_ref_v), _middle(divider_ratio))

    def error(v_supply_v: float, v_ref_v: float, divider_ratio: float) -> float:
        return full_scale_share(1.0, v_supply_v, v_ref_v, divider_ratio) / usual - 1

    return over(error, v_supply_v=v_supply_v, v_ref_v=v_ref_v, divider_ratio=divider_ratio)


def drop_error(i_sensor_a: float, r_wire_ohm: float, v_supply_v: float) -> float:
    """Error of the reading when wires drop part of the sensor's supply: -I R / Vs.   [Ohm's law]

    Parameters
    ----------
    i_sensor_a : supply current of the sensor [A]
    r_wire_ohm : resistance of the supply wire; the ground wire shifts the output as well [ohm]
    v_supply_v : supply at the board, the reference of the converter [V]

    Returns
    -------
    error : share of the reading, negative [-]

    Raises
    ------
    OutOfRange : a value is negative, or the drop eats the supply.

    >>> f"{drop_error(10e-3, 1.0, 3.3) * 100:.2f} %"
    '-0.30 %'
    """
    not_negative(i_sensor_a=i_sensor_a, r_wire_ohm=r_wire_ohm)
    positive(v_supply_v=v_supply_v)
    drop_v = i_sensor_a * r_wire_ohm
    if drop_v >= v_supply_v:
        raise OutOfRange(f"The wire would drop {drop_v:g} V of {v_supply_v:g} V.")
    return -drop_v / v_supply_v


def quantity(reading: float, share_at_zero: float, share_per_unit: float) -> float:
    """Quantity behind a reading of a linear ratiometric sensor: (reading - zero) / slope.   [definition]

    Parameters
    ----------
    reading : share of full scale, supply and reference being one voltage [-]
    share_at_zero : share of the supply the sensor gives at zero [-]
    share_per_unit : share of the supply a unit of the quantity adds [-]

    Returns
    -------
    quantity : in the sensor's unit [-]

    Raises
    ------
    OutOfRange : the slope is zero.

    >>> quantity(0.5, 0.1, 0.008)  # a pressure sensor of 10 to 90 % over 100 kPa
    50.0
    """
    finite(reading=reading, share_at_zero=share_at_zero, share_per_unit=share_per_unit)
    if share_per_unit == 0:
        raise OutOfRange("A sensor whose output does not change tells nothing.")
    return (reading - share_at_zero) / share_per_unit


def _middle(value: Value) -> float:
    return value.middle if isinstance(value, Range) else value
