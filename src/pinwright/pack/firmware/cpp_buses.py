"""Buses of a C++ programme: pins and clocks as each core takes them, and a question to every part whether it is there."""

from __future__ import annotations

from string import Template

from pinwright.pack.firmware.cpp_sketch import Sketch, block, comment, level, said
from pinwright.pack.firmware.model import Bus, Pin

__all__ = ["write_buses"]

_USUAL_FRAME = "8N1"


def write_buses(sketch: Sketch) -> None:
    """Set-up and probe of every bus."""
    buses = sketch.program.buses
    if not buses:
        return
    sketch.section("buses")
    for kind, write in (("i2c", _i2c), ("spi", _spi), ("uart", _uart), ("i2s", _i2s)):
        for index, bus in enumerate(bus for bus in buses if bus.kind == kind):
            write(sketch, bus, index)


def _name(bus: Bus, role: str) -> str:
    pin = bus.pin(role)
    return f"pins::{pin.snake}" if pin is not None else "-1"


def _usual(sketch: Sketch, bus: Bus) -> bool:
    """Whether a bus sits on the pins the core's object for it has, where these are known to matter."""
    pins = sketch.core.bus_pins.get(sketch.program.board_id)
    return pins is None or all(pins.get(role, pin.label) == pin.label for role, pin in bus.pins)


def _words(bus: Bus) -> list[str]:
    parts = ", ".join(f"{device.words} ({device.title})" for device in bus.devices)
    return comment(f"{bus.words}: {bus.instance} for {parts}.")


def _begin(sketch: Sketch, bus: Bus, lines: list[str]) -> None:
    sketch.add(*_words(bus), *block(f"void begin_{bus.snake}()", lines))
    sketch.buses.append(f"begin_{bus.snake}();")
    sketch.shows[bus.name] = [f"probe_{bus.snake}();"]


def _without(sketch: Sketch, bus: Bus, why: str) -> None:
    sketch.notes.append(f"{bus.words}: {why}.")
    sketch.add(*_words(bus), *comment(f"Not begun here: {why}."))
    sketch.shows[bus.name] = [f"console.println({said('not begun: ' + why, 90)});"]


# ------------------------------------------------------------------------------ I2C


def _i2c(sketch: Sketch, bus: Bus, index: int) -> None:
    core = sketch.core
    sda, scl = _name(bus, "SDA"), _name(bus, "SCL")
    if core.wire == "none" or (core.wire == "fixed" and (index or not _usual(sketch, bus))):
        return _without(sketch, bus, "the core has no such bus on these pins")
    sketch.include("Wire.h")
    which = index if core.wire == "set" and core.wire_more else (bus.number or 0)
    wire = "Wire" if which == 0 or core.wire == "fixed" or (core.wire == "begin-pins" and not bus.number) else "Wire1"
    if core.wire_more and index:
        wire = f"wire_{bus.snake}"
        sketch.add(Template(core.wire_more).substitute(name=wire, sda=sda, scl=scl))
    lines = {
        "fixed": [f"{wire}.begin();"],
        "begin-pins": [f"{wire}.begin({sda}, {scl});"],
        "set": [f"{wire}.setSDA({sda});", f"{wire}.setSCL({scl});", f"{wire}.begin();"],
        "set-pins": [f"{wire}.setPins({sda}, {scl});", f"{wire}.begin();"],
    }[core.wire]
    clock = f"{wire}.setClock(bus_hz::{bus.snake});"
    limit = [Template(core.wire_timeout).substitute(wire=wire)] if core.wire_timeout else []
    why = ["// A bus that hangs must not hold the programme up: a load could not go off."] if limit else []
    _begin(sketch, bus, [*lines, clock, *why, *limit])
    body = []
    for device in bus.devices:
        if device.address is None:
            continue
        who = said(f"0x{device.address:02X} {device.words}")
        body += [
            f"{wire}.beginTransmission(addresses::{device.name.lower()});",
            f'tell({who}, {wire}.endTransmission() == 0 ? F("answers") : F("does not answer"));',
        ]
    planned = [f"addresses::{device.name.lower()}" for device in bus.devices if device.address is not None]
    if planned:
        sketch.pieces.add("scan")
        body_of_scan = [f"static const uint8_t planned[] = {{{', '.join(planned)}}};", f"scan({wire}, planned, sizeof planned);"]
        sketch.shows[bus.name] += ["{", *(f"  {line}" for line in body_of_scan), "}"]
    sketch.pieces.add("tell")
    sketch.add(*comment(f"Asks every part on {bus.words} whether it is there."), *block(f"void probe_{bus.snake}()", body))
    sketch.reports.append(f"probe_{bus.snake}();")
    return None


# ------------------------------------------------------------------------------ SPI


def _spi(sketch: Sketch, bus: Bus, index: int) -> None:
    core = sketch.core
    sck, miso, mosi = (_name(bus, role) for role in ("SCK", "MISO", "MOSI"))
    if core.spi == "none" or (index and not (core.spi_more or core.spi_by_number)) or (core.spi == "fixed" and not _usual(sketch, bus)):
        return _without(sketch, bus, "the core has no such bus on these pins")
    sketch.include("SPI.h")
    spi = f"SPI{bus.number or ''}" if core.spi_by_number else "SPI"
    if core.spi_more and index:
        spi = f"spi_{bus.snake}"
        sketch.add(Template(core.spi_more).substitute(name=spi, sck=sck, miso=miso, mosi=mosi))
    given = [pair for pair in (("SCK", sck), ("MISO", miso), ("MOSI", mosi)) if pair[1] != "-1"]
    setters = {"set-rx-tx": {"SCK": "setSCK", "MISO": "setRX", "MOSI": "setTX"}}.get(
        core.spi, {"SCK": "setSCLK", "MISO": "setMISO", "MOSI": "setMOSI"}
    )
    made = bool(core.spi_more and index and core.spi != "begin-pins")
    lines = [f"{spi}.{setters[role]}({name});" for role, name in given] if core.spi in ("set-rx-tx", "set-sclk") and not made else []
    if core.spi == "begin-pins":
        lines.append(f"{spi}.begin({sck}, {miso}, {mosi});")
    elif core.spi == "set-pins":
        unused = f"pins::{bus.pins[0][1].snake}"
        lines += [f"{spi}.setPins({miso if miso != '-1' else unused}, {sck}, {mosi if mosi != '-1' else unused});", f"{spi}.begin();"]
    else:
        lines.append(f"{spi}.begin();")
    _begin(sketch, bus, [*lines, *_select_pad_back(sketch)])
    body = []
    for device in bus.devices:
        if device.select is None:
            continue
        mode = device.modes[0] if device.modes else 0
        on, off, pin = level(device.select.active_level), level(not device.select.active_level), f"pins::{device.select.snake}"
        body.append(
            f"read_two({spi}, {pin}, {on}, {off}, SPISettings(bus_hz::{bus.snake}, MSBFIRST, SPI_MODE{mode}), {said(device.words)});"
        )
    if body:
        sketch.pieces.add("two")
    sketch.add(
        *comment(f"Reads two bytes from every part on {bus.words}; all bits alike: nobody drives the line, or it only listens."),
        *block(f"void probe_{bus.snake}()", body),
    )
    return None


def _select_pad_back(sketch: Sketch) -> list[str]:
    """The bus makes one pad an output when it begins: what the plan uses it for is set up once more."""
    pad = sketch.core.select_pads.get(sketch.program.chip)
    pin = next((pin for pin in sketch.program.pins if pin.pad == pad), None)
    if pin is None or pin.kind == "bus" or (pin.is_driven and pin.kind not in ("open-drain", "pulse-data")):
        return []
    sketch.notes.append(
        f"{pin.words} sits on the pad the SPI hardware watches ({pad}): while it is low the bus stops being master. "
        "Better move it to another pin, or use it as an output only."
    )
    mode = "INPUT_PULLUP" if pin.pull == "up" else "INPUT"
    return [f"pinMode(pins::{pin.snake}, {mode});  // the bus has just made this pin an output"]


# ------------------------------------------------------------------------------ UART and I2S


def _uart(sketch: Sketch, bus: Bus, index: int) -> None:
    core = sketch.core
    tx, rx = bus.pin("TX"), bus.pin("RX")
    name = _serial(sketch, bus, index, rx, tx)
    if name is None:
        return _without(sketch, bus, "the core has no serial port on these pins; a library in software may serve")
    frame = "" if bus.frame == _USUAL_FRAME else f", SERIAL_{bus.frame}"
    rate = f"bus_hz::{bus.snake}"
    r, t = (f"pins::{pin.snake}" if pin else "-1" for pin in (rx, tx))
    if bus.software and core.soft_serial:
        lines = [f"{name}.begin({rate});"]
    elif core.uart == "begin-pins":
        lines = [f"{name}.begin({rate}, SERIAL_{bus.frame}, {r}, {t});"]
    elif core.uart == "set":
        lines = [*([f"{name}.setRX({r});"] if rx else []), *([f"{name}.setTX({t});"] if tx else []), f"{name}.begin({rate}{frame});"]
    elif core.uart == "set-pins":
        lines = [f"{name}.setPins({r}, {t});", f"{name}.begin({rate}{frame});"]
    else:
        lines = [f"{name}.begin({rate}{frame});", *([f"{name}.swap();"] if core.uart == "swap" and "SWAP" in bus.instance else [])]
    _begin(sketch, bus, lines)
    if "#define LISTEN_MS" not in "\n".join(sketch.code):
        sketch.add("#ifndef LISTEN_MS", "#define LISTEN_MS 2000  // how long a serial line is listened to", "#endif")
    sketch.add(
        *comment(f"Listens on {bus.words}."),
        *block(
            f"void probe_{bus.snake}()",
            [
                "uint16_t heard = 0;",
                "const uint32_t from_ms = millis();",
                *block("while (millis() - from_ms < LISTEN_MS)", block(f"if ({name}.available() > 0)", [f"{name}.read();", "heard++;"])),
                "console.print(heard);",
                f"console.println({said(' bytes heard from ' + ', '.join(d.words for d in bus.devices))});",
            ],
        ),
    )
    return None


def _serial(sketch: Sketch, bus: Bus, index: int, rx: Pin | None, tx: Pin | None) -> str | None:
    """The object that speaks on a UART's pins."""
    core = sketch.core
    r, t = (f"pins::{pin.snake}" if pin else "-1" for pin in (rx, tx))
    if bus.software:
        if not core.soft_serial:
            return None
        sketch.include(core.soft_serial)
        either = r if r != "-1" else t
        sketch.add(f"SoftwareSerial serial_{bus.snake}({r if r != '-1' else either}, {t if t != '-1' else either});")
        return f"serial_{bus.snake}"
    if core.uart == "object":
        sketch.add(f"HardwareSerial serial_{bus.snake}({r}, {t});")
        return f"serial_{bus.snake}"
    if core.uart == "one":
        return "Serial1" if not index and _on_serial_pins(bus) else None
    if core.uart == "set":
        return f"Serial{(bus.number or 0) + 1}"
    if core.uart == "set-pins":
        return f"Serial{(bus.number or 0) + 1}" if (bus.number or 0) < 2 else None
    if core.uart == "none":
        return None
    return f"Serial{bus.number or ''}"


def _on_serial_pins(bus: Bus) -> bool:
    """Whether the board prints TX and RX at the pins: then the core's port is there."""
    return all(role in pin.label.upper() for role, pin in bus.pins)


def _i2s(sketch: Sketch, bus: Bus, index: int) -> None:
    _without(sketch, bus, "sound needs the core's I2S library, which differs from version to version")
