"""What every line of a plan does from power-on on, phase by phase, each cell with its proof."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.errors import UnknownName
from pinwright.fitting.plan import BoardPlan, Placed
from pinwright.fitting.quiet import cite_of, proofs
from pinwright.fitting.setting import Setting
from pinwright.powerup.phases import PHASES, Phase
from pinwright.powerup.proof import Proof

__all__ = ["PHASE_WORDS", "Cell", "Row", "cell_of", "phases_shown", "timeline"]

PHASE_WORDS: dict[Phase, str] = {
    "reset": "supply rises, chip in reset",
    "boot": "ROM and loader run",
    "set-up": "firmware runs, pin not yet set",
    "running": "firmware is in charge",
    "asleep": "deep sleep",
    "restart": "reset while running, brown-out",
    "upload": "new firmware is uploaded",
}
_WORST = ("pulses", "on", "undefined", "off", "obeys")


@dataclass(frozen=True, slots=True)
class Cell:
    """One line in one phase: ``verdict`` is the worst of its stretches, ``proofs`` all of them, ``sources`` what each rests on.

    A line without a level to keep has the verdict ``-`` and tells only what the pad does (``does``).
    """

    phase: Phase
    verdict: str
    does: str
    proofs: tuple[Proof, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the plan with its pin and its cells, in the order of the phases."""

    line: str
    pin: str
    keeps: str
    cells: tuple[Cell, ...]


def timeline(plan: BoardPlan, setting: Setting) -> list[Row]:
    """All lines of a plan, loads that must stay still first, then in the order of the brief."""
    rows = [_row(plan, placed, setting) for placed in plan.placed]
    order = {"must stay": 0, "should stay": 1}
    return sorted(rows, key=lambda row: order.get(" ".join(row.keeps.split()[:2]), 2))


def phases_shown(rows: Sequence[Row]) -> list[Phase]:
    """Phases that occur, in order."""
    present = {cell.phase for row in rows for cell in row.cells}
    return [phase for phase in PHASES if phase in present]


def cell_of(rows: Sequence[Row], line: str, phase: str) -> Cell:
    """Cell of a line in a phase.  Raises ``UnknownName`` for a phase that does not occur."""
    row = next(row for row in rows if row.line == line)
    for cell in row.cells:
        if cell.phase == phase:
            return cell
    raise UnknownName("phase", phase, [cell.phase for cell in row.cells])


def _row(plan: BoardPlan, placed: Placed, setting: Setting) -> Row:
    asks = placed.line.asks
    is_load = asks.drives and asks.safe_level != "any" and asks.quiet != "no"
    found = proofs(asks, placed.place, plan.view, setting, placed.circuit)
    cells = []
    for phase in PHASES:
        of_phase = tuple(proof for proof in found if proof.phase == phase)
        if not of_phase:
            continue
        worst = min((proof.verdict for proof in of_phase), key=_WORST.index)
        does = ", ".join(dict.fromkeys(proof.stretch.does for proof in of_phase))
        sources = tuple(dict.fromkeys(cite_of(proof, placed.place, plan.view) for proof in of_phase))
        cells.append(Cell(phase, worst if is_load else "-", does, of_phase, sources))
    keeps = f"{'must' if asks.quiet == 'must' else 'should'} stay {asks.safe_level}" if is_load else ""
    return Row(placed.line.id, placed.place.name, keeps, tuple(cells))
