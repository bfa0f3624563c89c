"""A whole plan in a fresh process, against importing a well-known constraint solver and doing nothing."""

from __future__ import annotations

import tempfile

from common import BRIEFS, EXAMPLES, Result, Row, alternate, byte_code, job_of, lines_of, say

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import rank

__all__ = ["measure"]

_YARDSTICK = ("-c", "import ortools.sat.python.cp_model")
_COMMAND = "import sys; from pinwright.cli.main import main; sys.exit(main())"  # what the installed command runs
_AIMS = {12: 1.5, 25: 2.5}  # by lines


def measure(quick: bool) -> Result:
    """``pinwright plan BRIEF --json`` over the whole catalogue."""
    byte_code()
    catalogue = load_catalogue()
    largest = max(EXAMPLES.glob("*.toml"), key=lambda path: (lines_of(job_of(path, catalogue)), path.name))
    briefs = {path.stem: path for path in (BRIEFS / "lines-12.toml", BRIEFS / "lines-25.toml", largest)}
    jobs = {name: job_of(path, catalogue) for name, path in briefs.items()}
    programs = {"yardstick": _YARDSTICK} | {name: ("-c", _COMMAND, "plan", str(path), "--json") for name, path in briefs.items()}
    say(f"cold: {', '.join(briefs)} over {len(catalogue.boards)} boards")
    with tempfile.TemporaryDirectory() as folder:
        taken = alternate(programs, 3 if quick else 7, {"PINWRIGHT_CACHE": folder})
    rows = []
    able = {}
    for name, job in jobs.items():
        able[name] = sum(plan.feasible for plan in rank(job).boards)
        what = f"plan of {lines_of(job)} lines ({briefs[name].name})"
        note = f"{able[name]} of {len(catalogue.boards)} boards can do it"
        ratio = taken[name] / taken["yardstick"]
        rows.append(Row("cold", what, ratio, "x yardstick", str(_AIMS.get(lines_of(job), "")), note))
    return Result(tuple(rows), {"median_s": taken, "boards": len(catalogue.boards), "able": able})
