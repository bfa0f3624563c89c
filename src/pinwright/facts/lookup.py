"""Find things in the catalogue by name or by what they do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pinwright.errors import UnknownName
from pinwright.facts.loader import Catalogue
from pinwright.facts.model import Board, Chip, Part

__all__ = ["Entry", "entries", "find", "matching"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a listing; ``words`` is what a search looks through."""

    what: str
    name: str
    title: str
    words: str


def entries(catalogue: Catalogue) -> list[Entry]:
    """All entries: chips, boards, parts, each in order of name."""
    found = [Entry("chip", c.part, c.title, f"{c.part} {c.title} {c.maker} {' '.join(c.variants)}") for c in catalogue.chips.values()]
    found += [
        Entry("board", b.id, b.name, f"{b.id} {b.name} {b.chip} {b.module} {b.maker} {' '.join(b.keywords)}")
        for b in catalogue.boards.values()
    ]
    found += [
        Entry("part", p.id, p.title, f"{p.id} {p.title} {p.kind} {p.mpn} {p.maker} {p.family} {' '.join(p.keywords)}")
        for p in catalogue.parts.values()
    ]
    order = {"chip": 0, "board": 1, "part": 2}
    return sorted(found, key=lambda entry: (order[entry.what], entry.name))


def matching(query: str, among: Iterable[Entry]) -> list[Entry]:
    """Entries that contain every word of the query, best first: whole words before beginnings before pieces."""
    words = query.casefold().split()

    def rank(entry: Entry) -> int | None:
        text = entry.words.casefold()
        pieces = text.replace("-", " ").replace(",", " ").split()
        total = 0
        for word in words:
            if word not in text:
                return None
            total += 0 if word in pieces else 1 if any(piece.startswith(word) for piece in pieces) else 2
        return total

    ranked = [(rank(entry), entry) for entry in among]
    kept = [(score, entry) for score, entry in ranked if score is not None]
    return [entry for _, entry in sorted(kept, key=lambda item: item[0])]


def find(name: str, catalogue: Catalogue) -> Chip | Board | Part:
    """Chip, board or part by name; case and hyphens do not matter, and a beginning only one entry has will do.

    Raises
    ------
    UnknownName : nothing is called like this; the nearest names are offered.
    """
    tables: tuple[Mapping[str, Chip | Board | Part], ...] = (catalogue.chips, catalogue.boards, catalogue.parts)
    wanted = _squeezed(name)
    for table in tables:
        for key, item in table.items():
            if _squeezed(key) == wanted:
                return item
    for table in tables:
        beginning = [item for key, item in table.items() if wanted and _squeezed(key).startswith(wanted)]
        if len(beginning) == 1:
            return beginning[0]
    raise UnknownName("chip, board or part", name, [*catalogue.chips, *catalogue.boards, *catalogue.parts])


def _squeezed(name: str) -> str:
    return name.casefold().replace("-", "").replace("_", "").replace(" ", "")
