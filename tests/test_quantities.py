"""Quantities: codes of IEC 60062, SI prefixes, traps, messages; two other libraries as oracles."""

from __future__ import annotations

import math
import re
from decimal import Decimal

import pytest
import quantiphy
import rkm_codes as rkm
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pinwright.quantities import UNITS, QuantityError, parse_quantity, show_quantity

rkm.set_prefs(rkm_maps=rkm.IEC60062_MAPS)
calm = settings(deadline=None)  # a busy machine is no fault


def outcome(text: str, unit: str) -> float | str:
    """The value, or what the refusal says."""
    try:
        return parse_quantity(text, unit)
    except QuantityError as error:
        return str(error)


def message(text: str, unit: str) -> str:
    said = outcome(text, unit)
    assert isinstance(said, str), said
    return said


# ------------------------------------------------------------------------------ published


@pytest.mark.parametrize(
    ("code", "ohm"),
    [
        # IEC 60062 marks resistors with L, R, k, M, G, T in place of the point; zero before it may be left out
        ("R47", 0.47),
        ("4R7", 4.7),
        ("47R", 47.0),
        ("470R", 470.0),
        ("0R", 0.0),
        ("0R22", 0.22),
        ("4k7", 4700.0),
        ("4K7", 4700.0),
        ("47k", 47e3),
        ("47k3", 47.3e3),
        ("2k", 2e3),
        ("1M0", 1e6),
        ("4M7", 4.7e6),
        ("1G", 1e9),
        ("5L", 0.005),
        ("4L7", 0.0047),
        ("4k7Ω", 4700.0),
        ("4k7 ohm", 4700.0),
        ("4.7k", 4700.0),
    ],
)
def test_resistor_codes_published(code: str, ohm: float) -> None:
    assert parse_quantity(code, "ohm") == ohm


@pytest.mark.parametrize(
    ("code", "farad"),
    [
        ("p47", 0.47e-12),
        ("4p7", 4.7e-12),
        ("470p", 470e-12),
        ("4n7", 4.7e-9),
        ("100n", 100e-9),
        ("1u0", 1e-6),
        ("4\u00b57", 4.7e-6),
        ("4\u03bc7", 4.7e-6),
        ("2m2", 2.2e-3),
        ("1F0", 1.0),
        ("0.1u", 1e-7),
    ],
)
def test_capacitor_codes_published(code: str, farad: float) -> None:
    # IEC 60062: p, n, micro, m, F in place of the point
    assert parse_quantity(code, "F") == farad


# ------------------------------------------------------------------------------ plain quantities


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("400 mA", "A", 0.4),
        ("400mA", "A", 0.4),
        (" 400  mA ", "A", 0.4),
        ("0.4 A", "A", 0.4),
        (".4 A", "A", 0.4),
        ("4e-1 A", "A", 0.4),
        ("4e2 mA", "A", 0.4),
        ("+5 V", "V", 5.0),
        ("5. V", "V", 5.0),
        ("5 volts", "V", 5.0),
        ("3V3", "V", 3.3),
        ("5V", "V", 5.0),
        ("2 m", "m", 2.0),
        ("2m", "m", 2.0),
        ("2 mm", "m", 0.002),
        ("40 cm", "m", 0.4),
        ("2 metres", "m", 2.0),
        ("1 km", "m", 1000.0),
        ("1 kHz", "Hz", 1000.0),
        ("1 KHz", "Hz", 1000.0),
        ("16 MHz", "Hz", 16e6),
        ("10 k\u03a9", "ohm", 10e3),
        ("10 k\u2126", "ohm", 10e3),
        ("10 kohm", "ohm", 10e3),
        ("15 \u00b5A", "A", 15e-6),
        ("15 \u03bcA", "A", 15e-6),
        ("15 uA", "A", 15e-6),
        ("-5 degC", "degC", -5.0),
        ("25\u00b0C", "degC", 25.0),
        ("25 C", "degC", 25.0),
        ("9600 baud", "Bd", 9600.0),
        ("115.2 kBd", "Bd", 115200.0),
        ("10 ms", "s", 0.01),
        ("400\u00a0mA", "A", 0.4),  # typeset spaces and minus, as copied from a data sheet
        ("400\u202fmA", "A", 0.4),
        ("\u22125 \u00b0C", "degC", -5.0),
        ("-0 A", "A", 0.0),
        ("1e-400 A", "A", 0.0),
    ],
)
def test_plain_quantities(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == value
    assert math.copysign(1, parse_quantity(text, unit)) == math.copysign(1, value)


def test_m_alone_is_metre_only_where_metres_are_wanted() -> None:
    assert parse_quantity("2 m", "m") == 2.0
    assert parse_quantity("2m", "F") == 0.002
    assert "is in metres" in message("2 m", "A")
    assert "is in metres" in message("2 m", "ohm")


# ------------------------------------------------------------------------------ traps, word for word


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("400", "A", "'400' has no unit. Write it like 400 mA."),
        ("47", "ohm", "'47' has no unit. Write it like 4k7."),
        ("1e3", "Hz", "'1e3' has no unit. Write it like 1 kHz."),
        ("", "V", "'' is not a number with a unit. Write it like 5 V."),
        ("mA", "A", "'mA' is not a number with a unit. Write it like 400 mA."),
        ("much", "A", "'much' is not a number with a unit. Write it like 400 mA."),
        ("0,4 A", "A", "'0,4 A' has a comma in the number. Write the decimals after a point: 0.4 A."),
        ("1,000 mA", "A", "'1,000 mA' has a comma in the number. Write the decimals after a point, like 0.4."),
        ("1.000,5 A", "A", "'1.000,5 A' has a comma in the number. Write the decimals after a point, like 0.4."),
        ("1 000 mA", "A", "'1 000 mA' has a space inside the number. Write its digits without a gap."),
        ("1_000 mA", "A", "'1_000 mA': '_000 mA' is not a unit this asks for. Write it like 400 mA."),
        ("4O0 mA", "A", "'4O0 mA' is not a number with a unit. It holds the letter O where a zero belongs. Write 400 mA."),
        ("4OO mA", "A", "'4OO mA' is not a number with a unit. It holds the letter O where a zero belongs. Write 400 mA."),
        ("O.4 A", "A", "'O.4 A' is not a number with a unit. It holds the letter O where a zero belongs. Write 0.4 A."),
        ("4O0", "A", "'4O0' is not a number with a unit. It holds the letter O where a zero belongs. Write it like 400 mA."),
        ("l0 mA", "A", "'l0 mA' is not a number with a unit. It holds a letter where a one belongs. Write 10 mA."),
        ("1I5 mA", "A", "'1I5 mA' is not a number with a unit. It holds a letter where a one belongs. Write 115 mA."),
        ("5%", "ohm", "'5%': '%' is not a unit this asks for. Write it like 4k7."),
        ("4k7J", "ohm", "'4k7J' ends in a letter for the tolerance. Leave it out: 4k7."),
        ("3V3", "ohm", "'3V3' is in volts, but this asks for ohms. Write it like 4k7."),
        ("4k7", "F", "'4k7' is in ohms, but this asks for farads. Write it like 100 nF."),
        ("R47", "F", "'R47' is in ohms, but this asks for farads. Write it like 100 nF."),
        ("4n7", "ohm", "'4n7' is in farads, but this asks for ohms. Write it like 4k7."),
        ("4R7", "A", "'4R7' is in ohms, but this asks for amperes. Write it like 400 mA."),
        ("1m0", "ohm", "'1m0': 'm0' is not a unit this asks for. Did you mean 1M0?"),
        ("2 mA", "m", "'2 mA' is in amperes, but this asks for metres. Write it like 2 m."),
        ("5 V", "A", "'5 V' is in volts, but this asks for amperes. Write it like 400 mA."),
        ("2k", "Hz", "'2k' has no unit after the k. Write it like 1 kHz."),
        ("4.7 k", "ohm", "'4.7 k' has no unit after the k. Write it like 4k7."),
        ("400 MA", "A", "'400 MA' cannot be meant: M is a million. Did you mean 400 mA?"),
        ("2 mHz", "Hz", "'2 mHz' cannot be meant: m is a thousandth. Did you mean 2 MHz?"),
        ("400 ma", "A", "'400 ma': 'ma' is not a unit this asks for. Did you mean 400 mA?"),
        ("100 NF", "F", "'100 NF': 'NF' is not a unit this asks for. Did you mean 100 nF?"),
        ("2 M", "m", "'2 M': 'M' is not a unit this asks for. Did you mean 2 m?"),
        ("5 v", "V", "'5 v': 'v' is not a unit this asks for. Did you mean 5 V?"),
        ("2 miles", "m", "'2 miles': 'miles' is not a unit this asks for. Write it like 2 m."),
        ("NaN", "A", "'NaN' is not a number with a unit. Write it like 400 mA."),
        ("nan A", "A", "'nan A' is not a number with a unit. Write it like 400 mA."),
        ("inf A", "A", "'inf A' is not a number with a unit. Write it like 400 mA."),
        ("1e999 A", "A", "'1e999 A' is not possible here: it must lie between 0 A and 1 kA."),
        ("-1 A", "A", "'-1 A' is not possible here: it must lie between 0 A and 1 kA."),
        ("2 kA", "A", "'2 kA' is not possible here: it must lie between 0 A and 1 kA."),
        ("-300 degC", "degC", "'-300 degC' is not possible here: it must lie between -273.15 °C and 300 °C."),
        ("1T", "ohm", "'1T' is not possible here: it must lie between 0 Ω and 1 GΩ."),
        ("4\n00 mA", "A", r"'4\n00 mA' is not a number with a unit. Write it like 400 mA."),
        ("\u0664 mA", "A", "'\u0664 mA' is not a number with a unit. Write it like 400 mA."),  # an Arabic-Indic four
        ("4" * 101, "A", f"'{'4' * 39}…' is too long for a quantity. Write it like 400 mA."),
    ],
)
def test_message(text: str, unit: str, words: str) -> None:
    assert message(text, unit) == words


@pytest.mark.parametrize("unit", UNITS)
def test_the_example_of_every_unit_is_right(unit: str) -> None:
    assert UNITS[unit].low <= parse_quantity(UNITS[unit].example, unit) <= UNITS[unit].high


# ------------------------------------------------------------------------------ oracles

digits = st.integers(0, 999).map(str)


@calm
@given(digits, st.sampled_from("RkKMG"), digits)
@example("", "R", "47")
def test_resistor_codes_oracle(whole: str, letter: str, decimals: str) -> None:
    code = f"{whole}{letter}{decimals}"
    expected = rkm.from_rkm(code)
    assert expected.units == "Ω"
    if float(expected) <= UNITS["ohm"].high:
        assert parse_quantity(code, "ohm") == pytest.approx(float(expected), rel=1e-12)


@calm
@given(digits, st.sampled_from("pnu\u00b5m"), digits)
def test_capacitor_codes_oracle(whole: str, letter: str, decimals: str) -> None:
    code = f"{whole}{letter}{decimals}"
    expected = rkm.from_rkm(code)
    assert expected.units == "F"
    assert parse_quantity(code, "F") == pytest.approx(float(expected), rel=1e-12, abs=1e-30)


@calm
@given(
    st.decimals(0, 999, places=3).map(lambda d: f"{d.normalize():f}"),
    st.sampled_from(["p", "n", "u", "\u00b5", "\u03bc", "m", "", "k"]),
    st.sampled_from(["A", "V", "m", "s"]),
)
def test_prefixes_oracle(number: str, prefix: str, unit: str) -> None:
    text = f"{number} {prefix}{unit}"
    expected = quantiphy.Quantity(text)
    if expected.units != unit:  # quantiphy takes the m of "5 m" for a prefix
        return
    if float(expected) <= UNITS[unit].high:
        assert parse_quantity(text, unit) == pytest.approx(float(expected), rel=1e-12, abs=1e-30)


@pytest.mark.parametrize(("text", "unit"), [("4k7", "A"), ("3V3", "ohm"), ("5%", "ohm")])
def test_where_the_other_library_reads_on_silently(text: str, unit: str) -> None:
    float(quantiphy.Quantity(text))  # a number, with the rest of the text taken for a unit
    with pytest.raises(QuantityError):
        parse_quantity(text, unit)


# ------------------------------------------------------------------------------ properties


@calm
@given(st.decimals(0, 999, places=6), st.sampled_from(["n", "u", "m", "", "k"]))
def test_a_value_is_the_float_nearest_to_what_is_written(number: Decimal, prefix: str) -> None:
    scale = {"n": -9, "u": -6, "m": -3, "": 0, "k": 3}[prefix]
    exact = number.scaleb(scale)
    if exact <= 1000:
        assert parse_quantity(f"{number:f} {prefix}V", "V") == float(exact)


LOWEST_SHOWN = {"Hz": 1.0, "Bd": 1.0, "degC": -273.0, "time": 1e-3, "Ah": 1e-3}
HIGHEST_SHOWN = {"s": 9e5, "time": 900.0, "Ah": 900.0}
"""Beyond these a prefix is shown that nobody writes: megaseconds."""


@calm
@given(st.sampled_from(sorted(UNITS)), st.floats(0, 1), st.integers(1, 9))
def test_what_is_shown_can_be_read_again(unit: str, share: float, digits: int) -> None:
    kind = UNITS[unit]
    low = LOWEST_SHOWN.get(unit, 1e-13)
    high = HIGHEST_SHOWN.get(unit, kind.high)
    value = low + share * (high - low) if unit == "degC" else low * (high / low) ** share
    shown = show_quantity(value, kind.name, digits)
    rel = 1e-5 if unit == "degC" else 0.51 * 10.0 ** (1 - digits)
    again = outcome(shown, unit)
    if isinstance(again, str):  # rounded over the edge of what is possible
        assert value * (1 + rel) > kind.high or value * (1 - rel) < kind.low, again
    else:
        assert again == pytest.approx(value, rel=rel, abs=1e-3 if unit == "degC" else 0)


@calm
@given(st.text(max_size=40), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused_in_one_line(text: str, unit: str) -> None:
    kind = UNITS[unit]
    found = outcome(text, unit)
    if isinstance(found, str):
        assert "\n" not in found
        assert found.endswith((".", "?"))
    else:
        assert kind.low <= found <= kind.high


@calm
@given(st.text("0123456789.,-+eE OlIRkKMGmunpVAFHzΩ%\u00b5", max_size=12), st.sampled_from(sorted(UNITS)))
def test_every_repair_offered_is_right(text: str, unit: str) -> None:
    """Whatever a message proposes to write or to have meant must itself be readable."""
    said = outcome(text, unit)
    offer = re.search(r"(?:Write|Did you mean|after a point:|Leave it out:) ([^?]*?)[.?]$", said) if isinstance(said, str) else None
    if offer and offer[1].split()[0] not in ("the", "its"):
        again = outcome(offer[1].removeprefix("it like "), unit)
        assert not isinstance(again, str) or "is not possible here" in again


# ------------------------------------------------------------------------------ showing


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (0.0032226, "V", "3.22 mV"),
        (4700, "Ω", "4.7 kΩ"),
        (0, "V", "0 V"),
        (-0.0, "V", "0 V"),
        (-0.05, "A", "-50 mA"),
        (999.9, "Ω", "1 kΩ"),
        (0.9996, "A", "1 A"),
        (999.4, "Ω", "999 Ω"),
        (1e-7, "F", "100 nF"),
        (1e-6, "F", "1 µF"),
        (5e-16, "F", "0.0005 pF"),
        (2.2e9, "Hz", "2.2 GHz"),
        (36.6, "°C", "36.6 °C"),
        (math.inf, "V", "inf V"),
        (math.nan, "V", "nan V"),
    ],
)
def test_show(value: float, unit: str, shown: str) -> None:
    assert show_quantity(value, unit) == shown


def test_show_more_digits() -> None:
    assert show_quantity(1.23456789, "V", 8) == "1.2345679 V"
    assert show_quantity(123456, "Hz", 2) == "120 kHz"
