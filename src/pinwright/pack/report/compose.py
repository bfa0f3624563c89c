"""Put a report together: the sections in the order somebody reads them who must decide, buy, wire, test and understand."""

from __future__ import annotations

from pinwright.pack.build.model import Build
from pinwright.pack.drawing import clean
from pinwright.pack.pieces import Pieces
from pinwright.pack.report.choice import board_section, cautions_section, device_section
from pinwright.pack.report.content import Document, Section
from pinwright.pack.report.proof import assumptions_section, findings_section, readings_section, recalled_section, sources_section
from pinwright.pack.report.supply import supply_section
from pinwright.pack.report.wiring import circuits_section, lists_section, pins_section, power_up_section, sheet_section
from pinwright.pack.report.work import Origin, bench_section, firmware_section, reproduce_section

__all__ = ["report_of"]


def report_of(build: Build, pieces: Pieces, origin: Origin, left_out: tuple[str, ...] = ()) -> Document:
    """The whole report of a build.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    origin : versions and the brief's file [-]
    left_out : what the pack lacks, with the reason [-]
    """
    sections: tuple[Section | None, ...] = (
        device_section(build),
        cautions_section(build),
        board_section(build),
        pins_section(build, pieces),
        circuits_section(build, pieces),
        power_up_section(build, pieces),
        supply_section(build, pieces),
        sheet_section(build, pieces),
        lists_section(build),
        bench_section(pieces),
        firmware_section(build, pieces),
        findings_section(build),
        readings_section(build),
        recalled_section(build),
        sources_section(build),
        assumptions_section(build),
        reproduce_section(build, origin, left_out),
    )
    kept = tuple(section for section in sections if section is not None and section.blocks)
    title = clean(build.title).strip() or "Untitled device"
    return Document(title, f"Plan, wiring and proof on the {build.board.title}", kept, f"Made by Pinwright {origin.version}.")
