"""Is a voltage harmless to work on?  Limits of extra-low voltage, and what to say above them.

Extra-low voltage: up to and including 50 V AC or 120 V ripple-free DC (peak 140 V)   [IEC 61140 and IEC 60364-4-41; the
definition read in IEC 62257-7-1, 3.55 and IEC 61558-1, 3.7.16]
Bare parts that may be touched in the dry, from a safely separated source: 25 V AC or 60 V DC   [EN/IEC 60204-1, 6.4, read as
quoted in public documents; IEC 60364-4-41, 414.4.5, from memory]
In the wet and in the open: 12 V AC or 30 V DC   [IEC 60364-4-41, 414.4.5, from memory; the same figures read for luminaires
other than ordinary ones in IEC 60598-1:2008, 8.2.3 as quoted in a public forum]
Peak of ripple-free DC: 7/6 of the nominal voltage (140 V for 120 V, 70 V for 60 V)   [IEC 61558-1, from memory]
These limits say nothing of current: a 12 V accumulator melts a spanner.   [common practice, no source]
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.bounds import not_negative
from pinwright.errors import OutOfRange

__all__ = [
    "CAUTION_CURRENT",
    "CAUTION_INSULATE",
    "CAUTION_LICENSED",
    "LIMITS",
    "Hazard",
    "Kind",
    "Place",
    "VoltageLimits",
    "classify",
    "is_extra_low",
    "is_touchable",
    "limits",
]

Kind = Literal["ac", "dc"]
Place = Literal["general", "dry", "wet"]

CAUTION_LICENSED = (
    "This voltage kills. Above 50 V AC or 120 V DC the work belongs to a person licensed for it under your local code; buy a "
    "finished, certified device for this part, keep it in a closed earthed or double-insulated box, and fuse it."
)
CAUTION_INSULATE = (
    "Above what may be touched: cover bare parts so that no finger reaches them, take the voltage from a source safely separated "
    "from the mains, switch off before working, and follow your local code."
)
CAUTION_CURRENT = "Low voltage still burns: put a fuse close to the source, and take rings and watches off near cells and big supplies."


@dataclass(frozen=True, slots=True)
class VoltageLimits:
    """Highest voltages of a place: AC (root mean square), ripple-free DC, and the peak that DC may reach."""

    ac_v: float
    dc_v: float
    dc_peak_v: float


LIMITS: dict[Place, VoltageLimits] = {
    "general": VoltageLimits(50.0, 120.0, 140.0),
    "dry": VoltageLimits(25.0, 60.0, 70.0),
    "wet": VoltageLimits(12.0, 30.0, 35.0),
}


@dataclass(frozen=True, slots=True)
class Hazard:
    """What a voltage asks for: ``level`` is ``touchable``, ``insulate`` or ``licensed``; ``caution`` says it in words."""

    level: Literal["touchable", "insulate", "licensed"]
    limit_v: float
    caution: str


def limits(place: Place = "general") -> VoltageLimits:
    """Limits of extra-low voltage (``general``) and of bare parts that may be touched (``dry``, ``wet``).   [IEC 61140]

    Parameters
    ----------
    place : ``general``, ``dry`` or ``wet`` [-]

    Returns
    -------
    limits : AC, DC and peak of DC [V]

    Raises
    ------
    OutOfRange : no such place.

    >>> limits("general").ac_v, limits("dry").dc_v
    (50.0, 60.0)
    """
    if place not in LIMITS:
        raise OutOfRange(f"Limits are known for {', '.join(LIMITS)}, not for {place!r}.")
    return LIMITS[place]


def is_extra_low(kind: Kind, v_v: float) -> bool:
    """Does a voltage count as extra-low?  The limit itself does.   [IEC 61140]

    Parameters
    ----------
    kind : ``ac`` (root mean square) or ``dc`` (ripple-free) [-]
    v_v : highest voltage between conductors or to earth, also without load [V]

    Returns
    -------
    is_elv : up to 50 V AC or 120 V DC [-]

    Raises
    ------
    OutOfRange : the voltage is negative, or neither AC nor DC.

    >>> is_extra_low("dc", 120), is_extra_low("ac", 60)
    (True, False)
    """
    return _limit(kind, "general") >= _checked(v_v)


def is_touchable(kind: Kind, v_v: float, place: Place = "dry") -> bool:
    """May bare parts at this voltage be touched?   [EN/IEC 60204-1, IEC 60364-4-41]

    Parameters
    ----------
    kind : ``ac`` (root mean square) or ``dc`` (ripple-free) [-]
    v_v : highest voltage [V]
    place : ``dry`` or ``wet`` [-]

    Returns
    -------
    is_touchable : from a safely separated source [-]

    Raises
    ------
    OutOfRange : the voltage is negative, neither AC nor DC, or no such place.

    >>> is_touchable("ac", 24), is_touchable("ac", 24, "wet")
    (True, False)
    """
    if place == "general":
        raise OutOfRange("Whether a part may be touched depends on the place: dry or wet.")
    return _limit(kind, place) >= _checked(v_v)


def classify(kind: Kind, v_v: float, place: Place = "dry") -> Hazard:
    """What a voltage asks of the person who builds with it.   [IEC 61140, IEC 60364-4-41]

    Parameters
    ----------
    kind : ``ac`` (root mean square) or ``dc`` (ripple-free) [-]
    v_v : highest voltage [V]
    place : ``dry`` or ``wet`` [-]

    Returns
    -------
    hazard : level, the limit passed or kept, and the caution to show [V]

    Raises
    ------
    OutOfRange : the voltage is negative, neither AC nor DC, or no such place.

    >>> classify("ac", 230).level, classify("dc", 24).level
    ('licensed', 'touchable')
    """
    if not is_extra_low(kind, v_v):
        return Hazard("licensed", _limit(kind, "general"), CAUTION_LICENSED)
    if not is_touchable(kind, v_v, place):
        return Hazard("insulate", _limit(kind, place), CAUTION_INSULATE)
    return Hazard("touchable", _limit(kind, place), CAUTION_CURRENT)


def _limit(kind: Kind, place: Place) -> float:
    if kind not in ("ac", "dc"):
        raise OutOfRange(f"A voltage is ac or dc, not {kind!r}.")
    found = limits(place)
    return found.ac_v if kind == "ac" else found.dc_v


def _checked(v_v: float) -> float:
    not_negative(v_v=v_v)
    return v_v
