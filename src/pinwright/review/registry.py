"""All rules of the review, and the function that applies them."""

from __future__ import annotations

from collections.abc import Iterable

from pinwright.review.model import Finding, Review, Rule, Wiring

__all__ = ["all_rules", "review", "worst_first"]

_SEVERITY_ORDER = {"refuse": 0, "caution": 1, "note": 2}


def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order in which they are applied."""
    from pinwright.review import (
        abilities,
        addresses,
        analog,
        as_built,
        asleep,
        blocks,
        buses,
        currents,
        drivers,
        errata,
        expanders,
        levels,
        limits,
        margins,
        onboard,
        open_lines,
        pins,
        pulls,
        pulses,
        pwm,
        safety,
        starting,
        straps,
        too_fast,
        unpowered,
        usb_device,
        waking,
    )

    who, start, bus = (pins, abilities, errata, onboard), (straps, starting, unpowered, waking, asleep), (buses, blocks, addresses)
    wires, whole = (limits, levels, margins, analog, pulls, open_lines, as_built, currents), (expanders, drivers, usb_device, safety)
    modules = (*who, *start, *wires, *bus, pwm, pulses, too_fast, *whole)
    return tuple(rule for module in modules for rule in module.RULES)


def review(wiring: Wiring) -> Review:
    """Apply every rule to a wiring; findings come worst first."""
    return Review(worst_first(finding for rule in all_rules() for finding in rule.check(wiring)))


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order people should read them."""
    return tuple(sorted(findings, key=lambda f: (_SEVERITY_ORDER[f.severity], f.line, f.rule, f.pin)))
