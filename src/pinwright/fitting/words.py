"""Plain words for what lines need and why a board cannot give it."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Protocol

from pinwright.fitting.lines import Asks

if TYPE_CHECKING:
    from pinwright.fitting.candidates import Candidate, Candidates

__all__ = ["explain", "listed", "needs_words"]

_NAMED = 6  # at most this many things are listed by name


class WishLike(Protocol):
    """A wish, as far as words need it."""

    @property
    def id(self) -> str: ...
    @property
    def words(self) -> str: ...
    @property
    def place(self) -> str: ...


def listed(names: Sequence[str], most: int = _NAMED) -> str:
    """Names with commas; a long list is cut with its count.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def needs_words(asks: Asks) -> str:
    """What kind of pin a line needs, in words."""
    needs = asks.needs
    if asks.signal in ("i2c", "spi", "uart", "i2s"):
        article = "a" if asks.signal == "uart" else "an"
        return f"{asks.role} of {article} {asks.signal.upper()} port"
    if asks.direction == "analog-in":
        return "an analog input" + (f" of {needs.adc_bits} bits" if needs.adc_bits else "")
    if asks.direction == "analog-out":
        return "a real analog output"
    if asks.signal == "touch":
        return "a touch input"
    if asks.signal == "onewire":
        return "a pin for a 1-Wire bus"
    if asks.signal == "pwm":
        low, high = needs.pwm_min_hz, needs.pwm_max_hz
        rate = f" at {low:g} Hz" if low == high and low else f" between {low:g} and {high:g} Hz" if low and high else ""
        return f"an output with PWM{rate}"
    if asks.direction == "out":
        return "an output" + (" for exact pulses" if needs.exact_pulses else "")
    if asks.direction in ("open-drain", "bidir"):
        return "a pin that can drive and let go" + (" with exact timing" if needs.exact_pulses else "")
    extra = [
        "with an interrupt" if needs.interrupt == "yes" else "",
        "that counts pulses" if needs.count_pulses else "",
        "that can wake the board" if needs.wake else "",
    ]
    return " ".join(["an input", *filter(None, extra)])


def explain(found: Candidates, wishes: Sequence[WishLike]) -> list[str]:
    """Chain of reasons for a conflict: who asks for what, what the board offers, and what follows."""
    ids = {wish.id for wish in wishes}
    nets = [number for number, net in enumerate(found.nets.nets) if f"line:{net.id}" in ids]
    others = [wish for wish in wishes if not wish.id.startswith("line:")]
    steps = [*_asking(found, nets), *(f"The brief wants {wish.words}{f' ({wish.place})' if wish.place else ''}." for wish in others)]
    reach: dict[str, Candidate] = {}
    for net in nets:
        for candidate in found.found[net]:
            if not candidate.is_hopeless and not candidate.blocked & ids:
                reach[candidate.place.name] = candidate
    name = found.board.board.name
    steps += _struck_out(found, nets, ids)
    if len(reach) < len(nets):
        steps.append(_shortage(name, nets, sorted(reach, key=_natural)))
    else:
        steps += _shared_shortage(found, nets)
    return steps


def _natural(name: str) -> tuple[object, ...]:
    """Sort key that puts GPIO4 before GPIO12."""
    return tuple((0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in re.split(r"(\d+)", name) if piece)


def _asking(found: Candidates, nets: Sequence[int]) -> Iterator[str]:
    """Group lines that ask for the same thing."""
    groups: dict[str, list[int]] = defaultdict(list)
    for net in nets:
        groups[needs_words(found.nets.nets[net].lines[0].asks)].append(net)
    for words, members in groups.items():
        items = [found.nets.nets[net] for net in members]
        places = ", ".join(dict.fromkeys(line.place for item in items for line in item.lines))
        verb = "each need" if len(items) > 1 else "needs"
        yield f"{listed([item.id for item in items])} {verb} {words} ({places})."


def _struck_out(found: Candidates, nets: Sequence[int], ids: set[str]) -> Iterator[str]:
    """Why the other pins do not serve: one sentence a reason, most frequent first."""
    reasons: dict[str, dict[str, str]] = defaultdict(dict)
    for net in nets:
        lock = found.nets.nets[net].lock if f"lock:{found.nets.nets[net].id}" in ids else ""
        for candidate in found.found[net]:
            if lock and not candidate.place.is_called(lock):
                continue
            for strike in candidate.strikes:
                wish = f"{strike.wish}:{found.nets.nets[net].id}" if strike.wish in ("quiet", "lock") else strike.wish
                if not strike.wish or wish in ids:
                    words = f"{strike.words}{f' [{strike.cite}]' if strike.cite else ''}"
                    reasons[words][candidate.place.name] = strike.rule
                    break
    ranked = sorted(reasons.items(), key=lambda item: (-len(item[1]), item[0]))
    for words, pins in ranked[:_NAMED]:
        names = sorted(pins, key=_natural)
        yield f"{'Each of ' if len(names) > 1 else ''}{listed(names)} {words}."
    rest = {pin for _, pins in ranked[_NAMED:] for pin in pins}
    if rest:
        yield f"{'One more pin is' if len(rest) == 1 else f'{len(rest)} more pins are'} out for other reasons."


def _shortage(board: str, nets: Sequence[int], reach: Sequence[str]) -> str:
    if not reach:
        return f"Because of all this, no pin of the {board} is left for {'it' if len(nets) == 1 else 'them'}."
    pins = f"only {listed(reach, 12)}" if len(reach) > 1 else f"only {reach[0]}"
    return f"Because of all this, {pins} of the {board} {'are' if len(reach) > 1 else 'is'} left for {len(nets)} lines."


def _shared_shortage(found: Candidates, nets: Sequence[int]) -> Iterator[str]:
    """What else the lines compete for: bus ports, timers, pulse engines, current."""
    name = found.board.board.name
    kinds = Counter(found.nets.buses[bus].kind for bus in {found.nets.nets[net].bus for net in nets} if bus >= 0)
    for kind, count in kinds.items():
        ports = [instance.id for instance in found.board.chip.bus if instance.kind == kind]
        yield f"They need {count} {kind.upper()} port{'s' if count > 1 else ''}; the {name} has {listed(ports) if ports else 'none'}."
    asks = [found.nets.nets[net].lines[0].asks for net in nets]
    if any(a.direction != "out" and a.signal not in kinds for a in asks):
        names = {place.pad.gpio: place.name for place in found.board.places}
        for instance in found.board.chip.bus:
            pads = [names[gpio] for gpio in instance.never_inputs if gpio in names]
            if instance.kind in kinds and pads:
                yield f"{instance.id} stops when {listed(pads)} is pulled low, so nothing may be read there while it works."
    if sum(a.signal == "pwm" for a in asks) > 1:
        pools = [
            f"{pool.id} (one frequency at a time)" if pool.timers == 1 else f"{pool.id} ({pool.timers} frequencies)"
            for pool in found.board.chip.pwm
        ]
        yield f"Lines on one PWM timer share its frequency; the {name} has {listed(pools)}."
    engines = [f"{engine.id} for {engine.count}" for engine in found.board.chip.engine]
    if any(a.needs.exact_pulses for a in asks):
        yield f"Exact pulses come from {listed(engines) if engines else 'nowhere'} on this chip."
    yield f"Because of all this, the {name} cannot carry them together."
