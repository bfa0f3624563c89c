"""Does everything stay still until the firmware runs?  Loads that must not switch, pads that drive by themselves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import show_quantity
from pinwright.review.common import boot_cite, found, has, level_v, part_cite, strap_cite
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.network import board_pulls, internal_pull, part_pulls, worst_v

__all__ = ["RULES"]

_WRONG_PULL = {"high": "pull-down", "low": "pull-up"}


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What the pin does for some time before firmware: a boot state, the board's resistor or its boot loader."""

    state: str
    words: str
    cite: str


def _stretches(place: Place, view: BoardView) -> Iterator[_Stretch]:
    """Everything that happens at the pin before the firmware's first line."""
    if not place.pad.boot:
        yield _Stretch("noisy", "may do anything: nobody says what the pad does before firmware", view.column_cite("boot", place.pad))
    for item in place.pad.boot:
        state: str = item.state
        board = next((part for part in place.onboard if part.what in ("pull-up", "pull-down")), None)
        cite = boot_cite(view, place, state)
        if state == "float" and board:
            state, cite = board.what, view.board_cite(board)
        lasts = f" for {show_quantity(item.duration_s, 's')}" if item.duration_s else ""
        note = f" ({item.note})" if item.note else ""
        yield _Stretch(state, f"{_STATE_WORDS.get(state, state)} before your firmware runs{lasts}{note}", cite)
    for part in place.onboard:
        if part.what == "bootloader" and part.drives:
            yield _Stretch("noisy", f"is driven by the boot loader{': ' + part.effect if part.effect else ''}", view.board_cite(part))


_STATE_WORDS = {
    "noisy": "carries signals",
    "high": "is driven high",
    "low": "is driven low",
    "pull-up": "is pulled up",
    "pull-down": "is pulled down",
    "float": "floats",
}


# ------------------------------------------------------------------------------ lines that must stay still


def _quiet(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks = wire.line.asks
        if asks.quiet == "no" or asks.safe_level == "any" or not asks.drives:
            continue
        yield from _disturbed(wiring, wire)
        yield from _strapped(wiring, wire)


def _disturbed(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    """The worst thing that happens at the pin before firmware; one finding is enough to move the line."""
    asks = wire.line.asks
    stretches = list(_stretches(wire.place, wiring.view))
    driven = [item for item in stretches if item.state == "noisy" or (item.state in ("high", "low") and item.state != asks.safe_level)]
    if driven:
        yield _driven(wiring, wire, driven[0])
        return
    pulled = [item for item in stretches if item.state == _WRONG_PULL.get(asks.safe_level)]
    weak_matters = asks.quiet == "must" or asks.signal not in ("spi", "uart", "i2s")  # on an idle bus a weak level does nothing
    if pulled and weak_matters and not _beaten(wiring, wire, pulled[0].state.removeprefix("pull-")):
        yield _pulled(wiring, wire, pulled[0])


_CURRENT_RATIO = 10.0
"""A part that stays off undriven and needs this many times a pull's current is not switched by it (our choice)."""


def _wish(wire: Wire) -> str:
    verb = "must" if wire.line.asks.quiet == "must" else "should"
    return f"{wire.line.id} {verb} stay {wire.line.asks.safe_level} until then"


def _driven(wiring: Wiring, wire: Wire, stretch: _Stretch) -> Finding:
    must = wire.line.asks.quiet == "must"
    noisy = "the part can switch on, off and on again at every start"
    because = [
        f"{wire.place.name} {stretch.words}",
        _wish(wire),
        noisy if stretch.state == "noisy" else "the part is on for that time at every start",
    ]
    fix = (
        "Move the line to a pin that stays still at start-up."
        if must
        else "Move the line if a flicker or twitch at start-up would annoy you."
    )
    return found("start-quiet", "refuse" if must else "caution", wire, because, fix, sources=[stretch.cite, part_cite(wiring, wire)])


def _pulled(wiring: Wiring, wire: Wire, stretch: _Stretch) -> Finding:
    must = wire.line.asks.quiet == "must"
    because = [f"{wire.place.name} {stretch.words}", _wish(wire), "the pull can switch the part on" if must else "the part may twitch"]
    fix = "Move the line to a pin pulled the other way, or to a floating one with a resistor that holds it."
    numbers = {"pull": internal_pull(wiring.view, stretch.state.removeprefix("pull-")).words}
    return found("start-quiet", "refuse" if must else "note", wire, because, fix, numbers, [stretch.cite, part_cite(wiring, wire)])


def _beaten(wiring: Wiring, wire: Wire, direction: str) -> bool:
    """Whether the pad's pull provably cannot switch the part on: too little current for it, or a real resistor wins."""
    asks, view = wire.line.asks, wiring.view
    i_pull_max_a = view.board.logic_v / internal_pull(view, direction).ohm_min
    if asks.floats == "safe" and asks.i_in_a > _CURRENT_RATIO * i_pull_max_a:
        return True
    threshold = asks.vil if asks.safe_level == "low" else asks.vih
    pulls = list(part_pulls([wire], view))
    if threshold is None or not pulls:
        return False
    volts = worst_v(asks.safe_level, [internal_pull(view, direction), *board_pulls(wire.place, view), *pulls], view.board.logic_v)
    limit = level_v(threshold, asks, view)
    return volts is not None and (volts <= limit if asks.safe_level == "low" else volts >= limit)


def _strapped(wiring: Wiring, wire: Wire) -> Iterator[Finding]:
    """A strap that wants the load's *on* level: either the board does not start or the load is on."""
    strap, asks = wire.place.pad.strap, wire.line.asks
    if strap is None or asks.quiet != "must" or strap.run not in ("high", "low") or asks.safe_level not in ("high", "low"):
        return
    if strap.run != asks.safe_level:
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
        asks, place = wire.line.asks, wire.place
        if asks.quiet == "no" or asks.safe_level not in ("high", "low") or not asks.drives or asks.floats == "safe":
            continue
        if not any(stretch.state == "float" for stretch in _stretches(place, wiring.view)):
            continue
        direction = "up" if asks.safe_level == "high" else "down"
        held = has(wire.circuit, f"pull-{direction}") or (asks.pull_fitted is not None and asks.pull_fitted.direction == direction)
        if held or (asks.quiet == "prefer" and asks.floats != "unsafe"):
            continue
        unsafe = (
            "the part switches on when nobody drives the line"
            if asks.floats == "unsafe"
            else "nobody says what the part does when nobody drives the line"
        )
        to = "the part's supply" if direction == "up" else "ground"
        yield found(
            "start-floating",
            "refuse" if asks.quiet == "must" else "caution",
            wire,
            [f"{place.name} floats before your firmware runs", unsafe, f"no resistor holds {wire.line.id} {asks.safe_level}"],
            f"Add a resistor of about 10 kΩ from the line to {to}.",
            sources=[boot_cite(wiring.view, place, "float"), part_cite(wiring, wire)],
        )


# ------------------------------------------------------------------------------ two outputs on one wire


def _contention(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks = wire.line.asks
        pushes = asks.direction == "in" and asks.needs.pull == "none" and not asks.pull_fitted and asks.rest != "released"
        if not pushes or has(wire.circuit, "level shifter", "divider", "series resistor") or wire.place.is_console:
            continue
        for stretch in _stretches(wire.place, wiring.view):
            if stretch.state in ("noisy", "high", "low") and stretch.state != asks.rest:
                yield found(
                    "start-contention",
                    "caution",
                    wire,
                    [
                        f"{wire.place.name} {stretch.words}",
                        f"{wire.line.id} is driven by the part",
                        "two outputs push against each other until the firmware runs",
                    ],
                    "Put 470 Ω to 1 kΩ in series, or move the line to a pin that only listens at start-up.",
                    sources=[stretch.cite],
                )
                break


RULES: tuple[Rule, ...] = (
    Rule(
        "start-quiet",
        "a line that must stay still on a pin that moves before firmware (also start-strapped)",
        "something starts, opens or heats by itself",
        "boot states of the chip, named in the finding",
        _quiet,
    ),
    Rule(
        "start-floating",
        "a line that must stay still, undefined while its pin floats",
        "a gate that floats switches by itself",
        "boot states of the chip and the part's data",
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
