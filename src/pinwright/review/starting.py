"""Does everything stay still until the firmware runs?  Loads that must not switch, pads that drive by themselves.

Every verdict is solved from the wiring: ``netlist`` says what hangs at the pin, ``loads`` what the part makes of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import floor, log10

from pinwright.quantities import show_quantity
from pinwright.review.common import found, has, part_cite, strap_cite
from pinwright.review.loads import Reading, keeps_still, reading, weakest_hold_ohm
from pinwright.review.model import Finding, Rule, Severity, Wire, Wiring
from pinwright.review.moments import Moment, before_firmware

__all__ = ["RULES"]

_WRONG_PULL = {"high": "pull-down", "low": "pull-up", "released": "pull-down"}
LEAST_HOLD_OHM = 470.0
"""A resistor below this takes more than a pin should give (common practice, no source)."""


# ------------------------------------------------------------------------------ lines that must stay still


def _quiet(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        if keeps_still(wire):
            told = [reading(wiring, wire, moment) for moment in before_firmware(wire.place, wiring.view)]
            yield from _disturbed(wiring, wire, [each for each in told if each.verdict != "off"])
            yield from _strapped(wiring, wire)


def _disturbed(wiring: Wiring, wire: Wire, moved: list[Reading]) -> Iterator[Finding]:
    """Everything that moves the load, in one finding: what to do about it depends on all of it together."""
    asks = wire.line.asks
    must = asks.quiet == "must"
    told = [each for each in moved if each.moment.is_reported]
    driven = [each for each in moved if each.moment.does in ("noisy", "high", "low") and not each.moment.is_reported]
    pulled = [each for each in moved if each.moment.does == _WRONG_PULL.get(asks.safe_level)]
    if must and (driven or pulled):
        yield _said(wiring, wire, [each for each in moved if each in driven or each in pulled or each in told], "refuse")
    elif driven:
        yield _said(wiring, wire, [*driven, *told], "caution")
    elif told:
        yield _said(wiring, wire, told, "note")
    elif pulled and asks.safe_level != "released" and asks.signal not in ("spi", "uart", "i2s"):
        yield _said(wiring, wire, pulled, "note")  # on an idle bus a weak level does nothing


def _said(wiring: Wiring, wire: Wire, moved: list[Reading], severity: Severity) -> Finding:
    must = wire.line.asks.quiet == "must"
    verb = "must" if must else "should"
    verdicts = {each.verdict for each in moved}
    effect = (
        "the part can switch on, off and on again at every start"
        if "pulses" in verdicts
        else ("the part is on for that time at every start" if "on" in verdicts else "the part can be on at every start")
    )
    if not must:
        effect = "the part may twitch or flicker at every start"
    because = [*(each.words for each in moved), f"{wire.line.id} {verb} stay {wire.line.asks.safe_level} until then", effect]
    sources = [*(each.moment.cite for each in moved), part_cite(wiring, wire)]
    return found("start-quiet", severity, wire, because, _way_out(wiring, wire, moved), sources=sources)


def _way_out(wiring: Wiring, wire: Wire, moved: list[Reading]) -> str:
    if wire.line.asks.quiet != "must":
        return "Move the line if a flicker or twitch at start-up would annoy you."
    hold = _hold_words(wire)
    if all(each.moment.does in ("pull-up", "pull-down") for each in moved) and wire.line.asks.safe_level != "released":
        ohm = weakest_hold_ohm(wiring, wire)
        if ohm >= LEAST_HOLD_OHM:
            return f"Fit {hold} of at most {show_quantity(_two_digits(ohm), 'Ω')}, or move the line to a pin that floats or rests right."
    return f"Move the line to a pin that stays still at start-up, with {hold} where that pin floats."


def _two_digits(ohm: float) -> float:
    """A resistance with two digits, never more than it is."""
    step = 10.0 ** (floor(log10(ohm)) - 1)
    return floor(ohm / step) * step


def _hold_words(wire: Wire) -> str:
    if wire.line.asks.safe_level == "low":
        return "a resistor to ground (a pull-down)"
    return "a resistor to the part's supply (a pull-up)"


def _strapped(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    """A strap that wants the load's *on* level: either the board does not start or the load is on."""
    strap, asks = wire.place.pad.strap, wire.line.asks
    if strap is None or asks.quiet != "must" or strap.run not in ("high", "low") or asks.safe_level not in ("high", "low"):
        return
    weak = Moment("pull-up" if strap.run == "high" else "pull-down", "at reset", "")
    if strap.run == asks.safe_level or (reading(wiring, wire, weak).verdict == "off" and not has(wire.circuit, "pull-up", "pull-down")):
        return
    yield found(
        "start-strapped",
        "refuse",
        wire,
        [
            f"{wire.place.name} must be {strap.run} at reset",
            f"{wire.line.id} must be {asks.safe_level} until the firmware runs",
            "both cannot be had",
        ],
        "Move the line to a pin that is not read at reset.",
        sources=[strap_cite(wiring.view, wire.place), part_cite(wiring, wire)],
    )


def _floating(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks = wire.line.asks
        if not keeps_still(wire) or asks.safe_level not in ("high", "low") or (asks.quiet == "prefer" and asks.floats != "unsafe"):
            continue
        still = [each for each in before_firmware(wire.place, wiring.view) if each.does not in (_WRONG_PULL[asks.safe_level], "noisy")]
        loose = [each for each in (reading(wiring, wire, moment) for moment in still) if each.verdict != "off" and _weak(each)]
        if loose:
            yield _loose(wiring, wire, loose[0])


def _weak(each: Reading) -> bool:
    return each.moment.does in ("hi-Z", "pull-up", "pull-down")


def _loose(wiring: Wiring, wire: Wire, loose: Reading) -> Finding:
    asks = wire.line.asks
    unsafe = (
        "the part switches on when nobody drives the line"
        if asks.floats == "unsafe"
        else "nobody says what the part does when nobody drives the line"
    )
    nothing = f"no resistor holds {wire.line.id} {asks.safe_level}"
    to = "the part's supply" if asks.safe_level == "high" else "ground"
    fix = f"Add a resistor of about 10 kΩ from the line to {to}."
    if loose.is_held:
        on = loose.verdict == "on"
        wrong = "something at the pin draws it the other way" if on else "what holds it is too weak"
        nothing = f"{wire.line.id} {'must' if asks.quiet == 'must' else 'should'} stay {asks.safe_level}, and {wrong}"
        fix = "Move the line to another pin." if on else f"Hold the line with a stronger resistor to {to}."
    severity: Severity = "refuse" if asks.quiet == "must" else "caution"
    because = [loose.words, nothing] if loose.is_held else [loose.words, unsafe, nothing]
    return found("start-floating", severity, wire, because, fix, sources=[loose.moment.cite, part_cite(wiring, wire)])


# ------------------------------------------------------------------------------ two outputs on one wire


def _contention(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks = wire.line.asks
        pushes = asks.direction == "in" and asks.needs.pull == "none" and not asks.pull_fitted and asks.rest != "released"
        if not pushes or has(wire.circuit, "level shifter", "divider", "series resistor") or wire.place.is_console:
            continue
        for moment in before_firmware(wire.place, wiring.view):
            if moment.does in ("noisy", "high", "low") and moment.does != asks.rest:
                yield found(
                    "start-contention",
                    "caution",
                    wire,
                    [
                        moment.words,
                        f"{wire.line.id} is driven by the part",
                        "two outputs push against each other until the firmware runs",
                    ],
                    "Put 470 Ω to 1 kΩ in series, or move the line to a pin that only listens at start-up.",
                    sources=[moment.cite],
                )
                break


RULES: tuple[Rule, ...] = (
    Rule(
        "start-quiet",
        "a line that must stay still on a pin that moves before firmware (also start-strapped)",
        "something starts, opens or heats by itself",
        "boot states of the chip, named in the finding; Kirchhoff",
        _quiet,
    ),
    Rule(
        "start-floating",
        "a line that must stay still, undefined while its pin floats",
        "a gate that floats switches by itself",
        "boot states of the chip and the part's data; Kirchhoff",
        _floating,
    ),
    Rule(
        "start-contention",
        "a pad that drives before firmware against a part that drives",
        "currents beyond what either is made for",
        "boot states of the chip, named in the finding",
        _contention,
    ),
)
