"""Addressable LEDs on one data wire: pulse windows, data level, frame time, supply current.

Bits of 0.4 or 0.8 us high in 1.25 us, each ± 150 ns; 24 bits a pixel; low for more than 50 us ends the frame; a high is 0.7 VDD
[WS2812B data sheet, timing and electrical tables, read in reproduced form; newer parts want about 280 us].
3 x 20 mA a pixel at full white   [common planning figure, from memory: measure the strip at hand].
What follows from these is tagged derived.
"""

from __future__ import annotations

import math

import numpy as np

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

__all__ = [
    "bit_time",
    "frame_rate_max",
    "frame_time",
    "input_high",
    "level_margin",
    "pixels_max",
    "pulse_window",
    "supply_current",
    "supply_max_for_level",
    "ticks",
]


def bit_time(t_high_s: float, t_low_s: float) -> float:
    """Time of one bit: high and low together.   [WS2812B]

    Parameters
    ----------
    t_high_s : time the line is high [s]
    t_low_s : time the line is low [s]

    Returns
    -------
    t_bit_s : time of a bit [s]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{bit_time(0.4e-6, 0.85e-6) * 1e6:.2f} us"
    '1.25 us'
    """
    positive(t_high_s=t_high_s, t_low_s=t_low_s)
    return t_high_s + t_low_s


def pulse_window(t_s: float, tolerance_s: float) -> Range:
    """Shortest and longest pulse that is still read as meant.   [WS2812B]

    Parameters
    ----------
    t_s : nominal time [s]
    tolerance_s : tolerance, either sign [s]

    Returns
    -------
    t_s : window [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the tolerance is as long as the pulse.

    >>> found = pulse_window(400e-9, 150e-9)
    >>> f"{found.low * 1e9:.0f} ns to {found.high * 1e9:.0f} ns"
    '250 ns to 550 ns'
    """
    positive(t_s=t_s)
    not_negative(tolerance_s=tolerance_s)
    if tolerance_s >= t_s:
        raise OutOfRange("The tolerance of a pulse must be shorter than the pulse.")
    return Range(t_s - tolerance_s, t_s + tolerance_s, t_s)


def ticks(window: Range, f_clk_hz: float) -> range:
    """Whole clock ticks that make a pulse inside its window; empty where the clock is too coarse.   [derived]

    Parameters
    ----------
    window : shortest and longest pulse [s]
    f_clk_hz : clock of the pulse engine [Hz]

    Returns
    -------
    ticks : from the fewest to the most [-]

    Raises
    ------
    OutOfRange : the clock is not positive.

    >>> list(ticks(pulse_window(400e-9, 150e-9), 10e6)), list(ticks(pulse_window(400e-9, 150e-9), 1e6))
    ([3, 4, 5], [])
    """
    positive(f_clk_hz=f_clk_hz)
    return range(max(1, math.ceil(window.low * f_clk_hz - 1e-9)), math.floor(window.high * f_clk_hz + 1e-9) + 1)


def input_high(v_supply_v: float, vih_share: float = 0.7) -> float:
    """Level the data input takes as high: a share of its supply.   [WS2812B]

    Parameters
    ----------
    v_supply_v : supply of the pixels [V]
    vih_share : share of the supply [-]

    Returns
    -------
    vih_v : lowest high level [V]

    Raises
    ------
    OutOfRange : the supply is not positive, or the share no share.

    >>> input_high(5.0)
    3.5
    """
    positive(v_supply_v=v_supply_v)
    share(vih_share=vih_share)
    return v_supply_v * vih_share


def level_margin(voh_v: float, v_supply_v: float, vih_share: float = 0.7) -> float:
    """How far a driver's high lies above what the first pixel needs; negative is not guaranteed.   [WS2812B]

    Parameters
    ----------
    voh_v : lowest high of the driver [V]
    v_supply_v : highest supply of the pixels [V]
    vih_share : share of the supply [-]

    Returns
    -------
    margin_v : margin [V]

    Raises
    ------
    OutOfRange : a value is negative, or the share no share.

    >>> f"{level_margin(3.3, 5.0):+.2f} V"
    '-0.20 V'
    """
    not_negative(voh_v=voh_v)
    return voh_v - input_high(v_supply_v, vih_share)


def supply_max_for_level(voh_v: float, vih_share: float = 0.7) -> float:
    """Highest supply of the first pixel at which a driver's high is still read: VOH / share.   [derived]

    Parameters
    ----------
    voh_v : lowest high of the driver [V]
    vih_share : share of the supply [-]

    Returns
    -------
    v_supply_v : upper limit [V]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{supply_max_for_level(3.3):.2f} V"
    '4.71 V'
    """
    positive(voh_v=voh_v, vih_share=vih_share)
    return voh_v / vih_share


def frame_time(n: int, t_bit_s: float = 1.25e-6, t_reset_s: float = 280e-6, bits_per_pixel: int = 24) -> float:
    """Time to send a whole strip: n bits-per-pixel t_bit + reset.   [WS2812B]

    Parameters
    ----------
    n : pixels on one data wire [-]
    t_bit_s : time of a bit [s]
    t_reset_s : low time that ends a frame; 50 us on older parts, 280 us is safe for both [s]
    bits_per_pixel : 24, or 32 with white [-]

    Returns
    -------
    t_frame_s : shortest time from frame to frame [s]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{frame_time(60, t_reset_s=50e-6) * 1e6:.0f} us"
    '1850 us'
    """
    positive(n=n, t_bit_s=t_bit_s, bits_per_pixel=bits_per_pixel)
    not_negative(t_reset_s=t_reset_s)
    return n * bits_per_pixel * t_bit_s + t_reset_s


def frame_rate_max(n: int, t_bit_s: float = 1.25e-6, t_reset_s: float = 280e-6, bits_per_pixel: int = 24) -> float:
    """Frames a second a strip can take.   [WS2812B]

    Parameters
    ----------
    n : pixels on one data wire [-]
    t_bit_s : time of a bit [s]
    t_reset_s : low time that ends a frame [s]
    bits_per_pixel : 24, or 32 with white [-]

    Returns
    -------
    f_frame_hz : upper limit [Hz]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{frame_rate_max(300):.0f} Hz"
    '108 Hz'
    """
    return 1 / frame_time(n, t_bit_s, t_reset_s, bits_per_pixel)


def pixels_max(f_frame_hz: float, t_bit_s: float = 1.25e-6, t_reset_s: float = 280e-6, bits_per_pixel: int = 24) -> int:
    """Pixels on one data wire that still reach a frame rate.   [derived]

    Parameters
    ----------
    f_frame_hz : wanted frames a second [Hz]
    t_bit_s : time of a bit [s]
    t_reset_s : low time that ends a frame [s]
    bits_per_pixel : 24, or 32 with white [-]

    Returns
    -------
    n : pixels, 0 where even one is too slow [-]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> pixels_max(60)
    546
    """
    positive(f_frame_hz=f_frame_hz, t_bit_s=t_bit_s, bits_per_pixel=bits_per_pixel)
    not_negative(t_reset_s=t_reset_s)
    return max(0, math.floor((1 / f_frame_hz - t_reset_s) / (bits_per_pixel * t_bit_s) + 1e-9))


def supply_current(n: float, i_pixel_a: float = 0.060, brightness: float = 1.0, i_idle_a: float = 0.0) -> float:
    """Supply current of a strip at full white times a brightness, and what each pixel draws dark.   [WS2812B, planning figure]

    A brightness held in firmware protects nothing while firmware is absent or wrong: plan wires and fuse for full white.

    Parameters
    ----------
    n : pixels [-]
    i_pixel_a : one pixel at full white [A]
    brightness : share of full white [-]
    i_idle_a : one pixel dark, about 1 mA [A]

    Returns
    -------
    i_a : supply current [A]

    Raises
    ------
    OutOfRange : a value is negative, or the brightness no share.

    >>> f"{supply_current(60):.2f}, {supply_current(60, brightness=0.2, i_idle_a=1e-3):.2f}"
    '3.60, 0.77'
    """
    positive(n=n)
    not_negative(i_pixel_a=i_pixel_a, i_idle_a=i_idle_a)
    share(brightness=brightness)
    i_a: float = plain(n * (i_idle_a + np.maximum(i_pixel_a - i_idle_a, 0) * brightness))
    return i_a
