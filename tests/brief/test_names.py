"""Names are the maker's own: anything but nothing is taken, and none of it disturbs a message."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.brief.reader import parse_brief
from pinwright.errors import Fault, InputError
from pinwright.facts.loader import Catalogue

Read = Callable[[str], list[Fault]]

HOSTILE = [
    'it\'s "quoted" `twice`',
    "<script>alert(1)</script>",
    "[bold red]name[/]",
    "{{ 7 * 7 }} {% raw %} ${x} %s {0}",
    "two\nlines\r\nand\ttabs",
    "\x1b[31mred\x1b[0m \x07",
    "🪴 plant 👩‍🌾",
    "\u202egpj.exe\u202c",
    "اسم עברית",
    "../../etc/passwd",
    "C:\\pump",
    "a.b[0]",
    " ",
    "e\u0301" * 100,
    "x" * 200,
    "𝒳" * 200,
    "-->",
    "\u0000",
    "\ufeff",
    "None",
]


def brief(name: str) -> str:
    quoted = json.dumps(name, ensure_ascii=False).replace("\x7f", "\\u007f")
    return (
        f"title = {quoted}\n[[part]]\nname = {quoted}\n[[part.line]]\nname = {quoted}\ndirection = 'out'\nsignal = 'digital'\n"
        f"[[part]]\nname = 'other'\nkind = 'bme280'\n"
    )


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_hostile_names_are_taken_as_they_are(name: str, catalogue: Catalogue) -> None:
    read = parse_brief(brief(name), "tank.toml", catalogue)
    assert (read.brief.title, read.brief.part[0].name, read.brief.part[0].line[0].name) == (name, name, name)


@settings(deadline=None)
@given(name=st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=200))
def test_any_text_is_a_name(name: str, catalogue: Catalogue) -> None:
    assert parse_brief(brief(name), "tank.toml", catalogue).brief.part[0].name == name


@pytest.mark.parametrize(
    ("name", "wrong"), [("", "'' does not fit: it must not be empty."), ("x" * 201, f"'{'x' * 59}…' does not fit: at most 200 characters.")]
)
def test_nothing_and_too_much_are_refused(name: str, wrong: str, faults: Read) -> None:
    assert [(fault.line, fault.key, fault.wrong) for fault in faults(brief(name))] == [
        (1, "title", wrong),
        (3, "part[0].name", wrong),
        (5, "part[0].line[0].name", wrong),
    ]


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_messages_about_hostile_names_stay_on_their_lines(name: str, faults: Read) -> None:
    quoted = json.dumps(name, ensure_ascii=False)
    text = (
        f"title = 'x'\n[board]\nonly = [{quoted}]\nbudget = {quoted}\n[supply]\nvoltage = {quoted}\n"
        f"[[part]]\nname = {quoted}\nkind = {quoted}\n{quoted} = 1\n"
        f"[[part]]\nname = {quoted}\nkind = 'bme280'\nconnect = [{quoted}]\naddress = {quoted}\npower_up = {quoted}\n"
        f"pins = {{ {quoted} = {quoted} }}\n"
        f"[part.change.{quoted}]\npull = {quoted}\n"
    )
    found = faults(text)
    assert len(found) >= 10
    for fault in found:
        assert str(fault).count("\n") == 1
        assert str(fault).replace("\n", "").isprintable()
        assert len(fault.wrong) < 400


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_lists_of_hostile_line_names_stay_on_their_lines(name: str, faults: Read) -> None:
    quoted = json.dumps(name, ensure_ascii=False)
    found = faults(
        f"title = 'x'\n[[part]]\nname = 'own'\nconnect = ['xxxxxxxxx']\n[[part.line]]\nname = {quoted}\ndirection = 'out'\n"
        f"signal = 'digital'\n"
    )
    assert [fault.key for fault in found] == ["part[0].connect[0]"]
    assert str(found[0]).count("\n") == 1
    assert str(found[0]).replace("\n", "").isprintable()


def test_names_that_differ_only_in_case_or_accent_are_two_names(catalogue: Catalogue) -> None:
    text = "title = 'x'\n" + "".join(f"[[part]]\nname = {json.dumps(name)}\nkind = 'bme280'\n" for name in ("é", "e\u0301", "É", "e"))
    assert len(parse_brief(text, "tank.toml", catalogue).brief.part) == 4


def test_a_surrogate_is_no_text(catalogue: Catalogue) -> None:
    with pytest.raises(InputError, match="This is not UTF-8 text"):
        parse_brief("title = '\ud800'", "tank.toml", catalogue)


def test_a_name_may_not_look_like_a_line_of_another_part(catalogue: Catalogue) -> None:
    text = 'title = "t"\n' + "".join(f'[[part]]\nname = "{name}"\nkind = "push-button-momentary"\n' for name in ("a", "a.b", "c.d"))
    with pytest.raises(InputError) as caught:
        parse_brief(text, "dots.toml", catalogue)
    assert [str(fault) for fault in caught.value.faults] == [
        "dots.toml:6  part[1].name\n    'a.b' begins with the name of another part and a dot. Leave the dot out."
    ]
