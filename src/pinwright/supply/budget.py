"""What every consumer takes from its rail, asleep, awake and in a burst.

*asleep*: the chip in its deepest sleep, parts idle; *awake*: everything at work, the radio listening; *burst*: the radio
sending and every part at its peak at once.  Worst figures where they are known, usual ones where not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pinwright.brief.model import BriefPart
from pinwright.facts.model import Fact, Load, Part, StateCurrent
from pinwright.fitting.interface import pin_current_max
from pinwright.fitting.lines import Device, Line
from pinwright.fitting.places import BoardView
from pinwright.fitting.rank import Job
from pinwright.review.model import Wire, Wiring

__all__ = ["CHIP_WORDS", "Consumer", "Draw", "consumers", "hangs_on_the_parts_supply", "total", "wish_of"]

DIVIDER = "divider at "
"""What the name of a divider begins with."""
CHIP_WORDS = "chip data, currents by state"
STATES = ("asleep", "awake", "burst")


@dataclass(frozen=True, slots=True)
class Draw:
    """Current in each state [A]."""

    asleep: float = 0.0
    awake: float = 0.0
    burst: float = 0.0

    def __add__(self, other: Draw) -> Draw:
        return Draw(self.asleep + other.asleep, self.awake + other.awake, self.burst + other.burst)


@dataclass(frozen=True, slots=True)
class Consumer:
    """Somebody on a rail: ``rail`` names it (``logic``, ``5 V``, ``12 V`` ...), ``words`` say where the figure comes from.

    ``known``: its current is known at all.
    """

    name: str
    rail: str
    volts: float
    draw: Draw
    words: str
    known: bool = True


def total(found: Iterable[Consumer]) -> Draw:
    """Sum over consumers [A]."""
    summed = Draw()
    for consumer in found:
        summed = summed + consumer.draw
    return summed


def consumers(wiring: Wiring, job: Job) -> list[Consumer]:
    """Everybody who draws current in a plan."""
    view = wiring.view
    return [
        _chip(view.chip.part, view.chip.current, view, job, CHIP_WORDS),
        *_radio(view, job),
        *_on_board(view),
        *(consumer for device in job.nets.devices for consumer in _device(device, wiring, job)),
        *_dividers(wiring),
        *_closed_contacts(wiring),
    ]


# ------------------------------------------------------------------------------ chip and board


def _chip(name: str, current: tuple[StateCurrent, ...], view: BoardView, job: Job, words: str) -> Consumer:
    """The chip, or a radio chip beside it: its states asleep, awake and in a burst."""
    mine = [s for s in current if not s.radio or s.radio in job.setting.radio]

    def most(states: tuple[str, ...], worst: bool) -> float:
        figures = [(s.max_a or s.typ_a if worst else s.typ_a or s.max_a) or 0.0 for s in mine if s.state in states]
        return max(figures, default=0.0)

    awake = most(("awake", "radio-listen"), worst=False)
    burst = max(most(("awake", "radio-listen", "radio-send"), worst=True), awake)
    asleep = most(("deep-sleep",), worst=False) if job.setting.sleeping else awake
    return Consumer(
        name, "logic", view.board.logic_v, Draw(asleep, awake, burst), words, bool(mine) or (bool(current) and not job.setting.radio)
    )


def _radio(view: BoardView, job: Job) -> Iterator[Consumer]:
    """A radio that is a chip of its own; one nobody gives a current for is not known."""
    beside = set(view.board.radio) - set(view.chip.radio)
    if beside & set(job.setting.radio) or (view.board.current and not job.setting.radio):
        yield _chip("radio", view.board.current, view, job, CHIP_WORDS)


def _on_board(view: BoardView) -> Iterator[Consumer]:
    """What sits on the board and always draws: power lamp, USB bridge."""
    for item in view.board.onboard:
        if item.i_a:
            where = item.pin or item.pad or "the board"
            draw = Draw(item.i_a, item.i_a, item.i_a)
            yield Consumer(f"{item.what} on {where}", "logic", view.board.logic_v, draw, view.board_cite(item))


# ------------------------------------------------------------------------------ parts


def _device(device: Device, wiring: Wiring, job: Job) -> Iterator[Consumer]:
    part = job.catalogue.parts.get(device.kind)
    logic_v = wiring.view.board.logic_v
    given = _given_current_a(device, job)
    volts = device.lines[0].asks.rail.at(logic_v) if device.lines else (part.supply_v.typ if part else None) or logic_v
    switched = [line.asks.load for line in device.lines if line.asks.load is not None and line.asks.load.stage != "pin"]
    loads = [load for load in switched if hangs_on_the_parts_supply(load, part)]
    for load in loads:
        current = load.i_a if given is None else given
        peak = max(current, load.inrush_a or 0.0)
        yield Consumer(device.name, rail_name(load.v_v, logic_v), load.v_v, Draw(0.0, current, peak), "load of its driver stage")
    if any(_is_the_part(load, part) for load in loads):
        return  # what its stage switches is the part itself
    draw, known = (Draw(given, given, given), True) if given is not None and not loads else _part_draw(part)
    if any(line.asks.load is not None and line.asks.load.stage == "pin" for line in device.lines):
        draw, known = Draw(), True  # a lamp: what its pin gives is all it takes
    by_line = {wire.line.id: wire for wire in wiring.wires}
    pins = sum(_pin_a(line, by_line.get(line.id), wiring) for line in device.lines if _takes_from_its_pin(line))
    draw = Draw(0.0 if device.switched else draw.asleep, draw.awake, draw.burst) + Draw(0.0, pins, pins)
    if known or pins:
        yield Consumer(device.name, rail_name(volts, logic_v), volts, draw, "the part's data" if given is None else "the brief", known)
    elif not loads:
        yield Consumer(device.name, rail_name(volts, logic_v), volts, Draw(), "nobody gives its current", False)


def _takes_from_its_pin(line: Line) -> bool:
    """Whether the pin itself feeds the line: no stage between, or a lamp that the pin lights."""
    load = line.asks.load
    return line.asks.drives and (not line.asks.needs.driver_components or (load is not None and load.stage == "pin"))


def _pin_a(line: Line, wire: Wire | None, wiring: Wiring) -> float:
    """Most that a pin gives its line [A]: behind a resistor worked out for a lamp, what flows through that resistor."""
    load = line.asks.load
    check = next((c for c in wire.circuit.checks if c.formula == "leds.led_plan" and c.margin is not None), None) if wire else None
    if wire is None or load is None or check is None or check.margin is None:
        return line.asks.i_in_a
    return min(load.i_a * 1.5, pin_current_max(line.asks, wiring.view, wire.place)) - check.margin


def wish_of(name: str, job: Job) -> BriefPart | None:
    """The brief's entry for a part; of several alike each is called by their name and a number."""
    stem, _, number = name.rpartition(" ")
    wishes = {wish.name: wish for wish in job.file.brief.part}
    return wishes.get(name) or (wishes.get(stem) if number.isdigit() else None)


def _given_current_a(device: Device, job: Job) -> float | None:
    """Current the brief names for a part [A]."""
    wish = wish_of(device.name, job)
    return wish.current_a if wish is not None else None


def rail_name(volts: float, logic_v: float) -> str:
    """Rail of a voltage: the board's logic, or its number."""
    return "logic" if abs(volts - logic_v) < 0.05 else f"{volts:g} V"


def _part_draw(part: Part | None) -> tuple[Draw, bool]:
    if part is None:
        return Draw(), False
    idle, active, peak = (_worst(f) for f in (part.current_a.idle, part.current_a.active, part.current_a.peak))
    awake = active if active is not None else idle
    if awake is None:
        return Draw(), False
    return Draw(idle if idle is not None else awake, awake, max(peak or 0.0, awake)), True


def hangs_on_the_parts_supply(load: Load, part: Part | None) -> bool:
    """Whether what a stage switches is fed by the part's own supply; a control input pulled up inside the part is not."""
    if part is None or part.supply_v.min is None or part.supply_v.max is None:
        return True
    return load.kind != "input" or part.supply_v.min <= load.v_v <= part.supply_v.max


def _is_the_part(load: Load, part: Part | None) -> bool:
    """Whether a load is all the part draws: anything but a control input, or a control input that takes as much."""
    active = _worst(part.current_a.active) if part is not None else None
    return load.kind != "input" or active is None or load.i_a >= 0.8 * active


def _worst(fact: Fact | None) -> float | None:
    if fact is None:
        return None
    return next((v for v in (fact.max, fact.value, fact.typ) if v is not None), None)


def _dividers(wiring: Wiring) -> Iterator[Consumer]:
    """Dividers drain what feeds them all the time."""
    for placed in wiring.wires:
        element = placed.circuit.of("divider")
        if element is None or len(element.pieces) != 2:
            continue
        ohms = sum(piece.value or 0.0 for piece in element.pieces)
        asks, logic_v = placed.line.asks, wiring.view.board.logic_v
        volts = asks.rail.at(logic_v)
        if ohms and asks.direction == "analog-in":
            current = (asks.v_max.at(volts) if asks.v_max is not None else volts) / ohms
            name = f"{DIVIDER}{placed.line.id}"
            yield Consumer(name, rail_name(volts, logic_v), volts, Draw(current, current, current), "V / R")


def _closed_contacts(wiring: Wiring) -> Iterator[Consumer]:
    """A contact closed at rest, or for hours, takes the current of its pull-up all the time, asleep too."""
    logic_v = wiring.view.board.logic_v
    for placed in wiring.wires:
        pull = next((e for e in placed.circuit.elements if e.kind == "pull-up" and e.ohm), None)
        if pull is None or not pull.ohm or placed.line.asks.rest not in ("low", "either") or placed.line.asks.direction != "in":
            continue
        volts = pull.to_v or logic_v
        current = volts / pull.ohm
        yield Consumer(f"pull-up at {placed.line.id}", rail_name(volts, logic_v), volts, Draw(current, current, current), "V / R")
