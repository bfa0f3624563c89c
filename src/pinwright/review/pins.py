"""Who owns a pin: nets that collide, pads the board needs for itself, pins the brief has fixed, lines left over."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.review.common import PRACTICE, board_finding, found, joined_names, pins
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]

_BUS_ROLES = {"i2c": ("SDA", "SCL"), "spi": ("SCK", "MOSI", "MISO"), "onewire": ("DATA", "")}
_OWNERS = {
    "flash": "the flash memory",
    "psram": "the extra memory of the module",
    "crystal": "the crystal",
    "debug": "the debug port",
    "reset": "the reset input",
    "power": "a supply",
    "radio": "the radio",
    "sensor": "a sensor on the board",
    "unbonded": "nothing: it is not brought out of the chip",
}


def _net(wire: Wire) -> tuple[str, ...]:
    """What may share a pin: lines with equal keys are one net."""
    asks = wire.line.asks
    if asks.role in _BUS_ROLES.get(asks.signal, ()):
        return (asks.signal, asks.role)
    return ("alone", wire.line.id)


def _shared(wiring: Wiring) -> Iterator[Finding]:
    for _, wires in pins(wiring):
        nets = {_net(wire) for wire in wires}
        if len(nets) < 2:
            continue
        if (
            all(wire.line.asks.signal == "i2s" and wire.line.asks.role in ("BCLK", "WS", "MCLK") for wire in wires)
            and len({w.line.asks.role for w in wires}) == 1
        ):
            yield found(
                "pin-shared",
                "caution",
                wires[1],
                [
                    f"{joined_names(wire.line.id for wire in wires)} share one clock pin",
                    "one driver must then run both parts at the same rate",
                ],
                "Keep the shared clock only if your sound library runs both directions at once; otherwise give each part its own clocks.",
            )
            continue
        for wire in wires[1:]:
            others = [other.line.id for other in wires if other is not wire]
            yield found(
                "pin-shared",
                "refuse",
                wire,
                [
                    f"{wire.line.id} and {joined_names(others)} sit on the same pin",
                    "they are not lines of one bus, so they would drive or load each other",
                ],
                f"Move {wire.line.id} to a free pin.",
            )


def _reserved(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        place, view = wire.place, wiring.view
        use = place.reserve.use if place.reserve else place.pad.reserved
        if not use:
            continue
        why = place.reserve.why if place.reserve else place.pad.reserved_why
        cite = view.board_cite(place.reserve) if place.reserve else view.column_cite("reserved", place.pad)
        if use == "usb":
            yield _usb(wire, wiring.setting.keep_usb, cite)
            continue
        yield found(
            "pin-reserved",
            "refuse",
            wire,
            [
                f"{place.name} belongs to {_OWNERS[use]}" + (f": {why}" if why else ""),
                "a wire there can keep the board from starting or crash it while it runs",
            ],
            "Move the line to a pin the board leaves free.",
            sources=[cite],
        )


def _usb(wire: Wire, keep: bool, cite: str) -> Finding:
    fact = f"{wire.place.name} carries USB data"
    if keep:
        return found(
            "pin-reserved",
            "refuse",
            wire,
            [fact, "the brief keeps USB"],
            'Move the line, or set usb = "free" in the brief if you can do without.',
            sources=[cite],
        )
    return found(
        "pin-reserved",
        "caution",
        wire,
        [fact, "USB stops working as soon as the firmware uses this pin for something else"],
        "Make sure there is another way to upload before you build it.",
        sources=[cite],
    )


def _console(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        place = wire.place
        if not place.is_console:
            continue
        cite = wiring.view.chip_cite(
            next((bus for bus in wiring.view.chip.bus if bus.kind == "uart" and bus.console), wiring.view.chip.provenance["functions"])
        )
        fact = f"{place.name} carries the boot log and uploads"
        if wiring.setting.keep_console:
            yield found(
                "pin-console",
                "refuse",
                wire,
                [fact, "the brief keeps the console"],
                'Move the line, or set console = "free" in the brief.',
                sources=[cite],
            )
        else:
            yield found(
                "pin-console",
                "caution",
                wire,
                [fact, "the part sees the boot log, and can disturb an upload"],
                "Unplug this part while you upload, and expect it to receive text at every start.",
                sources=[cite],
            )


def _locked(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        lock = wire.line.lock
        if lock and not wire.place.is_called(lock):
            yield found(
                "pin-locked",
                "refuse",
                wire,
                [f"the brief fixes {wire.line.id} to {lock} ({wire.line.place})", f"the wire goes to {wire.place.name}"],
                "Move the wire, or change the pin in the brief.",
                sources=[wire.line.place],
            )


def _missing(wiring: Wiring) -> Iterator[Finding]:
    for line in wiring.unplaced:
        yield board_finding(
            "pin-missing",
            "caution",
            [f"{line.id} has no pin"],
            "Give it a pin, or leave the line out in the brief.",
            line.id,
            sources=[line.place],
        )


def _radio(wiring: Wiring) -> Iterator[Finding]:
    for radio in wiring.setting.radio:
        if radio not in wiring.view.board.radio:
            has_radio = joined_names(wiring.view.board.radio) if wiring.view.board.radio else "no radio"
            yield board_finding(
                "board-radio",
                "refuse",
                [f"the brief wants {radio}", f"{wiring.view.board.name} has {has_radio}"],
                "Take a board with that radio, or do without it.",
                sources=[wiring.view.board_cite(next(iter(wiring.view.board.provenance.values())))],
            )


RULES: tuple[Rule, ...] = (
    Rule("pin-shared", "two different nets on one pin", "they drive against or load each other", PRACTICE, _shared),
    Rule(
        "pin-reserved",
        "a line on a pad the chip, module or board needs for itself",
        "the board does not start or crashes",
        "chip and board data, named in the finding",
        _reserved,
    ),
    Rule(
        "pin-console",
        "a line on the pins of the boot log and upload port",
        "the part sees the boot log; uploads fail",
        "chip and board data, named in the finding",
        _console,
    ),
    Rule("pin-locked", "a wire elsewhere than the brief fixes it", "the maker has decided where it goes", "the brief", _locked),
    Rule("pin-missing", "lines without a pin", "the device is not complete", "the wiring itself", _missing),
    Rule("board-radio", "a radio the board lacks", "no circuit can add it", "board data, named in the finding", _radio),
)
