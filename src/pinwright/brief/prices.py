"""The maker's own prices: an optional TOML file with one currency.

    currency = "EUR"
    [boards]
    raspberry-pi-pico = 4.50
    [components]
    resistor = 0.02
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from pinwright.errors import Fault, InputError, nearest
from pinwright.facts.loader import Catalogue
from pinwright.toml_lines import scan_lines

__all__ = ["PriceList", "parse_money", "read_prices"]

_MONEY = re.compile(r"(\d+(?:\.\d+)?)\s*([A-Za-z]{3})")
COMPONENTS = ("resistor", "diode", "transistor", "level shifter")


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices in one currency (ISO 4217 code); boards by id, components by kind."""

    currency: str
    boards: dict[str, float]
    components: dict[str, float]


def parse_money(text: str) -> tuple[float, str]:
    """Read ``12 EUR`` into amount and currency.  Raises ``ValueError`` with the right form.

    >>> parse_money("12.50 eur")
    (12.5, 'EUR')
    """
    match = _MONEY.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is not an amount of money. Write it like 12 EUR (a number and a three-letter currency).")
    return float(match[1]), match[2].upper()


def read_prices(path: Path, catalogue: Catalogue) -> PriceList:
    """Read a price list.  Raises ``InputError`` with every fault found."""
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except OSError as error:
        raise InputError([Fault(str(path), None, "", f"Cannot be read: {error.strerror or error}.")]) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError([Fault(path.name, None, "", f"This is not valid TOML: {error}.")]) from None
    lines = scan_lines(text)
    faults: list[Fault] = []

    def report(key: tuple[str, ...], wrong: str, guess: str = "") -> None:
        faults.append(Fault(path.name, lines.line(key), ".".join(key), wrong, guess=guess))

    currency = data.pop("currency", None)
    if not (isinstance(currency, str) and re.fullmatch(r"[A-Za-z]{3}", currency)):
        report(("currency",), "The currency is missing. Write it as three letters, like \"EUR\".")
    tables: dict[str, dict[str, float]] = {"boards": {}, "components": {}}
    known = {"boards": tuple(catalogue.boards), "components": COMPONENTS}
    for name, table in data.items():
        if name not in tables or not isinstance(table, dict):
            report((name,), "Nobody knows this table.", "".join(nearest(name, tables, 1)))
            continue
        for item, price in table.items():
            if item not in known[name]:
                report((name, item), f"Nobody knows {item!r}.", "".join(nearest(item, known[name], 1)))
            elif isinstance(price, bool) or not isinstance(price, int | float) or not 0 <= price < 1e6:
                report((name, item), f"{price!r} is not a price. Write a number like 4.50.")
            else:
                tables[name][item] = float(price)
    if faults:
        raise InputError(faults)
    return PriceList(str(currency).upper(), tables["boards"], tables["components"])
