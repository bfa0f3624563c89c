"""Is a load off while its pad does something by itself?  The solved voltages at the pin against what the part needs to be off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.ranges import Range
from pinwright.quantities import show_quantity
from pinwright.review.common import has, level_v
from pinwright.review.model import Wire, Wiring
from pinwright.review.moments import Moment
from pinwright.review.netlist import at_pin, base_of, internal_pull_ohm, rail_of, solved, span

__all__ = ["Reading", "keeps_still", "off_when_hi_z", "reading", "weakest_hold_ohm"]

Verdict = Literal["off", "on", "undefined", "pulses"]

OFF_V, ON_V = 0.3, 1.0
"""A gate, a base or an unknown input this near its safe rail is off, this far from it on [V] (common practice, no source)."""
BASE_OFF_V, BASE_ON_V = 0.5, 0.6
"""A silicon transistor's base below and above which no and some collector current flows [V] (common practice, no source)."""
SHIFTER_V = (0.8, 2.0)
"""Input levels of a level shifter  [TTL levels, JESD8C.01, from memory]."""
MUCH = 10.0
"""What needs this many times the current there is, stays off (our choice)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """Verdict on one moment; ``words`` give voltage or current and the limit, ``is_held`` whether a resistor holds the line."""

    moment: Moment
    verdict: Verdict
    words: str
    is_held: bool = True


def keeps_still(wire: Wire) -> bool:
    """Whether the line is a load that should keep a level by itself."""
    asks = wire.line.asks
    return asks.drives and asks.quiet != "no" and asks.safe_level != "any"


def reading(wiring: Wiring, wire: Wire, moment: Moment) -> Reading:
    """What the load does in a moment."""
    asks = wire.line.asks
    if moment.does == "noisy":
        return Reading(moment, "pulses", f"{moment.words}; {wire.line.id} follows{moment.lasts}")
    if moment.does in ("high", "low"):
        verdict: Verdict = "off" if moment.does == asks.safe_level else "on"
        return Reading(moment, verdict, f"{moment.words}; {wire.line.id} is {verdict} {moment.does}{moment.lasts}")
    joined = [wire, *(other for other in wiring.wires if other is not wire and other.place.pad.name == wire.place.pad.name)]
    verdict, words, is_held = _standing(wiring, wire, joined, moment)
    return Reading(moment, verdict, f"{moment.words}: {words}", is_held)


def off_when_hi_z(wiring: Wiring, wire: Wire) -> Reading:
    """What the load does while the pad lets go, as in deep sleep."""
    return reading(wiring, wire, Moment("hi-Z", "the pad lets go", ""))


def _standing(wiring: Wiring, wire: Wire, joined: list[Wire], moment: Moment) -> tuple[Verdict, str, bool]:
    asks, view = wire.line.asks, wiring.view
    shifted = has(wire.circuit, "level shifter")
    if asks.safe_level == "released":
        return ("undefined", "the pull reaches a line that must be released", True) if moment.does == "pull-down" else ("off", "", True)
    standing = solved(at_pin(joined, wire.place, view, moment.does))
    base = base_of(wire)
    volts = standing.at("base part 0" if base is not None else "part 0") or standing.at("pad")
    if shifted:
        return (*_judged(wiring, wire, volts, False), True) if volts else ("undefined", "nothing holds the level shifter's input", False)
    if asks.load is not None and asks.load.stage == "pin" and asks.load.vf_min_v is not None:
        amps = standing.i_load.high if standing.i_load else 0.0
        limit = (asks.load.i_min_a or asks.load.i_a) / MUCH
        words = f"at most {show_quantity(max(amps, 0.0), 'A')} flows, {show_quantity(limit, 'A')} are taken for off"
        return ("off" if amps <= limit else "undefined"), words, True
    if asks.floats == "safe" and base is None and asks.i_in_a > MUCH * (amps := _wrong_a(wiring, wire, moment)):
        return "off", f"at most {show_quantity(amps, 'A')} flows, the part needs {show_quantity(asks.i_in_a, 'A')}", volts is not None
    if volts is None:
        is_off = asks.floats == "safe" and not _has_stage(wire)
        return ("off" if is_off else "undefined"), "nothing holds the line", False
    return (*_judged(wiring, wire, volts, base is not None), True)


def _has_stage(wire: Wire) -> bool:
    return bool(wire.line.asks.needs.driver_components)


def _wrong_a(wiring: Wiring, wire: Wire, moment: Moment) -> float:
    """Most that the pad's own pull can send into the load the wrong way [A]."""
    wrong = "pull-up" if wire.line.asks.safe_level == "low" else "pull-down"
    return rail_of(wiring.view).high / internal_pull_ohm(wiring.view, wrong.removeprefix("pull-")).low if moment.does == wrong else 1e-6


def _limits(wiring: Wiring, wire: Wire, is_base: bool) -> tuple[float, float, str]:
    """Voltage up to which (safe low) or from which (safe high) the load is off, where it is on, and what says so."""
    asks, view = wire.line.asks, wiring.view
    high = asks.safe_level == "high"
    if is_base:
        return BASE_OFF_V, BASE_ON_V, "a transistor's base"
    off, on = (asks.vih, asks.vil) if high else (asks.vil, asks.vih)
    if has(wire.circuit, "level shifter"):
        return (*(SHIFTER_V if not high else SHIFTER_V[::-1]), "the level shifter's input")
    usual = (view.board.logic_v - OFF_V, view.board.logic_v - ON_V) if high else (OFF_V, ON_V)
    if _has_stage(wire):
        return *usual, "the stage before the load"
    return (
        level_v(off, asks, view) if off is not None else usual[0],
        level_v(on, asks, view) if on is not None else usual[1],
        "the part" if off is not None else "a part without a stated level",
    )


def _judged(wiring: Wiring, wire: Wire, volts: Range, is_base: bool) -> tuple[Verdict, str]:
    off_v, on_v, what = _limits(wiring, wire, is_base)
    at = span(volts)
    if wire.line.asks.safe_level == "low":
        sure, is_on = volts.high <= off_v, volts.low >= on_v
        words = f"{at}, where {what} is off up to {off_v:.2f} V"
    else:
        sure, is_on = volts.low >= off_v, volts.high <= on_v
        words = f"{at}, where {what} is off from {off_v:.2f} V"
    return ("off" if sure else "on" if is_on else "undefined"), words


def weakest_hold_ohm(wiring: Wiring, wire: Wire) -> float:
    """Largest resistor to the safe rail that keeps the load off against the pad's own pull, tolerance included [ohm].

    R = R_pull V_off / (VDD - V_off)   [Kirchhoff]
    """
    rail = rail_of(wiring.view)
    off_v, _, _ = _limits(wiring, wire, base_of(wire) is not None)
    high = wire.line.asks.safe_level == "high"
    room = max(rail.low - off_v if high else off_v, 1e-3)
    own = internal_pull_ohm(wiring.view, "down" if high else "up").low
    return own * room / max(rail.high - room, 1e-3) / 1.05
