"""How much current a wire stands before its insulation gets too hot, as data with sources.

Metric flexible wires, copper, PVC 70 °C, 30 °C around them: cables for household and handheld devices with two loaded cores
(``i_pair_a``) and single wires free in air (``i_alone_a``)   [VDE 0298-4: DIN VDE 0298-4, Table 11, read in a cable maker's excerpt]
Gauges: bundled and single wires, the lowest of the table's columns that has all sizes; why it lies so low the copy does
not say   [ARRL: Handbook table of wire currents, read in a public copy]
Hotter surroundings: I · √((70 - t) / (70 - 30)), the same highest temperature of the PVC   [VDE 0298-4, Table 17, from memory]
The excerpts differ by a factor of two between a wire alone in air and one in a bundle; plans use the bundle.
None of this replaces the local code for fixed wiring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.wires import awg_area, awg_resistance, iec60228_resistance
from pinwright.errors import OutOfRange

__all__ = ["CAUTION_FIXED_WIRING", "WIRES", "Wire", "thinnest", "warm_share", "wire"]

CAUTION_FIXED_WIRING = (
    "Wires in walls, ducts and bundles stand far less and fall under the local code: leave fixed wiring to a licensed person."
)

_PVC_C, _RATED_AT_C = 70.0, 30.0
_VDE = "DIN VDE 0298-4, Table 11"
_ARRL = "ARRL Handbook, table of wire currents, in a public copy"


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire by its usual name: copper area [m²], resistance of one conductor at 20 °C [ohm/m], currents at 30 °C [A]."""

    name: str
    area_m2: float
    r_ohm_per_m: float
    i_pair_a: float
    i_alone_a: float | None
    source: str


def _metric(area_mm2: float, i_pair_a: float, i_alone_a: float | None) -> Wire:
    return Wire(f"{area_mm2:g} mm²", area_mm2 * 1e-6, iec60228_resistance(5, area_mm2 * 1e-6), i_pair_a, i_alone_a, _VDE)


def _gauge(awg: int, i_pair_a: float, i_alone_a: float) -> Wire:
    return Wire(f"AWG {awg}", awg_area(awg), awg_resistance(awg) * 1.04, i_pair_a, i_alone_a, _ARRL)  # 4 % for the strands


WIRES: tuple[Wire, ...] = (
    _metric(0.5, 3, None), _metric(0.75, 6, 15), _metric(1, 10, 19), _metric(1.5, 16, 24), _metric(2.5, 25, 32), _metric(4, 32, 42),
    _metric(6, 40, 54), _metric(10, 63, 73),
    _gauge(30, 0.7, 1.3), _gauge(24, 2.0, 3.3), _gauge(22, 2.5, 4.5), _gauge(20, 3.7, 6.5), _gauge(18, 5.0, 9.2), _gauge(16, 6.0, 13.0),
    _gauge(14, 8.0, 19.0), _gauge(12, 12.0, 25.0),
)  # fmt: skip
"""Wires a maker buys.   [VDE 0298-4, ARRL]"""


def wire(name: str) -> Wire:
    """A wire by its name, such as ``0.75 mm²`` or ``AWG 22``.

    Parameters
    ----------
    name : usual name, spaces and case do not matter, ``mm2`` will do [-]

    Returns
    -------
    wire : its data [-]

    Raises
    ------
    OutOfRange : no such wire in the table.

    >>> wire("awg22").i_pair_a
    2.5
    """
    wanted = name.replace(" ", "").replace("mm2", "mm²").casefold()
    found = next((one for one in WIRES if one.name.replace(" ", "").casefold() == wanted), None)
    if found is None:
        raise OutOfRange(f"No current is known for a wire {name!r}; known are {', '.join(one.name for one in WIRES)}.")
    return found


def warm_share(t_ambient_c: float) -> float:
    """Share of its current a PVC wire still stands in hotter surroundings: √((70 - t) / 40), at most 1.   [VDE 0298-4]

    Parameters
    ----------
    t_ambient_c : air around the wire [degC]

    Returns
    -------
    left : share [-]

    Raises
    ------
    OutOfRange : the surroundings are as hot as the PVC may get, or not finite.

    >>> f"{warm_share(45):.2f}"
    '0.79'
    """
    finite(t_ambient_c=t_ambient_c)
    if not np.all(np.asarray(t_ambient_c) < _PVC_C):
        raise OutOfRange(
            f"PVC wire may get {_PVC_C:g} °C hot; at {np.max(t_ambient_c):g} °C around it nothing is left: use silicone or PTFE wire."
        )
    left: float = plain(np.minimum(1.0, np.sqrt((_PVC_C - t_ambient_c) / (_PVC_C - _RATED_AT_C))))
    return left


def thinnest(i_a: float, r_max_ohm_per_m: float | None = None, t_ambient_c: float = 30.0, system: str = "metric") -> Wire:
    """Thinnest wire that stands a current side by side with its return, and if asked keeps a resistance.   [VDE 0298-4, ARRL]

    Parameters
    ----------
    i_a : current to stand: the rating of the fuse in front of it, not the load alone [A]
    r_max_ohm_per_m : highest resistance of one conductor at 20 °C, None for any [ohm/m]
    t_ambient_c : air around the wire [degC]
    system : ``metric`` or ``awg`` [-]

    Returns
    -------
    wire : its data [-]

    Raises
    ------
    OutOfRange : no wire of the table is thick enough, or no such system.

    >>> thinnest(5.0).name, thinnest(5.0, system="awg").name
    ('0.75 mm²', 'AWG 18')
    """
    positive(i_a=i_a)
    if r_max_ohm_per_m is not None:
        positive(resistance_per_metre=r_max_ohm_per_m)
    if system not in ("metric", "awg"):
        raise OutOfRange(f"Wires are metric or awg, not {system!r}.")
    left = warm_share(t_ambient_c)
    rows = sorted((one for one in WIRES if one.name.startswith("AWG") == (system == "awg")), key=lambda one: one.area_m2)
    for one in rows:
        if one.i_pair_a * left >= i_a and (r_max_ohm_per_m is None or one.r_ohm_per_m <= r_max_ohm_per_m):
            return one
    thick = rows[-1]
    raise OutOfRange(
        f"Even {thick.name} does not do ({thick.i_pair_a * left:.3g} A, {thick.r_ohm_per_m * 1e3:.3g} mΩ/m): "
        "split the load over several feeds, each with a fuse, or raise the voltage."
    )
