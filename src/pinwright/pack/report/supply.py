"""The supply in a report: who takes what, what source and regulators have left, how long a battery lasts, what speaks against it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pinwright.circuits.window import shown
from pinwright.pack.build.model import Build
from pinwright.pack.drawing import clean
from pinwright.pack.pieces import Pieces
from pinwright.pack.report.content import Block, Column, Name, Paragraph, Section, Table, Words
from pinwright.pack.report.proof import finding_blocks
from pinwright.pack.report.wiring import figure
from pinwright.pack.report.words import sentence
from pinwright.supply.budget import Consumer, Draw, total
from pinwright.supply.report import SupplyReport

__all__ = ["supply_section"]


def supply_section(build: Build, pieces: Pieces) -> Section:
    """Source, currents, regulators, endurance, findings.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    report = build.supply
    source = report.source
    limit = (
        f"The source gives {shown(source.i_max_a, 'A')}: {_left(source.i_max_a, report.draw.burst)} in a burst."
        if source.i_max_a is not None
        else "Nobody says how much current the source gives."
    )
    entry = f" It goes to {report.entry.pin}: {clean(report.entry.because)}." if report.entry.pin else ""
    blocks: list[Block] = [
        Paragraph(f"{sentence(clean(source.words))}{entry} {limit}", "lead"),
        *(figure(picture, "budget") for picture in pieces.supplies),
        _budget(report),
    ]
    if report.stages or report.side_stages:
        blocks.append(_regulators(report))
    if report.feed is not None:
        feed = report.feed
        wire = f"{feed.wire.name}, loses {shown(feed.drop_v, 'V')} in a burst" if feed.wire is not None else f"no wire: {feed.because}"
        fuse = f", with a fuse of {feed.fused.fuse_a:g} A" if feed.fused is not None else ""
        blocks.append(Paragraph(clean(f"The feed from the source, {feed.length_words}: {wire}{fuse}.")))
    if report.endurance is not None:
        life = report.endurance
        blocks.append(Paragraph(clean(f"The battery lasts {life.words}.")))
        shares = tuple((Name(name), f"{share * 100:.0f} %") for name, share in life.shares if share >= 0.005)
        blocks.append(Table("shares", "Who takes how much of the charge", (Column("consumer"), Column("share", True)), shares))
        if life.advice:
            blocks.append(Paragraph(clean(f"What helps most: {life.advice}.")))
    found = [finding for finding in build.review.findings if finding.rule.startswith("supply")]
    if found:
        blocks.append(Section("supply-findings", "What the review says of the supply", tuple(
            block for finding in found for block in finding_blocks(finding))))  # fmt: skip
    return Section("supply", "Supply", tuple(blocks))


def _left(can_a: float, takes_a: float) -> str:
    return f"{shown(abs(can_a - takes_a), 'A')} {'left' if can_a >= takes_a else 'lacking'}"


def _states(report: SupplyReport) -> tuple[str, ...]:
    return ("asleep", "awake", "burst") if report.is_sleeping else ("awake", "burst")


def _amps(draw: Draw, states: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{'-' if (value := getattr(draw, state)) < 0 else ''}{shown(abs(value), 'A')}" for state in states)


def _budget(report: SupplyReport) -> Table:
    states = _states(report)
    heads = (Column("consumer"), Column("rail"), *(Column(state, True) for state in states), Column("from"))
    rows = tuple(_budget_rows(report, states))
    return Table("budget", "Currents: what the source feeds adds up to the last line", heads, rows, last_is_sum=True)


def _budget_rows(report: SupplyReport, states: tuple[str, ...]) -> Iterator[tuple[Words, ...]]:
    def row(consumer: Consumer, own: str = "") -> tuple[Words, ...]:
        amps = _amps(consumer.draw, states) if consumer.known else ("?",) * len(states)
        return ((Name(consumer.name), own) if own else Name(consumer.name)), consumer.rail, *amps, clean(consumer.words)

    for consumer in sorted((c for c in report.consumers if c.rail in report.others), key=lambda c: -c.draw.burst):
        yield row(consumer, " (own supply, not in the sum)")
    for consumer in sorted(report.fed, key=lambda c: -c.draw.burst):
        yield row(consumer)
    itself = Draw()
    for stage in report.stages:
        own = Draw(*(stage.regulator.i_quiescent_a or 0.0,) * 3)
        itself = itself + own
        if own.burst:
            yield f"regulator {stage.regulator.takes} to {stage.regulator.gives}", "itself", *_amps(own, states), "board data"
    counted = total(report.fed) + itself
    if any(stage.regulator.efficiency for stage in report.stages):
        more = Draw(report.draw.asleep - counted.asleep, report.draw.awake - counted.awake, report.draw.burst - counted.burst)
        yield "conversion", "-", *_amps(more, states), "efficiency of the regulators"
    yield "from the source", "-", *_amps(report.draw, states), "sum"


def _regulators(report: SupplyReport) -> Table:
    heads = (Column("regulator"), *(Column(head, True) for head in ("carries", "of", "left", "headroom", "heat", "junction", "at most")))
    rows = tuple(
        (
            f"{stage.regulator.takes} to {stage.regulator.gives}{f' ({stage.regulator.part})' if stage.regulator.part else ''}",
            shown(stage.draw.burst, "A"),
            shown(stage.regulator.i_max_a, "A"),
            _left(stage.regulator.i_max_a, stage.draw.burst),
            shown(stage.headroom_v, "V") if stage.headroom_v is not None else "not known",
            shown(stage.p_w, "W"),
            f"{stage.junction_c:.0f} °C" if stage.junction_c is not None else "not known",
            f"{stage.junction_max_c:.0f} °C",
        )
        for stage in (*report.stages, *report.side_stages)
    )
    return Table("regulators", "Regulators in a burst; heat while awake", heads, rows)
