"""What a maker says is really fitted between a pin and a part: ``pull-up 4k7``, ``divider 10k over 20k``, ``transistor``.

The words are those of ``fitted`` in a brief; quantities are read by ``quantities``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from pinwright.errors import nearest
from pinwright.quantities import QuantityError, parse_quantity

__all__ = ["EXAMPLES", "FittedPiece", "parse_accuracy", "parse_fitted", "same_unit"]

Kind = Literal["pull-up", "pull-down", "series", "divider", "capacitor", "level shifter", "transistor", "diode", "module pull-up off"]

EXAMPLES: dict[str, str] = {
    "pull-up": "pull-up 4k7",
    "pull-down": "pull-down 10k",
    "series": "series 330 ohm",
    "divider": "divider 10k over 20k",
    "capacitor": "capacitor 100 nF",
    "level shifter": "level shifter",
    "transistor": "transistor",
    "diode": "diode",
    "module pull-up off": "module pull-up off",
}
"""Every word of ``fitted`` and how it is written."""
_LEAST_OHM = 0.1
_LONGEST = 100


@dataclass(frozen=True, slots=True)
class FittedPiece:
    """One thing that is fitted: resistance (of a divider the upper one) and ``lower_ohm`` [ohm], ``farads`` [F].

    ``to_v``: rail of a pull-up [V]; ``None`` for the board's logic supply.
    """

    kind: Kind
    ohm: float | None = None
    lower_ohm: float | None = None
    farads: float | None = None
    to_v: float | None = None


def parse_fitted(text: str) -> FittedPiece:
    """Read one element.

    Parameters
    ----------
    text : as the maker wrote it [-]

    Raises
    ------
    ValueError : not a word of ``fitted``, or its value is missing or wrong; the message says what would be right.

    >>> parse_fitted("divider 10k over 20k")
    FittedPiece(kind='divider', ohm=10000.0, lower_ohm=20000.0, farads=None, to_v=None)
    """
    words = " ".join(text.split())
    kind = next((kind for kind in EXAMPLES if re.match(rf"{kind}(?![\w-])", words, re.IGNORECASE)), None)
    if kind is None or len(words) > _LONGEST:
        raise ValueError(_unknown(words))
    rest = words[len(kind) :].strip()
    if kind == EXAMPLES[kind]:
        if rest:
            raise ValueError(f"{_quoted(words)} says more than is known here. Write just {kind}.")
        return FittedPiece(kind)  # type: ignore[arg-type]
    if not rest:
        raise ValueError(f"{_quoted(words)} has no value. Write it like {EXAMPLES[kind]}.")
    if kind == "divider":
        return _divider(words, rest)
    if kind == "capacitor":
        return FittedPiece("capacitor", farads=_quantity(rest, "F"))
    return _resistor(words, kind, rest)


def _divider(words: str, rest: str) -> FittedPiece:
    upper, over, lower = (part.strip() for part in re.split(r"(\bover\b|/)", rest, maxsplit=1)) if _has_two(rest) else ("", "", "")
    if not (upper and over and lower):
        raise ValueError(f"{_quoted(words)} needs two resistors, the one at the part first. Write it like {EXAMPLES['divider']}.")
    return FittedPiece("divider", _ohms(upper), _ohms(lower))


def _has_two(rest: str) -> bool:
    return re.search(r"\bover\b|/", rest) is not None


def _resistor(words: str, kind: str, rest: str) -> FittedPiece:
    value, to, rail = rest.partition(" to ")
    if not to:
        return FittedPiece(kind, _ohms(value))  # type: ignore[arg-type]
    if kind == "pull-down" and rail.strip().casefold() in ("ground", "gnd"):
        return FittedPiece("pull-down", _ohms(value))
    if kind != "pull-up":
        leads = "A pull-down leads to ground" if kind == "pull-down" else "A series resistor leads from the pin to the part"
        raise ValueError(f"{_quoted(words)} names a rail. {leads}. Write {kind} {value.strip()}.")
    return FittedPiece("pull-up", _ohms(value), to_v=_quantity(rail.strip(), "V"))


def _ohms(text: str) -> float:
    ohm = _quantity(text, "ohm")
    if ohm < _LEAST_OHM:
        raise ValueError(f"{_quoted(text)} is a bare wire. Write the resistor like 4k7.")
    return ohm


def _quantity(text: str, unit: str) -> float:
    return parse_quantity(text, unit)


def _unknown(words: str) -> str:
    if re.fullmatch(r"(nothing|none|-|)", words, re.IGNORECASE):
        return f"{_quoted(words)} is not known here. Write an empty list: []."
    if words.casefold().startswith("resistor"):
        return f"{_quoted(words)} does not say what it does. Write pull-up, pull-down or series in front, as in {EXAMPLES['pull-up']}."
    guess = nearest(words[:_LONGEST].split(" ")[0], EXAMPLES, 1)
    hint = f" Did you mean {EXAMPLES[guess[0]]}?" if guess else f" Write one of: {', '.join(EXAMPLES.values())}."
    return f"{_quoted(words)} is not known here.{hint}"


def _quoted(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:39] + "…")


# ------------------------------------------------------------------------------ accuracy of a reading

_ACCURACY = re.compile(r"\s*([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*(\S.*?)?\s*")


def parse_accuracy(text: str) -> tuple[float, str]:
    """Number and unit of an accuracy.

    Parameters
    ----------
    text : such as ``0.5 degC`` or ``2 %`` [-]

    Raises
    ------
    QuantityError : no number, no unit, or nothing but zero.

    >>> parse_accuracy("0.5 degC")
    (0.5, 'degC')
    """
    match = _ACCURACY.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None:
        raise QuantityError(f"{_quoted(text)} is not a number with a unit. Write it like 0.5 degC.")
    if not match[2]:
        raise QuantityError(f"{_quoted(text)} has no unit. Write it like {match[1]} degC.")
    if float(match[1]) == 0:
        raise QuantityError(f"{_quoted(text)} is not possible: every reading has an error. Write it like 0.5 degC.")
    return float(match[1]), match[2]


def same_unit(written: str, unit: str) -> bool:
    """Whether a maker's spelling means the catalogue's unit: capital letters and the sign of a degree do not matter.

    Parameters
    ----------
    written : as in the brief [-]
    unit : as in the catalogue [-]

    >>> same_unit("°C", "degC"), same_unit("K", "degC"), same_unit("V", "degC")
    (True, True, False)
    """
    if written == "K" and unit == "degC":
        return True  # a difference of temperatures is the same in both
    return _plain(written) == _plain(unit)


def _plain(unit: str) -> str:
    return unit.replace("°", "deg").replace(" ", "").casefold()
