"""Pull resistors that a line cannot do without, and pull-ups that together are too strong."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, found, has, part_cite, pins
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.network import board_pulls, part_pulls

__all__ = ["RULES"]

BUS_SINK_A = 3e-3
BUS_LOW_V = 0.4
"""Every I2C output sinks 3 mA at 0.4 V and not more.   [UM10204, from memory]"""


def _missing(wiring: Wiring) -> Iterator[Finding]:
    for place, wires in pins(wiring):
        wire = wires[0]
        direction = _needed(wire)
        if not direction or any(
            pull.direction == direction for pull in (*part_pulls(wires, wiring.view), *board_pulls(place, wiring.view))
        ):
            continue
        if any(has(one.circuit, "level shifter") for one in wires) and wire.line.asks.direction == "open-drain":
            continue  # such shifters bring their pull-ups along
        internal = place.pad.pull_up if direction == "up" else place.pad.pull_down
        if any(has(one.circuit, "internal pull") for one in wires) and internal:
            if wire.line.asks.signal == "i2c" or wire.line.asks.needs.external_pull:
                yield _weak(wiring, wire, direction)
            continue
        yield _none(wiring, wire, direction, internal)


def _needed(wire: Wire) -> str:
    """Direction of the pull without which one of the line's levels does not exist, or empty."""
    asks = wire.line.asks
    if asks.signal in ("i2c", "onewire"):
        return "up"
    if asks.direction in ("in", "open-drain") and asks.voh is None and asks.needs.pull != "none":
        return asks.needs.pull
    return ""


def _value(wire: Wire) -> str:
    return show_quantity(wire.line.asks.needs.pull_ohm or (4700.0 if wire.line.asks.signal in ("i2c", "onewire") else 10e3), "Ω")


def _none(wiring: Wiring, wire: Wire, direction: str, internal: bool) -> Finding:
    asks = wire.line.asks
    own = internal and asks.signal != "i2c" and not asks.needs.external_pull
    to = f"{show_quantity(wiring.view.board.logic_v, 'V')}" if direction == "up" else "ground"
    level = "high" if direction == "up" else "low"
    because = [f"{wire.line.id} is only ever pulled {'low' if level == 'high' else 'high'} by the part", f"nothing makes it {level}"]
    if own:
        return found(
            "pull-missing",
            "note" if not asks.long_wire else "caution",
            wire,
            [*because, f"{wire.place.name} has a pull-{direction} inside, which the firmware must switch on"],
            f"Switch on the internal pull-{direction}"
            + (f"; for a wire this long fit {_value(wire)} to {to} as well." if asks.long_wire else "."),
            sources=[part_cite(wiring, wire)],
        )
    inside = "" if internal else f"; {wire.place.name} has none inside"
    return found(
        "pull-missing",
        "refuse",
        wire,
        [*because, f"no pull-{direction} resistor is fitted{inside}"],
        f"Fit {_value(wire)} from the line to {to}.",
        sources=[part_cite(wiring, wire)],
    )


def _weak(wiring: Wiring, wire: Wire, direction: str) -> Finding:
    return found(
        "pull-weak",
        "caution",
        wire,
        [
            f"{wire.line.id} rests on the chip's own pull-{direction} only",
            "that is many times weaker than the line asks for: edges are slow, noise gets in",
        ],
        f"Fit {_value(wire)} as well.",
        sources=[part_cite(wiring, wire)],
    )


def _strong(wiring: Wiring) -> Iterator[Finding]:
    for place, wires in pins(wiring):
        if wires[0].line.asks.signal != "i2c" or len(wires) < 2:
            continue
        ups = [pull.ohm_min for pull in (*part_pulls(wires, wiring.view), *board_pulls(place, wiring.view)) if pull.direction == "up"]
        if not ups:
            continue
        together = 1 / sum(1 / ohm for ohm in ups)
        least = (wiring.view.board.logic_v - BUS_LOW_V) / BUS_SINK_A
        if together < least:
            yield found(
                "pull-strong",
                "caution",
                wires[0],
                [
                    f"{len(ups)} pull-ups on {place.name} make {show_quantity(together, 'Ω')} together",
                    f"a part on the bus pulls against no less than {show_quantity(least, 'Ω')}",
                    "a low may not be low enough",
                ],
                "Remove the pull-ups of all modules but one.",
                {"pull-up": f"{show_quantity(together, 'Ω')} against {show_quantity(least, 'Ω')}"},
                ["UM10204, I2C-bus specification (recalled)"],
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "pull-missing",
        "a line that lives on a pull resistor and has none, or only a weak one (also pull-weak)",
        "one of its levels does not exist",
        PRACTICE,
        _missing,
    ),
    Rule(
        "pull-strong",
        "pull-ups of several modules that together are too strong",
        "parts cannot pull the bus low",
        "UM10204 (from memory)",
        _strong,
    ),
)
