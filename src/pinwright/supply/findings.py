"""Findings about the supply, in the review's own form: what does not hold, by how much, and what helps most."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from pinwright.circuits.batteries import CAUTION_LITHIUM, CAUTION_PRIMARY
from pinwright.circuits.cells import loaded_voltage
from pinwright.circuits.fuses import CAUTION_FUSE, fused_feed
from pinwright.circuits.heat import caution_for
from pinwright.circuits.holdup import burst_capacitor
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.fitting.rank import Job
from pinwright.review.common import PRACTICE, board_finding
from pinwright.review.model import Finding, Severity, Wiring

if TYPE_CHECKING:
    from pinwright.supply.rails import Stage
    from pinwright.supply.report import SupplyReport

__all__ = ["SUPPLY_RULES", "findings_of"]

FUSE_FROM_A = 1.0
"""A feed of this current or more gets a fuse of its own (common practice, no source)."""
BURST_S = 5e-3
"""A radio burst nobody gives a length for [s] (common practice, no source)."""

SUPPLY_RULES: dict[str, tuple[str, str]] = {
    "supply-entry": ("a source the board has no pin for", "the board does not start, or is destroyed"),
    "supply-source": ("a source that gives less than everything at once takes", "the board restarts when the radio sends or a load starts"),
    "supply-regulator": ("a regulator on the board that must carry more than it can", "its voltage sags, the board restarts"),
    "supply-headroom": ("a regulator whose input falls too low", "the logic voltage follows the source down"),
    "supply-heat": ("a regulator that gets too hot", "it shuts down, or burns a finger"),
    "supply-parts": ("parts that take more from a rail than the board leaves for them", "the rail sags for everybody"),
    "supply-sag": ("a battery whose inner resistance drops too much in a burst", "the board restarts although the battery is not empty"),
    "supply-rail": ("parts that need a voltage neither board nor source gives", "they need a supply of their own"),
    "supply-unknown": ("parts whose current nobody gives", "the budget is too small by what they take"),
    "supply-life": ("how long the battery lasts and what takes most of it", "what to change first"),
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


def _entry(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    board = wiring.view.board
    if report.entry.supply is not None or not board.supply:
        return
    # Where the brief says which pin, there is nothing left to choose.
    severity: Severity = "refuse" if job.file.brief.supply.pin else "caution"
    heat = f"; {_heat_from(report, wiring)}" if _heat_from(report, wiring) else ""
    hint = "Take a source within one of these ranges, or put a regulator (a buck or boost module) before the board."
    because = [f"{report.source.words} cannot feed the {board.name} directly", report.entry.because + heat]
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
    biggest = max((c for c in report.consumers if c.rail not in report.others), key=lambda c: c.draw.burst, default=None)
    who = f"{biggest.name} takes {shown(biggest.draw.burst, 'A')} of it" if biggest else ""
    because = [f"everything at once takes {shown(burst, 'A')} from {report.source.words}", f"it gives {shown(can, 'A')}", who]
    if awake > can:
        yield _finding(
            "supply-source", "refuse", because, "Take a stronger source, or feed the strongest load from a supply of its own.", numbers
        )
    elif burst > can:
        fix = f"Take a stronger source, or carry the bursts with a capacitor of {_capacitor(report)} at the board's supply pin."
        yield _finding("supply-source", "caution", because, fix, numbers)


def _capacitor(report: SupplyReport) -> str:
    """Bulk capacitor that carries what the source does not give, as words."""
    lacking = max(report.draw.burst - (report.source.i_max_a or 0.0), 1e-3)
    try:
        farads = burst_capacitor(lacking, BURST_S, 0.3, 1e6)
    except OutOfRange:
        return "some hundred µF"
    return f"at least {shown(farads, 'F')}"


def _regulators(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    for stage in report.stages:
        yield from _one_regulator(stage, wiring)


def _one_regulator(stage: Stage, wiring: Wiring) -> Iterator[Finding]:
    regulator, cite = stage.regulator, wiring.view.board_cite(stage.regulator)
    rail = f"the regulator from {regulator.takes} to {regulator.gives}"
    if stage.draw.burst > regulator.i_max_a:
        worst: Severity = "refuse" if stage.draw.awake > regulator.i_max_a else "caution"
        because = [f"{rail} must carry {shown(stage.draw.burst, 'A')} in a burst", f"it is made for {shown(regulator.i_max_a, 'A')}"]
        numbers = {"regulator": f"{shown(regulator.i_max_a - stage.draw.burst, 'A')} left of {shown(regulator.i_max_a, 'A')}"}
        yield _finding("supply-regulator", worst, because, "Feed strong parts before it, or from a supply of their own.", numbers, cite)
    if stage.headroom_v is not None and stage.headroom_v < 0:
        drop = f"{regulator.dropout_v:.2g} V of dropout"
        because = [
            f"{rail} needs {regulator.v_out_v + (regulator.dropout_v or 0.0):.3g} V ({drop})",
            f"its input falls to {stage.v_in.low:.3g} V",
        ]
        numbers = {"headroom": f"{shown(stage.headroom_v, 'V')}: the output falls by as much at full load"}
        fix = "Take a source that stays higher, or a board whose regulator needs less."
        yield _finding("supply-headroom", "caution", because, fix, numbers, cite)
    if stage.junction_c is not None and stage.junction_c > stage.junction_max_c - 15:
        worst = "caution"
        because = [
            f"{rail} turns {shown(stage.p_w, 'W')} into heat while the device is awake",
            f"its junction reaches {stage.junction_c:.0f} °C at the hottest surroundings, {stage.junction_max_c:.0f} °C is the most",
        ]
        numbers = {"heat": f"{stage.junction_max_c - stage.junction_c:.0f} K left"}
        fix = f"Feed it with less voltage, or take current off it. {caution_for(stage.junction_c - 20)}".strip()
        yield _finding("supply-heat", worst, because, fix, numbers, cite)


def _left_for_parts(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    board = wiring.view.board
    chip_and_board = {wiring.view.chip.part}
    parts = [c for c in report.consumers if c.rail == "logic" and c.name not in chip_and_board and " on " not in c.name]
    takes = sum(c.draw.burst for c in parts)
    pin = next(
        (s for s in board.supply if s.direction != "in" and s.v_max_v and abs(s.v_max_v - board.logic_v) < 0.35 and s.i_left_for_parts_a),
        None,
    )
    if pin is None or pin.i_left_for_parts_a is None or takes <= pin.i_left_for_parts_a:
        return
    because = [
        f"the parts on {pin.pin} take {shown(takes, 'A')} together",
        f"the board leaves {shown(pin.i_left_for_parts_a, 'A')} for parts there",
    ]
    numbers = {"left": f"{shown(pin.i_left_for_parts_a - takes, 'A')}"}
    fix = "Feed the strongest of them from a regulator of their own, with the grounds joined."
    yield _finding("supply-parts", "caution", because, fix, numbers, wiring.view.board_cite(pin))


def _sag(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    if not report.source.r_ohm or not report.source.is_battery:
        return
    sag = report.draw.burst * report.source.r_ohm
    low = loaded_voltage(report.source.v.middle, report.draw.burst, report.source.r_ohm) if sag < report.source.v.middle else 0.0
    needs = _least_v(report, wiring)
    if low >= needs:
        return
    because = [
        f"a burst of {shown(report.draw.burst, 'A')} drops {shown(sag, 'V')} in the battery itself",
        f"that leaves {low:.3g} V of {report.source.v.middle:.3g} V, and the board needs {needs:.3g} V",
    ]
    try:
        farads = burst_capacitor(report.draw.burst, BURST_S, max(report.source.v.middle - needs, 0.05), report.source.r_ohm)
        fix = f"Put at least {shown(farads, 'F')} across the supply, or take a stronger cell."
    except OutOfRange:
        fix = "Take a stronger cell."
    yield _finding("supply-sag", "caution", because, fix, {"sag": f"{shown(low - needs, 'V')} left"})


def _least_v(report: SupplyReport, wiring: Wiring) -> float:
    """Lowest voltage the board works from [V]: its regulator's need, or the pin's own limit where that steps up as well."""
    if not report.stages:
        return _chip_min_v(wiring)
    first = report.stages[0].regulator
    if first.dropout_v is not None:
        return first.v_out_v + first.drop_v + first.dropout_v
    return (report.entry.supply.v_min_v or 0.0) if report.entry.supply else 0.0


def _chip_min_v(wiring: Wiring) -> float:
    return wiring.view.chip.electrical.vdd_min_v.value or 0.0


def _rails(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    for rail in report.others:
        who = ", ".join(dict.fromkeys(c.name for c in report.consumers if c.rail == rail))
        current = report.rails[rail]
        because = [f"{who} runs at {rail}", f"neither {report.source.words} nor the board gives that"]
        fix = f"Add a supply of {rail} and at least {shown(max(current.burst * 1.25, 0.1), 'A')}, its ground joined with the board's."
        yield _finding(
            "supply-rail", "note", because, fix, {"current": f"{shown(current.awake, 'A')}, at first {shown(current.burst, 'A')}"}
        )


def _unknown(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    names = [c.name for c in report.consumers if not c.known]
    if names:
        because = [f"nobody gives the current of {', '.join(names)}", "the budget counts nothing for them"]
        yield _finding("supply-unknown", "note", because, 'Say it in the brief: current = "20 mA".')


def _life(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    life = report.endurance
    if life is None:
        if report.source.is_battery and report.source.capacity_ah is None:
            because = [f"nobody gives the charge of {report.source.words}", "how long it lasts cannot be told"]
            yield _finding("supply-life", "note", because, 'Say it in the brief: capacity = "2000 mAh".')
        return
    because = [f"{report.source.words} lasts {life.words}", life.advice]
    shares = {name: f"{share * 100:.0f} %" for name, share in life.shares[:4]}
    yield _finding("supply-life", "note", because, "Change the biggest consumer first.", shares)
    _, biggest = life.shares[0] if life.shares else ("", 0.0)
    chip = dict(life.shares).get(wiring.view.chip.part, 0.0)
    if job.setting.sleeping and life.shares and life.shares[0][0] != wiring.view.chip.part and biggest > 0.5:
        said = [life.advice, f"the chip itself takes {chip * 100:.0f} %"]
        yield _finding("supply-life", "caution", said, "Otherwise the battery goes into what does no work.", shares)


def _wire(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    if report.wire and report.wire_drop_v > 0.03 * report.source.v.middle:
        because = [
            f"{report.wire} loses {shown(report.wire_drop_v, 'V')} there and back in a burst",
            f"that is more than 3 % of {report.source.v.middle:.3g} V",
        ]
        yield _finding("supply-wire", "caution", because, "Take a thicker or a shorter wire.", {"drop": shown(report.wire_drop_v, "V")})


def _fuses(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    for rail, draw in report.rails.items():
        if rail == "logic" or draw.awake < FUSE_FROM_A:
            continue
        length = max((w.wire_m or 0.0 for w in job.file.brief.part), default=0.0) or 1.0
        volts = next(c.volts for c in report.consumers if c.rail == rail)
        try:
            feed = fused_feed(draw.awake, length, 0.05 * volts, job.setting.ambient_c[1])
        except OutOfRange as error:
            yield _finding("supply-fuse", "caution", [f"the {rail} feed carries {shown(draw.awake, 'A')}", str(error)], CAUTION_FUSE)
            continue
        because = [
            f"the {rail} feed carries {shown(draw.awake, 'A')}",
            f"{feed.wire.name} loses {shown(feed.drop_v, 'V')} over {length:g} m there and back",
        ]
        fix = f"Fuse it with {feed.fuse_a:g} A close to the source. {CAUTION_FUSE}"
        yield _finding("supply-fuse", "caution", because, fix, {"fuse": f"allowed {feed.window.words}"})


def _cells(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    if report.source.is_lithium:
        yield _finding("supply-cells", "caution", [f"the device runs on {report.source.words}"], CAUTION_LITHIUM)
    elif report.source.capacity_ah is not None:
        yield _finding("supply-cells", "note", [f"the device runs on {report.source.words}"], CAUTION_PRIMARY)


_CHECKS: tuple[Callable[[SupplyReport, Wiring, Job], Iterator[Finding]], ...] = (
    _entry, _source, _regulators, _left_for_parts, _sag, _rails, _unknown, _life, _wire, _fuses, _cells,
)  # fmt: skip
