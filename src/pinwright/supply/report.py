"""The whole supply of a plan: source, regulators, rails, endurance, and the findings that follow."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pinwright.fitting.rank import Job
from pinwright.fitting.source import Source
from pinwright.review.model import Finding, Wiring
from pinwright.supply.budget import Consumer, Draw, consumers, total
from pinwright.supply.endurance import Endurance, endurance_of
from pinwright.supply.feeds import Feed, feed_of
from pinwright.supply.rails import Entry, Stage, entry_of, feeder, side_stages, source_draw, stages_of

__all__ = ["SupplyReport", "supply_of"]


@dataclass(frozen=True, slots=True)
class SupplyReport:
    """Everything about the supply of one wiring; ``rails`` sums the consumers by rail, ``others`` are rails of their own supply.

    ``side_stages``: regulators beside the way to the logic rail (the 3.3 V of a 5 V board); ``wire``: the feed from the source,
    ``None`` where the brief gives no length.
    """

    source: Source
    entry: Entry
    consumers: tuple[Consumer, ...]
    stages: tuple[Stage, ...]
    side_stages: tuple[Stage, ...]
    draw: Draw
    rails: dict[str, Draw]
    others: tuple[str, ...]
    feed: Feed | None
    is_sleeping: bool
    endurance: Endurance | None
    findings: tuple[Finding, ...]

    @property
    def wire_drop_v(self) -> float:
        """Lost in the wire from the source in a burst [V]."""
        return self.feed.drop_v if self.feed else 0.0

    @property
    def fed(self) -> tuple[Consumer, ...]:
        """Consumers the source feeds."""
        return tuple(c for c in self.consumers if c.rail not in self.others)


def supply_of(wiring: Wiring, job: Job) -> SupplyReport:
    """Work out the supply of a wiring.  Never raises for what a brief asks: what cannot be becomes a finding."""
    from pinwright.supply.findings import findings_of

    wish, board = job.file.brief.supply, wiring.view.board
    hottest_c = job.setting.ambient_c[1]
    source = job.source
    entry = entry_of(board, source, wish.pin or "")
    found = consumers(wiring, job)
    usual = source_draw(stages_of(board, entry, source, found, hottest_c), found, source, board, entry)
    feed = feed_of(source.v.middle, usual, wish.wire_m, hottest_c) if wish.wire_m else None
    stages = stages_of(board, entry, source, found, hottest_c, feed.drop_v if feed else 0.0)
    draw = source_draw(stages, found, source, board, entry)
    rails = {name: total(c for c in found if c.rail == name) for name in dict.fromkeys(c.rail for c in found)}
    others = tuple(dict.fromkeys(c.rail for c in found if not feeder(c, board, source, entry.pin)))
    fed = [c for c in found if c.rail not in others]
    use = job.file.brief.use
    report = SupplyReport(
        source=source,
        entry=entry,
        consumers=tuple(found),
        stages=tuple(stages),
        side_stages=tuple(side_stages(board, entry, source, found, hottest_c)),
        draw=draw,
        rails=rails,
        others=others,
        feed=feed,
        is_sleeping=job.setting.sleeping,
        endurance=endurance_of(source, draw, fed, stages, job.setting.sleeping, use.wake_every_s, use.awake_for_s),
        findings=(),
    )
    return replace(report, findings=tuple(findings_of(report, wiring, job)))
