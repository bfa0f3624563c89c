"""What each used pad is to firmware: kind, first level, pull, edges, bounce, and why it is there."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal

from pinwright.pack.firmware.model import Pin, PinKind
from pinwright.pack.firmware.names import Namer

if TYPE_CHECKING:
    from pinwright.facts.model import Part
    from pinwright.fitting.lines import Asks
    from pinwright.fitting.plan import Placed

__all__ = ["CONTACT_S", "DEAD_TIME_S", "active_level", "first_level", "pins_of"]

CONTACT_S = 0.02
"""A contact has come to rest after this [s] (common practice, no source)."""
DEAD_TIME_S = 0.005
"""After a pulse from a contact no other is real for this long [s] (common practice, no source)."""
_CONTACTS = ("switch", "encoder", "keypad")
"""Kinds of parts whose lines are bare contacts."""
_HARMLESS = re.compile(r"^\d+ of \d+ pins could carry|^it is the only pin of")
_LONG = 90
"""A reason longer than this loses its brackets (our choice)."""
_CITE = re.compile(r"\s*\[[^\]]*\]$")


def pins_of(groups: Iterable[tuple[Placed, ...]], parts: dict[str, Part], namer: Namer) -> tuple[Pin, ...]:
    """A pin for each net; ``groups`` are the placed lines of one net, ``parts`` the catalogue's part by device name."""
    return tuple(_pin(group, parts.get(group[0].line.part), namer) for group in groups)


def _pin(group: tuple[Placed, ...], part: Part | None, namer: Namer) -> Pin:
    first = group[0]
    asks, shared = first.line.asks, len(group) > 1
    kind = _kind(first, part)
    name = namer.constant(first.net.id) if shared else namer.constant(first.line.part, first.line.name)
    drives = kind in ("output", "select", "open-drain", "pwm", "pulse-out", "pulse-data")
    is_contact = _is_contact(asks, part)
    rest = {"high": 1, "released": 1, "low": 0}.get(asks.rest)
    if kind in ("output", "select", "pwm", "pulse-out", "bus", "dac", "analog"):
        rest = None
    return Pin(
        name=name,
        label=first.place.label,
        pad=first.place.pad.name,
        gpio=first.place.pad.gpio,
        lines=tuple(placed.line.id for placed in group),
        part=first.line.part,
        words=first.net.id if shared else first.line.id,
        kind=kind,
        first_level=first_level(asks) if drives else None,
        active_level=active_level(asks) if drives else None,
        must_stay_off=asks.quiet == "must" and asks.safe_level != "any" and asks.drives,
        rest_level=rest,
        pull=_pull(group),
        interrupt=_edge(asks, kind, is_contact),
        must_interrupt=asks.needs.interrupt == "yes" or asks.needs.count_pulses,
        debounce_s=(CONTACT_S if kind == "input" else DEAD_TIME_S if kind == "counter" else 0.0) if is_contact else 0.0,
        wake=asks.needs.wake,
        is_lamp=asks.load is not None and asks.load.kind == "led" and kind == "output" and asks.quiet != "must",
        reasons=tuple(_reasons(group)),
        can_interrupt=first.place.pad.interrupt,
    )


def _kind(placed: Placed, part: Part | None) -> PinKind:
    asks = placed.line.asks
    if asks.role == "CS" and asks.direction == "out":
        return "select"
    if placed.net.bus >= 0:
        return "bus"
    plain: dict[tuple[str, str], PinKind] = {
        ("analog-in", "analog"): "analog",
        ("analog-out", "analog"): "dac",
        ("out", "pwm"): "pwm",
        ("in", "touch"): "touch",
    }
    if (asks.direction, asks.signal) in plain:
        return plain[asks.direction, asks.signal]
    if asks.signal == "touch":
        return "touch"
    if asks.signal == "onewire":
        return "one-wire"
    if asks.direction == "out":
        return "pulse-out" if asks.signal == "pulse" and asks.needs.exact_pulses else "output"
    if asks.direction in ("open-drain", "bidir"):
        return "pulse-data" if asks.signal == "pulse" else "open-drain"
    if asks.needs.count_pulses:
        return "counter"
    return _pulses_in(part) if asks.signal == "pulse" else "input"


def _pulses_in(part: Part | None) -> PinKind:
    """What pulses that come in are for, by the part they come from."""
    if part is None:
        return "pulses"
    lines = part.line
    if part.kind == "encoder" and sum(line.signal == "pulse" for line in lines) == 2:
        return "encoder"
    if part.kind == "distance-sensor" and any(line.direction == "out" and line.signal == "digital" for line in lines):
        return "echo"
    return "pulses"


def active_level(asks: Asks) -> int:
    """Level of the pin that switches the part on."""
    if asks.safe_level in ("low", "high", "released"):
        return 1 if asks.safe_level == "low" else 0
    if asks.load is not None and asks.load.inverts:
        return 0
    return 0 if asks.rest in ("high", "released") else 1


def first_level(asks: Asks) -> int:
    """Level to write before the pin becomes an output: where the part is off; what lets go of an open-drain line counts as high."""
    if asks.direction in ("open-drain", "bidir") and asks.safe_level == "any":
        return 1
    return 1 - active_level(asks)


def _is_contact(asks: Asks, part: Part | None) -> bool:
    """A bare contact bounces: a switch of the catalogue, or a line of the maker's own that needs a pull."""
    if part is not None:
        return part.kind in _CONTACTS
    return asks.direction == "in" and asks.signal in ("digital", "pulse") and asks.needs.pull != "none"


def _pull(group: tuple[Placed, ...]) -> Literal["none", "up", "down"]:
    """The pull inside the chip, where a circuit counts on it; one on the board is no matter of firmware."""
    for placed in group:
        for element in placed.circuit.elements:
            if element.kind == "internal pull" and element.words.startswith("internal pull-"):
                return "up" if element.words.endswith("up") else "down"
    return "none"


def _edge(asks: Asks, kind: PinKind, is_contact: bool) -> Literal["none", "rising", "falling", "both"]:
    if kind == "encoder":
        return "both"
    if kind in ("counter", "pulses"):
        return "rising" if asks.rest == "low" else "falling"
    if kind != "input" or asks.needs.interrupt != "yes":
        return "none"
    if is_contact or asks.rest not in ("high", "low", "released"):
        return "both"
    return "rising" if asks.rest == "low" else "falling"


def _reasons(group: tuple[Placed, ...]) -> Iterable[str]:
    """Abilities that decided, then what is fitted; without citations, which stand in the report."""
    first = group[0]
    circuits = {element.words for placed in group for element in placed.circuit.elements}
    found = []
    for because in first.because:
        if _HARMLESS.match(because) or because.split(": ")[0] in circuits:
            continue
        words = _CITE.sub("", because)
        found.append(words if len(words) <= _LONG else words.split(" (")[0])
    fitted = dict.fromkeys(element.words for placed in group for element in placed.circuit.elements)
    return [*found[:2], *fitted]
