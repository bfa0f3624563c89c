"""Buses: the instance each takes, its clock, and the parts on it with their addresses and select pins."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from pinwright.pack.firmware.model import Bus, BusDevice, Pin
from pinwright.pack.firmware.names import Namer

if TYPE_CHECKING:
    from pinwright.facts.model import BusInstance, Part
    from pinwright.fitting.lines import Device
    from pinwright.fitting.nets import Bus as NetBus
    from pinwright.fitting.plan import BoardPlan

__all__ = ["buses_of", "instances_of"]


def instances_of(plan: BoardPlan) -> dict[int, str]:
    """Instance of each bus by its index: those of one class are given out first come first served, as the plan words them."""
    nets = plan.candidates.nets.nets
    names: dict[int, str] = {}
    taken: dict[str, int] = {}
    by_net = {placed.candidate.net: placed for placed in plan.placed}
    for number in sorted(by_net):
        placed, bus = by_net[number], nets[number].bus
        if bus < 0 or bus in names:
            continue
        members = placed.choice.instance.split("/")
        used = taken.get(placed.choice.instance, 0)
        taken[placed.choice.instance] = used + 1
        names[bus] = members[used] if used < len(members) else members[-1]
    return names


def buses_of(plan: BoardPlan, by_net: Mapping[int, Pin], parts: Mapping[str, Part], namer: Namer) -> tuple[Bus, ...]:
    """All buses of a plan; ``by_net``: pin of each net by its index, ``parts``: the catalogue's part by device name."""
    nets = plan.candidates.nets
    named = instances_of(plan)
    by_instance = {instance.id: instance for instance in plan.view.chip.bus}
    devices = {device.name: device for device in nets.devices}
    selects = {pin.part: pin for pin in by_net.values() if pin.kind == "select"}
    found = []
    for index, bus in enumerate(nets.buses):
        if index not in named:
            continue
        instance = by_instance[named[index]]
        frame = next((part.uart.frame for name in bus.devices if (part := parts.get(name)) and part.uart), "8N1")
        found.append(
            Bus(
                name=namer.constant(bus.name),
                words=bus.name,
                kind=instance.kind if instance.kind != "can" else "uart",
                instance=instance.id,
                number=_number(instance),
                hz=min(hz for hz in (bus.max_hz or instance.max_hz, instance.max_hz)),
                pins=tuple((nets.nets[number].role, by_net[number]) for number in bus.nets if number in by_net),
                devices=tuple(_on_bus(bus, devices[name], parts.get(name), selects, namer) for name in bus.devices),
                software=instance.wiring == "software",
                console=instance.console,
                frame=frame,
            )
        )
    return tuple(found)


def _number(instance: BusInstance) -> int | None:
    """First number in the maker's name of an instance (UART1, I2C0, SERCOM3-SPI-...).

    >>> from types import SimpleNamespace as N
    >>> _number(N(id="UART1")), _number(N(id="SERCOM3-I2C")), _number(N(id="I2C0")), _number(N(id="SOFT-I2C"))
    (1, 3, 0, None)
    """
    kind = re.match(r"(?:I2C|I2S)(\d+)", instance.id)
    plain = re.search(r"(?<![IS])(?:[A-Z]+)(\d+)", re.sub(r"-?(?:I2C|I2S)$", "", instance.id))
    number = kind or plain
    return int(number.group(1)) if number else None


def _on_bus(bus: NetBus, device: Device, part: Part | None, selects: Mapping[str, Pin], namer: Namer) -> BusDevice:
    needs = device.bus.get(bus.kind)
    return BusDevice(
        name=namer.constant(device.name, {"i2c": "ADDRESS", "spi": "SPI", "uart": "UART", "i2s": "I2S"}[bus.kind]),
        words=device.name,
        title=device.title,
        address=bus.addresses.get(device.name),
        select=selects.get(device.name) if bus.kind == "spi" else None,
        modes=part.spi.modes if part is not None and part.spi and bus.kind == "spi" else (0,) if bus.kind == "spi" else (),
        max_hz=needs.max_hz if needs else 0.0,
    )
