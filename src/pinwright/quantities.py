"""Quantities as people write them: ``400 mA``, ``2 m``, ``4k7``; and back again for people to read.

Resistors and capacitors may be written with a letter in place of the decimal point (IEC 60062).
Everything else is a number, an SI prefix and a unit, and the unit must be the one expected: a bare number
says nothing about prefixes and is refused.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

__all__ = ["UNITS", "QuantityError", "Unit", "parse_quantity", "show_quantity"]

_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "c": 1e-2, "": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9}
_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)", re.DOTALL)
_RKM = re.compile(r"\d*[RrkKMmLGpnuµμFV]\d*|\d+[RkKMGpnuµ]")


class QuantityError(ValueError):
    """A text that is no quantity of the expected kind; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit with its accepted spellings, an example, and the range in which a value is possible at all."""

    name: str
    spellings: tuple[str, ...]
    example: str
    low: float
    high: float
    rkm: bool = False


UNITS = {
    "A": Unit("A", ("A", "amp", "amps", "ampere", "amperes"), "400 mA", 0, 1000),
    "V": Unit("V", ("V", "volt", "volts"), "5 V", 0, 1000),
    "m": Unit("m", ("m", "metre", "metres", "meter", "meters"), "2 m", 0, 1000),
    "Hz": Unit("Hz", ("Hz", "hz", "HZ"), "1 kHz", 0.001, 1e9),
    "ohm": Unit("Ω", ("Ω", "Ω", "ohm", "ohms", "Ohm", "Ohms"), "4k7", 0, 1e9, rkm=True),
    "F": Unit("F", ("F", "farad"), "100 nF", 0, 1, rkm=True),
    "s": Unit("s", ("s", "sec", "second", "seconds"), "10 ms", 0, 1e9),
    "degC": Unit("°C", ("°C", "degC", "C", "deg C"), "25 degC", -273.15, 300),
    "Bd": Unit("Bd", ("Bd", "baud", "bps", "bit/s"), "9600 baud", 1, 1e8),
}


def parse_quantity(text: str, unit: str) -> float:
    """Return the value of ``text`` in the SI unit ``unit``.

    Parameters
    ----------
    text : what the maker wrote, for example ``"4k7"`` or ``"400 mA"`` [-]
    unit : a key of ``UNITS`` [-]

    Raises
    ------
    QuantityError : not a number, another unit, no unit, or an impossible size.

    >>> parse_quantity("4k7", "ohm")
    4700.0
    >>> parse_quantity("400 mA", "A")
    0.4
    """
    kind = UNITS[unit]
    stripped = text.strip()
    if kind.rkm and _RKM.fullmatch(stripped) and (value := _from_rkm(stripped)) is not None:
        return _possible(value, text, kind)
    match = _NUMBER.fullmatch(stripped)
    if match is None or not stripped.isprintable():
        raise QuantityError(f"{text!r} is not a number with a unit.{_letter_hint(stripped)} Write it like {kind.example}.")
    number, rest = float(match[1]), match[2].strip()
    if rest.startswith(",") or re.match(r"\d", rest):
        raise QuantityError(f"{text!r} has a comma in the number. Write the decimals after a point, like 0.4.")
    if not rest:
        raise QuantityError(f"{text!r} has no unit. Write it like {kind.example}.")
    for spelling in sorted(kind.spellings, key=len, reverse=True):
        prefix = rest.removesuffix(spelling).rstrip()
        if rest.endswith(spelling) and prefix in _PREFIXES and (prefix != "c" or kind.name == "m"):  # centi: lengths only
            return _possible(number * _PREFIXES[prefix], text, kind)
    other = _unit_of(rest)
    if other:
        raise QuantityError(f"{text!r} is in {other}, but this asks for {kind.name}. Write it like {kind.example}.")
    raise QuantityError(f"{text!r}: {rest!r} is not a unit this asks for.{_letter_hint(stripped)} Write it like {kind.example}.")


def _from_rkm(code: str) -> float | None:
    """Value of an IEC 60062 code such as 4k7, 470R or 4n7."""
    from rkm_codes import from_rkm

    value = from_rkm(code)
    return None if value is None else float(value)


def _letter_hint(text: str) -> str:
    if re.search(r"\d[Oo]|[Oo]\d", text):
        return " It holds the letter O where a zero belongs."
    if re.search(r"\d[lI]|[lI]\d", text):
        return " It holds a letter where a one belongs."
    return ""


def _unit_of(rest: str) -> str:
    for kind in UNITS.values():
        for spelling in kind.spellings:
            if rest.endswith(spelling) and rest.removesuffix(spelling).rstrip() in _PREFIXES:
                return kind.name
    return ""


def _possible(value: float, text: str, kind: Unit) -> float:
    if not math.isfinite(value) or not kind.low <= value <= kind.high:
        low, high = show_quantity(kind.low, kind.name), show_quantity(kind.high, kind.name)
        raise QuantityError(f"{text!r} is not possible here: it must lie between {low} and {high}.")
    return value


def show_quantity(value: float, unit: str, digits: int = 3) -> str:
    """Write a value for people, with an SI prefix and ``digits`` significant digits.

    >>> show_quantity(0.0032226, "V")
    '3.22 mV'
    >>> show_quantity(4700, "Ω")
    '4.7 kΩ'
    """
    if value == 0 or unit == "°C":
        return f"{value:g} {unit}"
    size = abs(value)
    for prefix, scale in (("G", 1e9), ("M", 1e6), ("k", 1e3), ("", 1.0), ("m", 1e-3), ("µ", 1e-6), ("n", 1e-9), ("p", 1e-12)):
        if float(f"{size:.{digits}g}") >= scale:
            break
    scaled = float(f"{value / scale:.{digits}g}")
    return f"{scaled:g} {prefix}{unit}"
