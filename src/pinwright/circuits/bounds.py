"""Guards every formula shares: what is no number, negative or zero is refused in words, never answered with nan."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pinwright.errors import OutOfRange

__all__ = ["finite", "not_negative", "positive", "share"]

_UNITS = {
    "ohm": "Ω", "v": "V", "a": "A", "f": "F", "s": "s", "hz": "Hz", "w": "W", "k": "K", "c": "°C", "m": "m", "ah": "Ah",
    "h": "H", "coulomb": "C", "m2": "m²", "baud": "Bd", "bits": "bits", "j": "J", "wh": "Wh",
}  # fmt: skip


def finite(**values: Any) -> None:
    """Refuse what is not a finite number.

    Raises
    ------
    OutOfRange : names the value and what it was.
    """
    for name, value in values.items():
        if not _all_between(value, -math.inf, math.inf):
            raise OutOfRange(f"{_words(name)} must be a finite number, not {value}.")


def positive(**values: Any) -> None:
    """Refuse what is not finite and above zero.

    Raises
    ------
    OutOfRange : names the value and what it was.

    >>> positive(r_ohm=-3)
    Traceback (most recent call last):
    pinwright.errors.OutOfRange: r must be above 0 Ω, not -3.
    """
    for name, value in values.items():
        if not _all_between(value, 0.0, math.inf):
            finite(**{name: value})
            raise OutOfRange(f"{_words(name)} must be above 0{_unit(name)}, not {_lowest(value)}.")


def not_negative(**values: Any) -> None:
    """Refuse what is not finite or lies below zero.

    Raises
    ------
    OutOfRange : names the value and what it was.
    """
    for name, value in values.items():
        if not _all_between(value, -5e-324, math.inf):
            finite(**{name: value})
            raise OutOfRange(f"{_words(name)} must not be below 0{_unit(name)}, not {_lowest(value)}.")


def share(**values: Any) -> None:
    """Refuse what is not a share from 0 to 1.

    Raises
    ------
    OutOfRange : names the value and what it was.
    """
    for name, value in values.items():
        if not _all_between(value, -5e-324, math.nextafter(1.0, 2.0)):
            finite(**{name: value})
            raise OutOfRange(f"{_words(name)} must lie between 0 and 1, not {value}.")


def _all_between(value: Any, low: float, high: float) -> bool:
    """Whether every number lies strictly between two bounds; plain numbers, the usual case, need no array."""
    if isinstance(value, float | int):
        return low < value < high
    array = np.asarray(value, dtype=float)
    return bool(np.all((array > low) & (array < high)))


def _words(name: str) -> str:
    stem, _, unit = name.rpartition("_")
    return (stem if unit in _UNITS and stem else name).replace("_", " ")


def _unit(name: str) -> str:
    unit = _UNITS.get(name.rpartition("_")[2])
    return f" {unit}" if unit else ""


def _lowest(value: Any) -> str:
    return f"{float(np.min(value)):g}"
