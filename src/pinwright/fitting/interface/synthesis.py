"""The cheapest circuit between a pin and a part that passes with margin; ``circuits`` holds the formulas.

A line gets, from the pin outwards: what its levels need, what its load needs, the pulls that define it.  Every value
carries its window and formula, every inequality that holds its margin.
"""

from __future__ import annotations

from collections.abc import Sequence

from pinwright.errors import OutOfRange
from pinwright.fitting.interface.analog import analog_elements
from pinwright.fitting.interface.levels import level_elements
from pinwright.fitting.interface.pieces import Circuit
from pinwright.fitting.interface.pulls import pull_elements
from pinwright.fitting.interface.stages import load_elements, pin_current_max
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench
from pinwright.powerup.quiet import boot_states

__all__ = ["circuit_for", "circuits_for", "place_key"]


def circuit_for(asks: Asks, place: Place, board: BoardView, bench: Bench | None = None) -> Circuit:
    """Circuit one line needs on one pin.  Never raises: what no formula accepts makes a circuit that fails, in words."""
    bench = bench or Bench()
    try:
        elements, checks, fails = level_elements(asks, place, board, bench)
        load, load_checks = load_elements(asks, place, board, bench)
        shifted = any(element.kind == "level shifter" for element in elements)
        elements += [*load, *pull_elements(asks, place, board, bench, shifted)]
        checks += load_checks
        if asks.direction == "analog-in":
            found, more = analog_elements(asks, place, board, bench, elements)
            elements += found
            checks += more
    except OutOfRange as error:
        return Circuit(fails=f"the figures of this line go beyond what can be calculated: {error}")
    return Circuit(tuple(elements), tuple(checks), fails)


def place_key(place: Place) -> tuple[tuple[object, ...], tuple[str, ...]]:
    """What matters about a pin for the circuits on it, and what it does before firmware, which matters to loads only."""
    fitted = {item.what for item in place.onboard}
    return (
        place.pad.pull_up,
        place.pad.pull_down,
        place.pad.tolerates_5v,
        *(what in fitted for what in ("divider", "pull-up", "pull-down")),
        tuple(item.ohm for item in place.onboard if item.what in ("pull-up", "pull-down")),
        place.pad.adc.unit if place.pad.adc else None,
        tuple(erratum.pull_down_max_ohm for erratum in place.errata if erratum.pull_down_max_ohm),
    ), boot_states(place)


def circuits_for(
    asks: Asks, places: Sequence[Place], board: BoardView, bench: Bench, keys: Sequence[tuple[tuple[object, ...], tuple[str, ...]]]
) -> list[Circuit]:
    """Circuits one line needs on many pins; pins alike in what matters (``keys``, one a place) share one."""
    known: dict[tuple[object, ...], Circuit] = {}
    found = []
    draws, waits = asks.i_in_a or asks.load is not None, asks.drives and asks.safe_level != "any"
    for place, (fitted, boot) in zip(places, keys, strict=True):
        whole = (fitted, boot if waits else (), pin_current_max(asks, board, place) if draws else 0.0)
        if whole not in known:
            known[whole] = circuit_for(asks, place, board, bench)
        found.append(known[whole])
    return found
