"""The whole supply of a plan: source, regulators, rails, endurance, and the findings that follow."""

from __future__ import annotations

from dataclasses import dataclass

from pinwright.circuits.ampacity import thinnest
from pinwright.circuits.wires import cable_drop
from pinwright.errors import OutOfRange
from pinwright.facts.model import Board
from pinwright.fitting.rank import Job
from pinwright.review.model import Finding, Wiring
from pinwright.supply.budget import Consumer, Draw, consumers, total
from pinwright.supply.endurance import Endurance, endurance_of
from pinwright.supply.rails import Entry, Stage, behind_logic, entry_of, source_draw, stages_of
from pinwright.supply.source import Source, source_of

__all__ = ["SupplyReport", "supply_of"]


@dataclass(frozen=True, slots=True)
class SupplyReport:
    """Everything about the supply of one wiring; ``rails`` sums the consumers by rail, ``others`` are rails of their own supply."""

    source: Source
    entry: Entry
    consumers: tuple[Consumer, ...]
    stages: tuple[Stage, ...]
    draw: Draw
    rails: dict[str, Draw]
    others: tuple[str, ...]
    wire: str
    wire_drop_v: float
    endurance: Endurance | None
    findings: tuple[Finding, ...]


def supply_of(wiring: Wiring, job: Job) -> SupplyReport:
    """Work out the supply of a wiring.  Never raises for what a brief asks: what cannot be becomes a finding."""
    from pinwright.supply.findings import findings_of

    wish, board = job.file.brief.supply, wiring.view.board
    source = source_of(wish, job.catalogue)
    entry = entry_of(board, source, wish.pin or "")
    found = consumers(wiring, job)
    usual = source_draw(stages_of(board, entry, source, found, job.setting.ambient_c[1]), found, source, board)
    wire, drop = _wire(wish.wire_m or 0.0, usual.burst, job.setting.ambient_c[1])
    stages = stages_of(board, entry, source, found, job.setting.ambient_c[1], drop)
    draw = source_draw(stages, found, source, board)
    names = dict.fromkeys(c.rail for c in found)
    rails = {name: total(c for c in found if c.rail == name) for name in names}
    others = _others(found, source, stages, entry, board)
    fed = [c for c in found if c.rail not in others]
    endurance = endurance_of(
        source, draw, fed, stages, job.setting.sleeping, job.file.brief.use.wake_every_s, job.file.brief.use.awake_for_s
    )
    report = SupplyReport(
        source,
        entry,
        tuple(found),
        tuple(stages),
        draw,
        rails,
        others,
        wire,
        drop,
        endurance,
        (),
    )
    return SupplyReport(
        **{name: getattr(report, name) for name in SupplyReport.__slots__ if name != "findings"},
        findings=tuple(findings_of(report, wiring, job)),
    )


def _wire(length_m: float, i_a: float, t_c: float) -> tuple[str, float]:
    """Thinnest usual wire for the current, and what it loses there and back [V]."""
    if length_m <= 0 or i_a <= 0:
        return "", 0.0
    try:
        chosen = thinnest(i_a, t_ambient_c=t_c)
        return chosen.name, cable_drop(length_m, chosen.r_ohm_per_m, i_a, t_c)
    except OutOfRange:
        return "", 0.0


def _others(found: list[Consumer], source: Source, stages: list[Stage], entry: Entry, board: Board) -> tuple[str, ...]:
    """Rails neither the source nor a regulator it reaches gives: a board fed by its battery pin makes no 5 V."""
    given = [source.v.middle, *(stage.v_in.middle for stage in stages), *(stage.regulator.v_out_v for stage in stages)]
    if entry.supply is not None:
        given += [regulator.v_out_v for regulator in behind_logic(board)]
    names = []
    for consumer in found:
        if consumer.rail != "logic" and all(abs(consumer.volts - v) > 0.6 for v in given) and consumer.rail not in names:
            names.append(consumer.rail)
    return tuple(names)
