"""Does a load stay still on this pin until the firmware is in charge?  Lines and circuits in the terms of ``powerup``."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.window import shown
from pinwright.facts.model import BootState, Onboard
from pinwright.fitting.interface.pieces import Circuit
from pinwright.fitting.interface.pulls import shifter_input_v
from pinwright.fitting.interface.rails import board_rail
from pinwright.fitting.judge import Mark, Strike
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Setting
from pinwright.powerup.proof import MODULE_SPREAD, RESISTOR_SPREAD, USUAL_PULL_OHM, Load, Proof, Pull, prove

__all__ = ["REPORTED", "alike_at_power_up", "cite_of", "load_of", "proofs", "pulls_at", "quiet_verdict"]

REPORTED = "quiet-reported"
"""Rule of what people tell of a pad and no document confirms: never chosen for a line that must stay still, but a maker may fix it."""
OFF_V = 0.3
"""A base or gate this near its safe rail is off (common practice, no source)."""
ON_V = 1.0
"""One this far from it is on (common practice, no source)."""
_WEIGHTS = {"pulses": 3, "on": 3, "undefined": 1}


def load_of(asks: Asks, board: BoardView, circuit: Circuit) -> Load:
    """What the part asks of its line while nobody commands it; behind a level shifter, what the shifter's input asks."""
    logic_v = board.board.logic_v
    if circuit.of("level shifter") and asks.direction == "out":
        # No current of the part's reaches the pin, and an input that floats gives any level at the output.
        safe, other = shifter_input_v(asks.safe_level, logic_v), shifter_input_v("high" if asks.safe_level == "low" else "low", logic_v)
        low = asks.safe_level == "low"
        return Load(asks.safe_level, safe if low else logic_v - safe, logic_v - other if low else other, is_on_undriven=True)
    rail_v = asks.rail.at(logic_v)
    off, on = OFF_V, ON_V
    if asks.safe_level == "high":
        off, on = logic_v - OFF_V, logic_v - ON_V
        if asks.vih is not None and not _has_stage(asks):
            off = asks.vih.at(logic_v if asks.vih.of == "VDD" else rail_v)
        if asks.vil is not None and not _has_stage(asks):
            on = asks.vil.at(logic_v if asks.vil.of == "VDD" else rail_v)
    elif not _has_stage(asks):
        if asks.vil is not None:
            off = asks.vil.at(logic_v if asks.vil.of == "VDD" else rail_v)
        if asks.vih is not None:
            on = asks.vih.at(logic_v if asks.vih.of == "VDD" else rail_v)
    staged = _has_stage(asks)
    takes = asks.i_in_a or (asks.load.i_a if asks.load is not None and asks.load.stage == "pin" else 0.0)
    return Load(asks.safe_level, off, on, takes, asks.floats == "safe" and not staged, staged or asks.floats == "unsafe")


def _has_stage(asks: Asks) -> bool:
    """Whether a transistor of ours stands before the part, whose own thresholds then do not matter."""
    return bool(asks.needs.driver_components)


def pulls_at(asks: Asks, place: Place, board: BoardView, circuit: Circuit) -> list[Pull]:
    """Every resistor at the pin: on the board, in the circuit, in the part."""
    logic_v = board.board.logic_v
    found = []
    for item in place.onboard:
        if item.what in ("pull-up", "pull-down"):
            ohm = item.ohm or USUAL_PULL_OHM
            found.append(_pull(item.what.removeprefix("pull-"), ohm, MODULE_SPREAD, logic_v, f"a {item.what} of {shown(ohm)} on the board"))
        elif item.what in ("led", "rgb-led") and item.active and item.series_ohm:
            # An LED takes no current until its forward voltage: beyond, it draws the line towards its other end.
            direction = "down" if item.active == "high" else "up"
            found.append(_pull(direction, item.series_ohm + 20e3, 0.5, logic_v, "the lamp on the board"))
    for element in circuit.elements:
        if element.kind in ("pull-up", "pull-down") and element.ohm:
            direction = element.kind.removeprefix("pull-")
            found.append(_pull(direction, element.ohm, RESISTOR_SPREAD, logic_v, f"the {element.kind} of {shown(element.ohm)}"))
    if asks.pull_fitted is not None:
        ohm = asks.pull_fitted.ohm or USUAL_PULL_OHM
        rail = asks.rail.at(logic_v) if asks.pull_fitted.direction == "up" else 0.0
        found.append(
            _pull(
                asks.pull_fitted.direction, ohm, MODULE_SPREAD, rail, f"the pull-{asks.pull_fitted.direction} of {shown(ohm)} in the part"
            )
        )
    return found


def _pull(direction: str, ohm: float, spread: float, rail_v: float, words: str) -> Pull:
    return Pull(direction, ohm * (1 - spread), ohm * (1 + spread), rail_v, words)


def proofs(asks: Asks, place: Place, board: BoardView, setting: Setting, circuit: Circuit, deciding: bool = False) -> list[Proof]:
    """Every cell of the line's timeline, or only those that decide about the pin."""
    load, pulls = load_of(asks, board, circuit), pulls_at(asks, place, board, circuit)
    return prove(load, place, board.chip, board_rail(board), pulls, setting.sleeping, deciding)


def quiet_verdict(asks: Asks, place: Place, board: BoardView, setting: Setting, circuit: Circuit) -> Iterator[Strike | Mark]:
    """Strikes where a line that must stay still is not proved still, marks where it only should."""
    if asks.quiet == "no" or asks.safe_level == "any" or not asks.drives:
        return
    yield from _moved_on_board(asks, place, board)
    cells = proofs(asks, place, board, setting, circuit, deciding=True)
    moved = list({proof.words: proof for proof in reversed(cells) if not proof.is_safe}.values())[::-1]
    if asks.quiet == "must":
        for proof in moved:
            words = f"{_WHEN[proof.phase]} {proof.words}"
            if proof.phase == "upload":
                yield Mark("quiet-upload", f"{words}; the part may move while firmware is uploaded", 1, cite_of(proof, place, board))
            elif isinstance(proof.stretch.fact, BootState) and proof.stretch.fact.reported:
                yield Strike(REPORTED, f"{words}; fix the pin by hand to take it all the same", "quiet", cite_of(proof, place, board))
            else:
                strike = f"{words}, and this line must stay {asks.safe_level} until then"
                yield Strike(_RULES[proof.verdict], strike, "quiet", cite_of(proof, place, board))
        wrong = {"low": "pulled up", "high": "pulled down"}.get(asks.safe_level)
        held = next((proof for proof in cells if proof.is_safe and proof.stretch.does == wrong), None)
        if held is not None:
            yield Mark("quiet-held", f"{_WHEN[held.phase]} {held.words}", 1, cite_of(held, place, board))
    elif moved:
        worst = max(moved, key=lambda proof: _WEIGHTS[proof.verdict] - (proof.phase == "upload"))
        words = f"{_WHEN[worst.phase]} {worst.words}; the part may twitch"
        yield Mark(_RULES[worst.verdict], words, _WEIGHTS[worst.verdict], cite_of(worst, place, board))


_RULES = {"pulses": "quiet-noisy", "on": "quiet-driven", "undefined": "quiet-undefined"}
_WHEN = {
    "reset": "at reset",
    "boot": "while it boots",
    "set-up": "until firmware sets it",
    "asleep": "asleep",
    "upload": "during an upload",
}


def alike_at_power_up(board: BoardView) -> list[int]:
    """A number for each place; places with the same number do the same at power-up and rest on the same documents."""
    numbers: dict[tuple[object, ...], int] = {}
    found = []
    for place in board.places:
        holds = tuple(not state.hold_pads or place.pad.gpio in state.hold_pads for state in board.chip.sleep)
        pad = place.pad
        key = (pad.boot, place.onboard, holds, pad.src, pad.where)
        found.append(numbers.setdefault(key, len(numbers)))
    return found


def _moved_on_board(asks: Asks, place: Place, board: BoardView) -> Iterator[Strike | Mark]:
    """Something on the board that pulls the line to the level that switches the part on."""
    for item in place.onboard:
        low = item.what in ("auto-program", "button") and item.active != "high"
        moves = item.drives or (low and asks.safe_level == "high")
        if item.what == "bootloader" or not moves:
            continue
        words = f"has a {item.what} on the board that can move it"
        if asks.quiet == "must":
            yield Strike(
                "quiet-on-board", f"{words}, and this line must stay {asks.safe_level} until then", "quiet", board.board_cite(item)
            )
        else:
            yield Mark("quiet-on-board", f"{words}; the part may twitch", 2, board.board_cite(item))


def cite_of(proof: Proof, place: Place, board: BoardView) -> str:
    """Where the claim behind a cell comes from."""
    fact = proof.stretch.fact
    if isinstance(fact, Onboard):
        return board.board_cite(fact)
    if isinstance(fact, BootState) and fact.src:
        return board.chip_cite(fact)
    return board.column_cite("boot", place.pad)
