"""The board as a block: header pins in their real order on their real sides, the pins at its ends led out to left and right."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from statistics import fmean

from pinwright.errors import OutOfRange
from pinwright.facts.geometry import pin_positions
from pinwright.facts.model import Board
from pinwright.pack.build.model import Item, Terminal
from pinwright.pack.build.pins import pin_terminals
from pinwright.pack.drawing import text_width, wrapped
from pinwright.pack.sheet.model import Node, Port

__all__ = ["BOLD", "BoardPin", "board_node", "name_lines"]

END_PITCH, MIN_WIDTH, NAME_MM, BOLD = 3.2, 38.0, 2.4, 1.12
WIDEST = 50
PAD_ROWS, LABEL_ROWS = 1.2, 1.35
"""Distance of two rows of pads at an end, and of their labels, in rows."""


@dataclass(frozen=True, slots=True)
class BoardPin:
    """A pin on paper: ``side`` left, right, top or bottom; ``x`` [mm] from the board's left edge, ``row`` from its first row;
    ``room`` for its label [mm], which lies ``label_row`` rows from the pin."""

    terminal: str
    label: str
    side: str
    x: float
    row: float
    room: float = 4.8
    anchor: str = "middle"
    label_row: float = 0.0


def board_node(board: Board, item: Item, nets: dict[str, str]) -> tuple[Node, list[BoardPin]]:
    """The board's node and its pins.

    Parameters
    ----------
    board : its facts [-]
    item : its item in the build [-]
    nets : routed net by terminal, for the pins used on this page [-]
    """
    sides = _by_side(board)
    names = pin_terminals(board)
    known = set(names.values())
    sides["left"] += [[(name, name)] for name in item.terminals if name not in known]  # pads beside the header
    ends = {end: sides[end] for end in ("top", "bottom")}
    pitches = {end: _end_pitch(rows) for end, rows in ends.items()}
    width = max([MIN_WIDTH, *(7.0 + pitches[end] * (max(map(len, rows)) + 0.5 * (len(rows) > 1)) for end, rows in ends.items() if rows)])
    width = next((wide for wide in range(ceil(width), WIDEST) if _has_room(board.name, wide)), max(width, WIDEST))
    pitch = 2 if sum(len(s) for s in sides["left"]) + sum(len(s) for s in sides["right"]) > 18 else 3
    used = {end: [name for strip in ends[end] for name, _ in strip if name in nets] for end in ends}
    top_fan = 2 * ((len(used["top"]) + 1) // 2)
    lines = len(name_lines(board.name, width))
    first = top_fan + ceil(_end_rows(ends["top"])) + 2 + lines
    pins: list[BoardPin] = []
    last = first
    for side, x in (("left", 0.0), ("right", width)):
        row = first
        for number, strip in enumerate(sides[side]):
            row += int(number > 0)
            for name, label in strip:
                pins.append(BoardPin(name, label, side, x, row))
                row += pitch
        last = max(last, row)
    top_edge = float(top_fan) - 0.3
    bottom_edge = last + _end_rows(ends["bottom"])
    for end, rows in ends.items():
        for number, strip in enumerate(rows):
            pitch_mm = pitches[end]
            start = width / 2 - pitch_mm * (len(strip) - 1) / 2 + (pitch_mm / 4 * (1 if number % 2 else -1) if len(rows) > 1 else 0)
            depth = PAD_ROWS * number
            row_at = bottom_edge - depth if end == "bottom" else top_edge + depth
            turn = -1 if end == "bottom" else 1
            for place, (name, label) in enumerate(strip):
                anchor = "end" if place == 0 else "start" if place == len(strip) - 1 else "middle"
                label_row = turn * (PAD_ROWS * (len(rows) - 1 - number) + LABEL_ROWS * (number + 1))
                pins.append(BoardPin(name, label, end, start + pitch_mm * place, row_at, text_width(label, 2.0) + 0.5, anchor, label_row))
    node = Node("board", "board", 0, 0, width, item=item)
    node.body_row = top_edge
    ports, bottom_rows = _ports(pins, nets, width, top_fan, bottom_edge)
    node.ports = ports
    node.rows = max(bottom_rows, int(bottom_edge) + 2)
    return node, [*pins, BoardPin("", "", "edge", 0.0, bottom_edge)]


def _has_room(name: str, width: float) -> bool:
    return not any(line.endswith("…") for line in name_lines(name, width))


def name_lines(name: str, width: float) -> list[str]:
    """The board's name on one line or two.

    Parameters
    ----------
    name : of the board [-]
    width : of its block [mm]
    """
    return wrapped(name, (width - 4.0) / BOLD, NAME_MM, 2)


def _end_rows(rows: list[list[tuple[str, str]]]) -> float:
    """Height of the pads and labels at an end, in rows."""
    return PAD_ROWS * (len(rows) - 1) + LABEL_ROWS * len(rows) + 1.0 if rows else 0.0


def _end_pitch(rows: list[list[tuple[str, str]]]) -> float:
    """Distance of pins at an end so that neighbouring labels stand apart [mm]; the outermost labels are set outwards."""
    least = END_PITCH
    for strip in rows:
        half = [text_width(label, 2.0) / 2 for _, label in strip]
        half[0] = half[-1] = 1.3
        least = max([least, *(a + b + 0.4 for a, b in pairwise(half))])
    return least


def _ports(pins: list[BoardPin], nets: dict[str, str], width: float, top_fan: int, bottom_edge: float) -> tuple[list[Port], int]:
    deepest = 0
    ports = [
        _port(pin, nets, int(pin.row), -1 if pin.side == "left" else 1, ((pin.x, pin.row),))
        for pin in pins
        if pin.terminal in nets and pin.side in ("left", "right")
    ]
    for end, step in (("top", -1), ("bottom", 1)):
        used = sorted((pin for pin in pins if pin.side == end and pin.terminal in nets), key=lambda pin: pin.x)
        half = (
            sum(pin.x < width / 2 for pin in used) if abs(sum(pin.x < width / 2 for pin in used) * 2 - len(used)) <= 4 else len(used) // 2
        )
        start = top_fan - 2 if end == "top" else int(bottom_edge) + 2
        for home, group in ((-1, used[:half]), (1, used[half:][::-1])):
            for number, pin in enumerate(group):
                row = start + 2 * step * number
                deepest = max(deepest, row + 1)
                ports.append(_port(pin, nets, row, home, ((pin.x, pin.row), (pin.x, float(row)))))
    return ports, deepest


def _port(pin: BoardPin, nets: dict[str, str], row: int, home: int, lead: tuple[tuple[float, float], ...]) -> Port:
    return Port(nets[pin.terminal], row, "out", Terminal("board", pin.terminal), home, lead)


def _by_side(board: Board) -> dict[str, list[list[tuple[str, str]]]]:
    """Strips of (terminal, label) on each side, from first end to last (left to right at the ends); outer rows first."""
    names = pin_terminals(board)
    labels = {(pin.row, pin.order): pin.label for pin in board.header}
    try:
        at = pin_positions(board)
    except OutOfRange:  # sizes unknown: the order of the header is all there is
        at = {(pin.row, pin.order): (1.0 if pin.row == "right" else 0.0, pin.order * board.pitch_m) for pin in board.header}
    rows: dict[str, list[tuple[str, int]]] = {}
    for key in at:
        rows.setdefault(key[0], []).append(key)
    middle = fmean(x for x, _ in at.values()), fmean((min(y for _, y in at.values()), max(y for _, y in at.values())))
    found: dict[str, list[tuple[float, list[list[tuple[str, str]]]]]] = {"left": [], "right": [], "top": [], "bottom": []}
    for keys in rows.values():
        xs, ys = [at[key][0] for key in keys], [at[key][1] for key in keys]
        lies = max(xs) - min(xs) > max(ys) - min(ys)
        keys = sorted(keys, key=lambda key: at[key][0 if lies else 1])
        if lies:
            length = board.length_m or max(y for _, y in at.values())
            side = "bottom" if fmean(ys) > length / 2 else "top"
            depth = fmean(ys) if side == "top" else -fmean(ys)
        else:
            side = "left" if fmean(xs) < middle[0] else "right"
            depth = fmean(xs) if side == "left" else -fmean(xs)
        strips: list[list[tuple[str, str]]] = [[]]
        for number, key in enumerate(keys):
            if number and not lies and abs(at[key][1] - at[keys[number - 1]][1]) > 1.5 * board.pitch_m:
                strips.append([])
            strips[-1].append((names[key], labels[key]))
        found[side].append((depth, strips))
    return {side: [strip for _, strips in sorted(rows, key=lambda row: row[0]) for strip in strips] for side, rows in found.items()}
