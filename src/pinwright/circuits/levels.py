"""Does a driver's level reach a receiver's threshold, and how to divide a voltage that is too high.

Margins: high = VOH - VIH, low = VIL - VOL; a negative one is not guaranteed.   [JESD8C.01, from memory]
"""

from __future__ import annotations

from pinwright.circuits.preferred import nearest_e24
from pinwright.errors import OutOfRange

__all__ = ["adc_step", "divided", "divider_top", "margin_high", "margin_low"]


def margin_high(voh_v: float, vih_v: float) -> float:
    """How far the lowest high lies above what the receiver needs.   [JESD8C.01]

    Parameters
    ----------
    voh_v : lowest high of the driver [V]
    vih_v : lowest level the receiver takes as high [V]

    Returns
    -------
    margin_v : positive is guaranteed [V]
    """
    return voh_v - vih_v


def margin_low(vol_v: float, vil_v: float) -> float:
    """How far the highest low lies below what the receiver needs.   [JESD8C.01]

    Parameters
    ----------
    vol_v : highest low of the driver [V]
    vil_v : highest level the receiver takes as low [V]

    Returns
    -------
    margin_v : positive is guaranteed [V]
    """
    return vil_v - vol_v


def divided(v_in_v: float, top_ohm: float, bottom_ohm: float) -> float:
    """Output of an unloaded divider: V · bottom / (top + bottom).   [SLTS284E]

    Parameters
    ----------
    v_in_v : voltage on top [V]
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]

    Returns
    -------
    v_out_v : voltage at the middle [V]

    >>> round(divided(5.0, 10e3, 20e3), 2)
    3.33
    """
    return v_in_v * bottom_ohm / (top_ohm + bottom_ohm)


def divider_top(v_in_v: float, v_out_v: float, bottom_ohm: float) -> float:
    """Preferred upper resistor that keeps the output at or under a voltage.   [SLTS284E, IEC 60063]

    Parameters
    ----------
    v_in_v : highest voltage on top [V]
    v_out_v : highest voltage allowed at the middle [V]
    bottom_ohm : lower resistor [ohm]

    Returns
    -------
    top_ohm : member of the E24 series [ohm]

    Raises
    ------
    OutOfRange : nothing to divide, or a value is not positive.

    >>> divider_top(5.0, 3.3, 20e3)
    11000.0
    """
    if not 0 < v_out_v < v_in_v or bottom_ohm <= 0:
        raise OutOfRange(f"A divider cannot bring {v_in_v} V down to {v_out_v} V.")
    wanted = bottom_ohm * (v_in_v / v_out_v - 1)
    top = nearest_e24(wanted)
    while divided(v_in_v, top, bottom_ohm) > v_out_v:
        top = nearest_e24(top * 1.1)
    return top


def adc_step(v_full_v: float, bits: int) -> float:
    """Voltage of one step of a converter: full scale / 2^bits.   [MT-001]

    Parameters
    ----------
    v_full_v : full-scale voltage [V]
    bits : resolution [-]

    Returns
    -------
    step_v : voltage of one code [V]

    >>> f"{adc_step(3.3, 10) * 1000:.1f} mV, {adc_step(3.3, 12) * 1000:.1f} mV"
    '3.2 mV, 0.8 mV'
    """
    if bits < 1 or v_full_v <= 0:
        raise OutOfRange("A converter has at least one bit and a positive full scale.")
    return v_full_v / (1 << bits)
