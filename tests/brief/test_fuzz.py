"""Thousands of broken briefs: each is read or refused in plain words, and nothing else ever happens."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from pinwright.brief.reader import parse_brief, read_brief
from pinwright.errors import InputError
from pinwright.facts.loader import Catalogue

SEED = 20261125
CASES = 3000
FILE = "tank.toml"

VALUES = (
    "1", "-1", "0", "2.5", "true", "false", '""', '"x"', "'2 m'", "[]", "[[]]", "{}", "{ a = 1 }", "[1, 'x', {}]", "nan", "-inf",
    "1e400", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", "0x7F", "9223372036854775808", "9" * 400, "9" * 5000, "0x" + "F" * 2000,
    "0o777", "1_0", '"""a\nb"""', "'''\n'''", '"\\u0000"', '"\\uFFFF"', '"🪴"', '"' + "x" * 300 + '"', "[" * 600,
    "[" * 200 + "]" * 200, "{a=" * 90 + "1" + "}" * 90,
    '"NaN"', '"1e999 V"', '"4k7"', '"0x76"', '"wifi"', "['wifi', 'wifi']", '["2 kHz", "1 kHz"]', '"none"', '"raspberry-pi-pico"',
)  # fmt: skip
KEYS = (
    "title", "part", "supply", "use", "board", "line", "change", "pins", "kind", "name", "address", "wire", "pwm", "role", "signal", "''",
    '"a\\nb"', '"\\u202e"', "a.b", "part.x", "x" * 300,
)  # fmt: skip
HEADERS = (
    "[part]", "[[part]]", "[[part.line]]", "[part.line]", "[part.change.X]", "[[part.change]]", "[supply]", "[[supply]]", "[use.radio]",
    "[board.only]", "[[board]]", "[part.pins]", "[part.wires]", "[title]", "[[title]]", "[]", "[[]]", "[a", "[a.b.c.d]", "[part.line.x]",
)  # fmt: skip
SCRAPS = (
    "\x00",
    "\ufeff",
    "\r",
    "\r\n",
    "\u2028",
    "\x7f",
    "'",
    '"',
    '"""',
    "'''",
    "\\",
    "#",
    "=",
    "[",
    "]",
    "{",
    "}",
    ",",
    ".",
    "\x1b[0m",
    "\udcff",
)

Change = Callable[[random.Random, str], str]


def flip(rng: random.Random, text: str) -> str:
    """Turn bits of the bytes over; what is no UTF-8 any more arrives as it would from a careless caller."""
    data = bytearray(text.encode("utf-8", "surrogateescape"))
    for _ in range(rng.randint(1, 4)):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return bytes(data).decode("utf-8", "surrogateescape")


def latin(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text))
    return (text[:at] + "ü§" + text[at:]).encode("latin-1", "replace").decode("utf-8", "surrogateescape")


def of_lines(change: Callable[[random.Random, list[str]], None]) -> Change:
    def changed(rng: random.Random, text: str) -> str:
        rows = text.split("\n")
        change(rng, rows)
        return "\n".join(rows)

    return changed


def swap(rng: random.Random, rows: list[str]) -> None:
    i, j = rng.randrange(len(rows)), rng.randrange(len(rows))
    rows[i], rows[j] = rows[j], rows[i]


def delete(rng: random.Random, rows: list[str]) -> None:
    if len(rows) > 1:
        del rows[rng.randrange(len(rows))]


def double(rng: random.Random, rows: list[str]) -> None:
    rows.insert(rng.randrange(len(rows)), rng.choice(rows))


def header(rng: random.Random, rows: list[str]) -> None:
    rows.insert(rng.randrange(len(rows)), rng.choice(HEADERS))


def pair(rng: random.Random, rows: list[str]) -> None:
    rows.insert(rng.randrange(len(rows)), f"{rng.choice(KEYS)} = {rng.choice(VALUES)}")


def value(rng: random.Random, rows: list[str]) -> None:
    """Another value for a key that is there: mostly of the wrong kind."""
    with_value = [i for i, row in enumerate(rows) if "=" in row]
    if with_value:
        i = rng.choice(with_value)
        rows[i] = f"{rows[i].split('=')[0]}= {rng.choice(VALUES)}"


def token(rng: random.Random, text: str) -> str:
    """One word for another, out of the same brief."""
    words = list(re.finditer(r"[\w.-]+", text))
    if len(words) < 2:
        return text
    old, new = rng.choice(words), rng.choice(words)
    return text[: old.start()] + new[0] + text[old.end() :]


def misspell(rng: random.Random, text: str) -> str:
    """Drop or double a letter."""
    letters = [i for i, char in enumerate(text) if char.isalnum()]
    if not letters:
        return text
    at = rng.choice(letters)
    return text[:at] + rng.choice(["", text[at] * 2]) + text[at + 1 :]


def scrap(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(SCRAPS) + text[at:]


def cut(rng: random.Random, text: str) -> str:
    return text[: rng.randrange(len(text) + 1)]


def ends(rng: random.Random, text: str) -> str:
    return rng.choice(["\ufeff", "\ufeff\ufeff", ""]) + text.replace("\n", rng.choice(["\r\n", "\r", "\n\r"]))


CHANGES: tuple[Change, ...] = (
    flip, latin, token, token, misspell, misspell, scrap, cut, ends, of_lines(swap), of_lines(delete), of_lines(double), of_lines(header),
    of_lines(pair), of_lines(pair), of_lines(value), of_lines(value), of_lines(value), of_lines(value),
)  # fmt: skip
MACHINERY = re.compile(
    r"pydantic|input should|value error|extra inputs|validation|nonetype|traceback|\btuple|\bdict\b|\bstr\b|\bint\b|\bbool\b"
    r"|<class|object at 0x|unhashable|recursion|set_int_max|codec|datetime\.|namespace|finite_number|surrogate",
    re.IGNORECASE,
)


def broken(rng: random.Random, texts: list[str]) -> str:
    text = rng.choice(texts)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        text = rng.choice(CHANGES)(rng, text) or "\n"
    return text


def check(error: InputError, text: str) -> None:
    last = text.count("\n") + 1
    assert error.faults
    places = [fault.line or 0 for fault in error.faults]
    assert places == sorted(places)
    assert len({(fault.line, fault.key, fault.wrong) for fault in error.faults}) == len(error.faults)
    for fault in error.faults:
        shown = str(fault).split("\n")
        assert len(shown) == 2, shown
        assert shown[0].startswith(FILE)
        assert all(row.isprintable() for row in shown), shown
        assert fault.wrong.endswith("."), fault.wrong
        assert len(shown[1]) < 1500, shown
        if fault.line is None:
            assert "nested too deep" in fault.wrong, fault
        else:
            assert 1 <= fault.line <= last
        said = re.sub(r"'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\"", "", f"{fault.wrong} {fault.right}")  # not what it quotes
        assert not MACHINERY.search(said), said


@pytest.mark.parametrize("block", range(10))
def test_only_input_errors(block: int, catalogue: Catalogue, healthy: dict[str, str]) -> None:
    rng = random.Random(SEED + block)
    outcomes: Counter[str] = Counter()
    for number in range(CASES // 10):
        text = broken(rng, list(healthy.values()))
        try:
            parse_brief(text, FILE, catalogue)
            outcomes["read"] += 1
        except InputError as error:
            check(error, text)
            outcomes["refused"] += 1
        except Exception as error:
            raise AssertionError(f"block {block}, case {number}: {error!r}\n{text}") from error
    # Both happen, or the changes are too weak or too strong to say anything.
    assert outcomes["read"] > 10
    assert outcomes["refused"] > 100


def test_same_faults_every_time(catalogue: Catalogue, healthy: dict[str, str]) -> None:
    rng = random.Random(SEED)
    for _ in range(100):
        text = broken(rng, list(healthy.values()))
        said = []
        for _ in range(2):
            try:
                parse_brief(text, FILE, catalogue)
                said.append("")
            except InputError as error:
                said.append(str(error))
        assert said[0] == said[1]


def test_only_input_errors_from_bytes(tmp_path: Path, catalogue: Catalogue, healthy: dict[str, str]) -> None:
    rng = random.Random(SEED)
    path = tmp_path / FILE
    for _ in range(300):
        data = bytearray(rng.choice(list(healthy.values())).encode(rng.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-32"])))
        for _ in range(rng.randint(0, 5)):
            data[rng.randrange(len(data))] = rng.randrange(256)
        path.write_bytes(data)
        try:
            read_brief(path, catalogue)
        except InputError as error:
            check(error, data.decode("utf-8", "replace"))
