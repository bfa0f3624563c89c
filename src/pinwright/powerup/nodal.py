"""Node voltages of a small network over all its corners at once, and how long a node takes to cross a level.

A node floats where no path of resistors, closed switches and conducting junctions leads to a rail.  It gets no voltage then.
Leakages on a node that no resistor holds are left out: less than they could ever come out of it into the rest.
[Kirchhoff's current law; matrices: powerup.matrices; why corners suffice: powerup.corners]
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.ranges import Range, Value
from pinwright.errors import OutOfRange
from pinwright.powerup.corners import CORNERS_MAX, Corners, corners_of
from pinwright.powerup.elements import V_THERMAL_V, Diode, Leak, Network, Resistor, Supply, Switch
from pinwright.powerup.matrices import G_MIN_S, Array, Bools, Grid, held_by_junctions, newton
from pinwright.powerup.one_node import divider_bounds

__all__ = ["CORNERS_MAX", "NodeBounds", "Settling", "Solution", "divider_bounds", "settle", "solve"]


@dataclass(frozen=True, slots=True, eq=False)
class NodeBounds:
    """Voltages of one node.

    ``v`` bounds over all corners, None where the node floats in one of them; ``v_held`` bounds over the corners where something
    holds it (None: nowhere).  ``low_at``, ``high_at``, ``floats_at``: a corner that does it, None where none does.
    """

    v: Range | None
    v_held: Range | None
    low_at: int | None
    high_at: int | None
    floats_at: int | None
    corners: Corners

    @property
    def low_when(self) -> str:
        """The corner of the lowest voltage, in words."""
        return "" if self.low_at is None else self.corners.words(self.low_at)

    @property
    def high_when(self) -> str:
        """The corner of the highest voltage, in words."""
        return "" if self.high_at is None else self.corners.words(self.high_at)

    @property
    def floats_when(self) -> str:
        """A corner in which nothing holds the node, in words; empty if there is none."""
        return "" if self.floats_at is None else self.corners.words(self.floats_at)


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """A solved network.

    ``v_node`` *(corner, node)* [V], 0 where ``is_held`` is false; ``i_element`` *(corner,)* of every named element [A],
    empty where ``corners.is_tied``.  ``node``: bounds of every node.
    """

    nodes: tuple[str, ...]
    v_node: Array
    is_held: Bools
    i_element: dict[str, Array]
    node: dict[str, NodeBounds]
    corners: Corners

    def v(self, node: str) -> Range | None:
        """Bounds of a node's voltage [V], None where it floats in some corner."""
        return self.node[node].v

    def i(self, name: str) -> Range:
        """Bounds of the current of a named element [A].  Raises OutOfRange where they are not known."""
        if self.corners.is_tied:
            raise OutOfRange(f"With more than {CORNERS_MAX} corners only voltages have bounds, not the current of {name}.")
        return Range(float(self.i_element[name].min()), float(self.i_element[name].max()))


def solve(network: Network, corners: bool = True) -> Solution:
    """Solve a network over all corners of its ranges and all states of its switches.   [module text]

    Parameters
    ----------
    network : elements [-]
    corners : False takes every range at its usual value; switches keep their states [-]

    Returns
    -------
    solution : voltages, currents, bounds

    Raises
    ------
    OutOfRange : too many ranges, or no operating point found; in words.

    >>> from pinwright.powerup.elements import GROUND
    >>> pulls = Network((Supply("3V3", Range(3.1, 3.5)), Resistor("3V3", "pad", Range(30e3, 80e3)), Resistor("pad", GROUND, 10e3)))
    >>> pad = solve(pulls).node["pad"]
    >>> f"{pad.v.low:.3f} V to {pad.v.high:.3f} V, highest with {pad.high_when}"
    '0.344 V to 0.875 V, highest with 3V3 3.5 V, 3V3 to pad 30 kΩ'
    """
    return _solved(Grid.of(network, corners_of(network, corners)))


def _solved(grid: Grid) -> Solution:
    if grid.junctions:
        v, slopes = newton(grid)
        held = held_by_junctions(grid, slopes)
    else:
        v, held = grid.voltages(grid.g, grid.i_in, slice(None)), grid.held
    nodes = (*grid.network.rails, *grid.network.inner)
    currents = {} if grid.corners.is_tied else _currents(grid, v)
    v_node, held = np.where(held, v, 0.0)[:, : len(nodes)], held[:, : len(nodes)]
    bounds = {node: _bounds(v_node[:, at], held[:, at], grid.corners) for at, node in enumerate(nodes)}
    return Solution(nodes, v_node, held, currents, bounds, grid.corners)


def _bounds(v: Array, held: Bools, corners: Corners) -> NodeBounds:
    floats = None if held.all() else int(np.argmin(held))
    if not held.any():
        return NodeBounds(None, None, None, None, floats, corners)
    low, high = int(np.argmin(np.where(held, v, np.inf))), int(np.argmax(np.where(held, v, -np.inf)))
    v_held = Range(float(v[low]), float(v[high]))
    return NodeBounds(v_held if floats is None else None, v_held, low, high, floats, corners)


def _currents(grid: Grid, v: Array) -> dict[str, Array]:
    """Current of every named element; a supply gives what flows out of its node."""
    place, found = grid.place, {}
    out = np.zeros_like(v)  # (corner, node): what all elements take out of a node
    junctions = {each.column: each for each in grid.junctions}
    for column, element in enumerate(grid.network.elements):
        value = grid.corners.value[:, column]
        if isinstance(element, Resistor | Switch):
            i = (v[:, place[element.a]] - v[:, place[element.b]]) / value
            out[:, place[element.a]] += i
            out[:, place[element.b]] -= i
        elif isinstance(element, Diode):
            v_drop = v[:, junctions[column].anode] - v[:, junctions[column].cathode]
            i = value * np.expm1(v_drop / (element.n * V_THERMAL_V)) + G_MIN_S * v_drop
            out[:, place[element.anode]] += i
            out[:, place[element.cathode]] -= i
        elif isinstance(element, Leak):
            i = np.where(grid.held[:, place[element.node]], value, 0.0)
            out[:, place[element.node]] += i
        else:
            continue
        if element.name:
            found[element.name] = i
    supplies = {e.name: out[:, place[e.node]] for e in grid.network.elements if isinstance(e, Supply) and e.name}
    return found | supplies


# ------------------------------------------------------------------------------ with a capacitor


@dataclass(frozen=True, slots=True)
class Settling:
    """When a node crosses a level.

    ``t_s`` bounds of the time [s], None where some corner never gets there; ``never_when`` names it.
    ``slow_when``: the slowest corner, in words.  ``v_end``: where the node ends up [V], None where it floats.
    """

    t_s: Range | None
    v_end: Range | None
    slow_when: str = ""
    never_when: str = ""


def settle(network: Network, node: str, c_f: Value, v_start_v: Value, v_threshold_v: Value) -> Settling:
    """Time for a node with a capacitor to ground to go from a start to a threshold; linear networks only.

    t = R C ln((V - V_start) / (V - V_threshold))   with V and R of the network seen from the node [Thévenin]

    Every value works one way as long as no rail lies between start and threshold; then the corners are exact.

    Parameters
    ----------
    network : without diodes [-]
    node : the one with the capacitor [-]
    c_f : capacitor [F]
    v_start_v : voltage at first [V]
    v_threshold_v : level to cross [V]

    Returns
    -------
    settling : bounds of the time; 0 where it starts at the threshold

    Raises
    ------
    OutOfRange : diodes, a node that is none, a capacitor that is not positive, a threshold on both sides of the start.

    >>> rc = Network((Supply("3V3", 3.3), Resistor("3V3", "EN", Range(9.5e3, 10.5e3))))
    >>> f"{settle(rc, 'EN', 1e-6, 0.0, 2.475).t_s.high * 1e3:.1f} ms"
    '14.6 ms'
    """
    c, start, level = (value if isinstance(value, Range) else Range(value, value) for value in (c_f, v_start_v, v_threshold_v))
    positive(c_f=(c.low, c.high))
    finite(v_start_v=(start.low, start.high), v_threshold_v=(level.low, level.high))
    if node not in network.inner:
        raise OutOfRange(f"{node} is no node a capacitor could charge in this network.")
    if any(isinstance(element, Diode) for element in network.elements):
        raise OutOfRange("A network with diodes has no single time constant; replace them by what bounds their current.")
    up = level.low >= start.high
    if not up and level.high > start.low:
        raise OutOfRange(
            f"The threshold, {level.low:g} to {level.high:g} V, must lie on one side of the start, {start.low:g} to {start.high:g} V."
        )
    grid = Grid.of(network, corners_of(network))
    bounds, held, v, r_ohm = _thevenin(grid, node)
    short, long = ((start.high, level.low), (start.low, level.high)) if up else ((start.low, level.high), (start.high, level.low))
    if start.low == start.high == level.low == level.high:  # it is there already
        return Settling(Range(0.0, 0.0), bounds.v)
    never = ~held | (v <= level.high if up else v >= level.low)
    if never.any():
        return Settling(None, bounds.v, never_when=grid.corners.words(int(np.argmax(never))))
    fast = r_ohm * c.low * np.log((v - short[0]) / (v - short[1]))
    slow = r_ohm * c.high * np.log((v - long[0]) / (v - long[1]))
    return Settling(Range(float(fast.min()), float(slow.max())), bounds.v, slow_when=grid.corners.words(int(np.argmax(slow))))


def _thevenin(grid: Grid, node: str) -> tuple[NodeBounds, Bools, Array, Array]:
    """Bounds, whether held, open voltage and source resistance of a node, (corner,) each."""
    at = grid.place[node]
    v = grid.voltages(grid.g, grid.i_in, slice(None))[:, at]
    one_ampere = grid.i_in.copy()
    one_ampere[:, at] += 1.0
    r_ohm = grid.voltages(grid.g, one_ampere, slice(None))[:, at] - v
    return _bounds(np.where(grid.held[:, at], v, 0.0), grid.held[:, at], grid.corners), grid.held[:, at], v, r_ohm
