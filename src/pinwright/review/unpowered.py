"""Chip and part on separate supplies: what flows into the one that is off, through the diodes of its pins.

A part at a voltage the board neither makes nor takes from a 5 V pin has a source of its own; it may be on while the board is
off, and the other way round.  Parts fed from the board rise and fall with it.
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, found, has, part_cite, rail_v
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.netlist import RESISTOR_SPREAD
from pinwright.review.volts import divider_in, is_open, presented_v

__all__ = ["RULES", "clamp_current_a"]

I_CLAMP_MAX_A = 1e-3
"""Most current the protection diode of a pin should carry for long (common practice, no source)."""
CLAMP_V = Range(0.6, 0.8)
"""Such a diode at a milliampere [V] (common practice, no source)."""
OUTPUT_OHM = 50.0
"""Resistance of a push-pull output (common practice, no source)."""


def _has_own_source(wiring: Wiring, wire: Wire) -> bool:
    volts = rail_v(wire.line.asks, wiring.view)
    made = [wiring.view.board.logic_v, 3.3, 5.0]
    return volts > 0 and not any(abs(volts - each) < 0.3 for each in made)


def clamp_current_a(v_high_v: float, r_ohm: float) -> float:
    """Most current from a level through a resistance into a pin of a chip without supply [A].

    Kirchhoff, with the pin's diode into a rail at 0 V; solved, because the diode's voltage is known at one current only.
    """
    from pinwright.powerup.elements import GROUND, Network, Resistor, Supply, diode_between
    from pinwright.powerup.nodal import solve

    series = Resistor("part", "pad", Range.around(r_ohm, RESISTOR_SPREAD))
    clamp = diode_between("pad", GROUND, CLAMP_V, 1e-3, name="clamp")
    return solve(Network((Supply("part", v_high_v), series, clamp))).i("clamp").high


def _chip_off(wiring: Wiring) -> Iterator[Finding]:
    """The part is on, the chip is not: the part's output or pull-up feeds it through the pin's diode."""
    for wire in wiring.wires:
        asks = wire.line.asks
        fed = asks.direction == "in" or is_open(asks)
        if not fed or not _has_own_source(wiring, wire) or has(wire.circuit, "level shifter"):
            continue
        high_v, ohm = presented_v(wire, wiring.view), _source_ohm(wiring, wire)
        if high_v is None or high_v <= CLAMP_V.high or ohm is None:
            continue
        amps = clamp_current_a(high_v, ohm)
        if amps > I_CLAMP_MAX_A:
            yield _fed(wiring, wire, high_v, ohm, amps)


def _source_ohm(wiring: Wiring, wire: Wire) -> float | None:
    """Resistance between the part's high level and the pin [ohm]; ``None`` where only the board's own pull makes the high."""
    asks = wire.line.asks
    fitted = asks.pull_fitted
    if asks.voh is None and not (fitted and fitted.direction == "up"):
        return None
    ohm = OUTPUT_OHM if asks.voh is not None or fitted is None else fitted.ohm or 10e3
    divider = divider_in(wiring, wire)
    series = wire.circuit.of("series resistor")
    return ohm + (divider.top_ohm if divider else 0.0) + ((series.ohm or 0.0) if series else 0.0)


def _fed(wiring: Wiring, wire: Wire, high_v: float, ohm: float, amps: float) -> Finding:
    volts = rail_v(wire.line.asks, wiring.view)
    least = (high_v - CLAMP_V.low) / I_CLAMP_MAX_A * 1.1
    return found(
        "unpowered-chip",
        "caution" if high_v > wiring.view.board.logic_v + 0.3 else "note",  # a level of the board's own is rarely there without it
        wire,
        [
            f"{wire.line.part} runs at {show_quantity(volts, 'V')}, a supply of its own: it may be on while the board is off",
            f"{wire.line.id} then sends up to {show_quantity(amps, 'A')} through {show_quantity(ohm, 'Ω')} into {wire.place.name}; "
            f"a pin's diode should carry {show_quantity(I_CLAMP_MAX_A, 'A')} at most",
            "the chip wakes half way, resets badly, or is worn",
        ],
        f"Switch both supplies together, or put at least {show_quantity(float(f'{least:.2g}'), 'Ω')} in series.",
        {"current": f"{show_quantity(amps, 'A')} against {show_quantity(I_CLAMP_MAX_A, 'A')}"},
        [part_cite(wiring, wire)],
    )


def _part_off(wiring: Wiring) -> Iterator[Finding]:
    """The chip drives a part whose own supply is off: an output feeds the part through its input."""
    for wire in wiring.wires:
        asks = wire.line.asks
        is_input = asks.vih is not None and asks.load is None and asks.direction == "out" and asks.pull_fitted is None
        if not is_input or not _has_own_source(wiring, wire) or wire.circuit.elements:
            continue
        if asks.rest != "high" and asks.safe_level != "high":
            continue  # a line that rests low feeds nothing for long
        volts = rail_v(asks, wiring.view)
        amps = clamp_current_a(wiring.view.board.logic_v, OUTPUT_OHM)
        yield found(
            "unpowered-part",
            "note",
            wire,
            [
                f"{wire.line.part} runs at {show_quantity(volts, 'V')}, a supply of its own: it may be off while the board is on",
                f"{wire.line.id} rests high and can then feed the part through its input",
                f"up to {show_quantity(amps, 'A')} flow if that input has a diode to the part's supply",
            ],
            "Put 1 kΩ to 4.7 kΩ in series, or set the line low while the part's supply is off.",
            {},
            [part_cite(wiring, wire)],
        )


RULES: tuple[Rule, ...] = (
    Rule(
        "unpowered-chip",
        "a part with a supply of its own that feeds the chip through a pin while the board is off",
        "the chip starts badly or its pin wears out",
        PRACTICE + "; Kirchhoff",
        _chip_off,
    ),
    Rule(
        "unpowered-part",
        "a line that feeds a part whose own supply is off",
        "the part half works and does not reset",
        PRACTICE + "; Kirchhoff",
        _part_off,
    ),
)
