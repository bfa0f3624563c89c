"""The wire list of a build: every wire with its two ends, colour, cross-section, gauge, length and current.

Colour codes are those of IEC 60757, gauges those of ASTM B258 (``circuits.wires``), their currents those of ``circuits.ampacity``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from pinwright.circuits.ampacity import WIRES
from pinwright.circuits.window import shown
from pinwright.circuits.wires import awg_area
from pinwright.errors import OutOfRange
from pinwright.pack.build.model import Build, Wire
from pinwright.pack.csv_text import csv_text

__all__ = ["WireRow", "colour_word", "nearest_awg", "wire_csv", "wire_list"]

COLOUR_WORDS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue", "VT": "violet", "GY": "grey",
    "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver", "GNYE": "green-and-yellow",
}  # fmt: skip
"""Letter codes of colours   [IEC 60757:2021, Table 1, from memory; two colours follow one another: 5.1, read in a sample of it]."""
GAUGES = (30, 28, 26, 24, 22, 20, 18, 16, 14, 12, 10)
"""Gauges hook-up wire is sold in (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class WireRow:
    """One wire: its ends as (item, terminal), colour as code and word, area [mm2], nearest gauge, length [m], current [A]."""

    number: int
    from_item: str
    from_terminal: str
    to_item: str
    to_terminal: str
    net: str
    colour: str
    colour_word: str
    area_mm2: float
    awg: int
    length_m: float
    current_a: float
    note: str


def colour_word(code: str) -> str:
    """Word for a colour code, one or two colours.

    Parameters
    ----------
    code : of IEC 60757; one nobody knows is given back [-]

    >>> colour_word("BK"), colour_word("WHRD"), colour_word("GNYE")
    ('black', 'white-and-red', 'green-and-yellow')
    """
    if code in COLOUR_WORDS:
        return COLOUR_WORDS[code]
    pairs = [code[at : at + 2] for at in range(0, len(code), 2)]
    return "-and-".join(COLOUR_WORDS[pair] for pair in pairs) if pairs and all(pair in COLOUR_WORDS for pair in pairs) else code


def nearest_awg(area_mm2: float, i_a: float = 0.0) -> int:
    """Gauge sold as hook-up wire that comes nearest to an area by ratio; a thicker one where that would not stand the current.

    Parameters
    ----------
    area_mm2 : cross-section [mm2]
    i_a : current it must stand side by side with its return [A]

    Raises
    ------
    OutOfRange : the area is not above zero.

    >>> nearest_awg(0.14), nearest_awg(0.5), nearest_awg(0.75), nearest_awg(0.75, 5.5)
    (26, 20, 18, 16)
    """
    if not area_mm2 > 0:
        raise OutOfRange(f"A wire has an area above zero, not {area_mm2:g} mm².")
    at = min(range(len(GAUGES)), key=lambda number: max(_ratio(GAUGES[number], area_mm2), 1 / _ratio(GAUGES[number], area_mm2)))
    while at + 1 < len(GAUGES) and _stands_a(GAUGES[at]) < i_a:
        at += 1
    return GAUGES[at]


def _stands_a(awg: int) -> float:
    """Current of a gauge in a bundle [A]; one the tables leave out is taken for the next thinner they have."""
    known = {int(one.name.split()[1]): one.i_pair_a for one in WIRES if one.name.startswith("AWG")}
    return max((amps for gauge, amps in known.items() if gauge >= awg), default=0.0)


def _ratio(awg: int, area_mm2: float) -> float:
    return awg_area(awg) * 1e6 / area_mm2


def wire_list(build: Build) -> tuple[WireRow, ...]:
    """All wires in the order of their numbers.

    Parameters
    ----------
    build : what is built [-]
    """
    return tuple(_wire_row(build, wire) for wire in sorted(build.wires, key=lambda wire: wire.number))


def _wire_row(build: Build, wire: Wire) -> WireRow:
    net = build.by_net.get(wire.net)
    own: tuple[str, ...] = ("on the board itself, or the component's own lead",) if wire.is_short else ()
    awg = nearest_awg(wire.area_mm2, wire.i_a)
    if awg < nearest_awg(wire.area_mm2):
        own += (f"{wire.area_mm2:g} mm² is thin for {shown(wire.i_a, 'A')} in a bundle: take AWG {awg} or thicker",)
    thinner = 1 - _ratio(awg, wire.area_mm2)
    less = (f"AWG {awg} has {thinner:.0%} less copper",) if thinner > 0.1 else ()
    return WireRow(
        wire.number, wire.a.item, wire.a.name, wire.b.item, wire.b.name, net.name if net is not None else wire.net, wire.colour,
        colour_word(wire.colour), wire.area_mm2, awg, wire.length_m, wire.i_a, "; ".join((*filter(None, (wire.note,)), *own, *less)),
    )  # fmt: skip


def wire_csv(rows: Iterable[WireRow]) -> str:
    """The wire list as CSV text.

    Parameters
    ----------
    rows : of ``wire_list`` [-]
    """
    return csv_text([field.name for field in fields(WireRow)], [[getattr(row, field.name) for field in fields(WireRow)] for row in rows])
