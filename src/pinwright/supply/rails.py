"""From the source to the logic rail: where the board is fed, through which regulators, and what each of them must carry."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pinwright.circuits.heat import junction_temperature
from pinwright.circuits.ranges import Range
from pinwright.circuits.regulators import converter_dissipation, converter_input_current, ldo_dissipation, ldo_headroom
from pinwright.facts.model import Board, BoardSupply, Regulator
from pinwright.fitting.source import Source
from pinwright.supply.budget import Consumer, Draw, total

__all__ = [
    "CLOSE_V",
    "LOGIC",
    "SOURCE",
    "Entry",
    "Stage",
    "behind_logic",
    "chain_of",
    "entry_of",
    "feeder",
    "side_stages",
    "source_draw",
    "stages_of",
]

CLOSE_V = 0.6
"""A part is fed by a rail whose voltage lies this near to its own (common practice, no source)."""
ABOVE = 1.06
"""A source's upper tolerance may pass the end of a pin's range by this factor where its nominal voltage lies within (our choice)."""
CELL_ABOVE = 1.02
"""The same for full cells, which really are at their highest voltage (our choice)."""
RAIL_ABOUT = 0.1
"""A source this near to the logic rail, as a share, may feed the rail itself (our choice: as far as levels are planned to hold)."""
LOGIC, SOURCE = "logic", "source"
"""Who feeds a part, beside the names of the rails between the two."""
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
    hottest surroundings (``None`` where its heat resistance is not known).  ``wire_drop_v``: lost in the wire before it.
    """

    regulator: Regulator
    v_in: Range
    draw: Draw
    headroom_v: float | None
    p_w: float
    junction_c: float | None
    wire_drop_v: float = 0.0

    @property
    def v_arrives_v(self) -> float:
        """Lowest voltage at the regulator itself: the source's, less the wire and the diode before it [V]."""
        return max(self.v_in.low - self.wire_drop_v - self.regulator.drop_v, 0.0)

    @property
    def junction_max_c(self) -> float:
        """Hottest it may get [°C]."""
        return self.regulator.t_junction_max_c or T_JUNCTION_MAX_C


def entry_of(board: Board, source: Source, wanted: str = "") -> Entry:
    """Supply pin the source goes to: the one the brief names, USB for a USB source, else the one whose range covers it best."""
    ways = [supply for supply in board.supply if supply.direction in ("in", "in/out")]
    named = next((supply for supply in ways if supply.pin.casefold() == wanted.casefold()), None) if wanted else None
    if named is not None and _covers(named, source):
        return Entry(named.pin, f"the brief feeds it at {named.pin}", named)
    if wanted:
        takes = f"{named.pin} takes {named.v_min_v or 0:g} to {named.v_max_v or 0:g} V" if named else f"it has no supply pin {wanted!r}"
        return Entry("", f"the source gives {source.v.low:.3g} to {source.v.high:.3g} V, {takes}", None)
    usb = next((supply for supply in ways if supply.pin.casefold() == "usb"), None)
    if source.is_usb and usb is not None:
        return Entry("USB", "the brief feeds it over USB", usb)
    fits = [s for s in ways if s is not usb and _covers(s, source) and not _past_the_regulator(s, source, board)]
    if not fits and usb is not None and not source.is_battery and _covers(usb, source):
        fits = [usb]  # a charger with a USB plug
    if fits:
        best = min(fits, key=lambda s: _unfit(s, source, board))
        return Entry(best.pin, f"{best.pin} takes {best.v_min_v or 0.0:g} to {best.v_max_v or source.v.high:g} V", best)
    offered = "; ".join(f"{s.pin} takes {s.v_min_v or 0:g} to {s.v_max_v or 0:g} V" for s in ways if s.v_max_v) or "it has no supply pin"
    return Entry("", f"the source gives {source.v.low:.3g} to {source.v.high:.3g} V, {offered}", None)


def _unfit(supply: BoardSupply, source: Source, board: Board) -> tuple[bool, float, float]:
    """How badly a pin suits: a battery leaves its range, its range is wider than need be, a diode stands behind it (as at USB's 5 V)."""
    chain = chain_of(board, supply.pin)
    leaves = source.is_battery and source.v.low < (supply.v_min_v or 0.0)
    return leaves, abs((supply.v_max_v or 0.0) - source.v.high), chain[0].drop_v if chain else 0.0


def _past_the_regulator(supply: BoardSupply, source: Source, board: Board) -> bool:
    """Whether a pin is the output of the board's regulator and the source's voltage another: the levels of the plan would not hold."""
    makes = any(r.gives.casefold() == supply.pin.casefold() and abs(r.v_out_v - board.logic_v) < 0.05 for r in board.regulator)
    return makes and abs(source.v.middle - board.logic_v) > RAIL_ABOUT * board.logic_v


def _covers(supply: BoardSupply, source: Source) -> bool:
    """Whether a pin works at the source's usual voltage (a battery runs down below) and stands its highest."""
    low, high, volts = supply.v_min_v or 0.0, supply.v_max_v or 0.0, source.v
    if source.is_battery:
        return volts.high <= high * CELL_ABOVE and volts.middle >= low * 0.98
    return low * 0.98 <= volts.middle <= high * (1 + 1e-9) and volts.high <= high * ABOVE


def feeder(consumer: Consumer, board: Board, source: Source, pin: str) -> str:
    """Who feeds a consumer of a board fed at a pin: ``logic``, ``source``, the rail of a regulator on the way, or nobody (empty)."""
    if consumer.rail == "logic":
        return LOGIC
    offers = [(board.logic_v, LOGIC), *((r.v_out_v, LOGIC) for r in behind_logic(board, pin))]
    offers += [(r.v_out_v, r.gives) for r in chain_of(board, pin)[:-1]]
    offers.append((source.v.middle, SOURCE))
    away, _, name = min((abs(consumer.volts - volts), at, name) for at, (volts, name) in enumerate(offers))
    return name if away <= CLOSE_V else ""


def stages_of(
    board: Board, entry: Entry, source: Source, consumers: Iterable[Consumer], ambient_c: float, wire_drop_v: float = 0.0
) -> list[Stage]:
    """Regulators between the entry and the logic rail, the one at the rail last."""
    chain = chain_of(board, entry.pin)
    found = list(consumers)
    stages: list[Stage] = []
    draw = _fed_by(LOGIC, found, board, source, entry.pin)
    for at in range(len(chain) - 1, -1, -1):
        regulator = chain[at]
        draw = draw + Draw(*(regulator.i_quiescent_a or 0.0,) * 3)
        v_in = source.v if at == 0 else Range.around(chain[at - 1].v_out_v, 0.05)
        stages.insert(0, _stage(regulator, v_in, draw, ambient_c, wire_drop_v if at == 0 else 0.0))
        draw = _input(regulator, v_in, draw)
        if at:
            draw = draw + _fed_by(chain[at - 1].gives, found, board, source, entry.pin)
    return stages


def source_draw(stages: list[Stage], consumers: Iterable[Consumer], source: Source, board: Board, entry: Entry) -> Draw:
    """What the source gives in each state: the first regulator's input, and everything that hangs on the source itself."""
    found = list(consumers)
    direct = _fed_by(SOURCE, found, board, source, entry.pin)
    if not stages:
        return _fed_by(LOGIC, found, board, source, entry.pin) + direct
    return _input(stages[0].regulator, stages[0].v_in, stages[0].draw) + direct


def side_stages(board: Board, entry: Entry, source: Source, consumers: Iterable[Consumer], ambient_c: float) -> list[Stage]:
    """Regulators beside the way to the logic rail that parts hang on: the 3.3 V of a 5 V board."""
    found = [c for c in consumers if c.rail != "logic" and feeder(c, board, source, entry.pin) == LOGIC]
    stages = []
    for regulator in behind_logic(board, entry.pin):
        draw = total(c for c in found if abs(c.volts - regulator.v_out_v) < min(CLOSE_V, abs(c.volts - board.logic_v)))
        if draw.burst > 0:
            draw = draw + Draw(*(regulator.i_quiescent_a or 0.0,) * 3)
            stages.append(_stage(regulator, Range.around(board.logic_v, 0.05), draw, ambient_c, 0.0))
    return stages


def _fed_by(name: str, found: list[Consumer], board: Board, source: Source, pin: str) -> Draw:
    return total(c for c in found if feeder(c, board, source, pin) == name)


def behind_logic(board: Board, pin: str) -> list[Regulator]:
    """Regulators that take from the logic rail of a board fed at a pin: the 3.3 V of a 5 V board."""
    if not pin:
        return []
    rails = {regulator.gives.casefold() for regulator in board.regulator if abs(regulator.v_out_v - board.logic_v) < 0.05}
    rails |= {
        s.pin.casefold() for s in board.supply if s.direction == "in/out" and (s.v_min_v or 0.0) <= board.logic_v <= (s.v_max_v or 0.0)
    }
    if not chain_of(board, pin):
        rails.add(pin.casefold())  # the source itself is the logic rail
    return [r for r in board.regulator if r.takes.casefold() in rails and abs(r.v_out_v - board.logic_v) >= CLOSE_V]


def chain_of(board: Board, pin: str) -> list[Regulator]:
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


def _stage(regulator: Regulator, v_in: Range, draw: Draw, ambient_c: float, wire_drop_v: float) -> Stage:
    after = Range(max(v_in.low - regulator.drop_v - wire_drop_v, 0.01), max(v_in.high - regulator.drop_v, 0.02))
    headroom = ldo_headroom(after.low, regulator.v_out_v, regulator.dropout_v) if regulator.dropout_v is not None else None
    if regulator.efficiency:
        p_w = converter_dissipation(regulator.v_out_v, draw.awake, min(regulator.efficiency, 0.999))
    else:
        p_w = ldo_dissipation(max(after.high, regulator.v_out_v), regulator.v_out_v, draw.awake, regulator.i_quiescent_a or 0.0)
    hot = junction_temperature(p_w, regulator.theta_k_per_w, ambient_c) if regulator.theta_k_per_w else None
    return Stage(regulator, v_in, draw, headroom, p_w, hot, wire_drop_v)


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
