"""Devices to draw: briefs planned on one board each, and small builds made by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from pinwright.pack.build import Build, Item, Net, Stage, Terminal, Wire
from pinwright.pack.build.make import build_of
from pinwright.pack.build.model import Symbol
from pinwright.planning import open_job, plan_job

EXAMPLES = Path("examples")
FORTY = """
title = "Workshop, forty lines"
[supply]
source = "adapter"
voltage = "5 V"
current = "4 A"
""" + "".join(
    f'[[part]]\nname = "{name}"\nkind = "{kind}"\ncount = {count}\n'
    for name, kind, count in (
        ("air", "bme280", 1), ("screen", "ssd1306-oled-i2c", 1), ("motor", "thermocouple-max31855", 2), ("gate", "limit-switch-micro", 6),
        ("key", "push-button-momentary", 6), ("fan", "relay-module-active-high", 5), ("flap", "servo-hobby", 4),
        ("light", "led-strip-12v-dimming", 1), ("dial", "potentiometer-10k", 3), ("echo", "ultrasonic-hc-sr04", 1),
        ("panel", "tft-ili9341-spi", 1),
    )
)  # fmt: skip
STAGES = 'title = "One of each stage"\n' + "".join(
    f'[[part]]\nname = "{name}"\nkind = "{kind}"\n'
    for name, kind in (
        ("lock", "solenoid-12v"), ("echo", "ultrasonic-hc-sr04"), ("pixels", "led-ws2812b"), ("signal", "led-red"),
        ("probe", "ntc-10k-b3950"), ("sender", "ir-led-sender"), ("key", "push-button-momentary"), ("fan", "fan-4wire-pwm"),
    )
)  # fmt: skip
_NAMES = ("<b>&'", "a\\nb", "😀 🚀", "שלום עולם", "x" * 64, "]]>", "int", "--><script>", "=cmd()", "ein " * 12 + "e")
HOSTILE = f'title = "<b>&\\"\' 😀 שלום {"x" * 150}"\n' + "".join(
    f'[[part]]\nname = "{name}"\nkind = "push-button-momentary"\n' for name in _NAMES
) + """
[[part]]
name = "own <i>"
supply = "5 V"
[[part.line]]
name = "שלום LINE LINE LINE"
direction = "out"
signal = "digital"
[[part.line]]
name = "</text>"
direction = "in"
signal = "digital"
"""  # fmt: skip
SMALL = 'title = "Small"\n[[part]]\nname = "key"\nkind = "push-button-momentary"\n[[part]]\nname = "lamp"\nkind = "led-red"\n'


@cache
def planned(text: str, board: str) -> Build:
    """A brief on one board."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "brief.toml"
        wish = f'[board]\nonly = ["{board}"]\n'
        text = text.replace("[board]\n", wish, 1) if "[board]\n" in text else f"{text}\n{wish}"
        path.write_text(text, encoding="utf-8")
        return build_of(plan_job(open_job(path)))


def example(name: str, board: str) -> Build:
    """An example of the repository on one board."""
    return planned((EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"), board)


def made_by_hand(parts: dict[str, list[tuple[str, str]]], seed: int = 0) -> Build:
    """Parts with terminals on pins of a 40-pin board: ``parts[name]`` holds (pin, circuit) pairs.

    Circuits: ``""`` a straight wire, ``pull``, ``series``, ``divider``, ``switch`` (with gate resistor, pull-down and diode), ``shifter``;
    a pin named twice is a bus.  Every part hangs on ground and one of two rails.
    """
    base = planned(SMALL, "raspberry-pi-pico")
    made = _Hand(base)
    for number, (name, lines) in enumerate(parts.items()):
        rail = "5 V" if (number + seed) % 3 == 0 else "3.3 V"
        made.part(name, lines, rail)
    return made.build()


class _Hand:
    def __init__(self, base: Build) -> None:
        self.base = base
        self.items = [base.board, *(Item(ref, "rail", ref, ("rail",)) for ref in ("GND", "3.3 V", "5 V"))]
        self.chains: dict[str, list[Terminal]] = {
            "GND": [Terminal("board", "GND (1)")], "3.3 V": [Terminal("board", "3V3(OUT)")], "5 V": [Terminal("board", "VBUS")],
        }  # fmt: skip
        self.stages: list[Stage] = []
        self.counts: Counter[str] = Counter()

    def _new(self, letter: str, terminals: tuple[str, ...], symbol: Symbol, line: str) -> str:
        self.counts[letter] += 1
        ref = f"{letter}{self.counts[letter]}"
        value, unit = (4700.0, "Ω") if symbol == "resistor" else (None, "")
        self.items.append(Item(ref, "component", symbol, terminals, symbol, value=value, unit=unit, line=line))
        return ref

    def part(self, name: str, lines: list[tuple[str, str]], rail: str) -> None:
        names = tuple(f"L{number}" for number in range(len(lines)))
        self.items.append(Item(name, "part", f"a {name}", (*names, "V+", "GND")))
        for terminal, (pin, circuit) in zip(names, lines, strict=True):
            self._line(f"{name}.{terminal}", Terminal(name, terminal), pin, circuit, rail)
        self.chains[rail].append(Terminal(name, "V+"))
        self.chains["GND"].append(Terminal(name, "GND"))

    def _line(self, line: str, end: Terminal, pin: str, circuit: str, rail: str) -> None:
        here = f"pin {pin}"
        chain = self.chains.setdefault(here, [Terminal("board", pin)])
        refs: list[str] = []

        def two(a: str, b: str, symbol: Symbol = "resistor") -> None:
            letter, ends = ("D", ("A", "K")) if symbol == "diode" else ("R", ("1", "2"))
            refs.append(self._new(letter, ends, symbol, line))
            self.chains.setdefault(a, []).append(Terminal(refs[-1], ends[0]))
            self.chains.setdefault(b, []).append(Terminal(refs[-1], ends[1]))

        after = here
        if circuit == "pull":
            two(here, rail)
        elif circuit == "series":
            after = f"{line} after"
            two(here, after)
        elif circuit == "divider":
            after = f"{line} after"
            two(here, after)
            two(here, "GND")
        elif circuit == "switch":
            gate, after = f"{line} gate", f"{line} switched"
            two(here, gate)
            two(here, "GND")
            refs.append(self._new("Q", ("G", "D", "S"), "nmos", line))
            for net, terminal in ((gate, "G"), (after, "D"), ("GND", "S")):
                self.chains.setdefault(net, []).append(Terminal(refs[-1], terminal))
            two(after, rail, "diode")
        elif circuit == "shifter":
            after = f"{line} after"
            refs.append(self._new("U", ("A1", "B1", "VA", "VB", "GND"), "shifter", line))
            for net, terminal in ((here, "A1"), (after, "B1"), ("3.3 V", "VA"), ("5 V", "VB"), ("GND", "GND")):
                self.chains.setdefault(net, []).append(Terminal(refs[-1], terminal))
        if after == here:
            chain.append(end)
        else:
            self.chains[after].append(end)
        self.stages.append(Stage((line,), Terminal("board", pin), (end,), tuple(refs), (here, after)))

    def build(self) -> Build:
        nets, wires = [], []
        for net, terminals in self.chains.items():
            is_rail = net in ("GND", "3.3 V", "5 V")
            role: Literal["ground", "supply", "signal"] = "ground" if net == "GND" else "supply" if is_rail else "signal"
            colour = {"GND": "BK", "3.3 V": "OG", "5 V": "RD"}.get(net, ("YE", "GN", "BU", "WH")[len(nets) % 4])
            rail = Terminal(net, "rail")
            nets.append(Net(net, net, role, (*terminals, *([rail] if is_rail else [])), colour=colour))
            for a, b in [(rail, t) for t in terminals] if is_rail else pairwise(terminals):
                wires.append(Wire(len(wires) + 1, a, b, net, colour, 0.14, 0.2))
        return replace(self.base, items=tuple(self.items), nets=tuple(nets), wires=tuple(wires), stages=tuple(self.stages))
