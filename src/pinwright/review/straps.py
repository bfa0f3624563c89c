"""Does the board start with the part connected?  Pins read at reset, and what the parts make of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.facts.model import Strap
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.review.common import found, joined_names, pins, strap_cite
from pinwright.review.model import Finding, Rule, Severity, Wire, Wiring
from pinwright.review.network import board_pulls, internal_pull, part_pulls, reads_as, worst_v

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


def _level_with(holding: _Holding, view: BoardView, place: Place, wires: list[Wire], wanted: str) -> str:
    """Level the chip reads with a part in this state: high, low, undefined, or free where the parts add nothing."""
    if holding.level != "open":
        return holding.level
    parts = list(part_pulls(wires, view))
    if all((pull.direction == "up") == (wanted == "high") for pull in parts):
        return "free"  # nothing pulls the other way
    strap = place.pad.strap
    own = [internal_pull(view, strap.internal)] if strap and strap.internal != "none" else []
    volts = worst_v(wanted, [*own, *board_pulls(place, view), *parts], view.board.logic_v)
    return "free" if volts is None else reads_as(view, volts)


def _outcome(wiring: Wiring, place: Place, wires: list[Wire], wanted: str) -> tuple[Severity | None, str, Wire]:
    """How bad the parts are for a strap that wants a level, in what way, and whose fault that is."""
    worst: tuple[Severity | None, str, Wire] = (None, "", wires[0])
    for wire in wires:
        for holding in _holdings(wire.line.asks):
            level = _level_with(holding, wiring.view, place, wires, wanted)
            if level in (wanted, "free"):
                continue
            how = (
                f"{wire.line.id} holds it {level}"
                if level != "undefined"
                else f"{wire.line.id} pulls it to where it reads neither high nor low"
            )
            if holding.usual:
                return "refuse", how if level == "undefined" or len(_holdings(wire.line.asks)) == 1 else _at_rest(wire, level), wire
            worst = ("caution", f"{wire.line.id} may pull it {level} at that moment", wire)
    return worst


def _at_rest(wire: Wire, level: str) -> str:
    rest = wire.line.asks.rest
    return f"{wire.line.id} rests {level}" if rest in ("high", "low") else f"{wire.line.id} may stand {level} just as well"


def _needed(wiring: Wiring, place: Place, wires: list[Wire], strap: Strap, wanted: str) -> Iterator[Finding]:
    severity, how, wire = _outcome(wiring, place, wires, wanted)
    why = f" ({strap.why})" if strap.why else ""
    fact = f"{place.name} must be {wanted} at reset{why}"
    cites = [strap_cite(wiring.view, place)]
    if severity == "refuse":
        outside = f" The pin wants: {strap.external}." if strap.external else ""
        yield found(
            "strap-level",
            "refuse",
            wire,
            [fact, how, "the board then does not start its program"],
            f"Move the line to a pin that is not read at reset.{outside}",
            sources=cites,
        )
    elif severity == "caution":
        yield found(
            "strap-level",
            "caution",
            wire,
            [fact, how, "the board then waits in its loader instead of starting"],
            "Keep the part still while the board powers up or restarts, or move the line to another pin.",
            sources=cites,
        )
    else:
        names = joined_names(wire.line.id for wire in wires)
        yield found(
            "strap-level",
            "note",
            wire,
            [fact, f"{names} leaves it there"],
            f"Add nothing to this wire that pulls it {_OTHER[wanted]}: no resistor, no LED, no contact.",
            sources=cites,
        )


def _for_loader(wiring: Wiring, place: Place, wires: list[Wire], wanted: str) -> Iterator[Finding]:
    """Normal start does not care, but uploads do: at the other level the loader cannot be reached."""
    severity, how, wire = _outcome(wiring, place, wires, wanted)
    if severity is None:
        return
    yield found(
        "strap-upload",
        "caution" if severity == "refuse" else "note",
        wire,
        [
            f"{place.name} must be {wanted} when the loader starts; a normal start does not care",
            how,
            "uploads can fail while the part is connected",
        ],
        "If an upload fails, unplug this line, upload, and plug it in again.",
        sources=[strap_cite(wiring.view, place)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "strap-level",
        "a part that holds a strap pin at the wrong level at reset (also strap-upload)",
        "the board does not start",
        "strap data of the chip, named in the finding",
        _straps,
    ),
)
