"""Which parts go on which page, and what belongs on it: components, wires, pieces of nets that are routed as one."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property

from pinwright.pack.build.model import Build, Item, Net, Terminal, Wire

__all__ = ["Page", "Place", "divided", "served", "whole"]


@dataclass(frozen=True, order=True, slots=True)
class Place:
    """An end of a routed wire: a terminal, a rail's own piece for one wire, or the way to another sheet."""

    kind: str
    terminal: Terminal
    wire: int = 0


@dataclass
class Page:
    """One page: ``refs`` of its items in the order of the build; ``where``: page of every item that is on one page only.

    ``near_rails``: a bar stands right at each pin of the board that feeds a rail, instead of in the column of components.
    """

    build: Build
    number: int
    of: int
    refs: tuple[str, ...]
    where: dict[str, int] = field(default_factory=dict)
    near_rails: bool = True

    @cached_property
    def items(self) -> list[Item]:
        """Items of the page, without board and rails."""
        return [self.build.by_ref[ref] for ref in self.refs]

    @cached_property
    def wires(self) -> list[Wire]:
        """Wires drawn on this page: each wire of the build is on one page."""
        return [wire for wire in self.build.wires if self.page_of(wire) == self.number]

    def page_of(self, wire: Wire) -> int:
        """Page a wire is drawn on: the last one of its two ends."""
        pages = [self.where[t.item] for t in (wire.a, wire.b) if t.item in self.where]
        return max(pages, default=1)

    @cached_property
    def continuing(self) -> list[Wire]:
        """Wires drawn on another page that end at an item of this one."""
        return [
            wire for wire in self.build.wires
            if self.page_of(wire) != self.number and any(self.where.get(t.item) == self.number for t in (wire.a, wire.b))
        ]  # fmt: skip

    def is_drop(self, wire: Wire) -> bool:
        """Whether a wire goes straight to a bar beside the terminal it leaves."""
        kinds = [self.build.by_ref[t.item].kind for t in (wire.a, wire.b)]
        if kinds.count("rail") != 1:
            return False
        own = wire.b if kinds[0] == "rail" else wire.a
        return own.item != "board" or (self.near_rails and self._often[own] == 1)

    @cached_property
    def _often(self) -> Counter[Terminal]:
        """How many wires of the page end at a terminal."""
        return Counter(end for wire in self.wires for end in (wire.a, wire.b))

    @cached_property
    def routed(self) -> list[Wire]:
        """Wires that run over the channels."""
        return [wire for wire in self.wires if not self.is_drop(wire)]

    def place(self, terminal: Terminal, wire: Wire) -> Place:
        """Where an end of a routed wire is on this page."""
        if self.build.by_ref[terminal.item].kind == "rail":
            return Place("rail", terminal, wire.number)
        if self.where.get(terminal.item, self.number) != self.number:
            return Place("other", terminal, wire.number)
        return Place("here", terminal)

    @cached_property
    def pieces(self) -> dict[Place, str]:
        """Routed net of every place: wires that hang together, called by the net and the first wire's number."""
        parent: dict[Place, Place] = {}

        def root(place: Place) -> Place:
            while parent.setdefault(place, place) != place:
                place = parent[place]
            return place

        first: dict[Place, str] = {}
        for wire in self.routed:
            a, b = root(self.place(wire.a, wire)), root(self.place(wire.b, wire))
            name = min(first.get(a, f"{wire.number:05d}"), first.get(b, f"{wire.number:05d}"))
            parent[b] = a
            first[a] = name
        return {place: first[root(place)] for place in parent}

    @cached_property
    def net_of_piece(self) -> dict[str, Net]:
        """The build's net of each routed one."""
        by_id = self.build.by_net
        return {self.pieces[self.place(wire.a, wire)]: by_id[wire.net] for wire in self.routed}

    @cached_property
    def numbers(self) -> dict[Place, list[Wire]]:
        """Wires that end at a place and are routed, here or on another sheet."""
        found: dict[Place, list[Wire]] = {}
        for wire in self.routed:
            for end in (wire.a, wire.b):
                found.setdefault(self.place(end, wire), []).append(wire)
        for wire in self.continuing:
            for end in (wire.a, wire.b):
                if (place := Place("here", end)) in found and self.where.get(end.item) == self.number:
                    found[place].append(wire)
        return found


def whole(build: Build) -> list[Page]:
    """Everything on one page.

    Parameters
    ----------
    build : the device [-]
    """
    refs = tuple(item.ref for item in build.items if item.kind in ("part", "component", "supply"))
    return [Page(build, 1, 1, refs, dict.fromkeys(refs, 1))]


def served(build: Build) -> dict[str, str]:
    """Part each component serves: the end of its line, else the part nearest over wires.

    Parameters
    ----------
    build : the device [-]
    """
    ends = {line: end.item for stage in build.stages for line, end in zip(stage.lines, stage.ends, strict=False)}
    first = {ref: stage.ends[0].item for stage in build.stages for ref in stage.items if stage.ends}
    components = [item for item in build.items if item.kind == "component" and item.terminals]
    found = {item.ref: part for item in components if (part := ends.get(item.line) or first.get(item.ref))}
    parts = {item.ref for item in build.items if item.kind == "part"}
    for _ in components:
        before = len(found)
        for wire in build.wires:
            for one, other in ((wire.a.item, wire.b.item), (wire.b.item, wire.a.item)):
                if build.by_ref[other].kind == "component" and other not in found and (one in parts or one in found):
                    found[other] = found.get(one, one)
        if len(found) == before:
            break
    return found


def divided(build: Build, groups: list[list[str]]) -> list[Page]:
    """Pages for groups of parts (and supplies): components go with the first part they serve.

    Parameters
    ----------
    build : the device [-]
    groups : names of parts and supplies by page [-]
    """
    where = {ref: number for number, group in enumerate(groups, 1) for ref in group}
    for ref, part in served(build).items():
        if part in where:
            where.setdefault(ref, where[part])
    for item in build.items:
        if item.kind in ("component", "part", "supply"):
            where.setdefault(item.ref, 1)
    refs = [tuple(item.ref for item in build.items if where.get(item.ref) == number) for number in range(1, len(groups) + 1)]
    return [Page(build, number, len(groups), own, where) for number, own in enumerate(refs, 1)]
