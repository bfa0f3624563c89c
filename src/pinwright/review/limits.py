"""Does a pin or a part see more than it may?  Absolute limits against everything that lifts the wire."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.quantities import show_quantity
from pinwright.review.common import found, has, level_v, part_cite, pins
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.volts import CLOSE_V, bus_highs, divider_in, highest_pin_v, is_open, leads_to_v, presented_v, pulled_to_v

__all__ = ["RULES"]


# ------------------------------------------------------------------------------ too much for a pin


def _over_pin(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for place, wires in pins(wiring):
        limit = highest_pin_v(view, place, wires)
        for wire in wires:
            if wire.line.asks.direction == "in" and not has(wire.circuit, "level shifter") and not place.fitted("divider"):
                yield from _in_over(wiring, wire, limit)
        open_wires = [wire for wire in wires if is_open(wire.line.asks)]
        over = [(volts, whose) for volts, whose in bus_highs(open_wires, view) if volts > limit + CLOSE_V]
        if over:
            volts, whose = max(over)
            yield _too_much(
                wiring,
                open_wires[0],
                volts,
                limit,
                f"{whose} lifts the wire to {volts:.2f} V",
                "Put a two-way level shifter between, or feed the part with the board's own voltage.",
            )
        for wire in wires:
            if wire.line.asks.direction == "out":
                yield from _out_pulled_over(wiring, wire, limit)


def _in_over(wiring: Wiring, wire: Wire, limit: float) -> Iterator[Finding]:
    volts = presented_v(wire, wiring.view)
    if volts is None or volts <= limit + CLOSE_V:
        return
    if has(wire.circuit, "divider"):
        divider = divider_in(wiring, wire)
        if divider is None or (out := divider.highest_v(volts)) <= limit:
            return
        fact = f"{wire.line.id} reaches {volts:.2f} V, its divider lets {out:.2f} V through"
        yield _too_much(wiring, wire, out, limit, fact, "Take a larger upper resistor.")
        return
    yield _too_much(wiring, wire, volts, limit, f"{wire.line.id} reaches {volts:.2f} V", "Put a divider or a level shifter between.")


def _too_much(wiring: Wiring, wire: Wire, volts: float, limit: float, fact: str, fix: str) -> Finding:
    electrical = wiring.view.chip.electrical
    numbers = {"over the limit": f"{volts - limit:.2f} V above the most the pin may see ({volts:.2f} V against {limit:.2f} V)"}
    return found(
        "level-over-pin",
        "refuse",
        wire,
        [fact, f"{wire.place.name} may see {limit:.2f} V at most", "the pin, and with it the chip, can be damaged at once or slowly"],
        fix,
        numbers,
        [wiring.view.chip_cite(electrical.vin_max), part_cite(wiring, wire, "v_max", "voh")],
    )


def _out_pulled_over(wiring: Wiring, wire: Wire, limit: float) -> Iterator[Finding]:
    """A pull-up to a higher rail on a line the board drives: current through the pin's protection."""
    asks, view = wire.line.asks, wiring.view
    if has(wire.circuit, "level shifter", "driver"):
        return
    fitted = asks.pull_fitted if asks.pull_fitted and asks.pull_fitted.direction == "up" else None
    bought = next((e for e in wire.circuit.elements if e.kind == "pull-up" and leads_to_v(e, asks, view) != view.board.logic_v), None)
    volts = pulled_to_v(asks, view) if fitted else leads_to_v(bought, asks, view) if bought else 0.0
    if volts <= limit + CLOSE_V:
        return
    ohm = (fitted.ohm if fitted else bought.ohm if bought else None) or 10e3
    leak = (volts - limit) / ohm
    numbers = {"current": f"{show_quantity(leak, 'A')} through {show_quantity(ohm, 'Ω')} from {volts:.2f} V", "limit": f"{limit:.2f} V"}
    yield found(
        "level-pulled-over",
        "caution",
        wire,
        [
            f"a pull-up lifts {wire.line.id} to {volts:.2f} V while the pin floats",
            f"{wire.place.name} may see {limit:.2f} V at most",
            "a small current flows through the pin's protection",
        ],
        "Pull it up to the board's own voltage, or put a level shifter between.",
        numbers,
        [view.chip_cite(view.chip.electrical.vin_max), part_cite(wiring, wire)],
    )


# ------------------------------------------------------------------------------ too much for a part


def _over_part(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for _, wires in pins(wiring):
        highs = bus_highs([wire for wire in wires if is_open(wire.line.asks)], view)
        for wire in wires:
            asks = wire.line.asks
            if asks.v_max is None or not asks.drives or has(wire.circuit, "level shifter", "divider", "driver"):
                continue
            limit = level_v(asks.v_max, asks, view)
            volts, whose = max(highs, default=(0.0, "")) if is_open(asks) else (view.board.logic_v, "the board")
            if volts <= limit + CLOSE_V:
                continue
            numbers = {"over the limit": f"{volts - limit:.2f} V above the most the part may see ({volts:.2f} V against {limit:.2f} V)"}
            yield found(
                "level-over-part",
                "caution" if is_open(asks) else "refuse",
                wire,
                [
                    f"{whose} lifts {wire.line.id} to {volts:.2f} V",
                    f"the part takes {limit:.2f} V at most",
                    "its input can be damaged at once or slowly",
                ],
                "Put a level shifter between, or take a board that works at the part's voltage.",
                numbers,
                [part_cite(wiring, wire, "v_max")],
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "level-over-pin",
        "more on a pin than it may see (also level-pulled-over)",
        "the chip is damaged",
        "absolute maximum of the chip, the part's levels",
        _over_pin,
    ),
    Rule(
        "level-over-part",
        "more on a part's input than it may see",
        "the part is damaged",
        "absolute maximum of the part",
        _over_part,
    ),
)
