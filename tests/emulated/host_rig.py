"""Compile C++ for the other cores against declarations of our own, and run it on the host with every call written down."""

from __future__ import annotations

import fcntl
import os
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from cpp_plans import Case

from pinwright.facts.model import Pad
from pinwright.fitting.places import Place

__all__ = ["HostRig", "Record", "generations", "host_pin", "missing_tools"]

API = Path(__file__).parent / "api"
STRICT = ("-std=gnu++17", "-Wall", "-Wextra", "-Werror")


def missing_tools() -> str:
    """Which Debian packages lack; empty: none."""
    return "" if shutil.which("g++") and shutil.which("gcc") else "gcc g++"


def generations(case: Case) -> tuple[int, ...]:
    """Versions of the core whose PWM and sleep calls differ; 0 where there is one only."""
    if case.core.id != "esp32":
        return (0,)
    return (3,) if case.program.chip in case.core.newest_only else (2, 3)


def _flags(case: Case, generation: int) -> list[str]:
    return [f"-D{case.core.guard}", *([f"-DESP_ARDUINO_VERSION_MAJOR={generation}"] if generation else []), "-I", str(API)]


def host_pin(case: Case, place: Place) -> int:
    """Number of a pin in our declarations (``pins_host.h``): GPIO number, port and bit, or by the label printed on the board."""
    pad: Pad = place.pad
    if case.core.guard.endswith("_STM32"):
        return "ABC".index(pad.name[1]) * 16 + int(pad.name[2:])
    if isinstance(pad.gpio, int):
        return pad.gpio
    named = {"SDA": 120, "SCL": 121, "SCK": 122, "MOSI": 123, "MISO": 124, "AREF": 110}
    serial = {"RX": 130, "TX": 131} if case.core.id == "nrf52" else {"RX": 0, "TX": 1}
    label = place.label
    if label in named or label in serial:
        return (named | serial)[label]
    return 100 + int(label[1:]) if label.startswith("A") else int(label.lstrip("D"))


@dataclass
class Record:
    """What a run did: ``calls`` are (time in microseconds, call, numbers), ``states`` of each pin over time, ``said`` its lines."""

    calls: list[tuple[int, str, list[int]]] = field(default_factory=list)
    states: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    said: list[tuple[int, str]] = field(default_factory=list)
    order: list[tuple[str, int]] = field(default_factory=list)
    phases: dict[str, int] = field(default_factory=dict)

    def of(self, name: str) -> list[list[int]]:
        """Numbers of every call of one name."""
        return [numbers for _, call, numbers in self.calls if call == name]


class HostRig:
    """Compiles and runs; everything lies in one folder of the session, the recording part compiled once for each core."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    def recorder(self, case: Case, generation: int) -> Path:
        """The recording part for a core, compiled when first asked for; safe with several workers."""
        made = self.folder / f"{case.core.guard}-{generation}.o"
        with made.with_suffix(".lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not made.exists():
                part = made.with_suffix(".part")
                subprocess.run(["g++", *STRICT, *_flags(case, generation), "-c", str(API / "host.cpp"), "-o", str(part)], check=True)
                part.rename(made)
        return made

    def write(self, case: Case) -> None:
        """The case's files in a folder of their own, once."""
        folder = self.folder / case.name.replace("/", "-")
        if (folder / "written").exists():
            return
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in case.files.items():
            part = folder / f"{name}.{os.getpid()}"
            part.write_text(text, encoding="utf-8")
            part.rename(folder / name)
        (folder / "written").touch()

    def _compile(self, case: Case, generation: int, defines: Iterable[str], *more: str) -> None:
        folder = self.folder / case.name.replace("/", "-")
        command = [
            "g++",
            *STRICT,
            *_flags(case, generation),
            *(f"-D{define}" for define in defines),
            *more[:1],
            "-x",
            "c++",
            "firmware.ino",
        ]
        done = subprocess.run([*command, *more[1:]], cwd=folder, capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"{case.name}, core generation {generation}\n{done.stderr[:4000]}"

    def run(
        self, case: Case, generation: int, *, self_test: bool = False, answer: str = "-", loops: int = 3000, script: str = ""
    ) -> Record:
        """Compile with every warning an error, link, and run the set-up and so many rounds."""
        program = self.folder / case.name.replace("/", "-") / f"run-{generation}-{int(self_test)}"
        made = str(self.recorder(case, generation))
        self.write(case)
        with program.with_suffix(".lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not program.exists():
                part = program.with_suffix(".part")
                self._compile(case, generation, [f"SELF_TEST={int(self_test)}"], "-O0", "-x", "none", made, "-o", str(part))
                part.rename(program)
        done = subprocess.run([str(program), str(loops), answer], input=script, capture_output=True, text=True, timeout=60, check=True)
        return _record(done.stdout)


def _record(text: str) -> Record:
    record = Record()
    for line in text.splitlines():
        time, name, *rest = line.split(" ")
        at = int(time)
        if name == "says":
            record.said.append((at, " ".join(rest)))
            record.order.append((f"says {' '.join(rest)}", -1))
        elif name == "state":
            record.states.setdefault(int(rest[0]), []).append((at, rest[1]))
            record.order.append((rest[1], int(rest[0])))
        elif name in ("set-up", "loops", "end"):
            record.phases[name] = len(record.calls)
        elif name == "fault":
            raise AssertionError(line)
        else:
            numbers = [int(word) for word in rest if word.lstrip("-").isdigit()]
            record.calls.append((at, name, numbers))
            record.order.append((name, numbers[0] if numbers else -1))
    return record
