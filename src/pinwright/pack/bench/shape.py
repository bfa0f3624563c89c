"""The bench sheet for programs and for tables: JSON with a version, and plain rows.

JSON, version 1.  ``{"version", "title", "board", "cautions", "tools", "steps"}``.  A step has ``id`` (stable for one plan), ``phase``,
``title``, ``do``, ``tool``, ``lines``, ``nets`` (ids of the build's), ``why``, ``cautions``, ``stop`` (do not go on if it fails),
``stimulus`` (what the self test drives or asks for, by name) and ``expects``.  An expectation has ``at`` and ``to`` (red and black
probe: ``{"item", "terminal"}`` of the build, or null), ``when``, ``quantity`` (voltage, resistance, current, reading, count, address,
sight), ``low``, ``high``, ``typical`` in the SI unit ``unit`` (null: no bound on that side; a reading in the unit of its sensor, a level
as 0 or 1), ``meter`` (shows, average, scope only, not held), ``words``, and ``causes`` by ``low``, ``high`` and ``none``.
Keys may be added within a version; a change of meaning raises it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pinwright.circuits.window import shown
from pinwright.pack.bench.model import PHASE_WORDS, BenchSheet, Expect, Step
from pinwright.pack.build.model import Terminal

__all__ = ["BENCH_VERSION", "BenchRow", "bench_json", "bench_rows", "bounds_words"]

BENCH_VERSION = 1


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One line of the sheet as it is printed: all words, nothing to work out; ``stop`` marks steps that must not fail."""

    id: str
    phase: str
    title: str
    do: str
    probes: str
    when: str
    expected: str
    typical: str
    meter: str
    words: str
    if_low: str
    if_high: str
    if_none: str
    why: str
    cautions: str
    stop: bool


def bench_json(sheet: BenchSheet) -> dict[str, Any]:
    """The sheet as plain data for a program, versioned; numbers in SI units.

    Parameters
    ----------
    sheet : of ``bench_sheet`` [-]
    """
    return {
        "version": BENCH_VERSION,
        "title": sheet.title,
        "board": sheet.board,
        "cautions": list(sheet.cautions),
        "tools": list(sheet.tools),
        "steps": [_step(step) for step in sheet.steps],
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "id": step.id, "phase": step.phase, "title": step.title, "do": step.do, "tool": step.tool, "lines": list(step.lines),
        "nets": list(step.nets), "why": list(step.why), "cautions": list(step.cautions), "stop": step.stop,
        "stimulus": [{"name": name, "value": _number(value)} for name, value in step.stimulus],
        "expects": [_expect(expect) for expect in step.expects],
    }  # fmt: skip


def _expect(expect: Expect) -> dict[str, Any]:
    return {
        "at": _terminal(expect.at), "to": _terminal(expect.to), "when": expect.when, "quantity": expect.quantity,
        "low": _number(expect.low), "high": _number(expect.high), "typical": _number(expect.typical), "unit": expect.unit,
        "meter": expect.meter, "words": expect.words,
        "causes": {"low": list(expect.cause_low), "high": list(expect.cause_high), "none": list(expect.cause_none)},
    }  # fmt: skip


def _terminal(terminal: Terminal | None) -> dict[str, str] | None:
    return None if terminal is None else {"item": terminal.item, "terminal": terminal.name}


def _number(value: float | None) -> float | None:
    """Six digits are more than any meter has; JSON knows no infinity."""
    return None if value is None or not math.isfinite(value) else float(f"{value:.6g}")


def bench_rows(sheet: BenchSheet) -> tuple[BenchRow, ...]:
    """The sheet as rows to print, one for each expectation; a step's own words stand in its first row only.

    Parameters
    ----------
    sheet : of ``bench_sheet`` [-]
    """
    rows: list[BenchRow] = []
    for step in sheet.steps:
        groups = _alike(step)
        for number, group in enumerate(groups or [()]):
            rows.append(_row(step, group, number == 0))
    return tuple(rows)


def _alike(step: Step) -> list[tuple[Expect, ...]]:
    """Expectations of a step that differ in their probes only stand in one row."""
    found: dict[tuple[object, ...], list[Expect]] = {}
    for e in step.expects:
        found.setdefault((e.to is None, e.when, e.quantity, e.low, e.high, e.unit, e.meter, e.words), []).append(e)
    return [tuple(group) for group in found.values()]


def _row(step: Step, group: tuple[Expect, ...], is_first: bool) -> BenchRow:
    first = group[0] if group else None
    low, high, none = ("; ".join(_few(causes)) for causes in zip(*(_causes(e) for e in group), strict=True)) if group else ("", "", "")
    return BenchRow(
        id=step.id if is_first else "",
        phase=PHASE_WORDS[step.phase],
        title=step.title if is_first else "",
        do=step.do if is_first else "",
        probes=_probes(group),
        when=first.when if first is not None else "",
        expected=bounds_words(first) if first is not None else "",
        typical=_typical(first),
        meter=_METER[first.meter] if first is not None and first.quantity != "sight" else "",
        words=first.words if first is not None else "",
        if_low=low,
        if_high=high,
        if_none=none,
        why="; ".join(step.why) if is_first else "",
        cautions="; ".join(step.cautions) if is_first else "",
        stop=step.stop,
    )


_MOST_CAUSES = 6


def _few(causes: Sequence[Sequence[str]]) -> list[str]:
    return list(dict.fromkeys(cause for each in causes for cause in each))[:_MOST_CAUSES]


_METER = {"shows": "", "average": "average on a meter", "scope only": "scope only", "not held": "not held: the meter decides"}


def _causes(expect: Expect) -> tuple[tuple[str, ...], ...]:
    return expect.cause_low, expect.cause_high, expect.cause_none


def _probes(group: tuple[Expect, ...]) -> str:
    """Probes of a row: ``board GP4 against GND rail``, or one end against several."""
    reds = list(dict.fromkeys(f"{e.at.item} {e.at.name}" for e in group if e.at is not None))
    blacks = list(dict.fromkeys(f"{e.to.item} {e.to.name}" for e in group if e.to is not None))
    return " against ".join(", ".join(names) for names in (reds, blacks) if names)


def _typical(expect: Expect | None) -> str:
    return (
        "" if expect is None or expect.typical is None or expect.quantity in ("count", "address") else _shown(expect.typical, expect.unit)
    )


def bounds_words(expect: Expect) -> str:
    """Bounds as people read them.

    Parameters
    ----------
    expect : an expectation [-]

    >>> bounds_words(Expect(None, None, "", "voltage", 3.2, 3.4, 3.3, "V"))
    '3.2 V to 3.4 V'
    >>> bounds_words(Expect(None, None, "", "resistance", 1000.0, None, None, "Ω"))
    'more than 1 kΩ'
    """
    low, high = expect.low, expect.high
    if expect.quantity == "address" and low is not None:
        return f"0x{int(low):02X}"
    if expect.quantity == "sight":
        return "see words"
    if low is None and high is None:
        return "over range" if expect.words.endswith("it blocks") else "anything"
    if high is None:
        return f"more than {_shown(low or 0.0, expect.unit)}"
    if low is None:
        return f"at most {_shown(high, expect.unit)}"
    return _shown(low, expect.unit) if low == high else f"{_shown(low, expect.unit)} to {_shown(high, expect.unit)}"


def _shown(value: float, unit: str) -> str:
    if unit in ("V", "Ω", "A"):
        words = shown(value, unit) if value == 0 or abs(value) >= 1e-9 else f"0 {unit}"
    else:
        words = f"{value:.4g}" if unit == "1" else f"{value:.4g} {unit}".strip()
    return words.replace("-", "\u2212", 1) if words.startswith("-") else words  # a true minus: no spreadsheet takes it for a formula
