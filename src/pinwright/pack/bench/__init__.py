"""The bench test sheet: what to measure, in build order, and what it means where it is not right."""

from __future__ import annotations

from pinwright.pack.bench.model import PHASES, BenchSheet, Expect, Step
from pinwright.pack.bench.shape import BENCH_VERSION, BenchRow, bench_json, bench_rows
from pinwright.pack.bench.sheet import bench_sheet
from pinwright.pack.bench.walk import self_test_duty, walk

__all__ = [
    "BENCH_VERSION",
    "PHASES",
    "BenchRow",
    "BenchSheet",
    "Expect",
    "Step",
    "bench_json",
    "bench_rows",
    "bench_sheet",
    "self_test_duty",
    "walk",
]
