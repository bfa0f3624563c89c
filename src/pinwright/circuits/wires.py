"""Wires: gauge and area, resistance hot and cold, the voltage they drop, and where a long strip must be fed.

d = 0.127 mm · 92^((36 - n) / 39)   [ASTM B258: wire gauge; values read in a university table after a handbook]
R = ρ l / A with ρ = 0.017241 Ω mm²/m at 20 °C, solid annealed copper   [IEC 60028, from memory; agrees with the table read for
ASTM B258].  Stranded wire has up to 4 % more.   [common practice, no source]
Highest resistance of metric conductors at 20 °C, Tables 1 to 3   [IEC 60228: IEC 60228 (2004), Conductors of insulated cables, read in
copies of makers]
R_t = R_20 / k_t, k_t = 1 / (1 + 0.004 (t - 20))   [IEC 60228, annex of temperature correction factors]
Drop of evenly spread loads: half of I R at the end fed from one side, an eighth fed from both   [derived]
The rest is Ohm's law   [Ohm's law].  How much current a wire stands is in ``ampacity``.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.errors import OutOfRange

__all__ = [
    "IEC_60228_OHM_PER_KM",
    "RHO_COPPER_OHM_M",
    "Coating",
    "awg_area",
    "awg_diameter",
    "awg_resistance",
    "cable_drop",
    "copper_resistance",
    "copper_temperature_factor",
    "distributed_drop",
    "feeds_needed",
    "iec60228_resistance",
    "loop_resistance",
    "loop_resistance_max",
    "strip_drop",
]

Coating = Literal["plain", "tinned"]

RHO_COPPER_OHM_M = 1.7241e-8
_ALPHA_PER_K = 0.004
_COLDEST_C = -200.0  # the straight line of the standard is not meant to reach so far

# Area in mm², then highest resistance in ohm/km at 20 °C: classes 1 and 2 (plain, tinned), classes 5 and 6 (plain, tinned).
_IEC_60228 = """
0.5   36.0  36.7  39.0  40.1
0.75  24.5  24.8  26.0  26.7
1     18.1  18.2  19.5  20.0
1.5   12.1  12.2  13.3  13.7
2.5   7.41  7.56  7.98  8.21
4     4.61  4.70  4.95  5.09
6     3.08  3.11  3.30  3.39
10    1.83  1.84  1.91  1.95
16    1.15  1.16  1.21  1.24
25    0.727 0.734 0.780 0.795
35    0.524 0.529 0.554 0.565
50    0.387 0.391 0.386 0.393
70    0.268 0.270 0.272 0.277
95    0.193 0.195 0.206 0.210
"""

IEC_60228_OHM_PER_KM: dict[float, tuple[float, float, float, float]] = {
    row[0]: (row[1], row[2], row[3], row[4]) for row in (tuple(map(float, line.split())) for line in _IEC_60228.strip().splitlines())
}
"""Area [mm²] to resistance [ohm/km]: solid or stranded plain and tinned, flexible plain and tinned.   [IEC 60228]"""


def awg_diameter(awg: float) -> float:
    """Diameter of the solid wire of a gauge; 1/0 to 4/0 are 0 to -3.   [ASTM B258]

    Parameters
    ----------
    awg : gauge number, -3 to 50 [-]

    Returns
    -------
    d_m : diameter [m]

    Raises
    ------
    OutOfRange : no such gauge.

    >>> f"{awg_diameter(24) * 1e3:.3f} mm"
    '0.511 mm'
    """
    finite(awg=awg)
    if not np.all((np.asarray(awg) >= -3) & (np.asarray(awg) <= 50)):
        raise OutOfRange(f"Wire gauges run from 4/0 (-3) to 50, not {awg}.")
    d_m: float = 0.127e-3 * 92.0 ** ((36 - awg) / 39)
    return d_m


def awg_area(awg: float) -> float:
    """Copper area of a gauge: π d² / 4.   [ASTM B258]

    Parameters
    ----------
    awg : gauge number, -3 to 50 [-]

    Returns
    -------
    area_m2 : cross-section [m2]

    Raises
    ------
    OutOfRange : no such gauge.

    >>> f"{awg_area(18) * 1e6:.3f} mm²"
    '0.823 mm²'
    """
    return math.pi / 4 * awg_diameter(awg) ** 2


def copper_resistance(area_m2: float) -> float:
    """Resistance of solid copper per metre at 20 °C: ρ / A.   [IEC 60028]

    Parameters
    ----------
    area_m2 : cross-section [m2]

    Returns
    -------
    r_ohm_per_m : resistance of one wire [ohm/m]

    Raises
    ------
    OutOfRange : the area is not positive.

    >>> f"{copper_resistance(1e-6) * 1e3:.2f} mΩ/m"
    '17.24 mΩ/m'
    """
    positive(area_m2=area_m2)
    return RHO_COPPER_OHM_M / area_m2


def awg_resistance(awg: float) -> float:
    """Resistance of a gauge per metre at 20 °C, solid copper.   [ASTM B258, IEC 60028]

    Parameters
    ----------
    awg : gauge number, -3 to 50 [-]

    Returns
    -------
    r_ohm_per_m : resistance of one wire [ohm/m]

    Raises
    ------
    OutOfRange : no such gauge.

    >>> f"{awg_resistance(24) * 1e3:.1f} mΩ/m"
    '84.2 mΩ/m'
    """
    return copper_resistance(awg_area(awg))


def iec60228_resistance(conductor_class: int, area_m2: float, coating: Coating = "plain") -> float:
    """Highest resistance a metric conductor may have at 20 °C.   [IEC 60228]

    Parameters
    ----------
    conductor_class : 1 solid, 2 stranded, 5 flexible, 6 very flexible [-]
    area_m2 : nominal cross-section, one of the standard's up to 95 mm² [m2]
    coating : plain or tinned wires [-]

    Returns
    -------
    r_ohm_per_m : resistance of one wire [ohm/m]

    Raises
    ------
    OutOfRange : no such class, area or coating.

    >>> f"{iec60228_resistance(5, 0.5e-6) * 1e3:.1f} mΩ/m"
    '39.0 mΩ/m'
    """
    positive(area_m2=area_m2)
    if conductor_class not in (1, 2, 5, 6):
        raise OutOfRange(f"Conductors are of class 1, 2, 5 or 6, not {conductor_class}.")
    if coating not in ("plain", "tinned"):
        raise OutOfRange(f"Wires are plain or tinned, not {coating!r}.")
    area = next((one for one in IEC_60228_OHM_PER_KM if math.isclose(one, area_m2 * 1e6, rel_tol=1e-6)), None)
    if area is None:
        known = ", ".join(f"{one:g}" for one in IEC_60228_OHM_PER_KM)
        raise OutOfRange(f"{area_m2 * 1e6:g} mm² is no area of the standard; known are {known} mm².")
    return IEC_60228_OHM_PER_KM[area][(2 if conductor_class > 2 else 0) + (coating == "tinned")] / 1e3


def copper_temperature_factor(t_c: float) -> float:
    """k_t of copper: resistance at t is the one at 20 °C divided by it: 1 / (1 + 0.004 (t - 20)).   [IEC 60228]

    Parameters
    ----------
    t_c : temperature of the conductor [degC]

    Returns
    -------
    k_t : above 1 for cold wires [-]

    Raises
    ------
    OutOfRange : the temperature is not finite, or so low that the rule ends.

    >>> f"{copper_temperature_factor(75):.3f}"
    '0.820'
    """
    finite(t_c=t_c)
    if not np.all(np.asarray(t_c) > _COLDEST_C):
        raise OutOfRange(f"The rule for copper holds above -200 °C, not at {np.min(t_c):g} °C.")
    return 1 / (1 + _ALPHA_PER_K * (t_c - 20))


def loop_resistance(length_m: float, r_ohm_per_m: float, t_c: float = 20.0) -> float:
    """Resistance there and back, at a temperature: 2 l R' / k_t.   [IEC 60228]

    Parameters
    ----------
    length_m : length of the cable, one way [m]
    r_ohm_per_m : resistance of one wire at 20 °C [ohm/m]
    t_c : temperature of the conductor [degC]

    Returns
    -------
    r_loop_ohm : both wires together [ohm]

    Raises
    ------
    OutOfRange : a value is negative or not finite.

    >>> f"{loop_resistance(2, 0.039):.3f} Ω, {loop_resistance(2, 0.039, 60):.3f} Ω"
    '0.156 Ω, 0.181 Ω'
    """
    not_negative(length_m=length_m, resistance_per_metre=r_ohm_per_m)
    return 2 * length_m * r_ohm_per_m / copper_temperature_factor(t_c)


def cable_drop(length_m: float, r_ohm_per_m: float, i_a: float, t_c: float = 20.0) -> float:
    """Voltage lost there and back to a load at the end: 2 l R' I / k_t.   [Ohm's law, IEC 60228]

    Parameters
    ----------
    length_m : length of the cable, one way [m]
    r_ohm_per_m : resistance of one wire at 20 °C [ohm/m]
    i_a : current [A]
    t_c : temperature of the conductor [degC]

    Returns
    -------
    drop_v : voltage lost [V]

    Raises
    ------
    OutOfRange : a value is negative or not finite.

    >>> f"{cable_drop(2, 0.039, 3):.3f} V"
    '0.468 V'
    """
    not_negative(i_a=i_a)
    return loop_resistance(length_m, r_ohm_per_m, t_c) * i_a


def distributed_drop(length_m: float, r_ohm_per_m: float, i_a: float, t_c: float = 20.0) -> float:
    """Voltage lost at the far end of evenly spread loads fed from one end: half of a load at the end.   [derived]

    Parameters
    ----------
    length_m : length over which the loads are spread [m]
    r_ohm_per_m : resistance of one conductor at 20 °C [ohm/m]
    i_a : current of all loads together [A]
    t_c : temperature of the conductor [degC]

    Returns
    -------
    drop_v : voltage lost at the far end [V]

    Raises
    ------
    OutOfRange : a value is negative or not finite.

    >>> f"{distributed_drop(1, 0.039, 3.6):.4f} V"
    '0.1404 V'
    """
    return cable_drop(length_m, r_ohm_per_m, i_a, t_c) / 2


def loop_resistance_max(drop_max_v: float, i_a: float) -> float:
    """Largest resistance there and back that keeps a drop: V / I.   [Ohm's law]

    Parameters
    ----------
    drop_max_v : voltage that may be lost [V]
    i_a : current [A]

    Returns
    -------
    r_loop_ohm : upper limit, contacts and fuse included [ohm]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> f"{loop_resistance_max(0.25, 3.0) * 1e3:.0f} mΩ"
    '83 mΩ'
    """
    positive(drop_max_v=drop_max_v, i_a=i_a)
    return drop_max_v / i_a


def strip_drop(r_loop_ohm: float, i_a: float, feeds: int = 1) -> float:
    """Deepest drop along a strip of evenly spread loads: I R / 2 from one end, I R / (8 (n - 1)²) from n even points.   [derived]

    With two and more feeds the first and the last sit at the ends, so each stretch between them is fed from both sides.

    Parameters
    ----------
    r_loop_ohm : resistance of the whole strip there and back [ohm]
    i_a : current of the whole strip [A]
    feeds : number of points where the supply is connected [-]

    Returns
    -------
    drop_v : voltage lost at the worst place, feed wires not counted [V]

    Raises
    ------
    OutOfRange : a value is negative, or there is no feed.

    >>> f"{strip_drop(0.5, 6.0):.2f} V, {strip_drop(0.5, 6.0, 2):.3f} V"
    '1.50 V, 0.375 V'
    """
    not_negative(r_loop_ohm=r_loop_ohm, i_a=i_a)
    if feeds < 1 or feeds != int(feeds):
        raise OutOfRange(f"A strip has a whole number of feeds, at least one, not {feeds}.")
    return r_loop_ohm * i_a / (2 if feeds == 1 else 8 * (feeds - 1) ** 2)


def feeds_needed(r_loop_ohm: float, i_a: float, drop_max_v: float) -> int:
    """Fewest evenly spaced feeds that keep the drop along a strip, see ``strip_drop``.   [derived]

    Parameters
    ----------
    r_loop_ohm : resistance of the whole strip there and back [ohm]
    i_a : current of the whole strip [A]
    drop_max_v : drop allowed along the strip [V]

    Returns
    -------
    feeds : number of points, 1 is one end only, 2 is both ends [-]

    Raises
    ------
    OutOfRange : a value is negative, or no drop is allowed.

    >>> feeds_needed(0.5, 6.0, 0.25)
    3
    """
    not_negative(r_loop_ohm=r_loop_ohm, i_a=i_a)
    positive(drop_max_v=drop_max_v)
    if strip_drop(r_loop_ohm, i_a) <= drop_max_v:
        return 1
    stretches = max(1, math.ceil(math.sqrt(r_loop_ohm * i_a / (8 * drop_max_v)) - 1e-9))
    return stretches + 1
