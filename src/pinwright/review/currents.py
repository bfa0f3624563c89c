"""How much current each pin, each group of pins and the chip carry, and loads a bare pin cannot drive."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import CurrentGroup, Fact
from pinwright.fitting.places import Place
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, board_finding, found, has, joined_names, part_cite
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]

LEAST_SERIES_LOAD_A = 1e-3
"""Below this a missing series resistor only makes edges ring (common practice, no source)."""


def _direct_a(wire: Wire) -> float:
    """Current [A] of the load the pin carries itself; nothing when a stage stands between."""
    asks = wire.line.asks
    stage = asks.needs.driver and has(wire.circuit, "driver")
    bought = any(element.kind == "driver" and "transistor" in element.words for element in wire.circuit.elements)
    return asks.i_in_a if asks.drives and not stage and not bought and not has(wire.circuit, "level shifter") else 0.0


def _side(wire: Wire) -> str:
    """Whether the pin sinks the load's current (the load hangs on the supply and is off at high) or sources it."""
    return "sink" if wire.line.asks.safe_level in ("high", "released") else "source"


def _limit(place: Place, side: str, wiring: Wiring) -> tuple[float, Fact]:
    electrical = wiring.view.chip.electrical
    own = place.pad.sink_max_a if side == "sink" else place.pad.source_max_a
    fact = own or (electrical.i_pin_sink_max_a if side == "sink" else electrical.i_pin_source_max_a)
    return fact.value or fact.min or 0.0, fact


def _pins(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for wire in wiring.wires:
        current, side = _direct_a(wire), _side(wire)
        most, fact = _limit(wire.place, side, wiring)
        design = view.chip.electrical.i_pin_design_a
        verb = "take" if side == "sink" else "give"
        have, what = show_quantity(current, "A"), f"{wire.line.id} takes"
        if current > most + 1e-12:
            yield found(
                "current-pin",
                "refuse",
                wire,
                [f"{what} {have}", f"{wire.place.name} may {verb} {show_quantity(most, 'A')} at most", "the pin overheats or fails"],
                "Put a transistor between.",
                {"current": f"{have} against {show_quantity(most, 'A')}"},
                [part_cite(wiring, wire), view.chip_cite(fact)],
            )
        elif current > (design.value or most) + 1e-12:
            yield found(
                "current-pin",
                "caution",
                wire,
                [
                    f"{what} {have}",
                    f"{show_quantity(design.value or most, 'A')} is what to plan with for {view.chip.part}",
                    "the pin gets warm and its levels sag",
                ],
                "Put a transistor between, or take a larger series resistor.",
                {"current": f"{have} against {show_quantity(design.value or most, 'A')}"},
                [part_cite(wiring, wire), view.chip_cite(design)],
            )


def _groups(wiring: Wiring) -> Iterator[Finding]:
    for group in wiring.view.chip.group:
        for side, most in (("source", group.sum_source_max_a), ("sink", group.sum_sink_max_a)):
            loads = [wire for wire in wiring.wires if wire.place.pad.gpio in group.pads and _side(wire) == side and _direct_a(wire) > 0]
            total = sum(map(_direct_a, loads))
            if most is not None and total > most + 1e-12:
                yield _group(wiring, group, loads, total, most, side)


def _group(wiring: Wiring, group: CurrentGroup, loads: list[Wire], total: float, most: float, side: str) -> Finding:
    verb = "take" if side == "sink" else "give"
    heaviest = max(loads, key=_direct_a)
    return found(
        "current-group",
        "refuse",
        heaviest,
        [
            f"{joined_names(wire.line.id for wire in loads)} together take {show_quantity(total, 'A')}",
            f"the pins of group {group.id} may {verb} {show_quantity(most, 'A')} together",
        ],
        "Put a transistor before the largest loads, or spread them over other pins.",
        {"current": f"{show_quantity(total, 'A')} against {show_quantity(most, 'A')}"},
        [wiring.view.chip_cite(group)],
    )


def _chip(wiring: Wiring) -> Iterator[Finding]:
    fact = wiring.view.chip.electrical.i_total_max_a
    total = sum(map(_direct_a, wiring.wires))
    if fact is not None and fact.value and total > fact.value + 1e-12:
        yield board_finding(
            "current-chip",
            "refuse",
            [
                f"all loads together take {show_quantity(total, 'A')} from the pins",
                f"{wiring.view.chip.part} may carry {show_quantity(fact.value, 'A')}",
            ],
            "Put transistors before the largest loads.",
            numbers={"current": f"{show_quantity(total, 'A')} against {show_quantity(fact.value, 'A')}"},
            sources=[wiring.view.chip_cite(fact)],
        )


def _stages(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        needs = wire.line.asks.needs
        if not wire.line.asks.drives or has(wire.circuit, "driver"):
            continue
        if needs.driver:
            yield found(
                "current-no-driver",
                "refuse",
                wire,
                [f"a bare pin cannot drive {wire.line.id}", f"it needs a stage: {needs.driver}"],
                "Build that stage between the pin and the part.",
                sources=[part_cite(wiring, wire)],
            )
        elif needs.driver_components or (needs.series_ohm and wire.line.asks.i_in_a >= LEAST_SERIES_LOAD_A):
            if has(wire.circuit, "series resistor"):
                continue
            value = f" of {show_quantity(needs.series_ohm, 'Ω')}" if needs.series_ohm else ""
            yield found(
                "current-no-series",
                "refuse",
                wire,
                [f"{wire.line.id} needs a series resistor{value}", "without it nothing limits the current"],
                "Put the resistor between the pin and the part.",
                sources=[part_cite(wiring, wire)],
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "current-pin",
        "a load against what one pin may carry",
        "the pin overheats or fails",
        "current limits of the chip, named in the finding",
        _pins,
    ),
    Rule(
        "current-group",
        "loads against what a group of pins may carry",
        "a supply pin of the chip overheats",
        "current limits of the chip, named in the finding",
        _groups,
    ),
    Rule(
        "current-chip",
        "all loads against what the chip may carry",
        "the chip overheats",
        "current limits of the chip, named in the finding",
        _chip,
    ),
    Rule(
        "current-no-driver",
        "a load without the stage or resistor it needs (also current-no-series)",
        "the pin is overloaded or the load does not work",
        "the part's data; " + PRACTICE,
        _stages,
    ),
)
