"""A drawing in the making: shapes round a local zero, and a record of every wire and every terminal that was put somewhere.

Connections are never noted beside the picture; they are read back from it: a terminal is joined to what its point touches.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal
from xml.etree import ElementTree as ET

from pinwright.pack.build.model import Terminal
from pinwright.pack.drawing import Drawing, clean, cut, text_width

__all__ = ["LABEL_MM", "SMALL_MM", "Box", "Sketch", "rows_of"]

LABEL_MM, SMALL_MM = 2.6, 2.2
"""Height of the letters of designators and values, and of all else [mm]."""
_WIRE_MM, _BODY_MM, _DOT_MM = 0.3, 0.38, 0.6
_ROUND = 3

Point = tuple[float, float]
Box = tuple[float, float, float, float]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class _Shape:
    tag: Literal["path", "rect", "circle", "text"]
    numbers: tuple[float, ...]
    cls: str
    words: str = ""
    width: float = _BODY_MM
    dashes: str = ""
    anchor: Anchor = "start"
    commands: str = ""


@dataclass
class Sketch:
    """Shapes, wires and terminals in mm round a local zero; y grows downwards.

    ``wires``: runs of points; ``places``: terminals with the point they sit at; ``rails``: ids of rail nets with theirs.
    """

    shapes: list[_Shape] = field(default_factory=list)
    wires: list[tuple[Point, ...]] = field(default_factory=list)
    places: list[tuple[Terminal, Point]] = field(default_factory=list)
    rails: list[tuple[str, Point]] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    texts: list[tuple[Box, str]] = field(default_factory=list)

    # -------------------------------------------------------------------------- shapes

    def path(self, *points: Point, commands: str = "", cls: str = "pw-ink", dashes: str = "", width: float = _BODY_MM) -> None:
        """Straight strokes from point to point; with ``commands`` letters of a path, one for each point (an arc takes two more points)."""
        flat = tuple(number for point in points for number in point)
        self.shapes.append(_Shape("path", flat, cls, width=width, dashes=dashes, commands=commands))
        self._box(points)

    def rect(self, x: float, y: float, w: float, h: float, cls: str = "pw-ink", dashes: str = "") -> None:
        """A rectangle [mm]."""
        self.shapes.append(_Shape("rect", (x, y, w, h), cls, dashes=dashes))
        self._box(((x, y), (x + w, y + h)))

    def circle(self, x: float, y: float, r: float, cls: str = "pw-ink") -> None:
        """A circle [mm]."""
        self.shapes.append(_Shape("circle", (x, y, r), cls))
        self._box(((x - r, y - r), (x + r, y + r)))

    def text(self, x: float, y: float, words: str, size: float = LABEL_MM, anchor: Anchor = "start", cls: str = "") -> None:
        """Words with their base line at a point; where they stand is kept, so that overlaps can be found."""
        words = clean(words)
        wide = text_width(words, size)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        self.shapes.append(_Shape("text", (x, y, size), cls, words, anchor=anchor))
        box = (left, y - size * 0.78, left + wide, y + size * 0.22)
        self.texts.append((box, words))
        self._box(((box[0], box[1]), (box[2], box[3])))

    def _box(self, points: tuple[Point, ...]) -> None:
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        self.boxes.append((min(xs), min(ys), max(xs), max(ys)))

    # -------------------------------------------------------------------------- what is joined

    def wire(self, *points: Point) -> None:
        """A wire through points; what its ends touch it joins."""
        run = tuple(_at(p) for p in points)
        self.wires.append(run)
        self.path(*run, width=_WIRE_MM)

    def dot(self, x: float, y: float) -> None:
        """A junction of three wires or more."""
        self.dots.append(_at((x, y)))
        self.circle(x, y, _DOT_MM, "pw-solid")

    def place(self, item: str, name: str, x: float, y: float) -> None:
        """A terminal sits here."""
        self.places.append((Terminal(item, name), _at((x, y))))

    def rail(self, net: str, x: float, y: float) -> None:
        """A rail's symbol is joined here."""
        self.rails.append((net, _at((x, y))))

    # -------------------------------------------------------------------------- putting together

    def put(self, other: Sketch, dx: float, dy: float) -> None:
        """Add another sketch, its zero at a point of this one."""
        for shape in other.shapes:
            numbers = list(shape.numbers)
            if shape.tag == "path":
                numbers = [n + (dx, dy)[i % 2] for i, n in enumerate(numbers)]
            else:
                numbers[0] += dx
                numbers[1] += dy
            self.shapes.append(
                _Shape(shape.tag, tuple(numbers), shape.cls, shape.words, shape.width, shape.dashes, shape.anchor, shape.commands)
            )

        def moved(p: Point) -> Point:
            return _at((p[0] + dx, p[1] + dy))

        def moved_box(b: Box) -> Box:
            return (b[0] + dx, b[1] + dy, b[2] + dx, b[3] + dy)

        self.wires += [tuple(moved(p) for p in run) for run in other.wires]
        self.places += [(terminal, moved(p)) for terminal, p in other.places]
        self.rails += [(net, moved(p)) for net, p in other.rails]
        self.dots += [moved(p) for p in other.dots]
        self.boxes += [moved_box(b) for b in other.boxes]
        self.texts += [(moved_box(b), words) for b, words in other.texts]

    @property
    def extent(self) -> Box:
        """Left, top, right and bottom end of everything [mm]."""
        if not self.boxes:
            return (0.0, 0.0, 0.0, 0.0)
        return (
            min(b[0] for b in self.boxes), min(b[1] for b in self.boxes), max(b[2] for b in self.boxes), max(b[3] for b in self.boxes),
        )  # fmt: skip

    def draw(self, drawing: Drawing, dx: float, dy: float, scale: float = 1.0) -> None:
        """Put all shapes into a drawing, moved and then shrunk about the drawing's zero."""
        group = drawing.group(transform=None if scale == 1.0 else f"scale({scale:.4f})")
        for shape in self.shapes:
            _draw(drawing, group, shape, dx / scale, dy / scale)


def _at(point: Point) -> Point:
    return (round(point[0], _ROUND), round(point[1], _ROUND))


def _draw(drawing: Drawing, group: ET.Element, shape: _Shape, dx: float, dy: float) -> None:
    n = shape.numbers
    if shape.tag == "text":
        drawing.text(n[0] + dx, n[1] + dy, shape.words, n[2], group, shape.cls, shape.anchor)
    elif shape.tag == "rect":
        drawing.add("rect", None, group, shape.cls, x=n[0] + dx, y=n[1] + dy, width=n[2], height=n[3], stroke_width=shape.width,
                    stroke_dasharray=shape.dashes or None)  # fmt: skip
    elif shape.tag == "circle":
        drawing.add("circle", None, group, shape.cls, cx=n[0] + dx, cy=n[1] + dy, r=n[2], stroke_width=shape.width)
    else:
        drawing.add("path", None, group, shape.cls, d=_path(shape, dx, dy), stroke_width=shape.width,
                    stroke_dasharray=shape.dashes or None, stroke_linejoin="round", stroke_linecap="round")  # fmt: skip


def _path(shape: _Shape, dx: float, dy: float) -> str:
    """Letters of a path: M and L by turns as ``commands`` says, C with three points; Z closes."""
    points = [(_short(x + dx), _short(y + dy)) for x, y in zip(shape.numbers[::2], shape.numbers[1::2], strict=True)]
    if not shape.commands:
        return "M" + "L".join(f"{x} {y}" for x, y in points)
    words, left = [], iter(points)
    for letter in shape.commands:
        taken = [next(left) for _ in range({"C": 3, "Z": 0}.get(letter, 1))]
        words.append(letter + " ".join(f"{x} {y}" for x, y in taken))
    return "".join(words)


def _short(value: float) -> str:
    return f"{round(value, 2):g}"


def rows_of(words: str, width: float, size: float, most: int) -> list[str]:
    """Words on at most so many rows of a width [mm]; a word too long for a row is broken, after a hyphen where it has one."""
    rows: list[str] = []
    current = ""
    pieces = clean(words).split()
    while pieces:
        piece = pieces.pop(0)
        if text_width(f"{current} {piece}".strip(), size) <= width:
            current = f"{current} {piece}".strip()
        elif current and (text_width(piece, size) <= width or len(rows) == most - 1):
            rows, current = _next(rows, current, [piece, *pieces], width, size, most)
            if len(rows) == most:
                return rows
            pieces.insert(0, piece)
        elif len(rows) == most - 1:
            return [*rows, cut(" ".join([piece, *pieces]), width, size)]
        else:
            start = f"{current} " if current else ""
            at = _break_at(piece, width - text_width(start, size), size)
            if at == 0:
                rows, current = [*rows, current], ""
                pieces.insert(0, piece)
                continue
            rows, current = [*rows, start + piece[:at]], ""
            pieces.insert(0, piece[at:])
    return [*rows, current] if current else rows


def _next(rows: list[str], current: str, left: list[str], width: float, size: float, most: int) -> tuple[list[str], str]:
    """The row that is full; the last one allowed takes all that is left and is cut."""
    if len(rows) == most - 1:
        return [*rows, cut(" ".join([current, *left]), width, size)], ""
    return [*rows, current], ""


def _break_at(word: str, width: float, size: float) -> int:
    """How many letters of a word go on a row: up to its last hyphen there, or as many as fit; at least one on a row of its own."""
    fits = 0
    while fits < len(word) and text_width(word[: fits + 1], size) <= width:
        fits += 1
    hyphen = word.rfind("-", 0, fits) + 1
    return hyphen if hyphen > 1 else fits
