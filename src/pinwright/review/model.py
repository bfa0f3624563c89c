"""A wiring to be reviewed and what a review says about it.

The review knows nothing of the solver.  It gets the parts' lines, the pins they sit on and the circuits between,
and derives everything else from the catalogue once more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from pinwright.facts.model import Part
from pinwright.fitting.interface import Circuit
from pinwright.fitting.lines import Device, Line
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Setting

__all__ = ["Finding", "Review", "Rule", "Severity", "Wire", "Wiring"]

Severity = Literal["refuse", "caution", "note"]


@dataclass(frozen=True, slots=True)
class Wire:
    """A line on a pin.  ``mode`` is what a timer there runs at (``1000 Hz``), where a plan has decided that."""

    line: Line
    place: Place
    circuit: Circuit
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Wiring:
    """A whole device: board, parts, wires.

    ``unplaced`` lines have no pin (yet).  ``addresses`` are bus addresses by device name, where a plan has decided them.
    ``as_built`` are ids of lines whose circuit is what the brief says is fitted, not what they need.
    ``catalogue_parts`` are the catalogue's entries by ``Device.kind``; they bring cautions, default addresses and sources.
    """

    view: BoardView
    setting: Setting
    devices: tuple[Device, ...]
    wires: tuple[Wire, ...]
    unplaced: tuple[Line, ...] = ()
    addresses: dict[str, int] = field(default_factory=dict)
    catalogue_parts: dict[str, Part] = field(default_factory=dict)
    as_built: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Finding:
    """Result of one check.

    ``because`` is the chain of reasons, facts first; ``numbers`` hold name, value and unit as text ready to read;
    ``sources`` name the documents.  ``fix`` says what to do about it.
    """

    rule: str
    severity: Severity
    line: str
    pin: str
    because: tuple[str, ...]
    numbers: dict[str, str] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    fix: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A check: ``id``, ``what`` it looks for, ``why`` it matters, its ``source``, and the function that does it."""

    id: str
    what: str
    why: str
    source: str
    check: Callable[[Wiring], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Review:
    """All findings on a wiring, worst first."""

    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Literal["clear", "caution", "refused"]:
        """Refused if anything must not be built, caution if anything needs care, clear otherwise."""
        severities = {finding.severity for finding in self.findings}
        if "refuse" in severities:
            return "refused"
        return "caution" if "caution" in severities else "clear"
