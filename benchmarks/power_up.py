"""A whole-catalogue plan with power-up proofs against the same without them."""

from __future__ import annotations

from collections.abc import Iterator

from common import BRIEFS, Result, Row, in_turns_s, job_of, say

from pinwright.facts.loader import load_catalogue
from pinwright.fitting import candidates
from pinwright.fitting.rank import rank

__all__ = ["measure"]

_AIM = 2.0


def measure(quick: bool) -> Result:
    """Rank all boards for the 25-line brief, in turns with and without the proofs."""
    catalogue = load_catalogue()
    job = job_of(BRIEFS / "lines-25.toml", catalogue)
    proved = candidates.quiet_verdict

    def nothing(*_: object) -> Iterator[candidates.Strike | candidates.Mark]:
        yield from ()

    def with_proofs() -> None:
        candidates.quiet_verdict = proved
        rank(job)

    def without() -> None:
        candidates.quiet_verdict = nothing
        rank(job)

    say(f"power-up: 25 lines over {len(catalogue.boards)} boards")
    try:
        taken = in_turns_s(3 if quick else 7, {1: with_proofs, 0: without})
    finally:
        candidates.quiet_verdict = proved
    ratio = taken[1] / taken[0]
    row = Row("power-up", "whole-catalogue plan with power-up proofs", ratio, "x without", f"{_AIM:g}", f"{len(catalogue.boards)} boards")
    return Result((row,), {"median_s": {"with": taken[1], "without": taken[0]}})
