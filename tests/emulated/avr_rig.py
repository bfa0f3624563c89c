"""Compile C++ for an AVR board against Debian's core, run it in the simulator's library, and read what its pins did.

The core and the two bus libraries are compiled once for each pin table and kept for the session; a firmware then only
compiles its own file, with every warning an error.  Time in the simulator is counted in clock cycles from reset.
"""

from __future__ import annotations

import fcntl
import re
import shutil
import subprocess
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

__all__ = ["BOARDS", "AvrBoard", "Event", "Rig", "Run", "missing_tools", "sfr"]

HERE = Path(__file__).parent
ROOT = Path("/usr/share/arduino/hardware/arduino/avr")
"""Where the Debian package arduino-core-avr puts its files."""
LIBRARIES = ("Wire/src", "Wire/src/utility", "SPI/src")
FLAGS = ("-Os", "-ffunction-sections", "-fdata-sections", "-fno-exceptions", "-fno-threadsafe-statics")
"""The core's own flags (its platform.txt), without link-time optimisation, which only costs time here."""
STRICT = ("-Wall", "-Wextra", "-Werror")
SIMULATOR = "libsimavr.so.2"
_WATCHED = r"(PORT|DDR)[A-L]|TCCR\d[A-E]?|GTCCR|OCR\d[A-D][LH]?|ICR\d[LH]|TC4H|SMCR|MCUCR"
"""Registers whose every change is written down."""


@dataclass(frozen=True, slots=True)
class AvrBoard:
    """How the core calls one of our boards: chip, pin table, clock [Hz], and the macro that names the board."""

    mcu: str
    variant: str
    macro: str
    clock_hz: int = 16_000_000
    defines: tuple[str, ...] = ()


_USB = ("-DUSB_VID=0x2341", "-DUSB_PID=0x8036", '-DUSB_MANUFACTURER="x"', '-DUSB_PRODUCT="x"')
BOARDS = {
    "atmega328p-32pin": AvrBoard("atmega328p", "standard", "AVR_UNO"),
    "atmega328p-narrow-30pin": AvrBoard("atmega328p", "eightanaloginputs", "AVR_NANO"),
    "atmega328p-3v3-8mhz-narrow": AvrBoard("atmega328p", "eightanaloginputs", "AVR_PRO", 8_000_000),
    "atmega2560-54pin": AvrBoard("atmega2560", "mega", "AVR_MEGA2560"),
    "atmega32u4-32pin": AvrBoard("atmega32u4", "leonardo", "AVR_LEONARDO", defines=_USB),
    "atmega32u4-narrow-24pin": AvrBoard("atmega32u4", "leonardo", "AVR_LEONARDO", defines=_USB),
    "atmega32u4-narrow-34pin": AvrBoard("atmega32u4", "micro", "AVR_MICRO", defines=_USB),
    "attiny85-dip8": AvrBoard("attiny85", "gemma", "AVR_GEMMA", 8_000_000),
}
"""Boards of the catalogue as the core's boards.txt describes them (read from the package); the bare 8-pin chip as the
core's one board with that chip."""


def missing_tools() -> str:
    """Which Debian packages lack, as one text; empty: none."""
    lacks = [
        package
        for package, there in (
            ("gcc-avr", shutil.which("avr-g++") is not None),
            ("avr-libc", Path("/usr/lib/avr/include/avr/io.h").exists()),
            ("arduino-core-avr", (ROOT / "cores/arduino/Arduino.h").exists()),
            ("libsimavr-dev", Path("/usr/include/simavr/sim_avr.h").exists()),
            ("g++", shutil.which("g++") is not None),
        )
        if not there
    ]
    return " ".join(lacks)


@dataclass(frozen=True, slots=True)
class Event:
    """Something from outside: ``pin`` LETTER BIT LEVEL, ``adc`` CHANNEL MILLIVOLTS, ``uart`` NUMBER TEXT; ``at_s`` after reset."""

    at_s: float
    kind: str
    rest: str


@dataclass
class Run:
    """What the registers did: for each watched name the (cycle, value) pairs, in order; bytes sent; bus addresses called."""

    clock_hz: int
    end: int
    changes: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    serial: dict[int, str] = field(default_factory=dict)
    sent_at: dict[int, list[int]] = field(default_factory=dict)
    called: list[int] = field(default_factory=list)

    def at(self, register: str, cycle: int) -> int:
        """Value of a register at a time."""
        history = self.changes[register]
        return history[bisect_right(history, (cycle, 1 << 30)) - 1][1]

    def last(self, register: str) -> int:
        """Its value at the end."""
        return self.changes[register][-1][1]

    def pin(self, pad: str) -> list[tuple[int, str]]:
        """(cycle, state) of a pad over time: ``hi-Z``, ``pull-up``, ``low``, ``high``."""
        port, bit = pad[1], 1 << int(pad[2])
        times = sorted({cycle for name in ("DDR", "PORT") for cycle, _ in self.changes[name + port]})
        states: list[tuple[int, str]] = []
        for cycle in times:
            out, level = self.at(f"DDR{port}", cycle) & bit, self.at(f"PORT{port}", cycle) & bit
            state = ("high" if level else "low") if out else ("pull-up" if level else "hi-Z")
            if not states or states[-1][1] != state:
                states.append((cycle, state))
        return states


@cache
def sfr(mcu: str) -> Mapping[str, int]:
    """Data-space address of every 8-bit register of a chip, from avr-libc's headers."""
    command = ["avr-gcc", f"-mmcu={mcu}", "-E", "-dM", "-include", "avr/io.h", "-x", "c", "/dev/null"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = {}
    for name, kind, number in re.findall(r"^#define (\w+) _SFR_(IO8|MEM8) ?\((0[xX][0-9A-Fa-f]+)\)", text, re.MULTILINE):
        found[name] = int(number, 16) + (0x20 if kind.startswith("IO") else 0)
    return found


class Rig:
    """Compiles and runs; everything it makes lies in one folder of the session."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    def watched(self, mcu: str) -> dict[str, int]:
        """Registers to watch: ports, and the timers' set-up."""
        return {
            name: address
            for name, address in sfr(mcu).items()
            if re.fullmatch(_WATCHED, name)
        }  # fmt: skip

    def core(self, board: AvrBoard) -> Path:
        """The core and its bus libraries as one archive, compiled when first asked for; safe with several workers."""
        name = f"{board.mcu}-{board.variant}-{board.clock_hz}"
        archive = self.folder / f"{name}.a"
        with (self.folder / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if archive.exists():
                return archive
            objects = self.folder / name
            objects.mkdir(exist_ok=True)
            small = board.mcu == "attiny85"
            folders = [ROOT / "cores/arduino", *(ROOT / "libraries" / path for path in LIBRARIES if not small)]
            sources = [path for folder in folders for path in sorted(folder.iterdir()) if path.suffix in (".c", ".cpp", ".S")]
            common = [*self._flags(board), "-w", "-c"]
            # Debian's compiler gives DECIMAL_DIG to C only, and the core's strings ask for it in C++; assembly goes into a
            # folder of its own, for one file has the name of a C file.
            kinds = {
                ".cpp": ("avr-g++", ["-std=gnu++11", "-fpermissive", "-DDECIMAL_DIG=__DECIMAL_DIG__"]),
                ".c": ("avr-gcc", []),
                ".S": ("avr-gcc", ["-x", "assembler-with-cpp"]),
            }
            for suffix, (compiler, more) in kinds.items():
                folder = objects / suffix[1:]
                folder.mkdir(exist_ok=True)
                files = [str(path) for path in sources if path.suffix == suffix]
                subprocess.run([compiler, *common, *more, *files], cwd=folder, check=True, capture_output=True)
            made = sorted(str(path) for path in objects.rglob("*.o"))
            subprocess.run(["avr-ar", "rcs", f"{archive}.part", *made], check=True, capture_output=True)
            Path(f"{archive}.part").rename(archive)
        return archive

    def runner(self) -> Path:
        """The small program around the simulator's library, compiled when first asked for."""
        program = self.folder / "avr_runner"
        with (self.folder / "runner.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not program.exists():
                library = next(Path("/usr/lib").glob(f"*/{SIMULATOR}"))
                command = ["gcc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror", "-o", f"{program}.part", str(HERE / "avr_runner.c")]
                subprocess.run([*command, str(library)], check=True)
                Path(f"{program}.part").rename(program)
        return program

    def compile(self, board: AvrBoard, files: Mapping[str, str], name: str, defines: Iterable[str] = ()) -> Path:
        """Firmware of a board from its files (the first ``.ino`` is the main one).  Raises AssertionError with what the compiler said."""
        folder = self.folder / name
        folder.mkdir(parents=True, exist_ok=True)
        for file, text in files.items():
            (folder / file).write_text(text, encoding="utf-8")
        main = next(file for file in files if file.endswith(".ino"))
        elf = folder / "firmware.elf"
        archive = self.core(board)
        command = [
            "avr-g++", *self._flags(board), *(f"-D{define}" for define in defines), "-std=gnu++11", *STRICT, "-x", "c++",
            "-include", "Arduino.h", main, "-x", "none", "-Wl,--gc-sections", "-o", str(elf), str(archive), "-lm",
        ]  # fmt: skip
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"{name}\n{done.stderr[:6000]}"
        return elf

    def run(self, elf: Path, board: AvrBoard, stop_s: float, events: Sequence[Event] = ()) -> Run:
        """Run a firmware from reset for so long [s of its own time]."""
        watched = self.watched(board.mcu)
        names = {address: name for name, address in watched.items()}
        told = "".join(f"{round(e.at_s * 1e6)} {e.kind} {e.rest}\n" for e in sorted(events, key=lambda e: e.at_s))
        command = [str(self.runner()), str(elf), board.mcu, str(board.clock_hz), str(round(stop_s * 1e6)), *(f"{a:x}" for a in names)]
        done = subprocess.run(command, input=told, capture_output=True, text=True, check=True, timeout=120)
        result = Run(board.clock_hz, 0, {name: [] for name in watched})
        sent: dict[int, bytearray] = {}
        for line in done.stdout.splitlines():
            words = line.split()
            if len(words) < 3 or not words[0].isdigit():
                continue  # the library's own talk
            cycle, kind = int(words[0]), words[1]
            if kind == "r":
                result.changes[names[int(words[2], 16)]].append((cycle, int(words[3])))
            elif kind == "u":
                sent.setdefault(int(words[2]), bytearray()).append(int(words[3]))
                result.sent_at.setdefault(int(words[2]), []).append(cycle)
            elif kind == "i":
                result.called.append(int(words[3]))
            elif kind == "end":
                result.end = cycle
        result.serial = {port: text.decode("utf-8", "replace") for port, text in sent.items()}
        return result

    def _flags(self, board: AvrBoard) -> list[str]:
        places = [ROOT / "cores/arduino", ROOT / "variants" / board.variant, *(ROOT / "libraries" / path for path in LIBRARIES)]
        # Not -isystem: this compiler takes what it finds there for C.
        return [
            *FLAGS, f"-mmcu={board.mcu}", f"-DF_CPU={board.clock_hz}L", "-DARDUINO=10819", f"-DARDUINO_{board.macro}",
            "-DARDUINO_ARCH_AVR", *board.defines, *(word for place in places for word in ("-I", str(place))),
        ]  # fmt: skip
