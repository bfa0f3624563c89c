"""Join lines into nets: parts on one bus share its wires; everything else is a net of its own.

Parts share an I2C bus as long as each can have its own address, an SPI bus as long as each lets go of MISO;
a UART belongs to one part.  Lines fixed to different pins cannot be on one bus.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.fitting.lines import Asks, Device, Line

__all__ = ["Bus", "Net", "Nets", "join"]

_SHARED_ROLES = {"i2c": ("SDA", "SCL"), "spi": ("SCK", "MOSI", "MISO"), "uart": ("TX", "RX"), "i2s": ("BCLK", "WS", "DOUT", "DIN", "MCLK")}

_ONE_WIRE_PARTS = 10


@dataclass(frozen=True, slots=True)
class Net:
    """Everything joined at one pin; ``bus`` is an index into ``Nets.buses`` or -1; ``role`` its role there."""

    id: str
    lines: tuple[Line, ...]
    bus: int = -1
    role: str = ""

    @property
    def lock(self) -> str:
        """Pin the maker has fixed for it, if any."""
        return next((line.lock for line in self.lines if line.lock), "")


@dataclass(frozen=True, slots=True)
class Bus:
    """Nets that must come from one instance.

    ``max_hz`` is the clock (or the rate) all parts on it can follow [Hz]; ``addresses`` by device name.
    """

    kind: str
    name: str
    devices: tuple[str, ...]
    nets: tuple[int, ...]
    max_hz: float
    addresses: dict[str, int]


@dataclass(frozen=True, slots=True)
class Nets:
    """All nets of a brief, its buses, and the devices they come from."""

    nets: tuple[Net, ...]
    buses: tuple[Bus, ...]
    devices: tuple[Device, ...]


def join(devices: Sequence[Device]) -> Nets:
    """Form nets and buses.  The order follows what the lines ask, not how the parts are called or listed."""
    nets: list[Net] = []
    buses: list[Bus] = []
    for kind in _SHARED_ROLES:
        members = [device for device in devices if any(_on_bus(line, kind) for line in device.lines)]
        for group in _split(kind, sorted(members, key=_canonical)):
            _add_bus(kind, group, nets, buses)
    _join_one_wire(sorted(devices, key=_canonical), nets)
    for device in sorted(devices, key=_canonical):
        alone = (line for line in device.lines if not _is_joined(line))
        nets.extend(Net(line.id, (line,)) for line in alone)
    return Nets(tuple(nets), tuple(buses), tuple(devices))


def _join_one_wire(devices: list[Device], nets: list[Net]) -> None:
    """1-Wire parts that ask for the same share a pin and its pull-up, up to ten (common practice, no source)."""
    alike: dict[tuple[Asks, str], list[Line]] = {}
    for line in (line for device in devices for line in device.lines if line.asks.signal == "onewire"):
        alike.setdefault((line.asks, line.lock.casefold()), []).append(line)
    number = 0
    for lines in alike.values():
        for first in range(0, len(lines), _ONE_WIRE_PARTS):
            bus = tuple(lines[first : first + _ONE_WIRE_PARTS])
            number += 1
            nets.append(Net(bus[0].id if len(bus) == 1 else f"1-Wire bus {number}", bus))


def _is_joined(line: Line) -> bool:
    return line.asks.signal == "onewire" or any(_on_bus(line, kind) for kind in _SHARED_ROLES)


def _on_bus(line: Line, kind: str) -> bool:
    return line.asks.signal == kind and line.asks.role in _SHARED_ROLES[kind]


def _canonical(device: Device) -> tuple[str, str, str]:
    """Sort key: kind and asks first; the name only tells equal parts apart."""
    return device.kind, repr([(line.name, line.asks, line.lock) for line in device.lines]), device.name


def _split(kind: str, members: list[Device]) -> list[list[Device]]:
    """Distribute devices over as few buses as their addresses, sharing and fixed pins allow (first fit)."""
    groups: list[list[Device]] = []
    # Devices with the fewest addresses first: they have the least freedom.
    for device in sorted(members, key=lambda d: len(d.bus[kind].addresses) if kind in d.bus else 0):
        for group in groups:
            if _may_share(kind, [*group, device]):
                group.append(device)
                break
        else:
            groups.append([device])
    return groups


def _may_share(kind: str, group: list[Device]) -> bool:
    if kind in ("uart", "i2s"):
        return False
    for role in _SHARED_ROLES[kind]:
        locks = {line.lock.casefold() for d in group for line in d.lines if _on_bus(line, kind) and line.asks.role == role and line.lock}
        if len(locks) > 1:
            return False
    if kind == "spi":
        silent = [device for device in group if device.bus["spi"].shares]
        return len(group) - len(silent) == 0
    return give_addresses(group) is not None


def give_addresses(group: Sequence[Device]) -> dict[str, int] | None:
    """A different address for every device, or ``None`` if that is impossible (augmenting paths).

    Where a part gets its address by command it first answers at the one it starts at: nobody may stay there who cannot move.
    """
    owner: dict[int, Device] = {}
    passed_by = {needs.starts_at for device in group if len((needs := device.bus["i2c"]).addresses) > 1 and needs.starts_at is not None}

    def place(device: Device, tried: set[int]) -> bool:
        for address in device.bus["i2c"].addresses:
            if address in tried or (address in passed_by and device.bus["i2c"].starts_at is None):
                continue
            tried.add(address)
            if address not in owner or place(owner[address], tried):
                owner[address] = device
                return True
        return False

    if not all(place(device, set()) for device in group):
        return None
    return {device.name: address for address, device in owner.items()}


def _add_bus(kind: str, group: list[Device], nets: list[Net], buses: list[Bus]) -> None:
    number = sum(bus.kind == kind for bus in buses) + 1
    name = f"{kind.upper()} of {group[0].name}" if kind in ("uart", "i2s") else f"{kind.upper()} bus {number}"
    members = []
    for role in _SHARED_ROLES[kind]:
        lines = tuple(line for d in group for line in d.lines if _on_bus(line, kind) and line.asks.role == role)
        if lines:
            members.append(len(nets))
            net_id = lines[0].id if len(lines) == 1 else f"{name} {role}"
            nets.append(Net(net_id, lines, len(buses), role))
    speeds = [device.bus[kind].max_hz for device in group if kind in device.bus]
    addresses = (give_addresses(group) or {}) if kind == "i2c" else {}
    buses.append(Bus(kind, name, tuple(device.name for device in group), tuple(members), min(speeds, default=0.0), addresses))
