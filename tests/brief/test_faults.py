"""Every kind of fault a brief can have: its line, its key, its words, its nearest right spelling.

Each brief has one fault; ``#<`` marks the line on which it must be reported.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from pinwright.errors import Fault

Read = Callable[[str], list[Fault]]

AIR = '[[part]]\nname = "air"\nkind = "bme280"\n'
OWN = '[[part]]\nname = "valve"\n'
KEYPAD = '[[part]]\nname = "keys"\nkind = "matrix-keypad-4x4"\n'
BME = "Temperature, humidity and air pressure sensor BME280"
OFF = 'off_level = "low", "high" or "released"'
LINE = '[[part.line]]\nname = "IN"\ndirection = "out"\nsignal = "digital"\n'


@dataclass(frozen=True)
class Case:
    """A brief below its title (or the whole of it, where it begins with ``!``) and the one fault it has."""

    text: str
    key: str
    wrong: str
    right: str = ""
    guess: str = ""

    @property
    def whole(self) -> str:
        return self.text[1:] if self.text.startswith("!") else f'title = "Aquarium"\n{self.text}'

    @property
    def line(self) -> int:
        rows = [number for number, row in enumerate(self.whole.split("\n"), 1) if "#<" in row]
        assert len(rows) == 1
        return rows[0]


def line(**changed: str) -> str:
    """A line of a part of the maker's own; a value may carry the mark."""
    values = {"name": '"IN"', "direction": '"out"', "signal": '"digital"'} | changed
    return "[[part.line]]\n" + "".join(f"{key} = {value}\n" for key, value in values.items() if value)


SHAPE = [
    # missing and unknown keys
    Case(f"!#<\n{AIR}", "title", "The key 'title' is missing.", 'Write title = "…".'),
    Case("!title = 'x' #<", "part", "There are no parts.", "Write [[part]] for each thing you wire to the board."),
    Case("part = [] #<", "part", "There are no parts.", "Write [[part]] for each thing you wire to the board."),
    Case('[[part]] #<\nkind = "bme280"', "part[0].name", "The key 'name' is missing.", 'Write name = "…".'),
    Case(
        f'{OWN}[[part.line]] #<\nname = "IN"\nsignal = "digital"',
        "part[0].line[0].direction",
        "The key 'direction' is missing.",
        "Write one of: in, out, bidir, open-drain, analog-in, analog-out.",
    ),
    Case(f"{AIR}wier = '2 m' #<", "part[0].wier", "Nobody knows the key 'wier' here.", "", "wire"),
    Case(
        OWN + line(directoin='"in" #<', direction=""),
        "part[0].line[0].directoin",
        "Nobody knows the key 'directoin' here.",
        "",
        "direction",
    ),
    Case(f"{OWN}{LINE}[part.chnage.IN] #<\npull = 'up'", "part[0].chnage", "Nobody knows the key 'chnage' here.", "", "change"),
    Case(
        f"colour = 1 #<\n{AIR}",
        "colour",
        "Nobody knows the key 'colour' here.",
        "Known here: title, supply, use, stock, firmware, board, part.",
    ),
    Case(
        f"[supply]\nflavour = 1 #<\n{AIR}",
        "supply.flavour",
        "Nobody knows the key 'flavour' here.",
        "Known here: source, voltage, current, kind, pin, cells, capacity, wire.",
    ),
    Case(f"radio = 'wifi' #<\n{AIR}", "radio", "Nobody knows the key 'radio' here.", "It belongs in [use]."),
    Case(f"[use]\nbudget = '3 EUR' #<\n{AIR}", "use.budget", "Nobody knows the key 'budget' here.", "It belongs in [board]."),
    Case(f"[use]\nvoltage = '5 V' #<\n{AIR}", "use.voltage", "Nobody knows the key 'voltage' here.", "It belongs in [supply]."),
    Case(f"wire = '5 m' #<\n{AIR}", "wire", "Nobody knows the key 'wire' here.", "It belongs in [[part]]."),
    Case(f"{AIR}use = 1 #<", "part[0].use", "Nobody knows the key 'use' here.", "It belongs at the top, above the first table."),
    Case(
        f"{AIR}pwm = '1 kHz' #<",
        "part[0].pwm",
        "Nobody knows the key 'pwm' here.",
        "It belongs in [part.change.LINE], or in [[part.line]] of a part of your own.",
    ),
    Case(f"{AIR}signal = 'i2c' #<", "part[0].signal", "Nobody knows the key 'signal' here.", "It belongs in [[part.line]]."),
    Case(
        f'"a\\nb" = 1 #<\n{AIR}',
        r"'a\nb'",
        r"Nobody knows the key 'a\nb' here.",
        "Known here: title, supply, use, stock, firmware, board, part.",
    ),
    # words that are not among those known
    Case(
        f"[supply]\nsource = 'batery' #<\n{AIR}",
        "supply.source",
        "'batery' is not known here.",
        "Write one of: usb, adapter, battery, lithium cell, other.",
        "battery",
    ),
    Case(
        f"[use]\nradio = 'wfi' #<\n{AIR}",
        "use.radio",
        "'wfi' is not known here.",
        "Write one of: none, wifi, ble, bluetooth-classic, 802.15.4.",
        "wifi",
    ),
    Case(
        f"[use]\nradio = ['wifi',\n'zigzag'] #<\n{AIR}",
        "use.radio[1]",
        "'zigzag' is not known here.",
        "Write one of: none, wifi, ble, bluetooth-classic, 802.15.4.",
    ),
    Case(f"[use]\nconsole = true #<\n{AIR}", "use.console", "true is not known here.", "Write one of: keep, free."),
    Case(
        f"{AIR}power_up = 'must stay of' #<",
        "part[0].power_up",
        "'must stay of' is not known here.",
        "Write one of: must stay off, may twitch, any.",
        "must stay off",
    ),
    Case(
        OWN + line(signal='"digitl" #<'),
        "part[0].line[0].signal",
        "'digitl' is not known here.",
        "Write one of: digital, pwm, analog, i2c, spi, uart, onewire, pulse, i2s, touch.",
        "digital",
    ),
    # wrong kinds of value
    Case(f"!title = 5 #<\n{AIR}", "title", "5 does not fit: a text in quotes is wanted.", 'Write "5".'),
    Case(f"!title = true #<\n{AIR}", "title", "true does not fit: a text in quotes is wanted."),
    Case(f"!title = ['x'] #<\n{AIR}", "title", "a list does not fit: a text in quotes is wanted."),
    Case(f"!title = 2026-11-25 #<\n{AIR}", "title", "the date or time 2026-11-25 does not fit: a text in quotes is wanted."),
    Case(f"!title = '' #<\n{AIR}", "title", "'' does not fit: it must not be empty."),
    Case(f"[use]\nsleeping = 'yes' #<\n{AIR}", "use.sleeping", "'yes' does not fit: true or false is wanted, without quotes."),
    Case(f"[use]\nsleeping = 1 #<\n{AIR}", "use.sleeping", "1 does not fit: true or false is wanted, without quotes."),
    Case(f"{AIR}count = '2' #<", "part[0].count", "'2' does not fit: a whole number is wanted, without quotes.", "Write 2."),
    Case(f"{AIR}count = 2.0 #<", "part[0].count", "2.0 does not fit: a whole number is wanted, without quotes."),
    Case(f"{AIR}count = true #<", "part[0].count", "true does not fit: a whole number is wanted, without quotes."),
    Case(f"{AIR}count = nan #<", "part[0].count", "nan does not fit: a whole number is wanted, without quotes."),
    Case(f"{AIR}count = 0 #<", "part[0].count", "0 does not fit: it must be at least 1."),
    Case(f"{AIR}count = 65 #<", "part[0].count", "65 does not fit: it must be at most 64."),
    Case(f"{AIR}count = 0x{'F' * 900} #<", "part[0].count", "a number this long does not fit: it must be at most 64."),
    Case(f"{KEYPAD}wires = {{ COL = -1 }} #<", "part[0].wires.COL", "-1 does not fit: it must be at least 0."),
    Case(f"{AIR}pins = {{ SDA = 4 }} #<", "part[0].pins.SDA", "4 does not fit: a text in quotes is wanted.", 'Write "4".'),
    Case(f"{AIR}pins = 'GP4' #<", "part[0].pins", "'GP4' does not fit: a table is wanted.", "Write [part.pins] and its keys below."),
    Case(f"{AIR}connect = 'SDA' #<", "part[0].connect", "'SDA' does not fit: a list in square brackets is wanted.", 'Write ["SDA"].'),
    Case(f"{AIR}connect = {{}} #<", "part[0].connect", "a table does not fit: a list in square brackets is wanted."),
    Case(
        f"[board]\nonly = 'esp01s' #<\n{AIR}",
        "board.only",
        "'esp01s' does not fit: a list in square brackets is wanted.",
        'Write ["esp01s"].',
    ),
    Case(f"[board]\nonly = [1] #<\n{AIR}", "board.only[0]", "1 does not fit: a text in quotes is wanted.", 'Write "1".'),
    Case(f"board = 'esp01s' #<\n{AIR}", "board", "'esp01s' does not fit: a table is wanted.", "Write [board] and its keys below."),
    Case(
        f"{AIR}[[supply]] #<\nvoltage = '5 V'", "supply", "There is only one table of this name.", "Write [supply], with single brackets."
    ),
    Case("[part] #<\nname = 'air'\nkind = 'bme280'", "part", "There can be several of these.", "Write [[part]], with two brackets."),
    Case("part = 'air' #<", "part", "'air' does not fit: tables are wanted.", "Write [[part]], with two brackets."),
    Case("part = ['air'] #<", "part[0]", "'air' does not fit: a table is wanted.", "Write [[part]] and its keys below."),
    Case(f"{OWN}[part.line] #<\nname = 'IN'", "part[0].line", "There can be several of these.", "Write [[part.line]], with two brackets."),
    Case(
        f"{AIR}change = {{ SDA = 'up' }} #<",
        "part[0].change.SDA",
        "'up' does not fit: a table is wanted.",
        "Write [part.change.SDA] and its keys below.",
    ),
    Case(OWN + line(pwm_bits="21 #<", signal='"pwm"'), "part[0].line[0].pwm_bits", "21 does not fit: it must be at most 20."),
    Case(
        f"{AIR}[part.change.SDA]\ninterrupt = true #<",
        "part[0].change.SDA.interrupt",
        "true is not known here.",
        "Write one of: no, optional, yes.",
    ),
    # quantities
    Case(f"{AIR}wire = '2 mA' #<", "part[0].wire", "'2 mA' is in amperes, but this asks for metres. Write it like 2 m."),
    Case(f"{AIR}wire = 2 #<", "part[0].wire", '2 has no unit. Write it in quotes, like "2 m".'),
    Case(f"{AIR}wire = 0.5 #<", "part[0].wire", '0.5 has no unit. Write it in quotes, like "2 m".'),
    Case(f"{AIR}wire = true #<", "part[0].wire", 'A quantity is wanted here: a text like "2 m".'),
    Case(f"{AIR}wire = ['2 m'] #<", "part[0].wire", 'A quantity is wanted here: a text like "2 m".'),
    Case(f"{AIR}wire = inf #<", "part[0].wire", 'A quantity is wanted here: a text like "2 m".'),
    Case(f"{AIR}wire = 0x{'F' * 900} #<", "part[0].wire", 'A quantity is wanted here: a text like "2 m".'),
    Case(
        f"[supply]\ncurrent = '4O0 mA' #<\n{AIR}",
        "supply.current",
        "'4O0 mA' is not a number with a unit. It holds the letter O where a zero belongs. Write 400 mA.",
    ),
    Case(f"[supply]\nvoltage = '-5 V' #<\n{AIR}", "supply.voltage", "'-5 V' is not possible here: it must lie between 0 V and 1 kV."),
    Case(f"[use]\nambient = ['5 degC', '9'] #<\n{AIR}", "use.ambient[1]", "'9' has no unit. Write it like 25 degC."),
    Case(f"[use]\nambient = ['5 degC'] #<\n{AIR}", "use.ambient", "Two values are wanted, 1 given."),
    Case(f"[use]\nambient = ['5 degC', '6 degC', '7 degC'] #<\n{AIR}", "use.ambient", "Two values are wanted, 3 given."),
    Case(
        f"[use]\nambient = '5 degC' #<\n{AIR}",
        "use.ambient",
        "'5 degC' does not fit: two temperatures are wanted.",
        'Write them like ["5 degC", "40 degC"].',
    ),
    Case(f"[board]\nmax_length = 60 #<\n{AIR}", "board.max_length", '60 has no unit. Write it in quotes, like "2 m".'),
    Case(
        OWN + line(pwm='"1 mhz" #<', signal='"pwm"'),
        "part[0].line[0].pwm",
        "'1 mhz' cannot be meant: m is a thousandth. Did you mean 1 MHz?",
    ),
    Case(OWN + line(pwm='["1 kHz"] #<', signal='"pwm"'), "part[0].line[0].pwm", "Two values are wanted, 1 given."),
    Case(
        OWN + line(pwm="1000 #<", signal='"pwm"'),
        "part[0].line[0].pwm",
        "1000 does not fit: one or two frequencies are wanted.",
        'Write "1 kHz" or ["1 kHz", "5 kHz"].',
    ),
    Case(
        OWN + line(pull_resistor='"3V3" #<', pull='"up"'),
        "part[0].line[0].pull_resistor",
        "'3V3' is in volts, but this asks for ohms. Write it like 4k7.",
    ),
    # addresses
    Case(f"{AIR}address = 'seventy' #<", "part[0].address", "'seventy' is not an address. Write it like 0x40."),
    Case(f"{AIR}address = 0.5 #<", "part[0].address", "0.5 does not fit: an address is wanted.", "Write it like 0x40."),
    Case(f"{AIR}address = 0 #<", "part[0].address", "0x00 is not possible: a bus address has 7 bits, 0x03 to 0x77."),
    Case(f"{AIR}address = -1 #<", "part[0].address", "This number is not possible: a bus address has 7 bits, 0x03 to 0x77."),
    Case(
        f"{AIR}address = '0xEC' #<",
        "part[0].address",
        "0xEC is not possible: a bus address has 7 bits, 0x03 to 0x77. Written with 8 bits, as some data sheets do? Then it is 0x76.",
    ),
]

SENSE = [
    # boards
    Case(
        f"[board]\nonly = ['raspberry-pi-picoo'] #<\n{AIR}",
        "board.only[0]",
        "The catalogue has no board 'raspberry-pi-picoo'.",
        "",
        "raspberry-pi-pico",
    ),
    Case(
        f"[board]\nown = ['esp01s',\n'breadbin'] #<\n{AIR}",
        "board.own[1]",
        "The catalogue has no board 'breadbin'.",
        "'pinwright facts list boards' shows them all.",
    ),
    Case(
        f"[board]\nonly = ['esp01s']\navoid = ['esp01s'] #<\n{AIR}",
        "board.avoid[0]",
        "'esp01s' stands under only and under avoid.",
        "Take it out of one.",
    ),
    Case(
        f"[board]\nprefer = ['esp01s']\navoid = ['esp01s'] #<\n{AIR}",
        "board.avoid[0]",
        "'esp01s' stands under prefer and under avoid.",
        "Take it out of one.",
    ),
    Case(
        f"[board]\nbudget = 'twelve' #<\n{AIR}",
        "board.budget",
        "'twelve' is not an amount of money. Write it like 12 EUR (a number and a three-letter currency).",
    ),
    Case(
        f"[board]\nbudget = '€12' #<\n{AIR}",
        "board.budget",
        "'€12' is not an amount of money. Write it like 12 EUR (a number and a three-letter currency).",
    ),
    Case(
        f"[use]\nambient = ['40 degC', '5 degC'] #<\n{AIR}",
        "use.ambient",
        "The lowest temperature is above the highest.",
        "Write the lower one first.",
    ),
    # names and kinds
    Case(
        AIR + AIR.replace('"air"', '"air" #<'),
        "part[1].name",
        "Two parts are called 'air' (the other on line 3).",
        "Give each its own name.",
    ),
    Case(
        AIR + "count = 2\n" + AIR.replace('"air"', '"air 2" #<'),
        "part[1].name",
        "Two parts are called 'air 2' (the other on line 3).",
        "Give each its own name.",
    ),
    Case(
        "[[part]] #<\nname = 'ghost'",
        "part[0]",
        "'ghost' has neither a kind nor lines.",
        'Give kind = "…", or describe it with [[part.line]].',
    ),
    Case(
        f"{AIR}{LINE}".replace("[[part.line]]", "[[part.line]] #<"),
        "part[0].line",
        "'air' has a kind and lines of its own.",
        "Use [part.change.LINE] to change a line of a kind.",
    ),
    Case("[[part]]\nname = 'air'\nkind = 'bme28' #<", "part[0].kind", "The catalogue has no part 'bme28'.", "", "bme280"),
    Case(
        "[[part]]\nname = 'air'\nkind = 'qqqqqq' #<",
        "part[0].kind",
        "The catalogue has no part 'qqqqqq'.",
        "'pinwright facts search WORD' finds parts by what they do.",
    ),
    Case(
        "[[part]]\nname = 'more'\nkind = 'mcp23017-pins' #<",
        "part[0].kind",
        "{mcp23017-pins} has no wire to the controller.",
        "It needs no pin: leave it out of the brief.",
    ),
    # values a kind cannot have
    Case(f"{AIR}address = 0x40 #<", "part[0].address", f"{BME} cannot be at 0x40.", "It takes 0x76, 0x77."),
    Case(f"{KEYPAD}address = 0x40 #<", "part[0].address", "{matrix-keypad-4x4} has no bus address.", "Leave the key out."),
    Case(f"{AIR}supply = '12 V' #<", "part[0].supply", f"{BME} takes 1.71 to 3.6 V, not 12 V."),
    Case(f"{AIR}supply = '1 V' #<", "part[0].supply", f"{BME} takes 1.71 to 3.6 V, not 1 V."),
    Case(f"{AIR}baud = '9600 baud' #<", "part[0].baud", f"{BME} has no serial line.", "Leave the key out."),
    Case(f"{AIR}speed = '1 MHz' #<", "part[0].speed", "The catalogue knows the speed of this part.", "Leave the key out."),
    Case(
        "[[part]]\nname = 'fan'\nkind = 'fan-4wire-pwm'\npower_up = 'must stay off' #<",
        "part[0].power_up",
        "Nothing says at which level {fan-4wire-pwm} is off.",
        f"Add [part.change.LINE] with {OFF}; its lines: PWM.",
    ),
    Case(
        "[[part]]\nname = 'key'\nkind = 'push-button-momentary'\npower_up = 'must stay off' #<",
        "part[0].power_up",
        "The board drives no line of {push-button-momentary}, so it cannot keep it off.",
        "Leave the key out.",
    ),
    Case(
        "[[part]]\nname = 'fan'\nkind = 'fan-4wire-pwm'\n[part.change.PWM]\npower_up = 'must stay off' #<",
        "part[0].change.PWM.power_up",
        "Nothing says at which level the part is off.",
        f"Add {OFF}.",
    ),
    # lines and pins
    Case(
        f"{AIR}pins = {{ SDA = 'GP44' }} #<",
        "part[0].pins.SDA",
        "No board has a pin called 'GP44'.",
        "Write the label printed on the board, or the pad name.",
        "GP4",
    ),
    Case(f"{AIR}pins = {{ SDAA = 'GP4' }} #<", "part[0].pins.SDAA", "'air' has no line 'SDAA'.", "Its lines: SDA, SCL.", "SDA"),
    Case(f"{AIR}connect = [\n'SDA',\n'ALERT', #<\n]", "part[0].connect[1]", "'air' has no line 'ALERT'.", "Its lines: SDA, SCL."),
    Case(f"{AIR}leave_out = ['SLC'] #<", "part[0].leave_out[0]", "'air' has no line 'SLC'.", "Its lines: SDA, SCL.", "SCL"),
    Case(f"{KEYPAD}wires = {{ ROV = 2 }} #<", "part[0].wires.ROV", "'keys' has no line 'ROV'.", "Its lines: ROW, COL.", "ROW"),
    Case(f"{AIR}wires = {{ SDA = 2 }} #<", "part[0].wires.SDA", "Line 'SDA' is a single wire.", "Leave it out here."),
    Case(f"{AIR}[part.change.SDX] #<\npull = 'up'", "part[0].change.SDX", "'air' has no line 'SDX'.", "Its lines: SDA, SCL.", "SDA"),
    Case(
        f"{KEYPAD}pins = {{ ROW5 = 'GP4' }} #<",
        "part[0].pins.ROW5",
        "'keys' has no line 'ROW5'.",
        "Its lines: ROW1, ROW2, ROW3, ROW4, COL1, COL2, COL3, COL4.",
        "ROW4",
    ),
    Case(
        f"{KEYPAD}wires = {{ ROW = 1 }}\npins = {{ ROW2 = 'GP4' }} #<",
        "part[0].pins.ROW2",
        "'keys' has no line 'ROW2'.",
        "Its lines: ROW1, COL1, COL2, COL3, COL4.",
        "ROW1",
    ),
    Case(
        f"{AIR}leave_out = ['SDA']\npins = {{ SDA = 'GP4' }} #<",
        "part[0].pins.SDA",
        "Line 'SDA' stands under pins and under leave_out.",
        "Take it out of one.",
    ),
    Case(
        f"{AIR}leave_out = ['SDA']\nconnect = ['SDA'] #<",
        "part[0].connect[0]",
        "Line 'SDA' stands under connect and under leave_out.",
        "Take it out of one.",
    ),
    Case(
        f"{AIR}count = 2\npins = {{ SDA = 'GP4' }} #<",
        "part[0].pins",
        "Pins can only be fixed for one part at a time.",
        "Write the parts one by one.",
    ),
    # wishes for a line
    Case(
        "[[part]]\nname = 'fan'\nkind = 'fan-4wire-pwm'\n[part.change.PWM]\npwm = ['2 kHz', '1 kHz'] #<",
        "part[0].change.PWM.pwm",
        "The lowest frequency is above the highest.",
        "Write the lower one first.",
    ),
    Case(
        OWN + line(pwm='["2 kHz", "1 kHz"] #<', signal='"pwm"'),
        "part[0].line[0].pwm",
        "The lowest frequency is above the highest.",
        "Write the lower one first.",
    ),
    Case(
        OWN + line(pull='"up"', pull_resistor='"0R" #<'),
        "part[0].line[0].pull_resistor",
        "A pull resistor of 0 Ω is a bare wire.",
        "Write it like 4k7.",
    ),
    Case(
        OWN + line(pull='"up"', pull_resistor='"10 mohm" #<'),
        "part[0].line[0].pull_resistor",
        "A pull resistor of 10 mΩ is a bare wire.",
        "Write it like 4k7.",
    ),
    Case(
        OWN + line(pull='"none"', pull_resistor='"4k7" #<'),
        "part[0].line[0].pull_resistor",
        "There is a resistor, and pull says there is none.",
        "Take one of the two out.",
    ),
    Case(
        OWN + line(pull_resistor='"4k7" #<'),
        "part[0].line[0].pull_resistor",
        "Nothing says whether this resistor pulls up or down.",
        'Add pull = "up" or pull = "down".',
    ),
    # parts of the maker's own
    Case(OWN + line() + line(name='"IN" #<'), "part[0].line[1].name", "Two lines are called 'IN'.", "Give each its own name."),
    Case(
        OWN + "address = 0x40\n" + line(signal='"i2c"', role='"" #<'),
        "part[0].line[0].role",
        "A line on i2c needs a role.",
        "Write one of SCL, SDA.",
    ),
    Case(
        OWN + line(signal='"spi"', role='"TX" #<'),
        "part[0].line[0].role",
        "A line on spi needs a role.",
        "Write one of CS, MISO, MOSI, SCK.",
    ),
    Case(
        OWN + line(role='"SDA" #<'),
        "part[0].line[0].role",
        "A line with the signal digital has no role SDA.",
        "Leave the role out, or mend the signal.",
    ),
    Case(
        OWN.replace("[[part]]", "[[part]] #<") + line(signal='"i2c"', role='"SDA"'),
        "part[0].address",
        "A part of your own on I2C needs its address.",
        "Add address = 0x40 (its own).",
    ),
    Case(f"{OWN}address = 0x40 #<\n{line()}", "part[0].address", "No line of this part is on I2C.", "Leave the address out."),
    Case(
        OWN.replace("[[part]]", "[[part]] #<") + line(signal='"uart"', role='"TX"'),
        "part[0].baud",
        "A serial part of your own needs its rate.",
        'Add baud = "9600 baud".',
    ),
    Case(f"{OWN}baud = '9600 baud' #<\n{line()}", "part[0].baud", "No line of this part is serial.", "Leave the rate out."),
    Case(
        OWN + line(direction='"out" #<', signal='"analog"'),
        "part[0].line[0].direction",
        "Direction 'out' and signal 'analog' do not go together.",
        "Analog lines are analog-in or analog-out.",
    ),
    Case(
        OWN + line(direction='"analog-in" #<'),
        "part[0].line[0].direction",
        "Direction 'analog-in' and signal 'digital' do not go together.",
        "Analog lines are analog-in or analog-out.",
    ),
    Case(
        f"{OWN}power_up = 'must stay off' #<\n{line()}",
        "part[0].power_up",
        "No line says at which level the part is off.",
        "Add off_level to the line that switches it.",
    ),
    Case(
        OWN + line(power_up='"must stay off" #<'),
        "part[0].line[0].power_up",
        "Nothing says at which level the part is off.",
        "Add " + OFF + ".",
    ),
    Case(
        OWN + line(direction='"in"', power_up='"must stay off" #<'),
        "part[0].line[0].power_up",
        "The part drives this line; the board cannot keep it off.",
        "Leave the key out.",
    ),
    Case(
        OWN + line(direction='"in"', gives_high_of='"2 V"', gives_low_of='"2 V" #<'),
        "part[0].line[0].gives_low_of",
        "Its low is not below its high.",
    ),
    Case(
        OWN + line(takes_high_from='"2 V"', takes_low_up_to='"2.5 V" #<'),
        "part[0].line[0].takes_low_up_to",
        "The level it reads as low is not below the one it reads as high.",
    ),
    Case(
        OWN + line(direction='"in"', gives_high_of='"5 V"', highest='"3.3 V" #<'),
        "part[0].line[0].highest",
        "The highest voltage on the line is below the high the part gives.",
    ),
    Case(
        f"{OWN}{line()}[part.change.IN] #<\npull = 'up'",
        "part[0].change.IN",
        "A part of your own needs no change.",
        "Write it in the [[part.line]] itself.",
    ),
]


def titles(text: str, catalogue: object) -> str:
    """``{kind}`` stands for the title the catalogue gives it."""
    if text.startswith("{"):
        kind, rest = text[1:].split("}", 1)
        return catalogue.parts[kind].title + rest  # type: ignore[attr-defined]
    for kind in ("fan-4wire-pwm", "push-button-momentary"):
        text = text.replace(f"{{{kind}}}", catalogue.parts[kind].title)  # type: ignore[attr-defined]
    return text


@pytest.mark.parametrize("case", SHAPE + SENSE, ids=lambda case: f"{case.key}: {case.wrong}"[:70])
def test_fault(case: Case, faults: Read, catalogue: object) -> None:
    found = faults(case.whole)
    assert [(fault.line, fault.key) for fault in found] == [(case.line, case.key)]
    fault = found[0]
    assert fault.file == "tank.toml"
    right = titles(case.right, catalogue)
    guess = f" Did you mean {case.guess}?" if case.guess else ""
    assert str(fault).split("\n    ")[1] == f"{titles(case.wrong, catalogue)}{right and ' '}{right}{guess}"


def test_what_is_wrong_right_and_guessed_are_kept_apart(faults: Read) -> None:
    (unit,) = faults(f"title = 'x'\n{AIR}wire = '2 miles'")
    assert (unit.wrong, unit.right, unit.guess) == ("'2 miles': 'miles' is not a unit this asks for.", "Write it like 2 m.", "")
    (case,) = faults(f"title = 'x'\n{AIR}wire = '2 M'")
    assert (case.wrong, case.right, case.guess) == ("'2 M': 'M' is not a unit this asks for.", "", "2 m")
    (word,) = faults(f"title = 'x'\n{AIR}power_up = 'anny'")
    assert (word.wrong, word.right, word.guess) == ("'anny' is not known here.", "Write one of: must stay off, may twitch, any.", "any")
    (odd,) = faults(f"title = 'x'\n{AIR}wire = 'a. Write b'")
    assert (odd.wrong, odd.right) == ("'a. Write b' is not a number with a unit.", "Write it like 2 m.")


def test_every_healthy_brief_has_none(healthy: dict[str, str], faults: Read) -> None:
    assert len(healthy) >= 4
    assert {name: faults(text) for name, text in healthy.items()} == {name: [] for name in healthy}


@pytest.mark.parametrize("case", SHAPE + SENSE, ids=lambda case: f"{case.key}: {case.wrong}"[:70])
def test_no_word_of_the_machinery(case: Case, faults: Read) -> None:
    for fault in faults(case.whole):
        text = str(fault).casefold()
        for word in (
            "pydantic",
            "input should",
            "value error",
            "extra inputs",
            "tuple",
            "nonetype",
            "dict",
            "model",
            "literal",
            "namespace",
            "str ",
            "none)",
        ):
            assert word not in text


def test_how_a_fault_reads(faults: Read) -> None:
    found = faults(f"title = 'Aquarium'\n{AIR}connect = ['SDAA']\n")
    assert str(found[0]) == ("tank.toml:5  part[0].connect[0]\n    'air' has no line 'SDAA'. Its lines: SDA, SCL. Did you mean SDA?")
