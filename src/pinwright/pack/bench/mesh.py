"""Resistors of a build as a network: what an ohmmeter shows between two nets, and where a node comes to rest.

The resistance between two nodes grows with every resistor between them   [Rayleigh's monotonicity law], so that all resistors at their
lowest and all at their highest give its bounds.  A node's voltage comes from ``powerup.one_node``   [Kirchhoff's current law].
Only what the build lists is in it: chips, modules and the board itself can lower a reading, never raise it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pinwright.circuits.ranges import Range
from pinwright.pack.build.model import Build, Item
from pinwright.powerup.one_node import Branch, divider_bounds

__all__ = ["METER_OHM", "Edge", "edges_of", "node_at", "resistance", "tolerance_of"]

METER_OHM = 10e6
"""Input resistance of an ordinary digital meter (common practice, no source)."""
_NO_METER_OHM = 1e12


@dataclass(frozen=True, slots=True)
class Edge:
    """A resistor between two nets [ohm]."""

    ref: str
    a: str
    b: str
    ohm: Range


def tolerance_of(build: Build, item: Item) -> float:
    """Tolerance of a resistor as a share: what its rating says, else the brief's.

    Parameters
    ----------
    build, item : what is built, and the resistor [-]
    """
    first = item.rating.split(",")[0].strip()
    if first.endswith("%"):
        try:
            return min(max(float(first.removesuffix("%")) / 100, 0.0), 0.5)
        except ValueError:
            pass
    return build.job.setting.bench.tolerance


def edges_of(build: Build) -> tuple[Edge, ...]:
    """Resistors that join two nets.

    Parameters
    ----------
    build : what is built [-]
    """
    ends: dict[str, list[str]] = {}
    for net in build.nets:
        for terminal in net.terminals:
            ends.setdefault(terminal.item, []).append(net.id)
    found = []
    for item in build.items:
        nets = ends.get(item.ref, [])
        if item.symbol == "resistor" and item.value and len(nets) == 2 and nets[0] != nets[1]:
            found.append(Edge(item.ref, nets[0], nets[1], Range.around(item.value, tolerance_of(build, item))))
    return tuple(found)


def resistance(edges: Iterable[Edge], a: str, b: str) -> Range | None:
    """What an ohmmeter shows between two nets, or ``None`` where no resistors join them.

    Parameters
    ----------
    edges : of ``edges_of`` [-]
    a, b : ids of the nets [-]
    """
    if a == b:
        return Range(0.0, 0.0, 0.0)
    found = _joined(list(edges), a, b)
    if not found:
        return None
    low, usual, high = (
        _between([(e.a, e.b, _pick(e, end)) for e in found], a, b) for end in ("low", "middle", "high")
    )  # fmt: skip
    return Range(low, max(high, low), min(max(usual, low), max(high, low)))


def node_at(
    edges: Iterable[Edge], net: str, known: Mapping[str, Range], more: Iterable[Branch] = (), i_leak_a: float = 0.0, metered: bool = True
) -> Range | None:
    """Bounds of a node nobody drives, from the resistors that hang on it, with and without a meter on it [V].

    Parameters
    ----------
    edges : of ``edges_of`` [-]
    net : the node [-]
    known : voltages of the nets at the other ends; a resistor to any other net carries no current [V]
    more : pulls the build does not list: of the board, the part, the pad [ohm, V]
    i_leak_a : leakage either way [A]
    metered : whether a meter may hang on it [-]

    Returns
    -------
    bounds : None where nothing holds it
    """
    branches: list[Branch] = list(more)
    usual: list[Branch] = [((low + high) / 2,) * 2 + ((v_low + v_high) / 2,) * 2 for low, high, v_low, v_high in branches]
    for edge in edges:
        for own, other in ((edge.a, edge.b), (edge.b, edge.a)):
            if own == net and other in known:
                volts = known[other]
                branches.append((edge.ohm.low, edge.ohm.high, volts.low, volts.high))
                usual.append((edge.ohm.middle, edge.ohm.middle, volts.middle, volts.middle))
    if not branches:
        return None
    meter: list[Branch] = [(METER_OHM, _NO_METER_OHM, 0.0, 0.0)] if metered else []
    found, middle = divider_bounds([*branches, *meter], -i_leak_a, i_leak_a), divider_bounds(usual)
    assert found is not None
    assert middle is not None
    low, high = max(found[0], -0.3), max(found[1], -0.3)
    return Range(low, high, min(max(middle[0], low), high))


def _pick(edge: Edge, end: str) -> float:
    return float(getattr(edge.ohm, end))


def _joined(edges: list[Edge], a: str, b: str) -> list[Edge]:
    """Edges of the piece of the network that holds both nodes; empty where no piece does."""
    seen, grown = {a}, True
    while grown:
        grown = False
        for edge in edges:
            if (edge.a in seen) != (edge.b in seen):
                seen |= {edge.a, edge.b}
                grown = True
    return [edge for edge in edges if edge.a in seen] if b in seen else []


def _between(edges: list[tuple[str, str, float]], a: str, b: str) -> float:
    """Resistance between two nodes: every other node is taken out by star-mesh, its resistors becoming one between each two of its ends."""
    g: dict[str, dict[str, float]] = {}
    for left, right, ohm in edges:
        for one, other in ((left, right), (right, left)):
            g.setdefault(one, {})[other] = g.get(one, {}).get(other, 0.0) + 1 / ohm
    for node in [name for name in g if name not in (a, b)]:
        around = g.pop(node)
        total = sum(around.values())
        for one, g_one in around.items():
            g[one].pop(node)
            for other, g_other in around.items():
                if one != other:
                    g[one][other] = g[one].get(other, 0.0) + g_one * g_other / total
    return 1 / g[a][b]
