"""A page put together: boxes, bars, runs, number tags and labels in mm, before any ink."""

from __future__ import annotations

from dataclasses import replace

from pinwright.pack.build.model import Terminal
from pinwright.pack.sheet.bars import strips_of
from pinwright.pack.sheet.frame import Frame
from pinwright.pack.sheet.labels import board_labels, component_labels, other_labels, part_labels
from pinwright.pack.sheet.layout import LANE, TAG_GAP, Layout, laid_out, port_places
from pinwright.pack.sheet.model import Bar, Box, Drop, Label, Node, Point, Run, Sheet, Tag
from pinwright.pack.sheet.nodes import BAR, SMALL_MM, Level, nodes_of, tag_width
from pinwright.pack.sheet.pages import Page
from pinwright.pack.sheet.placing import Memory, first, naive, placed
from pinwright.pack.sheet.scaling import scaled
from pinwright.pack.sheet.ways import count_crossings, joints, without_middles

__all__ = ["HEIGHT", "LANE_PITCH", "WIDTH", "composed", "on_endless_paper", "promising"]

WIDTH, HEIGHT, TOP, FOOT = 259.0, 190.0, 11.5, 15.0
"""What fits A4 (297 x 210) and Letter (279 x 216) landscape with margins of 10 mm [mm]."""
LANE_PITCH = LANE + 1.6
HOPELESS = 12.0
"""A first arrangement that is so much too wide never gets narrow enough by a better order [mm] (our choice)."""
TAG_HIGH, BAR_HIGH = 2.5, 2.5


def composed(page: Page, level: Level, memory: Memory | None = None) -> Sheet | None:
    """Lay out a page; ``None`` where it does not fit.

    Parameters
    ----------
    page : what is on it [-]
    level : how large [-]
    memory : of the search for this page in another size [-]
    """
    kit = nodes_of(page, level)
    high = (HEIGHT - TOP - FOOT) / level.scale
    rows = int(high / kit.row_mm)
    if memory is None:
        memory = Memory()
    width, y0 = WIDTH / level.scale, TOP / level.scale + kit.row_mm
    begun = first(kit, rows, memory)
    if not begun.fits or laid_out(begun, width, y0).missing > HOPELESS:
        if not memory.is_searched:
            memory.parts = []  # begin anew at the next size, which has other rows to fill
        return None
    frame = placed(kit, rows, memory)
    layout = laid_out(frame, width, y0)
    if not frame.fits or layout.missing > 0:
        return None
    return scaled(_sheet(kit.page, frame, layout), level.scale)


def promising(page: Page, level: Level) -> bool:
    """Whether a page fits before any search, or nearly so.

    Parameters
    ----------
    page : what is on it [-]
    level : how large [-]
    """
    kit = nodes_of(page, level)
    frame = first(kit, int((HEIGHT - TOP - FOOT) / level.scale / kit.row_mm), Memory())
    return frame.fits and laid_out(frame, WIDTH / level.scale, TOP).missing <= HOPELESS / 3


def on_endless_paper(page: Page, search: bool) -> Sheet:
    """The page on as much paper as it takes, to measure the search: with it, or everything in the order of the build.

    Parameters
    ----------
    page : what is on it [-]
    search : whether to look for a good arrangement [-]
    """
    kit = nodes_of(page, Level(part_max=30.0))
    rough = naive(kit, 0)
    highest = max((sum(n.rows for n in nodes) for columns in rough.columns.values() for nodes in columns), default=0)
    rows = max(highest, kit.board.rows + len(rough.over) + len(rough.under)) + 8
    frame = placed(kit, rows) if search else naive(kit, rows)
    layout = laid_out(frame, WIDTH, TOP)
    return _sheet(kit.page, frame, layout)


def _sheet(page: Page, frame: Frame, layout: Layout) -> Sheet:
    sheet = Sheet(page.number, page.of, WIDTH, HEIGHT)
    sheet.runs, edges = layout.runs()
    sheet.elsewhere = tuple((wire, page.page_of(wire)) for wire in page.continuing)
    sheet.crossings = count_crossings(edges)
    sheet.dots = joints(edges)
    _board(sheet, layout)
    for home in (-1, 1):
        for column, nodes in enumerate(frame.columns[home]):
            for node in nodes:
                if node.kind in ("part", "other-sheet"):
                    _part(sheet, layout, node, column)
                elif node.kind == "component":
                    _component(sheet, layout, node, column)
                elif node.kind == "piece":
                    _piece(sheet, layout, node, column)
        _strips(sheet, layout, home)
    _tags(sheet, layout)
    return sheet


# ------------------------------------------------------------------------------ blocks


def _board(sheet: Sheet, layout: Layout) -> None:
    node, kit = layout.kit.board, layout.kit
    edge = next(pin.row for pin in kit.pins if pin.side == "edge")
    box = Box("board", "board", layout.x_board[0], layout.y(node.top + node.body_row), layout.x_board[1], layout.y(node.top + edge))
    sheet.nodes.append(node)
    sheet.boxes["board"] = box
    used = {port.terminal for port in node.ports}
    for pin in kit.pins:
        if pin.side != "edge":
            sheet.pads.append(
                (
                    box.x0 + pin.x + {"left": 0.5, "right": -0.5}.get(pin.side, 0.0),
                    layout.y(node.top + pin.row),
                    Terminal("board", pin.terminal) in used,
                )
            )
    sheet.labels += board_labels(kit, box, layout.y)
    for drop in node.drops:
        _at_pin(sheet, layout, drop)


def _part(sheet: Sheet, layout: Layout, node: Node, column: int) -> None:
    x = sorted(layout.column_x(node, column))
    half = layout.kit.row_mm * 0.5 - 0.3
    box = Box(node.key, node.kind, x[0], layout.y(node.top) - half, x[1], layout.y(node.top + node.rows - 1))
    sheet.nodes.append(node)
    sheet.boxes[node.key] = box
    sheet.labels += (part_labels if node.kind == "part" else other_labels)(layout.kit, node, box, layout.y)


def _component(sheet: Sheet, layout: Layout, node: Node, column: int) -> None:
    middle = sum(layout.column_x(node, column)) / 2
    y, half = layout.y(node.top + node.body_row), layout.kit.row_mm * node.body_half
    box = Box(node.key, "component", middle - node.width / 2, y - half, middle + node.width / 2, y + half)
    sheet.nodes.append(node)
    sheet.boxes[node.key] = box
    sheet.labels += component_labels(node, box)
    for port in node.ports:
        if port.faces == "both":
            at = layout.y(node.top + port.row)
            sheet.leads.append(((middle, at), (middle, box.y0 if at < box.y0 else box.y1)))
            sheet.dots.append((round(middle, 3), round(at, 3)))
    for edge in ("up", "down"):
        group = [drop for drop in node.drops if drop.edge == edge]
        for number, drop in enumerate(group):
            x = middle + (number - (len(group) - 1) / 2) * (node.width / max(len(group), 1))
            _vertical(sheet, layout, drop, x, box)


def _at_pin(sheet: Sheet, layout: Layout, drop: Drop) -> None:
    """A bar beside a pin of the board that feeds a rail."""
    board, home = layout.kit.board, drop.home
    port = next(p for p in board.ports if p.terminal == drop.terminal)
    y = layout.y(board.top + port.row)
    lead = tuple((layout.x_board[0] + x, layout.y(board.top + row)) for x, row in port.lead)
    wide = tag_width([drop.wire.number], drop.wire.colour)
    near, far = (layout.x(home, 2 * TAG_GAP + wide + more) for more in (0.0, BAR))
    bar = Bar(drop.rail, min(near, far), y - BAR_HIGH / 2, max(near, far), y + BAR_HIGH / 2, drop.wire.colour)
    corner = (layout.x(home, 0.0), y)
    points = [*lead, *([corner] if lead[-1] != corner else []), (near, y)]
    _drop(sheet, layout, drop, without_middles(points), bar)
    edges = sorted((layout.x(home, TAG_GAP), layout.x(home, TAG_GAP + wide)))
    sheet.tags.append(_tag((drop.wire.number,), drop.wire.colour, edges[0], y, edges[1]))


def _vertical(sheet: Sheet, layout: Layout, drop: Drop, x: float, box: Box) -> None:
    """A drop from a component's body to a short bar."""
    row = layout.kit.row_mm
    start = box.y1 if drop.edge == "down" else box.y0
    sign = 1 if drop.edge == "down" else -1
    end = start + sign * 1.75 * row
    top = end if sign > 0 else end - BAR_HIGH
    bar = Bar(drop.rail, x - BAR / 2, top, x + BAR / 2, top + BAR_HIGH, drop.wire.colour)
    _drop(sheet, layout, drop, ((x, start), (x, end)), bar)
    wide = tag_width([drop.wire.number], drop.wire.colour)
    middle = (start + end) / 2
    sheet.tags.append(_tag((drop.wire.number,), drop.wire.colour, x - wide / 2, middle, x + wide / 2, min(TAG_HIGH, 1.75 * row - 0.7)))


def _drop(sheet: Sheet, layout: Layout, drop: Drop, points: tuple[Point, ...], bar: Bar | None) -> None:
    if drop.wire.a.item == drop.rail:
        points = points[::-1]
    sheet.runs.append(Run(drop.wire, drop.wire.net, points))
    if bar is not None:
        sheet.bars.append(bar)
        sheet.labels.append(_bar_label(bar))


def _bar_label(bar: Bar, turned: bool = False) -> Label:
    return Label(
        bar.rail, (bar.x0 + bar.x1) / 2, (bar.y0 + bar.y1) / 2, SMALL_MM, "middle", "bar", f"bar {bar.x0:.2f} {bar.y0:.2f}", turned=turned
    )


def _piece(sheet: Sheet, layout: Layout, node: Node, column: int) -> None:
    inner = layout.column_x(node, column)[0]
    y = layout.y(node.top)
    rail = node.item.ref if node.item else ""
    x = sorted((inner, inner + node.home * BAR))
    bar = Bar(rail, x[0], y - BAR_HIGH / 2, x[1], y + BAR_HIGH / 2, layout.kit.page.net_of_piece[node.net].colour)
    sheet.bars.append(bar)
    sheet.labels.append(_bar_label(bar))


def _strips(sheet: Sheet, layout: Layout, home: int) -> None:
    """Long bars at the edge, and the drops of parts to them."""
    columns = layout.frame.columns[home]
    if not columns:
        return
    last = len(columns) - 1
    start = layout.ends[home, last] + layout.column_width[home, last]
    for strip in strips_of(layout.frame, home):
        at = start + layout.drop_zone[home] + strip.lane * LANE_PITCH
        x = sorted((layout.x(home, at), layout.x(home, at + LANE)))
        low, high = layout.y(0) + strip.low, layout.y(0) + strip.high
        bar = Bar(strip.rail, x[0], low, x[1], high, strip.drops[0][1].wire.colour)
        sheet.bars.append(bar)
        sheet.labels.append(replace(_bar_label(bar, turned=True), y=layout.y(0) + strip.word))
        for node, drop in strip.drops:
            y = layout.y(node.top + drop.row)
            _drop(sheet, layout, drop, ((layout.x(home, start), y), (layout.x(home, at), y)), None)
            wide = tag_width([drop.wire.number], drop.wire.colour)
            edges = sorted((layout.x(home, start + TAG_GAP), layout.x(home, start + TAG_GAP + wide)))
            sheet.tags.append(_tag((drop.wire.number,), drop.wire.colour, edges[0], y, edges[1]))


# ------------------------------------------------------------------------------ tags


def _tag(numbers: tuple[int, ...], code: str, x0: float, y: float, x1: float, high: float = TAG_HIGH) -> Tag:
    return Tag(numbers, code, x0, y - high / 2, x1, y + high / 2)


def _tags(sheet: Sheet, layout: Layout) -> None:
    page = layout.kit.page
    done = set()
    for (home, channel), nets in layout.frame.channels.items():
        for net, attaches in nets.items():
            code = page.net_of_piece[net].colour
            for attach in attaches:
                for place in port_places(layout, attach, net):
                    if place not in layout.tagged or place in done:
                        continue
                    done.add(place)
                    numbers = tuple(layout.tagged[place])
                    edge = layout.ends[home, channel] if attach.is_outer else layout.starts[home, channel]
                    away = -1 if attach.is_outer else 1
                    near = layout.x(home, edge + away * TAG_GAP)
                    far = layout.x(home, edge + away * (TAG_GAP + tag_width(list(numbers), code)))
                    sheet.tags.append(_tag(numbers, code, min(near, far), layout.y(attach.row), max(near, far)))
