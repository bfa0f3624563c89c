"""The pieces of a pack, each made by its own module: drawings, bench sheet, firmware.  Gathered once, shown everywhere."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import PurePath
from typing import TYPE_CHECKING

from pinwright.fitting.words import listed
from pinwright.pack.build.model import Build, Stage
from pinwright.pack.csv_text import csv_bytes, csv_text
from pinwright.pack.drawing import Drawing, clean

if TYPE_CHECKING:
    from pinwright.pack.bench.model import BenchSheet

__all__ = ["Picture", "Pieces", "Text", "pieces_of", "slug"]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, its caption, its file in the pack, and the lines it is about (none: the whole device)."""

    drawing: Drawing
    caption: str
    file: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    """A text file of the pack; ``language`` says how it is written, ``words`` what it is for."""

    file: str
    language: str
    text: str
    words: str

    @property
    def content(self) -> bytes:
        """What the file holds; a table as spreadsheets like it."""
        return csv_bytes(self.text) if self.language == "csv" else self.text.encode()


@dataclass(frozen=True)
class Pieces:
    """Everything other modules make for a pack."""

    boards: tuple[Picture, ...] = ()
    circuits: tuple[Picture, ...] = ()
    timelines: tuple[Picture, ...] = ()
    supplies: tuple[Picture, ...] = ()
    sheets: tuple[Picture, ...] = ()
    firmware: tuple[Text, ...] = ()
    bench: BenchSheet | None = None
    benches: tuple[Text, ...] = ()

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """All drawings in the order of the report."""
        return (*self.boards, *self.circuits, *self.timelines, *self.supplies, *self.sheets)

    def circuit_of(self, stage: Stage) -> tuple[Picture, ...]:
        """Drawings of the circuit of a stage.

        Parameters
        ----------
        stage : circuit of one line, or of the lines of a bus wire [-]
        """
        return tuple(picture for picture in self.circuits if set(picture.lines) & set(stage.lines))


def slug(words: str, taken: set[str] | None = None) -> str:
    """A part of a file name that every system takes: small letters, digits and dashes, at most 40; unique among those taken.

    Parameters
    ----------
    words : any text [-]
    taken : names that are in use already; the new one is added [-]

    >>> slug("Pump #1: ../IN"), slug("日本"), slug("con")
    ('pump-1-in', 'unnamed', 'con-1')
    """
    taken = set() if taken is None else taken
    letters = unicodedata.normalize("NFKD", words).casefold().encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40].strip("-") or "unnamed"
    name, number = stem, 0
    while name in taken or name in _RESERVED:
        number += 1
        name = f"{stem}-{number}"
    taken.add(name)
    return name


_RESERVED = {"con", "prn", "aux", "nul", *(f"{device}{number}" for device in ("com", "lpt") for number in range(10))}
"""Names that are devices on one system   [Microsoft, Naming Files, Paths, and Namespaces, from memory]."""


# ------------------------------------------------------------------------------ each piece by its own module


def pieces_of(build: Build, step: Callable[[str], None] = lambda _: None) -> Pieces:
    """Make all pieces.

    Parameters
    ----------
    build : what is built [-]
    step : hears what is being made [-]
    """
    step("the board")
    boards = _boards(build)
    step("the circuits")
    circuits = _circuits(build)
    step("the power-up timeline")
    timelines = _timelines(build)
    step("the supply")
    supplies = _supplies(build)
    step("the wiring sheet")
    sheets = _sheets(build)
    step("the bench sheet")
    bench, benches = _bench(build)
    step("the firmware")
    firmware = _firmware(build)
    return Pieces(boards, circuits, timelines, supplies, sheets, firmware, bench, benches)


def _boards(build: Build) -> tuple[Picture, ...]:
    from pinwright.pack.board_svg import board_svg

    drawing = board_svg(build.plan, build.title, build=build)
    return (Picture(drawing, "The board to scale: pins in use with part and line, and marks that warn", "drawings/board.svg"),)


def _circuits(build: Build) -> tuple[Picture, ...]:
    from pinwright.pack.circuit_svg import circuit_drawings

    taken: set[str] = set()
    return tuple(
        Picture(drawing, f"Interface circuit of {_named(drawing.lines)}",
                f"drawings/circuit-{number:02d}-{slug(drawing.lines[0], taken)}.svg", tuple(drawing.lines))
        for number, drawing in enumerate(circuit_drawings(build), 1)
    )  # fmt: skip


def _named(lines: tuple[str, ...]) -> str:
    """Lines in a sentence; many are counted."""
    names = [clean(line) for line in lines]
    if len(names) > 4:
        return f"{', '.join(names[:3])} and {len(names) - 3} more lines"
    return listed(names)


def _timelines(build: Build) -> tuple[Picture, ...]:
    from pinwright.fitting.timeline import timeline
    from pinwright.pack.timeline_svg import timeline_drawing

    drawing = timeline_drawing(build.title, build.board.title, timeline(build.plan, build.job.setting))
    return (Picture(drawing, "What every line does from power-on until, and after, the firmware rules", "drawings/power-up.svg"),)


def _supplies(build: Build) -> tuple[Picture, ...]:
    from pinwright.pack.supply_svg import supply_svg

    drawing = supply_svg(build.supply, build.title)
    return (Picture(drawing, "Where the current goes, and what is left of every limit", "drawings/supply.svg"),)


def _sheets(build: Build) -> tuple[Picture, ...]:
    from pinwright.pack.sheet import sheets

    drawings = sheets(build)
    if len(drawings) == 1:
        return (Picture(drawings[0], "Wiring sheet: every wire with its number and colour", "drawings/sheet.svg"),)
    return tuple(
        Picture(drawing, f"Wiring sheet, page {number} of {len(drawings)}", f"drawings/sheet-{number}.svg")
        for number, drawing in enumerate(drawings, 1)
    )


def _bench(build: Build) -> tuple[BenchSheet, tuple[Text, ...]]:
    from pinwright.pack.bench import BenchRow, bench_json, bench_rows, bench_sheet

    sheet = bench_sheet(build)
    names = [field.name for field in fields(BenchRow)]
    table = csv_text(names, [[getattr(row, name) for name in names] for row in bench_rows(sheet)])
    shape = json.dumps(bench_json(sheet), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    return sheet, (
        Text("bench/bench.csv", "csv", table, "the bench sheet, for a spreadsheet"),
        Text("bench/bench.json", "json", shape, "the bench sheet with its expected values, for programs"),
    )


def _firmware(build: Build) -> tuple[Text, ...]:
    """Every language the chip runs, and a header for the others."""
    from pinwright.pack.firmware.c_header import c_header
    from pinwright.pack.firmware.cores import core_of
    from pinwright.pack.firmware.cpp import cpp_source
    from pinwright.pack.firmware.micropython import micropython_source
    from pinwright.pack.firmware.program import program_of

    program = program_of(build.plan, build.job)
    sketch = cpp_source(program) if core_of(program) is not None else {}
    folder = PurePath(next(iter(sketch), "device")).stem
    return (
        *(Text(f"firmware/micropython/{name}", _language(name), text, f"MicroPython, {name}: copy it to the board")
          for name, text in micropython_source(program).items()),
        *(Text(f"firmware/cpp/{folder}/{name}", _language(name), text, f"C++ for the pinMode and digitalWrite interface, {name}")
          for name, text in sketch.items()),
        Text("firmware/c/plan.h", "c", c_header(program), "C, constants of the plan for a programme of your own"),
    )  # fmt: skip


def _language(name: str) -> str:
    return {".py": "python", ".ino": "cpp", ".cpp": "cpp", ".h": "cpp"}.get(PurePath(name).suffix, "text")
