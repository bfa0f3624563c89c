"""What sits on a drawn board: socket, module or chip, and lamps and buttons as small lettered signs near their places."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.pack.drawing import Drawing, text_width, wrapped

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from pinwright.facts.model import Onboard
    from pinwright.fitting.places import BoardView

__all__ = ["SOCKET_OUT_MM", "Area", "Sign", "draw_inside", "draw_sign", "signs_of"]

SOCKET_OUT_MM = 1.2
"""How far a USB socket stands out over the edge, before scaling (our choice, to draw)."""
_SOCKET_MM = (9.0, 7.0)
"""Width and depth of a USB socket, before scaling (about a USB-C or micro socket; to draw)."""
_MODULE_MM, _CHIP_MM = (18.0, 25.0), (10.0, 10.0)
"""Largest outline of a module and of a bare chip, before scaling (about; to draw)."""
_SIGN_MM = 3.4
_NAMES = {"led": "lamp", "rgb-led": "colour lamp", "button": "button", "jumper": "jumper"}


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of the drawing [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Area) -> bool:
        """Whether two areas overlap."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def holds(self, other: Area) -> bool:
        """Whether the other one lies inside."""
        return self.x0 <= other.x0 and other.x1 <= self.x1 and self.y0 <= other.y0 and other.y1 <= self.y1

    def grown(self, by: float) -> Area:
        """The same with a margin all round."""
        return Area(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)


@dataclass(frozen=True, slots=True)
class Sign:
    """A lettered sign for one or several things that sit (almost) in one place; ``x``, ``y`` in mm of the board, unscaled."""

    letter: str
    what: str
    words: str
    x: float
    y: float


def signs_of(view: BoardView, scale: float) -> list[Sign]:
    """Signs of everything whose place on the board is known; things closer than a sign is wide share one.

    Parameters
    ----------
    view : the board [-]
    scale : drawn size through real size [-]

    Returns
    -------
    signs : lettered from the first end on
    """
    placed = [(item, item.at_m[0] * 1e3, item.at_m[1] * 1e3) for item in view.board.onboard if item.at_m is not None]
    groups: list[list[tuple[Onboard, float, float]]] = []
    for one in sorted(placed, key=lambda p: (p[2], p[1], p[0].what, p[0].pad)):
        near = next((g for g in groups if math.dist(g[0][1:], one[1:]) * scale < _SIGN_MM and g[0][0].what == one[0].what), None)
        if near is None:
            groups.append([one])
        else:
            near.append(one)
    return [
        Sign(chr(ord("a") + number % 26), group[0][0].what, _words([item for item, _, _ in group]), group[0][1], group[0][2])
        for number, group in enumerate(groups)
    ]


def _words(items: Sequence[Onboard]) -> str:
    name = _NAMES.get(items[0].what, items[0].what)
    where = list(dict.fromkeys(f"on {item.pad or item.pin}" for item in items if item.pad or item.pin))
    said = next((re.split(r"[;:,(]", item.effect)[0].strip() for item in items if item.effect), "") if len(items) == 1 else ""
    return f"{name} {', '.join(where)}".strip() + (f": {said}" if said and said != name else "")


def draw_inside(
    drawing: Drawing, parent: Element, view: BoardView, signs: Sequence[Sign], board: Area, free: Area, taken: Sequence[Area], scale: float
) -> None:
    """Draw socket, module and signs on a board.

    Parameters
    ----------
    drawing, parent : where to draw [-]
    view : the board [-]
    signs : from ``signs_of`` [-]
    board : its outline [mm]
    free : inside of the rows [mm]
    taken : pins and their labels, to keep off [mm]
    scale : drawn size through real size [-]
    """
    busy = [*taken]
    if view.board.usb_end != "none":
        busy.append(_socket(drawing, parent, view.board.usb_end, board, scale))
    spots = []
    for sign in signs:
        area = _near(board.x0 + sign.x * scale, board.y0 + sign.y * scale, board.grown(-0.6), busy)
        busy.append(area.grown(0.3))
        spots.append((sign, area))
    _middle(drawing, parent, view, free, busy, scale)
    for sign, area in spots:
        draw_sign(drawing, parent, sign, (area.x0 + area.x1) / 2, (area.y0 + area.y1) / 2)


def draw_sign(drawing: Drawing, parent: Element | None, sign: Sign, x: float, y: float) -> None:
    """Draw a sign with its middle at a point [mm]: lamps round, colour lamps with a second ring, buttons square."""
    group, half = drawing.group(parent, sign.words), _SIGN_MM / 2
    if sign.what in ("led", "rgb-led"):
        drawing.add("circle", None, group, "pw-fill", cx=x, cy=y, r=half, stroke_width=0.25)
        if sign.what == "rgb-led":
            drawing.add("circle", None, group, "pw-rule", cx=x, cy=y, r=half - 0.35, stroke_width=0.2)
    else:
        round_ = 0.8 if sign.what == "button" else 0.0
        drawing.add("rect", None, group, "pw-fill", x=x - half, y=y - half, width=2 * half, height=2 * half, rx=round_, stroke_width=0.25)
    drawing.text(x, y + 0.7, sign.letter, 2.1, group, anchor="middle")


def _socket(drawing: Drawing, parent: Element, end: str, board: Area, scale: float) -> Area:
    """The socket at its end, in the middle of it, a little over the edge."""
    wide, deep = (size * scale for size in _SOCKET_MM)
    out = SOCKET_OUT_MM * scale
    x, y = (board.x0 + board.x1) / 2, (board.y0 + board.y1) / 2
    if end in ("first", "last"):
        wide = min(wide, (board.x1 - board.x0) * 0.6)
        top = board.y0 - out if end == "first" else board.y1 + out - deep
        area = Area(x - wide / 2, top, x + wide / 2, top + deep)
    else:
        left = board.x0 - out if end == "left" else board.x1 + out - deep
        area = Area(left, y - wide / 2, left + deep, y + wide / 2)
    drawing.add(
        "rect", None, parent, "pw-fill", x=area.x0, y=area.y0, width=area.x1 - area.x0, height=area.y1 - area.y0, rx=1, stroke_width=0.3
    )
    size = 2.4 if min(wide, deep) > 7.5 else 2.0
    drawing.text((area.x0 + area.x1) / 2, (area.y0 + area.y1) / 2 + 0.35 * size, "USB", size, parent, "pw-soft", "middle")
    return area.grown(0.4)


def _near(x: float, y: float, board: Area, busy: Sequence[Area]) -> Area:
    """Free place for a sign, the nearest to where it belongs."""
    half = _SIGN_MM / 2
    for step in range(40):
        for turn in range(max(1, 8 * step)):
            angle = 2 * math.pi * turn / max(1, 8 * step)
            cx, cy = x + step * 0.8 * math.cos(angle), y + step * 0.8 * math.sin(angle)
            area = Area(cx - half, cy - half, cx + half, cy + half)
            if board.holds(area) and not any(area.meets(other) for other in busy):
                return area
    return Area(x - half, y - half, x + half, y + half)


def _middle(drawing: Drawing, parent: Element, view: BoardView, free: Area, busy: Sequence[Area], scale: float) -> None:
    """Module or chip in the largest free stretch between the rows, towards the end away from the socket."""
    edges = sorted([(a.y0, a.y1) for a in busy if a.x0 < free.x1 and free.x0 < a.x1])
    gaps, low = [], free.y0
    for y0, y1 in [*edges, (free.y1, free.y1)]:
        if y0 > low:
            gaps.append((y0 - low, low, min(y0, free.y1)))
        low = max(low, y1)
    if not gaps:
        return
    _, y0, y1 = max(gaps, key=lambda gap: round(gap[0], 3))
    is_module = bool(view.board.module) and view.board.usb != "none"  # without a socket the board itself is the module
    most = _MODULE_MM if is_module else _CHIP_MM
    name = view.board.module.split(" (")[0] if is_module else view.chip.part
    least = text_width(name, 2.6) + 4.0 if not is_module else 0.0
    wide, high = min(max(most[0] * scale, least), free.x1 - free.x0 - 1.0), min(most[1] * scale, y1 - y0 - 1.6)
    if wide < 9.0 or high < 4.6:
        return
    top = y0 + 0.8 if view.board.usb_end == "last" and is_module else (y0 + y1 - high) / 2
    x = (free.x0 + free.x1) / 2
    group = drawing.group(parent, view.board.module if is_module else view.chip.part)
    drawing.add("rect", None, group, "pw-fill", x=x - wide / 2, y=top, width=wide, height=high, rx=0.8, stroke_width=0.3)
    size = next((s for s in (3.0, 2.6, 2.3) if text_width(max(name.split(), key=len), s) < wide - 2), 2.0)
    lines = wrapped(name, wide - 2.0, size, max(1, min(3, int((high - 1.0) / (size * 1.3)))))
    start = top + high / 2 - (len(lines) - 1) * size * 0.65 + size * 0.35
    for number, line in enumerate(lines):
        drawing.text(x, start + number * size * 1.3, line, size, group, anchor="middle")
