"""What is no TOML, no text or no file: one fault in plain words, with its line; never a traceback."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from pinwright.brief.reader import parse_brief, read_brief
from pinwright.errors import Fault, InputError
from pinwright.facts.loader import Catalogue

Read = Callable[[str], list[Fault]]

QUOTES = 'Texts and quantities stand in quotes, like "2 m".'


@pytest.mark.parametrize(
    ("text", "line", "wrong", "right"),
    [
        ("\nwire = 2 m", 2, "at column 10: something follows where the line should end", QUOTES),
        ("title = Aquarium", 1, "at column 9: there is no value here", QUOTES),
        ("title =", 1, ": there is no value here", QUOTES),
        ("a = tru", 1, "at column 5: there is no value here", QUOTES),
        ("= 3", 1, "at column 1: a key or a [table] is wanted here", ""),
        ("a = 1 b = 2", 1, "at column 7: something follows where the line should end", QUOTES),
        ("a = 2024-13-01", 1, "at column 9: something follows where the line should end", QUOTES),
        ("a = 2024-02-30", 1, "at column 5: there is no such date or time", QUOTES),
        ("a\nb = 1", 1, "at column 2: = is missing after the key", ""),
        ("a. = 1", 1, "at column 4: no key can begin like this", "Keys with signs in them stand in quotes."),
        ('title = "x\ny = 1', 1, "at column 11: a text has no closing quote on its line", ""),
        ("title = 'x\ny = 'z'", 1, "at column 11: a text has no closing quote on its line", ""),
        ("a = 'b'\ntitle = 'x\ny = 1\nz = 1\n", 2, ": a text has no closing quote", ""),
        ("a = '''it's\n'''\ntitle = 'x\ny = 1\n", 3, ": a text has no closing quote", ""),
        ('title = "x', 1, ": a text has no closing quote", ""),
        ("title = 'x", 1, ": a text has no closing quote", ""),
        ('a = """x\n\ny', 3, ": a text has no closing quote", ""),
        ("a = '''x\n\ny", 3, ": a text has no closing quote", ""),
        (r'a = "C:\dir"', 1, "at column 10: a backslash in a text must be doubled", "Write \\\\, or use single quotes."),
        (r'a = "\u12"', 1, "at column 8: the code after the backslash is no character", ""),
        (r'a = "\ud800"', 1, "at column 12: the code after the backslash is no character", ""),
        ('a = "x\x00y"', 1, "at column 7: there is a character here that no text may hold", "Delete it."),
        ("# \x00", 1, "at column 3: there is a character here that no text may hold", "Delete it."),
        ("\x00", 1, "at column 1: a key or a [table] is wanted here", ""),
        ("a = 1\r\nb = 1\r\nc", 3, ": = is missing after the key", ""),
        ("a = [1,\n2", 2, ": a comma or the closing ] of a list is missing", ""),
        ("a = [1 2]", 1, "at column 8: a comma or the closing ] of a list is missing", ""),
        ("a = { b = 1", 1, ": a comma or the closing } is missing", ""),
        ("a = 1\n\na = 2", 3, ": this key is already given above", "Keep one of them."),
        ("a = { b = 1, b = 2 }", 1, "at column 19: this key is already given above", "Keep one of them."),
        ("[a", 1, ": ] is missing after the name", ""),
        ("[[a]", 1, "at column 4: ]] is missing after the name", ""),
        ("[supply]\n[supply]", 2, "at column 8: the table supply is already given above", "Put all its keys in one place."),
        ("a = {}\n[a.b]", 2, "at column 5: the table a.b is already given above", "Put all its keys in one place."),
        ("[part]\n[part]", 2, "at column 6: [part] stands twice", "Write [[part]], with two brackets, for each of them."),
        (
            "[[part]]\n[part.line]\n[part.line]",
            3,
            "at column 11: [part.line] stands twice",
            "Write [[part.line]], with two brackets, for each of them.",
        ),
    ],
)
def test_syntax(text: str, line: int, wrong: str, right: str, faults: Read) -> None:
    found = faults(text)
    assert [(fault.line, fault.right) for fault in found] == [(line, right)]
    joint = "" if wrong.startswith(":") else " "
    if sys.version_info < (3, 14):  # columns and places of newer parsers may differ
        assert found[0].wrong == f"This is not valid TOML{joint}{wrong}."


@pytest.mark.parametrize(
    ("text", "line", "wrong"),
    [
        (f"\ncount = {'9' * 5000}", 2, "This number is too long."),
        (f"a = 1{'_0' * 3000}", 1, "This number is too long."),
        ("a = " + "[" * 5000, None, "This is not usable TOML: its brackets are nested too deep."),
        ("a = " + "{a=" * 5000, None, "This is not usable TOML: its brackets are nested too deep."),
        ("\n\n" + ".".join("a" * 5000) + " = 1", 3, "This key has too many parts between its dots."),
        ("[" + " . ".join(['"a b"'] * 5000) + "]", 1, "This key has too many parts between its dots."),
        ("a = 1\nb = '\udc80'", 2, "This is not UTF-8 text."),
        ("#" * 1_000_001, None, "This file has 1000001 characters; at most 1000000 are read."),
    ],
    ids=["digits", "underscores", "lists", "tables", "dots", "quoted dots", "surrogate", "size"],
)
def test_monsters(text: str, line: int | None, wrong: str, faults: Read) -> None:
    assert [(fault.line, fault.wrong) for fault in faults(text)] == [(line, wrong)]


@pytest.mark.parametrize("depth", [*range(5, 100, 19), *range(200, 520, 7)])
def test_any_depth_of_brackets(depth: int, faults: Read) -> None:
    """Around the depth the parser gives up at there is no gap in which something else fails."""
    assert faults(f"title = 'x'\na = {'[' * depth}{']' * depth}")
    assert faults(f"title = 'x'\na = {'{a=' * depth}1{'}' * depth}")


def test_no_python_in_any_syntax_fault(faults: Read) -> None:
    for text in ("[supply]\n[supply]", "a = {}\n[a.b]", "a={b=1,b=2}", "a = 1\na = 2", "[part]\n[part]"):
        assert not {"(", "'"} & set(faults(text)[0].wrong.partition(":")[2])


# ------------------------------------------------------------------------------ files


def test_a_healthy_file_with_byte_order_mark_and_windows_line_ends(tmp_path: Path, catalogue: Catalogue, healthy: dict[str, str]) -> None:
    for name, text in healthy.items():
        plain = parse_brief(text, name, catalogue)
        path = tmp_path / f"{name}.toml"
        path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
        read = read_brief(path, catalogue)
        assert read.brief == plain.brief
        assert read.name == f"{name}.toml"
        assert read.place("part", 0, "name") == f"{name}.toml:{plain.lines.line(('part', 0, 'name'))}"


def test_place_without_a_line(catalogue: Catalogue, healthy: dict[str, str]) -> None:
    assert parse_brief(healthy["one-lamp"], "lamp.toml", catalogue).place("use", "radio") == "lamp.toml"


def unreadable(path: Path, catalogue: Catalogue) -> Fault:
    with pytest.raises(InputError) as caught:
        read_brief(path, catalogue)
    assert len(caught.value.faults) == 1
    return caught.value.faults[0]


def test_missing_file(tmp_path: Path, catalogue: Catalogue) -> None:
    path = tmp_path / "nowhere.toml"
    assert str(unreadable(path, catalogue)) == f"{path}\n    Cannot be read: No such file or directory."


def test_folder(tmp_path: Path, catalogue: Catalogue) -> None:
    assert str(unreadable(tmp_path, catalogue)) == f"{tmp_path}\n    Cannot be read: Is a directory."


def test_impossible_file_name(catalogue: Catalogue) -> None:
    assert unreadable(Path("a\0b"), catalogue).wrong == "Cannot be read: there is no such file name."


@pytest.mark.parametrize(
    ("data", "line", "byte"),
    [(b"title = 'x'\nb = '\xff'", 2, 17), ("title = 'ü'".encode("latin-1"), 1, 9), ("title = 'x'".encode("utf-16"), 1, 0)],
)
def test_not_utf8(data: bytes, line: int, byte: int, tmp_path: Path, catalogue: Catalogue) -> None:
    path = tmp_path / "tank.toml"
    path.write_bytes(data)
    assert str(unreadable(path, catalogue)) == f"tank.toml:{line}\n    This is not UTF-8 text (byte {byte}). Save it as UTF-8."
