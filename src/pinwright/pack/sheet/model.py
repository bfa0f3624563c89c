"""What a wiring sheet is made of before it is ink: nodes with ports on a grid of rows, then boxes, runs, tags and labels in mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pinwright.pack.build.model import Item, Terminal, Wire

__all__ = ["Bar", "Box", "Drop", "Label", "Node", "NodeKind", "Point", "Port", "Run", "Sheet", "Tag"]

NodeKind = Literal["board", "part", "component", "piece", "pass", "wrap", "other-sheet"]
Point = tuple[float, float]


@dataclass(slots=True)
class Port:
    """Where wires of a net reach a node: ``row`` counts from the node's first row.

    ``faces``: ``in`` towards the board, ``out`` away from it, ``both``: a line that runs through the node, which hangs on it.
    On the board itself ``home`` says which side the port is on (-1 left, +1 right) and ``lead`` where the wire starts, in mm from
    the board's left edge and in rows from its first row.
    """

    net: str
    row: int
    faces: Literal["in", "out", "both"]
    terminal: Terminal | None = None
    home: int = 0
    lead: tuple[Point, ...] = ()


@dataclass(slots=True)
class Drop:
    """A short wire from a terminal straight to its rail: ``edge`` of the node it leaves."""

    wire: Wire
    terminal: Terminal
    rail: str
    edge: Literal["up", "down", "out", "pin"]
    row: int = 0
    home: int = 0


@dataclass(slots=True)
class Node:
    """A thing in a column.  ``level``: 0 the board's column, 1 and 2 components, 3 parts; ``home``: side of the board.

    ``rows`` high on the grid, ``top`` its first row once it is placed; ``width`` in mm.  ``body_row``, ``body_half``: middle of a
    component's body and half its height, in rows.
    """

    key: str
    kind: NodeKind
    level: int
    rows: int
    width: float
    ports: list[Port] = field(default_factory=list)
    drops: list[Drop] = field(default_factory=list)
    item: Item | None = None
    home: int = 1
    top: int = 0
    body_row: float = 0.0
    body_half: float = 1.3
    net: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A block on paper [mm]; nothing but its own text may be in it."""

    node: str
    kind: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A piece of a rail on paper [mm]; ``net`` of it."""

    rail: str
    x0: float
    y0: float
    x1: float
    y1: float
    colour: str


@dataclass(frozen=True, slots=True)
class Run:
    """A wire on paper: corner points from one terminal to the other [mm].  ``net``: wires of one net may meet."""

    wire: Wire
    net: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """A line of text: ``x``, ``y`` of its middle line [mm], ``size`` [mm]; ``full`` where it was cut; ``owner``: node it is on."""

    words: str
    x: float
    y: float
    size: float
    anchor: Literal["start", "middle", "end"] = "start"
    style: str = ""
    owner: str = ""
    full: str = ""
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Tag:
    """Numbers of the wires that end at a terminal, in a break of the wire; ``x0``..``y1`` its frame [mm]."""

    numbers: tuple[int, ...]
    code: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass
class Sheet:
    """One page, ready to be inked; lengths in mm, y downwards.  ``elsewhere``: wires that end here and are drawn on another sheet."""

    number: int
    of: int
    width: float
    height: float
    nodes: list[Node] = field(default_factory=list)
    boxes: dict[str, Box] = field(default_factory=dict)
    bars: list[Bar] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    leads: list[tuple[Point, Point]] = field(default_factory=list)
    pads: list[tuple[float, float, bool]] = field(default_factory=list)
    elsewhere: tuple[tuple[Wire, int], ...] = ()
    crossings: int = 0
    scale: float = 1.0
