"""What the steps of a bench sheet ask of a build: terminals, nets, neighbours, and the voltage of a pin in any state."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from pinwright.circuits.ranges import Range
from pinwright.facts.model import BoardPin
from pinwright.fitting.interface.pieces import Circuit
from pinwright.fitting.interface.rails import PinHigh, board_rail, pin_high, pin_receiver
from pinwright.fitting.plan import Placed
from pinwright.fitting.quiet import pulls_at
from pinwright.pack.bench.mesh import Edge, edges_of, node_at
from pinwright.pack.bench.walk import must_stay_off
from pinwright.pack.build.model import Build, Item, Net, Terminal
from pinwright.pack.build.pins import pin_terminals
from pinwright.powerup.one_node import Branch
from pinwright.powerup.phases import internal_pull, leak_of_pin

__all__ = ["Rig"]

USUAL_DROP = 0.3
"""Share of its worst drop a pin usually loses (our choice)."""
PART_SUPPLY = 0.05
"""Spread of a supply nobody gives a figure for (common practice, no source; that of 5 V over USB: USB 2.0, 7.2.2)."""


@dataclass(frozen=True)
class Rig:
    """A build with everything looked up once."""

    build: Build

    # -------------------------------------------------------------------------- names

    @cached_property
    def ground(self) -> Terminal:
        """Where the black probe rests: a ground pin of the board, else anything on ground."""
        found = [terminal for net in self.build.nets if net.role == "ground" for terminal in net.terminals]
        on_board = [terminal for terminal in found if terminal.item == self.build.board.ref]
        return (on_board or found or [Terminal(self.build.board.ref, "GND")])[0]

    @cached_property
    def header(self) -> dict[str, BoardPin]:
        """Header pins by terminal."""
        board = self.build.plan.view.board
        names = pin_terminals(board)
        return {names[pin.row, pin.order]: pin for pin in board.header}

    @cached_property
    def source(self) -> Item | None:
        """What feeds the board, by plug or by wire."""
        return next((item for item in self.build.items if item.kind == "supply" and item.role == "source"), None)

    @cached_property
    def load_parts(self) -> tuple[str, ...]:
        """Parts that can hurt or move: they are unplugged until the last phase."""
        found: dict[str, None] = {}
        for line, placed in self.placed.items():
            load = placed.line.asks.load
            if must_stay_off(placed) or (placed.line.asks.drives and load is not None and load.stage != "pin" and load.kind != "input"):
                end = self.ends.get(line)
                found[end.item if end is not None else placed.line.part] = None
        return tuple(found)

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """Resistors between nets."""
        return edges_of(self.build)

    @cached_property
    def placed(self) -> dict[str, Placed]:
        """Lines by id."""
        return {placed.line.id: placed for placed in self.build.plan.placed}

    @cached_property
    def pins(self) -> dict[str, Terminal]:
        """Terminal of the board by line."""
        return {line: stage.pin for stage in self.build.stages for line in stage.lines}

    @cached_property
    def ends(self) -> dict[str, Terminal]:
        """Terminal of the part by line."""
        return {line: end for stage in self.build.stages for line, end in zip(stage.lines, stage.ends, strict=False)}

    @cached_property
    def refs(self) -> dict[str, str]:
        """Item by the name of its part in the brief: a name somebody else has already gets another ref."""
        found = {placed.line.part: self.ends[line].item for line, placed in self.placed.items() if line in self.ends}
        return {part: ref for part, ref in found.items() if self.build.by_ref[ref].kind == "part"}

    def net(self, terminal: Terminal | None) -> Net | None:
        """Net of a terminal, if it is joined to anything."""
        return None if terminal is None else self.build.net_at.get(terminal)

    def net_id(self, terminal: Terminal | None) -> str:
        """Id of that net, or empty."""
        net = self.net(terminal)
        return net.id if net is not None else ""

    def net_through_board(self, terminal: Terminal) -> str:
        """Id of the net of a header pin, also of one no wire goes to that the board joins to one (a second GND)."""
        own = self.net_id(terminal)
        pin = self.header.get(terminal.name) if not own and terminal.item == self.build.board.ref else None
        if pin is None or not pin.power:
            return own
        alike = (name for name, other in self.header.items() if other.power == pin.power)
        nets = (self.net_id(Terminal(self.build.board.ref, name)) for name in alike)
        return next((net for net in nets if net), "")

    def together(self, placed: Placed) -> list[Placed]:
        """All lines on the pin of a line."""
        pin = self.pins.get(placed.line.id)
        return [other for line, other in self.placed.items() if self.pins.get(line) == pin and pin is not None] or [placed]

    def pieces(self, line: str, *symbols: str) -> list[Item]:
        """Components of a line, of these symbols."""
        stage = next((stage for stage in self.build.stages if line in stage.lines), None)
        refs = stage.items if stage is not None else ()
        found = [self.build.by_ref[ref] for ref in refs if ref in self.build.by_ref]
        return [item for item in found if item.symbol in symbols and item.line in ("", line)]

    def neighbours(self, terminal: Terminal) -> list[Terminal]:
        """Header pins beside one, in its row."""
        pin = self.header.get(terminal.name) if terminal.item == self.build.board.ref else None
        if pin is None:
            return []
        beside = [name for name, other in self.header.items() if other.row == pin.row and abs(other.order - pin.order) == 1]
        return [Terminal(self.build.board.ref, name) for name in beside]

    # -------------------------------------------------------------------------- volts

    @cached_property
    def rail(self) -> Range:
        """The board's logic supply over its tolerance [V]."""
        return board_rail(self.build.plan.view)

    @cached_property
    def high(self) -> PinHigh:
        """High level of its pins."""
        return pin_high(self.build.plan.view)

    def threshold(self, which: str) -> float:
        """Level the pins read as high from (``vih``), or as low up to (``vil``), at the end of the supply that asks most [V]."""
        receiver = pin_receiver(self.build.plan.view.chip)
        band = receiver.vih if which == "vih" else receiver.vil
        ends = [band.fraction * volts + band.offset_v for volts in (self.rail.low, self.rail.high)]
        return max(ends) if which == "vih" else min(ends)

    def gives_high(self, i_a: float) -> Range:
        """A pin that drives high, at a load [V]; beyond the load of its data sheet it loses more in proportion, as a MOS output does."""
        high = self.high
        share = max(i_a / high.at_a, 0.02) if high.at_a else 1.0
        ends = [(1 - (1 - high.frac) * share) * volts + high.v * share for volts in (self.rail.low, self.rail.high)]
        low = max(min(*ends, self.rail.low), 0.0)
        return Range(low, self.rail.high, max(self.rail.middle - (self.rail.low - low) * USUAL_DROP, low))

    def gives_low(self, i_a: float) -> Range:
        """A pin that drives low, at a load [V]; in proportion beyond that of its data sheet, as above."""
        electrical = self.build.plan.view.chip.electrical
        level, at = electrical.vol_max, electrical.vol_i_a
        share = max(i_a / at.value, 0.02) if at is not None and at.value else 1.0
        return Range(0.0, min(max(level.at(self.rail.high) * share, 0.0), self.rail.high), 0.0)

    def supply_v(self, net: Net) -> Range:
        """A rail over its tolerance [V]: the logic supply, the source, a regulator of the board, or a supply of its own."""
        volts, supply = net.v_v or 0.0, self.build.supply
        if abs(volts - self.rail.middle) < 0.05:
            return self.rail
        by_source = self.source is not None and self.source.ref in {terminal.item for terminal in net.terminals}
        if by_source or abs(volts - supply.source.v.middle) < 1e-6:
            return Range(max(supply.source.v.low - supply.wire_drop_v, 0.0), supply.source.v.high, supply.source.v.middle)
        regulator = next((r for r in self.build.plan.view.board.regulator if abs(r.v_out_v - volts) < 0.05), None)
        return Range.around(volts, regulator.tolerance if regulator is not None else PART_SUPPLY)

    @cached_property
    def known(self) -> dict[str, Range]:
        """Voltage of ground and rails by net [V]."""
        found = {net.id: self.supply_v(net) for net in self.build.nets if net.role == "supply"}
        return found | {net.id: Range(0.0, 0.0) for net in self.build.nets if net.role == "ground"}

    def hidden_pulls(self, placed: Placed) -> list[Branch]:
        """Pulls at a pin that no list names: on the board, and in every part on the pin [ohm, V]."""
        view = self.build.plan.view
        found = []
        for number, other in enumerate(self.together(placed)):
            bare = pulls_at(other.line.asks, other.place, view, Circuit())
            own = bare if number == 0 else bare[len(bare) - (other.line.asks.pull_fitted is not None) :]  # the board's only once
            for pull in own:
                low_v, high_v = (self.rail.low, self.rail.high) if abs(pull.rail_v - self.rail.middle) < 0.1 else (pull.rail_v, pull.rail_v)
                low_v, high_v = (low_v, high_v) if pull.direction == "up" else (0.0, 0.0)
                found.append((pull.ohm_low, pull.ohm_high, low_v, high_v))
        return found

    def own_pull(self, direction: str) -> Branch:
        """The pad's own pull [ohm, V]."""
        low, high = internal_pull(self.build.plan.view.chip, direction)
        return (low, high, self.rail.low, self.rail.high) if direction == "up" else (low, high, 0.0, 0.0)

    def pin_at_rest(self, placed: Placed, pull: str = "", part: Range | None = None, metered: bool = True) -> Range | None:
        """Voltage at a pin that drives nothing [V]; ``pull``: its own one is on; ``part``: what the part puts on its end."""
        pin, end = self.net_id(self.pins.get(placed.line.id)), self.net_id(self.ends.get(placed.line.id))
        if part is not None and (pin == end or not self._reaches(pin, end)):
            return part
        known = self.known | ({end: part} if part is not None else {})
        more = [*self.hidden_pulls(placed), *([self.own_pull(pull)] if pull else [])]
        return node_at(self.edges, pin, known, more, leak_of_pin(self.build.plan.view.chip), metered)

    def _reaches(self, pin: str, end: str) -> bool:
        return any({edge.a, edge.b} == {pin, end} for edge in self.edges)
