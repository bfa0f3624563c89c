"""Interface circuits as components: every element of a circuit becomes parts with terminals, joined from the pin outwards."""

from __future__ import annotations

from dataclasses import replace

from pinwright.fitting.interface import Element
from pinwright.fitting.interface.pieces import Piece
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView
from pinwright.fitting.plan import Placed
from pinwright.pack.build.joiner import Joiner, Node
from pinwright.pack.build.model import Item, Symbol
from pinwright.review.volts import leads_to_v

__all__ = ["SHIFTER_CHANNELS", "fit_circuit"]

SHIFTER_CHANNELS = 4
"""Channels of an ordinary level-shifter module or quad buffer (common practice, no source)."""
USUAL_RAILS_V = (1.8, 2.5, 3.3, 5.0, 12.0)
"""Supplies a maker has or makes [V] (common practice, no source)."""
ABOUT_V = 0.35
"""A line that stands 3.6 V hangs at a 3.3 V supply [V]."""
_SWITCHES: dict[str, tuple[Symbol, tuple[str, str, str]]] = {
    "base": ("npn", ("B", "C", "E")),
    "gate": ("nmos", ("G", "D", "S")),
}
"""Switch of a stage by the role of its input resistor: symbol, and its terminals: input, load side, ground side."""


def fit_circuit(join: Joiner, view: BoardView, placed: Placed, pin: Node, stock: frozenset[str]) -> tuple[Node, list[str]]:
    """Fit one line's circuit on the node of its pin.

    Parameters
    ----------
    join : what has been joined so far; grows [-]
    view, placed : the board and the line on it [-]
    pin : node of the pin [-]
    stock : catalogue parts the maker has [-]

    Returns
    -------
    end, refs : node the part hangs on, and the components in order from the pin
    """
    here, refs = pin, []
    for element in placed.circuit.elements:
        here, added = _fit(join, view, placed, element, pin, here, stock)
        refs += added
    return here, refs


def _fit(
    join: Joiner, view: BoardView, placed: Placed, element: Element, pin: Node, here: Node, stock: frozenset[str]
) -> tuple[Node, list[str]]:
    if element.kind in ("pull-up", "pull-down"):
        return here, [_pull(join, view, placed, element, pin)]
    if element.kind == "capacitor":
        capacitor = _two(join, placed, element, element.pieces[0], "capacitor", pin, join.ground())
        return here, [capacitor]
    if element.kind == "series resistor":
        after = f"{placed.line.id} behind its resistor"
        return after, [_two(join, placed, element, _piece_of(element), "resistor", here, after)]
    if element.kind == "divider":
        return _divider(join, placed, element, here)
    if element.kind == "level shifter":
        return _shifter(join, view, placed, element, here)
    if element.kind == "driver":
        return _driver(join, view, placed, element, here, stock)
    return here, []  # internal pulls and what is taken off a module: nothing to fit


def _piece_of(element: Element) -> Piece:
    """The one component of an element; where it lists none, what its words and its value say."""
    return element.pieces[0] if element.pieces else Piece("resistor", element.kind, element.ohm, why=element.why)


def _pull(join: Joiner, view: BoardView, placed: Placed, element: Element, pin: Node) -> str:
    rail = join.ground() if element.kind == "pull-down" else join.rail(leads_to_v(element, placed.line.asks, view))
    return _two(join, placed, element, _piece_of(element), "resistor", pin, rail)


def _divider(join: Joiner, placed: Placed, element: Element, here: Node) -> tuple[Node, list[str]]:
    after = f"{placed.line.id} before its divider"
    refs = []
    for piece in element.pieces:
        ends = (here, join.ground()) if piece.role == "lower" else (after, here)
        refs.append(_two(join, placed, element, piece, "resistor", *ends))
    return after, refs


def _two(join: Joiner, placed: Placed, element: Element, piece: Piece, symbol: Symbol, a: Node, b: Node) -> str:
    """A component with two ends."""
    ref = join.designator("C" if symbol == "capacitor" else "D" if symbol == "diode" else "R")
    ends = ("A", "K") if symbol == "diode" else ("1", "2")
    join.add(
        Item(
            ref, "component", piece.what, ends, symbol, piece.role, piece.value, piece.unit if piece.value is not None else "",
            piece.rating, piece.part, placed.line.id, piece.origin, _why(piece, element), piece.origin == "stock",
        )
    )  # fmt: skip
    join.join(a, ref, ends[0], placed.line.id)
    join.join(b, ref, ends[1])
    return ref


def _shifter(join: Joiner, view: BoardView, placed: Placed, element: Element, here: Node) -> tuple[Node, list[str]]:
    """A channel of the part's shifter: its modules have several, and one serves all lines of a part that go the same way."""
    logic_v, asks = view.board.logic_v, placed.line.asks
    way = "two ways" if "two-way" in element.words else "to the board" if asks.direction in ("in", "analog-in") else "to the part"
    supplies, rating = _shifter_supplies(asks, logic_v, way)
    ref, channel = _free_channel(join, placed.line.part, (element.words, way))
    a, b = f"A{channel}", f"B{channel}"
    item = join.items.get(ref)
    ends = (*supplies, "GND")
    if item is None:
        join.add(Item(ref, "component", element.words, (a, b, *ends), "shifter", way, rating=rating, line=placed.line.id, why=element.why,
                      note=f"part {placed.line.part}"))  # fmt: skip
        for terminal, volts in supplies.items():
            join.join(join.rail(volts), ref, terminal)
        join.join(join.ground(), ref, "GND")
    else:
        join.add(replace(item, terminals=(*item.terminals[: -len(ends)], a, b, *ends)))
    after = f"{placed.line.id} behind its shifter"
    join.join(here, ref, a, placed.line.id)
    join.join(after, ref, b, placed.line.id)
    return after, [ref]


def _shifter_supplies(asks: Asks, logic_v: float, way: str) -> tuple[dict[str, float], str]:
    """Supply terminals of a shifter with their rails [V], and what it must be.

    A one-way one is fed at the voltage of the side it drives, and its inputs must suit the other side; a two-way one has both.
    """
    part_v = _part_side_v(asks, logic_v)
    if way == "two ways":
        return {"VA": logic_v, "VB": part_v}, f"{logic_v:.3g} V on side A, {part_v:.3g} V on side B"
    driven_v, from_v = (logic_v, part_v) if way == "to the board" else (part_v, logic_v)
    taken = f"inputs that stand {from_v:.3g} V" if from_v > driven_v + 0.1 else "inputs with TTL levels, high from 2.0 V"
    return {"V+": driven_v}, f"fed with {driven_v:.3g} V; {taken}"


def _part_side_v(asks: Asks, logic_v: float) -> float:
    """Voltage of the part's side of a wire [V]: its supply, less where its lines stand less, more where they want more."""
    rail_v = asks.rail.at(logic_v)
    most = asks.v_max.at(rail_v) if asks.v_max is not None else rail_v
    least = asks.vih.at(rail_v) if asks.vih is not None and asks.direction != "in" else 0.0
    if least <= rail_v <= most + ABOUT_V:
        return rail_v
    fitting = [volts for volts in USUAL_RAILS_V if least <= volts <= most + ABOUT_V]
    return max((v for v in fitting if v <= rail_v), default=min(fitting, default=rail_v))


def _free_channel(join: Joiner, part: str, kind: tuple[str, str]) -> tuple[str, int]:
    for item in join.items.values():
        if item.symbol == "shifter" and item.note == f"part {part}" and (item.title, item.role) == kind:
            used = sum(name.startswith("A") for name in item.terminals)
            if used < SHIFTER_CHANNELS:
                return item.ref, used + 1
    return join.designator("U"), 1


def _driver(join: Joiner, view: BoardView, placed: Placed, element: Element, here: Node, stock: frozenset[str]) -> tuple[Node, list[str]]:
    """A transistor to ground with what belongs to it, or a box with the stage's words where no transistor of the catalogue does."""
    line, load = placed.line, placed.line.asks.load
    entry = next((piece for piece in element.pieces if piece.role in _SWITCHES), None)
    load_v = load.v_v if load is not None else line.asks.rail.at(view.board.logic_v)
    after = f"{line.id} switched"
    if entry is None:
        ref = join.designator("U")
        join.add(Item(ref, "component", element.words, ("IN", "OUT", "V+", "GND"), "stage", "driver", line=line.id, why=element.why,
                      note="this stage is told in words only: build it as its data sheet shows"))  # fmt: skip
        join.join(here, ref, "IN", line.id)
        join.join(after, ref, "OUT", line.id)
        join.join(join.rail(load_v), ref, "V+")
        join.join(join.ground(), ref, "GND")
        return after, [ref]
    symbol, (first, top, bottom) = _SWITCHES[entry.role]
    inner = f"{line.id} {entry.role}"
    refs = [_two(join, placed, element, entry, "resistor", here, inner)]
    drain = after
    for piece in element.pieces:
        if piece is entry:
            continue
        if piece.role == "switch":
            ref = join.designator("Q")
            join.add(Item(ref, "component", piece.what, (first, top, bottom), symbol, "switch", rating=piece.rating, part=piece.part,
                          line=line.id, why=piece.why, in_stock=piece.part in stock))  # fmt: skip
            join.join(inner, ref, first, line.id)
            join.join(drain, ref, top, line.id)
            join.join(join.ground(), ref, bottom)
            refs.append(ref)
        elif piece.what == "diode":
            refs.append(_two(join, placed, element, piece, "diode", drain, join.rail(load_v)))
        elif piece.role == "LED":
            before, after = drain, f"{line.id} before its resistor"
            refs.append(_two(join, placed, element, piece, "resistor", before, after))
    return after, refs


def _why(piece: Piece, element: Element) -> str:
    """Why a component is there: a stage's components have reasons of their own."""
    return (piece.why if element.kind == "driver" else element.why) or element.why or piece.why
