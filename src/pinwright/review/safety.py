"""Cautions that belong to the parts: always said, whatever the wiring looks like."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Caution, Part
from pinwright.review.common import board_finding, joined_names
from pinwright.review.model import Finding, Rule, Severity, Wiring

__all__ = ["RULES"]

_SEVERITY: dict[str, Severity] = {
    "mains": "caution",
    "fire": "caution",
    "heat": "caution",
    "battery": "caution",
    "fuse": "note",
    "inductive": "note",
    "supply": "note",
    "motor": "note",
}
_FIX = {
    "mains": "Follow your local electrical code and have the mains side built or checked by a licensed electrician.",
    "fire": "Do not leave it unattended, use protections made for it, and follow your local codes; ask a licensed professional if unsure.",
    "heat": "Check the temperature under full load before you close the box, and keep anything that can burn away.",
    "battery": "Use cells with protection and a charger made for them, follow the maker's limits, and ask a professional if unsure.",
    "fuse": "Fuse the supply close to its source, as your local code and the wire's cross-section ask.",
    "inductive": "Fit the part that takes the energy of the coil right beside it.",
    "supply": "Feed the part as it says and join the grounds.",
    "motor": "Keep hands and cables away from what moves, and provide a way to stop it.",
}


def _cautions(wiring: Wiring) -> Iterator[Finding]:
    names: dict[str, list[str]] = {}
    for device in wiring.devices:
        names.setdefault(device.kind, []).append(device.name)
    for kind, devices in names.items():
        part = wiring.catalogue_parts.get(kind)
        for caution in part.caution if part else ():
            if part and caution.tag in _SEVERITY:
                yield board_finding(
                    f"safety-{caution.tag}",
                    _SEVERITY[caution.tag],
                    [f"{joined_names(devices)}: {caution.text}"],
                    _FIX[caution.tag],
                    ", ".join(devices),
                    sources=[_cite(part, caution)],
                )


def _cite(part: Part, caution: Caution) -> str:
    titles = {source.id: source.title for source in part.source}
    first = caution.src.split(";")[0].strip()
    text = f"{titles.get(first, first)}, {caution.where}" if caution.where else titles.get(first, first)
    return f"{text} (recalled)" if text and caution.seen == "memory" else text


RULES: tuple[Rule, ...] = (
    Rule(
        "safety-mains",
        "cautions of the parts: mains, fire, heat, battery; fuse, inductive, supply, motor as notes (safety-<tag>)",
        "somebody can be hurt",
        "the parts' data, named in the finding",
        _cautions,
    ),
)
