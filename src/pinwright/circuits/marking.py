"""What is printed on a resistor: letter-and-digit code, colour bands, and the short codes of small chips.

Sources
-------
IEC 60062:2016 (amended 2019): letter and digit code (read in a public summary), colours and tolerance letters (from memory).
EIA-96 three-character code: place in E96, then a letter; multiplier letters A to F and X, Y, Z read in a chip resistor
data sheet, R and S from memory.  H means ten in one published table and ten million in another: it is refused.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.circuits.bounds import positive
from pinwright.circuits.preferred import preferred, series
from pinwright.errors import OutOfRange

__all__ = ["Marked", "chip_decode", "colour_bands", "colours_of", "eia96_decode", "eia96_encode", "rkm_decode", "rkm_encode"]

_LETTERS = {"m": 1e-3, "L": 1e-3, "R": 1.0, "K": 1e3, "M": 1e6, "G": 1e9, "T": 1e12}
_EXPONENTS = {"m": -3, "L": -3, "R": 0, "K": 3, "M": 6, "G": 9, "T": 12}
_TOLERANCES = {
    "E": 0.005, "L": 0.01, "P": 0.02, "W": 0.05, "B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0, "H": 3.0, "J": 5.0,
    "K": 10.0, "M": 20.0, "N": 30.0,
}  # fmt: skip
"""Per cent, from memory."""

COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
_SPELLINGS = {"gray": "grey", "purple": "violet"}
_BAND_EXPONENTS = {colour: digit for digit, colour in enumerate(COLOURS)} | {"gold": -1, "silver": -2, "pink": -3}
_BAND_TOLERANCES = {
    "brown": 1.0, "red": 2.0, "orange": 0.05, "yellow": 0.02, "green": 0.5, "blue": 0.25, "violet": 0.1, "grey": 0.01,
    "gold": 5.0, "silver": 10.0,
}  # fmt: skip
_BAND_PPM = {"black": 250, "brown": 100, "red": 50, "orange": 15, "yellow": 25, "green": 20, "blue": 10, "violet": 5, "grey": 1}

_EIA96 = {"Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0, "B": 1, "C": 2, "D": 3, "E": 4, "F": 5}
_CODE = re.compile(r"(\d*)([mLRKMGT])(\d*)([A-Z]?)")


@dataclass(frozen=True, slots=True)
class Marked:
    """What a marking says: resistance, tolerance as a share and drift with temperature, both None where it says nothing."""

    r_ohm: float
    tolerance: float | None = None
    drift_ppm_per_k: float | None = None


def rkm_decode(code: str) -> Marked:
    """Resistance of a letter-and-digit code: the letter stands for the decimal point.   [IEC 60062]

    A letter behind the last digit of a complete code is the tolerance: ``4K7J``, ``100RK``.

    Parameters
    ----------
    code : such as 4K7, R47, 470R, 1M0F; small k and r are taken too, m is milli [-]

    Returns
    -------
    marked : resistance, and the tolerance if given

    Raises
    ------
    OutOfRange : the text is no such code.

    >>> rkm_decode("4K7").r_ohm, rkm_decode("R47J")
    (4700.0, Marked(r_ohm=0.47, tolerance=0.05, drift_ppm_per_k=None))
    """
    text = code.strip().replace("Ω", "R").replace("k", "K").replace("r", "R")
    found = _CODE.fullmatch(text)
    bare = re.fullmatch(r"\d+(\.\d+)?", text)
    if bare:
        return Marked(float(text))
    if not found or not (found[1] or found[3]) or (found[4] and found[4] not in _TOLERANCES):
        raise OutOfRange(f"{code!r} is no resistance code; write 4K7, R47, 470R or 4K7J.")
    r_ohm = float(f"{found[1] or 0}.{found[3] or 0}e{_EXPONENTS[found[2]]}")
    return Marked(_not_nothing(r_ohm, code), _TOLERANCES[found[4]] / 100 if found[4] else None)


def rkm_encode(r_ohm: float, digits: int = 3) -> str:
    """Letter-and-digit code of a resistance.   [IEC 60062]

    Parameters
    ----------
    r_ohm : from 0.1 mΩ up to below 1000 TΩ [ohm]
    digits : significant digits [-]

    Returns
    -------
    code : such as 4K7

    Raises
    ------
    OutOfRange : the value is not positive or has no letter.

    >>> rkm_encode(4700.0), rkm_encode(0.47), rkm_encode(49.9e3), rkm_encode(10.0)
    ('4K7', 'R47', '49K9', '10R')
    """
    positive(r_ohm=r_ohm, digits=digits)
    rounded = float(f"{r_ohm:.{digits}g}")
    letter = next((one for one in ("T", "G", "M", "K", "R") if rounded >= _LETTERS[one]), "R" if rounded >= 0.1 else "m")
    text = f"{rounded / _LETTERS[letter]:.{digits}g}"
    if "e" in text:
        raise OutOfRange(f"{r_ohm:g} Ω has no letter-and-digit code.")
    whole, _, rest = text.partition(".")
    return f"{'' if whole == '0' else whole}{letter}{rest}"


def colour_bands(bands: Sequence[str]) -> Marked:
    """Resistance of three to six colour bands.   [IEC 60062]

    3 bands: two digits and multiplier (20 %); 4: and tolerance; 5: three digits, multiplier, tolerance; 6: and drift.

    Parameters
    ----------
    bands : colours in reading order [-]

    Returns
    -------
    marked : resistance, tolerance, and drift where six bands give it

    Raises
    ------
    OutOfRange : too few or many bands, or a colour that means nothing in its place.

    >>> colour_bands(["yellow", "violet", "red", "gold"])
    Marked(r_ohm=4700.0, tolerance=0.05, drift_ppm_per_k=None)
    """
    colours = [_SPELLINGS.get(band.strip().casefold(), band.strip().casefold()) for band in bands]
    if not 3 <= len(colours) <= 6:
        raise OutOfRange(f"A resistor carries 3 to 6 bands, not {len(colours)}.")
    count = 2 if len(colours) <= 4 else 3
    mantissa = int("".join(str(_looked_up(_DIGITS, colours, place, "digit")) for place in range(count)))
    exponent = int(_looked_up(_BAND_EXPONENTS, colours, count, "multiplier"))
    tolerance = _looked_up(_BAND_TOLERANCES, colours, count + 1, "tolerance") if len(colours) > 3 else 20.0
    drift = float(_looked_up(_BAND_PPM, colours, 5, "drift")) if len(colours) == 6 else None
    return Marked(_not_nothing(float(f"{mantissa}e{exponent}"), " ".join(colours)), tolerance / 100, drift)


def colours_of(r_ohm: float, tolerance: float = 0.05, bands: int = 4) -> tuple[str, ...]:
    """Bands to look for on a resistor of a known value.   [IEC 60062]

    Parameters
    ----------
    r_ohm : resistance with at most two digits (4 bands) or three (5 bands) [ohm]
    tolerance : as a share [-]
    bands : 4 or 5 [-]

    Returns
    -------
    colours : in reading order

    Raises
    ------
    OutOfRange : the value has more digits than bands, or no colour.

    >>> colours_of(4700.0)
    ('yellow', 'violet', 'red', 'gold')
    """
    positive(r_ohm=r_ohm)
    if bands not in (4, 5):
        raise OutOfRange(f"Resistors are banded with 4 or 5 bands here, not {bands}.")
    count = bands - 2
    digits, _, exponent = f"{r_ohm:.{count - 1}e}".partition("e")
    if abs(float(f"{digits}e{exponent}") / r_ohm - 1) > 1e-6:
        raise OutOfRange(f"{r_ohm:g} Ω has more than {count} digits; {bands} bands cannot show it.")
    power = int(exponent) - (count - 1)
    multiplier = next((colour for colour, value in _BAND_EXPONENTS.items() if value == power), None)
    last = next((colour for colour, value in _BAND_TOLERANCES.items() if abs(value - tolerance * 100) < 1e-9), None)
    if multiplier is None or last is None:
        raise OutOfRange(f"There is no colour for {r_ohm:g} Ω with {tolerance * 100:g} %.")
    return (*(COLOURS[int(digit)] for digit in digits.replace(".", "")), multiplier, last)


def eia96_decode(code: str) -> float:
    """Resistance of the three-character code on 1 % chips.   [EIA-96, IEC 60062:2016]

    Parameters
    ----------
    code : place in E96 from 01 to 96, then the letter of the multiplier [-]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : the text is no such code, or its letter means different things in different tables (H).

    >>> eia96_decode("68B"), eia96_decode("01C")
    (4990.0, 10000.0)
    """
    text = code.strip().upper()
    found = re.fullmatch(r"(\d\d)([A-Z])", text)
    if not found or not 1 <= int(found[1]) <= 96:
        raise OutOfRange(f"{code!r} is no EIA-96 code: two digits from 01 to 96 and a letter, such as 68B.")
    if found[2] == "H":
        raise OutOfRange(f"{code!r}: H stands for 10 in some tables and for 10 000 000 in others; measure the part.")
    if found[2] not in _EIA96:
        raise OutOfRange(f"{code!r}: {found[2]} is no multiplier of EIA-96; these are {' '.join(_EIA96)}.")
    return float(f"{series(96)[int(found[1]) - 1]}e{_EIA96[found[2]]}")


def eia96_encode(r_ohm: float) -> str:
    """Three-character code of a member of E96.   [EIA-96, IEC 60062:2016]

    Parameters
    ----------
    r_ohm : member of E96, 0.1 Ω to 97.6 MΩ [ohm]

    Returns
    -------
    code : such as 68B

    Raises
    ------
    OutOfRange : no member of E96, or no letter for it.

    >>> eia96_encode(49.9e3)
    '68C'
    """
    member = preferred(r_ohm, 96)
    if abs(member / r_ohm - 1) > 1e-6:
        raise OutOfRange(f"{r_ohm:g} Ω is not in E96; the nearest is {member:g} Ω.")
    digits, _, exponent = f"{member:.2e}".partition("e")
    power = int(exponent) - 2
    letter = next((one for one in "ABCDEFXYZ" if _EIA96[one] == power), None)
    if letter is None:
        raise OutOfRange(f"EIA-96 has no multiplier for {r_ohm:g} Ω.")
    return f"{series(96).index(int(digits.replace('.', ''))) + 1:02d}{letter}"


def chip_decode(code: str) -> float:
    """Resistance printed on a chip: 103, 4702, 4R7, R047 or 01C.   [IEC 60062]

    Three digits end in the number of zeros, so do four.

    Parameters
    ----------
    code : as printed [-]

    Returns
    -------
    r_ohm : resistance; 0 for a bridge (0, 000, 0000) [ohm]

    Raises
    ------
    OutOfRange : the text is no such code.

    >>> chip_decode("103"), chip_decode("4702"), chip_decode("4R7"), chip_decode("68C")
    (10000.0, 47000.0, 4.7, 49900.0)
    """
    text = code.strip().upper()
    if re.fullmatch(r"0+", text):
        return 0.0
    if re.fullmatch(r"\d{3,4}", text):
        return float(f"{text[:-1]}e{text[-1]}")
    if re.fullmatch(r"\d\d[A-Z]", text) and text[2] not in "RMK":
        return eia96_decode(text)
    return rkm_decode(text).r_ohm


_DIGITS = {colour: digit for digit, colour in enumerate(COLOURS)}


def _looked_up(table: dict[str, int] | dict[str, float], colours: Sequence[str], place: int, role: str) -> float:
    colour = colours[place]
    if colour not in table:
        raise OutOfRange(f"Band {place + 1} is {colour!r}; as {role} it may be {', '.join(table)}.")
    return table[colour]


def _not_nothing(r_ohm: float, code: str) -> float:
    if r_ohm <= 0:
        raise OutOfRange(f"{code!r} says zero ohms; that is a bridge, no resistor.")
    return r_ohm
