"""From columns and tracks to millimetres: where channels lie, and the corner points of every wire."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from pinwright.pack.sheet.bars import strips_of
from pinwright.pack.sheet.frame import Attach, Frame
from pinwright.pack.sheet.model import Node, Point, Run
from pinwright.pack.sheet.nodes import BAR, Kit, tag_width
from pinwright.pack.sheet.pages import Place
from pinwright.pack.sheet.routing import Routed, routed
from pinwright.pack.sheet.ways import Piece, way_between

__all__ = ["LANE", "TAG_GAP", "Layout", "laid_out", "port_places"]

TAG_GAP, LANE, LANE_GAP = 0.9, 2.8, 1.6
TRACK_MIN, TRACK_MAX, ZONE_MIN = 1.4, 2.5, 1.5


@dataclass
class Layout:
    """Places in mm.  ``starts[home, c]``: where channel c begins, ``ends`` where it ends, as distances from the board's edge."""

    frame: Frame
    width: float
    y0: float
    tracks: dict[tuple[int, int], Routed]
    tagged: dict[Place, list[int]]
    lanes: dict[int, int]
    track_mm: float = 0.0
    missing: float = 0.0
    x_board: tuple[float, float] = (0.0, 0.0)
    starts: dict[tuple[int, int], float] = field(default_factory=dict)
    ends: dict[tuple[int, int], float] = field(default_factory=dict)
    zones: dict[tuple[int, int], tuple[float, float]] = field(default_factory=dict)
    drop_zone: dict[int, float] = field(default_factory=dict)
    column_width: dict[tuple[int, int], float] = field(default_factory=dict)

    @property
    def kit(self) -> Kit:
        """Nodes of the page."""
        return self.frame.kit

    def x(self, home: int, distance: float) -> float:
        """Distance from the board's edge → place on the page [mm]."""
        return self.x_board[1] + distance if home > 0 else self.x_board[0] - distance

    def y(self, row: float) -> float:
        """Row → place on the page [mm]."""
        return self.y0 + row * self.kit.row_mm

    def track_x(self, home: int, channel: int, track: float) -> float:
        """Place of a track."""
        return self.x(home, self.starts[home, channel] + self.zones[home, channel][0] + self.track_mm * (track - 0.5))

    def column_x(self, node: Node, column: int) -> tuple[float, float]:
        """Inner and outer edge of a column, as places on the page."""
        start = self.ends[node.home, column]
        return self.x(node.home, start), self.x(node.home, start + self.column_width[node.home, column])

    def column_of(self, node: Node) -> int:
        """Column a node stands in."""
        return next(n for n, nodes in enumerate(self.frame.columns[node.home]) if any(other is node for other in nodes))

    def runs(self) -> tuple[list[Run], dict[str, set[Piece]]]:
        """Every routed wire, and the straight pieces of every net."""
        page = self.kit.page
        edges = {net: _edges(self, net) for net in sorted(set(page.pieces.values()))}
        at = _terminals(self)
        runs = []
        for wire in page.routed:
            a, b = page.place(wire.a, wire), page.place(wire.b, wire)
            net = page.pieces[a]
            runs.append(Run(wire, net, way_between(edges[net], at[a], at[b])))
        return runs, edges


def laid_out(frame: Frame, width: float, y0: float) -> Layout:
    """Place columns and channels on a page.

    Parameters
    ----------
    frame : nodes with their rows [-]
    width : of the page [mm]
    y0 : where row 0 is [mm]

    Returns
    -------
    layout : ``missing`` says how much wider the page would have to be [mm]
    """
    kit = frame.kit
    tracks = {key: routed(channel) for key, channel in frame.channels.items()}
    tagged = _tagged(kit)
    lanes = {home: max((strip.lane + 1 for strip in strips_of(frame, home)), default=0) for home in (-1, 1)}
    layout = Layout(frame, width, y0, tracks, tagged, lanes)
    fixed, count = kit.board.width, 0
    for home in (-1, 1):
        for column, nodes in enumerate(frame.columns[home]):
            layout.column_width[home, column] = max((n.width for n in nodes), default=0.0)
            fixed += layout.column_width[home, column]
        drops = [drop for nodes in frame.columns[home] for n in nodes for drop in n.drops if drop.edge == "out"]
        layout.drop_zone[home] = max((tag_width([d.wire.number], d.wire.colour) + 2 * TAG_GAP for d in drops), default=0.0)
        fixed += layout.drop_zone[home] + layout.lanes[home] * (LANE + LANE_GAP) - (LANE_GAP if lanes[home] else 0.0)
        for number in range(frame.channel_count(home)):
            layout.zones[home, number] = _zones(layout, home, number)
            if number == 0:
                layout.zones[home, 0] = (max(layout.zones[home, 0][0], _bar_zone(layout, home)), layout.zones[home, 0][1])
            fixed += sum(layout.zones[home, number])
            count += tracks[home, number].count if (home, number) in tracks else 0
    room = (width - fixed) / max(count, 1)
    layout.track_mm = min(max(room, TRACK_MIN), TRACK_MAX)
    layout.missing = max(fixed + count * TRACK_MIN - width, 0.0)
    channels = sum(frame.channel_count(home) for home in (-1, 1))
    extra = min(max(width - fixed - count * layout.track_mm, 0.0) / max(channels, 1), 9.0)
    reach = {}
    for home in (-1, 1):
        at = 0.0
        for number in range(frame.channel_count(home)):
            inner, outer = layout.zones[home, number]
            layout.zones[home, number] = (inner + extra / 2, outer + extra / 2)
            layout.starts[home, number] = at
            at += inner + outer + extra + (tracks[home, number].count if (home, number) in tracks else 0) * layout.track_mm
            layout.ends[home, number] = at
            at += layout.column_width.get((home, number), 0.0)
        at += layout.drop_zone[home] + lanes[home] * (LANE + LANE_GAP) - (LANE_GAP if lanes[home] else 0.0)
        reach[home] = at
    left = (width - reach[-1] - reach[1] - kit.board.width) / 2 + reach[-1]
    layout.x_board = (left, left + kit.board.width)
    return layout


def _tagged(kit: Kit) -> dict[Place, list[int]]:
    """Places that carry a number tag: pins and parts always, a component where a wire would have no number otherwise."""
    page = kit.page
    shown: dict[Place, list[int]] = {}

    def always(place: Place) -> bool:
        return place.kind == "other" or (place.kind == "here" and page.build.by_ref[place.terminal.item].kind != "component")

    elsewhere = {wire.number for wire in page.continuing}
    for place, wires in page.numbers.items():
        if always(place) or any(wire.number in elsewhere for wire in wires):
            shown[place] = [wire.number for wire in wires]
    for wire in page.routed:
        ends = [page.place(wire.a, wire), page.place(wire.b, wire)]
        if not any(end in shown for end in ends):
            best = min(reversed(ends), key=lambda end: len(page.numbers[end]))
            shown[best] = [w.number for w in page.numbers[best]]
    return shown


def _zones(layout: Layout, home: int, channel: int) -> tuple[float, float]:
    """Room for number tags at both edges of a channel."""
    zones = [ZONE_MIN, ZONE_MIN]
    page = layout.kit.page
    for net, attaches in layout.frame.channels.get((home, channel), {}).items():
        code = page.net_of_piece[net].colour
        for attach in attaches:
            numbers = _numbers(layout, attach, net)
            if numbers:
                zones[attach.is_outer] = max(zones[attach.is_outer], tag_width(numbers, code) + 2 * TAG_GAP)
    return zones[0], zones[1]


def _bar_zone(layout: Layout, home: int) -> float:
    """Room for the bars at the board's own pins."""
    drops = [d for d in layout.kit.board.drops if d.home == home]
    return max((tag_width([d.wire.number], d.wire.colour) + 3 * TAG_GAP + BAR for d in drops), default=0.0)


def _numbers(layout: Layout, attach: Attach, net: str) -> list[int]:
    return next((layout.tagged[place] for place in port_places(layout, attach, net) if place in layout.tagged), [])


def port_places(layout: Layout, attach: Attach, net: str) -> list[Place]:
    """Places of the terminals a port stands for."""
    if attach.node.kind in ("pass", "wrap"):
        return []
    ports = [p for p in attach.node.ports if p.net == net and p.row == attach.port_row and p.terminal is not None]
    return [
        place for port in ports if port.terminal is not None and (place := _place(attach.node, port.terminal)) in layout.kit.page.pieces
    ]


def _place(node: Node, terminal: object) -> Place:
    number = int(node.key.rsplit(" ", 1)[1]) if node.kind in ("piece", "other-sheet") else 0
    return Place({"piece": "rail", "other-sheet": "other"}.get(node.kind, "here"), terminal, number)  # type: ignore[arg-type]


# ------------------------------------------------------------------------------ wires


def _p(x: float, y: float) -> Point:
    return (round(x, 3), round(y, 3))


def _boundary(layout: Layout, home: int, channel: int, attach: Attach) -> Point:
    distance = layout.ends[home, channel] if attach.is_outer else layout.starts[home, channel]
    return _p(layout.x(home, distance), layout.y(attach.row))


def _edges(layout: Layout, net: str) -> set[Piece]:
    """Straight pieces of a net: stubs and trunks in channels, lines through columns, leads to terminals."""
    edges: set[Piece] = set()

    def join(*points: Point) -> None:
        for a, b in pairwise(points):
            if a != b:
                edges.add((min(a, b), max(a, b)))

    for (home, channel), nets in layout.frame.channels.items():
        attaches = nets.get(net, [])
        if not attaches:
            continue
        for attach in attaches:
            join(*_inside(layout, home, channel, attach, net))
        if len(attaches) < 2:
            continue
        routed_here = layout.tracks[home, channel]
        track = routed_here.tracks.get(net)
        if track is None:
            join(*sorted({_boundary(layout, home, channel, a) for a in attaches}))
            continue
        x = layout.track_x(home, channel, track)
        ys = []
        for attach in attaches:
            start = _boundary(layout, home, channel, attach)
            half = routed_here.jogs.get((net, attach.row)) if not attach.is_outer else None
            if half is None:
                join(start, _p(x, start[1]))
                ys.append(start[1])
            else:
                jog, y = layout.track_x(home, channel, 1), layout.y(half)
                join(start, _p(jog, start[1]), _p(jog, y), _p(x, y))
                ys.append(_p(x, y)[1])
        ys = sorted(set(ys))
        join(*(_p(x, y) for y in ys))
    return edges


def _inside(layout: Layout, home: int, channel: int, attach: Attach, net: str) -> list[Point]:
    """From a port at a channel's edge to the terminal itself, or through the column."""
    start = _boundary(layout, home, channel, attach)
    node = attach.node
    if node.kind == "wrap":
        return [start, _p(sum(layout.x_board) / 2, start[1])]
    if node.kind == "board":
        port = next(p for p in node.ports if p.net == net and p.row == attach.port_row and p.home == home)
        return [start, *(_p(layout.x_board[0] + x, layout.y(node.top + row)) for x, row in reversed(port.lead))]
    if node.kind == "component" or node.kind == "pass":
        inner, outer = layout.column_x(node, layout.column_of(node))
        middle = (inner + outer) / 2
        is_through = node.kind == "pass" or any(p.faces == "both" and p.net == net for p in node.ports)
        if is_through:
            return [start, _p(middle, start[1])]
        half = node.width / 2
        return [start, _p(middle + (-half if (start[0] < middle) else half), start[1])]
    return [start]


def _terminals(layout: Layout) -> dict[Place, Point]:
    """Where every place is on the page."""
    found: dict[Place, Point] = {}
    for (home, channel), nets in layout.frame.channels.items():
        for net, attaches in nets.items():
            for attach in attaches:
                for place in port_places(layout, attach, net):
                    found[place] = _inside(layout, home, channel, attach, net)[-1]
    return found
