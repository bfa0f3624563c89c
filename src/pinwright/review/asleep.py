"""Deep sleep: loads whose pad lets go, lines that must wake the chip, and pulls that are lost while it sleeps."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import SleepState
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import Place
from pinwright.review.common import board_finding, found, has, joined_names, part_cite
from pinwright.review.loads import keeps_still, off_when_hi_z
from pinwright.review.model import Finding, Rule, Severity, Wire, Wiring

__all__ = ["RULES"]

STRAY_A = 1e-4
"""A part that needs this much is hardly switched by what a loose wire picks up (common practice, no source)."""


def _deep(wiring: Wiring) -> SleepState | None:
    """The deepest sleep of the chip, where the device sleeps and its document says what happens."""
    if not wiring.setting.sleeping:
        return None
    return next((state for state in wiring.view.chip.sleep if state.state == "deep-sleep"), None)


# ------------------------------------------------------------------------------ loads on pads that let go


def _released(wiring: Wiring) -> Iterator[Finding]:
    state = _deep(wiring)
    if state is None or state.pads == "held":
        return
    for wire in wiring.wires:
        if keeps_still(wire) and wire.line.asks.safe_level in ("high", "low"):
            yield from _let_go(wiring, wire, state)


def _can_hold(place: Place, state: SleepState) -> bool:
    return state.pads == "held-if-asked" and (not state.hold_pads or place.pad.gpio in state.hold_pads)


def _let_go(wiring: Wiring, wire: Wire, state: SleepState) -> Iterator[Finding]:
    asks, can_hold = wire.line.asks, _can_hold(wire.place, state)
    told = off_when_hi_z(wiring, wire)
    matters = asks.quiet == "must" or asks.floats == "unsafe"
    if told.verdict == "off" or not matters:
        return
    fact = f"in deep sleep {wire.place.name} lets go" + (" unless firmware tells it to hold its level" if can_hold else "")
    loose = f"then {wire.line.id}: {told.words.removeprefix('the pad lets go: ')}"
    safe = asks.safe_level
    to = "the part's supply" if safe == "high" else "ground"
    resistor = f"Fit about 10 kΩ from the line to {to}"
    hold = f"; or let the firmware set {wire.line.id} {safe} and hold the pad before it sleeps" if can_hold else ""
    effect = f"the part can switch on while the device sleeps; it {'must' if asks.quiet == 'must' else 'should'} stay {safe}"
    is_sure = asks.floats == "unsafe" or asks.i_in_a < STRAY_A
    severity: Severity = "refuse" if asks.quiet == "must" and not can_hold and is_sure else "caution"
    sources = [wiring.view.chip_cite(state), part_cite(wiring, wire)]
    yield found("sleep-released", severity, wire, [fact, loose, effect], f"{resistor}{hold}.", sources=sources)


# ------------------------------------------------------------------------------ lines that wake the chip


def _wakers(wiring: Wiring) -> list[Wire]:
    """Lines that must wake the chip on pins that can; the others are told by ``pin-no-wake``."""
    able = ("deep-sleep", "power-down")
    return [
        wire
        for wire in wiring.wires
        if wire.line.asks.needs.wake and any(word.startswith(able) and "output" not in word for word in wire.place.pad.wake)
    ]


def _wakes_at(asks: Asks) -> str:
    """Level that wakes: the other one than the line rests at; a contact rests where its resistor draws it.  Empty: nobody says."""
    pull = asks.pull_fitted.direction if asks.pull_fitted else asks.needs.pull
    if asks.voh is None and pull in ("up", "down"):
        return "low" if pull == "up" else "high"
    return {"high": "low", "low": "high"}.get(asks.rest, "")


def _wake_lines(wiring: Wiring) -> Iterator[Finding]:
    state = _deep(wiring)
    if state is None:
        return
    wires = _wakers(wiring)
    pads = list(dict.fromkeys(wire.place.pad.name for wire in wires))
    if state.wake_pins_max is not None and 0 < state.wake_pins_max < len(pads):
        yield _too_many(wiring, wires, state, state.wake_pins_max)
    elif state.wake_levels == "one-level-for-all":
        yield from _one_level(wiring, wires, state)


def _too_many(wiring: Wiring, wires: list[Wire], state: SleepState, most: int) -> Finding:
    names = joined_names(wire.line.id for wire in wires)
    because = [f"{names} must each wake the board", f"{wiring.view.chip.part} can wait for {most} pads at once: {state.wake_limits}"]
    fix = "Join contacts by one diode each onto one waking pin and give each a pin of its own to be told apart, or take another chip."
    return board_finding("sleep-wake-lines", "caution", because, fix, names, sources=[wiring.view.chip_cite(state)])


def _one_level(wiring: Wiring, wires: list[Wire], state: SleepState) -> Iterator[Finding]:
    """One pad may have a level of its own where the chip says so in words; all others share one level."""
    low = [wire for wire in wires if _wakes_at(wire.line.asks) == "low"]
    high = [wire for wire in wires if _wakes_at(wire.line.asks) == "high"]
    names = joined_names(wire.line.id for wire in wires) if wires else ""
    cite = [wiring.view.chip_cite(state)]
    alone = state.wake_alone
    apart = len(low) <= alone or (len(high) <= alone and (len(low) == 1 or state.wake_low == "any"))
    if low and high:
        because = [
            f"{joined_names(w.line.id for w in low)} wakes low, {joined_names(w.line.id for w in high)} wakes high",
            f"pads that wake {wiring.view.chip.part} together share one level: {state.wake_limits}",
        ]
        fix = "Turn the odd ones round (the contact to the other rail, its resistor too), or keep to the one pad with a level of its own."
        if apart:
            fix = "Let the firmware give the odd one the way of waking that has a level of its own."
        yield board_finding("sleep-wake-lines", "note" if apart else "caution", because, fix, names, sources=cite)
    elif len(low) > 1 and state.wake_low == "all":
        because = [
            f"{joined_names(w.line.id for w in low)} rest high and wake the board low",
            f"{wiring.view.chip.part} waits for all low together, not for any one: {state.wake_limits}",
        ]
        fix = (
            "Wire the contacts to the supply with resistors to ground, so that they wake high; or join them by one diode each onto one "
            "waking pin; or take a chip whose pads wake each by themselves."
        )
        apart = len(low) - alone <= 1
        if apart:
            fix = "Let the firmware wake by one of them in the way that has a level of its own, and by the other in the way that is shared."
        yield board_finding("sleep-wake-lines", "note" if apart else "caution", because, fix, names, sources=cite)


def _lost_pulls(wiring: Wiring) -> Iterator[Finding]:
    """A contact that rests on the chip's own pull, which sleep switches off: the open input wakes the chip by itself, or never."""
    state = _deep(wiring)
    if state is None or state.pulls == "kept":
        return
    for wire in _wakers(wiring):
        own = wire.circuit.of("internal pull")
        if own is None or "on the board" in own.words or has(wire.circuit, "pull-up", "pull-down") or wire.line.asks.pull_fitted:
            continue
        lost = state.pulls == "lost"
        fact = f"{wire.line.id} rests on the chip's own pull, and deep sleep switches it off"
        if not lost:
            fact += " unless firmware keeps it on"
        direction = "up" if _wakes_at(wire.line.asks) == "low" else "down"
        to = (
            "3.3 V"
            if direction == "up" and abs(wiring.view.board.logic_v - 3.3) < 0.05
            else "the supply"
            if direction == "up"
            else "ground"
        )
        yield found(
            "sleep-pull",
            "caution" if lost else "note",
            wire,
            [fact, f"{wire.place.name} then floats, and stray fields wake the board or the contact does not"],
            f"Fit 47 kΩ to 100 kΩ from the line to {to}" + ("." if lost else ", or have the firmware keep that pull on before it sleeps."),
            sources=[wiring.view.chip_cite(state)],
        )


RULES: tuple[Rule, ...] = (
    Rule(
        "sleep-released",
        "a load that must keep a level on a pad that lets go in deep sleep",
        "it switches on while the device sleeps",
        "sleep data of the chip, named in the finding; Kirchhoff",
        _released,
    ),
    Rule(
        "sleep-wake-lines",
        "lines that must wake a sleeping board: too many, or at levels that do not go together",
        "some of them do not wake it",
        "sleep data of the chip, named in the finding",
        _wake_lines,
    ),
    Rule(
        "sleep-pull",
        "a line that wakes the board and rests on a pull that sleep switches off",
        "the board wakes by itself, or never",
        "sleep data of the chip, named in the finding",
        _lost_pulls,
    ),
)
