"""A network as matrices, and its node voltages: linear at once, with junctions in steps.

Kirchhoff's current law at every node gives G v = i; all corners are solved as one stack of matrices *(corner, node, node)*.
A diode is replaced by its tangent, a conductance and a current source, at the junction voltage of the step before
(Newton's method); the junction may rise only logarithmically beyond the knee, so no exponential overflows.
[C.-W. Ho, A. E. Ruehli, P. A. Brennan, IEEE Trans. Circuits Syst. 22 (1975) 504; L. W. Nagel, SPICE2, UCB/ERL M520 (1975), ch. 4;
both from memory]
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinwright.errors import OutOfRange
from pinwright.powerup.corners import Corners
from pinwright.powerup.elements import V_THERMAL_V, Diode, Leak, Network, Resistor, Supply, Switch

__all__ = ["G_MIN_S", "Array", "Bools", "Grid", "Junction", "held_by_junctions", "newton"]

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

G_MIN_S = 1e-12
"""Beside every junction, and from a floating node to ground, so that no matrix is singular; a simulator's usual value."""
_G_CONDUCTS_S = 1e-7
"""A junction steeper than this holds a node, stiffer than 10 MΩ, if it also carries many times what may leak."""
_TIMES_LEAK = 100
_STEPS_MAX = 200
_CLOSE_V = 1e-9
_CLOSE_SHARE = 1e-7


@dataclass(frozen=True, slots=True)
class Junction:
    """A diode in the matrices: rows of anode and cathode (behind the series resistor), column among the elements."""

    anode: int
    cathode: int
    column: int
    diode: Diode


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The network as matrices: ``g`` *(corner, node, node)*, ``i_in`` *(corner, node)*, rails first among the nodes."""

    network: Network
    corners: Corners
    place: dict[str, int]
    rails: int
    g: Array
    i_in: Array
    v_rail: Array
    held: Bools
    junctions: tuple[Junction, ...]

    @classmethod
    def of(cls, network: Network, corners: Corners) -> Grid:
        """Stamp everything that is linear."""
        place = {node: at for at, node in enumerate((*network.rails, *network.inner))}
        named, rails = len(place), len(network.rails)
        junctions = []
        for column, element in enumerate(network.elements):
            if isinstance(element, Diode):
                inside = element.r_s_ohm > 0
                if inside:
                    place[f"{column}:{element.cathode}"] = len(place)
                cathode = len(place) - 1 if inside else place[element.cathode]
                junctions.append(Junction(place[element.anode], cathode, column, element))
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
        for each in junctions:
            if each.cathode >= named:
                _stamp(g, each.cathode, place[each.diode.cathode], np.full(count, 1 / each.diode.r_s_ohm))
        every = np.arange(size)
        g[:, every, every] += np.where(held, 0.0, G_MIN_S * (1 + g[:, every, every]))
        return cls(network, corners, place, rails, g, i_in, v_rail, held, tuple(junctions))

    def voltages(self, g: Array, i_in: Array, which: NDArray[np.intp] | slice) -> Array:
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


def held_by_junctions(grid: Grid, slopes: Array) -> Bools:
    """Nodes a path of resistors, closed switches and conducting junctions leads to: ``slopes`` *(corner, junction)* [A/V]."""
    joined = grid.g < 0
    leaks = [column for column, element in enumerate(grid.network.elements) if isinstance(element, Leak)]
    i_leak_a = float(np.abs(grid.corners.value[:, leaks]).max(initial=0.0))
    for number, each in enumerate(grid.junctions):
        conducts = slopes[:, number] > max(_G_CONDUCTS_S, _TIMES_LEAK * i_leak_a / (each.diode.n * V_THERMAL_V))
        joined[:, each.anode, each.cathode] |= conducts
        joined[:, each.cathode, each.anode] |= conducts
    return _reached(joined, grid.rails)


def newton(grid: Grid) -> tuple[Array, Array]:
    """Voltages *(corner, node)* and slope of every junction *(corner, junction)*; corners that stand still are not solved again.

    Raises OutOfRange where a corner does not settle.
    """
    i_s = grid.corners.value[:, [each.column for each in grid.junctions]]
    width = np.array([each.diode.n * V_THERMAL_V for each in grid.junctions])
    knee = width * np.log1p(width / i_s)  # the junction's slope is 1 A/V here
    v, v_drop, slope = np.zeros(grid.i_in.shape), np.zeros(i_s.shape), np.zeros(i_s.shape)
    todo = np.arange(len(i_s))
    for _ in range(_STEPS_MAX):
        at = v_drop[todo]
        grown = i_s[todo] * np.exp(at / width)
        slope[todo] = tangent = grown / width + G_MIN_S
        source = grown - i_s[todo] + G_MIN_S * at - tangent * at
        g, i_in = grid.g[todo], grid.i_in[todo]
        for number, each in enumerate(grid.junctions):
            _stamp(g, each.anode, each.cathode, tangent[:, number])
            i_in[:, each.anode] -= source[:, number]
            i_in[:, each.cathode] += source[:, number]
        v[todo] = new = grid.voltages(g, i_in, todo)
        wanted = np.stack([new[:, each.anode] - new[:, each.cathode] for each in grid.junctions], axis=1)
        moves = np.abs(wanted - at) > _CLOSE_V + _CLOSE_SHARE * np.abs(wanted)
        v_drop[todo] = _limited(wanted, at, knee[todo], width)
        todo = todo[moves.any(axis=1)]
        if not todo.size:
            return v, slope
    raise OutOfRange(f"No operating point found in {_STEPS_MAX} steps, for one with {grid.corners.words(int(todo[0]))}.")


def _limited(wanted: Array, at: Array, knee: Array, width: Array) -> Array:
    """Junction voltage for the next step: beyond the knee it rises as the logarithm of what Newton's line asks for."""
    base = np.maximum(at, knee)
    beyond = np.maximum(wanted - base, 0.0) / width
    return np.where(beyond > 1, base + width * np.log1p(beyond), wanted)
