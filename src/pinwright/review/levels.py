"""Do the levels on each wire reach the thresholds at the other end?

Margins: high = VOH - VIH, low = VIL - VOL   [JESD8C.01, from memory].  A guaranteed level is given at its full rated
current; a light load lets a driver come close to its supply, so a shortfall that a light load explains is a caution.
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.levels import margin_high, margin_low
from pinwright.facts.model import Level
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView
from pinwright.quantities import show_quantity
from pinwright.review.common import found, has, level_v, part_cite, part_line, pins, rail_v
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.volts import CLOSE_V, bus_highs, divider_in, is_open, presented_v

__all__ = ["RULES"]


_UNLOADED_SHARE = 0.95
"""High of an output without load, as a share of the board's voltage: 3 % for the supply, 2 % for the output (usual, no source)."""


_LOW_SUPPLY = 0.03
"""So far below its usual voltage a board's supply may stand, as a share of it (common practice, no source)."""


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
    best = presented_v(wire, view)
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
    if sure >= needed - CLOSE_V:
        return
    refused = best < needed - CLOSE_V
    margin = margin_high(best if refused else sure, needed)
    have = best if refused else sure
    numbers = {"high": f"{-margin:.2f} V below VIH ({have:.2f} V against {needed:.2f} V)"}
    effect = (
        "the board never surely reads a high"
        if refused
        else "a high is not guaranteed; with a light load it mostly works, another copy of the part may fail"
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
    if margin >= -CLOSE_V:
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
        highs = bus_highs([wire for wire in wires if is_open(wire.line.asks)], view)
        for wire in wires:
            asks = wire.line.asks
            if not asks.drives or asks.direction == "analog-out" or has(wire.circuit, "level shifter", "driver"):
                continue
            if is_open(asks):
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
        if level is not None and volts < needed - CLOSE_V:
            yield found(
                "level-on-bus",
                "refuse",
                wire,
                [f"the wire rests at {volts:.2f} V", f"{who} wants {needed:.2f} V for a high", "a high is never surely read"],
                "Put a two-way level shifter between, or feed both ends with the same voltage.",
                {"high": f"{needed - volts:.2f} V below VIH ({volts:.2f} V against {needed:.2f} V)"},
                [cite],
            )


def _estimated_high_v(asks: Asks, view: BoardView) -> float:
    """High [V] at the load's own current: the output's drop shrinks with the current (ohmic output, common practice, no source).

    The drop is that at the current at which the level is promised, or at the pin's rating where nobody says.
    """
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    promised = electrical.voh_i_a.value if electrical.voh_i_a is not None else None
    rated = promised or electrical.i_pin_source_max_a.value or electrical.i_pin_source_max_a.min or asks.i_in_a
    share = min(asks.i_in_a / rated, 1.0) if rated else 0.0
    level, usual = electrical.voh_min, electrical.vdd_typ_v.value
    drop = logic_v - level.at(logic_v) if level.frac or not usual else usual - level.v  # plain volts hold at the usual supply
    return logic_v - drop * share


def _estimated_low_v(asks: Asks, view: BoardView) -> float:
    """The same for a low; only a load that hangs on the supply drives a current into a low pin."""
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    rated = electrical.i_pin_sink_max_a.value or electrical.i_pin_sink_max_a.min or asks.i_in_a
    current = asks.i_in_a if asks.safe_level == "high" else 0.0
    return electrical.vol_max.at(logic_v) * (min(current / rated, 1.0) if rated else 0.0)


def _high_into_part(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    if asks.vih is None:
        yield from _unknown(wiring, wire)
        return
    needed, sure = level_v(asks.vih, asks, view), view.chip.electrical.voh_min.at(view.board.logic_v)
    margin = margin_high(sure, needed)
    if margin >= -CLOSE_V:
        return
    light = _estimated_high_v(asks, view) >= needed - CLOSE_V
    surely = _estimated_high_v(asks, view) - _LOW_SUPPLY * view.board.logic_v >= needed
    unloaded = not asks.i_in_a and needed <= _UNLOADED_SHARE * view.board.logic_v
    near = "a high is not guaranteed, though a pin with so light a load comes close to the board's voltage"
    if unloaded:
        near = f"the input draws nothing, so the pin stands at the board's voltage, {view.board.logic_v - needed:.2f} V above that"
    yield found(
        "level-into-part",
        "note" if unloaded or surely else "caution" if light else "refuse",
        wire,
        [
            f"{wire.place.name} gives a guaranteed high of {sure:.2f} V (the board runs at {view.board.logic_v:.2f} V)",
            f"{wire.line.id} wants {needed:.2f} V{_said_of_high(wiring, wire)}",
            near if light else "the part does not surely see a high",
        ],
        _way_up(needed, unloaded or surely),
        {"high": f"{-margin:.2f} V below VIH ({sure:.2f} V against {needed:.2f} V)"},
        [view.chip_cite(view.chip.electrical.voh_min), part_cite(wiring, wire, "vih")],
    )


_HIGHEST_SHIFTED_V = 5.5
"""Highest voltage an ordinary logic shifter gives (common practice, no source)."""


def _way_up(needed_v: float, unloaded: bool) -> str:
    """What to do about a high that is too low."""
    if needed_v > _HIGHEST_SHIFTED_V:
        return (
            "Take a part made for the board's voltage (a transistor whose on-resistance is promised at it), or put a gate driver between."
        )
    return "Keep the wire short and add nothing that loads it." if unloaded else "Put a level shifter or a transistor between."


def _said_of_high(wiring: Wiring, wire: Wire) -> str:
    """What the catalogue says of the part's threshold, and that a line which is off at high stays on below it."""
    line = part_line(wiring, wire)
    said = f" ({line.vih.cond})" if line is not None and line.vih is not None and line.vih.cond else ""
    if wire.line.asks.safe_level != "high":
        return said
    return f"{said}: below that it may never switch off, fed with {show_quantity(rail_v(wire.line.asks, wiring.view), 'V')}"


def _low_into_part(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    asks, view = wire.line.asks, wiring.view
    if asks.vil is None:
        return
    allowed, sure = level_v(asks.vil, asks, view), view.chip.electrical.vol_max.at(view.board.logic_v)
    margin, estimated = margin_low(sure, allowed), _estimated_low_v(asks, view)
    if margin >= -CLOSE_V or (estimated == 0.0 and allowed > 0):
        return  # guaranteed, or no current flows that could lift the low
    refused = estimated > allowed
    yield found(
        "level-into-part",
        "refuse" if refused else "caution",
        wire,
        [f"{wire.place.name} promises a low of {sure:.2f} V", f"{wire.line.id} reads low up to {allowed:.2f} V", "a low is not guaranteed"],
        "Put a buffer or a transistor between.",
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
