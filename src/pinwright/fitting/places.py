"""The pins of a board as places for wires: the pad behind each pin and everything that already sits on it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Protocol

from pinwright.circuits.ranges import Range
from pinwright.facts.loader import Catalogue
from pinwright.facts.model import Board, Chip, Erratum, Onboard, Pad, Reserve

__all__ = ["BoardView", "Place", "view"]

_LONG_TITLE = 50
ZONE_PINS = 5
"""Pins in a row that count as neighbours for tidy wiring (our choice)."""


@dataclass(frozen=True, slots=True)
class Place:
    """One header pin with an I/O pad behind it."""

    label: str
    row: str
    order: int
    pad: Pad
    onboard: tuple[Onboard, ...]
    reserve: Reserve | None
    is_console: bool
    errata: tuple[Erratum, ...] = ()

    @property
    def name(self) -> str:
        """Label, with the pad's name where the label does not already say it."""
        return self.label if self.label == self.pad.name else f"{self.label} ({self.pad.name})"

    @property
    def zone(self) -> str:
        """Stretch of a header row in which wires count as lying together."""
        return f"{self.row} {(self.order - 1) // ZONE_PINS + 1}"

    def fitted(self, *kinds: str) -> Onboard | None:
        """First thing of these kinds that sits on the pin."""
        return next((item for item in self.onboard if item.what in kinds), None)

    def is_called(self, name: str) -> bool:
        """Whether a maker may mean this pin by ``name``: its label, its pad or a number."""
        folded = name.casefold()
        return folded in (self.label.casefold(), self.pad.name.casefold(), str(self.pad.gpio).casefold(), self.name.casefold())


class _Cited(Protocol):
    @property
    def src(self) -> str: ...
    @property
    def where(self) -> str: ...
    @property
    def seen(self) -> str: ...


@dataclass(frozen=True, slots=True)
class BoardView:
    """A board, its chip and its places in header order.

    ``rail``: its logic supply where the source feeds it straight [V]; ``None`` where a regulator or USB makes it.
    """

    board: Board
    chip: Chip
    places: tuple[Place, ...]
    rail: Range | None = None
    _titles: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        for owner, sources in (("chip", self.chip.source), ("board", self.board.source)):
            self._titles.update(((owner, source.id), source.title) for source in sources)

    def chip_cite(self, item: _Cited) -> str:
        """Where a claim of the chip file comes from, for people: document, place, and whether it was recalled."""
        return self._cite("chip", item)

    def board_cite(self, item: _Cited) -> str:
        """The same for a claim of the board file."""
        return self._cite("board", item)

    def column_cite(self, column: str, pad: Pad) -> str:
        """Source of one column of the pad table, or of the pad where it names its own."""
        return self._cite("chip", pad if pad.src else self.chip.provenance[column])

    def _cite(self, owner: str, item: _Cited) -> str:
        first = item.src.split(";")[0].strip()
        title = _short_title(self._titles.get((owner, first), first))
        text = f"{title}, {item.where}" if item.where else title
        return f"{text} (recalled)" if text and item.seen == "memory" else text

    @property
    def console_matters(self) -> bool:
        """Whether the boot log's port reaches the maker: through a bridge, or on the pins of a board without USB."""
        return self.board.usb in ("bridge", "none") or self.chip.usb == "none"

    @property
    def clock_scale(self) -> float:
        """Board clock as a share of the clock the chip's PWM figures assume [-]."""
        assumed = max((pool.clock_hz for pool in self.chip.pwm), default=0.0)
        return self.board.clock_hz / assumed if self.board.clock_hz and assumed else 1.0

    def place(self, name: str) -> Place | None:
        """Place with this label, pad name or number."""
        by_label = [place for place in self.places if place.label.casefold() == name.casefold()]
        return next(iter(by_label or [place for place in self.places if place.is_called(name)]), None)


def _short_title(title: str) -> str:
    """A document's title without what follows a bracket or colon, where it is long; ``facts show`` has it in full."""
    return title if len(title) <= _LONG_TITLE else re.split(r"\s*[:(]", title)[0]


def view(board: Board, catalogue: Catalogue) -> BoardView:
    """Gather everything about a board's pins.  A pad brought out twice counts once, at its first pin."""
    chip = catalogue.chips[board.chip]
    pads = {pad.name: pad for pad in chip.pad}
    reserves = {name: reserve for reserve in board.reserve for name in reserve.pads}
    seen: set[str] = set()
    matters = BoardView(board, chip, ()).console_matters
    places = []
    for pin in board.header:
        if not pin.pad or pin.pad in seen:
            continue
        seen.add(pin.pad)
        onboard = tuple(item for item in board.onboard if item.pad == pin.pad)
        is_console = pin.pad in chip.console and matters
        pad = pads[pin.pad]
        errata = tuple(erratum for erratum in chip.erratum if erratum.concerns and pad.gpio in erratum.pads)
        places.append(Place(pin.label, pin.row, pin.order, pad, onboard, reserves.get(pin.pad), is_console, errata))
    return BoardView(board, chip, tuple(places))
