"""The corners of a network: every combination of the ends of its ranges and of the states of its switches.

Why corners are enough.  In a linear network every node voltage is affine in each rail and each leakage, and a ratio of two
first-degree polynomials, without a pole, in each conductance; so it runs one way in each value while the others stay, and its
extremes over the box lie at corners.  With diodes it runs one way in each value too, as long as that element is no bridge
between two branches that both hold the node through diodes; pulls, series resistors, clamps and lamps of one wire are none.

Why rails and leakages may go together.  A conductance matrix of resistors and junctions has an inverse without negative
entries: raising any rail, or pushing current into any node, lowers no voltage.  So where there are more corners than
``CORNERS_MAX``, all rails are taken low and all leakages out of the nodes together, then all high and into them.  The bounds of
the voltages stay exact; those of currents would not, and are not given.
[A. Berman, R. J. Plemmons, Nonnegative Matrices in the Mathematical Sciences, ch. 6: M-matrices]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pinwright.errors import OutOfRange
from pinwright.powerup.elements import Element, Leak, Network, Supply

__all__ = ["CORNERS_MAX", "Corners", "corners_of"]

CORNERS_MAX = 2**12
"""Most corners solved: twelve ranges."""


@dataclass(frozen=True, slots=True, eq=False)
class Corners:
    """Values of every element, in its own unit, in every corner: ``value`` *(corner, element)*.

    ``varied``: columns that are a range or a state.  ``is_tied``: rails and leakages were only taken all low and all high.
    """

    elements: tuple[Element, ...]
    value: NDArray[np.float64]
    varied: tuple[int, ...]
    is_tied: bool

    @property
    def count(self) -> int:
        """How many corners there are."""
        return len(self.value)

    def words(self, corner: int) -> str:
        """What a corner is, for people: every value that is a range or a state."""
        return ", ".join(self.elements[column].words(float(self.value[corner, column])) for column in self.varied) or "usual values"


def corners_of(network: Network, corners: bool = True) -> Corners:
    """All corners of a network, or all states of its switches at the usual values.   [module text]

    Parameters
    ----------
    network : elements with their ranges [-]
    corners : whether ranges are taken at their ends [-]

    Returns
    -------
    corners : values of every element

    Raises
    ------
    OutOfRange : too many ranges even with rails and leakages taken together.
    """
    choices = [element.choices(corners) for element in network.elements]
    varied = tuple(column for column, each in enumerate(choices) if len(each) > 1)
    if math.prod(map(len, choices)) <= CORNERS_MAX:
        return Corners(network.elements, _table([[(value,) for value in each] for each in choices]), varied, False)
    together = [column for column, e in enumerate(network.elements) if isinstance(e, Supply | Leak)]
    alone = [column for column in range(len(choices)) if column not in together]
    count = 2 * math.prod(len(choices[column]) for column in alone)
    if count > CORNERS_MAX:
        raise OutOfRange(
            f"{sum(len(choices[column]) > 1 for column in alone)} resistances, junctions and switches that are not known exactly "
            f"make {count} combinations; {CORNERS_MAX} are the most that are solved. Give some of them one value, or split the network."
        )
    low = tuple(_pulling_down(network.elements[column], choices[column]) for column in together)
    high = tuple(_pulling_up(network.elements[column], choices[column]) for column in together)
    table = _table([[low, high], *([(value,) for value in choices[column]] for column in alone)])
    return Corners(network.elements, table[:, np.argsort([*together, *alone])], varied, True)


def _pulling_down(element: Element, values: Sequence[float]) -> float:
    return max(values) if isinstance(element, Leak) else min(values)


def _pulling_up(element: Element, values: Sequence[float]) -> float:
    return min(values) if isinstance(element, Leak) else max(values)


def _table(axes: Sequence[Sequence[tuple[float, ...]]]) -> NDArray[np.float64]:
    """Every combination of one entry an axis, the last axis fastest; an entry fills one column or several."""
    count = math.prod(map(len, axes))
    columns, repeat = [], count
    for axis in axes:
        repeat //= len(axis)
        columns.append(np.tile(np.repeat(np.array(axis, dtype=float), repeat, axis=0), (count // (repeat * len(axis)), 1)))
    return np.concatenate(columns, axis=1) if columns else np.empty((1, 0))
