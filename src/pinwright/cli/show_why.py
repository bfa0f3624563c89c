"""Show why a line sits on its pin and what every other pin has against it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, heading, table, text
from pinwright.fitting.why import WhyNot, alternatives, figures

if TYPE_CHECKING:
    from rich.console import Console

    from pinwright.fitting.plan import BoardPlan, Placed
    from pinwright.fitting.rank import Job

__all__ = ["show_why", "show_why_not"]

_TIER_WORDS = {
    "components": "extra parts",
    "risk": "risk, marks against the pins used",
    "scarce": "scarce abilities used up",
    "spread": "spread of wires that belong together",
}


def show_why(plan: BoardPlan, placed: Placed, job: Job) -> None:
    """Print the reasons for one line."""
    out = console()
    out.print(f"{text(placed.line.id)} is on {placed.place.name} of the {plan.view.board.name} because", style="bold")
    for number, reason in enumerate(placed.because, 1):
        bullet(out, reason, f"{number:2}")
    _circuit(out, placed)
    worth = plan.readings(job.setting.bench).get(placed.line.id)
    if worth is not None:
        bullet(out, worth.words)
    heading(out, "Where the figures come from")
    for words in figures(plan, placed, job.catalogue.parts):
        bullet(out, words)
    heading(out, "Every pin of the board for this line")
    made = table(("", "left"), ("pin", "left"), ("verdict", "left"))
    for item in alternatives(plan, placed):
        mark = "*" if item.is_chosen else "x" if item.reason else "o"
        marks = "; ".join(m.words for m in item.candidate.marks)
        made.add_row(mark, item.candidate.place.name, text(item.reason or (f"possible: {marks}" if marks else "possible")))
    out.print(made)
    out.print("* chosen   o possible   x struck out")


def _circuit(out: Console, placed: Placed) -> None:
    """Every value with its window, margin and formula, and every inequality that was checked."""
    circuit = placed.circuit
    if not any(element.pieces for element in circuit.elements) and not circuit.checks:
        return
    heading(out, "Between pin and part, in numbers")
    for element in circuit.elements:
        for piece in element.pieces:
            bullet(out, f"{piece.words}{f', {piece.part}' if piece.part else ''}{f', {piece.rating}' if piece.rating else ''}")
            if piece.window is not None:
                bullet(out, f"allowed {piece.window.words}", " ", 4)
            for words in (piece.why, f"margin: {piece.margin}" if piece.margin else "", _formula(piece.formula)):
                if words:
                    bullet(out, words, " ", 4)
    for check in circuit.checks:
        bullet(out, f"{check.what}: {check.words}", "ok" if check.holds else "!!", 2)
        bullet(out, _formula(check.formula), " ", 5)


def _formula(name: str) -> str:
    return f"formula {name} (docs/formulas.md)" if "." in name else name


def show_why_not(answer: WhyNot, plan: BoardPlan) -> None:
    """Print what happens with the line on another pin."""
    out = console()
    if answer.strikes:
        out.print(f"{text(answer.line)} cannot be on {answer.pin}:", style="bold")
        for strike in answer.strikes:
            bullet(out, f"{strike.words}{f' [{strike.cite}]' if strike.cite else ''}")
        return
    if answer.conflict:
        out.print(f"With {text(answer.line)} on {answer.pin} the rest no longer fits:", style="bold")
        for number, step in enumerate(answer.conflict.chain, 1):
            bullet(out, step, f"{number:2}")
        return
    assert answer.plan is not None
    assert answer.plan.objective is not None
    assert plan.objective is not None
    new, old = answer.plan.objective.tiers(), plan.objective.tiers()
    worse = {tier: value - old[tier] for tier, value in new.items() if value != old[tier]}
    if not answer.moved:
        out.print(f"{text(answer.line)} is on {answer.pin} already.", style="bold")
    elif not worse:
        out.print(f"{text(answer.line)} could be on {answer.pin} at no cost: the plans are equally good.", style="bold")
    else:
        out.print(f"{text(answer.line)} on {answer.pin} is possible, and this is what it changes:", style="bold")
        for tier, difference in worse.items():
            bullet(out, f"{_TIER_WORDS.get(tier, tier)}: {difference:+g} (from {old[tier]:g} to {new[tier]:g}, less is better)")
        if len(worse) > 1:
            bullet(out, "what stands first outweighs all that follows")
    for line, before, after in answer.moved:
        bullet(out, f"{line} moves from {before} to {after}")
