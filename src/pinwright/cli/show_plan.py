"""Show a plan: the boards in order, the best one in full, and why the others cannot."""

from __future__ import annotations

import math
import shlex
from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, counted, heading, table, text
from pinwright.cli.show_review import show_findings
from pinwright.cli.show_supply import show_supply
from pinwright.fitting.spare import SPARE_KINDS

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from pinwright.fitting.plan import BoardPlan
    from pinwright.planning import PlanResult
    from pinwright.review.model import Finding

__all__ = ["show_plan", "show_refusals"]

MOST_WISHES = 3
"""More wishes than this are cut short in the table of boards that cannot."""


def show_plan(result: PlanResult, top: int, brief: Path) -> None:
    """Print the whole answer to the brief in a file."""
    out = console()
    nets = result.ranking.job.nets
    lines = sum(len(device.lines) for device in nets.devices)
    out.print(text(result.ranking.job.file.brief.title), style="bold")
    boards = len(result.ranking.boards)
    out.print(f"{counted(len(nets.devices), 'part')}, {counted(lines, 'line')}, {counted(boards, 'board')} looked at")
    usable = result.usable
    if usable:
        _boards(out, result, usable, top)
        _best(out, result, usable[0], brief)
        _refused(out, result)
    else:
        show_refusals(result, out, top)
    if result.ranking.unseen:
        out.print()
        out.print(f"Not looked at: {', '.join(result.ranking.unseen)}.")


def _boards(out: Console, result: PlanResult, usable: list[BoardPlan], top: int) -> None:
    heading(out, "Boards that can, best first")
    unit = result.ranking.money_unit
    made = table(
        ("", "right"),
        ("board", "left"),
        (unit if len(unit) < 6 else "cost", "right"),
        ("extra parts", "right"),
        ("risk", "right"),
        ("scarce", "right"),
        ("spread", "right"),
    )
    made.columns[1].no_wrap = True  # a name that is broken in two cannot be typed
    for number, plan in enumerate(usable[:top], 1):
        assert plan.objective is not None
        tiers = [_number(value) for value in plan.objective.tiers().values()]
        made.add_row(f"{_marks(plan)}{number}", plan.view.board.id, *tiers)
    out.print(made)
    if len(usable) > top:
        out.print(f"and {len(usable) - top} more (--top {len(usable)} shows them)")
    if len(unit) >= 6:
        out.print("cost: class 1 (cheapest) to 5, indicative only; give your own with --prices FILE")
    used = "".join(map(_marks, usable[:top]))
    legend = [f"{mark} {words}" for mark, words in _MARKS.items() if mark in used]
    if legend:
        out.print("   ".join(legend))
    out.print("risk: marks against its pins   scarce: rare abilities used   spread: loose wires")
    out.print("Less is better; each column outweighs all to its right.")


_MARKS = {"!": "weak supply, see the findings", "~": "not proved best"}


def _marks(plan: BoardPlan) -> str:
    """What stands before the number: a supply that does not hold, a plan that is not proved."""
    return "!" * bool(plan.weak) + "~" * (not plan.proved)


def _number(value: float) -> str:
    return f"{value:g}" if math.isfinite(value) else "no price"


def _best(out: Console, result: PlanResult, plan: BoardPlan, brief: Path) -> None:
    board = plan.view.board
    heading(out, f"The plan: {board.name}")
    made = table(("line", "left"), ("pin", "left"), ("between pin and part", "left"))
    for placed in plan.placed:
        mode = f" ({placed.mode})" if placed.mode else ""
        made.add_row(text(placed.line.id), placed.place.name, placed.circuit.short + mode)
    out.print(made)
    for bus in result.ranking.job.nets.buses:
        if bus.addresses:
            found = ", ".join(f"{text(name)} 0x{address:02X}" for name, address in sorted(bus.addresses.items(), key=lambda item: item[1]))
            out.print(f"{bus.name} at up to {bus.max_hz / 1e3:g} kHz: {found}")
    _proof(out, plan)
    _readings(out, plan, result)
    show_supply(out, result.supplies[board.id])
    _firmware(out, plan)
    _spare(out, plan)
    show_findings(out, result.reviews[board.id])
    out.print()
    command = shlex.join(["pinwright", "why", str(brief), plan.placed[0].line.id])
    out.print(f"Ask about any line: {text(command)}")


def _proof(out: Console, plan: BoardPlan) -> None:
    solution = plan.solution
    if solution is None or solution.proved:
        out.print("Proved: no other choice of pins on this board is better.")
    else:
        tier = ("extra parts and risk", "scarce abilities", "spread", "tie-break")[solution.tier - 1]
        out.print(f"Not proved best within the time limit: in {tier} the bound is {solution.bound:g}.")


def _readings(out: Console, plan: BoardPlan, result: PlanResult) -> None:
    found = plan.readings(result.ranking.job.setting.bench)
    if not found:
        return
    heading(out, "What the analog readings are worth")
    for line, reading in found.items():
        bullet(out, f"{line}: {reading.words}")


def _firmware(out: Console, plan: BoardPlan) -> None:
    for support in plan.firmware[:2]:
        gaps = ", ".join(text(name) for name in support.missing)
        out.print(f"{support.words}: {f'no maintained driver known for {gaps}' if gaps else 'a driver for every part that needs one'}.")


def _spare(out: Console, plan: BoardPlan) -> None:
    heading(out, "Still free beside this (each counted alone)")
    words = {kind: name for kind, (name, _) in SPARE_KINDS.items()}
    made = table(("", "right"), ("", "left"))
    made.show_header = False
    for kind, count in plan.spare.items():
        made.add_row(str(count), words[kind])
    out.print(made)


def _refused(out: Console, result: PlanResult) -> None:
    """In short, below a plan that works: which boards cannot, those with the same reason together."""
    reasons: dict[str, list[str]] = {}
    for plan in _unusable(result):
        reasons.setdefault(_reason(result, plan), []).append(plan.view.board.id)
    if not reasons:
        return
    heading(out, "Boards that cannot")
    made = table(("board", "left"), ("because of", "left"))
    for reason, names in reasons.items():
        made.add_row(text(", ".join(names)), text(reason))
    out.print(made)
    out.print("--board NAME tells the whole story of one of them.")


def _unusable(result: PlanResult) -> list[BoardPlan]:
    usable = {plan.view.board.id for plan in result.usable}
    return [plan for plan in result.ranking.boards if plan.view.board.id not in usable]


def _reason(result: PlanResult, plan: BoardPlan) -> str:
    conflict = plan.conflict
    if conflict is None:
        return "; ".join(f"{f.line or f.rule}: {f.because[-1]}" for f in _refusing(result, plan))
    words = [words for _, words in conflict.wishes]
    if len(words) > MOST_WISHES:
        words[MOST_WISHES:] = [f"and {len(words) - MOST_WISHES} more that cannot all be met together"]
    return "; ".join(words) or conflict.chain[-1]


def _refusing(result: PlanResult, plan: BoardPlan) -> list[Finding]:
    review = result.reviews.get(plan.view.board.id)
    return [finding for finding in review.findings if finding.severity == "refuse"] if review else []


def show_refusals(result: PlanResult, out: Console | None = None, top: int = 3) -> None:
    """Explain why no board can do it, nearest misses first; boards with the same conflict share one explanation."""
    out = out or console()
    out.print()
    if not result.ranking.boards:
        out.print("Stopped before the first board was planned.", style="bold")
        return
    so_far = " looked at so far" if result.ranking.unseen else " in question"
    out.print(f"No board{so_far} can do this job.", style="bold")
    groups: dict[object, list[BoardPlan]] = {}
    for plan in _unusable(result):
        groups.setdefault(plan.conflict.wishes or plan.conflict.chain if plan.conflict else plan.view.board.id, []).append(plan)
    shown = list(groups.values())
    for plans in shown[:top]:
        _story(out, result, plans)
    rest = [plan.view.board.id for plans in shown[top:] for plan in plans]
    if rest:
        out.print()
        out.print(f"and {counted(len(rest), 'more board')}: {', '.join(rest)}")


def _story(out: Console, result: PlanResult, plans: list[BoardPlan]) -> None:
    plan = plans[0]
    heading(out, f"No plan on the {plan.view.board.name} ({plan.view.board.id})")
    conflict = plan.conflict
    if conflict is None:
        bullet(out, "Every line has a pin, but the review refuses the wiring:", " 1")
        for number, finding in enumerate(_refusing(result, plan), 2):
            where = " on ".join(filter(None, [finding.line, finding.pin]))
            bullet(out, f"{where + ': ' if where else ''}{'; '.join(filter(None, finding.because))}.", f"{number:2}")
        return
    for number, step in enumerate(conflict.chain, 1):
        bullet(out, step, f"{number:2}")
    words = [words for _, words in conflict.wishes]
    if len(words) == 1:
        bullet(out, f"Giving this up resolves it: {words[0]}.", "=>")
    elif words:
        size = " No smaller set of wishes conflicts." if conflict.smallest else ""
        bullet(out, f"Giving up any one of these resolves it: {'; '.join(words)}.{size}", "=>")
    if len(plans) > 1:
        bullet(out, f"The same holds for {', '.join(other.view.board.id for other in plans[1:])}.", "==")
