"""The resistors at one pin while no firmware runs, and the voltage they make in the worst corner.

A node between pulls stands at  V = supply · G_up / (G_up + G_down)  (Kirchhoff; common practice, no source).
Values used when nobody gives one: 10 kΩ for a resistor on a board or in a part.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import show_quantity
from pinwright.review.model import Wire

__all__ = ["Pull", "board_pulls", "internal_pull", "part_pulls", "reads_as", "worst_v"]

USUAL_PULL_OHM = 10e3
LEAST_LOAD_A = 0.5e-3
"""A load that takes less does not move a strap (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pull:
    """A resistor from the pin to the supply (``up``) or to ground (``down``), with its spread [ohm].

    ``is_load``: not a resistor but a load that acts like one; it may spoil a level but is not trusted to make one.
    """

    direction: str
    ohm_min: float
    ohm_max: float
    words: str
    cite: str = ""
    is_load: bool = False


def board_pulls(place: Place, view: BoardView) -> list[Pull]:
    """Pull resistors on the board at this pin."""
    pulls = []
    for item in place.onboard:
        if item.what in ("pull-up", "pull-down"):
            ohm = item.ohm or USUAL_PULL_OHM
            pulls.append(
                Pull(
                    item.what.removeprefix("pull-"),
                    ohm,
                    ohm,
                    f"a {item.what} of {show_quantity(ohm, 'Ω')} on the board",
                    view.board_cite(item),
                )
            )
    return pulls


def internal_pull(view: BoardView, direction: str) -> Pull:
    """The chip's own pull with its spread."""
    fact = view.chip.electrical.pull_up_ohm if direction == "up" else view.chip.electrical.pull_down_ohm
    fact = fact or view.chip.electrical.pull_up_ohm or view.chip.electrical.pull_down_ohm
    middle = (fact.value or fact.typ) if fact else None
    low = (fact.min or middle if fact else None) or 30e3
    high = (fact.max or middle if fact else None) or 100e3
    return Pull(
        direction,
        low,
        high,
        f"the chip's own pull-{direction} of {show_quantity(low, 'Ω')} to {show_quantity(high, 'Ω')}",
        view.chip_cite(fact) if fact else "",
    )


def part_pulls(wires: Iterable[Wire], view: BoardView) -> Iterator[Pull]:
    """Pulls that come with the parts and their circuits: fitted ones, bought ones, and loads that act like one."""
    wires = list(wires)
    taken_off = [ohm for wire in wires for element in wire.circuit.elements for ohm in element.off_ohm]
    for wire in wires:
        asks = wire.line.asks
        for element in wire.circuit.elements:
            if element.kind in ("pull-up", "pull-down"):
                ohm = element.ohm or USUAL_PULL_OHM
                yield Pull(element.kind.removeprefix("pull-"), ohm, ohm, f"the {element.kind} of {show_quantity(ohm, 'Ω')}")
        if asks.pull_fitted:
            ohm = asks.pull_fitted.ohm or USUAL_PULL_OHM
            if ohm in taken_off:
                taken_off.remove(ohm)
            else:
                yield Pull(
                    asks.pull_fitted.direction, ohm, ohm, f"the pull-{asks.pull_fitted.direction} of {show_quantity(ohm, 'Ω')} in the part"
                )
        if asks.direction == "out" and asks.i_in_a >= LEAST_LOAD_A and asks.safe_level in ("high", "low"):
            ohm = view.board.logic_v / asks.i_in_a
            direction = "up" if asks.safe_level == "high" else "down"
            yield Pull(direction, ohm, ohm, f"the load itself, which holds the pin {asks.safe_level} while nobody drives it", is_load=True)


def worst_v(wanted: str, pulls: Iterable[Pull], supply_v: float) -> float | None:
    """Voltage [V] farthest from ``wanted`` (high or low) over the spread of all pulls; ``None`` without any pull."""
    up = down = 0.0
    for pull in pulls:
        helps = (pull.direction == "up") == (wanted == "high")
        if helps and pull.is_load:
            continue
        conductance = 1 / (pull.ohm_max if helps else pull.ohm_min)
        if pull.direction == "up":
            up += conductance
        else:
            down += conductance
    return supply_v * up / (up + down) if up + down else None


def reads_as(view: BoardView, volts: float) -> str:
    """What the chip reads: high, low or undefined."""
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    if volts >= electrical.vih_min.at(logic_v):
        return "high"
    return "low" if volts <= electrical.vil_max.at(logic_v) else "undefined"
