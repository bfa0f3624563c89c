"""What every claim of the catalogue carries: its source, and numbers with their spread and condition."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Cite", "Fact", "Language", "Level", "OtherValue", "Seen", "Source"]

Seen = Literal["read", "memory"]
"""``read``: the named place was read.  ``memory``: recalled, not looked up."""

Language = Literal["micropython", "circuitpython", "cpp"]
"""How firmware is written; ``cpp`` is C++ for the common pinMode/digitalWrite core interface."""

PullDirection = Literal["up", "down", "none"]
BootPadState = Literal["float", "pull-up", "pull-down", "high", "low", "noisy"]
Direction = Literal["in", "out", "bidir", "open-drain", "analog-in", "analog-out"]
Signal = Literal["digital", "pwm", "analog", "i2c", "spi", "uart", "onewire", "pulse", "i2s", "touch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A document facts are taken from."""

    id: str
    title: str
    revision: str = ""
    seen: Seen
    url: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cite:
    """Where one claim comes from: source id, place in it, and whether that place was read."""

    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherValue:
    """What another source says about the same thing; kept beside the value in use."""

    value: float | None = None
    text: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One number with its condition and source.

    ``value`` is the figure to calculate with; ``min``/``typ``/``max`` give a spread where one is known.
    ``also`` keeps disagreeing sources; ``chosen`` then says why the value in use is the safer one,
    and ``safer`` which side is safe, so that a check can compare them.
    """

    value: float | None = None
    min: float | None = None
    typ: float | None = None
    max: float | None = None
    unit: str = ""
    text: str = ""
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"
    safer: Literal["", "low", "high"] = ""
    also: tuple[OtherValue, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A voltage on the straight line ``frac`` x supply + ``v``  [V].

    ``of`` names the supply (``"VCC"`` is the part's own, ``"VDD"`` the chip's).
    ``{ v = 0.4 }`` is a fixed level, ``{ frac = 0.7 }`` a share, ``{ frac = 1, v = -1.5 }`` supply less 1.5 V.
    """

    v: float = 0.0
    frac: float = 0.0
    of: str = ""
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"
    also: tuple[OtherValue, ...] = ()
    chosen: str = ""

    def at(self, supply_v: float) -> float:
        """Voltage [V] when the named supply stands at ``supply_v`` [V]."""
        return self.frac * supply_v + self.v
