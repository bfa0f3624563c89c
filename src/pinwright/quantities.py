"""Quantities as people write them: ``400 mA``, ``2 m``, ``4k7``; and back again for people to read.

A quantity is a number, an SI prefix and a unit, and the unit must be the one expected: a bare number says
nothing about prefixes and is refused.  A prefix nobody can mean is refused too (``2 mHz``, ``400 MA``),
because it is a slip between m and M that changes a value a milliard times.

Resistors and capacitors may be written with a letter in place of the decimal point and without a unit, as
they are marked: R, k, M, G and L (a thousandth of an ohm) for resistors, p, n, u, m and F for capacitors
[IEC 60062:2016, clause 3].  ``3V3`` is the same habit on circuit diagrams, for volts only.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["UNITS", "QuantityError", "Unit", "parse_quantity", "show_quantity"]

_POWERS = {"p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6, "m": -3, "c": -2, "": 0, "k": 3, "K": 3, "M": 6, "G": 9}
_SHOWN = (("G", 9), ("M", 6), ("k", 3), ("", 0), ("m", -3), ("\u00b5", -6), ("n", -9), ("p", -12))
_SMALL = ("p", "n", "u", "\u00b5", "\u03bc", "m", "")
_OHM_CODE = {"L": -3, "R": 0, "r": 0, "\u03a9": 0, "\u2126": 0, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12}
_FARAD_CODE = {"p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6, "m": -3, "F": 0}

_NUMBER = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:[eE]([+-]?[0-9]{1,9}))?\s*(.*)", re.DOTALL)
_CODE = re.compile(r"(?:([0-9]*)([^\W\d_])([0-9]+)|([0-9]+(?:\.[0-9]*)?|\.[0-9]+)([^\W\d_]))(?:\s*(\D+))?")
_TOLERANCE = re.compile(r"[0-9]*[LRrkKMGpnu\u00b5\u03bcF][0-9]+\s*[ABCDFGJKM]")  # letters of IEC 60062
_SAME = str.maketrans({"\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-"})  # typeset spaces, minus
_LONGEST = 100


class QuantityError(ValueError):
    """A text that is no quantity of the expected kind; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its spellings, the prefixes that make sense, an example, the range of possible values.

    ``code`` gives the letters that may stand for the decimal point, each with its power of ten; ``multiples`` are other
    words for a number of units, such as ``min``.
    """

    name: str
    word: str
    spellings: tuple[str, ...]
    example: str
    low: float
    high: float
    prefixes: tuple[str, ...]
    code: Mapping[str, int] = field(default_factory=dict)
    multiples: Mapping[str, float] = field(default_factory=dict)


UNITS = {
    "A": Unit("A", "amperes", ("A", "amp", "amps", "ampere", "amperes"), "400 mA", 0, 1000, (*_SMALL, "k")),
    "V": Unit("V", "volts", ("V", "volt", "volts"), "5 V", 0, 1000, (*_SMALL, "k"), {"V": 0}),
    "m": Unit("m", "metres", ("m", "metre", "metres", "meter", "meters"), "2 m", 0, 1000, (*_SMALL, "c", "k")),
    "Hz": Unit("Hz", "hertz", ("Hz", "hz", "HZ", "hertz"), "1 kHz", 0.001, 1e9, ("", "k", "K", "M", "G")),
    "ohm": Unit("Ω", "ohms", ("\u03a9", "\u2126", "ohm", "ohms", "Ohm", "Ohms"), "4k7", 0, 1e9, (*_SMALL, "k", "K", "M", "G"), _OHM_CODE),
    "F": Unit("F", "farads", ("F", "farad", "farads"), "100 nF", 0, 1, _SMALL, _FARAD_CODE),
    "s": Unit("s", "seconds", ("s", "sec", "second", "seconds"), "10 ms", 0, 1e9, (*_SMALL, "k")),
    "time": Unit(
        "s",
        "seconds, minutes, hours or days",
        ("s", "sec", "second", "seconds"),
        "10 min",
        0,
        1e9,
        ("m", ""),
        multiples={"min": 60.0, "h": 3600.0, "hour": 3600.0, "hours": 3600.0, "day": 86400.0, "days": 86400.0},
    ),
    "Ah": Unit("Ah", "ampere-hours", ("Ah",), "2000 mAh", 0, 1000, ("m", "")),
    "degC": Unit("°C", "degrees Celsius", ("°C", "degC", "C", "deg C"), "25 degC", -273.15, 300, ("",)),
    "Bd": Unit("Bd", "baud", ("Bd", "baud", "bps", "bit/s"), "9600 baud", 1, 1e8, ("", "k", "K", "M")),
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
    stripped = text.translate(_SAME).strip()
    if len(stripped) > _LONGEST:
        raise QuantityError(f"{_quoted(text)} is too long for a quantity. Write it like {kind.example}.")
    value = _value(stripped, kind)
    if value is None:
        raise QuantityError(f"{_quoted(text)}{_complaint(stripped, kind)}")
    if not math.isfinite(value) or not kind.low <= value <= kind.high:
        low, high = show_quantity(kind.low, kind.name), show_quantity(kind.high, kind.name)
        raise QuantityError(f"{_quoted(text)} is not possible here: it must lie between {low} and {high}.")
    return value + 0.0  # no negative zero


def show_quantity(value: float, unit: str, digits: int = 3) -> str:
    """Write a value for people, with an SI prefix and ``digits`` significant digits.

    Parameters
    ----------
    value : the value in the unit without prefix [unit]
    unit : how the unit is written, for example ``"V"`` [-]
    digits : significant digits; temperatures keep theirs [-]

    >>> show_quantity(0.0032226, "V")
    '3.22 mV'
    >>> show_quantity(4700, "Ω")
    '4.7 kΩ'
    """
    if value == 0 or unit == "°C" or not math.isfinite(value):
        return f"{value + 0.0:g} {unit}"
    rounded = float(f"{abs(value):.{digits}g}")
    prefix, power = next((step for step in _SHOWN if rounded >= 10.0 ** step[1]), _SHOWN[-1])
    scaled = float(f"{value / 10.0**power:.{digits}g}")
    return f"{scaled:.{max(digits, 6)}g} {prefix}{unit}"


# ------------------------------------------------------------------------------ reading


def _value(text: str, kind: Unit) -> float | None:
    """Value of a well-formed quantity of this kind, in range or not; ``None`` if it is not one."""
    if (code := _CODE.fullmatch(text)) is not None:
        value = _from_code(code, kind)
        if value is not None:
            return value
    match = _NUMBER.fullmatch(text)
    if match is None:
        return None
    if match[3] in kind.multiples:
        return float(f"{match[1]}e{int(match[2] or 0)}") * kind.multiples[match[3]]
    for prefix, _ in _splits(match[3], kind):
        if prefix in kind.prefixes:
            # One decimal text, so that 400 mA is the float nearest to 0.4 and not 400 times the one nearest to 0.001.
            return float(f"{match[1]}e{int(match[2] or 0) + _POWERS[prefix]}")
    return None


def _from_code(match: re.Match[str], kind: Unit) -> float | None:
    """Value of a code such as 4k7, R47 or 100n; a unit may follow it."""
    whole, letter, decimals, number, last, unit = match.groups()
    letter = letter or last
    if letter not in kind.code or (unit and unit.rstrip() not in kind.spellings):
        return None
    return float(f"{number or f'{whole or 0}.{decimals}'}e{kind.code[letter]}")


def _splits(rest: str, kind: Unit) -> list[tuple[str, str]]:
    """Ways to read ``rest`` as a prefix and a spelling of this unit, longest spelling first."""
    found = []
    for spelling in sorted(kind.spellings, key=len, reverse=True):
        prefix = rest.removesuffix(spelling).rstrip()
        if rest.endswith(spelling) and prefix in _POWERS:
            found.append((prefix, spelling))
    return found


# ------------------------------------------------------------------------------ complaints


def _complaint(text: str, kind: Unit) -> str:
    """What is wrong with a text that is no quantity of this kind, and what would be right."""
    like = f"Write it like {kind.example}."
    match = _NUMBER.fullmatch(text)
    if match is None or not text.isprintable():
        other = _unit_of_code(text, kind)
        if other is not None:
            return f" is in {other.word}, but this asks for {kind.word}. {like}"
        return f" is not a number with a unit.{_mistyped(text, kind) or f' {like}'}"
    number, rest = match[1], match[3].strip()
    if rest.startswith(","):
        right = text.replace(",", ".")
        thousands = re.search(r",[0-9]{3}(?![0-9])", text)
        fixed = not thousands and _value(right, kind) is not None
        return " has a comma in the number. Write the decimals after a point" + (f": {right}." if fixed else ", like 0.4.")
    if re.match(r"[0-9]", rest):
        return " has a space inside the number. Write its digits without a gap."
    if not rest:
        return f" has no unit. {like}"
    if hint := _mistyped(text, kind):
        return f" is not a number with a unit.{hint}"
    if _TOLERANCE.fullmatch(text) and kind.code:
        return f" ends in a letter for the tolerance. Leave it out: {text[:-1].rstrip()}."
    if (mega := _splits(rest, kind)) and (right := _other_case(number, rest, kind)):
        meaning = "a million" if mega[0][0] == "M" else "a thousandth"
        return f" cannot be meant: {mega[0][0]} is {meaning}. Did you mean {right}?"
    if right := _other_case(number, rest, kind) or _other_case_code(text, kind):
        return f": {_quoted(rest)} is not a unit this asks for. Did you mean {right}?"
    other = _unit_of(text, rest, kind)
    if other is not None:
        return f" is in {other.word}, but this asks for {kind.word}. {like}"
    if rest in _POWERS:
        return f" has no unit after the {rest}. {like}"
    return f": {_quoted(rest)} is not a unit this asks for. {like}"


def _mistyped(text: str, kind: Unit) -> str:
    """Hint at letters typed for digits, with the repaired quantity where that makes one."""
    for letters, digit, what in (("Oo", "0", "the letter O where a zero"), ("lI", "1", "a letter where a one")):
        after_digit, before_digit = f"(?<=[0-9.])[{letters}]", f"[{letters}](?=\\.?[0-9])"
        repaired = text
        while (again := re.sub(f"{after_digit}|{before_digit}", digit, repaired, count=1)) != repaired:
            repaired = again
        if repaired != text and _value(repaired, kind) is not None:
            return f" It holds {what} belongs. Write {repaired}."
        if re.search(f"[0-9][{letters}][0-9]", text):
            return f" It holds {what} belongs. Write it like {kind.example}."
    return ""


def _other_case(number: str, rest: str, kind: Unit) -> str:
    """The quantity with capital and small letters put right, if that makes one of this kind."""
    for spelling in kind.spellings:
        for prefix in kind.prefixes:
            if rest.replace(" ", "").casefold() == (prefix + spelling).casefold():
                return f"{number} {prefix}{spelling}"
    return ""


def _other_case_code(text: str, kind: Unit) -> str:
    swapped = text.swapcase()
    return swapped if _CODE.fullmatch(swapped) and _value(swapped, kind) is not None else ""


def _unit_of(text: str, rest: str, asked: Unit) -> Unit | None:
    """Another unit the text would be right for."""
    for kind in UNITS.values():
        if kind is not asked and _splits(rest, kind):
            return kind
    return _unit_of_code(text, asked)


def _unit_of_code(text: str, asked: Unit) -> Unit | None:
    """Another unit the text would be a code of, such as 4k7 or R47."""
    if re.fullmatch(r"[0-9]*\D[0-9]+", text):
        for kind in UNITS.values():
            if kind is not asked and (code := _CODE.fullmatch(text)) and _from_code(code, kind) is not None:
                return kind
    return None


def _quoted(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:39] + "…")
