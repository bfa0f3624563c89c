"""Gather what is joined: nodes by name, terminals on them, two nodes that turn out to be one."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field

from pinwright.pack.build.model import Item, Terminal

__all__ = ["GROUND", "Joiner", "Node", "free_name", "rail_node"]

GROUND = "GND"
NEAR_V = 0.3
"""Rails nearer than this are one rail: 5 V and the 5.25 V some data sheet allows [V] (our choice)."""
Node = str


def rail_node(volts: float) -> Node:
    """Node of a supply rail: its voltage as people write it.

    >>> rail_node(3.3)
    '3.3 V'
    """
    return f"{volts:.3g} V"


def free_name(wanted: str, taken: Container[str]) -> str:
    """A name nobody has: as wanted, or with a number.

    >>> free_name("GND", {"GND"})
    'GND (2)'
    """
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted} ({number})"
    return name


@dataclass
class Joiner:
    """Items and nodes while a build is put together.

    ``nodes``: terminals by node, in the order they were joined; ``lines``: lines that run over a node; ``volts``: rails [V].
    """

    items: dict[str, Item] = field(default_factory=dict)
    nodes: dict[Node, list[Terminal]] = field(default_factory=dict)
    lines: dict[Node, list[str]] = field(default_factory=dict)
    volts: dict[Node, float] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    _same: dict[Node, Node] = field(default_factory=dict)
    _counted: dict[str, int] = field(default_factory=dict)

    def add(self, item: Item) -> Item:
        """Add an item; its name is taken from now on."""
        self.items[item.ref] = item
        return item

    def designator(self, letter: str) -> str:
        """Next free designator of a kind: R1, R2, ...; parts may be called so too."""
        while True:
            self._counted[letter] = self._counted.get(letter, 0) + 1
            name = f"{letter}{self._counted[letter]}"
            if name not in self.items:
                return name

    def name(self, wanted: str) -> str:
        """A free name for an item: as wanted, or with a number."""
        return free_name(wanted, self.items)

    def node(self, name: Node) -> Node:
        """The node that stands for this one."""
        while name in self._same:
            name = self._same[name]
        return name

    def join(self, name: Node, item: str, terminal: str, line: str = "") -> None:
        """Put a terminal on a node; a terminal that is there already stays."""
        node = self.node(name)
        found = Terminal(item, terminal)
        terminals = self.nodes.setdefault(node, [])
        if found not in terminals:
            terminals.append(found)
        if line:
            self.carries(node, line)

    def carries(self, name: Node, line: str) -> None:
        """Say that a line runs over a node."""
        lines = self.lines.setdefault(self.node(name), [])
        if line not in lines:
            lines.append(line)

    def same(self, kept: Node, other: Node) -> None:
        """Make two nodes one; the first keeps its name."""
        kept, other = self.node(kept), self.node(other)
        if kept == other:
            return
        for terminal in self.nodes.pop(other, []):
            self.join(kept, terminal.item, terminal.name)
        for line in self.lines.pop(other, []):
            self.carries(kept, line)
        if other in self.volts:
            self.volts.setdefault(kept, self.volts.pop(other))
        self._same[other] = kept

    def rail(self, volts: float) -> Node:
        """Node of a rail, made if it is new, with the strip that carries it; a rail of nearly the same voltage serves."""
        near = next((node for node, known in self.volts.items() if abs(known - volts) <= NEAR_V), "")
        node = near or rail_node(volts)
        if self.node(node) not in self.nodes:
            ref = self.name(node)  # a part may be called so
            self.add(Item(ref, "rail", f"{node} rail", ("rail",)))
            self.join(node, ref, "rail")
            self.volts[node] = volts
        return self.node(node)

    def ground(self) -> Node:
        """Node of the ground strip."""
        if GROUND not in self.nodes:
            self.add(Item(GROUND, "rail", "ground rail", ("rail",)))
            self.join(GROUND, GROUND, "rail")
        return GROUND
