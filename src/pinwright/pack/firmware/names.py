"""Names and texts of a brief made fit for source code: identifiers, comments, strings.

A brief's names are hostile input.  Identifiers come out ASCII, unique, and no keyword, built-in or usual macro of Python or C++;
comments cannot end early, carry a line break or turn the reading order; strings are escaped to plain ASCII.
"""

from __future__ import annotations

import builtins
import keyword
import re
import textwrap
import unicodedata
from collections.abc import Container

__all__ = ["RESERVED", "Namer", "c_comment", "c_string", "cut", "plain", "python_comment", "python_literal", "python_string"]

_LONGEST = 32
"""Characters of an identifier before its suffix (our choice)."""


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_C_WORDS = _words("""
alignas alignof and and_eq asm atomic auto bitand bitor bool break byte case catch char class co_await co_return co_yield compl concept
const consteval constexpr constinit const_cast continue decltype default delete do double dynamic_cast else enum explicit export extern
false final float for friend goto if import inline int long module mutable namespace new noexcept not not_eq nullptr operator or or_eq
override private protected public register reinterpret_cast requires restrict return short signed sizeof static static_assert
static_cast struct switch template this thread_local throw true try typedef typeid typename union unsigned using virtual void volatile
wchar_t while xor xor_eq main setup loop string word boolean printf puts abs min max round random delay micros millis tone map time
""")
"""Keywords of C23 and C++23, and names every sketch has."""
_MACROS = _words("""
HIGH LOW INPUT OUTPUT INPUT_PULLUP INPUT_PULLDOWN OUTPUT_OPEN_DRAIN OPEN_DRAIN PULLUP PULLDOWN ANALOG CHANGE RISING FALLING DEFAULT
EXTERNAL INTERNAL INTERNAL1V1 INTERNAL2V56 AR_DEFAULT AR_INTERNAL LSBFIRST MSBFIRST SERIAL DISPLAY LED_BUILTIN PI HALF_PI TWO_PI EULER
DEG_TO_RAD RAD_TO_DEG SDA SCL SS MOSI MISO SCK TX RX TX1 RX1 TX2 RX2 NULL EOF NAN INFINITY TRUE FALSE ERROR SUCCESS OK FAIL F PROGMEM
PSTR SPI WIRE NOT_A_PIN NOT_A_PORT NOT_AN_INTERRUPT TIMER SERIAL_TX SERIAL_RX USB_VID USB_PID OVERFLOW UNDERFLOW DOMAIN RTC ADC DAC PWM
""")
"""Macros and constants of the usual headers, from memory."""
_OWN = _words("""
machine time pin pins pwm adc dac i2c spi uart i2s touch rtc timer signal neopixel dht onewire ds18x20 sys gc math device
set_up read_all self_test main loop run ask show step safe sleep sleep_now counter contact encoder echo analog output pixels micropython
const interrupts buses state line kit read blink all_off switch wanted apply report lamps command device
""")
"""Names the written programmes use themselves."""

RESERVED: frozenset[str] = frozenset(
    name.casefold()
    for name in (*keyword.kwlist, *keyword.softkwlist, *dir(builtins), *_C_WORDS, *_MACROS, *_OWN, *(f"A{n}" for n in range(32)))
)
"""Names (folded) no identifier of a programme may have in any language we write."""

_PLAIN_BELOW = 0x2E80
"""Letters and signs below this one (before the East Asian blocks) are shown as they are in Python strings (our choice)."""
_HIDDEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
"""Unicode categories that do not show or turn the reading order: control, format (bidi), surrogate, private, unassigned, separators."""


class Namer:
    """Gives identifiers, each only once.  ``SHOUT_CASE`` and ``snake_case`` of one name belong together."""

    def __init__(self, taken: Container[str] = RESERVED) -> None:
        self._taken = taken
        self._given: set[str] = set()

    def constant(self, *words: str) -> str:
        """Identifier in upper case for what a brief calls ``words``; unique, also in lower case.

        >>> namer = Namer()
        >>> namer.constant("heater", "CTRL"), namer.constant("heater.ctrl"), namer.constant("2x", "Ü"), namer.constant("int")
        ('HEATER_CTRL', 'HEATER_CTRL_2', 'N2X_U', 'INT_1')
        >>> namer.constant("炉", "😀")
        'LINE_1'
        """
        base = re.sub(r"[^A-Z0-9]+", "_", _latin("_".join(words)).upper()).strip("_")[:_LONGEST].strip("_") or "LINE"
        base = base if base[0].isalpha() else f"N{base}"
        name, number = base, 1
        if base == "LINE" or base.casefold() in self._taken:
            name = f"{base}_1"
        while name in self._given or name.casefold() in self._taken:
            number += 1
            name = f"{base}_{number}"
        self._given.add(name)
        return name


def _latin(text: str) -> str:
    """Letters without their marks; what has no Latin base is left out.  Works on words, so that ``ß`` becomes ``ss``."""
    flat = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
    return "".join(c if c.isascii() else "" if unicodedata.combining(c) else " " for c in flat)


def plain(text: str) -> str:
    """One line of text that shows what it is: nothing hidden, no line break, no run of spaces.

    >>> plain("a\\n  b\\u202ec\\u200b")
    'a bc'
    """
    kept = (" " if c.isspace() else "" if unicodedata.category(c) in _HIDDEN else c for c in text)
    return " ".join("".join(kept).split())


def cut(text: str, most: int = 60) -> str:
    """A text of at most ``most`` characters, with an ellipsis where it was longer.

    >>> cut("abcdef", 4)
    'abc…'
    """
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def python_comment(text: str, width: int = 98, indent: str = "") -> list[str]:
    """Comment lines of a Python programme.

    >>> python_comment("one\\ntwo")
    ['# one two']
    """
    return [f"{indent}# {line}" for line in _wrapped(plain(text), width - len(indent) - 2)]


def c_comment(text: str, width: int = 98, indent: str = "") -> list[str]:
    """Comment lines (``//``) of a C or C++ programme: no trigraph, no ``*/``, no backslash before the line's end.

    >>> c_comment("a */ b ??/ c\\\\")
    ['// a * / b ? ?/ c\\\\.']
    """
    safe = re.sub(r"\?(?=\?)", "? ", plain(text)).replace("*/", "* /").replace("/*", "/ *")
    lines = _wrapped(safe, width - len(indent) - 4)
    return [f"{indent}// {line}{'.' if line.endswith(chr(92)) else ''}" for line in lines]


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, max(width, 20), break_on_hyphens=False) or [""]


def python_string(text: str) -> str:
    """Literal of a text in Python, in the quotes that need fewer escapes; letters that turn the reading order are escaped.

    >>> print(python_string('a"b\\\\ü\\n😀'))
    'a"b\\\\ü \\U0001f600'
    """
    return python_literal(plain(text))


def python_literal(shown: str) -> str:
    """Literal of a text that is plain already (a piece of one may begin or end with a space)."""
    quote = "'" if shown.count('"') > shown.count("'") else '"'
    return quote + "".join(_python_char(c, quote) for c in shown) + quote


def _python_char(c: str, quote: str) -> str:
    if c in (quote, "\\"):
        return "\\" + c
    if c.isascii() or (ord(c) < _PLAIN_BELOW and unicodedata.bidirectional(c) not in ("R", "AL", "AN") and not unicodedata.combining(c)):
        return c
    return f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}"


def c_string(text: str) -> str:
    """Literal of a text in C and C++, in ASCII: UTF-8 as octal escapes, which no digit after them can lengthen.

    >>> print(c_string('a"b??/ü1'))
    "a\\"b\\?\\?/\\303\\2741"
    """
    return '"' + "".join(_c_byte(byte) for byte in plain(text).encode()) + '"'


def _c_byte(byte: int) -> str:
    c = chr(byte)
    if c in '"\\?':
        return "\\" + c
    return c if 0x20 <= byte < 0x7F else f"\\{byte:03o}"
