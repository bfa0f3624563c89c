"""What hangs behind an expander: ports used as what they cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Part
from pinwright.facts.ports import output_only_ports
from pinwright.fitting.lines import Device
from pinwright.review.common import board_finding, joined_names
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]


def _ports(wiring: Wiring) -> Iterator[Finding]:
    for device in wiring.devices:
        known = wiring.catalogue_parts.get(device.kind)
        entry = _entry(wiring, known)
        if known is None or entry is None or not device.ports:
            continue
        yield from _output_only(device, known, entry)
        yield from _one_way(device, known, entry)


def _entry(wiring: Wiring, known: Part | None) -> Part | None:
    """The entry that describes the ports: the part's own, or the one it points to."""
    if known is None or "port_names" in known.facts:
        return known
    return wiring.catalogue_parts.get(known.see)


def _output_only(device: Device, known: Part, entry: Part) -> Iterator[Finding]:
    bad = [port for port, use in device.ports if use == "in" and port in output_only_ports(entry)]
    if not bad:
        return
    fact = entry.facts["port_output_only"]
    yield board_finding(
        "expander-pin",
        "refuse",
        [
            f"{device.name} reads at {joined_names(bad)}",
            f"on {known.title} these ports are for outputs only" + (f": {fact.cond}" if fact.cond else ""),
        ],
        f"Move what is read there to another port, and use {joined_names(bad)} for outputs or not at all.",
        device.name,
        sources=[_cite(entry, "port_output_only")],
    )


def _one_way(device: Device, known: Part, entry: Part) -> Iterator[Finding]:
    """An expander that only reads, or only drives."""
    fact = entry.facts.get("port_directions")
    if fact is None:
        return
    ways = [word.strip() for word in fact.text.split(",")]
    for use, able in (("in", ("in", "analog", "analog-in")), ("out", ("out", "pwm", "analog", "open-drain-like"))):
        wrong = [port for port, wanted in device.ports if wanted == use]
        if wrong and not set(ways) & set(able):
            verb = "reads at" if use == "in" else "drives"
            yield board_finding(
                "expander-pin",
                "refuse",
                [f"{device.name} {verb} {joined_names(wrong)}", f"the ports of {known.title} are {fact.text} only"],
                "Take an expander whose ports go both ways.",
                device.name,
                sources=[_cite(entry, "port_directions")],
            )


def _cite(entry: Part, name: str) -> str:
    fact = entry.facts[name]
    title = next((source.title for source in entry.source if source.id == fact.src), fact.src)
    text = f"{title}, {fact.where}" if fact.where else title
    return f"{text} (recalled)" if fact.seen == "memory" else text


RULES: tuple[Rule, ...] = (
    Rule(
        "expander-pin",
        "ports of an expander used as what they cannot be",
        "the bus is disturbed, or nothing is read",
        "part data, named in the finding",
        _ports,
    ),
)
