"""Fuse and wire for a load: the fuse protects the wire, so it stands between the load's current and what the wire stands.

At least 1.25 times the steady current (a fuse lives long below 75 to 80 % of its rating), at most what the wire stands   [common
practice, no source; the 75 % at 25 °C read in a public page on fuses after the makers' guides]
Ratings of small fuses, R10 series   [IEC 60127, from memory]; of blade fuses for cars, 32 V DC   [ISO 8820-3, from memory]
Polymer fuses hold less when warm: table of shares of the current at 23 °C, a widespread radial series   [MF-R: Bourns MF-R data
sheet, thermal derating chart of the 1.10 A type, from memory]
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.ampacity import Wire, thinnest, warm_share
from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.window import Limit, Window
from pinwright.circuits.wires import cable_drop, copper_temperature_factor, loop_resistance_max
from pinwright.errors import OutOfRange

__all__ = [
    "BLADE_FUSES_A",
    "CAUTION_FUSE",
    "CAUTION_POLYFUSE",
    "FUSE_FACTOR",
    "SMALL_FUSES_A",
    "FusedFeed",
    "fuse_in",
    "fuse_window",
    "fused_feed",
    "polyfuse_hold",
    "polyfuse_window",
]

FUSE_FACTOR = 1.25
"""Rating of a fuse over the steady current.   [common practice, no source]"""
BLADE_FUSES_A = (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
SMALL_FUSES_A = (0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0)

CAUTION_FUSE = (
    "Put the fuse close to the source, in the positive wire, rated for the DC voltage; every branch on thinner wire needs its own. "
    "Never bridge or oversize a fuse. On the mains side and in fixed wiring the local code decides and a licensed person works."
)
CAUTION_POLYFUSE = (
    "A polymer fuse limits, it does not disconnect: tripped it stays hot and passes some current, it keeps more resistance after "
    "a trip, and above its highest voltage or current it burns. It is no substitute for a fuse at a cell or a big supply."
)

_DERATING_C = (-40.0, -20.0, 0.0, 23.0, 40.0, 50.0, 60.0, 70.0, 85.0)
_DERATING = (1.55, 1.36, 1.19, 1.0, 0.81, 0.72, 0.63, 0.54, 0.40)


@dataclass(frozen=True, slots=True)
class FusedFeed:
    """A feed that fits together: wire, fuse, what is lost on the way, and the cautions to show with it."""

    wire: Wire
    fuse_a: float
    window: Window
    drop_v: float
    cautions: tuple[str, ...]


def fuse_window(i_steady_a: float, i_wire_a: float) -> Window:
    """Ratings a fuse may have: from 1.25 times the steady current to what the wire stands.   [common practice, no source]

    Parameters
    ----------
    i_steady_a : highest lasting current of the load [A]
    i_wire_a : current the thinnest wire behind the fuse stands, warm [A]

    Returns
    -------
    i_fuse_a : lowest and highest rating; empty where the wire is too thin [A]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> fuse_window(3.6, 6.0).words
    'from 4.5 A (the steady current with its margin) to 6 A (what the wire stands)'
    """
    positive(i_steady_a=i_steady_a, i_wire_a=i_wire_a)
    return Window.of(
        [Limit(FUSE_FACTOR * i_steady_a, "the steady current with its margin")], [Limit(i_wire_a, "what the wire stands")], "A"
    )


def fuse_in(window: Window, ratings_a: tuple[float, ...] = BLADE_FUSES_A) -> float | None:
    """Smallest rating of a series inside a window: the least that does not nag protects best.   [common practice, no source]

    Parameters
    ----------
    window : what is allowed, see ``fuse_window`` [A]
    ratings_a : ratings to be had [A]

    Returns
    -------
    i_fuse_a : None where none fits [A]

    >>> fuse_in(fuse_window(3.6, 6.0))
    5.0
    """
    return next((rating for rating in sorted(ratings_a) if rating in window), None)


def fused_feed(
    i_steady_a: float,
    length_m: float,
    drop_max_v: float,
    t_ambient_c: float = 30.0,
    system: str = "metric",
    ratings_a: tuple[float, ...] = BLADE_FUSES_A,
) -> FusedFeed:
    """Fuse and thinnest wire for a load at the end of a cable: wire above fuse above 1.25 times the current, and the drop kept.

    The copper is taken as warm as the air around it; a wire near its limit is warmer and drops up to a sixth more.

    Parameters
    ----------
    i_steady_a : highest lasting current of the load [A]
    length_m : length of the cable, one way [m]
    drop_max_v : voltage that may be lost there and back [V]
    t_ambient_c : air around the wire [degC]
    system : ``metric`` or ``awg`` [-]
    ratings_a : fuses to be had [A]

    Returns
    -------
    feed : wire, fuse, window, drop and cautions [-]

    Raises
    ------
    OutOfRange : a value is not positive, or no fuse or no wire of the tables fits.

    >>> feed = fused_feed(3.6, 3.0, 0.3)
    >>> feed.wire.name, feed.fuse_a, f"{feed.drop_v:.2f} V"
    ('1.5 mm²', 5.0, '0.30 V')
    """
    positive(i_steady_a=i_steady_a, length_m=length_m, drop_max_v=drop_max_v)
    rated = next((rating for rating in sorted(ratings_a) if rating >= FUSE_FACTOR * i_steady_a * (1 - 1e-9)), None)
    if rated is None:
        raise OutOfRange(
            f"No fuse of the series carries {i_steady_a:g} A with its margin ({FUSE_FACTOR * i_steady_a:g} A): "
            "split the load over several feeds, each with a fuse."
        )
    hot_c = max(t_ambient_c, 20.0)
    r_max = loop_resistance_max(drop_max_v, i_steady_a) / (2 * length_m) * copper_temperature_factor(hot_c)
    found = thinnest(rated, r_max, t_ambient_c, system)
    return FusedFeed(
        found,
        rated,
        fuse_window(i_steady_a, found.i_pair_a * warm_share(t_ambient_c)),
        cable_drop(length_m, found.r_ohm_per_m, i_steady_a, hot_c),
        (CAUTION_FUSE,),
    )


def polyfuse_hold(
    i_hold_a: float, t_ambient_c: float, curve_c: tuple[float, ...] = _DERATING_C, shares: tuple[float, ...] = _DERATING
) -> float:
    """Current a polymer fuse holds for ever at a temperature, from its current at 23 °C.   [MF-R]

    Parameters
    ----------
    i_hold_a : hold current at 23 °C, for a trip current see its data sheet [A]
    t_ambient_c : air around it, inside the box [degC]
    curve_c : temperatures of the derating chart, rising [degC]
    shares : share of the hold current at each of them [-]

    Returns
    -------
    i_a : hold current there [A]

    Raises
    ------
    OutOfRange : the current is not positive, the chart not rising, or the temperature outside of it.

    >>> f"{polyfuse_hold(1.1, 60):.2f} A"
    '0.69 A'
    """
    positive(i_hold_a=i_hold_a, shares=shares)
    finite(t_ambient_c=t_ambient_c, curve_c=curve_c)
    if len(curve_c) != len(shares) or len(curve_c) < 2 or any(b <= a for a, b in itertools.pairwise(curve_c)):
        raise OutOfRange("A derating chart needs rising temperatures and a share for each.")
    if not np.all((np.asarray(t_ambient_c) >= curve_c[0]) & (np.asarray(t_ambient_c) <= curve_c[-1])):
        raise OutOfRange(f"The derating chart runs from {curve_c[0]:g} to {curve_c[-1]:g} °C.")
    i_a: float = plain(i_hold_a * np.interp(t_ambient_c, curve_c, shares))
    return i_a


def polyfuse_window(i_steady_a: float, i_fault_max_a: float, t_cold_c: float, t_hot_c: float, trip_over_hold: float = 2.0) -> Window:
    """Hold currents at 23 °C a polymer fuse may have: holds the load when hot, still trips on the fault when cold.   [MF-R]

    Parameters
    ----------
    i_steady_a : highest lasting current [A]
    i_fault_max_a : current that must trip it: what the source gives, or what the wire stands, the smaller [A]
    t_cold_c : coldest surroundings [degC]
    t_hot_c : hottest surroundings, inside the box [degC]
    trip_over_hold : trip current over hold current, about 2 [-]

    Returns
    -------
    i_hold_a : lowest and highest hold current at 23 °C [A]

    Raises
    ------
    OutOfRange : a value is not positive, or a temperature outside of the chart.

    >>> polyfuse_window(0.5, 2.5, 0, 50).words
    'from 694 mA (the steady current when hot) to 1.05 A (the fault that must trip it when cold)'
    """
    positive(i_steady_a=i_steady_a, i_fault_max_a=i_fault_max_a, trip_over_hold=trip_over_hold)
    return Window.of(
        [Limit(i_steady_a / polyfuse_hold(1.0, t_hot_c), "the steady current when hot")],
        [Limit(i_fault_max_a / (trip_over_hold * polyfuse_hold(1.0, t_cold_c)), "the fault that must trip it when cold")],
        "A",
    )
