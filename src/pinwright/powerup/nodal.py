"""Node voltages of a small network over all its corners at once, and how long a node takes to cross a level.

Kirchhoff's current law at every node gives G v = i; all corners are solved as one stack of matrices *(corner, node, node)*.
A diode is replaced by its tangent, a conductance and a current source, at the junction voltage of the step before
(Newton's method); the junction may rise only logarithmically beyond the knee, so no exponential overflows.
[C.-W. Ho, A. E. Ruehli, P. A. Brennan, IEEE Trans. Circuits Syst. 22 (1975) 504; L. W. Nagel, SPICE2, UCB/ERL M520 (1975), ch. 4]

A node floats where no path of resistors, closed switches and conducting junctions leads to a rail.  It gets no voltage then.
Its own leakages are left out of the rest of the network: no more than their microampere could ever come out of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.ranges import Range, Value
from pinwright.errors import OutOfRange
from pinwright.powerup.corners import CORNERS_MAX, Corners, corners_of
from pinwright.powerup.elements import GROUND, V_THERMAL_V, Diode, Leak, Network, Resistor, Supply, Switch
from pinwright.powerup.one_node import divider_bounds

__all__ = ["CORNERS_MAX", "NodeBounds", "Settling", "Solution", "divider_bounds", "settle", "solve"]

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

_G_MIN_S = 1e-12
"""Beside every junction, and from a floating node to ground, so that no matrix is singular; a simulator's usual value."""
_G_CONDUCTS_S = 1e-7
"""A junction steeper than this holds a node: stiffer than 10 MΩ."""
_STEPS_MAX = 200
_CLOSE_V = 1e-9
_CLOSE_SHARE = 1e-7


@dataclass(frozen=True, slots=True)
class NodeBounds:
    """Voltages of one node.

    ``v`` bounds over all corners, None where the node floats in one of them; ``v_held`` bounds over the corners where something
    holds it (None: nowhere).  ``low_when``, ``high_when``, ``floats_when``: the corner that does it, in words, or empty.
    """

    v: Range | None
    v_held: Range | None
    low_when: str = ""
    high_when: str = ""
    floats_when: str = ""


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
    OutOfRange : too many ranges, a network that contradicts itself, or no operating point found; in words.

    >>> pulls = Network((Supply("3V3", Range(3.1, 3.5)), Resistor("3V3", "pad", Range(30e3, 80e3)), Resistor("pad", GROUND, 10e3)))
    >>> pad = solve(pulls).node["pad"]
    >>> f"{pad.v.low:.3f} V to {pad.v.high:.3f} V, highest with {pad.high_when}"
    '0.344 V to 0.875 V, highest with 3V3 3.5 V, 3V3 to pad 30 kΩ'
    """
    return _solved(_Grid.of(network, corners_of(network, corners)))


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """The network as matrices: ``g`` *(corner, node, node)*, ``i_in`` *(corner, node)*, rails first among the nodes."""

    network: Network
    corners: Corners
    place: dict[str, int]
    rails: int
    g: Array
    i_in: Array
    v_rail: Array
    held: Bools
    diodes: tuple[tuple[int, int, int, Diode], ...]
    """Anode, cathode (behind the series resistor) and column among the elements."""

    @classmethod
    def of(cls, network: Network, corners: Corners) -> _Grid:
        """Stamp everything that is linear."""
        place = {node: at for at, node in enumerate((*network.rails, *network.inner))}
        named, rails = len(place), len(network.rails)
        diodes = []
        for column, element in enumerate(network.elements):
            if isinstance(element, Diode):
                inside = element.r_s_ohm > 0
                if inside:
                    place[f"{column}:{element.cathode}"] = len(place)
                diodes.append((place[element.anode], len(place) - 1 if inside else place[element.cathode], column, element))
        count, size = corners.count, len(place)
        g, i_in, v_rail = np.zeros((count, size, size)), np.zeros((count, size)), np.zeros((count, rails))
        for element, value in zip(network.elements, corners.value.T, strict=True):
            if isinstance(element, Resistor | Switch):
                _stamp(g, place[element.a], place[element.b], 1 / value)
            elif isinstance(element, Supply):
                v_rail[:, place[element.node]] = value
            elif isinstance(element, Leak):
                i_in[:, place[element.node]] -= value
        held = _reached(g < 0, rails)
        i_in[~held] = 0.0
        for _, cathode, _, element in diodes:
            if cathode >= named:
                _stamp(g, cathode, place[element.cathode], np.full(count, 1 / element.r_s_ohm))
        every = np.arange(size)
        g[:, every, every] += np.where(held, 0.0, _G_MIN_S * (1 + g[:, every, every]))
        return cls(network, corners, place, rails, g, i_in, v_rail, held, tuple(diodes))

    def voltages(self, g: Array, i_in: Array, which: Array | slice) -> Array:
        """Solve for all nodes; rails as given.  *(corner, node)*"""
        r, v_rail = self.rails, self.v_rail[which]
        if g.shape[1] == r:
            return v_rail
        known = i_in[:, r:] - np.einsum("cnr,cr->cn", g[:, r:, :r], v_rail)
        inner = np.linalg.solve(g[:, r:, r:], known[:, :, None])[:, :, 0]
        return np.concatenate((v_rail, inner), axis=1)


def _stamp(g: Array, a: int, b: int, g_s: Array) -> None:
    """Add a conductance between two nodes in every corner."""
    g[:, a, a] += g_s
    g[:, b, b] += g_s
    g[:, a, b] -= g_s
    g[:, b, a] -= g_s


def _reached(joined: Bools, rails: int) -> Bools:
    """Nodes a path leads to from a rail: ``joined`` *(corner, node, node)*; gives *(corner, node)*."""
    held = np.zeros(joined.shape[:2], dtype=bool)
    held[:, :rails] = True
    while True:
        wider = held | (joined & held[:, None, :]).any(axis=2)
        if (wider == held).all():
            return held
        held = wider


def _solved(grid: _Grid) -> Solution:
    v, slopes = _newton(grid) if grid.diodes else (grid.voltages(grid.g, grid.i_in, slice(None)), np.zeros((grid.corners.count, 0)))
    held = grid.held
    if grid.diodes:
        joined = grid.g < 0
        for number, (anode, cathode, _, _) in enumerate(grid.diodes):
            conducts = slopes[:, number] > _G_CONDUCTS_S
            joined[:, anode, cathode] |= conducts
            joined[:, cathode, anode] |= conducts
        held = _reached(joined, grid.rails)
    nodes = (*grid.network.rails, *grid.network.inner)
    currents = {} if grid.corners.is_tied else _currents(grid, v)
    v_node, held = np.where(held, v, 0.0)[:, : len(nodes)], held[:, : len(nodes)]
    bounds = {node: _bounds(v_node[:, at], held[:, at], grid.corners) for at, node in enumerate(nodes)}
    return Solution(nodes, v_node, held, currents, bounds, grid.corners)


def _bounds(v: Array, held: Bools, corners: Corners) -> NodeBounds:
    floats = "" if held.all() else corners.words(int(np.argmin(held)))
    if not held.any():
        return NodeBounds(None, None, floats_when=floats)
    low, high = int(np.argmin(np.where(held, v, np.inf))), int(np.argmax(np.where(held, v, -np.inf)))
    v_held = Range(float(v[low]), float(v[high]))
    return NodeBounds(None if floats else v_held, v_held, corners.words(low), corners.words(high), floats)


# ------------------------------------------------------------------------------ diodes


def _newton(grid: _Grid) -> tuple[Array, Array]:
    """Node voltages, and slope of every junction at them; only corners that still move are solved again."""
    anodes, cathodes = ([each[side] for each in grid.diodes] for side in (0, 1))
    i_s = grid.corners.value[:, [column for _, _, column, _ in grid.diodes]]
    width = np.array([diode.n * V_THERMAL_V for *_, diode in grid.diodes])
    knee = width * np.log1p(width / i_s)  # from here one more width multiplies currents of 1 A/V and more
    v, v_drop, slope = np.zeros(grid.i_in.shape), np.zeros(i_s.shape), np.zeros(i_s.shape)
    todo = np.arange(len(i_s))
    for _ in range(_STEPS_MAX):
        at = v_drop[todo]
        grown = i_s[todo] * np.exp(at / width)
        slope[todo] = tangent = grown / width + _G_MIN_S
        source = grown - i_s[todo] + _G_MIN_S * at - tangent * at
        g, i_in = grid.g[todo], grid.i_in[todo]
        for number, (anode, cathode) in enumerate(zip(anodes, cathodes, strict=True)):
            _stamp(g, anode, cathode, tangent[:, number])
            i_in[:, anode] -= source[:, number]
            i_in[:, cathode] += source[:, number]
        v[todo] = new = grid.voltages(g, i_in, todo)
        wanted = new[:, anodes] - new[:, cathodes]
        moves = np.abs(wanted - at) > _CLOSE_V + _CLOSE_SHARE * np.abs(wanted)
        v_drop[todo] = _limited(wanted, at, knee[todo], width)
        todo = todo[moves.any(axis=1)]
        if not todo.size:
            return v, slope
    raise OutOfRange(f"No operating point found after {_STEPS_MAX} steps, for one with {grid.corners.words(int(todo[0]))}.")


def _limited(wanted: Array, at: Array, knee: Array, width: Array) -> Array:
    """Junction voltage for the next step: beyond the knee it rises as the logarithm of what Newton's line asks for."""
    base = np.maximum(at, knee)
    beyond = np.maximum(wanted - base, 0.0) / width
    return np.where(beyond > 1, base + width * np.log1p(beyond), wanted)


def _currents(grid: _Grid, v: Array) -> dict[str, Array]:
    """Current of every named element; a supply gives what flows out of its node."""
    place, found = grid.place, {}
    out = np.zeros_like(v)  # (corner, node): what all elements take out of a node
    junctions = {column: (anode, cathode) for anode, cathode, column, _ in grid.diodes}
    for column, element in enumerate(grid.network.elements):
        value = grid.corners.value[:, column]
        if isinstance(element, Resistor | Switch):
            i = (v[:, place[element.a]] - v[:, place[element.b]]) / value
            out[:, place[element.a]] += i
            out[:, place[element.b]] -= i
        elif isinstance(element, Diode):
            anode, cathode = junctions[column]
            v_drop = v[:, anode] - v[:, cathode]
            i = value * np.expm1(v_drop / (element.n * V_THERMAL_V)) + _G_MIN_S * v_drop
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
    grid = _Grid.of(network, corners_of(network))
    bounds, held, v, r_ohm = _thevenin(grid, node)
    short, long = ((start.high, level.low), (start.low, level.high)) if up else ((start.low, level.high), (start.high, level.low))
    never = ~held | (v <= level.high if up else v >= level.low)
    if start.low == start.high == level.low == level.high:
        never &= False
        return Settling(Range(0.0, 0.0), bounds.v)
    if never.any():
        return Settling(None, bounds.v, never_when=grid.corners.words(int(np.argmax(never))))
    fast = r_ohm * c.low * np.log((v - short[0]) / (v - short[1]))
    slow = r_ohm * c.high * np.log((v - long[0]) / (v - long[1]))
    return Settling(Range(float(fast.min()), float(slow.max())), bounds.v, slow_when=grid.corners.words(int(np.argmax(slow))))


def _thevenin(grid: _Grid, node: str) -> tuple[NodeBounds, Bools, Array, Array]:
    """Bounds, whether held, open voltage and source resistance of a node, (corner,) each."""
    at = grid.place[node]
    v = grid.voltages(grid.g, grid.i_in, slice(None))[:, at]
    one_ampere = grid.i_in.copy()
    one_ampere[:, at] += 1.0
    r_ohm = grid.voltages(grid.g, one_ampere, slice(None))[:, at] - v
    return _bounds(np.where(grid.held[:, at], v, 0.0), grid.held[:, at], grid.corners), grid.held[:, at], v, r_ohm
