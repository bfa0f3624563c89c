"""Words on blocks: names, values, terminals; cut where they do not fit, the whole name kept beside."""

from __future__ import annotations

from collections.abc import Callable

from pinwright.pack.drawing import clean, cut, text_width
from pinwright.pack.sheet.board_node import name_lines
from pinwright.pack.sheet.model import Box, Label, Node
from pinwright.pack.sheet.nodes import BOLD, NAME_MM, SMALL_MM, TERMINAL_MM, Kit, component_words

__all__ = ["band_edge", "board_labels", "component_labels", "other_labels", "part_labels"]

PIN_IN = 2.6
ToY = Callable[[float], float]


def _label(words: str, room: float, x: float, y: float, size: float, anchor: str, style: str, owner: str) -> Label:
    short = cut(words, room / BOLD if "bold" in style else room, size)
    return Label(short, x, y, size, anchor, style, owner, words if short != clean(words) else "")  # type: ignore[arg-type]


def board_labels(kit: Kit, box: Box, y: ToY) -> list[Label]:
    """Name of the board and its pins as printed; those this page uses stand out."""
    node = kit.board
    used = {port.terminal.name for port in node.ports if port.terminal}
    name = node.item.title if node.item else ""
    lines = name_lines(name, box.x1 - box.x0)
    tops = [pin.row for pin in kit.pins if pin.side in ("left", "right")]
    first = min(tops, default=node.body_row + 4)
    found = [
        _label(line, box.x1 - box.x0 - 3.0, (box.x0 + box.x1) / 2, y(node.top + first) - 3.9 + 2.9 * (number - len(lines) + 1), 2.4,
               "middle", "bold inverse", "board")
        for number, line in enumerate(lines)
    ]  # fmt: skip
    for pin in kit.pins:
        if pin.side == "edge":
            continue
        style = "bold inverse" if pin.terminal in used else "quiet"
        size = TERMINAL_MM if pin.terminal in used else 2.0
        at = y(node.top + pin.row)
        if pin.side in ("left", "right"):
            anchor, x = ("start", box.x0 + PIN_IN) if pin.side == "left" else ("end", box.x1 - PIN_IN)
            found.append(_label(pin.label, (box.x1 - box.x0) / 2 - PIN_IN - 0.6, x, at, size, anchor, style, "board"))
        else:
            plain = style.replace("bold ", "")
            y_label = at + pin.label_row * kit.row_mm
            x_label = box.x0 + pin.x + {"start": -1.3, "middle": 0.0, "end": 1.3}[pin.anchor]
            found.append(_label(pin.label, pin.room, x_label, y_label, 2.0, pin.anchor, plain, "board"))
    return found


def part_labels(kit: Kit, node: Node, box: Box, y: ToY) -> list[Label]:
    """Name, title, and terminals at the side their wires leave."""
    item = node.item
    assert item is not None
    room = box.x1 - box.x0 - 2.0
    middle = (box.x0 + box.x1) / 2
    found = [_label(item.ref, room, middle, box.y0 + (1.9 if not kit.level.dense else 1.7), NAME_MM, "middle", "bold", node.key)]
    if not kit.level.dense:
        found.append(_label(item.title, room, middle, box.y0 + 4.35, SMALL_MM, "middle", "soft", node.key))
    board_left = node.home > 0
    outer = {drop.row: drop.terminal.name for drop in node.drops}
    inner = {port.row: port for port in node.ports if port.terminal}
    for row in sorted({*outer, *inner}):
        both = row in outer and row in inner
        wish_in = text_width(clean(inner[row].terminal.name), TERMINAL_MM) if row in inner else 0.0  # type: ignore[union-attr]
        wish_out = text_width(clean(outer[row]), TERMINAL_MM) if row in outer else 0.0
        room_in = room - 1.0 - (min(wish_out, room / 2) if both else 0.0)
        room_out = room - 1.0 - (min(wish_in, room_in) if both else 0.0)
        for is_inner in (True, False):
            if (row in inner) if is_inner else (row in outer):
                at_left = is_inner == board_left
                words = inner[row].terminal.name if is_inner else outer[row]  # type: ignore[union-attr]
                style = "quiet" if is_inner and not inner[row].net else ""
                x, anchor = (box.x0 + 1.2, "start") if at_left else (box.x1 - 1.2, "end")
                found.append(_label(words, room_in if is_inner else room_out, x, y(node.top + row), TERMINAL_MM, anchor, style, node.key))
    return found


def other_labels(kit: Kit, node: Node, box: Box, y: ToY) -> list[Label]:
    """Where a wire goes on: the terminal and the sheet it is on."""
    item, terminal = node.item, node.ports[0].terminal
    assert item is not None
    assert terminal is not None
    room, middle = box.x1 - box.x0 - 2.0, (box.x0 + box.x1) / 2
    sheet = kit.page.where.get(item.ref, 1)
    high = (box.y1 - box.y0) / 2
    return [
        _label(f"to {item.ref}: {terminal.name}", room, middle, box.y0 + high - 1.35, SMALL_MM, "middle", "", node.key),
        _label(f"on sheet {sheet}", room, middle, box.y0 + high + 1.2, SMALL_MM, "middle", "soft", node.key),
    ]


def band_edge(node: Node) -> str:
    """Edge of a hanging diode its cathode is at; empty where it lies between its neighbours."""
    cathode = next((d.edge for d in node.drops if d.terminal.name == "K"), "")
    anode = next((d.edge for d in node.drops if d.terminal.name == "A"), "")
    return cathode or {"up": "down", "down": "up"}.get(anode, "")


def component_labels(node: Node, box: Box) -> list[Label]:
    """Designator, value, and the names of terminals where they matter."""
    item = node.item
    assert item is not None
    middle, height = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
    ref, value = component_words(item)
    outer = [port for port in node.ports if port.faces == "out"]
    if len(item.terminals) == 2 and len(outer) < 2:
        lines = [ref, value] if value else [ref]
        if item.symbol == "diode":
            height += {"up": 0.85, "down": -0.85}.get(band_edge(node), 0.0)
        return [
            Label(
                words, middle, height + 2.2 * (number - (len(lines) - 1) / 2), SMALL_MM, "middle", "bold" if number == 0 else "", node.key
            )
            for number, words in enumerate(lines)
        ]
    row = (box.y1 - box.y0) / (2 * node.body_half)
    ups, downs = ([d for d in node.drops if d.edge == edge] for edge in ("up", "down"))
    head = box.y0 + 1.5 + (2.4 if ups else 0.0)
    found = [Label(ref, middle, head, SMALL_MM, "middle", "bold", node.key)]
    base = node.body_row - node.body_half
    is_small = item.symbol in ("npn", "nmos") and len(outer) < 2
    word_y = box.y0 + (node.ports[0].row - base) * row if is_small and node.ports else head + 2.3
    found.append(Label(value, middle, word_y, SMALL_MM, "middle", "soft", node.key))
    for port in node.ports:
        at_left = (port.faces == "in") == (node.home > 0)
        at = box.y0 + (port.row - base) * row
        name = port.terminal.name if port.terminal else ""
        found.append(Label(name, box.x0 + 0.8 if at_left else box.x1 - 0.8, at, SMALL_MM, "start" if at_left else "end", "bold", node.key))
    for group, at in ((ups, box.y0 + 1.4), (downs, box.y1 - 1.4)):
        for number, drop in enumerate(group):
            x = middle + (number - (len(group) - 1) / 2) * (node.width / max(len(group), 1))
            found.append(Label(drop.terminal.name, x, at, SMALL_MM, "middle", "bold", node.key))
    return found
