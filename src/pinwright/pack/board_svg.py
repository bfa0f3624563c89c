"""The board of a plan, to scale: every header pin with its printed label, pins in use bound to part and line, marks that warn.

The drawing is at most 186 mm wide, so that it fits a page of A4 and of Letter; the largest usual scale that fits is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from pinwright.pack.board_frame import (
    EDGE_MM,
    ENTRY_MM,
    LABEL_MM,
    LINE_MM,
    PAD_MM,
    SIDES,
    STEP_MM,
    WIDTH_MM,
    Box,
    Frame,
    Tag,
    framed,
    label_width,
)
from pinwright.pack.board_inside import Area, Sign, draw_inside, signs_of
from pinwright.pack.board_key import draw_head, draw_key, draw_scale, key_height
from pinwright.pack.board_layout import Side, Spot, beside
from pinwright.pack.board_marks import draw_mark
from pinwright.pack.build.model import Terminal
from pinwright.pack.drawing import Drawing, text_width

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from pinwright.fitting.places import BoardView
    from pinwright.fitting.plan import BoardPlan
    from pinwright.pack.build.model import Build

__all__ = ["board_drawing", "board_svg"]

_FOOT = 9.0


def board_svg(plan: BoardPlan, title: str = "", name: str = "board", build: Build | None = None) -> Drawing:
    """Draw the board of a plan.

    Parameters
    ----------
    plan : a plan with every line placed, or none [-]
    title : what the device is [-]
    name : beginning of the drawing's ids [-]
    build : the same plan ready to be built; then its supply and ground pins are bound to their rails as well [-]

    Returns
    -------
    drawing : 186 mm wide, as high as it must be; its description is the pin table in words
    """
    uses: dict[tuple[str, int], list[str]] = {}
    logic_v = plan.view.board.logic_v
    with_5v = False
    for placed in plan.placed:
        uses.setdefault((placed.place.row, placed.place.order), []).append(f"{placed.line.part} · {placed.line.name}")
        with_5v = with_5v or placed.line.asks.rail.at(logic_v) > logic_v + 0.5
    for key, said in (_rails(build) if build is not None else {}).items():
        uses.setdefault(key, []).extend(said)
    return board_drawing(plan.view, {key: tuple(said) for key, said in uses.items()}, title, name, with_5v)


def _rails(build: Build) -> dict[tuple[str, int], list[str]]:
    """Rails the board's pins lead to; a label printed more than once with its number, as wire list and bench sheet call it."""
    from pinwright.pack.build.pins import pin_terminals

    board = build.plan.view.board
    labels = {(pin.row, pin.order): pin.label for pin in board.header}
    found: dict[tuple[str, int], list[str]] = {}
    for key, terminal in pin_terminals(board).items():
        net = next((n for n in build.nets if n.role != "signal" and Terminal("board", terminal) in n.terminals), None)
        if net is not None:
            number = "" if terminal == labels[key] else f"{terminal}: "
            fed = [f"{end.item} · {end.name}" for end in net.terminals if build.by_ref[end.item].kind == "supply"]
            found[key] = [f"{number}{net.name} · rail", *fed]
    return found


def board_drawing(
    view: BoardView, uses: Mapping[tuple[str, int], Sequence[str]], title: str = "", name: str = "board", with_5v: bool = False
) -> Drawing:
    """Draw a board with what runs over its pins.

    Parameters
    ----------
    view : the board [-]
    uses : what to write at a pin, by row and order; pins that are not in it are free [-]
    title : what the device is [-]
    name : beginning of the drawing's ids [-]
    with_5v : mark pins that stand 5 V [-]

    Returns
    -------
    drawing : 186 mm wide, as high as it must be
    """
    frame = framed(view, uses, with_5v)
    signs = signs_of(view, frame.scale) if not frame.outline.is_guess else []
    marks = [mark for tag in frame.tags for mark in tag.marks]
    kinds = _kinds(frame.tags)
    key = key_height(marks, signs, kinds, WIDTH_MM - 2 * PAD_MM)
    drawing = Drawing(
        name,
        f"{title or 'Pins'}: {view.board.name}",
        _said(view, frame.tags),
        WIDTH_MM,
        frame.body_bottom + 5.0 + key + _FOOT + PAD_MM,
    )
    draw_head(drawing, view, frame, title)
    _board(drawing, view, frame, signs)
    for tag in frame.tags:
        _pin(drawing, frame, tag)
    for side in SIDES:
        for box in frame.boxes[side]:
            _bound(drawing, frame, side, box)
    draw_key(drawing, marks, signs, kinds, PAD_MM, frame.body_bottom + 5.0, WIDTH_MM - 2 * PAD_MM)
    draw_scale(drawing, frame, frame.body_bottom + 5.0 + key + 4.0)
    return drawing


# ------------------------------------------------------------------------------ drawing


def _board(drawing: Drawing, view: BoardView, frame: Frame, signs: Sequence[Sign]) -> None:
    board, scale = frame.board, frame.scale
    group = drawing.group(label=view.board.name)
    drawing.add(
        "rect", None, group, "pw-panel", x=board.x0, y=board.y0, width=board.x1 - board.x0, height=board.y1 - board.y0,
        rx=min(2.0, scale), stroke_width=0.5, stroke_dasharray="2 1.2" if frame.outline.is_guess else None,
    )  # fmt: skip
    r = _pad_r(frame)
    taken, bounds = [], {"left": board.x0, "right": board.x1, "top": board.y0, "bottom": board.y1}
    for tag in frame.tags:
        x, y = board.x0 + tag.spot.x, board.y0 + tag.spot.y
        far = r + 0.6 + (label_width(tag.spot.pin.label) + 0.8 if tag.spot.rank else 0.0)
        area = Area(x - r - 0.4, y - r - 0.4, x + r + 0.4, y + r + 0.4)
        if tag.spot.side == "left":
            area = replace(area, x1=x + far)
            bounds["left"] = max(bounds["left"], area.x1)
        elif tag.spot.side == "right":
            area = replace(area, x0=x - far)
            bounds["right"] = min(bounds["right"], area.x0)
        elif tag.spot.side == "top":
            area = replace(area, y1=y + far)
            bounds["top"] = max(bounds["top"], area.y1)
        else:
            area = replace(area, y0=y - far)
            bounds["bottom"] = min(bounds["bottom"], area.y0)
        taken.append(area)
    free = Area(bounds["left"], bounds["top"], bounds["right"], bounds["bottom"])
    draw_inside(drawing, group, view, signs, board, free, taken, scale)


def _pad_r(frame: Frame) -> float:
    return min(1.1, 0.3 * frame.outline.pitch * frame.scale)


def _pin(drawing: Drawing, frame: Frame, tag: Tag) -> None:
    """A pin, its printed label and its marks; filled and on a tag where it is in use."""
    spot, board = tag.spot, frame.board
    x, y = board.x0 + spot.x, board.y0 + spot.y
    is_used = bool(tag.entries)
    said = ", ".join([*tag.entries, *(mark.short for mark in tag.marks)]) or ("supply, ground or reset" if spot.pin.power else "free")
    group = drawing.group(label=f"{spot.pin.label}: {said}")
    lane = _along(frame, spot, spot.lane)
    marks_from = frame.inner[spot.side] if spot.rank else frame.label[spot.side]
    last = marks_from + STEP_MM * (len(tag.marks) - 1) + STEP_MM / 2 if tag.marks else 0.0
    far = frame.reach[spot.side] if is_used else last if tag.marks else 0.0 if spot.rank else EDGE_MM
    if far:
        _lead(drawing, group, frame, spot, lane, far, is_used)
    r = _pad_r(frame)
    cls = "pw-solid" if is_used else "pw-fill"
    if spot.pin.power:
        drawing.add("rect", None, group, cls, x=x - 0.9 * r, y=y - 0.9 * r, width=1.8 * r, height=1.8 * r, stroke_width=0.25)
    else:
        drawing.add("circle", None, group, cls, cx=x, cy=y, r=r, stroke_width=0.25)
    _label(drawing, group, frame, tag)
    for number, mark in enumerate(tag.marks):
        out = marks_from + STEP_MM * number + STEP_MM / 2
        draw_mark(drawing, group, mark, *_point(frame, spot, lane, out), is_used)


def _along(frame: Frame, spot: Spot, t: float) -> float:
    """A place along the pin's side, on the page."""
    return t + (frame.board.y0 if spot.side in ("left", "right") else frame.board.x0)


def _point(frame: Frame, spot: Spot, t: float, out: float) -> tuple[float, float]:
    board = frame.board
    return beside(spot.side, board.x0, board.y0, board.x1, board.y1, t, out)


def _lead(drawing: Drawing, group: Element, frame: Frame, spot: Spot, lane: float, far: float, is_used: bool) -> None:
    """Line from the pin outward along its lane; an inner pin's goes between the outer ones."""
    x, y = frame.board.x0 + spot.x, frame.board.y0 + spot.y
    points = [(x, y)]
    if spot.rank:
        half = frame.outline.pitch * frame.scale / 2
        t = _along(frame, spot, spot.t)
        depth = abs(_point(frame, spot, t, 0)[0] - x) + abs(_point(frame, spot, t, 0)[1] - y)
        points.append(_point(frame, spot, lane, half - depth))
    points.append(_point(frame, spot, lane, far))
    drawing.add("polyline", None, group, "pw-ink" if is_used else "pw-rule", points=_joined(points), stroke_width=0.4 if is_used else 0.2)


def _label(drawing: Drawing, group: Element, frame: Frame, tag: Tag) -> None:
    """The printed label: outside of the edge, or inside of an inner pin; upright rows read along the row's leaders."""
    spot = tag.spot
    words, wide, is_used = spot.pin.label, label_width(spot.pin.label), bool(tag.entries)
    cls = "pw-bold" if is_used else "" if spot.pin.power else "pw-soft"
    t = _along(frame, spot, spot.t)
    if spot.rank:
        x, y = frame.board.x0 + spot.x, frame.board.y0 + spot.y
        depth = abs(_point(frame, spot, t, 0)[0] - x) + abs(_point(frame, spot, t, 0)[1] - y)
        near, far = -depth - _pad_r(frame) - 0.6 - wide, -depth - _pad_r(frame) - 0.6
    else:
        near, far = EDGE_MM + 0.7, EDGE_MM + 0.7 + wide
        high = min(3.4, frame.outline.pitch * frame.scale - 0.8)
        (x0, y0), (x1, y1) = _point(frame, spot, t - high / 2, EDGE_MM), _point(frame, spot, t + high / 2, far + 0.7)
        drawing.add(  # a tag in use; else a plain field that keeps lines out of the words
            "rect", None, group, "pw-used" if is_used else "pw-paper", x=min(x0, x1), y=min(y0, y1), width=abs(x1 - x0),
            height=abs(y1 - y0), rx=0.6, stroke_width=0.25 if is_used else 0,
        )  # fmt: skip
    drop = 0.36 * LABEL_MM
    if spot.side in ("left", "right"):
        x, y = _point(frame, spot, t, far if spot.rank else near)
        drawing.text(x, y + drop, words, LABEL_MM, group, cls, "end" if (spot.side == "left") != bool(spot.rank) else "start")
        return
    x, y = _point(frame, spot, t, far if spot.rank else near)
    anchor = "end" if (spot.side == "bottom") != bool(spot.rank) else "start"
    drawing.text(x + drop, y, words, LABEL_MM, group, cls, anchor, transform=f"rotate(-90 {x + drop:.2f} {y:.2f})")


def _bound(drawing: Drawing, frame: Frame, side: Side, box: Box) -> None:
    """The box that says what runs over a pin, and the leader that binds it."""
    spot, column = box.tag.spot, frame.column[side]
    group = drawing.group(label=f"{spot.pin.label}: {', '.join(box.tag.entries)}")
    lane = _along(frame, spot, spot.lane)
    wide = max(text_width(line, ENTRY_MM) for line in box.lines) + 2.4
    start = _point(frame, spot, lane, frame.reach[side])
    if side == "left":
        x, points = column.x1 - wide, [start, (column.x1, box.at)]
    elif side == "right":
        x, points = column.x0, [start, (column.x0, box.at)]
    else:
        is_left = spot.lane < (frame.board.x1 - frame.board.x0) / 2
        x = frame.board.x0 - 3.0 - wide if is_left else frame.board.x1 + 3.0
        points = [start, (start[0], box.at), (x + wide if is_left else x, box.at)]
    drawing.add("polyline", None, group, "pw-ink", points=_joined(points), stroke_width=0.4)
    drawing.add("rect", None, group, "pw-used", x=x, y=box.at - box.height / 2, width=wide, height=box.height, rx=0.8, stroke_width=0.3)
    for number, line in enumerate(box.lines):
        drawing.text(x + 1.2, box.at - box.height / 2 + 2.95 + LINE_MM * number, line, ENTRY_MM, group)


def _joined(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


# ------------------------------------------------------------------------------ words


def _kinds(tags: Sequence[Tag]) -> tuple[str, ...]:
    """Looks of a pin that occur, for the key."""
    found = ["used"] if any(tag.entries for tag in tags) else []
    found += ["free"] if any(not tag.entries and not tag.spot.pin.power for tag in tags) else []
    return (*found, "power") if any(tag.spot.pin.power for tag in tags) else tuple(found)


def _said(view: BoardView, tags: Sequence[Tag]) -> str:
    """The pin table in words, row by row."""
    rows: dict[str, list[str]] = {}
    for tag in tags:
        pin = tag.spot.pin
        what = ", ".join(tag.entries) or ("supply or control" if pin.power else "free")
        marks = f" ({', '.join(mark.short for mark in tag.marks)})" if tag.marks else ""
        rows.setdefault(pin.row, []).append(f"{pin.order} {pin.label}: {what}{marks}")
    told = ". ".join(f"Row {row}: " + "; ".join(pins) for row, pins in rows.items())
    return f"Pins counted from: {view.board.order_from}. {told}."
