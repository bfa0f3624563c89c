"""Measure and print one table: ``python benchmarks/run.py [PART ...] [--quick]``.

Performance is given as ratios within one run.  The exit code is 1 only if an answer is wrong, never for being slow.
Results and plots go to benchmarks/results/; docs/benchmarks.md says what the numbers mean.
"""

from __future__ import annotations

import argparse
import datetime
import importlib
import json
import os
import platform
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from common import RESULTS, Result, Row, say

__all__ = ["main"]

# Modules by part, imported only when asked for.
_PARTS = {
    "cold": "cold",
    "warm": "warm",
    "facts": "load",
    "one-model": "one_model",
    "growth": "growth",
    "proved": "proved",
    "corners": "corners",
    "power-up": "power_up",
    "chain": "chain",
    "pack": "pack",
    "sheet": "sheet",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the parts asked for."""
    parser = argparse.ArgumentParser(description="Measure Pinwright, as ratios within one run.")
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"{', '.join(_PARTS)}; all if none is named")
    parser.add_argument("--quick", action="store_true", help="smaller sizes, under a minute")
    asked = parser.parse_args(arguments)
    unknown = [part for part in asked.parts if part not in _PARTS]
    if unknown:
        parser.error(f"no such part: {', '.join(unknown)}; there are {', '.join(_PARTS)}")
    RESULTS.mkdir(exist_ok=True)
    rows: list[Row] = []
    for part in asked.parts or _PARTS:
        before = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
        start = time.perf_counter()
        result = importlib.import_module(_PARTS[part]).measure(asked.quick)
        taken = time.perf_counter() - start
        say(f"{part}: done after {taken:.0f} s")
        _keep(part, result, _circumstances(asked.quick, before, taken))
        rows += result.rows
    sys.stdout.write(_table(rows))
    return int(any(row.is_wrong for row in rows))


def _circumstances(quick: bool, load: float | None, taken_s: float) -> dict[str, Any]:
    return {
        "date": datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        "python": platform.python_version(),
        "load_before": load,
        "quick": quick,
        "taken_s": taken_s,
    }


def _keep(part: str, result: Result, circumstances: dict[str, Any]) -> None:
    shape = {**circumstances, "rows": [asdict(row) for row in result.rows], "detail": result.detail}
    (RESULTS / f"{part}.json").write_text(json.dumps(shape, indent=1) + "\n", encoding="utf-8")
    for name, text in result.charts.items():
        (RESULTS / name).write_text(text, encoding="utf-8")


def _table(rows: Sequence[Row]) -> str:
    head = ("part", "what", "value", "unit", "aim", "note")
    body = [(row.part, row.what, _number(row.value), row.unit, row.aim, ("WRONG: " if row.is_wrong else "") + row.note) for row in rows]
    widths = [max(len(line[column]) for line in (head, *body)) for column in range(len(head))]
    lines = [head, tuple("-" * width for width in widths), *body]
    cells = ([cell.rjust(w) if at == 2 else cell.ljust(w) for at, (cell, w) in enumerate(zip(line, widths, strict=True))] for line in lines)
    return "".join(f"{'  '.join(row).rstrip()}\n" for row in cells)


def _number(value: float) -> str:
    return str(value) if isinstance(value, int) else f"{value:.2f}" if value < 100 else f"{value:.0f}"


if __name__ == "__main__":
    sys.exit(main())
