"""The JSON shapes of every command, versioned; the same for all faces.

Described for readers in docs/json.md; tests hold the two together.
"""

from __future__ import annotations

import math
from hashlib import sha256
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pinwright.circuits.window import Window
    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import Board, Chip, Part, Source
    from pinwright.facts.provenance import Claim, Document
    from pinwright.fitting.interface import Element, Reading
    from pinwright.fitting.places import BoardView
    from pinwright.fitting.plan import BoardPlan, Placed
    from pinwright.fitting.rank import Job
    from pinwright.fitting.setting import Bench
    from pinwright.fitting.timeline import Cell, Row
    from pinwright.fitting.why import WhyNot
    from pinwright.planning import CheckResult, PlanResult
    from pinwright.review.model import Finding, Review
    from pinwright.supply.budget import Draw
    from pinwright.supply.report import SupplyReport

__all__ = [
    "CONTRACT",
    "board_shape",
    "cell_shape",
    "check_shape",
    "chip_shape",
    "claims_shape",
    "document_shape",
    "pack_shape",
    "part_shape",
    "part_sources",
    "plan_shape",
    "timeline_shape",
    "why_not_shape",
    "why_shape",
]

CONTRACT = 1
"""Version of the shapes; it changes when a key changes its meaning or disappears."""


# ------------------------------------------------------------------------------ facts


def chip_shape(chip: Chip) -> dict[str, Any]:
    """A chip with every pad."""
    return {
        "contract": CONTRACT,
        "part": chip.part,
        "maker": chip.maker,
        "title": chip.title,
        "radio": list(chip.radio),
        "pads": [_pad_shape(chip, number) for number in range(len(chip.pad))],
        "buses": [
            {"id": b.id, "kind": b.kind, "wiring": b.wiring, "roles": b.roles, "max_hz": b.max_hz, "console": b.console} for b in chip.bus
        ],
        "pwm": [{"id": p.id, "kind": p.kind, "timers": p.timers, "channels": p.channels, "fixed_hz": p.fixed_hz} for p in chip.pwm],
        "errata": [{"id": e.id, "pads": list(e.pads), "effect": e.effect, "workaround": e.workaround} for e in chip.erratum],
        "firmware": [{"language": f.language, "package": f.package or None, "note": f.note or None} for f in chip.firmware],
        "unknown": list(chip.unknown),
        "sources": [{"id": s.id, "title": s.title, "revision": s.revision, "seen": s.seen} for s in chip.source],
    }


def _pad_shape(chip: Chip, number: int) -> dict[str, Any]:
    pad = chip.pad[number]
    cited = {name: f"{cite.src}: {cite.where}" if cite.where else cite.src for name, cite in chip.provenance.items()}
    return {
        "gpio": pad.gpio,
        "names": [pad.name, *pad.names],
        "input": pad.input,
        "output": pad.output,
        "pull_up": pad.pull_up,
        "pull_down": pad.pull_down,
        "open_drain": pad.open_drain,
        "interrupt": pad.interrupt,
        "wake": list(pad.wake),
        "adc": {"unit": pad.adc.unit, "channel": pad.adc.channel} if pad.adc else None,
        "dac": pad.dac or None,
        "touch": pad.touch or None,
        "pwm": [{"pool": use.pool, "channel": use.channel or None} for use in pad.pwm],
        "strap": pad.strap is not None,
        "strap_levels": {"run": pad.strap.run, "download": pad.strap.download, "internal": pad.strap.internal} if pad.strap else None,
        "boot": [state.state for state in pad.boot],
        "console": pad.name in chip.console,
        "reserved": pad.reserved or None,
        "functions": list(pad.functions),
        "limits": pad.limits or None,
        "tolerates_5v": pad.tolerates_5v,
        "max_hz": pad.max_hz,
        "needs_setup": pad.needs_setup or None,
        "note": pad.note or None,
        "sources": cited | ({"pad": f"{pad.src}: {pad.where}" if pad.where else pad.src} if pad.src else {}),
    }


def board_shape(board: Board, catalogue: Catalogue) -> dict[str, Any]:
    """A board with its pins in header order, and its chip."""
    pads = {pad.name: pad for pad in catalogue.chips[board.chip].pad}
    return {
        "contract": CONTRACT,
        "board": board.id,
        "name": board.name,
        "chip": board.chip,
        "module": board.module or None,
        "cost_class": board.cost_class,
        "logic_v": board.logic_v,
        "radio": list(board.radio),
        "pins": [
            {
                "row": pin.row,
                "order": pin.order,
                "label": pin.label,
                "gpio": pads[pin.pad].gpio if pin.pad else None,
                "pad": pin.pad or None,
                "power": pin.power or None,
                "note": pin.note or None,
            }
            for pin in board.header
        ],
        "onboard": [{"what": o.what, "pad": o.pad or None, "pin": o.pin or None, "effect": o.effect or None} for o in board.onboard],
        "reserved": [{"pads": list(r.pads), "use": r.use, "why": r.why or None} for r in board.reserve],
        "sources": [{"id": s.id, "title": s.title, "revision": s.revision, "seen": s.seen} for s in board.source],
    }


def part_shape(part: Part) -> dict[str, Any]:
    """A part with its lines."""
    return {
        "contract": CONTRACT,
        "id": part.id,
        "kind": part.kind,
        "title": part.title,
        "family": part.family,
        "keywords": list(part.keywords),
        "supply_v": {"min": part.supply_v.min, "typ": part.supply_v.typ, "max": part.supply_v.max},
        "lines": [
            {
                "name": line.name,
                "direction": line.direction,
                "signal": line.signal,
                "role": line.role or None,
                "count": line.count,
                "optional": line.optional,
                "safe_level": line.safe_level,
                "quiet": line.quiet,
                "floating": line.floating or None,
            }
            for line in part.line
        ],
        "cautions": [{"tag": caution.tag, "text": caution.text} for caution in part.caution],
        "needs_no_driver": part.needs_no_driver,
        "drivers": [
            {
                "language": d.language,
                "package": d.package,
                "builtin": d.builtin,
                "only": list(d.only),
                "not_on": list(d.not_on),
                "covers": d.covers or None,
            }
            for d in part.driver
        ],
        "sources": [{"id": s.id, "title": s.title, "revision": s.revision, "seen": s.seen} for s in part_sources(part)],
    }


def part_sources(part: Part) -> tuple[Source, ...]:
    """Sources this part cites; its file lists those of its neighbours as well."""
    from pinwright.facts.validate import cites

    cited = {item.src for _, item in cites(part)}
    return tuple(source for source in part.source if source.id in cited)


def claims_shape(item: Chip | Board | Part, claims: list[Claim]) -> dict[str, Any]:
    """Values of an entry, each with its source."""
    return {
        "contract": CONTRACT,
        "name": item.part if hasattr(item, "part") else item.id,
        "values": [
            {
                "key": claim.key,
                "value": claim.value,
                "source": claim.source.title if claim.source else None,
                "revision": (claim.source.revision or None) if claim.source else None,
                "where": claim.where or None,
                "seen": claim.seen,
            }
            for claim in claims
        ],
    }


def document_shape(document: Document) -> dict[str, Any]:
    """A document the catalogue rests on."""
    return {
        "title": document.title,
        "revision": document.revision or None,
        "seen": document.seen,
        "url": document.url or None,
        "values": document.values,
        "entries": list(document.entries),
    }


# ------------------------------------------------------------------------------ plan


def plan_shape(result: PlanResult) -> dict[str, Any]:
    """All boards, best first."""
    ranking = result.ranking
    return {
        "contract": CONTRACT,
        "title": ranking.job.file.brief.title,
        "money_unit": ranking.money_unit,
        "boards": [
            board_plan_shape(
                plan, result.reviews.get(plan.view.board.id), result.supplies.get(plan.view.board.id), ranking.job.setting.bench
            )
            for plan in ranking.boards
        ],
        "unseen": list(ranking.unseen),
    }


def board_plan_shape(plan: BoardPlan, review: Review | None, supply: SupplyReport | None, bench: Bench) -> dict[str, Any]:
    """One board's plan or conflict."""
    solution = plan.solution
    return {
        "board": plan.view.board.id,
        "name": plan.view.board.name,
        "feasible": plan.feasible,
        "weak_supply": list(plan.weak),
        "proven_optimal": plan.feasible and plan.proved,
        "gap": None if plan.proved or solution is None else {"tier": solution.tier, "bound": _finite(solution.bound)},
        "objective": {tier: _finite(value) for tier, value in plan.objective.tiers().items()} if plan.objective else None,
        "lines": {placed.line.id: _placed_shape(placed) for placed in plan.placed},
        "readings": {line: _reading_shape(worth) for line, worth in plan.readings(bench).items()},
        "supply": supply_shape(supply) if supply else None,
        "spare": plan.spare,
        "firmware": [{"language": support.language, "missing": list(support.missing)} for support in plan.firmware],
        "conflict": [{"wish": wish, "words": words} for wish, words in plan.conflict.wishes] if plan.conflict else [],
        "because": list(plan.conflict.chain) if plan.conflict else [],
        "smallest_conflict": plan.conflict.smallest if plan.conflict else None,
        "findings": [finding_shape(finding, plan.view) for finding in review.findings] if review else [],
    }


def _finite(value: float) -> float | None:
    """JSON knows no infinity: a board without a price costs ``null``."""
    return value if math.isfinite(value) else None


def _placed_shape(placed: Placed) -> dict[str, Any]:
    return {
        "pin": placed.place.label,
        "gpio": placed.place.pad.gpio,
        "circuit": placed.circuit.words,
        "components": placed.circuit.components,
        "elements": [_element_shape(element) for element in placed.circuit.elements],
        "checks": [
            {"what": c.what, "words": c.words, "margin": _finite(c.margin), "unit": c.unit, "formula": c.formula, "holds": c.holds}
            for c in placed.circuit.checks
        ],
        "mode": placed.mode or None,
        "because": list(placed.because),
    }


def supply_shape(report: SupplyReport) -> dict[str, Any]:
    """Source, consumers, regulators and endurance; currents in amperes, asleep, awake and in a burst."""
    life = report.endurance
    return {
        "source": {
            "words": report.source.words,
            "low_v": report.source.v.low,
            "high_v": report.source.v.high,
            "max_a": report.source.i_max_a,
            "capacity_ah": report.source.capacity_ah,
        },
        "entry": report.entry.pin or None,
        "draw_a": _draw_shape(report.draw),
        "consumers": [{"name": c.name, "rail": c.rail, "known": c.known, "draw_a": _draw_shape(c.draw)} for c in report.consumers],
        "regulators": [
            {
                "takes": s.regulator.takes,
                "gives": s.regulator.gives,
                "max_a": s.regulator.i_max_a,
                "draw_a": _draw_shape(s.draw),
                "headroom_v": s.headroom_v,
                "heat_w": s.p_w,
                "junction_c": s.junction_c,
            }
            for s in report.stages
        ],
        "endurance": {
            "mean_a": life.mean_a,
            "life_s": life.life_s,
            "shares": [{"name": name, "share": share} for name, share in life.shares],
            "advice": life.advice,
        }
        if life
        else None,
    }


def _draw_shape(draw: Draw) -> list[float]:
    return [draw.asleep, draw.awake, draw.burst]


def _reading_shape(worth: Reading) -> dict[str, Any]:
    return {
        "quantity": worth.quantity,
        "unit": worth.unit,
        "low": worth.low,
        "high": worth.high,
        "step": [worth.step.low, worth.step.high],
        "at": worth.at,
        "worst": [worth.worst.low, worth.worst.high],
        "rss": worth.rss,
        "main": worth.main,
        "range": worth.range_name,
        "clipped": worth.clipped or None,
    }


def _element_shape(element: Element) -> dict[str, Any]:
    return {
        "kind": element.kind,
        "words": element.words,
        "why": element.why,
        "pieces": [
            {
                "what": piece.what,
                "role": piece.role or None,
                "value": piece.value,
                "unit": piece.unit if piece.value is not None else None,
                "part": piece.part or None,
                "rating": piece.rating or None,
                "origin": piece.origin or None,
                "why": piece.why or None,
                "window": _window_shape(piece.window) if piece.window else None,
                "margin": piece.margin or None,
                "formula": piece.formula or None,
            }
            for piece in element.pieces
        ],
    }


def _window_shape(window: Window) -> dict[str, Any]:
    return {
        "low": _finite(window.low.value),
        "low_because": window.low.because,
        "high": _finite(window.high.value),
        "high_because": window.high.because,
    }


def finding_shape(finding: Finding, board: BoardView) -> dict[str, Any]:
    """One finding of a review; the pin by its label, as in the lines of a plan."""
    labels = {place.name: place.label for place in board.places}
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "line": finding.line,
        "pin": labels.get(finding.pin, finding.pin),
        "because": list(finding.because),
        "fix": finding.fix or None,
        "numbers": dict(finding.numbers),
        "sources": list(finding.sources),
    }


def check_shape(result: CheckResult) -> dict[str, Any]:
    """Verdict and findings on fixed pins."""
    from pinwright.fitting.places import view

    catalogue = result.job.catalogue
    board = view(catalogue.boards[result.board], catalogue)
    return {
        "contract": CONTRACT,
        "board": result.board,
        "verdict": result.review.verdict,
        "supply": supply_shape(result.supply),
        "findings": [finding_shape(finding, board) for finding in result.review.findings],
    }


def why_shape(plan: BoardPlan, placed: Placed, job: Job) -> dict[str, Any]:
    """Why a line sits where it does, and what every other pin has against it."""
    from pinwright.fitting.why import alternatives, figures

    return {
        "contract": CONTRACT,
        "board": plan.view.board.id,
        "line": placed.line.id,
        **_placed_shape(placed),
        "reading": _reading_shape(worth) if (worth := plan.readings(job.setting.bench).get(placed.line.id)) else None,
        "figures": figures(plan, placed, job.catalogue.parts),
        "pins": [
            {
                "pin": item.candidate.place.label,
                "gpio": item.candidate.place.pad.gpio,
                "chosen": item.is_chosen,
                "strikes": [{"rule": s.rule, "words": s.words, "source": s.cite or None} for s in item.candidate.strikes],
                "marks": [{"rule": m.rule, "words": m.words, "weight": m.weight} for m in item.candidate.marks],
            }
            for item in alternatives(plan, placed)
        ],
    }


def timeline_shape(plan: BoardPlan, rows: Sequence[Row], written: str | None) -> dict[str, Any]:
    """What every line does, phase by phase."""
    return {
        "contract": CONTRACT,
        "board": plan.view.board.id,
        "written": written,
        "lines": [
            {"line": row.line, "pin": row.pin, "keeps": row.keeps or None, "phases": [cell_shape(cell) for cell in row.cells]}
            for row in rows
        ],
    }


def pack_shape(
    title: str, board: str, written: str, open_first: str, files: Mapping[str, bytes], left_out: Sequence[str]
) -> dict[str, Any]:
    """What was written into the folder of a pack, and what could not be made."""
    return {
        "contract": CONTRACT,
        "title": title,
        "board": board,
        "written": written,
        "open_first": open_first,
        "files": [{"path": path, "bytes": len(content), "sha256": sha256(content).hexdigest()} for path, content in files.items()],
        "left_out": list(left_out),
    }


def cell_shape(cell: Cell) -> dict[str, Any]:
    """One line in one phase with its proofs."""
    return {
        "phase": cell.phase,
        "verdict": cell.verdict,
        "does": cell.does,
        "proofs": [
            {
                "does": proof.stretch.does,
                "duration_s": proof.stretch.duration_s,
                "low_v": proof.v.low if proof.v else None,
                "high_v": proof.v.high if proof.v else None,
                "verdict": proof.verdict,
                "words": proof.words,
            }
            for proof in cell.proofs
        ],
        "sources": [source for source in cell.sources if source],
    }


def why_not_shape(answer: WhyNot, plan: BoardPlan) -> dict[str, Any]:
    """What it costs or breaks to put a line on another pin."""
    new, old = (answer.plan.objective if answer.plan else None), plan.objective
    labels = {place.name: place.label for place in plan.view.places}
    return {
        "contract": CONTRACT,
        "board": plan.view.board.id,
        "line": answer.line,
        "pin": labels[answer.pin],
        "possible": answer.plan is not None,
        "strikes": [{"rule": s.rule, "words": s.words, "source": s.cite or None} for s in answer.strikes],
        "costs": {tier: _finite(value - old.tiers()[tier]) for tier, value in new.tiers().items()} if new and old else None,
        "moved": [{"line": line, "from": labels[before], "to": labels[after]} for line, before, after in answer.moved],
        "because": list(answer.conflict.chain) if answer.conflict else [],
    }
