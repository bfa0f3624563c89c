"""Show a plan: the boards in order, the best one in full, and why the others cannot."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, heading, table, text
from pinwright.cli.show_review import show_findings
from pinwright.fitting.spare import SPARE_KINDS

if TYPE_CHECKING:
    from rich.console import Console

    from pinwright.fitting.plan import BoardPlan
    from pinwright.planning import PlanResult

__all__ = ["show_plan", "show_refusals"]


def show_plan(result: PlanResult, top: int) -> None:
    """Print the whole answer to a brief."""
    out = console()
    brief = result.ranking.job.file.brief
    lines = sum(len(device.lines) for device in result.ranking.job.nets.devices)
    out.print(text(brief.title), style="bold")
    out.print(f"{len(result.ranking.job.nets.devices)} parts, {lines} lines, {len(result.ranking.boards)} boards looked at")
    usable = result.usable
    if usable:
        _boards(out, result, usable, top)
        _best(out, result, usable[0])
    else:
        out.print()
        out.print("No board in question can do this job.", style="bold")
    _refused(out, result, top)
    if result.ranking.unseen:
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
        ("", "left"),
    )
    for number, plan in enumerate(usable[:top], 1):
        assert plan.objective is not None
        tiers = [f"{value:g}" for value in plan.objective.tiers().values()]
        made.add_row(str(number), plan.view.board.id, *tiers, "" if plan.proved else "not proved best")
    out.print(made)
    if len(usable) > top:
        out.print(f"and {len(usable) - top} more (--top {len(usable)} shows them)")
    if len(unit) >= 6:
        out.print("cost: class 1 (cheapest) to 5, indicative only; give your own with --prices FILE")


def _best(out: Console, result: PlanResult, plan: BoardPlan) -> None:
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
    _spare(out, plan)
    show_findings(out, result.reviews[board.id])
    out.print()
    out.print(f'Ask about any line: pinwright why {text(result.ranking.job.file.name)} "{text(plan.placed[0].line.id)}"')


def _proof(out: Console, plan: BoardPlan) -> None:
    solution = plan.solution
    if solution is None or solution.proved:
        out.print("Proved: no other choice of pins on this board is better.")
    else:
        tier = ("extra parts and risk", "scarce abilities", "spread", "tie-break")[solution.tier - 1]
        out.print(f"Not proved best within the time limit: in {tier} the bound is {solution.bound:g}.")


def _spare(out: Console, plan: BoardPlan) -> None:
    heading(out, "Still free beside this (each counted alone)")
    words = {kind: name for kind, (name, _) in SPARE_KINDS.items()} | {"holdable_outputs": "outputs a resistor can hold low at power-up"}
    made = table(("", "right"), ("", "left"))
    made.show_header = False
    for kind, count in plan.spare.items():
        made.add_row(str(count), words[kind])
    out.print(made)


def _refused(out: Console, result: PlanResult, top: int) -> None:
    refused = [plan for plan in result.ranking.boards if plan.conflict]
    if not refused:
        return
    if not result.usable:
        show_refusals(result, out, top)
        return
    heading(out, "Boards that cannot")
    made = table(("board", "left"), ("because", "left"))
    for plan in refused:
        assert plan.conflict is not None
        made.add_row(plan.view.board.id, text("; ".join(words for _, words in plan.conflict.wishes) or plan.conflict.chain[-1]))
    out.print(made)
    out.print("--board NAME tells the whole story of one of them.")


def show_refusals(result: PlanResult, out: Console | None = None, top: int = 3) -> None:
    """Explain why no board can do it, nearest misses first."""
    out = out or console()
    refused = [plan for plan in result.ranking.boards if plan.conflict]
    for plan in refused[:top]:
        conflict = plan.conflict
        assert conflict is not None
        heading(out, f"No plan on the {plan.view.board.name} ({plan.view.board.id})")
        for number, step in enumerate(conflict.chain, 1):
            bullet(out, step, f"{number:2}")
        if conflict.wishes:
            size = "No smaller set of wishes conflicts." if conflict.smallest else "None of these wishes can be left out of the conflict."
            bullet(out, f"Giving up any one of these resolves it: {'; '.join(words for _, words in conflict.wishes)}. {size}", "=>")
    if len(refused) > top:
        out.print()
        out.print(f"and {len(refused) - top} more boards: {', '.join(plan.view.board.id for plan in refused[top:])}")
