"""What must stand between a pin and a part: pull resistors, dividers, level shifters, driver stages, filters."""

from pinwright.fitting.interface.analog import Reading, reading
from pinwright.fitting.interface.bus import I2C_PULL_OHM, with_bus_pulls
from pinwright.fitting.interface.pieces import Check, Circuit, Element, Piece, joined, one_by_one
from pinwright.fitting.interface.pulls import PULL_OHM
from pinwright.fitting.interface.stages import pin_current_max, sinks
from pinwright.fitting.interface.synthesis import circuit_for, circuits_for, place_key

__all__ = [
    "I2C_PULL_OHM", "PULL_OHM", "Check", "Circuit", "Element", "Piece", "Reading", "circuit_for", "circuits_for", "joined", "one_by_one",
    "pin_current_max", "place_key", "reading", "sinks", "with_bus_pulls",
]  # fmt: skip
