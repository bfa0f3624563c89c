"""The maker's own prices: an optional TOML file with one currency.

currency = "EUR"
[boards]
raspberry-pi-pico = 4.50
[components]
resistor = 0.02
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pinwright.brief.toml_text import KeyPath, key_text, load_toml, read_text, shown
from pinwright.errors import Fault, InputError, nearest
from pinwright.facts.loader import Catalogue
from pinwright.toml_lines import Lines

__all__ = ["PriceList", "parse_money", "read_prices"]

_MONEY = re.compile(r"([0-9]{1,12}(?:\.[0-9]{1,12})?)\s*([A-Za-z]{3})")
_CURRENCY = re.compile(r"[A-Za-z]{3}")
_HIGHEST = 1e6
COMPONENTS = ("resistor", "transistor", "level shifter")


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices in one currency (ISO 4217 code); boards by id, components by kind."""

    currency: str
    boards: dict[str, float]
    components: dict[str, float]


def parse_money(text: str) -> tuple[float, str]:
    """Read ``12 EUR`` into amount and currency.

    Parameters
    ----------
    text : a number and three letters [-]

    Raises
    ------
    ValueError : it is something else; the message says what would be right.

    >>> parse_money("12.50 eur")
    (12.5, 'EUR')
    """
    match = _MONEY.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"{shown(text)} is not an amount of money. Write it like 12 EUR (a number and a three-letter currency).")
    return float(match[1]), match[2].upper()


def read_prices(path: Path, catalogue: Catalogue) -> PriceList:
    """Read a price list.

    Parameters
    ----------
    path : the file [-]
    catalogue : boards it may name [-]

    Raises
    ------
    InputError : the file cannot be read or has faults; all of them are listed, in the order of the file.
    """
    data, lines = load_toml(read_text(path), path.name)
    faults: list[Fault] = []
    currency = data.pop("currency", None)
    if currency is None:
        faults.append(_fault(path.name, lines, ("currency",), "The currency is missing.", 'Write currency = "EUR" in the first line.'))
    elif not (isinstance(currency, str) and _CURRENCY.fullmatch(currency)):
        faults.append(_fault(path.name, lines, ("currency",), f"{shown(currency)} is no currency.", 'Write three letters, like "EUR".'))
    tables: dict[str, dict[str, float]] = {"boards": {}, "components": {}}
    known = {"boards": tuple(catalogue.boards), "components": COMPONENTS}
    for name, table in data.items():
        if name not in tables:
            near = (name, (*tables, "currency"))
            faults.append(_fault(path.name, lines, (name,), f"Nobody knows {shown(name)}.", "There are [boards] and [components].", near))
        elif not isinstance(table, dict):
            faults.append(_fault(path.name, lines, (name,), "A table is wanted.", f"Write [{name}] and the prices below."))
        else:
            tables[name] = _prices(table, name, known[name], path.name, lines, faults)
    if faults:
        raise InputError(sorted(faults, key=lambda fault: (fault.line or 0, fault.key)))
    return PriceList(str(currency).upper(), tables["boards"], tables["components"])


def _prices(table: dict[str, Any], name: str, known: tuple[str, ...], file: str, lines: Lines, faults: list[Fault]) -> dict[str, float]:
    prices: dict[str, float] = {}
    for item, price in table.items():
        path = (name, item)
        if item not in known:
            right = f"Known: {', '.join(known)}." if name == "components" else "'pinwright facts list boards' shows them all."
            faults.append(_fault(file, lines, path, f"Nobody knows {shown(item)}.", right, (item, known)))
        elif not _is_price(price):
            faults.append(_fault(file, lines, path, f"{shown(price)} is not a price.", "Write a number like 4.50."))
        else:
            prices[item] = float(price)
    return prices


def _is_price(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < _HIGHEST and math.isfinite(value)


def _fault(file: str, lines: Lines, path: KeyPath, wrong: str, right: str, near: tuple[str, tuple[str, ...]] | None = None) -> Fault:
    guess = "".join(nearest(near[0][:200], near[1], 1)) if near else ""
    line = lines.line(path)
    return Fault(file, 1 if line is None else line, key_text(path), wrong, "" if guess else right, guess)
