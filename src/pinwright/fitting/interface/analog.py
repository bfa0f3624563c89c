"""Analog inputs: range of the converter, source resistance, filter, and the error in the quantity's own units."""

from __future__ import annotations

from pinwright.fitting.interface.pieces import Check, Element
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench

__all__ = ["analog_checks", "analog_elements"]


def analog_elements(asks: Asks, place: Place, board: BoardView, bench: Bench, before: list[Element]) -> list[Element]:
    return []


def analog_checks(asks: Asks, place: Place, board: BoardView, bench: Bench, elements: list[Element]) -> list[Check]:
    return []
