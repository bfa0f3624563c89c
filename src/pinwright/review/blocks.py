"""Blocks of the chip that serve buses of several kinds, one at a time: can all buses have theirs at once?

Buses of one kind that are too many are told by ``bus-too-many``; here only what two or more kinds want together.
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import BusInstance
from pinwright.review.buses import Bus, assign, buses, usable
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]

_NAMES = {"i2c": "I2C", "spi": "SPI", "uart": "serial port", "i2s": "I2S"}


def _blocks(wiring: Wiring) -> Iterator[Finding]:
    table = [(bus, instances) for bus in buses(wiring) if not bus.forked and (instances := usable(wiring, bus))]
    if not any(instance.block for _, instances in table for instance in instances) or _possible(wiring, table):
        return
    clash = list(table)
    for entry in table:  # leave out whatever the clash does not need
        rest = [other for other in clash if other is not entry]
        if not _possible(wiring, rest):
            clash = rest
    if len({bus.kind for bus, _ in clash}) > 1:
        yield _clash(wiring, clash)


def _possible(wiring: Wiring, table: list[tuple[Bus, list[BusInstance]]]) -> bool:
    return not table or assign([instances for _, instances in table], wiring) is not None


def _clash(wiring: Wiring, clash: list[tuple[Bus, list[BusInstance]]]) -> Finding:
    blocks = list(dict.fromkeys(instance.block or instance.id for _, instances in clash for instance in instances))
    wants = []
    for bus, instances in clash:
        where = joined_names(wire.place.name for wire in bus.wires)
        reach = joined_names(dict.fromkeys(instance.block or instance.id for instance in instances))
        wants.append(f"the {_NAMES[bus.kind]} of {joined_names(bus.parts)} on {where} reaches {reach}")
    bus, instances = clash[-1]
    return found(
        "bus-block",
        "refuse",
        bus.wires[0],
        [*wants, f"that is {len(clash)} buses for {len(blocks)} blocks, and one block is one port of one kind at a time"],
        f"Move one of them to pins of a block that is free, or join parts on one {_NAMES[bus.kind]}.",
        sources=[wiring.view.chip_cite(instances[0])],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "bus-block",
        "buses of different kinds that want one and the same block of the chip",
        "one of them stays silent",
        "bus table of the chip, named in the finding",
        _blocks,
    ),
)
