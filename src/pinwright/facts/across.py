"""Check entries against each other: does a board's chip exist, do its pads, does every value name its source."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pinwright.errors import Fault, nearest
from pinwright.facts.electrical import check_logic_voltage
from pinwright.facts.figures import KeyPath
from pinwright.facts.loader import Catalogue, FactsFile
from pinwright.facts.model import Board, Chip, Part
from pinwright.facts.validate import Reporter, data_of, lines_of, path_text

__all__ = ["check_catalogue", "uncited"]

Entry = tuple[str, str]
"""Kind and name."""


def check_catalogue(catalogue: Catalogue, files: Iterable[FactsFile] = ()) -> list[tuple[Entry, Fault]]:
    """Faults between files, each with the kind and name of the entry that has it.

    A board's chip and pads must exist and its voltage suit the chip, a part's ``see`` must lead somewhere.
    With the ``files`` the entries were read from, every fault has its file and line.
    """
    found: list[tuple[Entry, KeyPath, str, str, str]] = []
    for board in catalogue.boards.values():
        found += ((("boards", board.id), *wrong) for wrong in _wrong_with_chip(board, catalogue))
    for part in catalogue.parts.values():
        if part.see and part.see not in catalogue.parts:
            guess = "".join(nearest(part.see, catalogue.parts, 1))
            found.append((("parts", part.id), ("see",), f"No part is called {part.see!r}.", "", guess))
    places = _places(files) if found else {}
    return [(entry, _fault_at(places, catalogue, entry, path, wrong, right, guess)) for entry, path, wrong, right, guess in found]


def _wrong_with_chip(board: Board, catalogue: Catalogue) -> Iterator[tuple[KeyPath, str, str, str]]:
    """What of a board does not go with its chip: path, what is wrong, what is right, nearest name."""
    chip = catalogue.chips.get(board.chip)
    if chip is None:
        yield ("chip",), f"No chip is called {board.chip!r}.", "", "".join(nearest(board.chip, catalogue.chips, 1))
        return
    if wrong := check_logic_voltage(board, chip):
        yield ("logic_v",), *wrong, ""
    blocks = {name for bus in chip.bus for name in (bus.id, bus.block) if name}
    for i, item in enumerate(board.reserve):
        for j, block in enumerate(item.blocks):
            if block not in blocks:
                guess = "".join(nearest(block, blocks, 1))
                yield ("reserve", i, "blocks", j), f"{chip.part} has no bus block {block!r}.", "", guess
    pads = {pad.name for pad in chip.pad}
    used: list[tuple[KeyPath, str]] = [(("header", i, "pad"), pin.pad) for i, pin in enumerate(board.header)]
    used += [(("onboard", i, "pad"), item.pad) for i, item in enumerate(board.onboard)]
    used += [(("reserve", i, "pads", j), pad) for i, item in enumerate(board.reserve) for j, pad in enumerate(item.pads)]
    for path, pad in used:
        if pad and pad not in pads:
            yield path, f"{chip.part} has no pad {pad!r}.", "", "".join(nearest(pad, pads, 1))


def uncited(catalogue: Catalogue, files: Iterable[FactsFile] = ()) -> list[Fault]:
    """List every value that names no source, with file and line where the ``files`` are given."""
    from pinwright.facts.provenance import claims

    tables: tuple[tuple[str, Mapping[str, Chip | Board | Part]], ...] = (
        ("chips", catalogue.chips),
        ("boards", catalogue.boards),
        ("parts", catalogue.parts),
    )
    found: list[tuple[Entry, str]] = []
    for kind, table in tables:
        found += (((kind, name), claim.key) for name, item in table.items() for claim in claims(item) if claim.source is None)
    places = _places(files) if found else {}
    return [_fault_at(places, catalogue, entry, key, "This value names no source.", _SOURCE, "") for entry, key in found]


_SOURCE = 'Add src = "…" beside it, or its group to [provenance].'


# ------------------------------------------------------------------------------ places of entries


@dataclasses.dataclass(frozen=True, slots=True)
class _Place:
    """The file an entry stands in, its data, and where in them the entry begins."""

    file: FactsFile
    data: Any
    root: KeyPath = ()


def _places(files: Iterable[FactsFile]) -> dict[Entry, _Place]:
    """Where each entry stands; of two with one name the later, which replaces the other."""
    found: dict[Entry, _Place] = {}
    for file in files:
        data = data_of(file, Reporter(file, []))
        if data is None:
            continue
        if file.kind != "parts":
            found[file.kind, str(data.get("part" if file.kind == "chips" else "id"))] = _Place(file, data)
            continue
        parts = data.get("part")
        for index, part in enumerate(parts if isinstance(parts, list) else ()):
            if isinstance(part, dict):
                found["parts", str(part.get("id"))] = _Place(file, part, ("part", index))
    return found


def _fault_at(
    places: Mapping[Entry, _Place], catalogue: Catalogue, entry: Entry, where: KeyPath | str, wrong: str, right: str, guess: str
) -> Fault:
    """A fault of an entry, with its file and line where they are known; ``where`` is a path, or the key of a claim."""
    kind, name = entry
    owner = f"{name}." if kind == "parts" else ""
    key = owner + (where if isinstance(where, str) else path_text(where))
    place = places.get(entry)
    if place is None:
        stem = catalogue.parts[name].family if kind == "parts" else name.lower()
        return Fault(f"{kind}/{stem}.toml", None, key, wrong, right, guess)
    path = _path_of(where, place.data) if isinstance(where, str) else where
    line = lines_of(place.file.text).line((*place.root, *path))
    return Fault("/".join(place.file.path.parts[-2:]), line, key, wrong, right, guess)


def _path_of(key: str, data: Any) -> KeyPath:
    """Path of a claim's key, as far as the data go: an item of a list is known by any word of it.

    >>> _path_of("onboard.led.P1", {"onboard": [{"what": "button"}, {"what": "led", "pad": "P1"}]})
    ('onboard', 1)
    """
    path: KeyPath = ()
    pieces = key.split(".")
    for index, piece in enumerate(pieces):
        if isinstance(data, dict) and piece in data:
            path, data = (*path, piece), data[piece]
        elif isinstance(data, list):
            rest = pieces[index:]
            fitting = [sum(word in map(str, item.values()) for word in rest) if isinstance(item, dict) else 0 for item in data]
            if not fitting or not max(fitting):
                break
            best = fitting.index(max(fitting))
            path, data = (*path, best), data[best]
    return path
