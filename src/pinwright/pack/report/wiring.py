"""The middle of a report: pins and why, circuits, power-up, supply, wiring sheet, lists."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.window import shown
from pinwright.fitting.interface.pieces import Check, Element, Piece
from pinwright.fitting.plan import Placed
from pinwright.fitting.timeline import PHASE_WORDS, Cell, Row, phases_shown, timeline
from pinwright.pack.build.model import Build, Stage
from pinwright.pack.drawing import clean
from pinwright.pack.lists import PartRow, WireRow, parts_list, total_of, wire_list
from pinwright.pack.pieces import Picture, Pieces
from pinwright.pack.report.content import Block, Code, Column, Figure, Items, Name, Paragraph, Section, Table, Words
from pinwright.pack.report.words import counted, listed

__all__ = ["circuits_section", "figure", "lists_section", "pins_section", "power_up_section", "sheet_section"]

_SHOWN = {"off": "off", "on": "ON", "undefined": "not proved", "pulses": "pulses", "obeys": "firmware"}


def figure(picture: Picture, table: str = "") -> Figure:
    """A drawing of the pack as a figure.

    Parameters
    ----------
    picture : the drawing with its file [-]
    table : id of the table with the same content [-]
    """
    return Figure(f"figure-{picture.drawing.name}", picture.caption, picture.file, picture.drawing, table)


# ------------------------------------------------------------------------------ pins


def pins_section(build: Build, pieces: Pieces) -> Section:
    """A pin for every line, and why it sits there.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    ends = {stage_line: stage.pin.name for stage in build.stages for stage_line in stage.lines}
    rows = tuple(
        (
            Name(placed.line.id),
            clean(placed.line.title),
            _pin(placed, ends.get(placed.line.id, placed.place.label)),
            clean(placed.circuit.short) + (f" ({placed.mode})" if placed.mode else ""),
        )
        for placed in build.plan.placed
    )
    blocks: list[Block] = [figure(picture, "pins-used") for picture in pieces.boards]
    blocks.append(
        Table(
            "pins-used",
            "Every line and its pin",
            (Column("line"), Column("of"), Column("pin"), Column("between pin and part")),
            rows,
        )
    )
    for bus in build.job.nets.buses:
        if bus.addresses:
            found = sorted(bus.addresses.items(), key=lambda item: item[1])
            names = listed(Name(f"{name} 0x{address:02X}") for name, address in found)
            blocks.append(Paragraph((f"{clean(bus.name)} at up to {bus.max_hz / 1e3:g} kHz: ", *names, ".")))
    blocks.append(Section("why-pins", "Why each line sits there", tuple(_why(build))))
    return Section("pins", "Pins", tuple(blocks))


def _pin(placed: Placed, terminal: str) -> Words:
    """The pin by its print, numbered where that occurs more than once, with the pad behind it."""
    place = placed.place
    return (Code(place.name),) if terminal == place.label else (Code(terminal), f" ({clean(place.pad.name)})")


def _why(build: Build) -> Iterator[Block]:
    """Reasons line by line; lines of one wire share theirs."""
    groups: dict[tuple[str, tuple[str, ...]], list[Placed]] = {}
    for placed in build.plan.placed:
        groups.setdefault((placed.place.name, placed.because), []).append(placed)
    for (pin, because), lines in groups.items():
        names = listed(Name(placed.line.id) for placed in lines)
        yield Paragraph((*names, " on ", Code(pin)), "lead")
        yield Items(tuple(map(clean, because)))


# ------------------------------------------------------------------------------ circuits


def circuits_section(build: Build, pieces: Pieces) -> Section:
    """Every interface circuit with its components, windows, margins and formulas.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    placed = {each.line.id: each for each in build.plan.placed}
    direct = [Name(line) for stage in build.stages if not _has_circuit(stage, placed) for line in stage.lines]
    groups: dict[str, list[Stage]] = {}
    for number, stage in enumerate(build.stages):
        drawn = pieces.circuit_of(stage)
        if drawn or _has_circuit(stage, placed):
            groups.setdefault(drawn[0].file if drawn else str(number), []).append(stage)
    opening = (
        "Between a pin and its part stands the cheapest circuit that passes with margin over supply, tolerance and leakage. Each value has "
        "a window: what sets its lower and its upper end, and how far the chosen value lies from the nearer one."
    )
    blocks: list[Block] = [Paragraph(opening, "lead")]
    if direct:
        blocks.append(Paragraph(("Joined directly: ", *listed(direct), ".")))
    parts = (_circuit(build, pieces, stages, placed, number) for number, stages in enumerate(groups.values(), 1))
    return Section("circuits", "Interface circuits", (*blocks, *parts))


def _has_circuit(stage: Stage, placed: dict[str, Placed]) -> bool:
    return bool(stage.items) or any(placed[line].circuit.elements for line in stage.lines)


def _circuit(build: Build, pieces: Pieces, stages: list[Stage], placed: dict[str, Placed], number: int) -> Section:
    """One circuit; stages that are alike share it."""
    lines = [placed[name] for stage in stages for name in stage.lines]
    elements = list(dict.fromkeys(element for each in lines for element in each.circuit.elements))
    checks = list(dict.fromkeys(check for each in lines for check in each.circuit.checks))
    rows = tuple(row for stage in stages for row in _component_rows(build, stage, elements))
    names = [clean(each.line.id) for each in lines]
    whose = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    made_of = tuple((clean(element.words), clean(element.why)) for element in elements) or (("a plain wire", "nothing more is needed"),)
    between, values, checked = f"between-{number}", f"values-{number}", f"checks-{number}"
    blocks: list[Block] = [figure(picture, values if rows else between) for picture in pieces.circuit_of(stages[0])]
    blocks.append(
        Table(between, f"What stands between pin and part: {whose}", (Column("element"), Column("why")), tuple(dict.fromkeys(made_of)))
    )
    if rows:
        blocks.append(Table(values, f"Components from the pin to the part: {whose}", _VALUE_HEADS, rows))
    if checks:
        blocks.append(Table(checked, f"What was checked: {whose}", _CHECK_HEADS, tuple(map(_check, checks))))
    pins = listed(Name(stage.pin.name) for stage in stages)
    return Section(f"circuit-{number}", (*listed(Name(each.line.id) for each in lines), " on ", *pins), tuple(blocks))


_VALUE_HEADS = tuple(map(Column, ("component", "value", "allowed", "margin", "formula")))
_CHECK_HEADS = tuple(map(Column, ("check", "numbers", "holds", "formula")))


def _component_rows(build: Build, stage: Stage, elements: list[Element]) -> Iterator[tuple[Words, ...]]:
    pieces = [piece for element in elements for piece in element.pieces]
    for ref in stage.items:
        item = build.by_ref[ref]
        piece = next((p for p in pieces if p.role == item.role and p.what == item.title and _alike(p, item.value)), None)
        value = shown(item.value, item.unit) if item.value is not None else item.rating or "-"
        origin = f" ({clean(item.origin)})" if item.origin else ""
        window = piece.window.words if piece is not None and piece.window is not None else "-"
        role = f", {item.role}" if item.role else ""
        yield (
            (Name(ref), f": {clean(item.title + role)}"),
            clean(value + origin),
            clean(window),
            clean(piece.margin or "-") if piece is not None else "-",
            Code(piece.formula) if piece is not None and piece.formula else "-",
        )


def _alike(piece: Piece, value: float | None) -> bool:
    return piece.value is None or value is None or abs(piece.value - value) < 1e-9 * max(abs(value), 1e-15)


def _check(check: Check) -> tuple[Words, ...]:
    return clean(check.what), clean(check.words), "yes" if check.holds else "NO", Code(check.formula) if check.formula else "-"


# ------------------------------------------------------------------------------ power-up


def power_up_section(build: Build, pieces: Pieces) -> Section:
    """What every line does from power-on on.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    rows = timeline(build.plan, build.job.setting)
    phases = phases_shown(rows)
    opening = (
        "From the moment the supply rises until the firmware has set its pins, nothing you wrote is in charge. A line that must stay off "
        "is worked out as a network in every corner of supply, leakage and resistors."
    )
    blocks: list[Block] = [Paragraph(opening, "lead"), *(figure(picture, "power-up-table") for picture in pieces.timelines)]
    blocks.append(
        Table(
            "power-up-table",
            "Each line, phase by phase",
            (Column("line"), Column("pin"), Column("must keep"), *(Column(str(phase)) for phase in phases)),
            tuple(
                (Name(row.line), row.pin, row.keeps or "-", *(_cell(row, str(phase)) for phase in phases)) for row in rows
            ),
        )
    )  # fmt: skip
    blocks.append(Items(tuple(f"{phase}: {PHASE_WORDS[phase]}" for phase in phases)))
    held = [row for row in rows if row.keeps]
    if held:
        proofs: list[Block] = []
        for row in held:
            proofs.append(Paragraph((Name(row.line), f" on {row.pin}, which {row.keeps}"), "lead"))
            proofs.append(Items(tuple(dict.fromkeys(words for cell in row.cells if cell.verdict != "obeys" for words in _proofs(cell)))))
        blocks.append(Section("proofs", "The proofs", tuple(proofs)))
    return Section("power-up", "Power-up", tuple(blocks))


def _cell(row: Row, phase: str) -> str:
    cell = next((cell for cell in row.cells if cell.phase == phase), None)
    return "-" if cell is None else _SHOWN.get(cell.verdict, "") or clean("firmware" if cell.does == "obeys" else cell.does)


def _proofs(cell: Cell) -> Iterator[str]:
    sources = "; ".join(filter(None, cell.sources))
    for proof in cell.proofs:
        yield clean(f"{cell.phase}: {_SHOWN.get(proof.verdict, proof.verdict)}, {proof.words}{f' [{sources}]' if sources else ''}")


# ------------------------------------------------------------------------------ sheet and lists


def sheet_section(build: Build, pieces: Pieces) -> Section:
    """The wiring sheet, on as many pages as it has.

    Parameters
    ----------
    build : what is built [-]
    pieces : drawings and texts of the pack [-]
    """
    opening = (
        f"{counted(len(build.wires), 'wire')} join {counted(len(build.items), 'thing')}. Numbers and colours are those of the wire list; "
        "unplug the supply before you join or move anything."
    )
    blocks: list[Block] = [Paragraph(opening, "lead"), *(figure(picture, "wires") for picture in pieces.sheets)]
    if build.notes:
        blocks.append(Items(tuple(map(clean, build.notes))))
    return Section("sheet", "Wiring sheet", tuple(blocks))


def lists_section(build: Build) -> Section:
    """Wire list and parts list.

    Parameters
    ----------
    build : what is built [-]
    """
    wires, parts = wire_list(build), parts_list(build)
    total = total_of(parts, build.job.prices is not None)
    heads = ("no.", "from", "to", "net", "colour", "area", "gauge", "length", "note")
    blocks: tuple[Block, ...] = (
        Table(
            "wires",
            "Wire list: every wire with its two ends",
            tuple(Column(head, head in ("area", "length")) for head in heads),
            tuple(map(_wire_row, wires)),
        ),
        Paragraph(f"Short: {_OWN_LEAD}.", "remark"),
        Table("parts", "Parts list: what to have at hand", _PART_HEADS, tuple(map(_part_row, parts))),
        Paragraph(clean(total.words)),
        Paragraph(("The same as tables for a spreadsheet: ", Code("lists/wires.csv"), " and ", Code("lists/parts.csv"), "."), "remark"),
    )  # fmt: skip
    return Section("lists", "Wires and parts", blocks)


_PART_HEADS = tuple(
    Column(head, head in ("quantity", "to buy", "price"))
    for head in ("what", "quantity", "called", "value", "rating", "catalogue", "to buy", "price", "note")
)


def _wire_row(row: WireRow) -> tuple[Words, ...]:
    note = clean(row.note.replace(_OWN_LEAD, "short")) or "-"
    return (
        str(row.number), _end(row.from_item, row.from_terminal), _end(row.to_item, row.to_terminal), Name(row.net),
        f"{row.colour} {row.colour_word}", f"{row.area_mm2:g} mm²", f"AWG {row.awg}", f"{row.length_m:g} m", note,
    )  # fmt: skip


_OWN_LEAD = "on the board itself, or the component's own lead"
"""What the wire list says of a short wire; too long for a column."""


def _end(item: str, terminal: str) -> Words:
    return (Name(item), " ", Name(terminal)) if terminal != "rail" else Name(item)


def _part_row(row: PartRow) -> tuple[Words, ...]:
    unit = f" {row.unit}" if row.unit else ""
    price = f"{row.price:.2f} {row.currency}" if row.price is not None else "-"
    buy = "in stock" if row.in_stock else f"{row.to_buy:g}{unit}"
    what = f"{row.what}{', ' + row.mpn if row.mpn else ''}"
    value = " ".join(filter(None, (row.value, f"({row.marking})" if row.marking and row.group == "component" else "")))
    notes = "; ".join(filter(None, (row.origin, row.note)))
    return (
        clean(what), f"{row.quantity:g}{unit}", Name(row.designators), clean(value) or "-", clean(row.rating) or "-",
        Code(row.part) if row.part else "-", buy, price, clean(notes) or "-",
    )  # fmt: skip
