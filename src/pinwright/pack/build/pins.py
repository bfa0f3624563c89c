"""Names of a board's header pins as terminals: the printed label, numbered where it is printed more than once."""

from __future__ import annotations

from collections import Counter

from pinwright.facts.model import Board, BoardPin

__all__ = ["pin_terminals", "supply_pin"]


def pin_terminals(board: Board) -> dict[tuple[str, int], str]:
    """Terminal of every header pin: (row, order) → name, unique on the board; ``GND (1)``, ``GND (2)`` in header order.

    Parameters
    ----------
    board : a board of the catalogue [-]
    """
    often = Counter(pin.label for pin in board.header)
    seen: Counter[str] = Counter()
    names = {}
    for pin in board.header:
        seen[pin.label] += 1
        names[pin.row, pin.order] = pin.label if often[pin.label] == 1 else f"{pin.label} ({seen[pin.label]})"
    return names


def supply_pin(board: Board, power: str) -> BoardPin | None:
    """First header pin of a supply (GND, 3V3, VIN, ...), or ``None``."""
    return next((pin for pin in board.header if pin.power.casefold() == power.casefold()), None)
