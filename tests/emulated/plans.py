"""Plans whose firmware is run, and what firmware must do by the plan alone: worked out from the placed lines, not from the programme."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import emulator

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.plan import BoardPlan, Placed
from pinwright.fitting.rank import Job
from pinwright.pack.firmware.micropython import micropython_source
from pinwright.pack.firmware.program import program_of
from pinwright.planning import open_job, plan_job

ROOT = Path(__file__).parents[2]
BRIEFS = sorted((ROOT / "examples").glob("*.toml")) + sorted((Path(__file__).parent / "briefs").glob("*.toml"))
IN, OUT, OPEN_DRAIN = 0, 1, 2
PULLS = {"up": 1, "down": 2}
PORT = re.compile(r"micropython-([a-z0-9]+)")


@dataclass(frozen=True)
class Run:
    """One plan, its files and what the runtime recorded of them."""

    plan: BoardPlan
    job: Job
    port: str
    files: dict[str, str]
    record: dict[str, Any]

    @property
    def log(self) -> list[list[Any]]:
        """Everything recorded, in order of time."""
        events: list[list[Any]] = self.record["result"]["log"]
        return events

    def phase(self, name: str) -> list[list[Any]]:
        """What happened in one phase; ``set-up`` is the first making of the device, before the loop's first turn."""
        names = [event[1] for event in self.log if event[0] == "phase"]
        start = self.log.index(["phase", name])
        after = names[names.index(name) + 1 :]
        end = self.log.index(["phase", after[0]]) if after else len(self.log)
        return self.log[start + 1 : end]

    @property
    def set_up(self) -> list[list[Any]]:
        """The device made once: what the second making did, which nothing follows."""
        return self.phase("made")

    def on(self, pin: Any, events: Iterable[list[Any]]) -> list[list[Any]]:
        """Events on one pin."""
        return [event for event in events if len(event) > 1 and event[1] == pin]


def runs() -> dict[str, Run]:
    """All of them by ``brief/board``; the runtime is started once."""
    catalogue = load_catalogue()
    found: dict[str, tuple[BoardPlan, Job, str, dict[str, str]]] = {}
    jobs = []
    for brief in BRIEFS:
        result = plan_job(open_job(brief, catalogue=catalogue))
        for plan in result.usable:
            port = port_of(plan)
            files = micropython_source(program_of(plan, result.ranking.job))
            assert bool(files) == bool(port), plan.view.board.id
            if port:
                name = f"{brief.stem}/{plan.view.board.id}"
                found[name] = (plan, result.ranking.job, port, files)
                jobs.append({"id": name, "files": files, "world": world(plan, result.ranking.job, port)})
    records = emulator.run(jobs)
    return {name: Run(*kept, records[name]) for name, kept in found.items()}


def port_of(plan: BoardPlan) -> str:
    """Port of MicroPython by the package the chip's facts name; empty where they name none."""
    packages = [firmware.package for firmware in plan.view.chip.firmware if firmware.language == "micropython"]
    return PORT.match(packages[0]).group(1) if packages else ""  # type: ignore[union-attr]


def pin_id(port: str, gpio: int | str) -> int | str:
    """How the runtime names a pad: a number, or its name in ``Pin.cpu``."""
    if isinstance(gpio, int):
        return gpio
    if port == "nrf":  # P1.02 is 34  [ports/nrf, pin.c: NUM_OF_PINS 48, port 1 from 32 on]
        return int(gpio[1]) * 32 + int(gpio[3:])
    return gpio[1:] if port == "stm32" else gpio


def pin_of(placed: Placed, port: str) -> int | str:
    """The same for a placed line."""
    return pin_id(port, placed.place.pad.gpio)


def world(plan: BoardPlan, job: Job, port: str) -> dict[str, Any]:
    """What the recorder plays: what buses answer, which pins belong to an encoder, which wake functions the chip has."""
    nets = plan.candidates.nets
    answers = {}
    for index, bus in enumerate(nets.buses):
        pins = {placed.net.role: pin_of(placed, port) for placed in plan.placed if placed.net.bus == index}
        if bus.kind == "i2c":
            answers[f"{pins['SCL']}/{pins['SDA']}"] = sorted(bus.addresses.values())
    pulses = [placed for placed in plan.placed if placed.line.asks.signal == "pulse" and placed.line.asks.direction == "in"]
    pairs = [[pin_of(a, port), pin_of(b, port)] for a, b in pairwise(pulses) if a.line.part == b.line.part]
    deep = next((state for state in plan.view.chip.sleep if state.state == "deep-sleep"), None)
    return {
        "port": port,
        "answers": answers,
        "pairs": pairs,
        "ext": deep is not None and (deep.wake_alone > 0 or "ext1" in deep.wake_limits),
        "busy": True,
        "platinum": [r_ohm for _, r_ohm in PLATINUM],
        "contacts": sorted(contacts(plan)),
        "counters": [f"{p.line.part}_{p.line.name}".lower() for p in plan.placed if p.line.asks.needs.count_pulses],
        "analog": {},
        "levels": {str(pin_of(placed, port)): 1 for placed in plan.placed if placed.line.asks.rest == "high"},
        **sensors(plan, job, port),
    }


def contacts(plan: BoardPlan) -> list[str]:
    """Names of bare contacts that are read as levels: switches of the catalogue (their lines are ASCII in these briefs)."""
    kinds = {device.name: device.kind for device in plan.candidates.nets.devices}
    return [
        re.sub(r"\W", "_", f"{placed.line.part}_{placed.line.name}".lower())
        for placed in plan.placed
        if placed.line.asks.signal == "digital"
        and kinds[placed.line.part] in BARE
        and placed.line.part.isascii()
        and placed.line.part[0] in "dkhbf"
    ]


BARE = ("push-button-momentary", "reed-contact-door")
"""Kinds of parts that are nothing but a contact."""

# ------------------------------------------------------------------------------ published readings

PLATINUM = ((-200.0, 18.52), (-100.0, 60.26), (0.0, 100.0), (100.0, 138.51), (850.0, 390.48))
"""Rows of the table of the Pt100, in °C and ohm  [IEC 60751, from a public copy]."""

SHOWN = {
    # Divider in the middle of the supply: the thermistor has its 10 kΩ of 25 °C  [definition of R25]; at 50 °C it has
    # 10 kΩ exp(3950 K (1/323.15 K - 1/298.15 K)) = 3588 Ω  [definition of B25/50; EPCOS, Standardized R/T Characteristics, 1.1].
    "ntc-10k-b3950": [(lambda v: v / 2, 25.0, 0.1), (lambda v: v * 3588 / 13588, 50.0, 0.1)],
    # 1000.00, 1385.06 and 803.06 Ω below 2 kΩ  [IEC 60751, table of the Pt100 times ten].
    "pt1000-divider": [(lambda v, r=r: v * r / (r + 2000), t, 0.05) for r, t in ((1000.0, 0.0), (1385.06, 100.0), (803.06, -50.0))],
    # Half the way is half the supply  [definition].
    "potentiometer-10k": [(lambda v: v / 2, 50.0, 1.0)],
    # 10 mV for a degree, 0 V at 0 °C  [LM35 data sheet, SNIS159, first page, from memory].
    "temperature-lm35": [(lambda _: 0.25, 25.0, 0.5)],
    # 15 kΩ at 10 lx above 10 kΩ: V 10/25  [definition of R10 with the usual part].
    "ldr-gl5528": [(lambda v: v * 10 / 25, 10.0, 0.5)],
    # 100 kΩ over 220 kΩ: a cell of 3.6 V gives 2.475 V  [Ohm's law].
    "battery-voltage-sense": [(lambda _: 3.6 * 220 / 320, 3.6, 0.03)],
}
"""Volts at the line for a supply, and what must be shown: (volts, value, tolerance), by kind of part."""


def sensors(plan: BoardPlan, job: Job, port: str) -> dict[str, Any]:
    """What the converters are told, so that each sensor shows a published value."""
    read: dict[str, list[list[Any]]] = {}
    for placed, cases in measured(plan):
        pin, channel = pin_of(placed, port), placed.place.pad.adc.channel  # type: ignore[union-attr]
        where = str(0 if port == "esp8266" else channel if port == "nrf" else pin)
        worth = plan.readings(job.setting.bench).get(placed.line.id)
        full_v = 1.0 if worth is not None and worth.range_name.startswith("internal 1 V") else 3.3 / 1.48
        told = [[where, level(port, volts(plan.view.board.logic_v), full_v)] for volts, _, _ in cases]
        read[f"{placed.line.part}_{placed.line.name}".lower()] = told
    for placed in behind_board_divider(plan) if port == "esp8266" else ():
        read[f"{placed.line.part}_{placed.line.name}".lower()] = [["0", 0.5]]
    return {"read": read}


def behind_board_divider(plan: BoardPlan) -> list[Placed]:
    """Analog lines on a pin with a divider of the board's own, whose law nobody knows: they are read in volts."""
    return [p for p in plan.placed if p.line.asks.direction == "analog-in" and p.place.fitted("divider") and p.line.asks.curve is None]


def measured(plan: BoardPlan) -> list[tuple[Placed, list[Any]]]:
    """Lines with a published reading; those behind a divider of ours are left out, as the divider is another matter."""
    kinds = {device.name: device.kind for device in plan.candidates.nets.devices}
    return [
        (placed, SHOWN[kinds[placed.line.part]])
        for placed in plan.placed
        if placed.line.asks.direction == "analog-in" and kinds[placed.line.part] in SHOWN and not placed.circuit.of("divider")
    ]


def level(port: str, volts: float, samd_full_v: float) -> float:
    """What the converter sees: volts where the runtime gives microvolts, else a share of what its highest code stands for.

    The samd port takes the supply / 1.48 or 1 V as reference [ports/samd, machine_adc.c]; the others the supply of 3.3 V.
    """
    if port == "esp32":
        return volts
    return volts / {"samd": samd_full_v, "esp8266": 1.0}.get(port, 3.3)
