"""Can every part on a bus be called by itself?  Addresses, chip selects, parts that do not share, half-wired ones."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Part
from pinwright.review.buses import buses, device_of
from pinwright.review.common import PRACTICE, found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]


def _address(wiring: Wiring, name: str) -> tuple[int | None, tuple[int, ...]]:
    """Address of a part, and all it can be set to."""
    device = device_of(wiring, name)
    choices = device.bus["i2c"].addresses if device and "i2c" in device.bus else ()
    if name in wiring.addresses:
        return wiring.addresses[name], choices
    part = wiring.catalogue_parts.get(device.kind) if device else None
    default = part.i2c.default if part and part.i2c else None
    return (default if default in choices or not choices else choices[0]), choices


def _addresses(wiring: Wiring) -> Iterator[Finding]:
    for bus in buses(wiring):
        if bus.kind != "i2c":
            continue
        owners: dict[int, str] = {}
        for name in bus.parts:
            address, choices = _address(wiring, name)
            if address is None:
                continue
            wire = next(wire for wire in bus.wires if wire.line.part == name)
            if choices and address not in choices:
                yield found(
                    "bus-address",
                    "refuse",
                    wire,
                    [
                        f"{name} is to answer at 0x{address:02X}",
                        f"it can only take {joined_names(f'0x{choice:02X}' for choice in choices[:4])}",
                    ],
                    "Give it an address it can take.",
                )
            part = _part_of(wiring, name)
            if part and part.i2c and part.i2c.hold_off and address not in part.i2c.addresses:
                yield _renumbered(wire, name, part, address)
            other = owners.setdefault(address, name)
            if other != name:
                yield _clash(wiring, wire, name, other, address, choices)


def _part_of(wiring: Wiring, name: str) -> Part | None:
    device = device_of(wiring, name)
    return wiring.catalogue_parts.get(device.kind) if device else None


def _renumbered(wire: Wire, name: str, part: Part, address: int) -> Finding:
    assert part.i2c is not None
    return found(
        "bus-address",
        "note",
        wire,
        [
            f"{name} starts at 0x{part.i2c.default:02X} whenever power comes",
            f"to share its bus it must be given another address, such as 0x{address:02X}",
        ],
        f"At every start: hold all parts of this kind off with {part.i2c.hold_off}, then wake one, give it its address, and so on.",
        {"address": f"0x{address:02X}"},
        [f"data of {part.title}"],
    )


def _clash(wiring: Wiring, wire: Wire, name: str, other: str, address: int, choices: tuple[int, ...]) -> Finding:
    free = next((choice for choice in choices if choice != address), None)
    fix = (
        f"Set {name} to 0x{free:02X} with its address pins or jumper."
        if free is not None
        else "Put one of them on another bus, or a bus switch between."
    )
    part = _part_of(wiring, name)
    if free is None and part and part.i2c and part.i2c.hold_off:
        line = part.i2c.hold_off
        fix = (
            f'Give {line} of each a pin of its own (connect = ["{line}"]): the firmware then wakes one after the other and gives each '
            f"another address. {fix.replace('Put', 'Or put')}"
        )
    cite = f"data of {part.title}" if part else wire.line.place
    return found(
        "bus-address",
        "refuse",
        wire,
        [f"{other} and {name} both answer at 0x{address:02X}", "they are on one bus, so both answer at once and neither is understood"],
        fix,
        {"address": f"0x{address:02X}"},
        [cite],
    )


def _selects(wiring: Wiring) -> Iterator[Finding]:
    for bus in buses(wiring):
        if bus.kind != "spi" or len(bus.parts) < 2:
            continue
        for name in bus.parts:
            wire = next(wire for wire in bus.wires if wire.line.part == name)
            device = device_of(wiring, name)
            if not any(other.line.part == name and other.line.asks.role == "CS" for other in wiring.wires):
                yield found(
                    "bus-no-select",
                    "refuse",
                    wire,
                    [
                        f"{joined_names(bus.parts)} share one SPI bus",
                        f"{name} has no chip select wired, so it takes part in every transfer",
                    ],
                    f"Wire its chip select to a pin of its own, or give {name} its own bus.",
                )
            if device and "spi" in device.bus and not device.bus["spi"].shares and bus.of_role("MISO"):
                yield found(
                    "bus-not-shared",
                    "refuse",
                    wire,
                    [
                        f"{name} does not let go of MISO while it is not selected",
                        f"{joined_names(n for n in bus.parts if n != name)} cannot answer on the same wire",
                    ],
                    f"Give {name} its own bus, or a buffer in its MISO.",
                )


def _half(wiring: Wiring) -> Iterator[Finding]:
    """An I2C part with one of its two lines only."""
    for name, roles in _i2c_roles(wiring).items():
        missing = {"SDA", "SCL"} - set(roles)
        if missing and not any(line.part == name and line.asks.role in missing for line in wiring.unplaced):
            wire = next(iter(roles.values()))
            yield found(
                "bus-half",
                "refuse",
                wire,
                [f"{name} has {wire.line.asks.role} wired but not {joined_names(sorted(missing))}"],
                "Wire the other line too.",
            )


def _i2c_roles(wiring: Wiring) -> dict[str, dict[str, Wire]]:
    roles: dict[str, dict[str, Wire]] = {}
    for wire in wiring.wires:
        if wire.line.asks.signal == "i2c" and wire.line.asks.role in ("SDA", "SCL"):
            roles.setdefault(wire.line.part, {})[wire.line.asks.role] = wire
    return roles


RULES: tuple[Rule, ...] = (
    Rule("bus-half", "an I2C part with one line only", "the bus is silent", PRACTICE, _half),
    Rule(
        "bus-address",
        "two parts at one address, or an address a part cannot take",
        "neither is understood",
        "UM10204 (from memory); the parts' data",
        _addresses,
    ),
    Rule(
        "bus-no-select",
        "parts on one SPI bus without a select of their own, or that do not share (also bus-not-shared)",
        "they answer at once",
        PRACTICE,
        _selects,
    ),
)
