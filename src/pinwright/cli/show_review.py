"""Show findings: worst first, each with its reasons, numbers, sources and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, counted, heading, text

if TYPE_CHECKING:
    from rich.console import Console

    from pinwright.planning import CheckResult
    from pinwright.review.model import Finding, Review

__all__ = ["show_check", "show_findings"]

_MARKS = {"refuse": ("[REFUSE]", "bold red"), "caution": ("[CAUTION]", "yellow"), "note": ("[note]", "cyan")}


def show_check(result: CheckResult) -> None:
    """Print the verdict on fixed pins and everything behind it."""
    out = console()
    out.print(text(result.job.file.brief.title), style="bold")
    words = {
        "clear": "Clear: nothing speaks against this wiring.",
        "caution": "It can be built, with care: read the cautions.",
        "refused": "Do not build this as it is.",
    }
    out.print(f"{result.board}: {words[result.review.verdict]}")
    show_findings(out, result.review)


def show_findings(out: Console, review: Review) -> None:
    """Print all findings of a review."""
    counts = {severity: sum(f.severity == severity for f in review.findings) for severity in _MARKS}
    heading(out, f"Review: {counts['refuse']} refused, {counted(counts['caution'], 'caution')}, {counted(counts['note'], 'note')}")
    for finding in review.findings:
        _show(out, finding)


def _show(out: Console, finding: Finding) -> None:
    mark, style = _MARKS[finding.severity]
    where = " on ".join(filter(None, [text(finding.line), text(finding.pin)]))
    out.print(f"{mark} ", style=style, end="")
    out.print(f"{where}  ({finding.rule})" if where else f"({finding.rule})")
    for reason in finding.because:
        bullet(out, reason)
    for name, value in finding.numbers.items():
        bullet(out, f"{name}: {value}", "#")
    if finding.fix:
        bullet(out, finding.fix, ">")
    if finding.sources:
        bullet(out, "; ".join(finding.sources), "@")
