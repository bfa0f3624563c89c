"""Voltages on a wire: what parts and pull-ups put there, what a divider leaves of it, what a pin may see."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from pinwright.circuits.levels import divided
from pinwright.fitting.interface import Element
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import QuantityError, parse_quantity
from pinwright.review.common import has, level_v, part_line, rail_v
from pinwright.review.model import Wire, Wiring

__all__ = ["CLOSE_V", "Divider", "bus_highs", "divider_in", "highest_pin_v", "is_open", "leads_to_v", "presented_v", "pulled_to_v"]

RESISTOR_TOLERANCE = 0.05
"""Spread of the resistors of a divider (E24 series, common practice, no source)."""
CLOSE_V = 1e-6
"""Voltages nearer than this are equal [V]."""


# ------------------------------------------------------------------------------ dividers


@dataclass(frozen=True, slots=True)
class Divider:
    """Two resistors, with what the source behind them adds on top [ohm]."""

    top_ohm: float
    bottom_ohm: float
    source_ohm: float = 0.0

    def highest_v(self, v_in_v: float) -> float:
        """Output [V] with the worst tolerances upwards and a source without resistance."""
        return divided(v_in_v, self.top_ohm * (1 - RESISTOR_TOLERANCE), self.bottom_ohm * (1 + RESISTOR_TOLERANCE))

    def usual_v(self, v_in_v: float) -> float:
        """Output [V] with nominal values, the source's resistance included."""
        return divided(v_in_v, self.top_ohm + self.source_ohm, self.bottom_ohm)

    def lowest_v(self, v_in_v: float) -> float:
        """Output [V] with the worst tolerances downwards, the source's resistance included."""
        return divided(v_in_v, self.top_ohm * (1 + RESISTOR_TOLERANCE) + self.source_ohm, self.bottom_ohm * (1 - RESISTOR_TOLERANCE))


def divider_in(wiring: Wiring, wire: Wire) -> Divider | None:
    """The divider of a wire's circuit, or ``None`` when there is none or its values are not known."""
    element = next((element for element in wire.circuit.elements if element.kind == "divider"), None)
    bottom = _bottom_ohm(element) if element else None
    if element is None or element.ohm is None or bottom is None:
        return None
    return Divider(element.ohm, bottom, _source_ohm(wiring, wire))


def _bottom_ohm(element: Element) -> float | None:
    match = re.search(r" over (.+)$", element.words)
    try:
        return parse_quantity(match[1], "ohm") if match else None
    except QuantityError:
        return None


def _source_ohm(wiring: Wiring, wire: Wire) -> float:
    """Resistance the part adds in series when it stands high: the pull it rests on, or its own output."""
    fitted = wire.line.asks.pull_fitted
    if wire.line.asks.voh is None and fitted and fitted.direction == "up":
        return fitted.ohm or 10e3
    line = part_line(wiring, wire)
    return line.r_in_ohm or 0.0 if line and wire.line.asks.direction in ("in", "analog-in") else 0.0


# ------------------------------------------------------------------------------ voltages on a wire


def highest_pin_v(view: BoardView, place: Place, wires: Iterable[Wire] = ()) -> float:
    """Highest voltage [V] the pin may see: a 5 V tolerant one less while it measures or its own pull is on."""
    measures = any(wire.line.asks.signal == "analog" for wire in wires)
    own_pull = any(e.kind == "internal pull" and "on the board" not in e.words for wire in wires for e in wire.circuit.elements)
    if place.pad.tolerates_5v and not measures and not own_pull:
        return 5.5
    return view.chip.electrical.vin_max.at(view.board.logic_v)


def pulled_to_v(asks: Asks, view: BoardView) -> float:
    """Voltage [V] a pull-up inside the part leads to.

    Where nobody names it: the part's supply, but not more than the part's own lines may see (its module then has a regulator).
    """
    fitted = asks.pull_fitted
    if fitted and (match := re.fullmatch(r"([\d.]+) ?V", fitted.to)):
        return float(match[1])
    rail = rail_v(asks, view)
    if fitted and not fitted.to and asks.v_max is not None:
        return min(rail, level_v(asks.v_max, asks, view))
    return rail


def bus_highs(wires: Iterable[Wire], view: BoardView) -> list[tuple[float, str]]:
    """Voltages the pull-ups on a shared wire lead to, with whose they are."""
    highs = []
    for wire in wires:
        asks = wire.line.asks
        if has(wire.circuit, "level shifter"):
            continue
        if asks.pull_fitted and asks.pull_fitted.direction == "up":
            highs.append((pulled_to_v(asks, view), f"the pull-up in {wire.line.part}"))
        bought = (element for element in wire.circuit.elements if element.kind == "pull-up")
        highs += [(leads_to_v(element, asks, view), "the pull-up you fit") for element in bought]
    return highs


def leads_to_v(element: Element, asks: Asks, view: BoardView) -> float:
    """Voltage [V] of the rail a fitted pull-up leads to."""
    if element.to_v is not None:
        return element.to_v
    return rail_v(asks, view) if "part's supply" in element.words else view.board.logic_v


def presented_v(wire: Wire, view: BoardView) -> float | None:
    """Highest voltage [V] the part itself puts on a line the board only listens to; ``None`` where nobody says."""
    lifted = max((e.to_v for e in wire.circuit.elements if e.kind == "pull-up" and e.to_v is not None), default=0.0)
    if lifted > view.board.logic_v:
        return max(lifted, _own_high_v(wire, view) or 0.0)
    return _own_high_v(wire, view)


def _own_high_v(wire: Wire, view: BoardView) -> float | None:
    """The same without what the maker pulls it up to."""
    asks = wire.line.asks
    highs = [level_v(level, asks, view) for level in (asks.v_max, asks.voh) if level is not None]
    fitted = asks.pull_fitted is not None and asks.pull_fitted.direction == "up"
    if asks.voh is None and not fitted and asks.needs.pull == "up":
        return None  # it only pulls low: the high comes from the pull-up on the board's side
    if asks.voh is None and fitted:
        return pulled_to_v(asks, view)
    return max(highs, default=None)


def is_open(asks: Asks) -> bool:
    """Whether the part only ever pulls the line low and something else makes the high."""
    return asks.direction in ("open-drain", "bidir")
