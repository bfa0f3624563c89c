"""How a drawn board is laid out on its page: the scale that fits, how far labels and marks reach, and where the boxes go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pinwright.pack.board_inside import SOCKET_OUT_MM, Area
from pinwright.pack.board_layout import SCALES, Outline, Side, Spot, apart, outline_of, spots_of
from pinwright.pack.board_marks import MARK_MM, Mark, marks_of
from pinwright.pack.drawing import cut, text_width, wrapped

if TYPE_CHECKING:
    from pinwright.fitting.places import BoardView

__all__ = [
    "BOLD", "EDGE_MM", "ENTRY_MM", "LABEL_MM", "LINE_MM", "PAD_MM", "SIDES", "STEP_MM", "WIDTH_MM", "Box", "Frame", "Tag", "framed",
    "label_width",
]  # fmt: skip

BOLD = 1.12
"""Width of bold words as a share of plain ones (read from the metrics of the drawings' first font)."""
WIDTH_MM = 186.0
"""Width of the drawing: A4 and Letter less their margins [mm]."""
PAD_MM, HEAD_MM = 3.0, 20.0
_TALL_MM = 165.0
"""Longest the board itself is drawn, so that head and key stay on its page [mm]."""
LABEL_MM, ENTRY_MM, LINE_MM = 2.3, 2.6, 3.4
_FAN, EDGE_MM, STEP_MM = 8.0, 1.0, MARK_MM + 0.5
_BOX_LEAST, _BOX_MOST = 28.0, 62.0
SIDES: tuple[Side, ...] = ("left", "right", "top", "bottom")
_SOCKET_ENDS: dict[Side, str] = {"left": "left", "right": "right", "top": "first", "bottom": "last"}


@dataclass(frozen=True, slots=True)
class Tag:
    """A pin as labelled: its spot, its marks, and what runs over it (empty: free)."""

    spot: Spot
    marks: tuple[Mark, ...]
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """Label box of a pin in use: its lines of text, its middle and height along the column [mm]."""

    tag: Tag
    lines: tuple[str, ...]
    height: float
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class Frame:
    """Everything measured: the scale, the board on the page, and per side how far labels, marks and boxes reach [mm]."""

    scale: float
    outline: Outline
    tags: tuple[Tag, ...]
    board: Area
    label: dict[Side, float]
    inner: dict[Side, float]
    reach: dict[Side, float]
    column: dict[Side, Area]
    boxes: dict[Side, tuple[Box, ...]]
    body_bottom: float


def framed(view: BoardView, uses: Mapping[tuple[str, int], Sequence[str]], with_5v: bool) -> Frame:
    """Lay a board out at the largest scale that fits the page.

    Parameters
    ----------
    view : the board [-]
    uses : what to write at a pin, by row and order [-]
    with_5v : mark pins that stand 5 V [-]

    Returns
    -------
    frame : in drawn mm
    """
    outline = outline_of(view.board)
    marks = {(place.row, place.order): marks_of(view, place, with_5v) for place in view.places}
    twins = {pin.pad: marks[pin.row, pin.order] for pin in view.board.header if (pin.row, pin.order) in marks}
    for scale in SCALES:
        tags = tuple(
            Tag(spot, twins.get(spot.pin.pad, ()) if spot.pin.pad else (), tuple(uses.get(spot.key, ())))
            for spot in spots_of(view.board, outline, scale)
        )
        frame = _fitted(outline, tags, scale, view.board.usb_end)
        if frame is not None:
            return frame
    raise AssertionError("a board fits at its own size")  # the last scale is taken whatever it needs


def _fitted(outline: Outline, tags: tuple[Tag, ...], scale: float, usb_end: str) -> Frame | None:
    """The drawing at one scale, or nothing where it would be too large."""
    of = {side: [tag for tag in tags if tag.spot.side == side] for side in SIDES}
    is_last = scale == SCALES[-1]
    width, length = outline.width * scale, outline.length * scale
    if length > _TALL_MM and not is_last:
        return None
    half = outline.pitch * scale / 2
    label = {side: _label_width(of[side]) for side in SIDES}
    inner, reach = {}, {}
    for side in SIDES:
        outer_end = label[side] + STEP_MM * max((len(t.marks) for t in of[side] if not t.spot.rank), default=0)
        inner[side] = label[side] if half >= MARK_MM + 0.4 else outer_end
        reach[side] = max(outer_end, inner[side] + STEP_MM * max((len(t.marks) for t in of[side] if t.spot.rank), default=0)) + 1.0
    out = SOCKET_OUT_MM * scale + 0.5
    for side, end in _SOCKET_ENDS.items():
        reach[side] = max(reach[side], out) if usb_end == end else reach[side]
    used = {side: [tag for tag in of[side] if tag.entries] for side in SIDES}
    natural = {side: min(_BOX_MOST, max((_entry_width(tag) for tag in used[side]), default=0.0)) for side in SIDES}
    spare = WIDTH_MM - 2 * PAD_MM - width - sum(reach[side] + (_FAN if used[side] else 0.0) for side in SIDES[:2])
    least = sum(min(natural[side], _BOX_LEAST) for side in SIDES[:2])
    if spare < least and not is_last:
        return None
    wide = _shared_out(spare, natural["left"], natural["right"])
    left = PAD_MM + wide[0] + (_FAN if used["left"] else 0.0) + reach["left"] + max(0.0, spare - sum(wide)) / 2
    return _placed(scale, outline, tags, used, label, inner, reach, wide, left, width, length)


def _placed(
    scale: float,
    outline: Outline,
    tags: tuple[Tag, ...],
    used: dict[Side, list[Tag]],
    label: dict[Side, float],
    inner: dict[Side, float],
    reach: dict[Side, float],
    wide: tuple[float, float],
    left: float,
    width: float,
    length: float,
) -> Frame:
    """Boxes put in their columns, and the board moved down as far as they need."""
    boxes: dict[Side, tuple[Box, ...]] = {}
    for side, most in zip(SIDES[:2], wide, strict=True):
        ranked = sorted(used[side], key=lambda tag: tag.spot.lane)
        made = [_box(tag, most) for tag in ranked]
        centres = apart([tag.spot.lane for tag in ranked], [box.height for box in made], 0.7)
        boxes[side] = tuple(replace(box, at=at) for box, at in zip(made, centres, strict=True))
    ends = [(box.at - box.height / 2, box.at + box.height / 2) for side in SIDES[:2] for box in boxes[side]]
    above = max([reach["top"], *(-low for low, _ in ends)])
    below = max([reach["bottom"], *(high - length for _, high in ends)])
    end_wide = min(_BOX_MOST, min(left, WIDTH_MM - left - width) - PAD_MM - 3.0)
    heights = {}
    for side in SIDES[2:]:
        made = [_box(tag, end_wide) for tag in sorted(used[side], key=lambda tag: tag.spot.lane)]
        boxes[side], heights[side] = _end_boxes(made, width / 2)
    top = HEAD_MM + PAD_MM + above + heights["top"]
    board = Area(left, top, left + width, top + length)
    for side in SIDES[:2]:
        boxes[side] = tuple(replace(box, at=box.at + top) for box in boxes[side])
    boxes["top"] = tuple(replace(box, at=top - above - 1.5 - box.at) for box in boxes["top"])
    boxes["bottom"] = tuple(replace(box, at=board.y1 + below + 1.5 + box.at) for box in boxes["bottom"])
    away = {side: reach[side] + _FAN for side in SIDES}
    column: dict[Side, Area] = {
        "left": Area(left - away["left"] - wide[0], 0, left - away["left"], 0),
        "right": Area(board.x1 + away["right"], 0, board.x1 + away["right"] + wide[1], 0),
        "top": Area(left - 3.0 - end_wide, 0, board.x1 + 3.0 + end_wide, 0),
        "bottom": Area(left - 3.0 - end_wide, 0, board.x1 + 3.0 + end_wide, 0),
    }
    return Frame(scale, outline, tags, board, label, inner, reach, column, boxes, board.y1 + below + heights["bottom"])


def label_width(label: str) -> float:
    """Width of a printed label, which is bold on pins in use.

    Parameters
    ----------
    label : as printed on the board [-]

    Returns
    -------
    width : in drawn mm
    """
    return text_width(label, LABEL_MM) * BOLD


def _label_width(tags: Sequence[Tag]) -> float:
    """Room for the labels outside of an edge, with the gap before the marks."""
    widest = max((label_width(tag.spot.pin.label) for tag in tags if not tag.spot.rank), default=0.0)
    return EDGE_MM + widest + 2.0 if widest else EDGE_MM


def _entry_width(tag: Tag) -> float:
    return max(text_width(entry, ENTRY_MM) for entry in tag.entries) + 2.6


def _shared_out(spare: float, left: float, right: float) -> tuple[float, float]:
    """Widths of the two columns: what they want if there is room, else what the other one leaves, half each at least."""
    if left + right <= spare:
        return left, right
    half = max(spare, 12.0) / 2
    if left <= half:
        return left, max(spare, 12.0) - left
    return (half, half) if right > half else (max(spare, 12.0) - right, right)


def _box(tag: Tag, wide: float) -> Box:
    lines = tuple(line for entry in tag.entries for line in _wrapped(entry, wide - 2.4))
    return Box(tag, lines or ("·",), LINE_MM * max(1, len(lines)) + 0.8)


def _wrapped(entry: str, wide: float) -> list[str]:
    """An entry on as few lines as it needs; a line's own name never hides behind a long part's."""
    part, dot, line = entry.rpartition(" · ")
    if not dot or text_width(entry, ENTRY_MM) <= wide:
        return wrapped(entry, wide, ENTRY_MM, 3)
    return [*wrapped(part, wide, ENTRY_MM), cut(f"· {line}", wide, ENTRY_MM)]


def _end_boxes(made: Sequence[Box], middle: float) -> tuple[tuple[Box, ...], float]:
    """Boxes of an end, stacked left and right of it so that no leader crosses another; and how high the stacks are."""
    stacked: list[Box] = []
    tallest = 0.0
    lefts = [box for box in made if box.tag.spot.lane < middle]
    rights = [box for box in reversed(made) if box.tag.spot.lane >= middle]
    for group in (lefts, rights):
        at = 0.0
        for box in group:
            stacked.append(replace(box, at=at + box.height / 2))
            at += box.height + 0.7
        tallest = max(tallest, at)
    return tuple(stacked), tallest + 2.0 if made else 0.0
