"""What all measurements share: rows of the table, timing, fresh processes, jobs."""

from __future__ import annotations

import compileall
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pinwright
from pinwright.brief.reader import read_brief
from pinwright.facts.loader import Catalogue
from pinwright.fitting.rank import Job, prepare

__all__ = [
    "BRIEFS",
    "EXAMPLES",
    "RESULTS",
    "TESTS",
    "Result",
    "Row",
    "alternate",
    "byte_code",
    "in_turns_s",
    "job_of",
    "lines_of",
    "median_s",
    "say",
]

HERE = Path(__file__).parent
BRIEFS = HERE / "briefs"
RESULTS = HERE / "results"
EXAMPLES = HERE.parent / "examples"
TESTS = HERE.parent / "tests" / "fitting"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table.  ``is_wrong``: not slow but incorrect, which makes the run fail."""

    part: str
    what: str
    value: float
    unit: str
    aim: str = ""
    note: str = ""
    is_wrong: bool = False


@dataclass(frozen=True, slots=True)
class Result:
    """Rows of one part and everything behind them; ``charts`` by file name."""

    rows: tuple[Row, ...]
    detail: dict[str, Any]
    charts: dict[str, str] = field(default_factory=dict)


def say(text: str) -> None:
    """Progress, for people."""
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def byte_code() -> None:
    """Compile the package, as an installation does, so that no process of a measurement pays for it."""
    compileall.compile_dir(Path(pinwright.__file__).parent, quiet=2)


def median_s(times: int, work: Callable[[], object]) -> float:
    """Median time of some work, after one run that does not count [s]."""
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def in_turns_s(times: int, works: Mapping[int, Callable[[], object]]) -> dict[int, float]:
    """Median time of each work, in turns so that a busy moment hits all alike; one more round goes first and does not count [s]."""
    taken: dict[int, list[float]] = {key: [] for key in works}
    for turn in range(times + 1):
        for key, work in works.items():
            start = time.perf_counter()
            work()
            if turn:
                taken[key].append(time.perf_counter() - start)
    return {key: statistics.median(values) for key, values in taken.items()}


def alternate(programs: Mapping[str, Sequence[str]], times: int, environment: Mapping[str, str]) -> dict[str, float]:
    """Median time of each program in a fresh interpreter, in turns so that a busy moment hits all alike [s].

    Parameters
    ----------
    programs : arguments for the interpreter by name [-]
    times : rounds; one more goes first and does not count [-]
    environment : variables on top of ours [-]
    """
    inherited = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    taken: dict[str, list[float]] = {name: [] for name in programs}
    for turn in range(times + 1):
        for name, arguments in programs.items():
            start = time.perf_counter()
            subprocess.run([sys.executable, *arguments], check=True, env={**inherited, **environment}, stdout=subprocess.DEVNULL)
            if turn:
                taken[name].append(time.perf_counter() - start)
    return {name: statistics.median(values) for name, values in taken.items()}


def job_of(brief: Path, catalogue: Catalogue) -> Job:
    """A brief made ready."""
    return prepare(read_brief(brief, catalogue), catalogue)


def lines_of(job: Job) -> int:
    """How many lines a brief has."""
    return sum(len(device.lines) for device in job.nets.devices)
