"""Lines of TOML values: every construct by hand, generated documents against two other TOML libraries."""

from __future__ import annotations

import itertools
import json
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
import tomli_w
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.toml_lines import scan_lines

calm = settings(deadline=None)

DOCUMENT = '''\
# [no.header] = 0
title = "x"                # [[part]]
dotted.key.deep = 1
"quoted key" = 2
'single "quoted"'."inner.dot" = 3
"esc\\"aped" = 4
bare-key_9 = 2020-01-02 03:04:05

inline = { a = 1, b.c = [1, 2], "d e" = { f = "}" } }
nested = [
  [1, 2],   # ] not the end
  # , nor this
  [3,
   4],
  { a = "]", b = [
    5,
  ] },
]
text = """
[fake]
fake = 1
\\"""
"""
after = """one"" """
quotes = """ends in two"""""
literal = \'\'\'
it's \\
\'\'\'\'
path = 'C:\\'
last = true

[ supply . "more" ]  # ]
volts = 5

[[part]]
name = "first"
  [part.change.X]
  pull = "up"
  [[part.line]]
  name = "A"
  [[part.line]]
  name = "B"
    [part.line.extra]
    deep = 1

[[ part ]]
name = "second"
pins = { SDA = "GP4" }
[part.change."Y[0]"]
pull = "down"
[["a]b"]]
[["a]b"]]
c = 1
[part.change."Y[0]".sub]
'''


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (("title",), 'title = "x"'),
        (("dotted",), "dotted.key.deep"),
        (("dotted", "key"), "dotted.key.deep"),
        (("dotted", "key", "deep"), "dotted.key.deep"),
        (("quoted key",), '"quoted key"'),
        (('single "quoted"', "inner.dot"), '"inner.dot"'),
        (('esc"aped',), "= 4"),
        (("bare-key_9",), "bare-key_9"),
        (("inline", "a"), "inline"),
        (("inline", "b", "c", 1), "inline"),
        (("inline", "d e", "f"), "inline"),
        (("nested",), "nested = ["),
        (("nested", 0), "[1, 2],"),
        (("nested", 0, 1), "[1, 2],"),
        (("nested", 1), "[3,"),
        (("nested", 1, 1), "4],"),
        (("nested", 2, "a"), '{ a = "]"'),
        (("nested", 2, "b", 0), "5,"),
        (("text",), 'text = """'),
        (("after",), "after ="),
        (("quotes",), "quotes ="),
        (("literal",), "literal ="),
        (("path",), "path ="),
        (("last",), "last ="),
        (("supply",), "[ supply"),
        (("supply", "more"), "[ supply"),
        (("supply", "more", "volts"), "volts = 5"),
        (("part",), "[[part]]"),
        (("part", 0), "[[part]]"),
        (("part", 0, "name"), '"first"'),
        (("part", 0, "change"), "[part.change.X]"),
        (("part", 0, "change", "X"), "[part.change.X]"),
        (("part", 0, "change", "X", "pull"), 'pull = "up"'),
        (("part", 0, "line"), "[[part.line]]"),
        (("part", 0, "line", 0, "name"), 'name = "A"'),
        (("part", 0, "line", 1, "name"), 'name = "B"'),
        (("part", 0, "line", 1, "extra"), "[part.line.extra]"),
        (("part", 0, "line", 1, "extra", "deep"), "deep = 1"),
        (("part", 1), "[[ part ]]"),
        (("part", 1, "name"), '"second"'),
        (("part", 1, "pins", "SDA"), "pins ="),
        (("part", 1, "change", "Y[0]"), '[part.change."Y[0]"]'),
        (("part", 1, "change", "Y[0]", "pull"), 'pull = "down"'),
        (("part", 1, "change", "Y[0]", "sub"), ".sub]"),
        (("a]b", 1, "c"), "c = 1"),
    ],
)
def test_every_construct(path: tuple[str | int, ...], words: str) -> None:
    tomllib.loads(DOCUMENT)
    line = scan_lines(DOCUMENT).line(path)
    assert line is not None
    assert words in DOCUMENT.split("\n")[line - 1]


def test_a_missing_value_has_the_line_of_what_encloses_it() -> None:
    lines = scan_lines('a = 1\n[[part]]\nname = "x"\n')
    assert lines.line(("part", 0, "wire")) == 2
    assert lines.line(("part", 7, "wire")) == 2
    assert lines.line(("part", 0, "name", "deeper", 3)) == 3
    assert lines.line(("nothing",)) is None
    assert lines.line(()) is None


def test_first_place_counts_for_a_table_written_in_pieces() -> None:
    lines = scan_lines("[a.b]\nc = 1\n[a]\nd = 1\n")
    assert (lines.line(("a",)), lines.line(("a", "b")), lines.line(("a", "d"))) == (1, 1, 4)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends(end: str) -> None:
    text = end.join(["a = 1", 'b = """x', 'y"""', "[t]", "c = [", "1,", "2]", "# end"])
    lines = scan_lines(text)
    assert [lines.line(path) for path in (("a",), ("b",), ("t",), ("t", "c"), ("t", "c", 1))] == [1, 2, 4, 5, 7]


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment", "a=1", "a=[]", "a={}", "a=''", 'a=""', "a=''''''", 'a=""""""'])
def test_small_documents(text: str) -> None:
    assert scan_lines(text).line(("a",)) == (1 if "=" in text else None)


# ------------------------------------------------------------------------------ generated documents

odd_keys = st.sampled_from(["a", "b-c", "d_1", "e.f", "[g]", "#", '"'])
keys = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=6) | odd_keys
part_values = st.dictionaries(st.sampled_from(["name", "kind", "wire"]), st.integers(0, 9), min_size=1)
scalars = (
    st.integers(-(2**63), 2**63 - 1)
    | st.booleans()
    | st.floats(allow_nan=False)
    | st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
    | st.sampled_from(['"""', "'''", "a\nb", "]", "}", "# no", "\\", "x = 1", "\n[t]\n"])
)
values = st.recursive(scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3), max_leaves=12)
documents = st.dictionaries(keys, values, max_size=5)


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Paths of everything in a document."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from leaves(inner, (*path, index))


def numbered(value: Any, counter: Iterator[int]) -> Any:
    """The document with every value replaced by a text that occurs once, so that its line can be found by searching."""
    if isinstance(value, dict):
        return {key: numbered(inner, counter) for key, inner in value.items()}
    if isinstance(value, list):
        return [numbered(inner, counter) for inner in value]
    return f"value-{next(counter)}-end"


def at(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def check_scalars(text: str, data: dict[str, Any]) -> None:
    """The line noted for each scalar really holds that scalar (all scalars are texts that occur once)."""
    rows = text.split("\n")
    lines = scan_lines(text)
    for path in leaves(data):
        value = at(data, path)
        if isinstance(value, str):
            line = lines.line(path)
            assert line is not None
            assert value in rows[line - 1], (path, line)


def counter() -> Iterator[int]:
    number = 0
    while True:
        yield number
        number += 1


@calm
@given(documents)
def test_the_line_holds_the_value_written_by_tomli_w_oracle(document: dict[str, Any]) -> None:
    data = numbered(document, counter())
    text = tomli_w.dumps(data)
    assert tomllib.loads(text) == data
    check_scalars(text, data)


@calm
@given(documents)
def test_the_line_holds_the_value_written_by_tomlkit_oracle(document: dict[str, Any]) -> None:
    data = numbered(document, counter())
    text = tomlkit.dumps(data)
    try:
        same = tomllib.loads(text) == data
    except tomllib.TOMLDecodeError:
        same = False
    if same:  # tomlkit writes some odd keys wrongly; then there is nothing to compare
        check_scalars(text, data)


@calm
@given(documents, st.booleans())
def test_any_values_are_skipped_over(document: dict[str, Any], multiline: bool) -> None:
    """A mark after a document of arbitrary values is found on the last line: nothing before it confused the scanner."""
    text = tomli_w.dumps({"before": document, "list": [document]}, multiline_strings=multiline).replace("\r", "\\r")
    text += '\n["the very last"]\nmark = 1'
    try:
        parsed = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # a carriage return outside a basic string
    assert scan_lines(text).line(("the very last", "mark")) == text.count("\n") + 1
    lines = scan_lines(text)
    for path in leaves(parsed):
        assert lines.line(path) is not None


@calm
@given(documents)
def test_every_key_of_a_generated_document_is_on_its_line(document: dict[str, Any]) -> None:
    """Each key written as ``key =`` stands on the line noted for it, in the order of the file."""
    text = tomli_w.dumps(document)
    parsed, lines, rows = tomllib.loads(text), scan_lines(text), text.split("\n")
    for path in leaves(parsed):
        line = lines.line(path)
        assert line is not None
        key = path[-1]
        if isinstance(key, str) and key.isascii() and key.isalnum():
            assert key in rows[line - 1], (path, line)


@calm
@given(st.lists(part_values, min_size=1, max_size=6), st.data())
def test_arrays_of_tables_with_sub_tables(parts: list[dict[str, int]], data: st.DataObject) -> None:
    """Parts with [part.change.X] and [[part.line]] in any number, blank lines and comments between."""
    rows: list[str] = []
    expected: dict[tuple[str | int, ...], int] = {}

    def write(row: str, *path: str | int) -> None:
        rows.extend(["", "# [[part]]", "   "][: data.draw(st.integers(0, 3))])
        rows.append(row)
        expected[path] = len(rows)

    for i, part in enumerate(parts):
        write("[[part]]", "part", i)
        for key, value in part.items():
            write(f"{key} = {value}", "part", i, key)
        for name in data.draw(st.lists(st.sampled_from(["X", "Y.1", "Z Z"]), unique=True)):
            write(f"[part.change.{json.dumps(name)}]", "part", i, "change", name)
            write("pull = 1", "part", i, "change", name, "pull")
        for j in range(data.draw(st.integers(0, 3))):
            write("  [[part.line]]", "part", i, "line", j)
            write('  name = "n"', "part", i, "line", j, "name")
    text = "\n".join(rows)
    tomllib.loads(text)
    lines = scan_lines(text)
    assert {path: lines.line(path) for path in expected} == expected


# ------------------------------------------------------------------------------ never stuck


def scanned(text: str) -> bool:
    """Whether the scanner came to the end: it is for text the parser has accepted and may fail on any other."""
    try:
        scan_lines(text)
    except (tomllib.TOMLDecodeError, IndexError, StopIteration):
        return False
    return True


def accepted(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


@pytest.mark.parametrize(
    "text", ["a=[}", "a=[[}]]", "a={}}", "a={b=}", "[[}", "a=[#", 'a="\\\\', "a='''", "[", "]", "a=}\nb=1", "a={=", "a=[=]"]
)
def test_it_ends_on_nonsense(text: str) -> None:
    # the first two once kept it busy for ever
    scanned(text)
    assert not accepted(text)


def test_it_ends_on_every_short_text() -> None:
    for length in range(6):
        for signs in itertools.product('[]{},="a\n'[: 9 if length < 5 else 7], repeat=length):
            text = "".join(signs)
            assert scanned(text) or not accepted(text)
            scanned(f"a={text}")


@calm
@given(st.text("[]{}\"'=.,#\\ \nab1", max_size=40))
def test_it_ends_on_any_text(text: str) -> None:
    assert scanned(text) or not accepted(text)
    scanned(f"a = [{text}")
    scanned(f"a = {{{text}")
