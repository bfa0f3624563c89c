"""Crossings and time of the wiring sheet, with its search for a good arrangement against everything as it comes."""

from __future__ import annotations

from common import BRIEFS, EXAMPLES, Result, Row, in_turns_s, job_of, lines_of, say

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import Job
from pinwright.pack.build.make import build_of
from pinwright.pack.sheet.compose import on_endless_paper
from pinwright.pack.sheet.pages import whole
from pinwright.planning import plan_job

__all__ = ["measure"]

_AIM = "at most 0.5"


def measure(quick: bool) -> Result:
    """Draw the examples on their best boards, in the order of the build and after the search."""
    catalogue = load_catalogue()
    names = [EXAMPLES / "bakery-proofer.toml", EXAMPLES / "oven-wall.toml", EXAMPLES / "delivery-hatch.toml", BRIEFS / "lines-25.toml"]
    rows, detail = [], {}
    for path in names[: 2 if quick else None]:
        job: Job = job_of(path, catalogue)
        result = plan_job(job)
        build = build_of(result)
        page = whole(build)[0]
        say(f"sheet: {path.stem}, {len(build.wires)} wires on {build.plan.view.board.id}")
        before, after = on_endless_paper(page, False).crossings, on_endless_paper(page, True).crossings
        taken = in_turns_s(3 if quick else 5, {0: lambda p=page: on_endless_paper(p, False), 1: lambda p=page: on_endless_paper(p, True)})
        share = after / before if before else 1.0
        note = f"{lines_of(job)} lines, {len(build.wires)} wires: {before} before, {after} after, {taken[1]:.2f} s"
        rows.append(Row("sheet", f"crossings of {path.stem} after the search", share, "x before", _AIM, note, after > before))
        detail[path.stem] = {
            "wires": len(build.wires),
            "before": before,
            "after": after,
            "median_s": {"naive": taken[0], "search": taken[1]},
        }
    return Result(tuple(rows), detail)
