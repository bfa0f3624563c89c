"""Every value of an entry with where it comes from: document, place, and whether that place was read or recalled."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pinwright.facts.model import Board, Chip, Cite, Fact, Level, OtherValue, Pad, Part, Source
from pinwright.quantities import show_quantity

if TYPE_CHECKING:
    from pinwright.facts.loader import Catalogue

__all__ = ["BOARD_COLUMNS", "CHIP_COLUMNS", "PAD_COLUMNS", "Claim", "Document", "claims", "documents", "matching_claims", "values_in"]

PAD_COLUMNS = {
    "abilities": (
        "input",
        "output",
        "pull_up",
        "pull_down",
        "open_drain",
        "analog_only",
        "tolerates_5v",
        "max_hz",
        "needs_setup",
        "limits",
    ),
    "interrupt": ("interrupt", "interrupt_line"),
    "wake": ("wake",),
    "adc": ("adc",),
    "dac": ("dac",),
    "touch": ("touch",),
    "pwm": ("pwm",),
    "functions": ("functions",),
    "reserved": ("reserved",),
    "boot": ("boot",),
    "strap": ("strap",),
}
"""Columns of a chip's pad table, each with the fields it holds; the chip's ``provenance`` names the source of each."""

CHIP_COLUMNS: dict[str, tuple[str, ...]] = {
    "identity": ("maker", "variants", "clock_max_hz", "flash_bytes", "ram_bytes", "usb", "radio", "console", "dac_bits")
}
"""Groups of plain fields of a chip that share one source."""

BOARD_COLUMNS = {
    "identity": ("chip", "module", "maker", "logic_v", "clock_hz", "radio", "usb", "usb_end"),
    "header": ("header",),
    "size": ("length_m", "width_m"),
    "row_spacing": ("row_spacing_m", "pitch_m"),
    "cost_class": ("cost_class",),
    "places": (),
}
"""The same for a board."""

_CITE_FIELDS = ("src", "where", "seen")
_NAMES = ("name", "id", "pin", "language", "unit", "tag", "state", "what", "gives", "row", "direction")
"""Fields that name an item of a list, the best first."""


@dataclass(frozen=True, slots=True)
class Claim:
    """One value: where it stands (``pad.GPIO4.adc``), what it says in words, and what it rests on.

    ``source`` is ``None`` only where a value names none.
    """

    key: str
    value: str
    source: Source | None
    where: str
    seen: str

    @property
    def source_words(self) -> str:
        """Document and place for people."""
        if self.source is None:
            return "no source"
        title = f"{self.source.title}{', ' + self.source.revision if self.source.revision else ''}"
        return f"{title}: {self.where}" if self.where else title


def claims(item: Chip | Board | Part) -> list[Claim]:
    """All values of an entry, in the order of its file.

    Parameters
    ----------
    item : a chip, a board or a part [-]

    Returns
    -------
    claims : one for each cited value and each filled cell of a pad or header table
    """
    sources = {source.id: source for source in item.source}
    if isinstance(item, Chip):
        return [*_columns(item, CHIP_COLUMNS, sources), *_pads(item, sources), *_cited(item, sources)]
    if isinstance(item, Board):
        return [*_columns(item, BOARD_COLUMNS, sources), *_cited(item, sources)]
    return list(_cited(item, sources))


def matching_claims(item: Chip | Board | Part, key: str) -> list[Claim]:
    """Claims at or below a key, whatever its case: ``pad.GPIO4`` finds every cell of that pad."""
    wanted = key.casefold().strip(".")
    return [claim for claim in claims(item) if f".{claim.key.casefold()}.".find(f".{wanted}.") >= 0]


# ------------------------------------------------------------------------------ tables with a source for each column


def _columns(item: Chip | Board, columns: Mapping[str, tuple[str, ...]], sources: dict[str, Source]) -> Iterator[Claim]:
    for column, names in columns.items():
        cite = item.provenance.get(column, Cite())
        for name in names:
            value = getattr(item, name)
            if name == "header":
                for pin in value:
                    yield _claim(f"header.{pin.label}", pin.pad or pin.power, cite, sources)
            elif value not in (None, "", ()):
                yield _claim(name, in_words(value), cite, sources)


def _pads(chip: Chip, sources: dict[str, Source]) -> Iterator[Claim]:
    for pad in chip.pad:
        for column, names in PAD_COLUMNS.items():
            cite = pad if pad.src else chip.provenance.get(column, Cite())
            for name in names:
                value = getattr(pad, name)
                if column in ("boot", "strap") or value in (None, "", ()):
                    continue  # a boot state and a strap name their own source below
                yield _claim(f"pad.{pad.name}.{name}", in_words(value), cite, sources)


# ------------------------------------------------------------------------------ values that name their own source


def _cited(item: Any, sources: dict[str, Source], key: str = "", parent: Any = None) -> Iterator[Claim]:
    if dataclasses.is_dataclass(item) and not isinstance(item, (Source, OtherValue)):
        if hasattr(item, "src") and key and not isinstance(item, (Cite, Pad)):
            cite = parent if not item.src and hasattr(parent, "src") else item
            yield _claim(key, in_words(item), cite, sources)
        for field in dataclasses.fields(item):
            if field.name not in ("source", "provenance"):
                yield from _cited(getattr(item, field.name), sources, f"{key}.{field.name}" if key else field.name, item)
    elif isinstance(item, tuple):
        for index, value in enumerate(item):
            yield from _cited(value, sources, f"{key}.{_name_of(value, index)}", parent)
    elif isinstance(item, dict):
        for name, value in item.items():
            yield from _cited(value, sources, f"{key}.{name}", parent)


def _name_of(value: Any, index: int) -> str:
    """What people call an item of a list: its name, or its number from 1."""
    names = [str(getattr(value, field)) for field in _NAMES if getattr(value, field, "") not in ("", None)]
    pad = getattr(value, "pad", "")
    return f"{names[0]}.{pad}" if names and pad else names[0] if names else str(index + 1)


def _claim(key: str, value: str, cite: Any, sources: dict[str, Source]) -> Claim:
    source = sources.get(cite.src.split(";")[0].strip()) if cite.src else None
    return Claim(key, value, source, cite.where, cite.seen)


# ------------------------------------------------------------------------------ words


def in_words(value: Any) -> str:
    """Any value of the catalogue on one line, without its citation.

    >>> in_words(Level(frac=0.75, of="VDD"))
    '0.75 x VDD'
    >>> in_words(Fact(min=0.001, max=0.002, unit="A", cond="cold"))
    '1 mA to 2 mA (cold)'
    """
    if isinstance(value, Fact):
        return _fact_words(value)
    if isinstance(value, Level):
        return _level_words(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ", ".join(in_words(item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{name}: {in_words(item)}" for name, item in value.items())
    if dataclasses.is_dataclass(value):
        return "; ".join(
            f"{field.name} {in_words(said)}"
            for field in dataclasses.fields(value)
            if field.name not in _CITE_FIELDS and (said := getattr(value, field.name)) != field.default and not _is_nested(said)
        )
    return str(value)


def _is_nested(value: Any) -> bool:
    """Whether a value stands as a claim of its own."""
    if isinstance(value, tuple):
        return any(_is_nested(item) for item in value)
    if isinstance(value, dict):
        return any(_is_nested(item) for item in value.values())
    return hasattr(value, "src") or value in ("", None, (), {})


_SHOWN = {"A": "A", "V": "V", "ohm": "Ω", "Hz": "Hz", "s": "s", "F": "F", "W": "W"}


def _fact_words(fact: Fact) -> str:
    def number(value: float) -> str:
        return show_quantity(value, _SHOWN[fact.unit]) if fact.unit in _SHOWN else f"{value:g}{' ' + fact.unit if fact.unit else ''}"

    least = fact.min if fact.min != fact.value else None
    most = fact.max if fact.max != fact.value else None
    spread = " to ".join(number(v) for v in (least, most) if v is not None)
    if spread and (least is None or most is None):
        spread = f"{'from' if least is not None else 'up to'} {spread}"
    typical = f"typically {number(fact.typ)}" if fact.typ not in (None, fact.value) else ""
    said = [number(fact.value) if fact.value is not None else "", spread, typical, fact.text]
    return ", ".join(word for word in said if word) + (f" ({fact.cond})" if fact.cond else "") + _others(fact.also, fact.chosen)


def _level_words(level: Level) -> str:
    share = f"{level.frac:g} x {level.of or 'supply'}" if level.frac else ""
    fixed = f"{level.v:g} V" if level.v or not share else ""
    text = f"{share} + {fixed}" if share and fixed else share or fixed
    return text + (f" ({level.cond})" if level.cond else "") + _others(level.also, level.chosen)


def _others(also: tuple[OtherValue, ...], chosen: str) -> str:
    said = [f"{o.src}: {' '.join(w for w in (f'{o.value:g}' if o.value is not None else '', o.text) if w)}" for o in also]
    return f"; others say {'; '.join(said)}; {chosen}" if said else ""


# ------------------------------------------------------------------------------ documents


@dataclass(frozen=True, slots=True)
class Document:
    """A document the catalogue rests on, with the entries that cite it and how many of their values do."""

    title: str
    revision: str
    seen: str
    url: str
    entries: tuple[str, ...]
    values: int


def documents(catalogue: Catalogue) -> list[Document]:
    """All documents, by title; one known under several ids counts once."""
    found: dict[tuple[str, str, str], Document] = {}
    for name, item in _entries(catalogue):
        counts: dict[str, int] = {}
        for claim in claims(item):
            if claim.source is not None:
                counts[claim.source.id] = counts.get(claim.source.id, 0) + 1
        for source in item.source:
            if source.id not in counts:
                continue
            key = (source.title, source.revision, source.seen)
            old = found.get(key, Document(*key, source.url, (), 0))
            found[key] = dataclasses.replace(
                old, entries=(*old.entries, name), values=old.values + counts[source.id], url=old.url or source.url
            )
    return [found[key] for key in sorted(found, key=lambda key: (key[0].casefold(), key))]


def values_in(item: Chip | Board | Part) -> tuple[int, int]:
    """How many values of an entry were read and how many recalled."""
    seen = [claim.seen for claim in claims(item) if claim.source is not None]
    return seen.count("read"), seen.count("memory")


def _entries(catalogue: Catalogue) -> Iterator[tuple[str, Chip | Board | Part]]:
    for table in (catalogue.chips, catalogue.boards, catalogue.parts):
        yield from table.items()
