"""From the source to the logic rail: where the board is fed, through which regulators, and what each of them must carry."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pinwright.circuits.heat import junction_temperature
from pinwright.circuits.ranges import Range
from pinwright.circuits.regulators import converter_dissipation, converter_input_current, ldo_dissipation, ldo_headroom
from pinwright.facts.model import Board, BoardSupply, Regulator
from pinwright.supply.budget import Consumer, Draw, total
from pinwright.supply.source import Source

__all__ = ["Entry", "Stage", "behind_logic", "entry_of", "source_draw", "stages_of"]

CLOSE_V = 0.3
"""A rail counts as a voltage if it lies this near (common practice, no source)."""
T_JUNCTION_MAX_C = 125.0
"""Hottest junction of a regulator nobody gives a figure for [°C] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Where the source meets the board: a supply pin or the socket, or ``None`` with the reason nothing fits."""

    pin: str
    because: str
    supply: BoardSupply | None


@dataclass(frozen=True, slots=True)
class Stage:
    """A regulator at work: input [V], output current in each state [A], what it lacks of headroom, its heat.

    ``headroom_v`` at the lowest input in a burst (``None`` where its dropout is not known); ``junction_c`` awake, at the
    hottest surroundings (``None`` where its heat resistance is not known).
    """

    regulator: Regulator
    v_in: Range
    draw: Draw
    headroom_v: float | None
    p_w: float
    junction_c: float | None

    @property
    def junction_max_c(self) -> float:
        """Hottest it may get [°C]."""
        return self.regulator.t_junction_max_c or T_JUNCTION_MAX_C


def entry_of(board: Board, source: Source, wanted: str = "") -> Entry:
    """Supply pin the source goes to: the one the brief names, USB for a USB source, else the one whose range covers it best."""
    ways = [supply for supply in board.supply if supply.direction in ("in", "in/out")]
    named = next((supply for supply in ways if supply.pin.casefold() == wanted.casefold()), None) if wanted else None
    if named is not None and _covers(named, source.v):
        return Entry(named.pin, f"the brief feeds it at {named.pin}", named)
    if wanted:
        takes = f"{named.pin} takes {named.v_min_v or 0:g} to {named.v_max_v or 0:g} V" if named else f"it has no supply pin {wanted!r}"
        return Entry("", f"the source gives {source.v.low:.3g} to {source.v.high:.3g} V, {takes}", None)
    usb = next((supply for supply in ways if supply.pin.casefold() == "usb"), None)
    if source.kind == "usb" and usb is not None:
        return Entry("USB", "the brief feeds it over USB", usb)
    fits = [s for s in ways if s.pin.casefold() != "usb" and _covers(s, source.v)]
    if fits:
        best = min(fits, key=lambda s: abs((s.v_max_v or source.v.high) - source.v.high))
        low, high = best.v_min_v or 0.0, best.v_max_v or source.v.high
        return Entry(best.pin, f"{best.pin} takes {low:g} to {high:g} V", best)
    offered = "; ".join(f"{s.pin} takes {s.v_min_v or 0:g} to {s.v_max_v or 0:g} V" for s in ways if s.v_max_v) or "it has no supply pin"
    return Entry("", f"the source gives {source.v.low:.3g} to {source.v.high:.3g} V, {offered}", None)


def _covers(supply: BoardSupply, volts: Range) -> bool:
    """Whether a pin stands the source's highest voltage and works at its usual one (a battery runs down below)."""
    low, high = supply.v_min_v or 0.0, supply.v_max_v or 0.0
    return volts.high <= high * 1.02 and volts.middle >= low * 0.98


def stages_of(
    board: Board, entry: Entry, source: Source, consumers: Iterable[Consumer], ambient_c: float, wire_drop_v: float = 0.0
) -> list[Stage]:
    """Regulators between the entry and the logic rail, the one at the rail last."""
    chain = _chain(board, entry.pin)
    found = list(consumers)
    draw = _logic_draw(board, found)
    stages: list[Stage] = []
    for regulator in reversed(chain):
        draw = draw + Draw(*(regulator.i_quiescent_a or 0.0,) * 3)
        first = regulator is chain[0]
        v_in = source.v if first else Range.around(_middle_v(chain, regulator), 0.05)
        stages.insert(0, _stage(regulator, v_in, draw, ambient_c, wire_drop_v if first else 0.0))
        draw = _input(regulator, v_in, draw)
        if not first:
            draw = draw + total(c for c in found if c.rail != "logic" and abs(c.volts - v_in.middle) < CLOSE_V)
    return stages


def source_draw(stages: list[Stage], consumers: Iterable[Consumer], source: Source, board: Board) -> Draw:
    """What the source gives in each state: the first regulator's input, and everything that hangs on the source itself."""
    found = list(consumers)
    on_source = [c for c in found if c.rail != "logic" and abs(c.volts - source.v.middle) < CLOSE_V]
    if not stages:
        return _logic_draw(board, found) + total(c for c in on_source if abs(c.volts - board.logic_v) >= CLOSE_V)
    fed_by_stage = [s.v_in.middle for s in stages[1:]]
    direct = [c for c in on_source if all(abs(c.volts - v) >= CLOSE_V for v in fed_by_stage)]
    return _input(stages[0].regulator, stages[0].v_in, stages[0].draw) + total(direct)


def behind_logic(board: Board) -> list[Regulator]:
    """Regulators that take from the logic rail: the 3.3 V of a 5 V board."""
    rails = {regulator.gives.casefold() for regulator in board.regulator if abs(regulator.v_out_v - board.logic_v) < 0.05}
    rails |= {
        s.pin.casefold() for s in board.supply if s.direction == "in/out" and (s.v_min_v or 0.0) <= board.logic_v <= (s.v_max_v or 0.0)
    }
    return [r for r in board.regulator if r.takes.casefold() in rails and abs(r.v_out_v - board.logic_v) >= CLOSE_V]


def _logic_draw(board: Board, found: list[Consumer]) -> Draw:
    """What the logic rail gives: its own consumers, and those behind a linear regulator that takes from it."""
    behind = [regulator.v_out_v for regulator in behind_logic(board)]
    return total(c for c in found if c.rail == "logic" or any(abs(c.volts - v) < CLOSE_V for v in behind))


def _chain(board: Board, pin: str) -> list[Regulator]:
    """Regulators from a pin to the logic rail, shortest way first."""
    queue: list[tuple[str, list[Regulator]]] = [(pin, [])]
    seen = {pin.casefold()}
    while queue:
        at, path = queue.pop(0)
        for regulator in board.regulator:
            if regulator.takes.casefold() != at.casefold() or regulator.gives.casefold() in seen:
                continue
            if abs(regulator.v_out_v - board.logic_v) < 0.05:
                return [*path, regulator]
            seen.add(regulator.gives.casefold())
            queue.append((regulator.gives, [*path, regulator]))
    return []


def _middle_v(chain: list[Regulator], regulator: Regulator) -> float:
    return chain[chain.index(regulator) - 1].v_out_v


def _stage(regulator: Regulator, v_in: Range, draw: Draw, ambient_c: float, wire_drop_v: float) -> Stage:
    after = Range(max(v_in.low - regulator.drop_v - wire_drop_v, 0.01), max(v_in.high - regulator.drop_v, 0.02))
    headroom = ldo_headroom(after.low, regulator.v_out_v, regulator.dropout_v) if regulator.dropout_v is not None else None
    if regulator.efficiency:
        p_w = converter_dissipation(regulator.v_out_v, draw.awake, min(regulator.efficiency, 0.999))
    else:
        p_w = ldo_dissipation(max(after.high, regulator.v_out_v), regulator.v_out_v, draw.awake, regulator.i_quiescent_a or 0.0)
    hot = junction_temperature(p_w, regulator.theta_k_per_w, ambient_c) if regulator.theta_k_per_w else None
    return Stage(regulator, v_in, draw, headroom, p_w, hot)


def _input(regulator: Regulator, v_in: Range, draw: Draw) -> Draw:
    """What a regulator takes for what it gives (its own current is in ``draw`` already)."""
    if not regulator.efficiency:
        return draw
    return Draw(
        *(
            converter_input_current(max(v_in.low, 0.1), regulator.v_out_v, amps, min(regulator.efficiency, 0.999)) if amps else 0.0
            for amps in (draw.asleep, draw.awake, draw.burst)
        )
    )
