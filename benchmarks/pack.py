"""Writing a pack, against planning the same brief on all boards; each piece by itself, with the report on paper apart."""

from __future__ import annotations

import gc
import tempfile
import time
from pathlib import Path

from common import EXAMPLES, Result, Row, lines_of, median_s, say

from pinwright.facts.loader import load_catalogue
from pinwright.pack.build.make import build_of
from pinwright.pack.folder import write_pack
from pinwright.pack.make import pack_of
from pinwright.planning import open_job, plan_job

__all__ = ["measure"]

AIM = 5.0
"""A pack without paper takes at most this many times what planning took."""


class _Stopwatch:
    """Time of every step by its name [s]."""

    def __init__(self) -> None:
        self.taken: dict[str, float] = {}
        self._name, self._since = "", 0.0

    def __call__(self, what: str) -> None:
        now = time.perf_counter()
        if self._name:
            self.taken[self._name] = self.taken.get(self._name, 0.0) + now - self._since
        self._name, self._since = what, now


def measure(quick: bool) -> Result:
    """A device of a dozen lines, and the largest example."""
    catalogue = load_catalogue()
    rows: list[Row] = []
    detail = {}
    times = 3 if quick else 5
    for name in ("bakery-proofer", "oven-wall"):
        say(f"pack: {name}")
        job = open_job(EXAMPLES / f"{name}.toml", catalogue=catalogue)
        result = plan_job(job)
        build = build_of(result)
        gc.disable()  # as the command does
        plan_s = median_s(times, lambda job=job: plan_job(job))  # type: ignore[misc]
        pack_s = median_s(times, lambda build=build: pack_of(build, with_pdf=False))  # type: ignore[misc]
        watch = _Stopwatch()
        made = pack_of(build, step=watch)
        watch("")
        with tempfile.TemporaryDirectory() as folder:
            write_s = median_s(times, lambda files=made.files, folder=folder: write_pack(Path(folder) / "pack", files))  # type: ignore[misc]
        gc.enable()
        gc.collect()
        first, second = made.files, pack_of(build).files
        same = first == second
        paper_s = watch.taken["the report on paper"]
        lines = lines_of(job)
        rows += [
            Row("pack", f"{lines} lines, all but paper", pack_s / plan_s, "x planning", f"{AIM:g}", name, not same),
            Row("pack", f"{lines} lines, on paper", paper_s / plan_s, "x planning", note="missing" if made.left_out else ""),
            Row("pack", f"{lines} lines, into a folder", write_s / plan_s, "x planning"),
        ]
        detail[name] = {
            "plan_s": plan_s,
            "pack_s": pack_s,
            "write_s": write_s,
            "steps_s": watch.taken,
            "bytes": sum(map(len, first.values())),
        }
    return Result(tuple(rows), detail)
