"""Keys about what is really there: fitted, switched, ports, source_resistance, accuracy, usb = device.

Behaviour throughout: each fault with its line, its key, what is wrong and what would be right; no source but docs/brief-keys.md.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from pinwright.brief.fitted import EXAMPLES, FittedPiece, parse_accuracy, parse_fitted, same_unit
from pinwright.brief.reader import parse_brief
from pinwright.errors import Fault
from pinwright.facts.loader import Catalogue
from pinwright.facts.ports import output_only_ports, port_names
from pinwright.quantities import QuantityError

Read = Callable[[str], list[Fault]]


# ------------------------------------------------------------------------------ the words


@pytest.mark.parametrize(
    ("text", "piece"),
    [
        ("pull-up 4k7", FittedPiece("pull-up", 4700.0)),
        ("Pull-Up  4.7 kohm", FittedPiece("pull-up", 4700.0)),
        ("pull-up 10k to 5 V", FittedPiece("pull-up", 10e3, to_v=5.0)),
        ("pull-down 100k", FittedPiece("pull-down", 100e3)),
        ("pull-down 10k to ground", FittedPiece("pull-down", 10e3)),
        ("series 330 ohm", FittedPiece("series", 330.0)),
        ("divider 10k over 20k", FittedPiece("divider", 10e3, 20e3)),
        ("divider 100 kΩ / 33 kΩ", FittedPiece("divider", 100e3, 33e3)),
        ("capacitor 100 nF", FittedPiece("capacitor", farads=100e-9)),
        ("level shifter", FittedPiece("level shifter")),
        ("transistor", FittedPiece("transistor")),
        ("diode", FittedPiece("diode")),
    ],
)
def test_words(text: str, piece: FittedPiece) -> None:
    assert parse_fitted(text) == piece


def test_every_example_is_read() -> None:
    assert {parse_fitted(text).kind for text in EXAMPLES.values()} == set(EXAMPLES)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pullup 4k7", "Did you mean pull-up 4k7?"),
        ("resistor 4k7", "Write pull-up, pull-down or series in front"),
        ("wire", "Write one of: pull-up 4k7"),
        ("nothing", "Write an empty list: []."),
        ("", "Write an empty list: []."),
        ("pull-up", "has no value. Write it like pull-up 4k7."),
        ("pull-up 4700", "has no unit"),
        ("pull-up 0 ohm", "is a bare wire"),
        ("pull-up 4k7 to 3.3", "has no unit"),
        ("pull-down 10k to 5 V", "A pull-down leads to ground. Write pull-down 10k."),
        ("series 100 ohm to 5 V", "Write series 100 ohm."),
        ("divider 10k", "needs two resistors"),
        ("divider 10k over", "needs two resistors"),
        ("divider over 10k", "needs two resistors"),
        ("divider 10k over 20 V", "asks for ohms"),
        ("capacitor 4k7", "asks for farads"),
        ("transistor BC547", "Write just transistor."),
        ("pull-up " + "9" * 300, "is not known here"),
    ],
)
def test_words_that_are_none(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        parse_fitted(text)
    assert said in str(caught.value)
    assert len(str(caught.value)) < 300


def test_accuracy() -> None:
    assert parse_accuracy("0.5 °C") == (0.5, "°C")
    assert parse_accuracy("2%") == (2.0, "%")
    for text in ("half a degree", "0.5", "0 degC", "-1 V", ""):
        with pytest.raises(QuantityError):
            parse_accuracy(text)
    assert same_unit("degC", "degC")
    assert same_unit("°c", "degC")
    assert same_unit("K", "degC")  # a difference of temperatures
    assert not same_unit("mV", "V")


def test_ports_from_words(catalogue: Catalogue) -> None:
    # data sheets named in the entries: 16 ports; two digits are bank and bit on the TCA9555 (from memory)
    assert port_names(catalogue.parts["mcp23017-pins"])[7:9] == ("GPA7", "GPB0")
    assert port_names(catalogue.parts["tca9555-pins"])[7:9] == ("P07", "P10")
    assert port_names(catalogue.parts["74hc595-pins"]) == tuple(f"Q{letter}" for letter in "ABCDEFGH")
    assert output_only_ports(catalogue.parts["mcp23017-pins"]) == ("GPA7", "GPB7")
    assert port_names(catalogue.parts["bme280"]) == port_names(None) == output_only_ports(None) == ()


# ------------------------------------------------------------------------------ in a brief

WHOLE = """\
title = "Heron counter"

[use]
usb = "device"
sleeping = true

[[part]]
name = "echo"
kind = "ultrasonic-hc-sr04"
switched = true
fitted = { TRIG = [], ECHO = ["divider 10k over 20k", "capacitor 100 pF"] }

[[part]]
name = "water"
kind = "ntc-10k-b3950"

  [part.change.NTC]
  accuracy = "1 K"
  source_resistance = "10k"

[[part]]
name = "keys"
kind = "mcp23017"

  [part.ports]
  GPA0 = "in"
  GPB7 = "out"

[[part]]
name = "own"

  [[part.line]]
  name = "V"
  direction = "analog-in"
  signal = "analog"
  source_resistance = "100k"
"""


def test_a_brief_with_all_of_them(catalogue: Catalogue) -> None:
    brief = parse_brief(WHOLE, "heron.toml", catalogue).brief
    assert brief.part[0].fitted == {"TRIG": (), "ECHO": ("divider 10k over 20k", "capacitor 100 pF")}
    assert brief.part[0].switched
    assert brief.part[1].change["NTC"].accuracy == "1 K"
    assert brief.part[2].ports == {"GPA0": "in", "GPB7": "out"}
    assert brief.part[3].line[0].source_resistance_ohm == 100e3


@pytest.mark.parametrize(
    ("old", "new", "key", "wrong", "right"),
    [
        ("ECHO = [", "ECHO = ['pullup 4k7', ", "part[0].fitted.ECHO[0]", "'pullup 4k7' is not known here.", ""),
        ("TRIG = []", "TRIG = 'series 1k'", "part[0].fitted.TRIG", "'series 1k' does not fit: a list", 'Write ["series 1k"].'),
        ("TRIG = []", "TRIG = [4700]", "part[0].fitted.TRIG[0]", "4700 does not fit: a text", 'Write "4700".'),
        ("TRIG = []", "TRIGG = []", "part[0].fitted.TRIGG", "'echo' has no line 'TRIGG'.", "Its lines: TRIG, ECHO."),
        ("TRIG = []", "TRIG = ['diode', 'diode']", "part[0].fitted.TRIG[1]", "There are two of diode", "Write what both make"),
        (
            '{ TRIG = [], ECHO = ["divider 10k over 20k", "capacitor 100 pF"] }',
            '"nothing"',
            "part[0].fitted",
            "a table is wanted",
            "fitted = { LINE",
        ),
        ("switched = true", 'switched = "yes"', "part[0].switched", "true or false is wanted", ""),
        ('"1 K"', '"1"', "part[1].change.NTC.accuracy", "has no unit", "Write it like 1 degC."),
        ('"1 K"', '"1 V"', "part[1].change.NTC.accuracy", "Temperature is in degC, not in 'V'.", "Write it like 0.5 degC."),
        ('GPA0 = "in"', 'GPA0 = "input"', "part[2].ports.GPA0", "'input' is not known here.", "Write one of: in, out."),
        ('GPA0 = "in"', 'GPA8 = "in"', "part[2].ports.GPA8", "has no port 'GPA8'", "Its ports: GPA0"),
        ('kind = "mcp23017"', 'kind = "bh1750"', "part[2].ports", "has no ports", "Leave the key out."),
        (
            '  source_resistance = "100k"',
            '  accuracy = "1 V"',
            "part[3].line[0].accuracy",
            "is not known of a part of your own",
            "Leave the key out",
        ),
        ('"device"', '"divice"', "use.usb", "'divice' is not known here.", "Write one of: keep, free, device."),
    ],
)
def test_faults(faults: Read, old: str, new: str, key: str, wrong: str, right: str) -> None:
    assert old in WHOLE
    text = WHOLE.replace(old, new, 1)
    assert new.split("\n")[0] in text
    found = faults(text)
    assert [fault.key for fault in found] == [key]
    assert wrong in found[0].wrong
    assert right in found[0].right
    said = text.split("\n")[(found[0].line or 0) - 1]
    assert key.split(".")[-1].split("[")[0] in said or key.split(".")[1].split("[")[0] in said


def test_readings_only_on_analog_lines(faults: Read) -> None:
    text = (
        WHOLE + '\n[[part]]\nname = "bell"\nkind = "push-button-momentary"\n[part.change.SW]\naccuracy = "1 V"\nsource_resistance = "1k"\n'
    )
    assert [(fault.key, fault.right) for fault in faults(text)] == [
        ("part[4].change.SW.accuracy", "Leave the key out."),
        ("part[4].change.SW.source_resistance", "Leave the key out."),
    ]


def test_a_faulty_list_hides_no_other_fault(faults: Read) -> None:
    # behaviour: all faults of a file at once; the part without its list goes on to be judged
    text = WHOLE.replace('"divider 10k over 20k"', '"devider 10k over 20k"').replace('kind = "ntc-10k-b3950"', 'kind = "ntc-10k-b395"')
    assert [(fault.key, fault.guess) for fault in faults(text)] == [
        ("part[0].fitted.ECHO[0]", "divider 10k over 20k"),
        ("part[1].kind", "ntc-10k-b3950"),
    ]
