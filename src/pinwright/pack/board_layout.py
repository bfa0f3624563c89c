"""Where everything of a drawn board goes: pins by side and lane, label boxes beside them without overlap, and the scale."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from pinwright.errors import OutOfRange
from pinwright.facts.geometry import pin_positions

if TYPE_CHECKING:
    from pinwright.facts.model import Board, BoardPin

__all__ = ["SCALES", "Outline", "Side", "Spot", "apart", "beside", "outline_of", "spots_of"]

Side = Literal["left", "right", "top", "bottom"]
SCALES = (5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.25, 1.0)
"""Scales a board is drawn at, largest that fits first."""
_GUESSED_PITCH_MM = 2.54
_GUESSED_ACROSS = 8
"""Pitches between the rows of a board nobody gives a size for (our choice; the drawing says it is not to scale)."""


@dataclass(frozen=True, slots=True)
class Outline:
    """The board before scaling: length and width [mm], and where its pins lie [mm]; ``is_guess``: sizes are missing."""

    width: float
    length: float
    pitch: float
    at: dict[tuple[str, int], tuple[float, float]]
    is_guess: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """A pin as drawn: ``x``, ``y`` from the board's corner, ``side`` it is labelled at, ``rank`` 0 outermost [mm].

    ``t`` lies along its side; its leader runs outward along ``lane``, between the pins before it.
    """

    pin: BoardPin
    x: float
    y: float
    side: Side
    rank: int
    t: float
    lane: float

    @property
    def key(self) -> tuple[str, int]:
        """Row and order of the pin."""
        return (self.pin.row, self.pin.order)


def outline_of(board: Board) -> Outline:
    """Outline and pin places of a board in mm; where a size is missing two rows of a usual pitch stand in, marked as a guess.

    Parameters
    ----------
    board : a board of the catalogue [-]

    Returns
    -------
    outline : in mm, unscaled
    """
    try:
        at = pin_positions(board)
        if board.width_m is None or board.length_m is None:
            raise OutOfRange(f"{board.id}: length or width is missing.")
    except OutOfRange:
        return _guessed(board)
    mm = {key: (x_m * 1e3, y_m * 1e3) for key, (x_m, y_m) in at.items()}
    return Outline(board.width_m * 1e3, board.length_m * 1e3, board.pitch_m * 1e3, mm)


def _guessed(board: Board) -> Outline:
    """Rows shared out between the two long sides, in the order they are listed."""
    pitch = _GUESSED_PITCH_MM
    rows = list(dict.fromkeys(pin.row for pin in board.header))
    rights = set(rows[1::2])
    columns = {
        side: [(pin.row, pin.order) for row in rows if (row in rights) == side for pin in board.header if pin.row == row]
        for side in (False, True)
    }
    longest = max((len(column) for column in columns.values()), default=1)
    length, width = (longest + 3) * pitch, _GUESSED_ACROSS * pitch
    at = {
        key: (width - pitch / 2 if side else pitch / 2, (number + 2) * pitch)
        for side, column in columns.items()
        for number, key in enumerate(column)
    }
    return Outline(width, length, pitch, at, True)


def spots_of(board: Board, outline: Outline, scale: float) -> list[Spot]:
    """All header pins at a scale, each with the side its label goes to.

    Parameters
    ----------
    board : the board [-]
    outline : from ``outline_of`` [-]
    scale : drawn size through real size [-]

    Returns
    -------
    spots : in the order of the header, in drawn mm from the board's upper left corner
    """
    sides = {row: _side(board, outline, row) for row in {pin.row for pin in board.header}}
    half = outline.pitch * scale / 2
    same: dict[tuple[str, int], list[tuple[float, tuple[str, int]]]] = defaultdict(list)
    for pin in board.header:
        x, y = outline.at[pin.row, pin.order]
        side = sides[pin.row]
        t, depth = (y, min(x, outline.width - x)) if side in ("left", "right") else (x, min(y, outline.length - y))
        same[side, round(t / outline.pitch * 2)].append((depth, (pin.row, pin.order)))
    rank = {key: number for group in same.values() for number, (_, key) in enumerate(sorted(group))}
    spots = []
    for pin in board.header:
        x, y = (value * scale for value in outline.at[pin.row, pin.order])
        side = sides[pin.row]
        t = y if side in ("left", "right") else x
        mine = rank[pin.row, pin.order]
        spots.append(Spot(pin, x, y, side, mine, t, t + (half if mine % 2 else 0.0)))
    return spots


def _side(board: Board, outline: Outline, row: str) -> Side:
    """Side of the board a row lies along: the way it runs, and the edge it is nearer to."""
    places = [outline.at[pin.row, pin.order] for pin in board.header if pin.row == row]
    xs, ys = [x for x, _ in places], [y for _, y in places]
    if max(ys) - min(ys) >= max(xs) - min(xs):
        return "left" if sum(xs) / len(xs) < outline.width / 2 else "right"
    return "top" if sum(ys) / len(ys) < outline.length / 2 else "bottom"


def beside(side: Side, left: float, top: float, right: float, bottom: float, t: float, out: float) -> tuple[float, float]:
    """Point of the drawing ``out`` mm outward from the board's edge, at ``t`` (absolute) along it."""
    if side == "left":
        return (left - out, t)
    if side == "right":
        return (right + out, t)
    return (t, top - out) if side == "top" else (t, bottom + out)


def apart(centres: Sequence[float], heights: Sequence[float], gap: float) -> list[float]:
    """Centres of boxes in the same order, as near to the wanted ones as they can be without touching.

    Blocks of touching boxes sit at the mean of what they want (least squares, pool of adjacent violators).

    Parameters
    ----------
    centres : wanted, in rising order [-]
    heights : of the boxes [-]
    gap : least distance between two boxes [-]

    Returns
    -------
    placed : centres without overlap [-]

    >>> apart([0.0, 0.0], [2.0, 2.0], 0.0)
    [-1.0, 1.0]
    """
    offsets, total = [], 0.0
    for number, height in enumerate(heights):
        total += height / 2 + (heights[number - 1] / 2 + gap if number else 0.0)
        offsets.append(total)
    blocks: list[list[float]] = []  # mean and number of members
    for centre, offset in zip(centres, offsets, strict=True):
        blocks.append([centre - offset, 1])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, count = blocks.pop()
            before, many = blocks[-1]
            blocks[-1] = [(before * many + mean * count) / (many + count), many + count]
    shifts = [mean for mean, count in blocks for _ in range(int(count))]
    return [shift + offset for shift, offset in zip(shifts, offsets, strict=True)]
