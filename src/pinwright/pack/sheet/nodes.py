"""Nodes of a page: how large each block is, where its terminals are, which wires drop to a rail beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pinwright.circuits.window import shown
from pinwright.pack.build.model import Item, Terminal, Wire
from pinwright.pack.drawing import text_width
from pinwright.pack.sheet.board_node import BOLD, BoardPin, board_node
from pinwright.pack.sheet.model import Drop, Node, Port
from pinwright.pack.sheet.pages import Page, Place

__all__ = ["BOLD", "NAME_MM", "SMALL_MM", "TERMINAL_MM", "Kit", "Level", "component_words", "nodes_of", "tag_width"]

NAME_MM, TERMINAL_MM, SMALL_MM = 2.6, 2.3, 2.1
"""Sizes of text [mm]; 2 mm is the least that is read at arm's length on a bench (common practice, no source)."""
PART_MIN, BODY, BAR = 24.0, 9.6, 8.4
DROP_ROWS = 3


@dataclass(frozen=True, slots=True)
class Level:
    """How large everything is drawn: ``scale`` of all but the frame; ``dense``: smaller rows, one line less in parts;
    ``part_max``: widest part [mm]; ``near_rails`` as in ``Page``; ``single``: all components in one column, later ones of a chain
    with all terminals outwards.
    """

    scale: float = 1.0
    dense: bool = False
    part_max: float = 36.0
    near_rails: bool = True
    single: bool = False


@dataclass
class Kit:
    """Nodes of a page and what the drawing needs beside them."""

    page: Page
    level: Level
    board: Node
    pins: list[BoardPin]
    nodes: list[Node]

    @property
    def row_mm(self) -> float:
        """Height of a row of the grid [mm]."""
        return 1.8 if self.level.dense else 2.0


def tag_width(numbers: list[int], code: str) -> float:
    """Width of a number tag [mm]."""
    return BOLD * text_width(" ".join(map(str, numbers)), SMALL_MM) + text_width(code, SMALL_MM) + 1.9


def component_words(item: Item) -> tuple[str, str]:
    """Designator and value, as on the body."""
    if item.symbol in ("resistor", "capacitor") and item.value is not None:
        return item.ref, shown(item.value, item.unit)
    return item.ref, {"npn": "NPN", "nmos": "N-MOS", "diode": "", "shifter": "shifter", "stage": "stage"}.get(item.symbol, "")


def nodes_of(page: Page, level: Level) -> Kit:
    """All nodes of a page: the board, its parts and supplies, components, pieces of rails, ways to other sheets.

    Parameters
    ----------
    page : what is on it [-]
    level : how large everything is [-]
    """
    page = replace(page, near_rails=level.near_rails)
    build = page.build
    pieces = page.pieces
    nets = {place.terminal.name: net for place, net in pieces.items() if place.kind == "here" and place.terminal.item == "board"}
    drops: dict[str, list[tuple[Terminal, str, Wire]]] = {}
    for wire in page.wires:
        if page.is_drop(wire):
            own, rail = (wire.b, wire.a) if build.by_ref[wire.a.item].kind == "rail" else (wire.a, wire.b)
            drops.setdefault(own.item, []).append((own, rail.item, wire))
    nets |= {terminal.name: "" for terminal, _, _ in drops.get("board", [])}
    board, pins = board_node(build.plan.view.board, build.board, nets)
    for pin, name, wire in drops.get("board", []):
        port = next(p for p in board.ports if p.terminal == pin)
        board.drops.append(Drop(wire, pin, name, "pin", port.row, port.home))
    depths = _depths(page)
    nodes = []
    for item in page.items:
        own_drops = drops.get(item.ref, [])
        if item.kind == "component" and not item.terminals:
            continue  # a fuse in a lead: its supply says so
        if item.kind == "component":
            nodes.append(_component(item, page, own_drops, depths, level))
        else:
            nodes.append(_part(item, page, own_drops, level))
    for place, net in pieces.items():
        if place.kind == "rail":
            nodes.append(_piece(place, net, page))
        elif place.kind == "other":
            port = Port(net, 1, "in", place.terminal)
            nodes.append(
                Node(f"other {place.wire}", "other-sheet", 3, 4, PART_MIN, [port], item=build.by_ref[place.terminal.item], net=net)
            )
    widest = max([PART_MIN, *(node.width for node in nodes if node.level == 3)])
    for node in nodes:
        if node.level == 3:
            node.width = widest
    return Kit(page, level, board, pins, nodes)


def _piece(place: Place, net: str, page: Page) -> Node:
    return Node(f"rail {place.terminal.item} {place.wire}", "piece", 1, 2, BAR, [Port(net, 0, "in", place.terminal)],
                item=page.build.by_ref[place.terminal.item], net=net)  # fmt: skip


def _depths(page: Page) -> dict[str, int]:
    """How many components lie between the board and a net."""
    build = page.build
    depths = {net.id: 0 for net in build.nets if any(t.item == "board" for t in net.terminals)}
    signals = [net for net in build.nets if net.role == "signal"]
    for depth in range(1, 6):
        reached = {t.item for net in signals if depths.get(net.id) == depth - 1 for t in net.terminals}
        for net in signals:
            if net.id not in depths and any(t.item in reached and build.by_ref[t.item].kind == "component" for t in net.terminals):
                depths[net.id] = depth
    return depths


def _part(item: Item, page: Page, drops: list[tuple[Terminal, str, Wire]], level: Level) -> Node:
    head = 2 if level.dense else 3
    drops = sorted(drops, key=lambda drop: item.terminals.index(drop[0].name))
    dropped = [name for name in item.terminals if any(t.name == name for t, _, _ in drops)]
    inner = [name for name in item.terminals if Place("here", Terminal(item.ref, name)) in page.pieces or name not in dropped]
    rows = head + 2 * max(len(inner), len(drops), 1)
    labels = max((text_width(n, TERMINAL_MM) for n in inner), default=0.0) + max((text_width(n, TERMINAL_MM) for n in dropped), default=0.0)
    title = 0.0 if level.dense else text_width(item.title, SMALL_MM) + 3.0
    width = min(level.part_max, max(PART_MIN, text_width(item.ref, NAME_MM) + 3.0, labels + 5.0, title))
    node = Node(item.ref, "part", 3, rows, width, item=item)
    for number, name in enumerate(inner):
        net = page.pieces.get(Place("here", Terminal(item.ref, name)), "")
        node.ports.append(Port(net, head + 2 * number, "in", Terminal(item.ref, name)))
    node.drops = [Drop(wire, terminal, rail, "out", head + 2 * number) for number, (terminal, rail, wire) in enumerate(drops)]
    return node


def _component(item: Item, page: Page, drops: list[tuple[Terminal, str, Wire]], depths: dict[str, int], level: Level) -> Node:
    build = page.build
    signals = [t for name in item.terminals if Place("here", t := Terminal(item.ref, name)) in page.pieces]
    nets = {t: page.pieces[Place("here", t)] for t in signals}
    depth = {t: depths.get(build.net_at[t].id, 9) for t in signals}
    least = min(depth.values(), default=0)
    is_later = least > 0
    node = Node(item.ref, "component", 2 if is_later and not level.single else 1, 0, BODY, item=item)
    up = [d for d in drops if build.by_net[d[2].net].role != "ground"]
    down = [d for d in drops if build.by_net[d[2].net].role == "ground"]
    wide = [max(BAR, tag_width([w.number], w.colour)) + 0.6 for _, _, w in drops]
    node.width = max(BODY, *(text_width(w, SMALL_MM) + 1.2 for w in component_words(item)), *wide)
    if len(item.terminals) == 2 and len(signals) == 1 and len(drops) == 1:  # hangs on a line that runs through
        node.rows = 8
        node.body_half = 1.4 if level.dense else 1.3
        node.body_row = 2.1 if down else node.rows - 3.1
        node.ports = [Port(nets[signals[0]], 0 if down else node.rows - 1, "both", signals[0])]
    else:
        inner = [] if is_later and level.single else _inner(item, signals, depth)
        _box(node, item, signals, nets, inner, up, down)
    node.drops = [Drop(wire, t, rail, edge) for group, edge in ((up, "up"), (down, "down")) for t, rail, wire in group]  # type: ignore[arg-type]
    return node


def _box(
    node: Node, item: Item, signals: list[Terminal], nets: dict[Terminal, str], inner: list[Terminal],
    up: list[tuple[Terminal, str, Wire]], down: list[tuple[Terminal, str, Wire]],
) -> None:  # fmt: skip
    """A body with terminals to both sides, and with drops above and below."""
    outer = [t for t in signals if t not in inner]
    is_small = len(item.terminals) == 2 and len(outer) < 2
    is_switch = item.symbol in ("npn", "nmos") and len(outer) < 2
    above = DROP_ROWS if up else 0
    lead = 1 if is_small else 2 if is_switch else 4 + int(bool(up))
    body = 3 if is_small else 5 if is_switch else lead + 2 * max(len(inner), len(outer), 1) + int(bool(down))
    pitch = 2
    node.ports = [Port(nets[t], above + lead + pitch * n, "in", t) for n, t in enumerate(inner)]
    node.ports += [Port(nets[t], above + lead + pitch * n, "out", t) for n, t in enumerate(outer)]
    node.rows = above + body + (DROP_ROWS if down else 0)
    node.body_row = above + (body - 1) / 2
    node.body_half = (body - 1) / 2 + 0.3
    names = max((text_width(t.name, SMALL_MM) for t in inner), default=0.0) + max(
        (text_width(t.name, SMALL_MM) for t in outer), default=0.0
    )
    if not is_small:
        word = component_words(item)[1]
        node.width = max(node.width, names + 3.6 + (text_width(word, SMALL_MM) if is_switch else 0.0))
    slots = max(len(up), len(down))
    if slots > 1:
        widest = max(max(BAR, tag_width([w.number], w.colour)) for _, _, w in (*up, *down))
        node.width = max(node.width, slots * (widest + 1.0))


def _inner(item: Item, signals: list[Terminal], depth: dict[Terminal, int]) -> list[Terminal]:
    """Terminals that look to the board."""
    if item.symbol == "shifter":
        return [t for t in signals if t.name.startswith("A")]
    if item.symbol in ("npn", "nmos"):
        return [t for t in signals if t.name in ("B", "G")]
    if item.symbol == "stage":
        return [t for t in signals if t.name == "IN"]
    if len(signals) == 2 and depth[signals[0]] == depth[signals[1]]:
        return signals[:1]
    return [t for t in signals if depth[t] == min(depth.values(), default=0)]
