"""Are the buses real ones?  Lines of one bus from one block of the chip, roles not swapped, addresses and selects apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from pinwright.facts.model import BusInstance
from pinwright.fitting.lines import Device
from pinwright.quantities import show_quantity
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES", "Bus", "assign", "buses", "device_of", "usable"]

_ROLES = {
    "i2c": ("SDA", "SCL"),
    "spi": ("SCK", "MOSI", "MISO"),
    "uart": ("TX", "RX"),
    "i2s": ("BCLK", "WS", "DOUT", "DIN", "MCLK"),
}
_NAMES = {"i2c": "I2C", "spi": "SPI", "uart": "serial port", "i2s": "I2S"}


@dataclass(frozen=True, slots=True)
class Bus:
    """Wires that belong to one bus, found through the pins and parts they share."""

    kind: str
    wires: tuple[Wire, ...]

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the parts on it."""
        return tuple(dict.fromkeys(wire.line.part for wire in self.wires))

    def of_role(self, role: str) -> list[Wire]:
        """Wires with this role, one for each pin."""
        return list({wire.place.pad.name: wire for wire in self.wires if wire.line.asks.role == role}.values())

    @property
    def forked(self) -> str:
        """A role that sits on more than one pin, or empty."""
        return next((role for role in _ROLES[self.kind] if len(self.of_role(role)) > 1), "")


def buses(wiring: Wiring) -> list[Bus]:
    """All buses of a wiring: wires of one kind that share a part or a pin."""
    found_buses: list[Bus] = []
    for kind, roles in _ROLES.items():
        groups: list[list[Wire]] = []
        for wire in wiring.wires:
            if wire.line.asks.signal != kind or wire.line.asks.role not in roles:
                continue
            touching = [group for group in groups if any(_touch(wire, other) for other in group)]
            groups = [group for group in groups if not any(group is other for other in touching)]
            groups.append([*(member for group in touching for member in group), wire])
        found_buses += [Bus(kind, tuple(group)) for group in groups]
    return found_buses


def _touch(one: Wire, other: Wire) -> bool:
    return one.line.part == other.line.part or one.place.pad.name == other.place.pad.name


def device_of(wiring: Wiring, name: str) -> Device | None:
    """The device of this name."""
    return next((device for device in wiring.devices if device.name == name), None)


# ------------------------------------------------------------------------------ from one block of the chip


def _instances(wiring: Wiring) -> Iterator[Finding]:
    for kind in _ROLES:
        of_kind = [bus for bus in buses(wiring) if bus.kind == kind]
        sound = []
        for bus in of_kind:
            if bus.forked:
                yield _fork(bus)
                continue
            trouble = list(_unserved(wiring, bus))
            yield from trouble
            if not trouble and usable(wiring, bus):
                sound.append(bus)
        yield from _too_many(wiring, kind, sound)


def _fork(bus: Bus) -> Finding:
    wires = bus.of_role(bus.forked)
    where = joined_names(wire.place.name for wire in wires)
    return found(
        "bus-forked",
        "refuse",
        wires[1],
        [f"{bus.forked} of one {_NAMES[bus.kind]} bus is wired to {where}", f"{joined_names(bus.parts)} share other lines of it"],
        f"Join {bus.forked} of all these parts at one pin, or give each its own bus.",
    )


def _fits(instance: BusInstance, bus: Bus) -> bool:
    """Whether every line of the bus can come from this block."""
    return all(_reaches(instance, wire) for wire in bus.wires)


def _reaches(instance: BusInstance, wire: Wire) -> bool:
    role, pad = wire.line.asks.role, wire.place.pad
    if instance.wiring == "fixed":
        return instance.roles.get(role, "\0") in pad.functions
    if instance.roles and role not in instance.roles:
        return False
    return not (instance.wiring == "software" and instance.kind == "uart" and role == "RX" and not pad.interrupt)


def _free(wiring: Wiring) -> list[BusInstance]:
    """Bus instances of the chip the board leaves to the maker."""
    taken = {name for reserve in wiring.view.board.reserve for name in reserve.blocks}
    return [item for item in wiring.view.chip.bus if not {item.id, item.block} & taken]


def _kept(wiring: Wiring, instance: BusInstance) -> bool:
    """Whether the block is the console and the brief keeps it; a board with its own USB has its console there."""
    in_use = wiring.view.board.usb in ("bridge", "none") or wiring.view.chip.usb == "none"
    return instance.console and wiring.setting.keep_console and in_use


def _rate(wiring: Wiring, bus: Bus) -> float:
    rates = [device.bus[bus.kind].max_hz for name in bus.parts if (device := device_of(wiring, name)) and bus.kind in device.bus]
    return min(rates, default=0.0)


def usable(wiring: Wiring, bus: Bus) -> list[BusInstance]:
    """Blocks that can carry the bus, at its rate and with the console left alone."""
    rate = _rate(wiring, bus) if bus.kind == "uart" else 0.0
    return [
        item for item in _free(wiring) if item.kind == bus.kind and _fits(item, bus) and not _kept(wiring, item) and rate <= item.max_hz
    ]


def _unserved(wiring: Wiring, bus: Bus) -> Iterator[Finding]:
    """Why no block of the chip can carry a bus."""
    chip = wiring.view.chip
    of_kind = [item for item in _free(wiring) if item.kind == bus.kind]
    fitting = [item for item in of_kind if _fits(item, bus)]
    name = _NAMES[bus.kind]
    if not of_kind:
        yield found(
            "bus-none",
            "refuse",
            bus.wires[0],
            [f"{chip.part} has no {name}"],
            "Take another board, or a part without it.",
            sources=[_cite(wiring, bus.wires[0])],
        )
    elif not fitting:
        yield from _misplaced(wiring, bus, of_kind)
    elif bus.kind == "uart" and all(item.max_hz < _rate(wiring, bus) for item in fitting):
        best, rate = max(item.max_hz for item in fitting), _rate(wiring, bus)
        yield found(
            "bus-rate",
            "refuse",
            bus.wires[0],
            [
                f"{joined_names(bus.parts)} talks at {show_quantity(rate, 'Bd')}",
                f"what {chip.part} can do on these pins ends at {show_quantity(best, 'Bd')}",
            ],
            "Use the pins of a hardware serial port, or set the part to a lower rate.",
            {"rate": f"{show_quantity(rate, 'Bd')} against {show_quantity(best, 'Bd')}"},
            [wiring.view.chip_cite(max(fitting, key=lambda item: item.max_hz))],
        )


def _cite(wiring: Wiring, wire: Wire) -> str:
    return wiring.view.column_cite("functions", wire.place.pad)


def _misplaced(wiring: Wiring, bus: Bus, of_kind: list[BusInstance]) -> Iterator[Finding]:
    name = _NAMES[bus.kind]
    missing = [wire for wire in bus.wires if not any(_reaches(item, wire) for item in of_kind)]
    swapped = [wire for wire in missing if _other_role(wire, of_kind)]
    pins_of = _fixed_pins(wiring, bus, of_kind)
    for wire in {wire.place.pad.name: wire for wire in missing}.values():
        role = wire.line.asks.role
        if wire in swapped:
            because = [
                f"{wire.place.name} carries {_other_role(wire, of_kind)}, not {role}",
                f"{wire.line.id} is {role}: the two lines are swapped",
            ]
            fix = "Swap the two wires."
        else:
            because = [f"{wire.place.name} carries no {name} {role} at all", f"{wiring.view.chip.part} has it on certain pins only"]
            fix = f"Use {pins_of}." if pins_of else "Use a pin that carries it."
        yield found("bus-role", "refuse", wire, because, fix, sources=[_cite(wiring, wire)])
    if not missing:
        which = [
            f"{wire.line.asks.role} on {wire.place.name} is of {joined_names(i.id for i in of_kind if _reaches(i, wire))}"
            for wire in bus.wires
        ]
        yield found(
            "bus-split",
            "refuse",
            bus.wires[0],
            [*dict.fromkeys(which), "the lines of one bus must come from one block of the chip"],
            f"Use {pins_of}." if pins_of else "Use pins of one block.",
            sources=[_cite(wiring, bus.wires[0])],
        )


def _other_role(wire: Wire, of_kind: list[BusInstance]) -> str:
    """Another role of the same kind the pin carries, or empty."""
    for item in of_kind:
        for role, function in item.roles.items():
            if item.wiring == "fixed" and role != wire.line.asks.role and function in wire.place.pad.functions:
                return role
    return ""


def _fixed_pins(wiring: Wiring, bus: Bus, of_kind: list[BusInstance]) -> str:
    """One set of pins that would do, in words: the block first come in the chip's data that is not the kept console."""
    roles = list(dict.fromkeys(wire.line.asks.role for wire in bus.wires))
    for item in of_kind:
        if item.wiring != "fixed" or _kept(wiring, item) or not all(role in item.roles for role in roles):
            continue
        places = [next((place for place in wiring.view.places if item.roles[role] in place.pad.functions), None) for role in roles]
        if all(places):
            return joined_names(f"{place.name} for {role}" for place, role in zip(places, roles, strict=True) if place)
    return ""


# ------------------------------------------------------------------------------ more buses than blocks


def _too_many(wiring: Wiring, kind: str, sound: list[Bus]) -> Iterator[Finding]:
    if not sound:
        return
    options = [sorted(usable(wiring, bus), key=lambda item: _price(wiring, item)) for bus in sound]
    chosen = assign(options, wiring)
    if chosen is None:
        have = joined_names(dict.fromkeys(item.id for row in options for item in row))
        kept = [item.id for item in _free(wiring) if item.kind == kind and _kept(wiring, item)]
        because = [
            f"{len(sound)} buses want a {_NAMES[kind]}: {joined_names(name for bus in sound for name in bus.parts)}",
            f"these pins reach {have} of {wiring.view.chip.part}",
        ]
        if kept:
            because.append(f"{joined_names(kept)} is the console, which the brief keeps")
        yield found(
            "bus-too-many",
            "refuse",
            sound[-1].wires[0],
            because,
            "Join parts on one bus, free the console, or take a board with more.",
            sources=[wiring.view.chip_cite(options[-1][0])],
        )
        return
    for bus, instance in zip(sound, chosen, strict=True):
        yield from _second_best(wiring, bus, instance)


def _price(wiring: Wiring, item: BusInstance) -> int:
    """How reluctantly a block is used: hardware first, then what moves the console, then software."""
    return 2 if item.wiring == "software" else 1 if _moves_console(wiring, item) else 0


def _moves_console(wiring: Wiring, item: BusInstance) -> bool:
    return bool(item.block) and any(other.block == item.block and _kept(wiring, other) for other in _free(wiring))


def assign(options: list[list[BusInstance]], wiring: Wiring) -> list[BusInstance] | None:
    """A block for every bus at the least price, or ``None``; blocks that are one piece of hardware count once."""
    room = Counter({item.id: item.count for item in _free(wiring)})
    best: tuple[int, list[BusInstance]] | None = None

    def go(number: int, used: Counter[str], picked: list[BusInstance], price: int) -> None:
        nonlocal best
        if best is not None and price >= best[0]:
            return
        if number == len(options):
            best = (price, picked)
            return
        for item in options[number]:
            key, most = (f"block {item.block}", 1) if item.block else (item.id, room[item.id])
            if used[key] < most:
                go(number + 1, used + Counter([key]), [*picked, item], price + _price(wiring, item))

    go(0, Counter(), [], 0)
    return best[1] if best else None


def _second_best(wiring: Wiring, bus: Bus, instance: BusInstance) -> Iterator[Finding]:
    chip = wiring.view.chip
    if instance.wiring == "software" and any(
        item.kind == bus.kind and item.wiring != "software" and not _kept(wiring, item) for item in _free(wiring)
    ):
        effect = "bytes get lost while the firmware is busy" if bus.kind == "uart" else "it is slower and keeps the firmware busy"
        note = [instance.note] if instance.note else []
        yield found(
            "bus-software",
            "caution" if bus.kind == "uart" else "note",
            bus.wires[0],
            [f"the {_NAMES[bus.kind]} of {joined_names(bus.parts)} runs in software on these pins", *note, effect],
            "Use the pins of a hardware block if one is free.",
            sources=[wiring.view.chip_cite(instance)],
        )
    elif instance.wiring == "software" and bus.kind == "uart":
        yield found(
            "bus-software",
            "caution",
            bus.wires[0],
            [
                f"the only hardware serial port of {chip.part} left is the console, which the brief keeps",
                f"the one of {joined_names(bus.parts)} runs in software",
                "bytes get lost while the firmware is busy",
            ],
            "Keep the rate low, free the console, or take a board with more serial ports.",
            sources=[wiring.view.chip_cite(instance)],
        )
    elif _moves_console(wiring, instance):
        yield found(
            "bus-console-moved",
            "caution",
            bus.wires[0],
            [
                f"{instance.id} is the console's own block on other pins",
                "the boot log stays where it is, but the running firmware can no longer print to the console",
            ],
            'Use another block, or say console = "free" in the brief.',
            sources=[wiring.view.chip_cite(instance)],
        )


def _inputs_that_stop_it(wiring: Wiring) -> Iterator[Finding]:
    """Inputs on a pad that a bus at work forbids: the chip takes a low there for another controller and lets go of the bus."""
    for bus in buses(wiring):
        blocks = usable(wiring, bus)
        if not blocks or not all(item.never_inputs for item in blocks):
            continue  # a block without such a pad can serve
        for wire in wiring.wires:
            item = next((item for item in blocks if wire.place.pad.gpio in item.never_inputs), None)
            if item is None or wire in bus.wires or wire.line.asks.direction == "out":
                continue
            yield found(
                "bus-input-stops-it",
                "refuse",
                wire,
                [
                    f"{wire.line.id} is read at {wire.place.name}, the select input of {wiring.view.chip.part} while {item.id} works",
                    f"{item.id} carries {joined_names(bus.parts)}",
                    "a low there ends the transfer, and firmware drives the pin for a moment when the bus starts",
                ],
                "Put this line on another pin; an output may stay there.",
                sources=[wiring.view.chip_cite(item)],
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "bus-role",
        "every bus on pins of one block of the chip, roles not swapped, rate and number of blocks"
        " (also bus-forked, -none, -split, -rate, -too-many, -software, -console-moved)",
        "the bus is silent",
        "bus table of the chip, named in the finding",
        _instances,
    ),
    Rule(
        "bus-input-stops-it",
        "inputs on a pad that must not be one while a bus works",
        "the bus stops when the input goes low",
        "bus table of the chip, named in the finding",
        _inputs_that_stop_it,
    ),
)
