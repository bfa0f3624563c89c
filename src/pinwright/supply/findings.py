"""Findings about the supply, in the review's own form: what does not hold, by how much, and what helps most."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from pinwright.circuits.heat import caution_for
from pinwright.circuits.touch_voltage import CAUTION_LICENSED, limits
from pinwright.circuits.window import shown
from pinwright.fitting.rank import Job
from pinwright.review.common import PRACTICE, board_finding, joined_names
from pinwright.review.model import Finding, Severity, Wiring
from pinwright.supply.budget import DIVIDER
from pinwright.supply.bursts import bulk_capacitor, frames_a
from pinwright.supply.cells import capacity, cells, cycle, life, low, sag
from pinwright.supply.feeding import fuses, wire
from pinwright.supply.rails import SOURCE, feeder

if TYPE_CHECKING:
    from pinwright.facts.model import Board, BoardSupply
    from pinwright.supply.rails import Stage
    from pinwright.supply.report import SupplyReport

__all__ = ["SUPPLY_RULES", "findings_of"]

USB_V = (4.0, 5.5)
"""What a brief may call the voltage of USB without more [V]  [USB 2.0, section 7.2.2 and VBUS limits, from memory]."""
DESTROYED = 1.1
"""A board fed this many times above its highest input is lost (our choice; absolute limits lie a few percent above the range)."""
CAPACITOR_DIP_V = 0.3
"""Dip a capacitor may leave while it helps a source out [V] (common practice, no source)."""

SUPPLY_RULES: dict[str, tuple[str, str]] = {
    "supply-voltage": ("a voltage the source cannot have, or one that kills", "a mistake in the brief, or mains"),
    "supply-entry": ("a source the board has no pin for", "the board does not start, or is destroyed"),
    "supply-source": ("a source that gives less than everything at once takes", "the board restarts when the radio sends or a load starts"),
    "supply-regulator": ("a regulator on the board that must carry more than it can", "its voltage sags, the board restarts"),
    "supply-headroom": ("a regulator whose input falls too low", "the logic voltage follows the source down"),
    "supply-heat": ("a regulator that gets too hot", "it shuts down, or burns a finger"),
    "supply-parts": ("parts that take more from a rail than the board leaves for them", "the rail sags for everybody"),
    "supply-sag": ("a battery whose inner resistance drops too much in a burst", "the board restarts although the battery is not empty"),
    "supply-low": ("a battery below what the board needs, even at rest", "the board never starts, or stops early"),
    "supply-rail": ("parts that need a voltage neither board nor source gives", "they need a supply of their own"),
    "supply-unknown": ("parts whose current nobody gives", "the budget is too small by what they take"),
    "supply-life": ("how long the battery lasts and what takes most of it", "what to change first"),
    "sleep-divider": ("a divider that drains the battery day and night", "the device sleeps, the divider does not"),
    "supply-charge": ("a charge one cell of that kind does not hold", "the device lasts shorter than the brief says"),
    "supply-cycle": ("a cycle of sleep without sleep", "the brief's times are not used"),
    "supply-wire": ("the wire from the source", "it loses voltage, or gets warm"),
    "supply-fuse": ("a strong feed without a fuse", "a short burns the wire"),
    "supply-cells": ("lithium or primary cells", "they can burn"),
}
"""What each finding looks for and why it matters."""


def findings_of(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """Every finding about the supply of a plan."""
    for check in _CHECKS:
        yield from check(report, wiring, job)


def _finding(
    rule: str, severity: Severity, because: list[str], fix: str, numbers: dict[str, str] | None = None, source: str = PRACTICE
) -> Finding:
    return board_finding(rule, severity, because, fix, numbers=numbers, sources=[source])


def _voltage(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """Mains at the supply, and USB of another voltage than USB has."""
    volts = job.file.brief.supply.voltage_v
    if volts is None:
        return
    if _kills(volts):
        highest = limits("general").ac_v
        because = [f"the brief feeds the device with {volts:g} V", f"above {highest:g} V AC a voltage kills, and no board takes it"]
        yield _finding("supply-voltage", "refuse", because, CAUTION_LICENSED, source="IEC 61140, IEC 60364-4-41")
    elif report.source.is_usb and not USB_V[0] <= volts <= USB_V[1]:
        because = [f"the brief says {volts:g} V from USB", "a USB socket of these boards gets 5 V (a brief without source means USB)"]
        fix = 'Write source = "adapter" (or "battery") for another voltage, or leave the voltage out.'
        yield _finding("supply-voltage", "refuse", because, fix, source="USB 2.0, section 7.2.2 (recalled)")


def _kills(volts: float | None) -> bool:
    """Whether a voltage nobody calls AC or DC is beyond extra-low voltage of either."""
    return volts is not None and volts > limits("general").ac_v


def _entry(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    board, source = wiring.view.board, report.source
    if report.entry.supply is not None or not board.supply or _kills(job.file.brief.supply.voltage_v):
        return
    ways = [s for s in board.supply if s.direction != "out"]
    highest = max((s.v_max_v or 0.0 for s in ways), default=0.0)
    lowest = min((s.v_min_v or 0.0 for s in ways), default=0.0)
    is_lost = source.v.middle > DESTROYED * highest > 0
    # Where the brief says which pin, there is nothing left to choose.
    severity: Severity = "refuse" if job.file.brief.supply.pin or is_lost else "caution"
    heat = f"; {_heat_from(report, wiring)}" if _heat_from(report, wiring) else ""
    hint = "Take a source within one of these ranges, or put a regulator (a buck or boost module) before the board."
    if is_lost:
        hint = f"It destroys the board: put a buck module before it and give its output as the source, or take at most {highest:g} V."
    elif source.v.middle < lowest:
        more = "more cells in series" if source.is_battery else "a source of more volts"
        hint = f"Take {more}, or put a boost module before the board."
    because = [f"{source.words} cannot feed the {board.name} directly", report.entry.because + heat]
    yield _finding("supply-entry", severity, because, hint, source=_supply_cite(wiring))


def _heat_from(report: SupplyReport, wiring: Wiring) -> str:
    """Heat a linear regulator to the logic rail would make of the source, as words."""
    logic_v = wiring.view.board.logic_v
    awake = report.rails.get("logic")
    over = report.source.v.high - logic_v
    if awake is None or over <= 2 or not any(r.efficiency is None for r in wiring.view.board.regulator):
        return ""
    return f"a linear regulator would turn {shown(over * awake.awake, 'W')} into heat"


def _supply_cite(wiring: Wiring) -> str:
    return wiring.view.board_cite(wiring.view.board.supply[0])


def _source(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    can = report.source.i_max_a
    if can is None:
        return
    burst, awake = report.draw.burst, report.draw.awake
    numbers = {"source": f"{shown(burst, 'A')} in a burst, {shown(awake, 'A')} awake, against {shown(can, 'A')}"}
    by_name: dict[str, float] = {}
    for consumer in report.fed:
        by_name[consumer.name] = by_name.get(consumer.name, 0.0) + consumer.draw.burst
    because = [f"everything at once takes {shown(burst, 'A')} from {report.source.words}", f"it gives {shown(can, 'A')}"]
    if by_name:
        name = max(by_name, key=lambda each: by_name[each])
        because.append(f"{name} alone takes {shown(by_name[name], 'A')} at its own voltage")
    if awake > can:
        yield _finding(
            "supply-source", "refuse", because, "Take a stronger source, or feed the strongest load from a supply of its own.", numbers
        )
    elif burst > can:
        lasts = burst - frames_a(report, job)  # a servo or a motor starts for longer than a capacitor helps
        farads = bulk_capacitor(burst - can, CAPACITOR_DIP_V) if lasts <= can else None
        more = (
            f", or carry the radio's frames with a capacitor of at least {shown(farads, 'F')} at the board's supply pin" if farads else ""
        )
        yield _finding("supply-source", "caution", because, f"Take a stronger source{more}.", numbers)


def _regulators(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    for stage in (*report.stages, *report.side_stages):
        yield from _one_regulator(stage, report, wiring)


def _one_regulator(stage: Stage, report: SupplyReport, wiring: Wiring) -> Iterator[Finding]:
    regulator, cite = stage.regulator, wiring.view.board_cite(stage.regulator)
    rail = f"the regulator from {regulator.takes} to {regulator.gives}"
    if stage.draw.burst > regulator.i_max_a:
        # Parts beside the logic rail may get a regulator of their own; the board itself works.
        is_main = stage in report.stages
        worst: Severity = "refuse" if is_main and stage.draw.awake > regulator.i_max_a else "caution"
        because = [f"{rail} must carry {shown(stage.draw.burst, 'A')} in a burst", f"it is made for {shown(regulator.i_max_a, 'A')}"]
        numbers = {"regulator": f"{shown(regulator.i_max_a - stage.draw.burst, 'A')} left of {shown(regulator.i_max_a, 'A')}"}
        yield _finding("supply-regulator", worst, because, "Feed strong parts before it, or from a supply of their own.", numbers, cite)
    if stage.headroom_v is not None and stage.headroom_v < 0:
        yield from _headroom(stage, stage.headroom_v, report, wiring)
    if stage.junction_c is not None and stage.junction_c > stage.junction_max_c - 15:
        worst = "caution"
        because = [
            f"{rail} turns {shown(stage.p_w, 'W')} into heat while the device is awake",
            f"its junction reaches {stage.junction_c:.0f} °C at the hottest surroundings, {stage.junction_max_c:.0f} °C is the most",
        ]
        numbers = {"heat": f"{stage.junction_max_c - stage.junction_c:.0f} K left"}
        fix = f"Feed it with less voltage, or take current off it. {caution_for(stage.junction_c - 20)}".strip()
        yield _finding("supply-heat", worst, because, fix, numbers, cite)


def _headroom(stage: Stage, headroom_v: float, report: SupplyReport, wiring: Wiring) -> Iterator[Finding]:
    """A regulator whose input falls too low: a note where the chip works on, for then only the rail follows the source down."""
    regulator = stage.regulator
    falls_v = max(regulator.v_out_v + headroom_v, 0.0)
    least_v = wiring.view.chip.electrical.vdd_min_v.value
    lost = [f"{shown(stage.wire_drop_v, 'V')} in the wire"] if stage.wire_drop_v else []
    lost += [f"{shown(regulator.drop_v, 'V')} in the diode or switch before it"] if regulator.drop_v else []
    arrives = f", less {' and '.join(lost)}: {stage.v_arrives_v:.3g} V arrive" if lost else ""
    because = [
        f"the regulator from {regulator.takes} to {regulator.gives} needs {regulator.v_out_v + (regulator.dropout_v or 0.0):.3g} V "
        f"({regulator.v_out_v:g} V and {regulator.dropout_v:.2g} V of dropout at full load)",
        f"its input falls to {stage.v_in.low:.3g} V{arrives}",
    ]
    is_logic = bool(report.stages) and stage is report.stages[-1]
    holds = is_logic and least_v is not None and falls_v >= least_v
    if is_logic and least_v is not None:
        because.append(f"the {regulator.v_out_v:g} V rail falls to {falls_v:.3g} V, the chip works from {least_v:g} V")
    numbers = {"headroom": f"{shown(headroom_v, 'V')}: the output falls by as much at full load"}
    fix = "Take a source that stays higher, or a board whose regulator needs less."
    severity: Severity = "note" if holds else "caution"
    yield _finding("supply-headroom", severity, because, fix, numbers, wiring.view.board_cite(regulator))


def _left_for_parts(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """Every pin that gives a rail, against the parts that hang on it."""
    board = wiring.view.board
    parts = {device.name for device in job.nets.devices}
    hanging = [c for c in report.fed if c.name in parts or c.words == "V / R"]
    strongest: dict[float, BoardSupply] = {}
    for pin in board.supply:
        volts = _pin_v(pin, board)
        if volts is None or pin.direction == "in" or pin.i_left_for_parts_a is None or pin.pin == report.entry.pin:
            continue
        if volts not in strongest or pin.i_left_for_parts_a > (strongest[volts].i_left_for_parts_a or 0.0):
            strongest[volts] = pin
    for volts, pin in strongest.items():
        left = pin.i_left_for_parts_a or 0.0
        here = [c for c in hanging if abs(c.volts - volts) < NEAR_V]
        if report.entry.pin.casefold() != "usb":  # what hangs on the source itself takes nothing from the board
            here = [c for c in here if feeder(c, board, report.source, report.entry.pin) != SOURCE]
        takes = sum(c.draw.burst for c in here)
        if takes <= left:
            continue
        because = [f"the parts on {pin.pin} take {shown(takes, 'A')} together", f"the board leaves {shown(left, 'A')} for parts there"]
        fix = "Feed the strongest of them from a regulator of their own, with the grounds joined."
        cite = wiring.view.board_cite(pin)
        yield _finding("supply-parts", "caution", because, fix, {"left": shown(left - takes, "A")}, cite)


NEAR_V = 0.35
"""Parts of a rail differ from its nominal voltage by less than this (common practice, no source)."""


def _pin_v(pin: BoardSupply, board: Board) -> float | None:
    """Voltage of a pin that gives one: its regulator's, or 5 V from the USB socket [V]."""
    made = next((r.v_out_v for r in board.regulator if r.gives.casefold() == pin.pin.casefold()), None)
    if made is not None:
        return made
    low_v, high_v = pin.v_min_v or 0.0, pin.v_max_v or 0.0
    return 5.0 if low_v <= 5.0 <= high_v else (high_v if low_v == high_v and high_v else None)


def _rails(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    for rail in report.others:
        names = list(dict.fromkeys(c.name for c in report.consumers if c.rail == rail))
        current = report.rails[rail]
        because = [
            f"{joined_names(names)} {'runs' if len(names) == 1 else 'run'} at {rail}",
            f"neither {report.source.words} nor the board gives that",
        ]
        fix = f"Add a supply of {rail} and at least {shown(max(current.burst * 1.25, 0.1), 'A')}, its ground joined with the board's."
        at_first = f", at first {shown(current.burst, 'A')}" if current.burst > current.awake * 1.001 else ""
        yield _finding("supply-rail", "note", because, fix, {"current": f"{shown(current.awake, 'A')}{at_first}"})


def _unknown(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    names = [c.name for c in report.consumers if not c.known]
    if names:
        because = [f"nobody gives the current of {', '.join(names)}", "the budget counts nothing for them"]
        yield _finding("supply-unknown", "note", because, 'Say it in the brief: current = "20 mA".')


LEAST_DIVIDER_A = 50e-6
"""A divider that takes less is a matter of taste (our choice: two or three months of a small cell)."""


def _dividers(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """Dividers that take more from a battery than the sleeping chip does."""
    if not (job.setting.sleeping and report.source.is_battery):
        return
    chip = sum(c.draw.asleep for c in report.consumers if c.name == wiring.view.chip.part)
    for divider in (c for c in report.consumers if c.name.startswith(DIVIDER)):
        amps = divider.draw.asleep
        if amps < LEAST_DIVIDER_A or amps < chip:
            continue
        because = [
            f"the {divider.name} takes {shown(amps, 'A')} all the time, also while the device sleeps",
            f"the chip itself takes {shown(chip, 'A')} in deep sleep",
        ]
        fix = "Take ten times the resistances and a capacitor of 100 nF at the pin, or switch the divider off between readings."
        yield _finding("sleep-divider", "caution", because, fix, {"current": f"{shown(amps, 'A')} (V / R)"}, "Ohm's law")


_CHECKS: tuple[Callable[[SupplyReport, Wiring, Job], Iterator[Finding]], ...] = (
    _voltage, _entry, _source, _regulators, _left_for_parts, low, sag, _rails, _unknown, life, cycle, capacity, _dividers,
    wire, fuses, cells,
)  # fmt: skip
