"""Oracle: Debian's arduino-core-avr (pin tables) and avr-libc (device headers) against our AVR chips and boards.

Sources, read when the test runs:
- /usr/share/arduino/hardware/arduino/avr/variants/*/pins_arduino.h  (package arduino-core-avr)
- /usr/lib/avr/include/avr/io*.h  (package avr-libc)
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Chip, Pad

Text = Callable[[str, str], str]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]

CATALOGUE = load_catalogue()

VARIANT = {
    "atmega328p-32pin": "standard",
    "atmega328p-narrow-30pin": "eightanaloginputs",
    "atmega328p-3v3-8mhz-narrow": "eightanaloginputs",
    "atmega2560-54pin": "mega",
    "atmega32u4-32pin": "leonardo",
    "atmega32u4-narrow-24pin": "leonardo",
    "atmega32u4-narrow-34pin": "micro",
    "attiny85-dip8": "gemma",
}
"""Our boards and the pin table their usual firmware core takes."""

HEADER = {"ATmega328P": "iom328p.h", "ATmega2560": "iom2560.h", "ATmega32U4": "iom32u4.h", "ATtiny85": "iotn85.h"}
"""Our AVR chips and their device headers."""

BOARD_EXPLAINED: dict[str, dict[str, str]] = {
    "atmega32u4-narrow-24pin": {
        "LED: ours ['', 'PB0', 'PD5'], theirs PC7": "PC7 is not on this board's headers and carries no LED; the table is a larger board's",
    },
    "attiny85-dip8": {
        "LED: ours [], theirs PB1": "ours is the bare chip, the table belongs to a board with an LED",
    },
}

CHIP_EXPLAINED: dict[str, dict[str, str]] = {
    "ATmega32U4": {
        "ADC channels on port pads: only theirs has 2": "the header defines a disable bit, but the package has no pad for this channel",
        "ADC channels on port pads: only theirs has 3": "the header defines a disable bit, but the package has no pad for this channel",
    },
}


# ------------------------------------------------------------------------------ reading the pin tables


@dataclass(frozen=True)
class PinTable:
    """What a pins_arduino.h says: for each digital pin its pad and timer, and the named pins."""

    pads: list[str]
    timers: list[str]
    channels: list[int]
    named: dict[str, int]
    interrupts: dict[int, int]


def _conditions(text: str) -> Iterator[str]:
    """Yield the lines that are compiled for a chip other than the ATmega8."""
    keep = [True]
    for line in text.splitlines():
        if re.match(r"\s*#\s*if defined\(__AVR_ATmega8__\)", line):
            keep.append(False)
        elif re.match(r"\s*#\s*if", line):
            keep.append(True)
        elif re.match(r"\s*#\s*else", line):
            keep[-1] = not keep[-1]
        elif re.match(r"\s*#\s*endif", line):
            keep.pop()
        elif all(keep):
            yield re.sub(r"//.*|/\*.*?\*/", "", line)


def _array(text: str, name: str) -> list[str]:
    found = re.search(name + r"\[\]\s*=\s*\{(.*?)\}", text, re.DOTALL)
    return [item.strip() for item in found[1].split(",") if item.strip()] if found else []


def read_pin_table(debian_text: Text, variant: str) -> PinTable:
    """Read a variant, following its include of another variant; later definitions win."""
    root = "/usr/share/arduino/hardware/arduino/avr/variants"
    raw = debian_text("arduino-core-avr", f"{root}/{variant}/pins_arduino.h")
    if base := re.search(r'#include "\.\./(\w+)/pins_arduino\.h"', raw):
        raw = debian_text("arduino-core-avr", f"{root}/{base[1]}/pins_arduino.h") + raw
    text = "\n".join(_conditions(raw))
    bits = re.findall(r"\d+", " ".join(_array(text, "digital_pin_to_bit_mask_PGM")))
    pads = [port + bit for port, bit in zip(_array(text, "digital_pin_to_port_PGM"), bits, strict=False)]
    named = {name: int(pin) for name, pin in re.findall(r"#define\s+(PIN_\w+|LED_BUILTIN\w*)\s+\(?(\d+)\)?", text)}
    macro = re.search(r"#define\s+digitalPinToInterrupt\(p\)(.*)", text)
    interrupts = {int(pin): int(line) for pin, line in re.findall(r"\(p\)\s*==\s*(\d+)\s*\?\s*(\d+)", macro[1] if macro else "")}
    return PinTable(
        pads=pads,
        timers=_array(text, "digital_pin_to_timer_PGM"),
        channels=[int(item) for item in _array(text, "analog_pin_to_channel_PGM")],
        named=named,
        interrupts=interrupts,
    )


def test_pin_table_reader_sees_the_whole_table(debian_text: Text) -> None:
    # counted by hand in the header of the 32-pin board: 20 pins, six of them on a timer
    table = read_pin_table(debian_text, "standard")
    assert len(table.pads) == 20
    assert [pin for pin, timer in enumerate(table.timers) if timer != "NOT_ON_TIMER"] == [3, 5, 6, 9, 10, 11]
    assert table.interrupts == {2: 0, 3: 1}


# ------------------------------------------------------------------------------ boards


def _label_pins(label: str) -> Iterator[tuple[str, int]]:
    """Names in a header label that a pin table knows: ``D`` or ``A`` and the number."""
    for word in re.split(r"[ /()]+", label):
        if found := re.fullmatch(r"(D|A|)(\d+)", word):
            yield found[1] or "D", int(found[2])


def board_disagreements(board_id: str, table: PinTable) -> Iterator[str]:
    board = CATALOGUE.boards[board_id]
    chip = CATALOGUE.chips[board.chip]
    pads = {pad.name: pad for pad in chip.pad}
    for pin in board.header:
        if not pin.pad or board_id == "attiny85-dip8":  # its labels number the package, not the core's pins
            continue
        for kind, number in _label_pins(pin.label):
            theirs = _pad_of(table, kind, number)
            if theirs is not None and theirs != pin.pad:
                yield f"label {pin.label}: ours {pin.pad}, theirs {theirs}"
            if kind == "A" and not _same_channel(pads[pin.pad], table, number):
                yield f"label {pin.label}: ADC channel differs"
    yield from _timer_disagreements(table, pads)
    yield from _role_disagreements(table, pads)
    led = table.named.get("LED_BUILTIN")
    leds = {item.pad for item in board.onboard if item.what == "led"}
    if led is not None and table.pads[led] not in leds:
        yield f"LED: ours {sorted(leds)}, theirs {table.pads[led]}"
    for digital, line in table.interrupts.items():
        if digital < len(table.pads) and not _has_interrupt(pads[table.pads[digital]]):
            yield f"interrupt {line}: {table.pads[digital]} has none in ours"


def _pad_of(table: PinTable, kind: str, number: int) -> str | None:
    digital = table.named.get(f"PIN_A{number}", -1) if kind == "A" else number
    return table.pads[digital] if 0 <= digital < len(table.pads) else None


def _same_channel(pad: Pad, table: PinTable, number: int) -> bool:
    channel = table.channels[number] if table.channels else number
    return pad.adc is not None and pad.adc.channel == channel


def _timer_disagreements(table: PinTable, pads: dict[str, Pad]) -> Iterator[str]:
    theirs: dict[str, set[str]] = {}  # a pad can stand in the table twice, once with its timer
    for name, timer in zip(table.pads, table.timers, strict=False):
        theirs.setdefault(name, set()).update({timer.removeprefix("TIMER")} - {"NOT_ON_TIMER"})
    for name, timers in theirs.items():
        ours = {use.pool.removeprefix("TC") + use.channel for use in pads[name].pwm if use.channel}
        if not timers <= ours or bool(timers) != bool(ours):
            yield f"{name}: ours timers {sorted(ours)}, theirs {sorted(timers)}"


_ROLES = {
    "PIN_SPI_SS": "SPI0_SS", "PIN_SPI_MOSI": "SPI0_MOSI", "PIN_SPI_MISO": "SPI0_MISO", "PIN_SPI_SCK": "SPI0_SCK",
    "PIN_WIRE_SDA": "I2C0_SDA", "PIN_WIRE_SCL": "I2C0_SCL",
}  # fmt: skip


def _role_disagreements(table: PinTable, pads: dict[str, Pad]) -> Iterator[str]:
    for name, function in _ROLES.items():
        digital = table.named.get(name)
        if digital is not None and function not in pads[table.pads[digital]].functions:
            yield f"{function}: theirs {table.pads[digital]}"


def _has_interrupt(pad: Pad) -> bool:
    return pad.interrupt and any(name.startswith("INT") for name in pad.functions)


@pytest.mark.parametrize("board_id", VARIANT)
def test_board_agrees_with_the_cores_pin_table(board_id: str, debian_text: Text, settle: Settle) -> None:
    table = read_pin_table(debian_text, VARIANT[board_id])
    settle(board_disagreements(board_id, table), BOARD_EXPLAINED.get(board_id, {}))


def test_every_avr_board_has_a_pin_table() -> None:
    ours = {board.id for board in CATALOGUE.boards.values() if board.chip in HEADER}
    assert ours == set(VARIANT)


# ------------------------------------------------------------------------------ chips


def _defined(text: str, pattern: str) -> set[str]:
    return {match[1] for match in re.finditer(rf"^\s*#\s*define\s+({pattern})\b", text, re.MULTILINE)}


def _number(text: str, name: str) -> int:
    """Value of a defined constant: numbers and other constants joined by plus and minus."""
    found = re.search(rf"^\s*#\s*define\s+{name}\s+(.+?)(?:/\*.*)?$", text, re.MULTILINE)
    assert found, name
    total, sign = 0, 1
    for word in re.findall(r"[+-]|\w+", found[1]):
        if word in "+-":
            sign = 1 if word == "+" else -1
        else:
            total += sign * (int(word, 0) if word[0].isdigit() else _number(text, word))
    return total


def chip_disagreements(chip: Chip, text: str) -> Iterator[str]:
    functions = {name for pad in chip.pad for name in pad.functions}
    yield from _differ("port pads", _port_pads(chip), {name.removeprefix("DD") for name in _defined(text, r"DD[A-L][0-7]")}, strip="P")
    yield from _differ("pin-change lines", _matching(functions, r"PCINT\d+"), _defined(text, r"PCINT\d+"))
    yield from _differ("interrupt lines", _matching(functions, r"INT\d"), {v[:-5] for v in _defined(text, r"INT\d_vect")})
    ours = {str(pad.adc.channel) for pad in chip.pad if pad.adc and not pad.analog_only}
    yield from _differ("ADC channels on port pads", ours, {name[3:-1] for name in _defined(text, r"ADC\d+D")})
    timers = {name[:-1] for name in _defined(text, r"OCR\d[A-D]")}
    yield from _differ("timers", {"OCR" + pool.id[2] for pool in chip.pwm}, timers)
    serial = {"UDR" + bus.id[-1] for bus in chip.bus if bus.kind == "uart" and bus.wiring == "fixed"}
    yield from _differ("serial ports", serial, _defined(text, r"UDR\d"))
    ram = _number(text, "RAMEND") - _number(text, "RAMSTART") + 1
    if chip.ram_bytes != ram:
        yield f"RAM: ours {chip.ram_bytes}, theirs {ram}"
    flash = _number(text, "FLASHEND") + 1
    if chip.flash_bytes != flash:
        yield f"flash: ours {chip.flash_bytes}, theirs {flash}"
    if bool(_defined(text, "PUD")) != any(pad.pull_up for pad in chip.pad):
        yield "pull-up disable bit without pull-ups"


def _port_pads(chip: Chip) -> set[str]:
    return {pad.name for pad in chip.pad if re.fullmatch(r"P[A-L][0-7]", pad.name)}


def _matching(names: set[str], pattern: str) -> set[str]:
    return {name for name in names if re.fullmatch(pattern, name)}


def _differ(what: str, ours: set[str], theirs: set[str], strip: str = "") -> Iterator[str]:
    ours = {name.removeprefix(strip) for name in ours}
    for name in ours - theirs:
        yield f"{what}: only ours has {name}"
    for name in theirs - ours:
        yield f"{what}: only theirs has {name}"


@pytest.mark.parametrize("part", HEADER)
def test_chip_agrees_with_the_device_header(part: str, debian_text: Text, settle: Settle) -> None:
    text = debian_text("avr-libc", f"/usr/lib/avr/include/avr/{HEADER[part]}")
    settle(chip_disagreements(CATALOGUE.chips[part], text), CHIP_EXPLAINED.get(part, {}))


@pytest.mark.parametrize("part", HEADER)
def test_every_pad_with_an_interrupt_line_says_it_interrupts(part: str) -> None:
    # property of these chips: every interrupt comes in through a PCINT or INT line
    for pad in CATALOGUE.chips[part].pad:
        assert pad.interrupt == any(re.fullmatch(r"(PC)?INT\d+", name) for name in pad.functions), pad.name
