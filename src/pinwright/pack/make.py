"""All files of a pack, in memory: drawings, lists, firmware, bench sheet, report, plan, and an index that says what to open first."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePath

from pinwright import __version__
from pinwright.contract import CONTRACT, plan_shape
from pinwright.pack.build.model import Build
from pinwright.pack.csv_text import csv_bytes
from pinwright.pack.drawing import clean
from pinwright.pack.lists import parts_csv, parts_list, total_of, wire_csv, wire_list
from pinwright.pack.pieces import Pieces, pieces_of
from pinwright.pack.report.work import Origin

__all__ = ["OPEN_FIRST", "Pack", "pack_files", "pack_of"]

OPEN_FIRST = "report.html"


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack in memory: files by path, and what could not be made, with the reason in a line each."""

    files: dict[str, bytes]
    left_out: tuple[str, ...] = ()


def pack_files(build: Build) -> dict[str, bytes]:
    """Files of a pack by their path in its folder.

    Parameters
    ----------
    build : what is built [-]
    """
    return pack_of(build).files


def pack_of(build: Build, with_pdf: bool = True, step: Callable[[str], None] = lambda _: None) -> Pack:
    """The whole pack.

    Parameters
    ----------
    build : what is built [-]
    with_pdf : also print the report, where that is possible [-]
    step : hears what is being made [-]
    """
    from pinwright.pack.report.compose import report_of
    from pinwright.pack.report.html import html_of
    from pinwright.pack.report.markdown import markdown_of
    from pinwright.pack.report.pdf import PdfMissing, pdf_of

    pieces = pieces_of(build, step)
    files = {OPEN_FIRST: b"", "report.md": b"", "report.pdf": b""}  # the order of the index
    step("the report")
    origin = Origin(__version__, CONTRACT, PurePath(build.job.file.name).name)
    report = report_of(build, pieces, origin)
    files[OPEN_FIRST] = html_of(report).encode()
    files["report.md"] = markdown_of(report).encode()
    left_out: list[str] = []
    if with_pdf:
        step("the report on paper")
        try:
            files["report.pdf"] = pdf_of(report)
        except PdfMissing as missing:
            left_out.append(f"report.pdf: {missing}")
    step("the lists")
    files |= {picture.file: picture.drawing.markup("auto").encode() for picture in pieces.pictures}
    wires, parts = wire_list(build), parts_list(build)
    files["lists/wires.csv"] = csv_bytes(wire_csv(wires))
    files["lists/parts.csv"] = csv_bytes(parts_csv(parts, total_of(parts, build.job.prices is not None)))
    files |= {text.file: text.content for text in (*pieces.firmware, *pieces.benches)}
    files["plan.json"] = (json.dumps(plan_shape(build.result), indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    files = {path: content for path, content in files.items() if content}
    files["README.txt"] = index_text(build, pieces, tuple(files)).encode()
    return Pack(files, tuple(left_out))


_WORDS = {
    "report.html": "everything, as a page; needs nothing else",
    "report.md": "the same as text",
    "report.pdf": "the same for paper",
    "lists/wires.csv": "every wire, for a spreadsheet",
    "lists/parts.csv": "what to buy, for a spreadsheet",
    "plan.json": "the plan of every board, for programs",
}


def _flashing(paths: tuple[str, ...]) -> list[str]:
    """How the firmware gets onto the board, for every language there is."""
    words = []
    if any(path.startswith("firmware/micropython/") for path in paths):
        words.append(
            "MicroPython: put the runtime for this board on it, copy the three files of firmware/micropython onto it, and reset it. "
            "Packages the parts need are named at the top of device.py."
        )
    if any(path.startswith("firmware/cpp/") for path in paths):
        words.append(
            "C++: open firmware/cpp/firmware in a development environment for the board's core, choose the board, install the libraries "
            "named at the top of firmware.ino, and upload. Set SELF_TEST to 1 there for the walk over every line."
        )
    if words:
        words.insert(0, "Flash it first with nothing but the USB cable on the board; the bench sheet says when the loads come.")
    return ["", *words] if words else []


def index_text(build: Build, pieces: Pieces, paths: tuple[str, ...]) -> str:
    """What the folder holds, and what to open first.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    paths : all other files [-]
    """
    said = _WORDS | {text.file: text.words for text in (*pieces.firmware, *pieces.benches)}
    said |= {picture.file: clean(picture.caption) for picture in pieces.pictures}
    wide = max(map(len, paths))
    lines = [
        clean(build.title),
        f"on the {build.board.title}",
        "",
        f"Open {OPEN_FIRST} first. Read the cautions in it before you buy or join anything.",
        "",
        *(f"{path.ljust(wide)}  {said.get(path, '')}".rstrip() for path in paths),
        *_flashing(paths),
        "",
        "pack.json lists these files with their hashes: a later run overwrites what it wrote itself, never what you changed or added.",
        "Mains voltage, lithium cells, heaters, motors and fused supplies can hurt or kill: follow your local electrical code.",
    ]
    return "\n".join(lines) + "\n"
