"""Show one entry of the catalogue as tables."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from pinwright.cli.console import bullet, console, counted, heading, table, text
from pinwright.contract import part_sources
from pinwright.facts.model import Board, Chip, Pad, Part

if TYPE_CHECKING:
    from rich.console import Console

    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import Source
    from pinwright.facts.provenance import Claim, Document

__all__ = ["show_claims", "show_documents", "show_item"]


def show_item(item: Chip | Board | Part, catalogue: Catalogue) -> None:
    """Print a chip, a board or a part."""
    out = console()
    if isinstance(item, Chip):
        _chip(out, item)
    elif isinstance(item, Board):
        _board(out, item, catalogue)
    else:
        _part(out, item)
    heading(out, "Sources")
    for source in part_sources(item) if isinstance(item, Part) else item.source:
        bullet(out, _source_words(source))


def _source_words(source: Source) -> str:
    revision = f", {source.revision}" if source.revision else ""
    return f"{source.id}: {source.title}{revision} ({'read' if source.seen == 'read' else 'recalled'})"


def _chip(out: Console, chip: Chip) -> None:
    out.print(f"{chip.part}  {chip.maker}", style="bold")
    out.print(text(chip.title))
    made = table(("pad", "left"), ("can", "left"), ("adc", "left"), ("at power-up", "left"), ("strap", "left"), ("taken", "left"))
    for pad in chip.pad:
        adc = f"{pad.adc.unit}.{pad.adc.channel}" if pad.adc else ""
        strap = f"run {pad.strap.run}" if pad.strap else ""
        made.add_row(pad.name, _abilities(pad), adc, ", ".join(s.state for s in pad.boot), strap, pad.reserved)
    out.print(made)
    out.print(_LEGEND)
    for erratum in chip.erratum:
        bullet(out, f"{erratum.id}: {erratum.effect}")


_LEGEND = "I input  O output  U pull-up  D pull-down  ! interrupt  W wakes  P pwm  T touch  A analog out"
"""What the letters of the column ``can`` say."""


def _abilities(pad: Pad) -> str:
    flags = [
        ("I", pad.input), ("O", pad.output), ("U", pad.pull_up), ("D", pad.pull_down), ("!", pad.interrupt),
        ("W", bool(pad.wake)), ("P", bool(pad.pwm)), ("T", bool(pad.touch)), ("A", bool(pad.dac)),
    ]  # fmt: skip
    return "".join(letter if has else "." for letter, has in flags)


def _board(out: Console, board: Board, catalogue: Catalogue) -> None:
    out.print(f"{board.id}  {board.name}", style="bold")
    radio = ", ".join(board.radio) or "no radio"
    out.print(f"{board.chip}, {board.logic_v:g} V logic, {radio}, cost class {board.cost_class} (indicative)")
    pads = {pad.name: pad for pad in catalogue.chips[board.chip].pad}
    for row in dict.fromkeys(pin.row for pin in board.header):
        heading(out, f"{row} row, from the {board.order_from}")
        made = table(("", "right"), ("label", "left"), ("pad", "left"), ("can", "left"), ("on the board", "left"))
        for pin in board.header:
            if pin.row == row:
                fitted = ", ".join(item.what for item in board.onboard if pin.pad and item.pad == pin.pad)
                made.add_row(str(pin.order), pin.label, pin.pad or pin.power, _abilities(pads[pin.pad]) if pin.pad else "", fitted)
        out.print(made)
    out.print()
    out.print(_LEGEND)


def _part(out: Console, part: Part) -> None:
    out.print(f"{part.id}  {text(part.title)}", style="bold")
    low, high = part.supply_v.min, part.supply_v.max
    if low is not None and high is not None:
        out.print(f"supply {low:g} to {high:g} V")
    made = table(("line", "left"), ("direction", "left"), ("signal", "left"), ("at power-up", "left"), ("if it floats", "left"))
    for line in part.line:
        name = line.name if line.count == 1 else f"{line.name} x{line.count}"
        quiet = {"must": "must stay", "prefer": "better", "no": ""}[line.quiet]
        level = f"{quiet} {line.safe_level}" if quiet else "no matter"
        made.add_row(
            name + (" (optional)" if line.optional else ""),
            line.direction,
            f"{line.signal} {line.role}".strip(),
            level,
            text(line.floating),
        )
    out.print(made)
    for caution in part.caution:
        bullet(out, f"{caution.tag}: {caution.text}", "!")


def show_claims(claims: list[Claim]) -> None:
    """Print values, each with its document, the place in it and whether that was read."""
    out = console()
    for words, group in itertools.groupby(claims, key=_rests_on):
        for claim in group:
            _hanging(out, text(claim.key), text(claim.value))
        bullet(out, words, "@")
    read = sum(claim.seen == "read" for claim in claims)
    out.print(f"{counted(len(claims), 'value')}: {read} read, {len(claims) - read} recalled")


def _hanging(out: Console, key: str, value: str) -> None:
    """Print a key and its value; what does not fit on the line stands below, indented."""
    from rich.text import Text

    indent = 4
    words = Text.assemble((key, "bold"), "  ", value)
    for number, line in enumerate(words.wrap(out, out.width - indent)):
        out.print(line if number == 0 else Text(" " * indent) + line)


def _rests_on(claim: Claim) -> str:
    return f"{claim.source_words} ({'read' if claim.seen == 'read' else 'recalled, not looked up'})"


def show_documents(documents: list[Document]) -> None:
    """Print documents with what rests on them."""
    out = console()
    for document in documents:
        revision = f", {document.revision}" if document.revision else ""
        out.print(text(document.title + revision), style="bold")
        names = ", ".join(document.entries[:6]) + (f" and {len(document.entries) - 6} more" if len(document.entries) > 6 else "")
        seen = "read" if document.seen == "read" else "recalled"
        bullet(out, f"{seen}; {counted(document.values, 'value')} of {names}{'; ' + document.url if document.url else ''}", " ")
    out.print(counted(len(documents), "document"))
