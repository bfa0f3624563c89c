"""Do the levels on each wire fit both ends?  Pins that see too much, parts that see too much, levels nobody reads surely.

Margins: high = VOH - VIH, low = VIL - VOL   [JESD8C.01, from memory].  A guaranteed level is given at its full rated
current; a light load lets a driver come close to its supply, so a shortfall that a light load explains is a caution.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.circuits.levels import divided, margin_high, margin_low
from pinwright.facts.model import Level
from pinwright.fitting.interface import Element
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import QuantityError, parse_quantity, show_quantity
from pinwright.review.common import found, has, level_v, part_cite, part_line, pins, rail_v
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES", "Divider", "divider_in", "highest_pin_v", "pulled_to_v"]

RESISTOR_TOLERANCE = 0.05
"""Spread of the resistors of a divider (E24 series, common practice, no source)."""
_CLOSE_V = 1e-6


# ------------------------------------------------------------------------------ dividers


@dataclass(frozen=True, slots=True)
class Divider:
    """Two resistors, with what the source behind them adds on top [ohm]."""

    top_ohm: float
    bottom_ohm: float
    source_ohm: float = 0.0

    def highest_v(self, v_in_v: float) -> float:
        """Output [V] with the worst tolerances upwards and a source without resistance."""
        return divided(v_in_v, self.top_ohm * (1 - RESISTOR_TOLERANCE), self.bottom_ohm * (1 + RESISTOR_TOLERANCE))

    def usual_v(self, v_in_v: float) -> float:
        """Output [V] with nominal values, the source's resistance included."""
        return divided(v_in_v, self.top_ohm + self.source_ohm, self.bottom_ohm)

    def lowest_v(self, v_in_v: float) -> float:
        """Output [V] with the worst tolerances downwards, the source's resistance included."""
        return divided(v_in_v, self.top_ohm * (1 + RESISTOR_TOLERANCE) + self.source_ohm, self.bottom_ohm * (1 - RESISTOR_TOLERANCE))


def divider_in(wiring: Wiring, wire: Wire) -> Divider | None:
    """The divider of a wire's circuit, or ``None`` when there is none or its values are not known."""
    element = next((element for element in wire.circuit.elements if element.kind == "divider"), None)
    bottom = _bottom_ohm(element) if element else None
    if element is None or element.ohm is None or bottom is None:
        return None
    return Divider(element.ohm, bottom, _source_ohm(wiring, wire))


def _bottom_ohm(element: Element) -> float | None:
    match = re.search(r" over (.+)$", element.words)
    try:
        return parse_quantity(match[1], "ohm") if match else None
    except QuantityError:
        return None


def _source_ohm(wiring: Wiring, wire: Wire) -> float:
    """Resistance the part adds in series when it stands high: the pull it rests on, or its own output."""
    fitted = wire.line.asks.pull_fitted
    if wire.line.asks.voh is None and fitted and fitted.direction == "up":
        return fitted.ohm or 10e3
    line = part_line(wiring, wire)
    return line.r_in_ohm or 0.0 if line and wire.line.asks.direction in ("in", "analog-in") else 0.0


# ------------------------------------------------------------------------------ voltages on a wire


def highest_pin_v(view: BoardView, place: Place) -> float:
    """Highest voltage [V] the pin may see; a pin that also measures is never 5 V tolerant."""
    electrical = view.chip.electrical
    if electrical.tolerates_5v and place.pad.adc is None:
        return 5.5
    return electrical.vin_max.at(view.board.logic_v)


def pulled_to_v(asks: Asks, view: BoardView) -> float:
    """Voltage [V] a pull-up inside the part leads to.

    Where nobody names it: the part's supply, but not more than the part's own lines may see (its module then has a regulator).
    """
    fitted = asks.pull_fitted
    if fitted and (match := re.fullmatch(r"([\d.]+) ?V", fitted.to)):
        return float(match[1])
    rail = rail_v(asks, view)
    if fitted and not fitted.to and asks.v_max is not None:
        return min(rail, level_v(asks.v_max, asks, view))
    return rail


def _bus_highs(wires: list[Wire], view: BoardView) -> list[tuple[float, str]]:
    """Voltages the pull-ups on a shared wire lead to, with whose they are."""
    highs = []
    for wire in wires:
        asks = wire.line.asks
        if has(wire.circuit, "level shifter"):
            continue
        if asks.pull_fitted and asks.pull_fitted.direction == "up":
            highs.append((pulled_to_v(asks, view), f"the pull-up in {wire.line.part}"))
        for element in wire.circuit.elements:
            if element.kind == "pull-up":
                to_part = "part's supply" in element.words
                highs.append((rail_v(asks, view) if to_part else view.board.logic_v, "the pull-up you fit"))
    return highs


def _presented(wire: Wire, view: BoardView) -> float | None:
    """Highest voltage [V] the part itself puts on a line the board only listens to; ``None`` where nobody says."""
    asks = wire.line.asks
    highs = [level_v(level, asks, view) for level in (asks.v_max, asks.voh) if level is not None]
    fitted = asks.pull_fitted is not None and asks.pull_fitted.direction == "up"
    if asks.voh is None and not fitted and asks.needs.pull == "up":
        return None  # it only pulls low: the high comes from the pull-up on the board's side
    if asks.voh is None and fitted:
        return pulled_to_v(asks, view)
    return max(highs, default=None)


def _is_open(asks: Asks) -> bool:
    return asks.direction in ("open-drain", "bidir")


# ------------------------------------------------------------------------------ too much for a pin


def _over_pin(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for place, wires in pins(wiring):
        limit = highest_pin_v(view, place)
        for wire in wires:
            if wire.line.asks.direction == "in" and not has(wire.circuit, "level shifter") and not place.fitted("divider"):
                yield from _in_over(wiring, wire, limit)
        open_wires = [wire for wire in wires if _is_open(wire.line.asks)]
        over = [(volts, whose) for volts, whose in _bus_highs(open_wires, view) if volts > limit + _CLOSE_V]
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
    volts = _presented(wire, wiring.view)
    if volts is None or volts <= limit + _CLOSE_V:
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
    bought = next((element for element in wire.circuit.elements if element.kind == "pull-up" and "part's supply" in element.words), None)
    volts = pulled_to_v(asks, view) if fitted else rail_v(asks, view) if bought else 0.0
    if volts <= limit + _CLOSE_V:
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
        highs = _bus_highs([wire for wire in wires if _is_open(wire.line.asks)], view)
        for wire in wires:
            asks = wire.line.asks
            if asks.v_max is None or not asks.drives or has(wire.circuit, "level shifter", "divider", "driver"):
                continue
            limit = level_v(asks.v_max, asks, view)
            volts, whose = max(highs, default=(0.0, "")) if _is_open(asks) else (view.board.logic_v, "the board")
            if volts <= limit + _CLOSE_V:
                continue
            numbers = {"over the limit": f"{volts - limit:.2f} V above the most the part may see ({volts:.2f} V against {limit:.2f} V)"}
            yield found(
                "level-over-part",
                "caution" if _is_open(asks) else "refuse",
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


# ------------------------------------------------------------------------------ levels the board reads


def _into_pin(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks = wire.line.asks
        if asks.direction != "in" or asks.signal in ("analog", "touch") or has(wire.circuit, "level shifter") or wire.place.pad.analog_only:
            continue
        yield from _high_into_pin(wiring, wire)
        yield from _low_into_pin(wiring, wire)


def _high_into_pin(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    best = _presented(wire, view)
    if best is None:
        return
    sure = level_v(asks.voh, asks, view) if asks.voh else best
    needed = view.chip.electrical.vih_min.at(view.board.logic_v)
    divider, through = divider_in(wiring, wire), ""
    if has(wire.circuit, "divider"):
        if divider is None:
            return
        best, sure, through = divider.usual_v(best), divider.lowest_v(sure), " behind its divider"
        if divider.source_ohm:
            through += f" and the {show_quantity(divider.source_ohm, 'Ω')} in the part"
    if sure >= needed - _CLOSE_V:
        return
    refused = best < needed - _CLOSE_V
    margin = margin_high(best if refused else sure, needed)
    have = best if refused else sure
    numbers = {"high": f"{-margin:.2f} V below VIH ({have:.2f} V against {needed:.2f} V)"}
    effect = (
        "the board never surely reads a high"
        if refused
        else "a high is not guaranteed; it usually works with a light load, and fails on a cold day or with another copy of the part"
    )
    fix = "Put a level shifter between." if not through else "Use a level shifter in place of the divider."
    yield found(
        "level-into-pin",
        "refuse" if refused else "caution",
        wire,
        [
            f"{wire.line.id} reaches {'only ' if refused else 'a guaranteed '}{have:.2f} V{through}",
            f"{wire.place.name} wants {needed:.2f} V for a high",
            effect,
        ],
        fix,
        numbers,
        [part_cite(wiring, wire, "voh", "v_max"), view.chip_cite(view.chip.electrical.vih_min)],
    )


def _low_into_pin(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    if asks.vol is None:
        return
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    low, allowed = level_v(asks.vol, asks, view), electrical.vil_max.at(logic_v)
    if (divider := divider_in(wiring, wire)) is not None:
        low = divider.highest_v(low)
    margin = margin_low(low, allowed)
    if margin >= -_CLOSE_V:
        return
    refused = low >= electrical.vih_min.at(logic_v)
    yield found(
        "level-into-pin",
        "refuse" if refused else "caution",
        wire,
        [f"{wire.line.id} promises a low of {low:.2f} V", f"{wire.place.name} reads low up to {allowed:.2f} V", "a low is not guaranteed"],
        "Put a level shifter or buffer between.",
        {"low": f"{-margin:.2f} V above VIL ({low:.2f} V against {allowed:.2f} V)"},
        [part_cite(wiring, wire, "vol"), view.chip_cite(electrical.vil_max)],
    )


# ------------------------------------------------------------------------------ levels the part reads


def _into_part(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for _, wires in pins(wiring):
        highs = _bus_highs([wire for wire in wires if _is_open(wire.line.asks)], view)
        for wire in wires:
            asks = wire.line.asks
            if not asks.drives or asks.direction == "analog-out" or has(wire.circuit, "level shifter", "driver"):
                continue
            if _is_open(asks):
                yield from _bus_high(wiring, wire, highs)
            else:
                yield from _high_into_part(wiring, wire)
                yield from _low_into_part(wiring, wire)


def _bus_high(wiring: Wiring, wire: Wire, highs: list[tuple[float, str]]) -> Iterator[Finding]:
    """The pull-ups make the high; both ends must read it."""
    if not highs:
        return
    asks, view = wire.line.asks, wiring.view
    volts, _ = min(highs)
    ends: list[tuple[str, Level | None, float, str]] = [
        ("the part", asks.vih, level_v(asks.vih, asks, view) if asks.vih else 0.0, part_cite(wiring, wire, "vih")),
        (
            wire.place.name,
            view.chip.electrical.vih_min,
            view.chip.electrical.vih_min.at(view.board.logic_v),
            view.chip_cite(view.chip.electrical.vih_min),
        ),
    ]
    for who, level, needed, cite in ends:
        if level is not None and volts < needed - _CLOSE_V:
            yield found(
                "level-on-bus",
                "refuse",
                wire,
                [f"the wire rests at {volts:.2f} V", f"{who} wants {needed:.2f} V for a high", "a high is never surely read"],
                "Put a two-way level shifter between, or feed both ends with the same voltage.",
                {"high": f"{needed - volts:.2f} V below VIH ({volts:.2f} V against {needed:.2f} V)"},
                [cite],
            )


def _is_light(asks: Asks, view: BoardView) -> bool:
    """Whether the load is light against the current at which the pin's levels are guaranteed."""
    rated = view.chip.electrical.i_pin_source_max_a
    return asks.i_in_a <= (rated.value or rated.min or 0.0) / 4


def _high_into_part(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    if asks.vih is None:
        yield from _unknown(wiring, wire)
        return
    needed, sure = level_v(asks.vih, asks, view), view.chip.electrical.voh_min.at(view.board.logic_v)
    margin = margin_high(sure, needed)
    if margin >= -_CLOSE_V:
        return
    light = needed <= view.board.logic_v + _CLOSE_V and _is_light(asks, view)
    effect = (
        "a high is not guaranteed, though a pin with so light a load comes close to the board's voltage"
        if light
        else "the part does not surely see a high"
    )
    yield found(
        "level-into-part",
        "caution" if light else "refuse",
        wire,
        [
            f"{wire.place.name} gives a guaranteed high of {sure:.2f} V (the board runs at {view.board.logic_v:.2f} V)",
            f"{wire.line.id} wants {needed:.2f} V",
            effect,
        ],
        "Put a level shifter or a transistor between.",
        {"high": f"{-margin:.2f} V below VIH ({sure:.2f} V against {needed:.2f} V)"},
        [view.chip_cite(view.chip.electrical.voh_min), part_cite(wiring, wire, "vih")],
    )


def _low_into_part(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    if asks.vil is None:
        return
    allowed, sure = level_v(asks.vil, asks, view), view.chip.electrical.vol_max.at(view.board.logic_v)
    margin = margin_low(sure, allowed)
    if margin >= -_CLOSE_V:
        return
    light = allowed > 0 and _is_light(asks, view)
    yield found(
        "level-into-part",
        "caution" if light else "refuse",
        wire,
        [
            f"{wire.place.name} promises a low of {sure:.2f} V",
            f"{wire.line.id} reads low up to {allowed:.2f} V",
            "a low is not guaranteed" + (", though a pin with so light a load comes close to 0 V" if light else ""),
        ],
        "Put a buffer between, or measure the low at the part.",
        {"low": f"{-margin:.2f} V above VIL ({sure:.2f} V against {allowed:.2f} V)"},
        [view.chip_cite(view.chip.electrical.vol_max), part_cite(wiring, wire, "vil")],
    )


def _unknown(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    """Nobody gives the part's threshold: worth a word only where the rails differ and the line is a voltage, not a current."""
    asks, view = wire.line.asks, wiring.view
    rail = rail_v(asks, view)
    if asks.needs.driver or asks.needs.driver_components or asks.needs.series_ohm or not 4.5 <= rail <= 5.5 or view.board.logic_v > 4.0:
        return
    yield found(
        "level-unknown",
        "note",
        wire,
        [
            f"{wire.line.part} runs at {rail:.2f} V, the board at {view.board.logic_v:.2f} V",
            f"nobody says from what voltage {wire.line.id} reads a high",
            "most parts of this kind read it, some do not",
        ],
        "If the part reacts unreliably, put a level shifter between.",
        {"board": f"{view.board.logic_v:.2f} V", "part": f"{rail:.2f} V"},
        [part_cite(wiring, wire)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "level-over-pin",
        "more on a pin than it may see (also level-pulled-over)",
        "the chip is damaged",
        "absolute maximum of the chip, the part's levels",
        _over_pin,
    ),
    Rule("level-over-part", "more on a part's input than it may see", "the part is damaged", "absolute maximum of the part", _over_part),
    Rule(
        "level-into-pin",
        "a part's levels against the thresholds of the pin",
        "a level is not surely read",
        "JESD8C.01 (from memory); chip and part data",
        _into_pin,
    ),
    Rule(
        "level-into-part",
        "the pin's levels against the thresholds of the part (also level-on-bus, level-unknown)",
        "a level is not surely read",
        "JESD8C.01 (from memory); chip and part data",
        _into_part,
    ),
)
