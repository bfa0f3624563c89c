"""Price lists and amounts of money."""

from __future__ import annotations

from pathlib import Path

import pytest

from pinwright.brief.prices import PriceList, parse_money, read_prices
from pinwright.errors import InputError
from pinwright.facts.loader import Catalogue


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [("12 EUR", 12.0, "EUR"), ("12.50 eur", 12.5, "EUR"), (" 0.5CHF ", 0.5, "CHF"), ("0 USD", 0.0, "USD"), ("007 GBP", 7.0, "GBP")],
)
def test_money(text: str, amount: float, currency: str) -> None:
    assert parse_money(text) == (amount, currency)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "12",
        "EUR",
        "EUR 12",
        "€12",
        "12 €",
        "12,50 EUR",
        "-1 EUR",
        "1e3 EUR",
        "nan EUR",
        "12 EURO",
        "12 EU",
        "1.2.3 EUR",
        "٣ EUR",
        "9" * 13 + " EUR",
    ],
)
def test_not_money(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not an amount of money\. Write it like 12 EUR \(a number and a three-letter currency\)\.$"):
        parse_money(text)


def read(text: str | bytes, folder: Path, catalogue: Catalogue) -> PriceList:
    path = folder / "prices.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_prices(path, catalogue)


def test_a_price_list(tmp_path: Path, catalogue: Catalogue) -> None:
    text = 'currency = "eur"\n[boards]\nraspberry-pi-pico = 4.5\nesp01s = 2\n[components]\nresistor = 0\n"level shifter" = 0.8\n'
    assert read(text, tmp_path, catalogue) == PriceList(
        "EUR", {"raspberry-pi-pico": 4.5, "esp01s": 2.0}, {"resistor": 0.0, "level shifter": 0.8}
    )


def test_an_empty_price_list_needs_only_its_currency(tmp_path: Path, catalogue: Catalogue) -> None:
    assert read("\ufeffcurrency = 'USD'\r\n", tmp_path, catalogue) == PriceList("USD", {}, {})


def test_all_faults_in_one_go(tmp_path: Path, catalogue: Catalogue) -> None:
    text = """currency = 5
colour = 1
components = 3
[board]
esp01s = 1
[boards]
esp01s = "2"
raspberry-pi-pico = true
raspberry-pi-pico-2 = nan
raspberry-pi-pico-w = -1
esp12f-30pin = 1e6
raspberry-pi-picoo = 4
breadbin = 4
"""
    with pytest.raises(InputError) as caught:
        read(text, tmp_path, catalogue)
    assert [(fault.line, fault.key, fault.wrong, fault.right, fault.guess) for fault in caught.value.faults] == [
        (1, "currency", "5 is no currency.", 'Write three letters, like "EUR".', ""),
        (2, "colour", "Nobody knows 'colour'.", "There are [boards] and [components].", ""),
        (3, "components", "A table is wanted.", "Write [components] and the prices below.", ""),
        (4, "board", "Nobody knows 'board'.", "", "boards"),
        (7, "boards.esp01s", "'2' is not a price.", "Write a number like 4.50.", ""),
        (8, "boards.raspberry-pi-pico", "true is not a price.", "Write a number like 4.50.", ""),
        (9, "boards.raspberry-pi-pico-2", "nan is not a price.", "Write a number like 4.50.", ""),
        (10, "boards.raspberry-pi-pico-w", "-1 is not a price.", "Write a number like 4.50.", ""),
        (11, "boards.esp12f-30pin", "1000000.0 is not a price.", "Write a number like 4.50.", ""),
        (12, "boards.raspberry-pi-picoo", "Nobody knows 'raspberry-pi-picoo'.", "", "raspberry-pi-pico"),
        (13, "boards.breadbin", "Nobody knows 'breadbin'.", "'pinwright facts list boards' shows them all.", ""),
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[boards]\n", 'prices.toml:1  currency\n    The currency is missing. Write currency = "EUR" in the first line.'),
        ("currency = 'EURO'", "prices.toml:1  currency\n    'EURO' is no currency. Write three letters, like \"EUR\"."),
        (
            "currency = 'EUR'\n[components]\nresister = 1",
            "prices.toml:3  components.resister\n    Nobody knows 'resister'. Did you mean resistor?",
        ),
        (
            "currency = 'EUR'\n[components]\nscrew = 1",
            "prices.toml:3  components.screw\n    Nobody knows 'screw'. Known: resistor, transistor, level shifter.",
        ),
        ("currency = EUR", "prices.toml:1\n    This is not valid TOML at column 12: there is no value here."),
        (b"currency = '\xff'", "prices.toml:1\n    This is not UTF-8 text (byte 12). Save it as UTF-8."),
        (f"currency = {'9' * 5000}", "prices.toml:1\n    This number is too long."),
        ("currency = " + "[" * 5000, "prices.toml\n    This is not usable TOML: its brackets are nested too deep."),
    ],
)
def test_messages(text: str | bytes, words: str, tmp_path: Path, catalogue: Catalogue) -> None:
    with pytest.raises(InputError) as caught:
        read(text, tmp_path, catalogue)
    assert str(caught.value).startswith(words)


def test_a_missing_price_list(tmp_path: Path, catalogue: Catalogue) -> None:
    with pytest.raises(InputError, match=r"Cannot be read: No such file or directory\."):
        read_prices(tmp_path / "none.toml", catalogue)
