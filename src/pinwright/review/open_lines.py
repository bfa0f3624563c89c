"""Lines that nobody holds: inputs of the board left open, and inputs of a part that must not be left out."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Part, PartLine
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, board_finding, found, has, part_cite, pins
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.network import USUAL_PULL_OHM, board_pulls, part_pulls

__all__ = ["RULES"]


# ------------------------------------------------------------------------------ inputs of the board


def _undefined(wiring: Wiring) -> Iterator[Finding]:
    """An input whose part lets go at rest, with no pull anywhere: the wire follows whatever is near."""
    for place, wires in pins(wiring):
        wire = wires[0]
        if not _lets_go(wire) or any(_lets_go(other) is False for other in wires):
            continue
        if any(True for _ in part_pulls(wires, wiring.view)) or board_pulls(place, wiring.view):
            continue
        if any(has(other.circuit, "internal pull", "level shifter", "divider", "driver") for other in wires):
            continue
        yield found(
            "line-undefined",
            "refuse",
            wire,
            [
                f"{wire.line.id} lets go of the wire at rest",
                f"no pull-up and no pull-down holds {place.name} then",
                "an open input follows stray fields: it reads anything, and slow edges are counted many times",
            ],
            _hold(wire),
            sources=[part_cite(wiring, wire)],
        )


def _lets_go(wire: Wire) -> bool:
    asks = wire.line.asks
    return asks.direction == "in" and asks.signal in ("digital", "pulse") and asks.rest == "released" and asks.needs.pull == "none"


def _hold(wire: Wire) -> str:
    long = " A pull inside the chip is too weak for a wire this long." if wire.line.asks.long_wire else ""
    ohm = show_quantity(USUAL_PULL_OHM, "Ω")
    return (
        f"Fit {ohm} from the line to ground (a pull-down) if the part connects it to the supply, "
        f'to the supply (a pull-up) if it connects it to ground, and say so in the brief: pull = "down" or "up".{long}'
    )


# ------------------------------------------------------------------------------ inputs of a part


def _left_out(wiring: Wiring) -> Iterator[Finding]:
    """An optional line the catalogue says must be held, and that no pin holds."""
    wired = {(wire.line.part, wire.line.name) for wire in wiring.wires} | {(line.part, line.name) for line in wiring.unplaced}
    for device in wiring.devices:
        part = wiring.catalogue_parts.get(device.kind)
        for line in part.line if part else ():
            if part and _must_be_held(line) and (device.name, line.name) not in wired:
                yield _unheld(device.name, part, line)


def _must_be_held(line: PartLine) -> bool:
    return line.optional and line.quiet == "must" and line.floats == "unsafe" and line.pull_fitted is None and line.direction == "out"


def _unheld(name: str, part: Part, line: PartLine) -> Finding:
    told = [caution.text for caution in part.caution if caution.tag == "power-up"]
    wrong = "ground" if line.safe_level == "high" else "the supply"
    title = next((source.title for source in part.source if source.id == line.src.split(";")[0].strip()), part.title)
    return board_finding(
        "line-left-out",
        "caution",
        [
            f"{name}.{line.name} has no pin: it is tied to {wrong}, or floats",
            f"at power-up it must not be {line.must_not}" if line.must_not else f"it must be {line.safe_level} at power-up",
            *(told[:1] or ([f"otherwise: {line.floating}"] if line.floating else [])),
        ],
        f'Give it a pin (connect = ["{line.name}"]) and a resistor that holds it {line.safe_level} until the firmware runs; '
        f"leave it out only where that does no harm.",
        f"{name}.{line.name}",
        sources=[f"{title}, {line.where}" if line.where else title],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "line-undefined",
        "an input whose part lets go at rest, without any pull",
        "it reads whatever is near",
        PRACTICE,
        _undefined,
    ),
    Rule(
        "line-left-out",
        "an optional line left out although it must be held until firmware runs",
        "what hangs on the part starts at random",
        "the part's data, named in the finding",
        _left_out,
    ),
)
