"""Exact pulses: an engine of the chip for every line that needs one."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import PulseEngine
from pinwright.fitting.lines import Asks
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]


def _exact(wiring: Wiring) -> Iterator[Finding]:
    wires = [wire for wire in wiring.wires if wire.line.asks.needs.exact_pulses and wire.line.asks.signal == "pulse"]
    rows = []
    for wire in wires:
        engines = _serving(wiring, wire.line.asks)
        if not engines:
            yield found(
                "pulse-none",
                "refuse",
                wire,
                [f"{wire.line.id} needs pulses exact to microseconds", f"{wiring.view.chip.part} has nothing that makes or catches them"],
                "Take another board.",
                sources=[wiring.view.chip_cite(wiring.view.chip.provenance["functions"])],
            )
            continue
        rows.append((wire, engines))
        yield from _engine_notes(wiring, wire, engines)
    left_over = _left_over(rows)
    if left_over is not None:
        wire, engines = left_over
        have = joined_names(f"{engine.id} {engine.count} times" for engine in engines)
        yield found(
            "pulse-too-many",
            "refuse",
            wire,
            [f"{len(rows)} lines need exact pulses: {joined_names(w.line.id for w, _ in rows)}", f"{wiring.view.chip.part} has {have}"],
            "Chain pixel strips on one line, or take a board with more.",
            sources=[wiring.view.chip_cite(engines[0])],
        )


def _serving(wiring: Wiring, asks: Asks) -> list[PulseEngine]:
    wanted = {"out": {"pulse-out"}, "in": {"pulse-in"}}.get(asks.direction, {"pulse-out", "pulse-in"})
    engines = list(wiring.view.chip.engine)
    return [e for e in engines if wanted <= set(e.gives)] or [e for e in engines if len(wanted) == 2 and wanted & set(e.gives)]


def _engine_notes(wiring: Wiring, wire: Wire, engines: list[PulseEngine]) -> Iterator[Finding]:
    blocked = [engine for engine in engines if set(engine.blocked_by) & set(wiring.setting.radio)]
    if len(blocked) == len(engines):
        yield found(
            "pulse-radio",
            "caution",
            wire,
            [
                f"pulses of {wire.line.id} are made by {engines[0].id}",
                "the radio disturbs it while it is on",
                engines[0].note or "single pulses go wrong",
            ],
            "Read again when a reading fails, or stop the radio meanwhile.",
            sources=[wiring.view.chip_cite(engines[0])],
        )
    elif all(engine.kind == "software" for engine in engines):
        yield found(
            "pulse-software",
            "note",
            wire,
            [f"pulses of {wire.line.id} are timed in software on {wiring.view.chip.part}", engines[0].note or "interrupts stretch them"],
            "Expect other work to pause meanwhile.",
            sources=[wiring.view.chip_cite(engines[0])],
        )


def _left_over(rows: list[tuple[Wire, list[PulseEngine]]]) -> tuple[Wire, list[PulseEngine]] | None:
    """First line for which no engine is left, with the others served as well as can be (augmenting paths)."""
    served: dict[str, list[tuple[Wire, list[PulseEngine]]]] = {}

    def serve(row: tuple[Wire, list[PulseEngine]], tried: set[str]) -> bool:
        for engine in row[1]:
            if engine.id in tried:
                continue
            tried.add(engine.id)
            users = served.setdefault(engine.id, [])
            if len(users) < engine.count:
                users.append(row)
                return True
            for other in users:
                if serve(other, tried):
                    users.remove(other)
                    users.append(row)
                    return True
        return False

    return next((row for row in rows if not serve(row, set())), None)


RULES: tuple[Rule, ...] = (
    Rule(
        "pulse-none",
        "exact pulses: an engine for each line (also pulse-too-many, pulse-radio, pulse-software)",
        "pixels flicker, readings fail",
        "engine table of the chip, named in the finding",
        _exact,
    ),
)
