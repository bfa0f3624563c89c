"""The window of a component: lowest and highest value allowed, what sets each end, and the value to buy.

A window may be empty: then the two limits clash, and ``words`` say which and by how much.
The choice is common practice (no source): the middle by ratio leaves equal room on both sides for tolerance and ageing,
the weak end saves current, the strong end resists noise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.preferred import in_range
from pinwright.errors import OutOfRange

__all__ = ["Aim", "Choice", "Limit", "Window", "choose", "shown"]

Aim = Literal["middle", "weak", "strong"]
"""Where in the window to choose: its middle by ratio, its high or its low end."""

_PREFIXES = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p"))
_AIMS = {
    "middle": "nearest to the middle of the window by ratio, so that both limits are equally far",
    "weak": "the highest that fits, so that it draws the least current",
    "strong": "the lowest that fits, so that it holds the line best",
}


def shown(value: float, unit: str = "Ω") -> str:
    """A value with a prefix, three digits.

    Parameters
    ----------
    value : any number, also negative [-]
    unit : its SI unit [-]

    Returns
    -------
    words : such as ``4.7 kΩ``

    >>> shown(4700.0), shown(-0.0003, "A"), shown(0.0)
    ('4.7 kΩ', '-300 µA', '0 Ω')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g} {unit}"
    size = float(f"{abs(value):.3g}")
    scale, prefix = next((pair for pair in _PREFIXES if size >= pair[0]), _PREFIXES[-1])
    digits = float(f"{value / scale:.3g}")
    return f"{digits:g} {prefix}{unit}"


@dataclass(frozen=True, slots=True)
class Limit:
    """One end of a window: ``value`` in the window's unit, and what asks for it."""

    value: float
    because: str


@dataclass(frozen=True, slots=True)
class Window:
    """All values from ``low`` to ``high``.  Empty where low lies above high; both limits then say why."""

    low: Limit
    high: Limit
    unit: str = "Ω"

    @classmethod
    def of(cls, lows: Sequence[Limit], highs: Sequence[Limit], unit: str = "Ω") -> Window:
        """The window left by several lower and several upper limits: the tightest of each."""
        if not lows or not highs:
            raise OutOfRange("A window needs at least one limit on each side.")
        low, high = max(lows, key=lambda limit: limit.value), min(highs, key=lambda limit: limit.value)
        if not (math.isfinite(low.value) and math.isfinite(high.value)):
            raise OutOfRange("A window needs finite limits.")
        return cls(low, high, unit)

    @property
    def is_empty(self) -> bool:
        """Nothing satisfies both limits."""
        return self.low.value > self.high.value or self.high.value <= 0

    @property
    def middle(self) -> float:
        """The value as far from both ends by ratio."""
        if self.is_empty:
            raise OutOfRange(f"An empty window has no middle: {self.words}.")
        return math.sqrt(max(self.low.value, self.high.value * 1e-3) * self.high.value)

    @property
    def words(self) -> str:
        """Both limits with their reasons, or which two clash and by how much."""
        low, high = shown(self.low.value, self.unit), shown(self.high.value, self.unit)
        if not self.is_empty:
            return f"from {low} ({self.low.because}) to {high} ({self.high.because})"
        if self.high.value <= 0:
            return f"no value works: {self.high.because}"
        times = self.low.value / self.high.value
        return (
            f"no value works: it must be at least {low} ({self.low.because}) and at most {high} ({self.high.because}); "
            f"short by {shown(self.low.value - self.high.value, self.unit)}, a factor of {times:.3g}"
        )

    def narrowed(self, tolerance: float) -> Window:
        """The same for the nominal value of a part with a tolerance (a share), so that its worst ones fit too."""
        if not 0 <= tolerance < 1:
            raise OutOfRange(f"A tolerance is a share from 0 to below 1, not {tolerance:g}.")
        if tolerance == 0:
            return self
        note = f", and {tolerance * 100:g} % tolerance"
        return Window(
            Limit(self.low.value / (1 - tolerance), self.low.because + note),
            Limit(self.high.value / (1 + tolerance), self.high.because + note),
            self.unit,
        )

    def __contains__(self, value: float) -> bool:
        return self.low.value * (1 - 1e-9) <= value <= self.high.value * (1 + 1e-9)


@dataclass(frozen=True, slots=True)
class Choice:
    """A value to buy; ``origin`` is ``stock`` or the series (``E24``), ``why`` says where in the window it lies and why there."""

    value: float
    origin: str
    why: str


def choose(window: Window, stock: Iterable[float] = (), n: int = 24, aim: Aim = "middle") -> Choice | None:
    """Preferred value inside a window: from the stock first, else from coarse series before fine ones.

    Parameters
    ----------
    window : what is allowed [-]
    stock : values at hand [-]
    n : finest series to buy from: 6, 12, 24, 48, 96 or 192 [-]
    aim : the middle, the weak (high) end or the strong (low) end [-]

    Returns
    -------
    choice : None where the window is empty or holds no member of the series

    Raises
    ------
    OutOfRange : no such series or aim.

    >>> choice = choose(Window(Limit(967.0, "sink current"), Limit(1770.0, "rise time")))
    >>> choice.value, choice.origin
    (1500.0, 'E6')
    """
    if aim not in _AIMS:
        raise OutOfRange(f"Choose the middle, weak or strong, not {aim!r}.")
    if window.is_empty:
        return None
    at_hand = [value for value in sorted(stock) if value in window]
    if at_hand:
        return Choice(_aimed(at_hand, window, aim), "stock", f"from the stock; {_AIMS[aim]}")
    floor = max(window.low.value, window.high.value * 1e-6)
    for one in (6, 12, 24, 48, 96, 192):
        if one > n and one > 6:
            break
        members = [value for value in in_range(floor, window.high.value, one) if value in window]
        if members:
            return Choice(_aimed(members, window, aim), f"E{one}", f"the coarsest series with a member here; {_AIMS[aim]}")
    return None


def _aimed(members: Sequence[float], window: Window, aim: Aim) -> float:
    if aim == "middle":
        return min(members, key=lambda value: (abs(math.log(value / window.middle)), value))
    return max(members) if aim == "weak" else min(members)
