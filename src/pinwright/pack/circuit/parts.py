"""The part at the end of a circuit: its outline, what is inside where one symbol tells it, its supply and its ground."""

from __future__ import annotations

from pinwright.fitting.plan import Placed
from pinwright.pack.build.model import Build, Item, Net, Terminal
from pinwright.pack.circuit import symbols
from pinwright.pack.circuit.sketch import LABEL_MM, SMALL_MM, Sketch, rows_of
from pinwright.pack.drawing import cut, text_width

__all__ = ["PART_MM", "hangs", "part_block", "plain_block", "rail_label", "supplies_of"]

PART_MM = 34.0
"""Width of a part's outline [mm]."""
_INSIDE_X = 7.0
_TERMINAL_MM = 24.0
_LOADS = ("coil", "motor", "led", "lamp", "heater", "buzzer")
_RESISTIVE = ("ntc", "pt", "ldr", "force")


def rail_label(net: Net) -> str:
    """What stands at a rail's arrow: its voltage."""
    return f"{net.v_v:.3g} V" if net.v_v is not None else net.name


def supplies_of(build: Build, part: Item) -> tuple[tuple[str, Net] | None, tuple[str, Net] | None]:
    """The part's terminal on a rail and the one on ground, each with its net."""
    found: dict[str, tuple[str, Net]] = {}
    for name in part.terminals:
        net = build.net_at.get(Terminal(part.ref, name))
        if net is not None and net.role != "signal":
            found.setdefault(net.role, (name, net))
    return found.get("supply"), found.get("ground")


def hangs(build: Build, part: Item, placed: Placed) -> tuple[str, str]:
    """Symbol inside a part, and where it stands: ``up`` to the supply, ``down`` to ground, ``both``; empty for a block.

    Parameters
    ----------
    build : what is built [-]
    part, placed : the part and the line that leads to it [-]
    """
    asks, (plus, minus) = placed.line.asks, supplies_of(build, part)
    entry = build.job.catalogue.parts.get(part.part)
    kind = entry.kind if entry is not None else ""
    if kind in ("n-mosfet", "npn-transistor") and minus and not plus:
        return ("nmos" if kind == "n-mosfet" else "npn"), "down"
    if (plus is None) == (minus is None):
        is_wiper = asks.curve is not None and asks.curve.kind == "potentiometer" and plus is not None
        return ("wiper", "both") if is_wiper else ("", "")
    side = "up" if plus else "down"
    if asks.load is not None and asks.load.kind in _LOADS and entry is not None:  # what a load of one's own is nobody says
        return asks.load.kind, side
    if asks.curve is not None and asks.curve.kind in _RESISTIVE:
        return asks.curve.kind, side
    if asks.direction == "in" and asks.needs.pull != "none" and asks.voh is None:
        return "contact", side
    return "", ""


def part_block(build: Build, part: Item, placed: Placed) -> Sketch:
    """A part that one line leads to; the wire comes in at the zero from the left.

    Parameters
    ----------
    build : what is built [-]
    part, placed : the part and the line [-]
    """
    sketch, name = Sketch(), placed.line.name
    symbol, side = hangs(build, part, placed)
    left = _entry(sketch, part.ref, name, 0.0)
    plus, minus = supplies_of(build, part)
    step = symbols.TWO_MM
    top = -step - 1.5 if side in ("up", "both") and plus else -7.0
    bottom = step + 1.5 if (side in ("down", "both") and minus) or symbol in ("nmos", "npn") else 7.0
    sketch.rect(left, top, PART_MM, bottom - top, "pw-fill")
    x = left + _INSIDE_X
    if plus:
        _plus(sketch, part.ref, *plus, x, top)
    if minus:
        _minus(sketch, part.ref, *minus, x + (7.0 - 2.6 if symbol in ("nmos", "npn") else 0.0), bottom)
    _inside(sketch, symbol, side, left, x, top, bottom)
    text_x = left + (_INSIDE_X + 6.0 if symbol else 2.0)
    if symbol in ("nmos", "npn"):
        text_x += 3.0
    _names(sketch, build, part, text_x, left + PART_MM - text_x - 1.0, (top + bottom) / 2)
    return sketch


def _entry(sketch: Sketch, ref: str, name: str, y: float) -> float:
    """The wire to a part's terminal with the terminal's name over it; where the outline begins."""
    shown = cut(name, _TERMINAL_MM, SMALL_MM)
    left = max(text_width(shown, SMALL_MM), 4.0) + 2.4
    sketch.wire((0, y), (left, y))
    sketch.place(ref, name, left, y)
    sketch.text(left - 0.8, y - 0.9, shown, SMALL_MM, "end", "pw-soft")
    return left


def _plus(sketch: Sketch, ref: str, name: str, net: Net, x: float, y: float) -> None:
    sketch.place(ref, name, x, y)
    sketch.text(x + 1.6, y - 0.8, cut(name, _TERMINAL_MM, SMALL_MM), SMALL_MM, cls="pw-soft")
    symbols.supply(sketch, net.id, rail_label(net), x, y)


def _minus(sketch: Sketch, ref: str, name: str, net: Net, x: float, y: float) -> None:
    sketch.place(ref, name, x, y)
    sketch.text(x + 2.6, y + 2.5, cut(name, _TERMINAL_MM, SMALL_MM), SMALL_MM, cls="pw-soft")
    symbols.ground(sketch, net.id, x, y)


def _inside(sketch: Sketch, symbol: str, side: str, left: float, x: float, top: float, bottom: float) -> None:
    """Ink inside the outline; no wires of ours, so nothing here joins anything."""
    if symbol in ("nmos", "npn"):
        draw = symbols.nmos if symbol == "nmos" else symbols.npn
        sketch.path((left, 0), (x - 2.6, 0), width=0.3)
        draw(sketch, x - 2.6, 0)
        sketch.path((x + 4.4, 6), (x + 4.4, bottom), width=0.3)
        sketch.path((x + 4.4, -6), (x + 4.4, top - 2), width=0.3)
        sketch.text(x + 4.4, top - 2.8, "to your load", SMALL_MM, "middle", "pw-soft")
        return
    if symbol == "wiper":
        sketch.path((x, top), (x, -symbols.TWO_MM / 2), width=0.3)
        symbols.two(sketch, "resistor", x, -symbols.TWO_MM / 2, 0, 1)
        sketch.path((x, symbols.TWO_MM / 2), (x, bottom), width=0.3)
        sketch.path((left, 0), (x - 2.0, 0), width=0.3)
        sketch.path((x - 2.0, -0.6), (x - 1.1, 0), (x - 2.0, 0.6), commands="MLLZ", cls="pw-solid")
    elif symbol:
        sketch.path((left, 0), (x, 0), width=0.3)
        _hung(sketch, symbol, side, x)
        sketch.path((x, -symbols.TWO_MM if side == "up" else symbols.TWO_MM), (x, top if side == "up" else bottom), width=0.3)


def _hung(sketch: Sketch, symbol: str, side: str, x: float) -> None:
    """A symbol between the line and a rail; current runs down through it."""
    if side == "up":
        symbols.two(sketch, symbol, x, -symbols.TWO_MM, 0, 1)
    else:
        symbols.two(sketch, symbol, x, 0, 0, 1)


def _names(sketch: Sketch, build: Build, part: Item, x: float, width: float, y: float) -> None:
    rows = [(line, LABEL_MM, "pw-bold") for line in rows_of(part.ref, width, LABEL_MM * 1.12, 2)]
    rows += [(line, SMALL_MM, "pw-soft") for line in rows_of(part.title, width, SMALL_MM, 2 if len(rows) == 2 else 3)]
    _stack(sketch, rows, x, y)


def _stack(sketch: Sketch, rows: list[tuple[str, float, str]], x: float, y: float) -> None:
    """Rows of words round a middle."""
    at = y - sum(size * 1.3 for _, size, _ in rows) / 2
    for words, size, cls in rows:
        at += size * 1.3
        sketch.text(x, at - size * 0.3, words, size, cls=cls)


def plain_block(build: Build, part: Item, lines: tuple[str, ...], pitch: float, notes: tuple[str, ...] = ()) -> Sketch:
    """A part as one block of a bus: terminals on the left, their first at the zero, no supply drawn but its rail told.

    Parameters
    ----------
    build : what is built [-]
    part : the part [-]
    lines : names of the terminals, from top to bottom [-]
    pitch : from one to the next [mm]
    notes : more to say about it [-]
    """
    sketch = Sketch()
    shown = [cut(name, _TERMINAL_MM, SMALL_MM) for name in lines]
    left = max(max(text_width(words, SMALL_MM) for words in shown), 4.0) + 2.4
    plus, _ = supplies_of(build, part)
    fed = f" at {rail_label(plus[1])}" if plus else ""
    width = PART_MM + 4
    rows = [(line, LABEL_MM, "pw-bold") for line in rows_of(part.ref, width - 3, LABEL_MM * 1.12, 1)]
    rows += [(line, SMALL_MM, "pw-soft") for line in rows_of(f"{part.title}{fed}", width - 3, SMALL_MM, 2)]
    rows += [(line, SMALL_MM, "") for note in notes for line in rows_of(note, width - 3, SMALL_MM, 2)]
    middle = pitch * (len(lines) - 1) / 2
    half = max(sum(size * 1.3 for _, size, _ in rows) / 2 + 1.0, middle + 2.5)
    sketch.rect(left, middle - half, width, 2 * half, "pw-fill")
    for number, (name, words) in enumerate(zip(lines, shown, strict=True)):
        y = pitch * number
        sketch.wire((0, y), (left, y))
        sketch.place(part.ref, name, left, y)
        sketch.text(left - 0.8, y - 0.9, words, SMALL_MM, "end", "pw-soft")
    _stack(sketch, rows, left + 1.5, middle)
    return sketch
