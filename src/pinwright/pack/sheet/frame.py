"""Columns of nodes left and right of the board, and the channels between them that wires run through.

A net that crosses a column does so in a free row of it (a *pass*), or along a line a component hangs on.  A net with ends on both
sides of the board goes over or under it (a *wrap*).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import fmean

from pinwright.pack.sheet.heights import settled
from pinwright.pack.sheet.model import Node, Port
from pinwright.pack.sheet.nodes import Kit

__all__ = ["Attach", "Channel", "Frame", "framed"]


@dataclass(frozen=True, slots=True)
class Attach:
    """A net's port at a channel: ``is_outer`` on the side away from the board."""

    node: Node
    port_row: int
    is_outer: bool

    @property
    def row(self) -> int:
        """Row on the sheet."""
        return self.node.top + self.port_row


Channel = dict[str, list[Attach]]
"""Ports in a channel by net."""


@dataclass
class Frame:
    """``columns[home]``: node lists from the board outwards (without the board); ``channels[home, c]`` lies inside of column c.

    ``over``/``under``: wraps above and below the board, nearest first; ``rows``: height of the page in rows.
    """

    kit: Kit
    homes: dict[str, int]
    rows: int
    columns: dict[int, list[list[Node]]] = field(default_factory=dict)
    channels: dict[tuple[int, int], Channel] = field(default_factory=dict)
    over: list[Node] = field(default_factory=list)
    under: list[Node] = field(default_factory=list)
    _beside: dict[int, list[tuple[Node, int, bool]]] = field(default_factory=dict)

    def channel_count(self, home: int) -> int:
        """Channels on a side: one inside of each column, and one at the board where only wires go around it."""
        return max(len(self.columns[home]), int((home, 0) in self.channels or any(d.home == home for d in self.kit.board.drops)))

    def stand_board(self) -> None:
        """Put the board in the middle and the wraps around it."""
        board = self.kit.board
        above, below = len(self.over) + 1, len(self.under) + 1
        board.top = min(max((self.rows - board.rows) // 2, above), max(self.rows - board.rows - below, above))
        for number, node in enumerate(self.over):
            node.top = board.top - 2 - number
        for number, node in enumerate(self.under):
            node.top = board.top + board.rows + number

    def sort_wraps(self) -> None:
        """Wraps nearest to the board first where their pins are near the end and what they lead to is far from it."""

        def rows(node: Node) -> float:
            beside = [a for home in (-1, 1) for a in self.channels.get((home, 0), {}).get(node.net, []) if a.node is not node]
            pins = [a.row for a in beside if not a.is_outer]
            ends = [a.row for a in beside if a.is_outer]
            return (fmean(pins) if pins else 0.0) - (fmean(ends) if ends else 0.0)

        self.over.sort(key=rows)
        self.under.sort(key=rows, reverse=True)
        self.stand_board()

    def others(self, node: Node, inner: bool, outer: bool) -> list[int]:
        """Rows the first row of a node would like, one for each end its nets have in the channels beside it."""
        if not self._beside:
            for attaches in (attaches for channel in self.channels.values() for attaches in channel.values()):
                for mine in attaches:
                    ends = [(a.node, a.port_row - mine.port_row, mine.is_outer) for a in attaches if a.node is not mine.node]
                    self._beside.setdefault(id(mine.node), []).extend(ends)
        return [end.top + more for end, more, is_inner in self._beside.get(id(node), ()) if (inner if is_inner else outer)]

    def settle(self, home: int, column: int, inner: bool = True, outer: bool = True, sort: bool = False) -> bool:
        """Give the nodes of a column their rows; with ``sort`` in the order of what they lead to.  False: too high."""
        nodes = self.columns[home][column]
        wanted = {id(node): self.others(node, inner, outer) for node in nodes}
        if sort:
            middle = {id(n): (fmean(w) + n.rows / 2 if (w := wanted[id(n)]) else n.top + n.rows / 2) for n in nodes}
            nodes.sort(key=lambda n: middle[id(n)])
        tops = settled([n.rows for n in nodes], [wanted[id(n)] for n in nodes], self.rows)
        for node, top in zip(nodes, tops, strict=True):
            node.top = top
        return sum(n.rows for n in nodes) <= self.rows

    @property
    def fits(self) -> bool:
        """Whether every column is low enough."""
        used = [sum(n.rows for n in nodes) for columns in self.columns.values() for nodes in columns]
        wraps = len(self.over) + len(self.under) + 2
        return max([0, *used]) <= self.rows and self.kit.board.rows + wraps <= self.rows


def framed(kit: Kit, homes: dict[str, int], rows: int) -> Frame:
    """Columns and channels for a choice of sides.

    Parameters
    ----------
    kit : nodes of the page [-]
    homes : side of every node but the board: -1 left, +1 right [-]
    rows : height of the page [-]
    """
    frame = Frame(kit, homes, rows)
    column_of: dict[str, int] = {}
    for home in (-1, 1):
        own = [node for node in kit.nodes if homes[node.key] == home]
        levels = sorted({node.level for node in own})
        frame.columns[home] = [[node for node in own if node.level == level] for level in levels]
        for node in own:
            node.home = home
            column_of[node.key] = levels.index(node.level)
        for number in range(len(levels)):
            frame.channels[home, number] = {}
    hanging: dict[tuple[str, int], list[tuple[Node, Port]]] = {}
    touched: dict[str, dict[int, set[int]]] = {}
    for port in kit.board.ports:
        if not port.net:
            continue
        touched.setdefault(port.net, {}).setdefault(port.home, set()).add(0)
        frame.channels.setdefault((port.home, 0), {}).setdefault(port.net, []).append(Attach(kit.board, port.row, False))
    for node in kit.nodes:
        home, column = homes[node.key], column_of[node.key]
        for port in node.ports:
            if not port.net:
                continue
            if port.faces == "both":
                hanging.setdefault((port.net, home), []).append((node, port))
                touched.setdefault(port.net, {}).setdefault(home, set())
                continue
            channel = column if port.faces == "in" else column + 1
            touched.setdefault(port.net, {}).setdefault(home, set()).add(channel)
            frame.channels.setdefault((home, channel), {}).setdefault(port.net, []).append(Attach(node, port.row, port.faces == "in"))
    for net in sorted(touched):
        _connect(frame, net, touched[net], hanging, column_of)
    frame.stand_board()
    return frame


def _connect(
    frame: Frame, net: str, touched: dict[int, set[int]], hanging: dict[tuple[str, int], list[tuple[Node, Port]]], column_of: dict[str, int]
) -> None:
    """Give a net its passes and its wrap, so that its channels hang together."""
    for home in touched:
        hung = hanging.get((net, home), [])
        for column in sorted(column_of[node.key] for node, _ in hung):
            if not touched[home] or column > max(touched[home]):
                touched[home].add(column)
            elif column + 1 < min(touched[home]):
                touched[home].add(column + 1)
    if len(touched) == 2:
        board = frame.kit.board
        for home in touched:
            touched[home].add(0)
        rows = [a.port_row for home in touched for a in frame.channels.get((home, 0), {}).get(net, []) if a.node is board]
        wrap = Node(f"wrap {net}", "wrap", 0, 1, 0.0, net=net)
        (frame.over if rows and fmean(rows) < board.rows / 2 else frame.under).append(wrap)
        for home in touched:
            frame.channels.setdefault((home, 0), {}).setdefault(net, []).append(Attach(wrap, 0, False))
    for home, channels in touched.items():
        hung = list(hanging.get((net, home), []))
        low, high = min(channels), max(channels)
        for column in range(low, high):  # between channel ``column`` and the next lies column ``column``
            through = next(((node, port) for node, port in hung if column_of[node.key] == column), None)
            if through is None:
                node = Node(f"pass {net} {home} {column}", "pass", 0, 1, 0.0, net=net, home=home)
                frame.columns[home][column].append(node)
                row = 0
            else:
                hung.remove(through)
                node, row = through[0], through[1].row
            for channel, is_outer in ((column, True), (column + 1, False)):
                frame.channels.setdefault((home, channel), {}).setdefault(net, []).append(Attach(node, row, is_outer))
        for node, port in hung:
            column = column_of[node.key]
            channel = column if low <= column <= high else column + 1
            frame.channels.setdefault((home, channel), {}).setdefault(net, []).append(Attach(node, port.row, channel == column))
