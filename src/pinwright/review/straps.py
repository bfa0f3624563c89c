"""Does the board start with the part connected?  Pins read at reset, and what the parts make of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.circuits.ranges import Range
from pinwright.facts.model import Strap
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, found, joined_names, pins, strap_cite
from pinwright.review.model import Finding, Rule, Severity, Wire, Wiring
from pinwright.review.moments import Does
from pinwright.review.netlist import at_pin, solved, span
from pinwright.review.network import part_pulls

if TYPE_CHECKING:
    from pinwright.powerup.elements import Element

__all__ = ["RULES"]

_OTHER = {"high": "low", "low": "high"}


@dataclass(frozen=True, slots=True)
class _Holding:
    """What a part does to its line at reset: ``level`` high, low or open; ``usual`` or only now and then."""

    level: str
    usual: bool


def _holdings(asks: Asks) -> list[_Holding]:
    """Everything a part may do to its line while the board starts."""
    if asks.signal == "touch" or asks.rest == "released":
        return [_Holding("open", True)]
    if asks.direction == "analog-in":
        return [_Holding("high", True), _Holding("low", True)]
    if asks.direction in ("open-drain", "bidir"):
        pulls_low = asks.signal != "digital"
        return [_Holding("open", True), *([_Holding("low", False)] if pulls_low else [])]
    if asks.direction != "in":
        return [_Holding("open", True)]
    high, low = _two_levels(asks)
    usual_high, usual_low = asks.rest != "low", asks.rest != "high"
    return [_Holding(high, usual_high), _Holding(low, usual_low)]


def _two_levels(asks: Asks) -> tuple[str, str]:
    """How a part makes high and low: by driving, or on one side only by letting go."""
    pull = asks.pull_fitted.direction if asks.pull_fitted else asks.needs.pull
    if asks.voh is not None or pull == "none":
        return "high", "low"
    return ("open", "low") if pull == "up" else ("high", "open")


def _straps(wiring: Wiring) -> Iterator[Finding]:
    for place, wires in pins(wiring):
        strap = place.pad.strap
        if strap is None:
            continue
        if strap.run in ("high", "low"):
            yield from _needed(wiring, place, wires, strap, strap.run)
        elif strap.download in ("high", "low"):
            yield from _for_loader(wiring, place, wires, strap.download)


def _level_with(holding: _Holding, view: BoardView, place: Place, wires: list[Wire], wanted: str) -> tuple[str, str]:
    """Level the chip reads with a part in this state, in every corner, and the voltage in words.

    high, low, undefined, or free where the parts add nothing.
    """
    if holding.level != "open":
        return holding.level, ""
    parts = list(part_pulls(wires, view))
    if all((pull.direction == "up") == (wanted == "high") for pull in parts):
        return "free", ""  # nothing pulls the other way
    volts = solved(_at_reset(view, place, wires)).at("pad")
    return ("free", "") if volts is None else _read(view, volts)


def _at_reset(view: BoardView, place: Place, wires: list[Wire]) -> tuple[Element, ...]:
    strap = place.pad.strap
    does: Does = "hi-Z" if strap is None or strap.internal == "none" else "pull-up" if strap.internal == "up" else "pull-down"
    return at_pin(wires, place, view, does, exact=True, loading=True)


def _read(view: BoardView, volts: Range) -> tuple[str, str]:
    """What the chip reads over a whole range of voltages, and that range with the limits."""
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    vih, vil = electrical.vih_min.at(logic_v), electrical.vil_max.at(logic_v)
    level = "high" if volts.low >= vih else "low" if volts.high <= vil else "undefined"
    return level, f"{span(volts)} stand there, the chip reads high from {vih:.2f} V and low up to {vil:.2f} V"


@dataclass(frozen=True, slots=True)
class _Outcome:
    """How bad the parts are for a strap: ``severity`` (``None``: not at all), the level it reads, in what way, whose fault."""

    severity: Severity | None
    level: str
    how: str
    wire: Wire


def _outcome(wiring: Wiring, place: Place, wires: list[Wire], wanted: str) -> _Outcome:
    worst = _Outcome(None, wanted, "", wires[0])
    for wire in wires:
        for holding in _holdings(wire.line.asks):
            level, volts = _level_with(holding, wiring.view, place, wires, wanted)
            if level in (wanted, "free"):
                continue
            how = (
                f"{wire.line.id} holds it {level}"
                if level != "undefined"
                else f"{wire.line.id} pulls it to where it reads neither high nor low for sure"
            )
            if volts:
                how = f"{how}: {volts}"
            if holding.usual:
                at_rest = level != "undefined" and len(_holdings(wire.line.asks)) > 1
                return _Outcome("refuse", level, _at_rest(wire, level) if at_rest else how, wire)
            if _answers_only(wire.line.asks):
                told = f"{wire.line.id} leaves it high at rest; a restart in the middle of its answer is the one moment it may be low"
                worst = worst if worst.severity else _Outcome("note", level, told, wire)
            else:
                worst = _Outcome("caution", level, f"{wire.line.id} may pull it {level} at that moment", wire)
    return worst


def _answers_only(asks: Asks) -> bool:
    """Whether a part pulls the line low only while the board talks to it: never at power-up."""
    return asks.signal in ("i2c", "onewire")


def _at_rest(wire: Wire, level: str) -> str:
    rest = wire.line.asks.rest
    return f"{wire.line.id} rests {level}" if rest in ("high", "low") else f"{wire.line.id} may stand {level} just as well"


def _needed(wiring: Wiring, place: Place, wires: list[Wire], strap: Strap, wanted: str) -> Iterator[Finding]:
    outcome = _outcome(wiring, place, wires, wanted)
    why = f" ({strap.why})" if strap.why else ""
    fact = f"{place.name} must be {wanted} at reset{why}"
    cites = [strap_cite(wiring.view, place)]
    effect = _effect(wiring.view, place, outcome.level)
    if outcome.severity == "refuse":
        outside = f" The pin wants: {strap.external}." if strap.external else ""
        fix = f"Move the line to a pin that is not read at reset.{outside}"
        yield found("strap-level", "refuse", outcome.wire, [fact, outcome.how, effect], fix, sources=cites)
    elif outcome.severity == "caution":
        fix = "Keep the part still while the board powers up or restarts, or move the line to another pin."
        yield found("strap-level", "caution", outcome.wire, [fact, outcome.how, effect], fix, sources=cites)
    elif outcome.severity == "note":
        fix = "If the board ever hangs after a restart, take its supply off for a moment."
        yield found("strap-level", "note", outcome.wire, [fact, outcome.how, effect], fix, sources=cites)
    else:
        names = joined_names(wire.line.id for wire in wires)
        fix = f"Add nothing to this wire that pulls it {_OTHER[wanted]}: no resistor, no LED, no contact."
        yield found("strap-level", "note", outcome.wire, [fact, f"{names} leaves it there"], fix, sources=cites)


def _for_loader(wiring: Wiring, place: Place, wires: list[Wire], wanted: str) -> Iterator[Finding]:
    """Normal start does not care, but uploads do: at the other level the loader cannot be reached."""
    outcome = _outcome(wiring, place, wires, wanted)
    if outcome.severity in (None, "note"):
        return
    yield found(
        "strap-upload",
        "caution" if outcome.severity == "refuse" else "note",
        outcome.wire,
        [
            f"{place.name} must be {wanted} when the loader starts; a normal start does not care",
            outcome.how,
            *_loader_words(wiring.view, place, outcome.level),
            "uploads can fail while the part is connected",
        ],
        "If an upload fails, unplug this line, upload, and plug it in again.",
        sources=[strap_cite(wiring.view, place)],
    )


# ------------------------------------------------------------------------------ what the chip makes of the levels


def _effect(view: BoardView, place: Place, level: str) -> str:
    """How the chip starts with this strap at a level and all others as a normal start needs them."""
    run = next((mode.levels for mode in view.chip.boot_mode if mode.name == "run"), None)
    mode = _mode(view, {**run, place.pad.name: level}) if run and level in _OTHER else ""
    if mode == "download":
        return "the board then waits in its loader instead of starting"
    return f"the board then starts in mode {mode!r} and not its program" if mode else "the board then does not start its program"


def _loader_words(view: BoardView, place: Place, level: str) -> list[str]:
    """The straps the loader needs together, and what this one at the other level makes of them."""
    loader = next((mode.levels for mode in view.chip.boot_mode if mode.name == "download"), None)
    if loader is None or level not in _OTHER:
        return []
    cared = {pad: needed for pad, needed in loader.items() if needed in _OTHER}
    if place.pad.name not in cared or len(cared) < 2:
        return []
    mode = _mode(view, {**loader, place.pad.name: level})
    reads = f"the mode {mode!r}" if mode else "no mode of the chip"
    return [f"the loader needs {_levels(cared)}; {_levels({**cared, place.pad.name: level})} is {reads}"]


def _levels(levels: dict[str, str]) -> str:
    return joined_names(f"{pad} {level}" for pad, level in levels.items())


def _mode(view: BoardView, levels: dict[str, str]) -> str:
    """Name of the way of starting these strap levels select; empty where the chip's document has none."""
    for mode in view.chip.boot_mode:
        if all(needed == "any" or levels.get(pad, "any") in (needed, "any") for pad, needed in mode.levels.items()):
            return mode.name
    return ""


# ------------------------------------------------------------------------------ a capacitor on a strap

C_SMALL_F = 10e-9
"""A capacitance below this is over long before any chip reads its straps (common practice, no source)."""
T_RESET_S = 1e-3
"""Time after which a chip may read its straps, where its document gives none (common practice, no source)."""
C_WIRE_F_PER_M = 100e-12
"""A metre of cable (common practice, no source)."""


def _capacitors(wiring: Wiring) -> Iterator[Finding]:
    for place, wires in pins(wiring):
        strap = place.pad.strap
        farads = sum(_farads(wire) for wire in wires)
        if strap is not None and strap.run in _OTHER and farads > C_SMALL_F:
            yield from _slow(wiring, place, wires, strap.run, farads)


def _farads(wire: Wire) -> float:
    """Capacitance a wire puts on its pin [F]: part, cable, and a capacitor that is fitted."""
    fitted = (piece.value or 0.0 for element in wire.circuit.elements if element.kind == "capacitor" for piece in element.pieces)
    return (wire.line.asks.c_in_f or 0.0) + wire.line.asks.wire_m * C_WIRE_F_PER_M + sum(fitted)


def _slow(wiring: Wiring, place: Place, wires: list[Wire], wanted: str, farads: float) -> Iterator[Finding]:
    """A capacitor starts empty: a strap that must be high rises through its pull."""
    from pinwright.powerup.elements import Diode, Network
    from pinwright.powerup.nodal import settle

    view = wiring.view
    network = Network(tuple(element for element in _at_reset(view, place, wires) if not isinstance(element, Diode)))
    if wanted == "low" or "pad" not in network.inner:
        return
    level_v = view.chip.electrical.vih_min.at(view.board.logic_v)
    rises = settle(network, "pad", farads, 0.0, level_v).t_s
    if rises is not None and rises.high <= T_RESET_S:
        return
    takes = f"it takes {show_quantity(rises.high, 's')} to {level_v:.2f} V" if rises else f"it never reaches {level_v:.2f} V for sure"
    yield found(
        "strap-slow",
        "caution",
        wires[0],
        [
            f"{place.name} must be high at reset",
            f"{joined_names(wire.line.id for wire in wires)} puts {show_quantity(farads, 'F')} on it: {takes}",
            "no document says how long after the supply the chip reads it; read too early it is low",
        ],
        "Leave the capacitor off this pin, or pull it high with a smaller resistor.",
        sources=[strap_cite(view, place)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "strap-level",
        "a part that holds a strap pin at the wrong level at reset (also strap-upload)",
        "the board does not start",
        "strap and boot mode data of the chip, named in the finding; Kirchhoff",
        _straps,
    ),
    Rule(
        "strap-slow",
        "a capacitor on a pin read at reset",
        "the chip reads it before it is charged",
        "strap data of the chip, named in the finding; the reset time is " + PRACTICE,
        _capacitors,
    ),
)
