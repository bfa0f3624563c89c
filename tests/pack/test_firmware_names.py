"""Names of a brief in source code: whatever they are, identifiers are valid and unique, comments and strings end where they should."""

from __future__ import annotations

import ast
import keyword
import re
import tokenize
from io import BytesIO

from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.pack.firmware.names import RESERVED, Namer, c_comment, c_string, cut, plain, python_comment, python_string

TEXTS = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=200)
HIDDEN = re.compile("[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]")
"""Controls, line ends, what joins or turns the reading order  [Unicode 15, general categories Cc, Cf, Zl, Zp]."""
C_KEYWORDS = {"int", "class", "register", "asm", "union", "volatile", "new", "delete", "template", "xor", "default"}


@settings(deadline=None, max_examples=300)
@given(st.lists(st.tuples(TEXTS, TEXTS), min_size=1, max_size=8))
def test_identifiers_are_valid_and_unique_in_every_language(names: list[tuple[str, str]]) -> None:
    namer = Namer()
    given_names = [namer.constant(*words) for words in names]
    lower = [name.lower() for name in given_names]
    assert len(set(lower)) == len(lower)
    for name in given_names:
        assert re.fullmatch(r"[A-Z][A-Z0-9_]*", name)  # ISO/IEC 9899, 6.4.2.1, and no name reserved to the implementation
        assert "__" not in name
        assert len(name) <= 36
        assert name.lower() not in RESERVED
        assert not keyword.iskeyword(name.lower())
        assert name.lower() not in C_KEYWORDS


def test_keywords_of_both_languages_are_reserved() -> None:
    assert set(keyword.kwlist) <= {word for word in keyword.kwlist if word.casefold() in RESERVED}
    assert C_KEYWORDS <= RESERVED
    assert {"print", "input", "self_test", "high", "led_builtin", "a0"} <= RESERVED


@settings(deadline=None, max_examples=300)
@given(TEXTS)
def test_python_comments_hide_nothing_and_stay_comments(text: str) -> None:
    lines = python_comment(text, 60, "    ")
    assert all(line.startswith("    # ") and len(line) <= 60 for line in lines)
    source = "\n".join(lines) + "\n"
    assert not HIDDEN.search(source.replace("\n", ""))
    kinds = {token.type for token in tokenize.tokenize(BytesIO(source.encode()).readline)}
    assert kinds <= {tokenize.ENCODING, tokenize.COMMENT, tokenize.NL, tokenize.ENDMARKER, tokenize.NEWLINE}


@settings(deadline=None, max_examples=300)
@given(TEXTS)
def test_c_comments_stay_comments(text: str) -> None:
    """No line goes on on the next: neither by a backslash nor by its trigraph  [ISO/IEC 9899:2018, 5.1.1.2 and 5.2.1.1]."""
    for line in c_comment(text, 60):
        assert line.startswith("//")
        assert not line.endswith("\\")
        assert "??" not in line
        assert "*/" not in line
        assert not HIDDEN.search(line)


@settings(deadline=None, max_examples=300)
@given(TEXTS)
def test_python_strings_say_what_was_meant(text: str) -> None:
    literal = python_string(text)
    assert ast.literal_eval(literal) == plain(text)
    assert not HIDDEN.search(literal)
    assert "\n" not in literal


@settings(deadline=None, max_examples=300)
@given(TEXTS)
def test_c_strings_say_what_was_meant(text: str) -> None:
    """Octal escapes of the UTF-8 bytes, three digits each  [ISO/IEC 9899:2018, 6.4.4.4]."""
    literal = c_string(text)
    assert literal.isascii()
    assert "??" not in literal
    body = literal[1:-1]
    assert re.fullmatch(r'(?:[ !#->@-\[\]-~]|\\["\\?]|\\[0-7]{3})*', body)
    raw = re.sub(r'\\([0-7]{3}|["\\?])', lambda m: chr(int(m.group(1), 8)) if len(m.group(1)) == 3 else m.group(1), body)
    assert raw.encode("latin-1").decode() == plain(text)


def test_cutting_says_that_it_cut() -> None:
    assert cut("x" * 200, 60) == "x" * 59 + "…"
    assert cut("short", 60) == "short"
