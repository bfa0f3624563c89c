"""The source a brief names, with its spread, what it can give, and what it holds if it is a battery."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pinwright.circuits.ranges import Range
from pinwright.facts.model import Fact, Part

if TYPE_CHECKING:
    from pinwright.brief.model import Supply
    from pinwright.facts.loader import Catalogue
    from pinwright.fitting.places import BoardView

__all__ = ["Source", "as_fed", "source_of"]

_USUAL = {"usb": "usb-port-2v0", "battery": "cells-aa-n", "lithium cell": "cell-18650"}
"""Entry of the catalogue that stands for a source the brief does not name more closely."""
ADAPTER_TOLERANCE = 0.05
"""Spread of a mains adapter and of a supply of unknown kind (common practice, no source)."""
USB_LEAST_V = 4.5
"""At the end of a cable from a high-power port: 4.75 V less 125 mV in each conductor [V]  [USB 2.0, section 7.2.2, from memory]."""
SELF_DISCHARGE = {"battery": 0.03, "lithium cell": 0.1}
"""Share of its charge a source loses in a year while it lies about (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Source:
    """What feeds the device: voltage over its life and load, the current it can give, inner resistance, charge.

    ``capacity_ah`` is ``None`` for what is not emptied; ``is_lithium`` calls for the cautions of such cells.  ``kind`` is that
    of the brief, or what the catalogue's entry is where the brief leaves it open.
    """

    words: str
    kind: str
    v: Range
    i_max_a: float | None
    r_ohm: float
    capacity_ah: float | None = None
    self_discharge: float = 0.0
    is_lithium: bool = False
    is_battery: bool = False
    part: Part | None = None
    cells: int = 1

    @property
    def is_usb(self) -> bool:
        """Whether it has a USB plug."""
        return self.kind == "usb" or (self.part is not None and self.part.kind == "usb")


def source_of(supply: Supply, catalogue: Catalogue) -> Source:
    """The source of a brief; what it does not say is taken from the catalogue's entry for that kind."""
    named = catalogue.parts.get(supply.kind) if supply.kind else None
    kind = _kind(supply, named)
    part = named or catalogue.parts.get(_USUAL.get(kind, ""))
    cells = supply.cells or _cells(supply, kind, part)
    volts = _volts(supply, kind, part, cells)
    can = supply.current_a if supply.current_a is not None else _fact(part, "i_out_max_a") or _fact(part, "i_out_a")
    is_battery = kind in ("battery", "lithium cell")
    coulombs = _fact(part, "capacity_c")
    capacity = supply.capacity_ah if supply.capacity_ah is not None else (coulombs / 3600 if coulombs else None)
    inner = (_fact(part, "r_internal_ohm") or 0.0) * cells
    lithium = kind == "lithium cell" or (named is not None and _burns(named))
    name = part.title if part is not None else {"adapter": "mains adapter"}.get(kind, "the supply")
    words = f"{name}, {volts.low:.3g} to {volts.high:.3g} V" + (f", {cells} in series" if cells > 1 else "")
    discharge = SELF_DISCHARGE.get(kind, 0.03) if is_battery else 0.0
    return Source(words, kind, volts, can, inner, capacity if is_battery else None, discharge, lithium, is_battery, part, cells)


def as_fed(seen: BoardView, source: Source) -> BoardView:
    """The board at the voltage it really gets: cells that feed a bare chip are its logic supply, and it follows them down.

    Where a regulator or USB stands between, or the cells give more than the pin stands, the board stays as its maker plans it.
    """
    ways_in = [way for way in seen.board.supply if way.direction == "in"]
    if not source.is_battery or seen.board.regulator or seen.board.usb != "none" or len(ways_in) != 1:
        return seen
    (way,) = ways_in
    low = max(source.v.low, way.v_min_v or 0.0, seen.chip.electrical.vdd_min_v.value or 0.0)
    high = source.v.high
    if low >= high or (way.v_max_v is not None and high > way.v_max_v):
        return seen
    rail = Range(low, high, min(max(source.v.middle, low), high))
    return replace(seen, board=replace(seen.board, logic_v=rail.middle), rail=rail)


def _kind(supply: Supply, named: Part | None) -> str:
    """What the source is: the brief's word, unless the entry it names is another thing (a cell is never a USB port)."""
    if named is None:
        return supply.source
    if named.kind == "battery":
        return "lithium cell" if _burns(named) else "battery"
    gives = named.form == "source" or "vout_v" in named.facts
    return "adapter" if supply.source == "usb" and gives and named.kind != "usb" else supply.source


def _burns(part: Part) -> bool:
    return part.kind == "battery" and any(caution.tag == "fire" for caution in part.caution)


def _cells(supply: Supply, kind: str, part: Part | None) -> int:
    """Cells in series that make the voltage the brief names."""
    typical = part.supply_v.typ if part is not None else None
    if kind not in ("battery", "lithium cell") or supply.voltage_v is None or not typical:
        return 1
    return max(1, round(supply.voltage_v / typical))


def _volts(supply: Supply, kind: str, part: Part | None, cells: int) -> Range:
    gives = _fact(part, "vout_v")
    if kind == "usb" and supply.kind is None:
        high = part.supply_v.max if part is not None and part.supply_v.max else 5.25
        return Range(USB_LEAST_V, high, 5.0)
    if part is not None and gives is None and part.supply_v.min and part.supply_v.max and (kind != "adapter" or supply.kind):
        low, high = part.supply_v.min * cells, part.supply_v.max * cells
        usual = (part.supply_v.typ or (part.supply_v.min + part.supply_v.max) / 2) * cells
        if supply.voltage_v is None or low <= supply.voltage_v <= high:
            return Range(low, high, min(max(usual, low), high))
    return Range.around(supply.voltage_v or gives or 5.0, ADAPTER_TOLERANCE)


def _fact(part: Part | None, name: str) -> float | None:
    fact: Fact | None = part.facts.get(name) if part is not None else None
    if fact is None:
        return None
    return next((v for v in (fact.value, fact.min, fact.typ, fact.max) if v is not None), None)
