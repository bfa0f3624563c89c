"""What is done with the device: the bench sheet, the firmware, and how to make this pack again."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from pinwright.pack.build.model import Build
from pinwright.pack.drawing import clean
from pinwright.pack.pieces import Pieces
from pinwright.pack.report.choice import language_words
from pinwright.pack.report.content import Block, Code, Column, Items, Listing, Name, Paragraph, Ref, Section, Table, Words
from pinwright.pack.report.words import sentence

if TYPE_CHECKING:
    from pinwright.pack.bench import BenchRow, BenchSheet

__all__ = ["Origin", "bench_section", "firmware_section", "reproduce_section"]


def bench_section(pieces: Pieces) -> Section | None:
    """The bench sheet, phase by phase, or ``None`` where the pack has none.

    Parameters
    ----------
    pieces : drawings and texts of the pack [-]
    """
    if pieces.bench is None:
        return None
    from pinwright.pack.bench import bench_rows

    sheet: BenchSheet = pieces.bench
    blocks: list[Block] = [
        Paragraph("Take the steps in this order. Where one fails, stop and find out why before you go on.", "lead"),
        Items(tuple(map(clean, sheet.cautions))),
    ]
    if sheet.tools:
        blocks.append(Paragraph(clean(f"You need: {', '.join(sheet.tools)}.")))
    failures: dict[str, int] = {}
    for number, (words, rows) in enumerate(groupby(bench_rows(sheet), key=lambda row: row.phase), 1):
        blocks.append(_phase(number, words, list(rows), failures))
    blocks.append(_failures(failures))
    same = ("The same for a spreadsheet and for programs: ", Code("bench/bench.csv"), ", ", Code("bench/bench.json"), ".")
    blocks.append(Paragraph(same, "remark"))
    return Section("bench", "Bench sheet", tuple(blocks))


def _phase(number: int, words: str, rows: list[BenchRow], failures: dict[str, int]) -> Section:
    heads = ("step", "do", "measure", "expect", "if not", "why")
    table = Table(f"bench-{number}-steps", f"{words}: steps", tuple(map(Column, heads)), tuple(_rows(rows, failures)))
    return Section(f"bench-{number}", words, (table,))


def _rows(rows: list[BenchRow], failures: dict[str, int]) -> Iterator[tuple[Words, ...]]:
    """A step's own words once; its further expectations in rows of the same number."""
    step = ""
    for row in rows:
        step = row.id or step
        do = [sentence(row.title) if row.title else "", sentence(row.do) if row.do else ""]
        do += [f"Caution: {sentence(row.cautions)}"] if row.cautions else []
        do += ["Stop here if it fails."] if row.stop and row.id else []
        bounds = row.expected if row.expected != "see words" else ""
        expected = ", ".join(filter(None, (bounds, f"about {row.typical}" if row.typical else "", row.words, row.meter)))
        yield (
            Code(step),
            clean(" ".join(filter(None, do))),
            (Name(row.probes), f", {clean(row.when)}" if row.when else "") if row.probes else clean(row.when) or "-",
            clean(expected) or "-",
            _failure(row, failures),
            clean(row.why),
        )


def _failure(row: BenchRow, failures: dict[str, int]) -> Words:
    """What may be wrong, told once for all steps where the same may be."""
    causes = (("Too low", row.if_low), ("Too high", row.if_high), ("Nothing", row.if_none))
    words = clean(" ".join(f"{word}: {words}." for word, words in causes if words))
    if not words:
        return "-"
    number = failures.setdefault(words, len(failures) + 1)
    return Ref(f"F{number}", f"failure-{number}")


def _failures(failures: dict[str, int]) -> Section:
    rows = tuple((Code(f"F{number}"), words) for words, number in failures.items())
    ids = tuple(f"failure-{number}" for number in failures.values())
    table = Table("failures", "What is likely wrong", (Column("no."), Column("look for")), rows, row_ids=ids)
    return Section("bench-failures", "If a step fails", (table,))


# ------------------------------------------------------------------------------ firmware


def firmware_section(build: Build, pieces: Pieces) -> Section | None:
    """The firmware's files, printed.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    if not pieces.firmware:
        return None
    blocks: list[Block] = [
        Paragraph(
            "Each file does the same; take the one for your language. Names are those of the files in the pack; the page and the "
            "Markdown print them in full.",
            "lead",
        ),
        Items(tuple((Code(text.file), f": {text.words}") for text in pieces.firmware)),
    ]
    drivers = language_words(build.plan)
    if drivers:
        blocks.append(Items(drivers))
    blocks += [Listing(text.file, text.language, text.text) for text in pieces.firmware]
    return Section("firmware", "Firmware", tuple(blocks))


# ------------------------------------------------------------------------------ again


class Origin:
    """Where a pack is from: version of the program and of its JSON, brief, and what was left out with the reason.

    Parameters
    ----------
    version : of the program [-]
    contract : of the JSON shapes [-]
    brief : file name of the brief [-]
    stamp : a date the maker gives, empty for none [-]
    """

    def __init__(self, version: str, contract: int, brief: str, stamp: str = "") -> None:
        self.version, self.contract, self.brief, self.stamp = version, contract, brief, stamp


def reproduce_section(build: Build, origin: Origin, left_out: tuple[str, ...]) -> Section:
    """How to make the same pack again.

    Parameters
    ----------
    build : what is built [-]
    origin : versions and the brief's file [-]
    left_out : what the pack lacks, with the reason [-]
    """
    board = build.plan.view.board.id
    command = f"pinwright pack {origin.brief} -o DIR --board {board}"
    blocks: list[Block] = [
        Paragraph(("The same brief, catalogue and version give the same files, byte for byte: ", Code(command))),
        Paragraph(f"Made by Pinwright {origin.version}, JSON contract {origin.contract}{f', {origin.stamp}' if origin.stamp else ''}."),
    ]
    if left_out:
        blocks += [Paragraph("Left out:"), Items(left_out)]
    return Section("again", "How to make this again", tuple(blocks))
