"""The device as somebody builds it: things with terminals, the nets that join them, and one numbered wire after another.

Everything the pack draws, lists and tests is read from here, so that drawing, list and bench sheet cannot disagree.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pinwright.fitting.plan import BoardPlan
    from pinwright.fitting.rank import Job
    from pinwright.planning import PlanResult
    from pinwright.review.model import Review
    from pinwright.supply.report import SupplyReport

__all__ = ["Build", "Item", "Net", "Stage", "Terminal", "Wire"]

ItemKind = Literal["board", "part", "component", "rail", "supply"]
Symbol = Literal["", "resistor", "capacitor", "diode", "npn", "nmos", "shifter", "stage", "fuse"]


@dataclass(frozen=True, slots=True, order=True)
class Terminal:
    """One place a wire can end: ``item`` is the ``ref`` of an item, ``name`` as printed on it."""

    item: str
    name: str


@dataclass(frozen=True, slots=True)
class Item:
    """A thing in the device.

    ``ref``: unique short name: ``board``, a designator (R1, C1, D1, Q1, U1: letters as in IEC 81346-2 and common practice),
    ``GND``, ``3.3 V`` for rails, the part's name for parts (always unique).  ``terminals`` in the order they are printed.
    ``symbol`` and ``role`` (upper, base, gate, pull-up, ...) for components; ``value`` in SI units of ``unit``.
    ``part``: id of the catalogue's entry; ``line``: line it serves (empty: several or none).
    ``name``: what the brief calls a part, where ``ref`` had to differ because a rail or the board is called so already.
    A supply with the ``role`` source is the device's own; others feed one rail.
    A one-way level shifter has one supply, V+, and its ``role`` says whither it leads; a two-way one has VA and VB.
    A fuse has no terminals: it goes into the plus lead of the supply its ``line`` names.
    ``in_stock``: the maker has it; ``origin`` says which stock or series the value is from, ``why`` why it is there.
    """

    ref: str
    kind: ItemKind
    title: str
    terminals: tuple[str, ...]
    symbol: Symbol = ""
    role: str = ""
    value: float | None = None
    unit: str = ""
    rating: str = ""
    part: str = ""
    line: str = ""
    origin: str = ""
    why: str = ""
    in_stock: bool = False
    note: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Net:
    """Everything joined: ``name`` for people, ``role`` of it, ``v_v`` where it is a rail [V], ``lines`` that run over it.

    ``colour``: insulation to use, a code of IEC 60757 (BK, RD, ...).
    """

    id: str
    name: str
    role: Literal["ground", "supply", "signal"]
    terminals: tuple[Terminal, ...]
    lines: tuple[str, ...] = ()
    v_v: float | None = None
    colour: str = "BK"


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire to cut and fit: two ends, its net, insulation colour (IEC 60757), cross-section [mm2], length [m].

    ``is_short``: a component's own lead or a few centimetres on the same board, not a wire to the outside.
    """

    number: int
    a: Terminal
    b: Terminal
    net: str
    colour: str
    area_mm2: float
    length_m: float
    is_short: bool = False
    i_a: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True)
class Stage:
    """The interface circuit of one line (or of the lines of a bus wire): items in it, from the pin to the part.

    ``pin``: terminal of the board; ``ends``: terminals of parts it leads to; ``nets`` from the pin's to the part's.
    """

    lines: tuple[str, ...]
    pin: Terminal
    ends: tuple[Terminal, ...]
    items: tuple[str, ...]
    nets: tuple[str, ...]


@dataclass(frozen=True)
class Build:
    """A plan, ready to be built."""

    job: Job
    result: PlanResult
    plan: BoardPlan
    review: Review
    supply: SupplyReport
    items: tuple[Item, ...]
    nets: tuple[Net, ...]
    wires: tuple[Wire, ...]
    stages: tuple[Stage, ...]
    notes: tuple[str, ...] = field(default=())

    @cached_property
    def by_ref(self) -> dict[str, Item]:
        """Items by their name."""
        return {item.ref: item for item in self.items}

    @cached_property
    def by_net(self) -> dict[str, Net]:
        """Nets by id."""
        return {net.id: net for net in self.nets}

    @cached_property
    def net_at(self) -> dict[Terminal, Net]:
        """Net of every terminal that is joined to something."""
        return {terminal: net for net in self.nets for terminal in net.terminals}

    @property
    def title(self) -> str:
        """What the device is."""
        return self.job.file.brief.title

    @property
    def board(self) -> Item:
        """The board."""
        return self.by_ref["board"]
