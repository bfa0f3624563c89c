"""Components and the board as they stand in a circuit, each with its name, its value and its terminals."""

from __future__ import annotations

from collections.abc import Sequence

from pinwright.circuits.window import shown
from pinwright.pack.build.model import Build, Item, Stage, Terminal
from pinwright.pack.circuit import symbols
from pinwright.pack.circuit.parts import rail_label
from pinwright.pack.circuit.sketch import LABEL_MM, SMALL_MM, Sketch, rows_of
from pinwright.pack.drawing import cut

__all__ = ["across", "board_block", "box", "fork", "own_pulls", "shunt", "switch", "value_words"]

_LABEL_WIDE_MM = 17.0
_BOARD_MM = 27.0
_PULL_X = -8.0


def value_words(item: Item) -> str:
    """What stands under a designator: the value, else the part, else what it must stand."""
    if item.value is not None:
        return shown(item.value, item.unit)
    return item.part or item.rating


def fork(item: Item, near: str) -> str:
    """The other end of a component with two."""
    return next(name for name in item.terminals if name != near)


def _drawn_from(item: Item, near: str) -> bool:
    """Whether the symbol's first end is the near one; only a diode has a direction."""
    return item.terminals[0] == near


def shunt(build: Build, item: Item, near: str, up: bool, lead: float = 0.0) -> Sketch:
    """A component from the wire at the zero to a rail above or to ground below.

    Parameters
    ----------
    build : what is built [-]
    item, near : the component, and its terminal on the wire [-]
    up : to a rail above [-]
    lead : wire before it begins [mm]
    """
    sketch, way, far = Sketch(), -1 if up else 1, fork(item, near)
    start, end = way * lead, way * (lead + symbols.TWO_MM)
    if lead:
        sketch.wire((0, 0), (0, start))
    if _drawn_from(item, near):
        symbols.two(sketch, item.symbol, 0, start, 0, way)
    else:
        symbols.two(sketch, item.symbol, 0, end, 0, -way)
    sketch.place(item.ref, near, 0, start)
    sketch.place(item.ref, far, 0, end)
    net = build.net_at[Terminal(item.ref, far)]
    if net.role == "ground":
        symbols.ground(sketch, net.id, 0, end)
    else:
        symbols.supply(sketch, net.id, rail_label(net), 0, end)
    _beside(sketch, item, 2.6, (start + end) / 2)
    return sketch


def _beside(sketch: Sketch, item: Item, x: float, y: float) -> None:
    rows = rows_of(value_words(item), _LABEL_WIDE_MM, SMALL_MM, 2)
    y -= 0.4 if len(rows) < 2 else 1.7
    sketch.text(x, y, item.ref, LABEL_MM, cls="pw-bold")
    for number, row in enumerate(rows):
        sketch.text(x, y + 2.7 * (number + 1), row, SMALL_MM)


def across(item: Item, near: str) -> Sketch:
    """A component in the wire, from the zero to (``TWO_MM``, 0)."""
    sketch, far = Sketch(), fork(item, near)
    if _drawn_from(item, near):
        symbols.two(sketch, item.symbol, 0, 0, 1, 0)
    else:
        symbols.two(sketch, item.symbol, symbols.TWO_MM, 0, -1, 0)
    sketch.place(item.ref, near, 0, 0)
    sketch.place(item.ref, far, symbols.TWO_MM, 0)
    middle = symbols.TWO_MM / 2
    sketch.text(middle, -2.4, item.ref, LABEL_MM, "middle", "pw-bold")
    for number, row in enumerate(rows_of(value_words(item), _LABEL_WIDE_MM, SMALL_MM, 2)):
        sketch.text(middle, 3.6 + 2.7 * number, row, SMALL_MM, "middle")
    return sketch


def switch(build: Build, item: Item) -> tuple[Sketch, tuple[float, float]]:
    """A transistor to ground, its input at the zero; and where its load's end leaves."""
    sketch = Sketch()
    first, top, bottom = item.terminals
    (symbols.npn if item.symbol == "npn" else symbols.nmos)(sketch, 0, 0)
    sketch.place(item.ref, first, 0, 0)
    sketch.place(item.ref, top, 7, -6)
    sketch.place(item.ref, bottom, 7, 6)
    net = build.net_at[Terminal(item.ref, bottom)]
    symbols.ground(sketch, net.id, 7, 6)
    sketch.text(9.2, 0.6, item.ref, LABEL_MM, cls="pw-bold")
    for number, row in enumerate(rows_of(value_words(item), 24.0, SMALL_MM, 2)):
        sketch.text(9.2, 3.4 + 2.7 * number, row, SMALL_MM)
    return sketch, (7.0, -6.0)


def box(build: Build, item: Item, pairs: Sequence[tuple[str, str]], pitch: float = 8.0, way: str = "") -> tuple[Sketch, float]:
    """A module as a block: signals in on the left and out on the right, rails on top, ground below; and its width.

    Parameters
    ----------
    build : what is built [-]
    item : the module [-]
    pairs : terminals on the left and right of each channel shown, the first at the zero [-]
    pitch : from one channel to the next [mm]
    way : ``right``, ``left`` or ``both``: which way its signals go; empty for none shown [-]
    """
    sketch, wide = Sketch(), 24.0 if item.symbol == "shifter" else 34.0
    rails, grounds = _power(build, item)
    words = rows_of(item.title, wide - 3, SMALL_MM, 5)
    lowest = pitch * (len(pairs) - 1)
    top, bottom = -9.5, lowest + 4.0 + 2.7 * len(words) + 3.4
    sketch.rect(0, top, wide, bottom - top, "pw-panel")
    for number, (a, b) in enumerate(pairs):
        y = pitch * number
        sketch.place(item.ref, a, 0, y)
        sketch.place(item.ref, b, wide, y)
        sketch.text(1.2, y + 0.8, cut(a, 12, SMALL_MM), SMALL_MM)
        sketch.text(wide - 1.2, y + 0.8, cut(b, 12, SMALL_MM), SMALL_MM, "end")
        if way:
            symbols.way(sketch, wide / 2 - 3.0, wide / 2 + 3.0, y, way)
    sketch.text(wide / 2, -2.4, item.ref, LABEL_MM, "middle", "pw-bold")
    for number, row in enumerate(words):
        sketch.text(wide / 2, lowest + 4.6 + 2.7 * number, row, SMALL_MM, "middle")
    for number, name in enumerate(rails):
        x = wide * (number + 1) / (len(rails) + 1)
        net = build.net_at[Terminal(item.ref, name)]
        sketch.place(item.ref, name, x, top)
        sketch.text(x, top + 2.6, name, SMALL_MM, "middle")
        symbols.supply(sketch, net.id, rail_label(net), x, top)
    for name in grounds:
        net = build.net_at[Terminal(item.ref, name)]
        sketch.place(item.ref, name, wide / 2, bottom)
        sketch.text(wide / 2, bottom - 0.9, name, SMALL_MM, "middle")
        symbols.ground(sketch, net.id, wide / 2, bottom)
    return sketch, wide


def _power(build: Build, item: Item) -> tuple[list[str], list[str]]:
    """Terminals of a module on rails, and on ground."""
    roles = {name: net.role for name in item.terminals if (net := build.net_at.get(Terminal(item.ref, name))) is not None}
    return [n for n in roles if roles[n] == "supply"], [n for n in roles if roles[n] == "ground"][:1]


def own_pulls(build: Build, stage: Stage) -> list[str]:
    """Pulls the board has at a stage's pin: those of the chip the firmware turns on, and resistors fitted on the board."""
    placed = [p for line in stage.lines if (p := build.plan.of(line)) is not None]
    found = [e.words for p in placed for e in p.circuit.elements if e.kind == "internal pull"]
    for fitted in placed[0].place.onboard if placed else ():
        words = f"{fitted.what} on the board"
        if fitted.what in ("pull-up", "pull-down") and not any(words in other for other in found):
            found.append(f"{words}{f', {shown(fitted.ohm)}' if fitted.ohm else ''}")
    return list(dict.fromkeys(found))


def board_block(build: Build, pins: Sequence[str], pitch: float, inner: Sequence[str] = (), notes: Sequence[str] = ()) -> Sketch:
    """The board with the pins in question on its right edge, the first at the zero; its own pulls inside, dashed.

    Parameters
    ----------
    build : what is built [-]
    pins : names of the pins, from top to bottom [-]
    pitch : from one to the next [mm]
    inner : words of a pull inside, at most one (one pin only) [-]
    notes : more to say about the pins [-]
    """
    sketch, step = Sketch(), symbols.TWO_MM
    rows = rows_of(build.board.title, _BOARD_MM - 3, SMALL_MM, 3)
    rows += [row for note in notes for row in rows_of(note, _BOARD_MM - 3, SMALL_MM, 3)]
    down = [words for words in inner if "pull-down" in words]
    up = [words for words in inner if "pull-down" not in words]
    head = 2.7 * len(rows) + 1.6
    top = -4.5 - head - (step + 3.5 if up else 0.0)
    bottom = pitch * (len(pins) - 1) + 5.0 + (step + 2.0 if down else 0.0)
    sketch.rect(-_BOARD_MM, top, _BOARD_MM, bottom - top, "pw-used")
    for number, row in enumerate(rows):
        sketch.text(-_BOARD_MM + 1.5, top + 3.2 + 2.7 * number, row, SMALL_MM, cls="pw-soft")
    for number, pin in enumerate(pins):
        y = pitch * number
        sketch.place("board", pin, 0, y)
        lift = 3.4 if up and not down else -1.4 if down else 0.9
        sketch.text(-1.4, y + lift, cut(pin, _BOARD_MM - 12, LABEL_MM), LABEL_MM, "end", "pw-bold")
    for words in inner[:1]:
        _pull_inside(sketch, words, -1 if up else 1, build)
    return sketch


def _pull_inside(sketch: Sketch, words: str, way: int, build: Build) -> None:
    step = symbols.TWO_MM
    sketch.path((0, 0), (_PULL_X, 0), width=0.3, dashes="1 0.8")
    symbols.two(sketch, "resistor", _PULL_X, 0, 0, way, dashes="1 0.8")
    end = way * step
    if way < 0:
        sketch.path((_PULL_X - 1, end + 1.2), (_PULL_X, end), (_PULL_X + 1, end + 1.2), width=0.3)
        sketch.text(_PULL_X + 1.6, end + 1.4, f"{build.plan.view.board.logic_v:.3g} V", 1.9)
    else:
        for number, wide in enumerate((2.0, 1.25, 0.5)):
            sketch.path((_PULL_X - wide, end + 0.6 * number), (_PULL_X + wide, end + 0.6 * number), width=0.4)
    room = _BOARD_MM + _PULL_X - 4.0
    for number, row in enumerate(rows_of(words, room, SMALL_MM, 3)):
        sketch.text(_PULL_X - 2.2, way * step / 2 - 1.2 + 2.7 * number, row, SMALL_MM, "end")
