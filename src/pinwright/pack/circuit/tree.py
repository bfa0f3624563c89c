"""Layout of a stage: from the pin to the right, what leads to a rail hangs on the wire, what is in the wire continues it.

A stage is a tree of nets.  Each net is laid out by itself, with its zero where the wire comes in, and put as close to what
stands before it as the two can without touching.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pinwright.fitting.plan import Placed
from pinwright.pack.build.model import Build, Item, Net, Stage, Terminal
from pinwright.pack.circuit import blocks, symbols
from pinwright.pack.circuit.parts import part_block, plain_block
from pinwright.pack.circuit.sketch import Box, Sketch

__all__ = ["Letters", "clear_of", "stage_sketch"]

_FEW = 2
"""Up to so many parts on a pin are drawn with what is inside and what feeds them."""
_GAP_MM, _STEP_MM = 0.9, 0.5


@dataclass
class Letters:
    """Small letters for the nets of a drawing, in the order they are met."""

    of: dict[str, str] = field(default_factory=dict)

    def letter(self, net: Net) -> str:
        """Letter of a net; after z come a2, b2, ..."""
        if net.id not in self.of:
            turn, number = divmod(len(self.of), 26)
            self.of[net.id] = chr(ord("a") + number) + (str(turn + 1) if turn else "")
        return self.of[net.id]


def clear_of(sketch: Sketch, other: Sketch, x: float, y: float, apart: tuple[float, float] | None = None) -> float:
    """Smallest x, from the one given to the right, at which the other touches nothing; boxes round ``apart`` do not count."""
    mine = [b for b in sketch.boxes if apart is None or not _holds(b, apart)]
    while any(_meet(b, (o[0] + x, o[1] + y, o[2] + x, o[3] + y)) for b in mine for o in other.boxes):
        x += _STEP_MM
    return x


def _holds(box: Box, point: tuple[float, float]) -> bool:
    return box[0] - 0.01 <= point[0] <= box[2] + 0.01 and box[1] - 0.01 <= point[1] <= box[3] + 0.01


def _meet(a: Box, b: Box) -> bool:
    return a[0] - _GAP_MM < b[2] and b[0] - _GAP_MM < a[2] and a[1] - _GAP_MM < b[3] and b[1] - _GAP_MM < a[3]


def stage_sketch(build: Build, stage: Stage, letters: Letters) -> Sketch:
    """The whole circuit of a stage, its pin at the zero.

    Parameters
    ----------
    build : what is built [-]
    stage : the stage [-]
    letters : letters of its nets; grows [-]
    """
    tree = _Tree(build, stage, letters)
    inner = blocks.own_pulls(build, stage)
    sketch = blocks.board_block(build, (stage.pin.name,), 0.0, inner[:1], inner[1:])
    net = build.net_at.get(stage.pin)
    if net is not None:
        sketch.put(tree.of_net(net), 0, 0)
    return sketch


@dataclass
class _Tree:
    build: Build
    stage: Stage
    letters: Letters
    drawn: set[str] = field(default_factory=set)

    def of_net(self, net: Net) -> Sketch:
        """A net with everything behind it, its wire coming in at the zero."""
        sketch, last = Sketch(), 0.0
        sketch.text(0.8, -0.9, self.letters.letter(net), 1.9, cls="pw-soft")
        least = 4.5
        joints = []
        for item, near, up in self._shunts(net):
            self.drawn.add(item.ref)
            column = blocks.shunt(self.build, item, near, up)
            last = clear_of(sketch, column, max(least, last + 5.0), 0)
            sketch.put(column, last, 0)
            joints.append(last)
        branches = self._branches(net)
        if not branches:
            sketch.wire((0, 0), (max(last, 4.0), 0))
        start = max(last + 2.0, least)
        if len(branches) == 1:
            x = clear_of(sketch, branches[0], start, 0)
            sketch.put(branches[0], x, 0)
            sketch.wire((0, 0), (x, 0))
        elif branches:
            self._trunk(sketch, branches, start)
        for x in joints:
            if branches or x < last:
                sketch.dot(x, 0)
        return sketch

    def _trunk(self, sketch: Sketch, branches: list[Sketch], start: float) -> None:
        """Several branches below each other on one upright wire."""
        stack, rows, low = Sketch(), [], 0.0
        for number, branch in enumerate(branches):
            left, top, _, bottom = branch.extent
            y = 0.0 if number == 0 else low - top + 2.5
            stack.put(branch, 3.0 - min(left, 0.0), y)
            stack.wire((0, y), (3.0 - min(left, 0.0), y))
            rows.append(y)
            low = y + bottom
        stack.wire((0, 0), (0, rows[-1]))
        for y in rows[:-1]:
            stack.dot(0, y)
        x = clear_of(sketch, stack, start, 0)
        sketch.put(stack, x, 0)
        sketch.wire((0, 0), (x, 0))

    def _shunts(self, net: Net) -> list[tuple[Item, str, bool]]:
        """Components from this net to a rail or to ground: the component, its end here, and whether it goes up."""
        found = []
        for item, near in self._here(net):
            if item.symbol in ("resistor", "capacitor", "diode") and item.ref not in self.drawn:
                far = self.build.net_at[Terminal(item.ref, blocks.fork(item, near))]
                if far.role != "signal":
                    found.append((item, near, far.role == "supply"))
        return found

    def _branches(self, net: Net) -> list[Sketch]:
        """What the wire leads on to: components in it, then parts."""
        found = []
        for item, near in self._here(net):
            channel = (item.ref, near) if item.symbol == "shifter" else (item.ref, "")
            if "/".join(channel) in self.drawn or item.ref in self.drawn or not self._takes(item, near):
                continue
            self.drawn.add("/".join(channel) if item.symbol == "shifter" else item.ref)
            found.append(self._through(item, near))
        ends = [end for end in self.stage.ends if self.build.net_at.get(end) is net]
        return found + [self._part(end) for end in ends]

    def _here(self, net: Net) -> list[tuple[Item, str]]:
        """Components of the stage with the terminal they have on this net."""
        refs = list(dict.fromkeys(self.stage.items))
        return [(self.build.by_ref[t.item], t.name) for ref in refs for t in net.terminals if t.item == ref]

    @staticmethod
    def _takes(item: Item, near: str) -> bool:
        """Whether a wire may go on through a component from this terminal."""
        if item.symbol in ("npn", "nmos"):
            return near == item.terminals[0]
        if item.symbol == "shifter":
            return near.startswith("A")
        return near == "IN" if item.symbol == "stage" else True

    def _through(self, item: Item, near: str) -> Sketch:
        """A component in the wire and everything behind it."""
        if item.symbol in ("npn", "nmos"):
            sketch, leaves = blocks.switch(self.build, item)
            far = item.terminals[1]
        elif item.symbol in ("shifter", "stage"):
            far = f"B{near[1:]}" if item.symbol == "shifter" else "OUT"
            sketch, wide = blocks.box(self.build, item, ((near, far),), way=self._way(item))
            leaves = (wide, 0.0)
        else:
            far = blocks.fork(item, near)
            sketch, leaves = blocks.across(item, near), (symbols.TWO_MM, 0.0)
        net = self.build.net_at.get(Terminal(item.ref, far))
        if net is None:
            return sketch
        behind = self.of_net(net)
        x = clear_of(sketch, behind, leaves[0], leaves[1], leaves)
        sketch.put(behind, x, leaves[1])
        if x > leaves[0]:
            sketch.wire(leaves, (x, leaves[1]))
        return sketch

    def _way(self, item: Item) -> str:
        """Which way signals go through a module: a stage is driven, a shifter goes the way its lines go."""
        directions = {p.line.asks.direction for line in self.stage.lines if (p := self.build.plan.of(line)) is not None}
        if item.symbol == "stage" or directions == {"out"}:
            return "right"
        return "left" if directions <= {"in", "analog-in"} else "both"

    def _part(self, end: Terminal) -> Sketch:
        part = self.build.by_ref[end.item]
        if len(self.stage.ends) > _FEW:
            return plain_block(self.build, part, (end.name,), 0.0)
        return part_block(self.build, part, self._placed(end))

    def _placed(self, end: Terminal) -> Placed:
        """The line of an end: a part's name in the build may differ from the brief's, their order does not."""
        placed = self.build.plan.of(self.stage.lines[self.stage.ends.index(end)])
        assert placed is not None
        return placed
