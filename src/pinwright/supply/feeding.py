"""Findings about feeds: wires that lose too much, and strong feeds that need a fuse."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pinwright.circuits.fuses import CAUTION_FUSE
from pinwright.circuits.window import shown
from pinwright.fitting.rank import Job
from pinwright.review.common import PRACTICE, board_finding
from pinwright.review.model import Finding, Wiring
from pinwright.supply.budget import Draw, wish_of
from pinwright.supply.feeds import DROP_SHARE, FUSE_FROM_A, Feed, feed_of
from pinwright.supply.rails import SOURCE, feeder

if TYPE_CHECKING:
    from pinwright.supply.report import SupplyReport

__all__ = ["fuses", "wire"]


def wire(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """The wire from the source: none that does, or a thicker one than the current alone asks for."""
    feed = report.feed
    if feed is None or feed.wire is feed.by_current is not None:
        return
    if feed.wire is None or feed.by_current is None:
        because = [f"the wire from the source carries {shown(feed.i_a, 'A')} over {feed.length_words}", feed.because]
        fix = "Take a higher voltage with a regulator at the far end, or a shorter way."
        yield board_finding("supply-wire", "caution", because, fix, sources=[PRACTICE])
        return
    because = [
        f"{feed.by_current.name} stands the current, but loses {shown(feed.drop_by_current_v, 'V')} "
        f"over {feed.length_words}, there and back",
        f"that is more than {DROP_SHARE * 100:g} % of {report.source.v.middle:.3g} V",
    ]
    fix = f"Take {feed.wire.name}: it loses {shown(feed.drop_v, 'V')} in a burst. Or shorten the way."
    yield board_finding("supply-wire", "caution", because, fix, numbers={"drop": shown(feed.drop_v, "V")}, sources=[PRACTICE])


def fuses(report: SupplyReport, wiring: Wiring, job: Job) -> Iterator[Finding]:
    """A fuse for the feed from the source and for the supplies of single rails; a USB port limits its current itself."""
    t_c, board = job.setting.ambient_c[1], wiring.view.board
    if not report.source.is_usb:
        direct = [c.name for c in report.fed if feeder(c, board, report.source, report.entry.pin) == SOURCE]
        feed = report.feed or feed_of(report.source.v.middle, report.draw, _longest_m(direct, job), t_c)
        yield from _fuse("the feed from the source", feed, report.draw)
    for rail in report.others:
        mine = [c for c in report.consumers if c.rail == rail]
        feed = feed_of(mine[0].volts, report.rails[rail], _longest_m([c.name for c in mine], job), t_c)
        yield from _fuse(f"the {rail} feed", feed, report.rails[rail])


def _longest_m(names: list[str], job: Job) -> float | None:
    """Longest wire the brief gives for any of these parts [m]."""
    wishes = (wish_of(name, job) for name in names)
    return max((wish.wire_m for wish in wishes if wish is not None and wish.wire_m), default=None)


def _fuse(what: str, feed: Feed | None, draw: Draw) -> Iterator[Finding]:
    if feed is None or draw.awake < FUSE_FROM_A:
        return
    carries = f"{what} carries {shown(draw.awake, 'A')}"
    if feed.wire is None or feed.fused is None:
        yield board_finding("supply-fuse", "caution", [carries, feed.because], CAUTION_FUSE, sources=[PRACTICE])
        return
    because = [carries, f"{feed.wire.name} loses {shown(feed.drop_v, 'V')} over {feed.length_words}, there and back"]
    fix = f"Fuse it with {feed.fused.fuse_a:g} A close to the source. {CAUTION_FUSE}"
    yield board_finding("supply-fuse", "caution", because, fix, numbers={"fuse": f"allowed {feed.fused.window.words}"}, sources=[PRACTICE])
