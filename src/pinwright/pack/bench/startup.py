"""Steps for what pins do without firmware: in reset, while it boots, until it is set, asleep, at a restart, during an upload."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.fitting.plan import Placed
from pinwright.fitting.timeline import PHASE_WORDS, Cell, Row, timeline
from pinwright.pack.bench.analog import volts_before_firmware
from pinwright.pack.bench.causes import label, of_pin
from pinwright.pack.bench.levels import resting
from pinwright.pack.bench.mesh import METER_OHM
from pinwright.pack.bench.model import Expect, Meter, Phase, Step
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.walk import must_stay_off
from pinwright.pack.build.model import Terminal
from pinwright.powerup.phases import leak_of_pin
from pinwright.powerup.proof import Proof

__all__ = ["control_of", "startup_steps"]

WITH_METER = "bounds with and without a meter of 10 MΩ, over all tolerances and the pad's leakage"
MOMENT_S = 0.5
"""Shorter than this a meter shows nothing of it [s] (common practice, no source)."""


def startup_steps(rig: Rig, phase: Phase) -> Iterator[Step]:
    """One step for every pin with a cell in a phase of the power-up timeline.

    Parameters
    ----------
    rig : the build [-]
    phase : any of the timeline but running [-]
    """
    rows = {row.line: row for row in timeline(rig.build.plan, rig.build.job.setting)}
    pins: dict[Terminal, list[Row]] = {}
    for placed in rig.build.plan.placed:
        pin = rig.pins.get(placed.line.id)
        if pin is not None and any(cell.phase == phase for cell in rows[placed.line.id].cells):
            pins.setdefault(pin, []).append(rows[placed.line.id])
    do, can_hold = _how(rig, phase)
    for pin, found in pins.items():
        yield _step(rig, phase, pin, found, do, can_hold)


def control_of(rig: Rig, placed: Placed) -> Terminal | None:
    """Where a load takes its command: gate or base of its transistor, input of its stage or shifter, else the part's own terminal.

    Parameters
    ----------
    rig : the build [-]
    placed : its line [-]
    """
    line = placed.line.id
    for item in rig.pieces(line, "npn", "nmos", "stage"):
        return Terminal(item.ref, item.terminals[0])
    pin_net = rig.net(rig.pins.get(line))
    shifters = {item.ref for item in rig.build.items if item.symbol == "shifter"}
    at = next((t for t in (pin_net.terminals if pin_net is not None else ()) if t.item in shifters), None)
    return at or rig.ends.get(line)


def _how(rig: Rig, phase: Phase) -> tuple[str, bool]:
    """How to bring a phase about, and whether it can be held for a meter."""
    board = rig.build.plan.view.board
    buttons = [item for item in board.onboard if item.what == "button"]
    reset_pin = next((pin.label for pin in board.header if pin.power.upper() == "RST"), "")
    by_button = any("reset" in item.effect.casefold() and "loader" not in item.effect.casefold().split("reset")[0] for item in buttons)
    hold = (
        "Press the reset button and keep it" if by_button else f"Join {reset_pin} to ground with a wire and leave it" if reset_pin else ""
    )
    if phase == "reset":
        return (f"{hold} while you measure.", True) if hold else ("Switch the supply on with the scope waiting for the edge.", False)
    if phase == "boot":
        return "Let reset go, or switch on, with the scope waiting for the edge.", False
    if phase == "set-up":
        return "Flash a program that touches no pin (empty setup and loop), let it run.", True
    if phase == "asleep":
        return "Let the firmware go to deep sleep; wait until the current falls.", True
    if phase == "restart":
        return (
            f"{hold}, with the firmware at work before." if hold else "Switch off and on while the firmware works, scope waiting."
        ), bool(hold)
    return "Bring the board into its loader as for an upload, and wait there.", True


def _step(rig: Rig, phase: Phase, pin: Terminal, rows: list[Row], do: str, can_hold: bool) -> Step:
    lines = [rig.placed[row.line] for row in rows]
    leading = next((p for p in lines if must_stay_off(p)), lines[0])
    cell = next(c for c in rows[lines.index(leading)].cells if c.phase == phase)
    expects = [e for number, proof in enumerate(_apart(cell)) for e in _expects(rig, leading, pin, proof, number, can_hold)]
    is_fast = all(expect.meter == "scope only" for expect in expects)
    said = [proof.words if cell.verdict != "-" else f"the pad: {proof.stretch.does}" for proof in _apart(cell)]
    why = [f"timeline, {PHASE_WORDS[cell.phase]}: {words}" for words in said]
    cautions = tuple(
        f"{row.line} {row.keeps}, and may not here: leave its load unplugged in this phase"
        for row in rows
        if row.keeps and any(c.phase == phase and c.verdict not in ("off", "obeys", "-") for c in row.cells)
    )
    keeps = next((row.keeps for row in rows if row.keeps), "")
    musts = [p.line.id for p in lines if must_stay_off(p)]
    if musts and any(e.quantity == "voltage" and e.low is None and e.high is None for e in expects):
        # The node floats (an input that is off while it is let go): no reading is wrong, so there is nothing to stop for.
        keeps = "no voltage to hold it against"
        cautions = (*cautions, f"{', '.join(musts)}: a meter proves nothing here, so the load stays unplugged in this step")
        musts = []
    return Step(
        "",
        phase,
        f"Pin {pin.name} ({', '.join(p.line.id for p in lines[:4])}{', …' if len(lines) > 4 else ''}){': ' + keeps if keeps else ''}",
        do,
        "scope" if is_fast else "voltmeter",
        lines=tuple(p.line.id for p in lines),
        nets=tuple(filter(None, (rig.net_id(pin),))),
        expects=tuple(expects),
        why=(*dict.fromkeys(why), WITH_METER, *cell.sources),
        cautions=cautions,
        stop=bool(musts),
    )


def _apart(cell: Cell) -> list[Proof]:
    """Proofs of a cell that differ in what the pad does."""
    return list({proof.stretch.does: proof for proof in reversed(cell.proofs)}.values())[::-1]


def _expects(rig: Rig, placed: Placed, pin: Terminal, proof: Proof, number: int, can_hold: bool) -> Iterator[Expect]:
    does = proof.stretch.does
    volts, when, words = _volts(rig, placed, proof)
    low, high, none = of_pin(rig, placed)
    meter: Meter = "shows"
    lasts = proof.stretch.duration_s
    if does == "noisy" or not can_hold or (lasts is not None and lasts < MOMENT_S) or (number > 0 and proof.phase == "restart"):
        meter = "scope only"
    elif volts is None and does != "obeys":
        meter = "not held"
    if volts is None and does != "obeys":
        shift = leak_of_pin(rig.build.plan.view.chip) * METER_OHM
        words = f"{words}: nothing holds this pin; a meter shows its own {shown(METER_OHM)} against leakage of up to {shown(shift, 'V')}"
    bounds = _bounds(volts)
    yield Expect(pin, rig.ground, when, "voltage", *bounds, "V", meter, words, low, high, none)
    control = control_of(rig, placed) if placed.line.asks.drives and placed.line.asks.quiet != "no" else None
    if control is None or control == pin or does == "obeys":
        return
    at = volts
    item = rig.build.by_ref.get(control.item)
    if at is not None and item is not None and item.symbol == "npn":
        at = Range(min(at.low, 0.9), min(at.high, 0.9))
    bounds = _bounds(at)
    verdict = {
        "off": "the load is off",
        "on": "the load is on",
        "undefined": "nobody can say whether the load is off",
        "pulses": "the load gets pulses",
    }
    says = verdict.get(proof.verdict, proof.verdict)
    yield Expect(
        control,
        rig.ground,
        when,
        "voltage",
        *bounds,
        "V",
        meter,
        f"{label(control, rig)}: {says}",
        low,
        high,
        none,
    )


def _bounds(volts: Range | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if volts is None else (volts.low, volts.high, volts.typ)


def _as_read(rig: Rig, placed: Placed) -> tuple[Range | None, str]:
    """Voltage of an input that firmware has set up, while its part is left alone [V], and while what."""
    if placed.line.asks.direction == "analog-in":
        return volts_before_firmware(rig, placed, "") or Range(0.0, rig.rail.high), "the pad stays an input"
    internal = placed.circuit.of("internal pull")
    pull = "" if internal is None or "on the board" in internal.words else "down" if "pull-down" in internal.words else "up"
    words, part = resting(rig, placed)
    return rig.pin_at_rest(placed, pull, part), f"the pad stays an input, {placed.line.part} {words}"


def _volts(rig: Rig, placed: Placed, proof: Proof) -> tuple[Range | None, str, str]:
    """Voltage at the pin in one stretch [V], while what, and in words."""
    asks, does = placed.line.asks, proof.stretch.does
    if does == "obeys" and not asks.drives:
        return *_as_read(rig, placed), "as firmware set it"
    if does == "obeys":
        volts = {"low": rig.gives_low(asks.i_in_a), "high": rig.gives_high(asks.i_in_a)}.get(asks.safe_level if asks.drives else "")
        words = "as firmware left it (its safe level)" if volts is not None else "high or low, as firmware left it"
        return volts or Range(0.0, rig.rail.high), "the pad keeps its level", words
    if does == "noisy":
        return Range(0.0, rig.rail.high), "the pad carries signals", "between ground and supply, changing"
    if does in ("high", "low"):
        return proof.v, f"the pad is driven {does}", f"driven {does}"
    pull = does.removeprefix("pulled ") if does.startswith("pulled") else ""
    state = f"the pad is {does}" if pull else "the pad lets go"
    if asks.direction == "analog-in":
        volts = volts_before_firmware(rig, placed, pull)
        if volts is None:
            return Range(0.0, rig.rail.high), state, "whatever the sensor gives; its law is not known"
        return volts, state, "whatever the sensor gives over its range"
    if asks.direction in ("in",):
        words, part = resting(rig, placed)
        found = rig.pin_at_rest(placed, pull, part)
        if found is not None and part is not None and words == "high or low":
            found = Range(min(found.low, 0.0), found.high)
        return found, f"{state}, {placed.line.part} {words}", f"{placed.line.part} {words}"
    found = rig.pin_at_rest(placed, pull)
    if found is not None and proof.v is not None:
        found = Range(min(found.low, proof.v.low), max(found.high, proof.v.high), found.middle)
    return (
        found if found is not None else proof.v,
        state,
        "held by the resistors on the line" if found is not None else "whatever it floats to",
    )
