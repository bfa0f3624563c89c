"""The last part of a report: findings, readings, what rests on memory, the documents, assumptions, and how to make it again."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Board, Chip, Part
from pinwright.facts.provenance import Claim, claims
from pinwright.fitting.why import figures
from pinwright.pack.build.model import Build
from pinwright.pack.drawing import clean
from pinwright.pack.report.content import Block, Code, Column, Items, Name, Paragraph, Section, Table, Words
from pinwright.pack.report.words import counted
from pinwright.review.model import Finding

__all__ = ["assumptions_section", "finding_blocks", "findings_section", "readings_section", "recalled_section", "sources_section"]

_SEVERITY = {"refuse": "Refused", "caution": "Caution", "note": "Note"}


# ------------------------------------------------------------------------------ findings and readings


def findings_section(build: Build) -> Section:
    """Everything the review found, worst first.

    Parameters
    ----------
    build : what is built [-]
    """
    found = build.review.findings
    counts = {severity: sum(f.severity == severity for f in found) for severity in _SEVERITY}
    opening = (
        "The plan was reviewed a second time from its wiring and the facts alone, without knowing how it was found: "
        f"{counts['refuse']} refused, {counted(counts['caution'], 'caution')}, {counted(counts['note'], 'note')}."
    )
    blocks: list[Block] = [Paragraph(opening, "lead")]
    elsewhere = {"safety-": "among the cautions at the beginning", "supply": "with the supply"}
    for start, place in elsewhere.items():
        count = sum(finding.rule.startswith(start) for finding in found)
        if count:
            blocks.append(Paragraph(f"{count} of them {'stands' if count == 1 else 'stand'} {place}."))
    for finding in found:
        if not finding.rule.startswith(tuple(elsewhere)):
            blocks += finding_blocks(finding)
    return Section("findings", "Findings of the review", tuple(blocks))


def finding_blocks(finding: Finding) -> tuple[Block, ...]:
    """A finding with its reasons, numbers, what to do and sources.

    Parameters
    ----------
    finding : of the review [-]
    """
    where: tuple[str | Name, ...] = (" ", Name(finding.line)) if finding.line else ()
    pin = f" on {finding.pin}" if finding.pin else ""
    items = [clean(reason) for reason in finding.because]
    items += [clean(f"{name}: {value}") for name, value in finding.numbers.items()]
    items += [clean(f"What to do: {finding.fix}")] if finding.fix else []
    items += [clean(f"Source: {'; '.join(finding.sources)}")] if finding.sources else []
    severity = _SEVERITY[finding.severity] + (":" if where else "")
    return Paragraph((severity, *where, f"{pin} (rule {finding.rule})"), "lead"), Items(tuple(items))


def readings_section(build: Build) -> Section | None:
    """What the analog readings are worth, or ``None`` where none is known.

    Parameters
    ----------
    build : what is built [-]
    """
    found = build.plan.readings(build.job.setting.bench)
    if not found:
        return None
    heads = ("line", "quantity", "readable", "one step", "worst error", "likely within", "at", "most of it from", "range of the converter")
    rows = tuple(
        (
            Name(line),
            worth.quantity,
            f"{worth.low:.4g} to {worth.high:.4g} {worth.unit}",
            f"{worth.step.low:.2g} to {worth.step.high:.2g} {worth.unit}",
            f"{worth.worst.low:+.2g} to {worth.worst.high:+.2g} {worth.unit}",
            f"{worth.rss:.2g} {worth.unit}",
            f"{worth.at:.4g} {worth.unit}",
            clean(worth.main),
            clean(worth.range_name + (f"; {worth.clipped}" if worth.clipped else "")),
        )
        for line, worth in found.items()
    )
    opening = "From the sensor to the number in the firmware: tolerance, reference, converter and noise taken together."
    table = Table("readings-table", "Resolution and error of each analog line", tuple(map(Column, heads)), rows)
    return Section("readings", "What the readings are worth", (Paragraph(opening, "lead"), table))


# ------------------------------------------------------------------------------ what it rests on


def _entries(build: Build) -> Iterator[tuple[str, Board | Chip | Part]]:
    """Entries of the catalogue this device rests on: board, chip, parts, components, source."""
    view, parts = build.plan.view, build.job.catalogue.parts
    yield view.board.name, view.board
    yield view.chip.part, view.chip
    kinds = [device.kind for device in build.job.nets.devices]
    kinds += [item.part for item in build.items if item.kind == "component"]
    kinds += [build.job.source.part.id] if build.job.source.part is not None else []
    for kind in dict.fromkeys(kinds):
        if kind in parts:
            yield parts[kind].title, parts[kind]


def _used(build: Build, item: Board | Chip | Part, found: list[Claim]) -> list[Claim]:
    """Claims that matter here: of a chip, pads that carry no line do not."""
    if not isinstance(item, Chip):
        return found
    pads = {placed.place.pad.name for placed in build.plan.placed}
    return [claim for claim in found if not claim.key.startswith("pad.") or claim.key.split(".")[1] in pads]


def recalled_section(build: Build) -> Section:
    """What was read in a document and what is recalled, entry by entry, and the recalled figures behind lines.

    Parameters
    ----------
    build : what is built [-]
    """
    rows: list[tuple[Words, ...]] = []
    for title, item in _entries(build):
        seen = [claim.seen for claim in _used(build, item, claims(item)) if claim.source is not None]
        rows.append((clean(title), str(seen.count("read")), str(seen.count("memory"))))
    behind = (words for placed in build.plan.placed for words in figures(build.plan, placed, build.job.catalogue.parts))
    decided = dict.fromkeys(words for words in behind if words.endswith("(recalled)"))
    blocks: list[Block] = [
        Paragraph(
            "A value is called read where its place in a document was read, and recalled where it was written from memory. Measure what is "
            "recalled before you trust it.",
            "lead",
        ),
        Table("seen", "Values this device rests on", (Column("entry"), Column("read", True), Column("recalled", True)), tuple(rows)),
    ]
    if decided:
        blocks += [Paragraph("Electrical figures of used lines that are recalled:"), Items(tuple(map(clean, decided)))]
    return Section("recalled", "Read or recalled", tuple(blocks))


def sources_section(build: Build) -> Section:
    """The documents, each with its revision, who cites it, an example of the place, and whether it was read.

    Parameters
    ----------
    build : what is built [-]
    """
    found: dict[tuple[str, str], tuple[list[str], list[Claim], str]] = {}
    for title, item in _entries(build):
        for claim in _used(build, item, claims(item)):
            if claim.source is not None:
                names, cited, _ = found.setdefault((claim.source.title, claim.source.revision), ([], [], claim.source.url))
                cited.append(claim)
                if title not in names:
                    names.append(title)
    rows = []
    for (title, revision), (names, cited, url) in sorted(found.items(), key=lambda pair: (pair[0][0].casefold(), pair[0])):
        read = sum(claim.seen == "read" for claim in cited)
        seen = "read" if read == len(cited) else "recalled" if not read else f"{read} read, {len(cited) - read} recalled"
        places = list(dict.fromkeys(claim.where for claim in cited if claim.where))
        shown = "; ".join(places[:3]) + (f"; and {counted(len(places) - 3, 'place')} more" if len(places) > 3 else "")
        address = Code(clean(url)) if url else "-"
        rows.append((clean(title), clean(revision) or "-", clean(", ".join(names)), clean(shown) or "-", seen, address))
    heads = ("document", "revision", "says something of", "place", "values", "address")
    table = Table("documents", f"{counted(len(rows), 'document')} behind this device", tuple(map(Column, heads)), tuple(rows))
    return Section("sources", "Sources", (table,))


# ------------------------------------------------------------------------------ assumptions


def assumptions_section(build: Build) -> Section:
    """What was taken for granted, what nobody knows, and notes that belong to board and parts.

    Parameters
    ----------
    build : what is built [-]
    """
    assumed = list(_assumed(build))
    blocks: list[Block] = []
    if assumed:
        blocks += [Paragraph("Taken for granted, for the brief does not say:", "lead"), Items(tuple(assumed))]
    notes: list[Words] = [clean(note) for note in build.plan.view.board.note]
    unknown: list[Words] = []
    for title, item in _entries(build):
        if not isinstance(item, Chip):
            unknown += [clean(f"{title}: {words}") for words in item.unknown]
        if isinstance(item, Part) and item.note:
            notes.append(clean(f"{title}: {item.note}"))
    if unknown:
        blocks += [Paragraph("What nobody could tell:", "lead"), Items(tuple(unknown))]
    if notes:
        blocks += [Paragraph("Notes on the board and the parts:", "lead"), Items(tuple(notes))]
    return Section("assumptions", "Assumptions and notes", tuple(blocks))


def _assumed(build: Build) -> Iterator[str]:
    low, high = build.job.setting.ambient_c
    if build.job.file.brief.use.ambient_c is None:
        yield f"Air around the device: {low:g} to {high:g} °C."
    assumed = [wire.number for wire in build.wires if "assumed" in wire.note]
    if assumed:
        yield f"Length of {counted(len(assumed), 'wire')}: {', '.join(map(str, assumed))}."
    if build.result.ranking.job.prices is None:
        yield "Cost of boards: indicative classes, 1 (cheapest) to 5; no price list was given."
    if not build.job.setting.bench.resistors:
        bench = build.job.setting.bench
        yield f"Resistors: bought from series E{bench.series}, {bench.tolerance * 100:g} %."
    unknown = [consumer.name for consumer in build.supply.consumers if not consumer.known]
    if unknown:
        yield f"Current not known and counted as nothing: {clean(', '.join(unknown))}."
    life = build.supply.endurance
    if life is not None and "assumed" in life.cycle_words:
        yield f"Sleep: {life.cycle_words}."
