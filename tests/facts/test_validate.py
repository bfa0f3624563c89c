"""Behaviour: every check of the catalogue has a broken file that must fail, with the message a maker reads.

The chip, board and parts below are invented; each case breaks one of them by replacing a piece of its text in memory.
"""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

import pytest

from pinwright.errors import FactsError, Fault
from pinwright.facts import electrical, figures, validate
from pinwright.facts.across import check_catalogue, uncited
from pinwright.facts.loader import Catalogue, FactsFile, read_files
from pinwright.facts.model import Board, Chip
from pinwright.facts.validate import parse_file

CHIP = """\
schema = 1
part = "EX1"
maker = "Example"
title = "EX1, invented for tests"
radio = ["wifi"]
clock_max_hz = 1e6
ram_bytes = 2048
console = ["P0"]

[[source]]
id = "ds"
title = "EX1 Data Sheet"
seen = "read"

[[source]]
id = "mem"
title = "Recall"
seen = "memory"

[provenance]
identity = { src = "ds", seen = "read" }
abilities = { src = "ds", seen = "read" }
interrupt = { src = "ds", seen = "read" }
wake = { src = "ds", seen = "read" }
adc = { src = "ds", seen = "read" }
dac = { src = "ds", seen = "read" }
touch = { src = "ds", seen = "read" }
pwm = { src = "ds", seen = "read" }
functions = { src = "ds", seen = "read" }
reserved = { src = "ds", seen = "read" }
boot = { src = "ds", seen = "read" }
strap = { src = "ds", seen = "read" }

[electrical]
vdd_min_v = { value = 3.0, src = "ds", seen = "read" }
vdd_typ_v = { value = 3.3, src = "ds", seen = "read" }
vdd_max_v = { value = 3.6, src = "ds", seen = "read" }
vil_max = { frac = 0.25, of = "VDD", src = "ds", seen = "read" }
vih_min = { frac = 0.75, of = "VDD", src = "ds", seen = "read" }
vol_max = { v = 0.4, of = "VDD", src = "ds", seen = "read", also = [{ value = 0.3, src = "ds" }], chosen = "the weaker" }
voh_min = { frac = 0.8, of = "VDD", src = "ds", seen = "read" }
vin_max = { frac = 1.0, v = 0.3, of = "VDD", src = "ds", seen = "read" }
i_pin_source_max_a = { value = 0.02, src = "ds", seen = "read", safer = "low", also = [{ value = 0.04, src = "ds" }], chosen = "the lower" }
i_pin_sink_max_a = { value = 0.02, src = "ds", seen = "read" }
i_pin_design_a = { value = 0.01, src = "ds", seen = "read" }
pull_up_ohm = { min = 30000, typ = 45000, max = 80000, src = "mem" }

[[group]]
id = "all"
pads = [0, 1]
sum_source_max_a = 0.1
src = "ds"
seen = "read"

[[adc]]
unit = 1
bits = 12
ranges = [{ name = "full", v_min_v = 0, v_max_v = 3.3 }]
src = "ds"
seen = "read"

[[pwm]]
id = "TIMER0"
channels = 2
clock_hz = 1e6
counter_bits = 8
src = "ds"
seen = "read"

[[bus]]
id = "UART0"
kind = "uart"
wiring = "fixed"
roles = { TX = "UART0_TX", RX = "UART0_RX" }
max_hz = 115200
src = "ds"
seen = "read"

[[bus]]
id = "I2C0"
kind = "i2c"
wiring = "matrix"
max_hz = 400000
src = "ds"
seen = "read"

[[boot_mode]]
name = "run"
levels = { P1 = "high" }
src = "ds"
seen = "read"

[[pad]]
gpio = 0
name = "P0"
input = true
output = true
pull_up = true
pull_down = false
pwm = [{ pool = "TIMER0" }]
functions = ["UART0_TX"]
boot = [{ state = "float", src = "ds", seen = "read" }]

[[pad]]
gpio = 1
name = "P1"
input = true
output = true
pull_up = true
pull_down = false
functions = ["UART0_RX"]
adc = { unit = 1, channel = 0 }
strap = { run = "high", src = "ds", seen = "read" }
boot = [{ state = "pull-up", src = "ds", seen = "read" }]

[[pad]]
gpio = 2
name = "P2"
input = false
output = false
pull_up = false
pull_down = false
analog_only = true
adc = { unit = 1, channel = 1 }
dac = "DAC1"
touch = "T1"
boot = [{ state = "float", src = "ds", seen = "read" }]
"""

BOARD = """\
schema = 1
id = "ex1-board"
name = "Invented board"
chip = "EX1"
cost_class = 1
logic_v = 3.3
usb = "bridge"
order_from = "top"
usb_end = "first"

[[source]]
id = "guide"
title = "Invented guide"
seen = "read"

[provenance]
identity = { src = "guide", seen = "read" }
header = { src = "guide", seen = "read" }
row_spacing = { src = "guide", seen = "read" }
cost_class = { src = "guide", seen = "read" }

[[supply]]
pin = "3V3"
direction = "out"
src = "guide"
seen = "read"

[[header]]
row = "left"
order = 1
label = "0"
pad = "P0"

[[header]]
row = "left"
order = 2
label = "GND"
power = "GND"

[[onboard]]
what = "led"
pad = "P1"
src = "guide"
seen = "read"

[[reserve]]
pads = ["P2"]
use = "sensor"
src = "guide"
seen = "read"
"""

PARTS = """\
schema = 1

[family]
id = "invented"
title = "Invented parts"

[[source]]
id = "pds"
title = "Sensor Data Sheet"
seen = "read"

[[source]]
id = "mem"
title = "Recall"
seen = "memory"

[[part]]
id = "sensor"
kind = "sensor"
title = "Invented sensor"
see = "button"
supply_v = { min = 3, max = 5, src = "pds", seen = "read" }
i2c = { addresses = [64, 65], default = 64, max_hz = 400000, src = "pds", seen = "read" }
current_a = { active = { value = 0.001, src = "pds", seen = "read" } }

[[part.line]]
name = "SDA"
direction = "open-drain"
signal = "i2c"
role = "SDA"
src = "pds"
seen = "read"

[[part.line]]
name = "SCL"
direction = "open-drain"
signal = "i2c"
role = "SCL"
src = "pds"
seen = "read"

[[part]]
id = "button"
kind = "button"
title = "Invented button with a lamp"
supply_v = { src = "mem" }

[[part.line]]
name = "SW"
direction = "in"
signal = "digital"
src = "mem"

[[part.line]]
name = "LAMP"
direction = "out"
signal = "pwm"
quiet = "must"
safe_level = "low"
needs = { pwm_min_hz = 100, pwm_max_hz = 1000 }
src = "mem"
"""

NAMES = {"chips": "ex1.toml", "boards": "ex1-board.toml", "parts": "invented.toml"}
GOOD = {"chips": CHIP, "boards": BOARD, "parts": PARTS}


def broken(kind: str, old: str, new: str) -> str:
    assert GOOD[kind].count(old) >= 1, f"the good file has no {old!r}"
    return GOOD[kind].replace(old, new, 1)


def faults_of(kind: str, text: str, name: str = "") -> list[Fault]:
    faults: list[Fault] = []
    found = parse_file(FactsFile(kind, Path(kind) / (name or NAMES[kind]), text, False), faults)
    assert (found is None) == bool(faults)
    return faults


def catalogue_of(**texts: str) -> Catalogue:
    """Catalogue of the invented files, some of them replaced."""
    files = [FactsFile(kind, Path(kind) / NAMES[kind], texts.get(kind, GOOD[kind]), True) for kind in GOOD]
    parsed = [parse_file(file, []) for file in files]
    chips = {item.part: item for item in parsed if isinstance(item, Chip)}
    boards = {item.id: item for item in parsed if isinstance(item, Board)}
    parts = {part.id: part for item in parsed if isinstance(item, list) for part in item}
    return Catalogue(chips, boards, parts)


@pytest.mark.parametrize("kind", GOOD)
def test_good_file_has_no_faults(kind: str) -> None:
    assert faults_of(kind, GOOD[kind]) == []


def test_good_catalogue_has_no_faults() -> None:
    assert check_catalogue(catalogue_of()) == []
    assert uncited(catalogue_of()) == []


# ------------------------------------------------------------------------------ one check, one broken file


class Case(NamedTuple):
    """Text to replace in a good file, and the key and words of the fault this must give."""

    kind: str
    old: str
    new: str
    key: str
    words: str


CASES = [
    # shape
    Case("chips", "schema = 1", "schema = ", "", "This is not valid TOML"),
    Case("chips", 'maker = "Example"', 'makr = "Example"', "makr", "Nobody knows this key. Did you mean maker?"),
    Case("chips", 'maker = "Example"\n', "", "maker", "This key is missing."),
    Case("chips", "schema = 1", "schema = 2", "schema", "2 is not known here. Write 1."),
    Case("chips", "ram_bytes = 2048", 'ram_bytes = "2048"', "ram_bytes", "'2048' does not fit: a whole number without quotes is wanted."),
    Case("chips", 'state = "float"', 'state = "floating"', "pad[0].boot[0].state",
         "'floating' is not known here. Write one of: \"float\", \"pull-up\", \"pull-down\", \"high\", \"low\", \"noisy\". Did "
         "you mean float?"),
    Case("chips", "pull_up = true", "pullup = true", "pad[0].pullup", "Nobody knows this key. Did you mean pull_up?"),
    Case("boards", "cost_class = 1", "cost_class = 9", "cost_class", "9 is not known here. Write one of: 1, 2, 3, 4, 5."),
    Case("parts", "quiet =", "quit =", "part[1].line[1].quit", "Nobody knows this key. Did you mean quiet?"),
    Case("parts", 'title = "Invented parts"\n', "", "family.title", "This key is missing."),
    Case("parts", 'direction = "in"', 'direction = "lamp"', "part[1].line[0].direction",
         "'lamp' is not known here. Write one of: \"in\", \"out\", \"bidir\", \"open-drain\", \"analog-in\", \"analog-out\"."),
    Case("parts", 'direction = "open-drain"', 'direction = "opendrain"', "part[0].line[0].direction", "Did you mean open-drain?"),
    Case("chips", "input = true", 'input = "yes"', "pad[0].input", "'yes' does not fit: true or false without quotes is wanted."),
    Case("chips", "clock_max_hz = 1e6", 'clock_max_hz = "fast"', "clock_max_hz", "'fast' does not fit: a number without quotes is wanted."),
    Case("chips", 'maker = "Example"', "maker = 7", "maker", "7 does not fit: text in quotes is wanted."),
    Case("chips", 'maker = "Example"', "maker = 1979-05-27", "maker",
         "The date or time 1979-05-27 does not fit: text in quotes is wanted."),
    Case("chips", 'radio = ["wifi"]', 'radio = "wifi"', "radio",
         "'wifi' does not fit: a list in square brackets, each of it text in quotes, is wanted. Write [\"wifi\"]."),
    Case("chips", "gpio = 1\n", "gpio = true\n", "pad[1].gpio",
         "true does not fit: a whole number without quotes or text in quotes is wanted."),
    Case("chips", 'vdd_typ_v = { value = 3.3, src = "ds", seen = "read" }', "vdd_typ_v = 3.3", "electrical.vdd_typ_v",
         "3.3 does not fit: a table is wanted. Write { value = … }."),
    Case("chips", 'pwm = [{ pool = "TIMER0"', 'pwm = [{ pol = "TIMER0"', "pad[0].pwm[0].pol", "Nobody knows this key. Did you mean pool?"),
    Case("boards", 'pad = "P1"', 'pad = "P1"\nat_m = [0.01]', "onboard[0].at_m", "Two figures are wanted here."),
    Case("boards", 'pad = "P1"', 'pad = "P1"\nat_m = [0.01, 0.02, 0.03]', "onboard[0].at_m", "3 figures stand here. Two are wanted."),
    Case("boards", 'direction = "out"\n', "", "supply[0].direction",
         'This key is missing. Write direction = one of "in", "out", "in/out".'),
    # sources and figures
    Case("chips", 'id = "mem"', 'id = "ds"', "source", "Two sources are called 'ds'. Give each its own id."),
    Case("boards", 'header = { src = "guide"', 'header = { src = "gide"', "provenance.header.src",
         "No source is called 'gide'. Add it as [[source]]. Did you mean guide?"),
    Case("chips", 'src = "mem" }', 'src = "mem", seen = "read" }', "electrical.pull_up_ohm.seen",
         "Source 'mem' is recalled, so nothing can have been read in it."),
    Case("chips", "min = 30000", "min = 50000", "electrical.pull_up_ohm", "Minimum, typical and maximum are out of order."),
    Case("chips", "vdd_typ_v = { value = 3.3,", "vdd_typ_v = {", "electrical.vdd_typ_v",
         "This fact says nothing. Give value, a spread (min, typ, max) or text."),
    Case("chips", "[{ value = 0.04,", "[{ value = 0.01,", "electrical.i_pin_source_max_a",
         "Another source gives a safer (lower) value than 0.02."),
    Case("chips", ', chosen = "the lower"', "", "electrical.i_pin_source_max_a.chosen",
         "Sources disagree here. Say in 'chosen' why this value is the safer one."),
    Case("chips", ', chosen = "the weaker"', "", "electrical.vol_max.chosen",
         "Sources disagree here. Say in 'chosen' why this value is the safer one."),
    Case("chips", "typ = 45000,", "typ = 45000, value = 90000,", "electrical.pull_up_ohm",
         "The value 90000 lies outside its own minimum and maximum."),
    # chips
    Case("chips", 'part = "EX1"', 'part = "EX2"', "part", "The file is called ex1.toml. Call it ex2.toml."),
    Case("chips", 'strap = { src = "ds", seen = "read" }\n\n', "\n", "provenance",
         "Column 'strap' of the pad table has no source. Add provenance.strap."),
    Case("chips", 'name = "P2"', 'name = "P1"', "pad", "Two pads are called 'P1'."),
    Case("chips", "gpio = 2", "gpio = 1", "pad", "Two pads are called 1."),
    Case("chips", "channel = 1", "channel = 0", "pad", "Two pads share the channel"),
    Case("chips", "adc = { unit = 1, channel = 0 }", 'adc = { unit = 1, channel = 0 }\ntouch = "T1"', "pad",
         "Two pads share the channel 'T1'."),
    Case("chips", "adc = { unit = 1, channel = 0 }", 'adc = { unit = 1, channel = 0 }\ndac = "DAC1"', "pad",
         "Two pads share the channel 'DAC1'."),
    Case("chips", 'pool = "TIMER0"', 'pool = "TIMER1"', "pad[0].pwm", "No PWM pool is called 'TIMER1'."),
    Case("chips", "adc = { unit = 1, channel = 1 }", "adc = { unit = 2, channel = 1 }", "pad[2].adc", "There is no ADC unit 2."),
    Case("chips", "output = false", "output = true", "pad[2]", "An analog-only pad has no output, pull or interrupt."),
    Case("chips", 'boot = [{ state = "float", src = "ds", seen = "read" }]\n', "", "pad[0].boot",
         "Nothing says what this pad does before firmware runs. Add boot = [{ state = ... }]."),
    Case("chips", "output = true", "output = false", "pad[0].pwm", "A pad that cannot drive cannot carry PWM."),
    Case("chips", "pads = [0, 1]", "pads = [0, 7]", "group[0].pads", "There is no pad 7."),
    Case("chips", 'id = "I2C0"', 'id = "UART0"', "bus", "Two bus instances are called 'UART0'."),
    Case("chips", 'wiring = "matrix"', 'wiring = "fixed"', "bus[1].roles", "A fixed instance needs the function name of each role."),
    Case("chips", 'TX = "UART0_TX"', 'TX = "UART0_TXD"', "bus[0].roles.TX", "No pad has the function 'UART0_TXD'. Did you mean UART0_TX?"),
    Case("chips", 'id = "UART0"', 'id = "UART0"\nnever_inputs = ["P7"]', "bus[0].never_inputs[0]", "No pad is numbered 'P7'."),
    Case("chips", 'name = "run"', 'name = "go"', "boot_mode", "There are strap pads but no boot mode called 'run'."),
    Case("chips", "levels = { P1 =", "levels = { P0 =", "boot_mode[0].levels.P0", "P0 is not a strap pad."),
    Case("chips", 'P1 = "high"', 'P1 = "up"', "boot_mode[0].levels.P1", "'up' is not a level. Write high, low or any."),
    # boards
    Case("boards", 'id = "ex1-board"', 'id = "ex2-board"', "id", "The file is called ex1-board.toml. Call it ex2-board.toml."),
    Case("boards", "header = {", "headers = {", "provenance", "The header rows have no source. Add provenance.header."),
    Case("boards", 'pad = "P0"', 'pad = "P0"\npower = "3V3"', "header[0]",
         "A header pin is either a pad or a supply pin. Set exactly one of pad and power."),
    Case("boards", 'power = "GND"\n', "", "header[1]", "A header pin is either a pad or a supply pin. Set exactly one of pad and power."),
    Case("boards", "order = 2", "order = 3", "header", "Row 'left' is not numbered 1, 2, 3, … in order."),
    Case("boards", 'power = "GND"', 'pad = "P0"', "header[1].pad",
         "Two header pins have the pad 'P0'. Where the board joins them, write bonded = true on each."),
    Case("boards", 'power = "GND"', 'power = "GND"\nbonded = true', "header[1].bonded",
         "No other header pin has this pad. Leave bonded away, or give the other pin the same pad."),
    # parts
    Case("parts", 'id = "button"', 'id = "sensor"', "part", "Two parts are called 'sensor'."),
    Case("parts", 'name = "LAMP"', 'name = "SW"', "part[1].line", "Two lines of button are called 'SW'."),
    Case("parts", 'role = "SDA"', 'role = "DATA"', "part[0].line[0].role", "'DATA' is not a role on i2c. Write one of SCL, SDA."),
    Case("parts", 'signal = "digital"', 'signal = "uart"\nrole = "RX"', "part[1].line[0].signal",
         "Part button has a uart line but no [part.uart] facts."),
    Case("parts", 'signal = "digital"', 'signal = "digital"\nsafe_level = "low"', "part[1].line[0].safe_level",
         "A line the part drives cannot be asked to rest at a level."),
    Case("parts", 'safe_level = "low"\n', "", "part[1].line[1].quiet", "A line that must stay quiet needs a safe_level."),
    Case("parts", "pwm_min_hz = 100", "pwm_min_hz = 2000", "part[1].line[1].needs", "pwm_min_hz is above pwm_max_hz."),
    Case("parts", "default = 64", "default = 66", "part[0].i2c", "The default address is not among the addresses."),
    Case("parts", "default = 64", 'default = 64, hold_off = "OFF"', "part[0].i2c", "hold_off: part sensor has no line 'OFF'."),
    # figures of their own: finite, and possible for the unit the key ends in
    Case("boards", "logic_v = 3.3", "logic_v = nan", "logic_v", "nan is no number to calculate with. Write a supply voltage, in V,"),
    Case("boards", "logic_v = 3.3", "logic_v = inf", "logic_v", "inf is no number to calculate with."),
    Case("boards", "logic_v = 3.3", "logic_v = 0", "logic_v",
         "0 V cannot be a supply voltage. It must be at least 0.1 and at most 1000 V."),
    Case("chips", "min = 30000, typ", "min = 0, typ", "electrical.pull_up_ohm.min", "0 ohm cannot be a resistance."),
    Case("chips", "min = 30000, typ = 45000, max = 80000", "value = 0", "electrical.pull_up_ohm.value", "0 ohm cannot be a resistance."),
    Case("chips", "i_pin_design_a = { value = 0.01", "i_pin_design_a = { value = -0.01", "electrical.i_pin_design_a.value",
         "-0.01 A cannot be a current. It must be at least 0 and at most 1000 A."),
    Case("chips", "[{ value = 0.04,", "[{ value = inf,", "electrical.i_pin_source_max_a.also[0].value", "inf is no number"),
    Case("chips", "sum_source_max_a = 0.1", "sum_source_max_a = 5000", "group[0].sum_source_max_a", "5000 A cannot be a current."),
    Case("chips", "clock_hz = 1e6", "clock_hz = 0", "pwm[0].clock_hz", "0 Hz cannot be a frequency."),
    Case("chips", "counter_bits = 8", "counter_bits = 0", "pwm[0].counter_bits", "0 cannot be a number of bits."),
    Case("chips", "vih_min = { frac = 0.75", "vih_min = { frac = 7.5", "electrical.vih_min.frac", "7.5 cannot be a share."),
    Case("chips", 'state = "float"', 'state = "float", duration_s = 0', "pad[0].boot[0].duration_s",
         "0 s cannot be a time. It must be more than 0"),
    Case("boards", 'order_from = "top"', 'order_from = "top"\nlength_m = 68.6', "length_m", "68.6 m cannot be a size."),
    Case("boards", 'pad = "P1"', 'pad = "P1"\nat_m = [0.01, nan]', "onboard[0].at_m[1]", "nan is no number to calculate with."),
    Case("parts", "addresses = [64, 65]", "addresses = [64, 650]", "part[0].i2c.addresses[1]", "650 cannot be a bus address of 7 bits."),
    Case("parts", "supply_v = { min = 3,", "supply_v = { min = -3,", "part[0].supply_v.min", "-3 V cannot be a supply voltage."),
    Case("parts", "current_a = {", 'facts = { coil_ohm = { value = 0, src = "pds" } }\ncurrent_a = {', "part[0].facts.coil_ohm.value",
         "0 ohm cannot be a resistance."),
    Case("parts", "active = { value = 0.001", "active = { value = -1", "part[0].current_a.active.value", "-1 A cannot be a current."),
    Case("parts", "active = { value = 0.001", "active = { typ = 0.001", "part[0].current_a.active",
         "Every plan calculates with this figure. Give value."),
    # units
    Case("chips", "i_pin_sink_max_a = { value = 0.02", 'i_pin_sink_max_a = { unit = "mA", value = 20', "electrical.i_pin_sink_max_a.unit",
         "The key asks for a figure in A, and unit says 'mA'. Write the figure in A, unit = \"A\"."),
    Case("chips", "vdd_typ_v = { value = 3.3", 'vdd_typ_v = { unit = "A", value = 3.3', "electrical.vdd_typ_v.unit",
         "The key asks for a figure in V"),
    Case("parts", "current_a = {", 'facts = { gain_v_per_k = { value = 0.01, unit = "mV/K", src = "pds" } }\ncurrent_a = {',
         "part[0].facts.gain_v_per_k.unit", "The key asks for a figure in V/K, and unit says 'mV/K'."),
    # figures in order with their neighbours
    Case("chips", "vdd_min_v = { value = 3.0", "vdd_min_v = { value = 3.4", "electrical.vdd_typ_v",
         "vdd_min_v = 3.4 is above vdd_typ_v = 3.3. Put them in order."),
    Case("chips", "vdd_max_v = { value = 3.6", "vdd_max_v = { value = 3.2", "electrical.vdd_max_v",
         "vdd_typ_v = 3.3 is above vdd_max_v = 3.2."),
    Case("chips", "vdd_max_v = { value = 3.6,", 'vdd_max_v = { text = "see there",', "electrical.vdd_max_v",
         "Every plan calculates with this figure."),
    Case("chips", "min = 30000, typ = 45000, max = 80000", 'text = "some"', "electrical.pull_up_ohm",
         "A pull without a figure is unknown."),
    Case("chips", "v_min_v = 0, v_max_v = 3.3", "v_min_v = 3.3, v_max_v = 3.3", "adc[0].ranges[0].v_max_v",
         "v_min_v = 3.3 is the same as v_max_v = 3.3."),
    Case("chips", "vil_max = { frac = 0.25", "vil_max = { frac = 0.8", "electrical.vih_min",
         "A high begins at 2.475 V at vdd_typ_v = 3.3 V, not above the low of 2.64 V."),
    Case("chips", "vil_max = { frac = 0.25", "vil_max = { v = -0.1", "electrical.vil_max",
         "A low may reach -0.1 V at vdd_typ_v = 3.3 V: no signal is that low."),
    Case("chips", "vih_min = { frac = 0.75", "vih_min = { frac = 1.1", "electrical.vih_min",
         "A high begins at 3.63 V at vdd_typ_v = 3.3 V, above the supply. No pad of its own kind could drive it."),
    Case("chips", "vol_max = { v = 0.4", "vol_max = { v = -0.4", "electrical.vol_max",
         "A low output stands at -0.4 V at vdd_typ_v = 3.3 V."),
    Case("chips", "voh_min = { frac = 0.8", "voh_min = { frac = 0.0", "electrical.voh_min",
         "A high output stands at 0 V at vdd_typ_v = 3.3 V, not above the low of 0.4 V."),
    Case("chips", "voh_min = { frac = 0.8", "voh_min = { frac = 1.2", "electrical.voh_min",
         "A high output stands at 3.96 V at vdd_typ_v = 3.3 V, above the supply. It must be within the supply."),
    Case("chips", "vin_max = { frac = 1.0", "vin_max = { frac = 0.1", "electrical.vin_max",
         "The pad stands less at vdd_typ_v = 3.3 V than a high needs."),
    Case("boards", 'direction = "out"', 'direction = "out"\nv_min_v = 5\nv_max_v = 3', "supply[0].v_max_v",
         "v_min_v = 5 is above v_max_v = 3."),
    Case("boards", 'direction = "out"', 'direction = "out"\nv_min_v = -1', "supply[0].v_min_v", "-1 V cannot be a supply voltage."),
    Case("parts", "min = 3, max = 5", "min = 5, max = 3", "part[0].supply_v.max", "min = 5 is above max = 3."),
    Case("parts", 'role = "SDA"', 'role = "SDA"\nvil = { v = 2, src = "pds" }\nvih = { v = 1, src = "pds" }', "part[0].line[0].vih",
         "vil is 2 V and vih 1 V at a supply of 3 V. vil must be below vih."),
    Case("parts", 'role = "SDA"', 'role = "SDA"\nvih = { frac = 1, v = -4, src = "pds" }', "part[0].line[0].vih",
         "This is -1 V at a supply of 3 V."),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.kind}-{case.key or 'toml'}-{case.new[:20]}")
def test_broken_file_is_refused_with_its_message(case: Case) -> None:
    faults = faults_of(case.kind, broken(case.kind, case.old, case.new))
    found = {fault.key: str(fault).split("\n", 1)[1].strip() for fault in faults}
    assert case.key in found, found
    assert case.words in found[case.key]


@pytest.mark.parametrize("module", [validate, electrical, figures], ids=lambda module: module.__name__.rpartition(".")[2])
def test_every_message_of_the_validator_has_a_case(module: ModuleType) -> None:
    # The words of each report of the module, values left open, must occur in a case.
    text = Path(module.__file__ or "").read_text(encoding="utf-8")
    calls = re.findall(r"(?:report|before)\(\s*\(.*?\),\s*f?(\"[^\"]+\")|report\((?:path|here), f?(\"[^\"]+\")", text)
    words = [case.words for case in CASES]
    assert len(calls) > 3 * (module is not figures)
    untested = [call for pair in calls for call in pair if call and not any(_fits(call.strip('"'), word) for word in words)]
    assert untested == []


def _fits(template: str, words: str) -> bool:
    pattern = ".*".join(re.escape(piece) for piece in re.split(r"\{[^}]*\}", template))
    return re.search(pattern, words) is not None


def test_all_faults_of_a_file_come_at_once_with_their_lines() -> None:
    text = CHIP.replace('maker = "Example"', 'makr = "Example"').replace("ram_bytes = 2048", 'ram_bytes = "2048"')
    faults = faults_of("chips", text)
    assert {fault.key: fault.line for fault in faults} == {"makr": 3, "ram_bytes": 7}
    assert {fault.key for fault in faults_of("chips", broken("chips", 'maker = "Example"\n', ""))} == {"maker"}
    fault = faults_of("chips", broken("chips", "min = 30000", "min = 50000"))[0]
    assert str(fault).startswith("chips/ex1.toml:46  electrical.pull_up_ohm\n    Minimum")


def test_sense_faults_also_come_all_at_once() -> None:
    text = CHIP.replace("min = 30000", "min = 50000").replace("pads = [0, 1]", "pads = [0, 7]").replace('pool = "TIMER0"', 'pool = "T"')
    assert {fault.key for fault in faults_of("chips", text)} == {"electrical.pull_up_ohm", "group[0].pads", "pad[0].pwm"}


def test_fault_in_a_part_names_the_part_and_its_line() -> None:
    fault = faults_of("parts", broken("parts", "value = 0.001, ", ""))[0]
    assert fault.wrong == "This fact says nothing."
    assert fault.key == "part[0].current_a.active"
    assert fault.line == 24


# ------------------------------------------------------------------------------ between files


BETWEEN = [
    Case("boards", 'chip = "EX1"', 'chip = "EX2"', "chip", "No chip is called 'EX2'. Did you mean EX1?"),
    Case("boards", 'pad = "P0"', 'pad = "P9"', "header[0].pad", "EX1 has no pad 'P9'."),
    Case("boards", 'pad = "P1"', 'pad = "Q1"', "onboard[0].pad", "EX1 has no pad 'Q1'."),
    Case("boards", 'pads = ["P2"]', 'pads = ["P22"]', "reserve[0].pads[0]", "EX1 has no pad 'P22'. Did you mean P2?"),
    Case("parts", 'see = "button"', 'see = "buton"', "sensor.see", "No part is called 'buton'. Did you mean button?"),
    Case("boards", "logic_v = 3.3", "logic_v = 5", "logic_v", "EX1 runs at 3 V to 3.6 V, not at 5 V."),
    Case(
        "boards",
        'use = "sensor"',
        'use = "sensor"\nblocks = ["UART1"]',
        "reserve[0].blocks[0]",
        "EX1 has no bus block 'UART1'. Did you mean UART0?",
    ),
]


@pytest.mark.parametrize("case", BETWEEN, ids=lambda case: case.key)
def test_reference_that_leads_nowhere_is_refused(case: Case) -> None:
    text = broken(case.kind, case.old, case.new)
    files = [FactsFile(kind, Path(kind) / NAMES[kind], text if kind == case.kind else GOOD[kind], True) for kind in GOOD]
    (fault,) = [fault for _, fault in check_catalogue(catalogue_of(**{case.kind: text}), files)]
    assert fault.key == case.key
    assert case.words in str(fault)
    # The line is that of the text that was put in.
    assert fault.file == f"{case.kind}/{NAMES[case.kind]}"
    lines = text.splitlines()
    assert fault.line is not None
    assert lines[fault.line - 1] == next(line for line in lines if case.new.splitlines()[-1] in line)


def test_value_without_source_has_its_line() -> None:
    text = BOARD.replace('order_from = "top"', 'order_from = "top"\nlength_m = 0.05').replace(
        'pad = "P1"\nsrc = "guide"\nseen = "read"', 'pad = "P1"'
    )
    files = [FactsFile(kind, Path(kind) / NAMES[kind], text if kind == "boards" else GOOD[kind], True) for kind in GOOD]
    lines = text.splitlines()
    found = {fault.key: fault.line for fault in uncited(catalogue_of(boards=text), files)}
    assert found == {"length_m": lines.index("length_m = 0.05") + 1, "onboard.led.P1": lines.index("[[onboard]]") + 1}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("schema = 1\npart = \n", 2),
        ("schema = 1\npart = 'x", 2),
        ("a = " + "[" * 2000 + "]" * 2000, None),
        ("a = " + "9" * 5000, None),
    ],
    ids=["no value", "open string", "deep brackets", "long number"],
)
def test_text_that_is_not_toml_has_its_line(text: str, line: int | None) -> None:
    (fault,) = faults_of("chips", text)
    assert fault.wrong.startswith("This is not valid TOML: ")
    assert fault.line == line


@pytest.mark.parametrize(
    ("kind", "old", "new", "key"),
    [
        ("chips", 'vdd_typ_v = { value = 3.3, src = "ds", seen = "read" }', "vdd_typ_v = { value = 3.3 }", "electrical.vdd_typ_v"),
        ("chips", 'clock_hz = 1e6\ncounter_bits = 8\nsrc = "ds"\nseen = "read"', "clock_hz = 1e6\ncounter_bits = 8", "pwm.TIMER0"),
        ("boards", 'what = "led"\npad = "P1"\nsrc = "guide"\nseen = "read"', 'what = "led"\npad = "P1"', "onboard.led.P1"),
        ("parts", 'role = "SCL"\nsrc = "pds"\nseen = "read"', 'role = "SCL"', "sensor.line.SCL"),
    ],
)
def test_value_without_source_is_listed(kind: str, old: str, new: str, key: str) -> None:
    faults = uncited(catalogue_of(**{kind: broken(kind, old, new)}))
    assert [(fault.key, fault.wrong) for fault in faults] == [(key, "This value names no source.")]


def test_shipped_file_that_is_broken_stops_the_load() -> None:
    files = [FactsFile(kind, Path(kind) / NAMES[kind], GOOD[kind], True) for kind in ("chips", "boards")]
    files.append(FactsFile("parts", Path("parts/invented.toml"), broken("parts", 'role = "SDA"', 'role = "DATA"'), True))
    with pytest.raises(FactsError, match="is not a role on i2c"):
        read_files(files)


def test_command_lists_faults_and_says_no(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "chips"
    folder.mkdir()
    good, bad = folder / "ex1.toml", folder / "ex2.toml"
    good.write_text(CHIP, encoding="utf-8")
    bad.write_text(broken("chips", 'part = "EX1"', 'part = "EX3"'), encoding="utf-8")
    assert validate._main([str(good)]) == 0
    assert capsys.readouterr().out == "1 file, 0 faults\n"
    assert validate._main([str(good), str(bad)]) == 1
    out = capsys.readouterr().out
    assert out.endswith("2 files, 1 fault\n")
    assert "The file is called ex2.toml. Call it ex3.toml." in out
