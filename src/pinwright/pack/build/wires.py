"""From nets to wires: which two ends each joins, its colour, its cross-section and its length."""

from __future__ import annotations

from itertools import pairwise

from pinwright.circuits.ampacity import thinnest
from pinwright.errors import OutOfRange
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.rank import Job
from pinwright.pack.build.joiner import GROUND, Joiner, free_name
from pinwright.pack.build.model import Item, Net, Terminal, Wire
from pinwright.supply.budget import wish_of
from pinwright.supply.rails import CLOSE_V
from pinwright.supply.report import SupplyReport

__all__ = ["COLOURS", "nets_of", "wires_of"]

COLOURS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue", "VT": "violet", "GY": "grey",
    "WH": "white", "PK": "pink", "TQ": "turquoise",
}  # fmt: skip
"""Codes of IEC 60757.  Green with yellow belongs to protective earth and is never used here."""
_SIGNALS = ("YE", "GN", "BU", "WH", "GY", "BN", "TQ")
SIGNAL_MM2 = 0.14
"""Cross-section of an ordinary hook-up wire for signals [mm2]   [common practice, no source]."""
SUPPLY_MM2 = 0.25
"""The least for a supply wire inside a device [mm2]   [common practice, no source]."""
SMALL_A = 0.3
"""Up to here a signal wire carries a supply as well [A] (common practice, no source)."""
_LOAD_SIDE = ("C", "D", "E", "S")
"""Terminals of a switch its load's current runs through."""
USUAL_M, SHORT_M = 0.2, 0.05
"""Length of a wire to a part whose brief gives none, and on the board itself [m] (our choice; the list says so)."""


def nets_of(join: Joiner) -> tuple[Net, ...]:
    """All nets with two ends or more: ground, rails by voltage, then signals in the order they were joined."""
    found = []
    colours = _rail_colours(join)
    number = 0
    taken = {GROUND, *join.volts}
    for node, terminals in join.nodes.items():
        if len(terminals) < 2:
            continue
        lines = tuple(join.lines.get(node, ()))
        if node == GROUND:
            found.append(Net(node, "ground", "ground", tuple(terminals), lines, 0.0, "BK"))
        elif node in join.volts:
            found.append(Net(node, node, "supply", tuple(terminals), lines, join.volts[node], colours[node]))
        else:
            name = free_name(_signal_name(node, lines), taken)
            taken.add(name)
            found.append(Net(node, name, "signal", tuple(terminals), lines, None, _SIGNALS[number % len(_SIGNALS)]))
            number += 1
    order = {"ground": 0, "supply": 1, "signal": 2}
    return tuple(sorted(found, key=lambda net: (order[net.role], net.v_v or 0.0)))


def _signal_name(node: str, lines: tuple[str, ...]) -> str:
    """A pin's net is called by what runs over it."""
    if not node.startswith("pin ") or not lines:
        return node
    return lines[0] if len(lines) == 1 else f"{lines[0]} and {len(lines) - 1} more"


def _rail_colours(join: Joiner) -> dict[str, str]:
    """The same colour for the same voltage in every pack: orange to 4 V, red to 7 V, violet above, pink where it is taken (our choice)."""
    found: dict[str, str] = {}
    for volts, node in sorted((volts, node) for node, volts in join.volts.items() if node in join.nodes):
        colour = "OG" if volts < 4.0 else "RD" if volts < 7.0 else "VT"
        found[node] = colour if colour not in found.values() else "PK"
    return found


def wires_of(nets: tuple[Net, ...], items: dict[str, Item], plan: BoardPlan, job: Job, supply: SupplyReport) -> tuple[Wire, ...]:
    """Every wire of the device, numbered from 1: supplies first, then signals, each net from its board pin or rail outwards.

    Parameters
    ----------
    nets, items : what is joined [-]
    plan : load currents come from its lines [-]
    job : lengths come from its brief [-]
    supply : currents of the rails [-]
    """
    wires: list[Wire] = []
    fuses = [item for item in items.values() if item.symbol == "fuse"]
    loads = {p.line.id: load.inrush_a or load.i_a for p in plan.placed if (load := p.line.asks.load) is not None and load.stage == "low"}
    gives = {t.item: net.v_v or 0.0 for net in nets for t in net.terminals if net.role == "supply" and items[t.item].kind == "supply"}
    for net in nets:
        for a, b in _pairs(net, items):
            amps = _amps(net, a, b, items, supply, loads, gives)
            metres, note = _length(a, b, items, job)
            fuse = next((f for t in (a, b) for f in fuses if f.line == t.item and t.name == "+"), None)
            area = _area(max(amps, fuse.value or 0.0) if fuse is not None else amps, job)
            note = "; ".join(filter(None, (note, f"through fuse {fuse.ref} of {fuse.value:g} A" if fuse is not None else "")))
            wires.append(
                Wire(len(wires) + 1, a, b, net.id, net.colour, area, metres, not _leaves(a, b, items), amps, note)
            )  # fmt: skip
    return tuple(wires)


def _pairs(net: Net, items: dict[str, Item]) -> list[tuple[Terminal, Terminal]]:
    """Ends of a net's wires: a rail is a star around its strip, a signal a chain from the pin over components to the parts."""
    hub = next((t for t in net.terminals if items[t.item].kind == "rail"), None)
    if hub is not None:
        first = [t for t in net.terminals if items[t.item].kind in ("supply", "board")]
        rest = [t for t in net.terminals if t != hub and t not in first]
        return [*((t, hub) for t in first), *((hub, t) for t in rest)]
    order = {"supply": 0, "board": 1, "component": 2, "part": 3, "rail": 4}
    chain = sorted(net.terminals, key=lambda t: order[items[t.item].kind])
    return list(pairwise(chain))


def _leaves(a: Terminal, b: Terminal, items: dict[str, Item]) -> bool:
    """Whether a wire goes to a part or a supply, and is not just a lead on the board."""
    return any(items[t.item].kind in ("part", "supply") for t in (a, b))


def _length(a: Terminal, b: Terminal, items: dict[str, Item], job: Job) -> tuple[float, str]:
    if not _leaves(a, b, items):
        return SHORT_M, ""
    if any(items[t.item].kind == "supply" for t in (a, b)):
        given = job.file.brief.supply.wire_m
        return (given, "") if given else (USUAL_M, "length assumed")
    given_m = [wish.wire_m for t in (a, b) if items[t.item].kind == "part" and (wish := wish_of(items[t.item].name, job)) is not None]
    known = [metres for metres in given_m if metres]
    return (sum(known), "") if known else (USUAL_M, "length assumed")


def _amps(
    net: Net, a: Terminal, b: Terminal, items: dict[str, Item], supply: SupplyReport, loads: dict[str, float], gives: dict[str, float]
) -> float:
    """Most a wire carries [A]: the load behind a switch, a part's own draw, all of a rail; nothing to speak of on a signal."""
    switched = [items[t.item].line for t in (a, b) if t.name in _LOAD_SIDE and items[t.item].role == "switch"]
    if net.role == "signal" and any(items[t.item].role == "switch" and t.name in ("C", "D") for t in net.terminals):
        return max((loads.get(line, 0.0) for line in net.lines), default=0.0)
    diodes = [items[t.item].line for t in (a, b) if items[t.item].symbol == "diode"]
    if switched or diodes:
        return max(loads.get(line, 0.0) for line in (*switched, *diodes))
    if net.role == "signal":
        return 0.0
    parts = [items[t.item].name for t in (a, b) if items[t.item].kind == "part"]
    if parts:
        return sum(c.draw.burst for c in supply.consumers if c.name in parts)
    if any(items[t.item].kind == "component" for t in (a, b)):
        return 0.0
    feed = next((t.item for t in (a, b) if items[t.item].kind == "supply"), None)
    if feed is not None:
        return supply.draw.burst if items[feed].role == "source" else _drawn(gives[feed], items, supply)
    if net.role == "ground" or any(items[t.item].role == "source" for t in net.terminals):
        return _through_board(items, supply)
    return _drawn(net.v_v or 0.0, items, supply)


def _through_board(items: dict[str, Item], supply: SupplyReport) -> float:
    """What runs through the board's own supply pin and ground [A]: all the source gives, less what parts take beside the board.

    Over USB there is no way beside it.
    """
    if not any(item.role == "source" and "+" in item.terminals for item in items.values()):
        return supply.draw.burst
    beside = sum(c.draw.burst for c in supply.fed if abs(c.volts - supply.source.v.middle) < CLOSE_V and c.rail != "logic")
    return max(supply.draw.burst - beside, 0.0)


def _drawn(volts: float, items: dict[str, Item], supply: SupplyReport) -> float:
    """What parts take from a rail at their peak [A]."""
    names = {item.name for item in items.values() if item.kind == "part"}
    return sum(c.draw.burst for c in supply.consumers if abs(c.volts - volts) < CLOSE_V and c.name in names)


def _area(amps: float, job: Job) -> float:
    if amps <= SMALL_A:
        return SIGNAL_MM2
    if amps <= 1.0:
        return SUPPLY_MM2
    try:
        return round(thinnest(amps, t_ambient_c=max(job.setting.ambient_c[1], 20.0)).area_m2 * 1e6, 2)
    except OutOfRange:
        return 6.0
