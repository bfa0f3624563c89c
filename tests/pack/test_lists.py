"""Wire list and parts list: nothing forgotten, nothing a spreadsheet runs, totals that add up."""

from __future__ import annotations

import csv
import io
import unicodedata
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pinwright.brief.prices import PriceList
from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import prepare
from pinwright.pack.build import Build
from pinwright.pack.build.make import build_of
from pinwright.pack.csv_text import csv_bytes, csv_text, plain_words, read_csv, safe_cell, unsafe_cell
from pinwright.pack.lists import RESERVE, colour_word, nearest_awg, parts_csv, parts_list, total_of, wire_csv, wire_list
from pinwright.planning import open_job, plan_job

ROOT = Path(__file__).parents[2]
HOSTILE = (
    '=HYPERLINK("x";1)',
    "+1+1",
    "-2+3|cmd",
    "@SUM(A1)",
    "\t=1",
    "\r\n=1",
    "＝1+1",
    "a;=1+1",
    "'\"=1",
    "\u200b=1",
    "İ🚿" * 60,
    "\u202e=1",
    "R1",
)


@lru_cache(maxsize=8)
def built(name: str, board: str = "") -> Build:
    return build_of(plan_job(open_job(ROOT / "examples" / f"{name}.toml")), board or None)


@lru_cache(maxsize=8)
def of_text(text: str, prices: bool = False) -> Build:
    catalogue = load_catalogue()
    # Invented prices.
    listed = PriceList("EUR", {"raspberry-pi-pico": 4.5}, {"resistor": 0.02, "transistor": 0.1}) if prices else None
    return build_of(plan_job(prepare(parse_brief(text, "lists.toml", catalogue), catalogue, listed)))


def runs(cell: str) -> bool:
    """Whether a spreadsheet may take a cell for a formula: what it strips, then the signs OWASP lists, and what NFKC makes such a sign."""
    bare = cell.strip().strip("\"'`").strip()
    try:
        float(cell.strip())
    except ValueError:
        return bool(cell) and not cell.startswith("'") and bool(bare) and unicodedata.normalize("NFKC", bare)[0] in "=+-@"
    return False


# ------------------------------------------------------------------------------ CSV


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "＝", "＋", "－", "＠", "﹢", "﹣", "﹫"])
@pytest.mark.parametrize("before", ["", " ", '"', "'", "\u00a0", "\ufeff", "\u200b", ' "'])
def test_whatever_a_spreadsheet_would_run_gets_an_apostrophe(sign: str, before: str):
    # OWASP, CSV Injection: = + - @, tab, carriage return, line feed and the full-width forms; the small forms are NFKC's.
    assert safe_cell(f"{before}{sign}cmd|' /C calc'!A0").startswith("'")


@pytest.mark.parametrize("number", ["-5", "+3", "-0.5", "1e-3", "-1.5E+06", "0", ".5", " -7 "])
def test_numbers_stay_numbers(number: str):
    assert float(safe_cell(number)) == float(number)


@pytest.mark.parametrize("words", ["10 kΩ", "3.3 V", "R1, R2", "1N4007", "a=b", "mail@x", "0.14 mm²", "½ turn", "", "GND (1)"])
def test_ordinary_words_are_left_alone(words: str):
    assert safe_cell(words) == words


@pytest.mark.parametrize("begin", ["\t", "\r", "\n", "\r\n", "\x0b", "\u2028", "\x85"])
def test_a_line_end_before_a_formula_does_not_hide_it(begin: str):
    cell = safe_cell(f"{begin}=1")
    assert cell.startswith("'")
    assert len(cell.splitlines()) == 1


def test_a_spreadsheet_set_to_semicolons_finds_no_formula_either():
    # In such a locale a field is split at ; even inside quotes that do not begin it.
    line = csv_text(["a", "b"], [["x", "y;=1+1"]]).splitlines()[1]
    assert not any(runs(field.strip('"')) for field in line.split(";"))


@settings(max_examples=400, deadline=None)
@given(st.lists(st.lists(st.text(), min_size=3, max_size=3), min_size=1, max_size=4))
@example([["=1", "'=1", "''=1"]])
@example([["a;'=1", "\ufeff", ";;@"]])
def test_a_table_comes_back_as_it_was_and_runs_nothing(rows: list[list[str]]):
    text = csv_text(["one", "two", "three"], rows)
    read = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert [len(row) for row in read] == [3] * (len(rows) + 1)
    assert not any(runs(cell) for row in read for cell in row)
    assert [list(row.values()) for row in read_csv(text)] == [[plain_words(cell) for cell in row] for row in rows]
    csv_bytes(text).decode("utf-8-sig")


@given(st.text())
def test_taking_the_guard_off_gives_the_words(words: str):
    assert unsafe_cell(safe_cell(words)) == plain_words(words)


def test_lines_end_and_quotes_are_doubled_as_the_format_says():
    # RFC 4180, 2.1 and 2.7, from memory.
    assert csv_text(["a"], [['say "yes", twice']]) == 'a\r\n"say ""yes"", twice"\r\n'


def test_a_file_begins_with_a_byte_order_mark_and_the_text_does_not():
    assert csv_bytes("Ω\r\n") == b"\xef\xbb\xbf\xce\xa9\r\n"
    assert not csv_text(["Ω"], []).startswith("\ufeff")


# ------------------------------------------------------------------------------ wires


def test_gauges_are_those_whose_copper_is_nearest():
    # ASTM B258 areas: AWG 26 0.129, 24 0.205, 20 0.518, 18 0.823, 16 1.31 mm² (printed in many tables; from memory).
    assert [nearest_awg(area) for area in (0.14, 0.25, 0.5, 0.75, 1.5)] == [26, 24, 20, 18, 16]


def test_a_gauge_that_would_get_hot_is_not_named():
    # ARRL table in circuits.ampacity: AWG 22 in a bundle stands 2.5 A, AWG 18 5 A.
    assert nearest_awg(0.34, 2.4) == 22
    assert nearest_awg(0.34, 4.9) <= 18


def test_colours_are_words_as_well():
    # IEC 60757: BK, RD, GNYE; two codes in a row are two colours (5.1 of its 2021 edition).
    assert (colour_word("BK"), colour_word("RDBU"), colour_word("GNYE")) == ("black", "red-and-blue", "green-and-yellow")


@pytest.mark.parametrize("name", ["bakery-proofer", "delivery-hatch", "flour-silo", "oven-wall"])
def test_every_wire_of_the_build_is_in_the_list_and_bought(name: str):
    build = built(name)
    rows = wire_list(build)
    assert [row.number for row in rows] == [wire.number for wire in build.wires]
    for row, wire in zip(rows, build.wires, strict=True):
        assert (row.from_item, row.from_terminal, row.to_item, row.to_terminal) == (wire.a.item, wire.a.name, wire.b.item, wire.b.name)
        assert row.net == build.by_net[wire.net].name
        assert row.colour_word
    bought = [row for row in parts_list(build) if row.group == "wire"]
    assert sum(row.quantity for row in bought) == pytest.approx(
        sum(w.length_m for w in build.wires) * (1 + RESERVE), abs=0.005 * len(bought) + 1e-6
    )
    assert sorted(int(n) for row in bought for n in row.designators.split(", ")) == [wire.number for wire in build.wires]


# ------------------------------------------------------------------------------ parts


@pytest.mark.parametrize("name", ["bakery-proofer", "delivery-hatch", "flour-silo", "oven-wall"])
def test_everything_of_the_build_is_in_the_parts_list_once(name: str):
    build = built(name)
    listed = [ref for row in parts_list(build) if row.group in ("part", "component", "supply") for ref in row.designators.split(", ")]
    assert sorted(listed) == sorted(item.ref for item in build.items if item.kind in ("part", "component", "supply"))
    components = [row for row in parts_list(build) if row.group == "component"]
    assert sum(row.quantity for row in components) == sum(item.kind == "component" for item in build.items)


LAMP = """title = "lamp"
[board]
only = ["raspberry-pi-pico"]
{own}
[stock]
resistors = [{ohms}]
parts = ["npn-2n2222a", "npn-bc547"]
[[part]]
name = "lamp"
kind = "led-red"
count = 2
[[part]]
name = "key"
kind = "push-button-momentary"
wire = "2 m"
"""


def test_what_is_at_hand_is_not_bought():
    build = of_text(LAMP.format(own='own = ["raspberry-pi-pico"]', ohms='"470", "10k"'), prices=True)
    rows = parts_list(build)
    board = rows[0]
    assert (board.group, board.in_stock, board.to_buy, board.sum) == ("board", True, 0.0, 0.0)
    resistors = [row for row in rows if row.what == "resistor"]
    assert resistors
    for row in resistors:
        assert row.in_stock is (row.origin == "stock")
        assert row.to_buy == (0.0 if row.in_stock else row.quantity)


def test_prices_add_up_and_what_has_none_is_named():
    build = of_text(LAMP.format(own="", ohms=""), prices=True)
    rows = parts_list(build)
    total = total_of(rows, True)
    bought = sum(row.to_buy for row in rows if row.what == "resistor")
    assert total.sums == {"EUR": pytest.approx(4.5 + 0.02 * bought)}  # the invented price list: board and resistors
    assert "Indicator LED 5 mm, red" in total.unpriced
    assert not any(words.startswith("resistor") for words in total.unpriced)
    last = read_csv(parts_csv(rows, total))[-1]
    assert (last["group"], float(last["sum"]), last["currency"]) == ("total", pytest.approx(total.sums["EUR"]), "EUR")


def test_without_a_price_list_nothing_is_said_to_cost_nothing():
    build = built("delivery-hatch")
    rows = parts_list(build)
    assert all(row.price is None and row.sum is None for row in rows)
    assert total_of(rows, False).words == "No price list was given."
    assert build.plan.view.board.name in total_of(rows, False).unpriced


def test_values_are_written_as_people_and_resistors_do():
    rows = {row.value: row for row in parts_list(built("flour-silo")) if row.what == "resistor"}
    assert rows["4.7 kΩ"].marking == "4K7"  # IEC 60062
    assert (rows["4.7 kΩ"].preferred, rows["4.7 kΩ"].series) == ("4.7 kΩ", "E6")  # IEC 60063: 47 is a member of E6
    assert rows["8.2 kΩ"].series == "E12"
    assert rows["8.2 kΩ"].rating == "1 %"


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_names_run_nothing_and_break_no_line(name: str):
    quoted = "".join(f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}" for c in name)[:1200]
    text = f'title = "{quoted}"\n[board]\nonly = ["raspberry-pi-pico"]\n[[part]]\nname = "{quoted}"\nkind = "led-red"\nwire = "1 m"\n'
    build = of_text(text)
    rows = parts_list(build)
    for written in (wire_csv(wire_list(build)), parts_csv(rows, total_of(rows, False))):
        read = list(csv.reader(io.StringIO(written, newline=""), strict=True))
        assert len({len(row) for row in read}) == 1
        assert len(read) == written.count("\r\n")
        assert not any(runs(part) for row in read for cell in row for part in cell.split(";"))
    ends = {row["to_item"] for row in read_csv(wire_csv(wire_list(build)))}
    assert {plain_words(item.ref) for item in build.items if item.kind == "part"} <= ends
