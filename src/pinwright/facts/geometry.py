"""Where the header pins of a board lie, for drawings.

Two plain rows follow from length, width, pitch and row spacing; what lies otherwise is told by the board's strips.
"""

from __future__ import annotations

from pinwright.errors import OutOfRange
from pinwright.facts.board import Board, HeaderStrip

__all__ = ["pin_positions"]

_SIDES = ("left", "right")
"""Rows that need no strip."""


def pin_positions(board: Board) -> dict[tuple[str, int], tuple[float, float]]:
    """Place of every header pin on the board.

    A strip places its own pins.  Rows ``left`` and ``right`` without one are centred: together on the width, ``row_spacing_m``
    apart, and each on the length, with ``pitch_m`` between neighbours.

    Parameters
    ----------
    board : a board of the catalogue [-]

    Returns
    -------
    positions : (row, order) → (from the left edge, from the first end) [m], in the order of the header;
        as seen from the component side with the first end up

    Raises
    ------
    OutOfRange : a pin has no place, because a size is missing or its row is neither left nor right and has no strip;
        or two strips claim one pin.
    """
    placed: dict[tuple[str, int], tuple[float, float]] = {}
    for strip in board.strip:
        for order in range(strip.first, strip.last + 1):
            if (strip.row, order) in placed:
                raise OutOfRange(f"{board.id}: two strips place pin {order} of row {strip.row!r}.")
            placed[strip.row, order] = _on_strip(strip, order)
    counts = {row: sum(pin.row == row for pin in board.header) for row in _SIDES}
    return {
        (pin.row, pin.order): placed.get((pin.row, pin.order)) or _on_plain_row(board, pin.row, pin.order, counts) for pin in board.header
    }


def _on_strip(strip: HeaderStrip, order: int) -> tuple[float, float]:
    steps = order - strip.first
    return (strip.x_m + steps * strip.dx_m, strip.y_m + steps * strip.dy_m)


def _on_plain_row(board: Board, row: str, order: int, counts: dict[str, int]) -> tuple[float, float]:
    if row not in _SIDES:
        raise OutOfRange(f"{board.id}: row {row!r} needs a strip that says where it lies.")
    if board.length_m is None or board.width_m is None or board.row_spacing_m is None:
        raise OutOfRange(f"{board.id}: length, width or row spacing is missing.")
    half = board.row_spacing_m / 2
    from_middle = order - (counts[row] + 1) / 2
    return (board.width_m / 2 + (half if row == "right" else -half), board.length_m / 2 + from_middle * board.pitch_m)
