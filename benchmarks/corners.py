"""All corners of a wire's network at power-up: one stack of matrices against a plain Python loop over the corners."""

from __future__ import annotations

import itertools
import math
from functools import partial

from common import Result, Row, in_turns_s, say

from pinwright.circuits.ranges import Range
from pinwright.powerup.elements import GROUND, Leak, Network, Resistor, Supply, clamp_diodes, nodes_of
from pinwright.powerup.nodal import divider_bounds, solve

__all__ = ["measure"]

_WIRE = (
    Supply("5V", Range(4.75, 5.25)),
    Supply("3V3", Range(3.1, 3.5)),
    Resistor("5V", "line", Range.around(10e3, 0.05)),
    Resistor("line", "pad", Range.around(1e3, 0.05)),
    Resistor("3V3", "pad", Range(30e3, 80e3)),
    Resistor("pad", GROUND, Range.around(47e3, 0.05)),
    Resistor("line", "far", Range.around(470.0, 0.05)),
    Resistor("far", GROUND, Range.around(22e3, 0.05)),
    Leak("pad", Range(-1e-6, 1e-6)),
    Leak("far", Range(-1e-6, 1e-6)),
)
"""Ten ranges, 1024 corners, three nodes."""
_CLAMPS = clamp_diodes("pad", "3V3", Range(0.6, 0.8), 1e-3)
_AGREE_V = 1e-9
_BRANCHES = [(9.5e3, 10.5e3, 4.75, 5.25), (30e3, 80e3, 3.1, 3.5), (44.65e3, 49.35e3, 0.0, 0.0)]


def measure(quick: bool) -> Result:
    """Both ways on the same wire, the price of two clamp diodes, and the closed form of one node against its matrices."""
    network = Network(_WIRE)
    say("corners: a wire of ten ranges in one stack and in a loop")
    one = [
        e
        for number, (low, high, *v) in enumerate(_BRANCHES)
        for e in (Supply(f"v{number}", Range(*v)), Resistor(f"v{number}", "x", Range(low, high)))
    ]
    node = Network((*one, Leak("x", Range(-1e-6, 1e-6))))
    works = {
        0: partial(solve, network),
        1: partial(_loop, network),
        2: partial(solve, Network((*_WIRE, *_CLAMPS))),
        3: partial(solve, node),
        4: partial(divider_bounds, _BRANCHES, -1e-6, 1e-6),
    }
    taken = in_turns_s(5 if quick else 15, works)
    here, there = solve(network), _loop(network)
    count = here.corners.count
    bounds, exact = here.v("pad"), solve(node).v("x")
    fast = divider_bounds(_BRANCHES, -1e-6, 1e-6)
    if bounds is None or exact is None or fast is None:
        raise RuntimeError("the wire must be held in every corner")
    differ = max(abs(bounds.low - min(there)), abs(bounds.high - max(there))) > _AGREE_V
    differ_closed = max(abs(exact.low - fast[0]), abs(exact.high - fast[1])) > _AGREE_V
    rows = (
        Row("corners", f"plain loop, {count:,} corners", taken[1] / taken[0], "x one stack", is_wrong=differ, note="same bounds"),
        Row("corners", f"with two clamps, {count * 4:,} corners", taken[2] / taken[0] / 4, "x a corner without", note="Newton's method"),
        Row("corners", "one node, all corners", taken[3] / taken[4], "x closed form", is_wrong=differ_closed, note="same bounds"),
    )
    detail = {"corners_a_second": count / taken[0], "loop_corners_a_second": count / taken[1], "closed_form_s": taken[4]}
    return Result(rows, detail)


def _loop(network: Network) -> list[float]:
    """Voltage of the pad in every corner, written plainly: stamps and Gaussian elimination, one corner after the other."""
    place = {node: at for at, node in enumerate(network.inner)}
    size, found = len(place), []
    for values in itertools.product(*(element.choices(True) for element in network.elements)):
        rails = {GROUND: 0.0} | {e.node: v for e, v in zip(network.elements, values, strict=True) if isinstance(e, Supply)}
        rows = [[0.0] * (size + 1) for _ in range(size)]
        for element, value in zip(network.elements, values, strict=True):
            if isinstance(element, Leak):
                rows[place[element.node]][size] -= value
            elif isinstance(element, Resistor):
                for a, b in itertools.permutations(nodes_of(element)):
                    if a in place:
                        rows[place[a]][place[a]] += 1 / value
                        if b in place:
                            rows[place[a]][place[b]] -= 1 / value
                        else:
                            rows[place[a]][size] += rails[b] / value
        found.append(_eliminated(rows)[place["pad"]])
    return found


def _eliminated(rows: list[list[float]]) -> list[float]:
    size = len(rows)
    for column in range(size):
        for row in range(column + 1, size):
            factor = rows[row][column] / rows[column][column]
            rows[row] = [x - factor * y for x, y in zip(rows[row], rows[column], strict=True)]
    v = [math.nan] * size
    for row in reversed(range(size)):
        v[row] = (rows[row][size] - sum(rows[row][k] * v[k] for k in range(row + 1, size))) / rows[row][row]
    return v
