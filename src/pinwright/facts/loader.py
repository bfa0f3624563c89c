"""Read the catalogue: TOML files in, one frozen ``Catalogue`` out.

Reading and checking every file takes long compared with a plan, so the result is kept, in a file named by
the hash of everything it was made from: change one byte of a fact (or of the model) and it is made anew.
A folder of the maker's own may add entries or replace shipped ones by their id.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import TypeVar

from pinwright.errors import FactsError, Fault, UnknownName, nearest
from pinwright.facts.model import Board, Chip, Part, Source

__all__ = ["Catalogue", "FactsFile", "fact_files", "load_catalogue", "misplaced", "read_files"]

_PACKAGE = Path(__file__).parent
_KINDS = ("chips", "boards", "parts")
_MODEL = ("cited.py", "chip.py", "board.py", "part.py")
_KEPT_COPIES = 4  # one for each own folder in use; more is litter
_Entry = TypeVar("_Entry", Chip, Board, Part)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All facts, by id; ``faults`` lists user files that were left out because they are broken."""

    chips: dict[str, Chip]
    boards: dict[str, Board]
    parts: dict[str, Part]
    faults: tuple[Fault, ...] = field(default=())

    def chip(self, name: str) -> Chip:
        """Chip by part number, whatever the case.  Raises ``UnknownName``."""
        return _pick("chip", name, self.chips)

    def board(self, name: str) -> Board:
        """Board by id.  Raises ``UnknownName``."""
        return _pick("board", name, self.boards)

    def part(self, name: str) -> Part:
        """Part by id.  Raises ``UnknownName``."""
        return _pick("part", name, self.parts)


def _pick(what: str, name: str, known: dict[str, _Entry]) -> _Entry:
    for key, item in known.items():
        if key.casefold() == name.casefold():
            return item
    raise UnknownName(what, name, known)


@dataclass(frozen=True, slots=True)
class FactsFile:
    """One TOML file of the catalogue, read but not yet understood; ``unreadable`` says why it could not be read."""

    kind: str
    path: Path
    text: str
    shipped: bool
    unreadable: str = ""


def fact_files(extra: Sequence[Path] = ()) -> Iterator[FactsFile]:
    """Yield every catalogue file, shipped ones first, in a fixed order."""
    for root in (_PACKAGE, *extra):
        for kind in _KINDS:
            for path in sorted((root / kind).glob("*.toml")):
                try:
                    yield FactsFile(kind, path, path.read_text(encoding="utf-8"), root is _PACKAGE)
                except UnicodeDecodeError as error:
                    yield FactsFile(kind, path, "", root is _PACKAGE, f"This is not UTF-8 text (byte {error.start}).")
                except OSError as error:
                    yield FactsFile(kind, path, "", root is _PACKAGE, f"This cannot be read: {error.strerror or error}.")


def misplaced(folders: Iterable[Path]) -> list[Fault]:
    """Say what in folders of the maker's own nobody will read: no or wrongly named folders, files that stand outside them."""
    return [fault for folder in folders if folder.is_dir() for fault in _misplaced_in(folder)]


def _misplaced_in(folder: Path) -> Iterator[Fault]:
    shelves = f"{', '.join(f'{kind}/' for kind in _KINDS[:-1])} or {_KINDS[-1]}/"
    try:
        inside = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError as error:
        yield Fault(str(folder), None, "", f"This folder cannot be read: {error.strerror or error}.")
        return
    others = [path for path in inside if path.is_dir() and path.name not in _KINDS]
    loose = [path.name for path in inside if path.suffix.casefold() == ".toml" and _is_entry(path)]
    meant = [(path.name, guess[0]) for path in others if (guess := nearest(path.name, _KINDS, 1))]
    if not any((folder / kind).is_dir() for kind in _KINDS):
        found = [f"{path.name}/" for path in others[:3]] + loose[:3]
        right = f"Found: {', '.join(found)}." if found else "Nothing in it is read."
        if loose and not meant:
            right += f" Put a file of your own into {shelves}."
        above = f"{folder.resolve().parent}, the folder above" if loose and folder.resolve().name in _KINDS else ""
        likely = above or ", ".join(f"{kind}/" for _, kind in meant)
        yield Fault(str(folder), None, "", f"This folder has no {shelves}.", right, likely)
        return
    for name, kind in meant:
        yield Fault(str(folder), None, "", f"Nothing in {name}/ is read.", "", f"{kind}/")
    for name in loose:
        yield Fault(str(folder / name), None, "", "A file outside the folders is not read.", f"Put it into {shelves}.")
    for kind in _KINDS:
        for path in sorted((folder / kind).glob("*")):
            if path.is_dir() and any(path.glob("*.toml")):
                yield Fault(str(path), None, "", f"A folder in {kind}/ is not read.", f"Put its files into {kind}/ itself.")


def _is_entry(path: Path) -> bool:
    """Whether a file looks like one of the catalogue; briefs may well lie beside the folders."""
    try:
        return re.search(r"^schema\s*=", path.read_text(encoding="utf-8", errors="replace"), re.MULTILINE) is not None
    except OSError:
        return False


def load_catalogue(extra: Sequence[Path] = ()) -> Catalogue:
    """Return the catalogue, from the kept copy when nothing has changed.

    Parameters
    ----------
    extra : folders of the maker's own with chips/, boards/ and parts/ [-]

    Raises
    ------
    FactsError : a shipped file is broken.  A broken file of the maker's own is left out and listed in ``faults``.
    """
    files = list(fact_files(extra))
    kept = _cache_file(files)
    if kept is not None and (found := _read_cache(kept)) is not None:
        return found
    catalogue = read_files(files)
    if kept is not None and not catalogue.faults:
        _write_cache(kept, catalogue)
    return catalogue


def read_files(files: Iterable[FactsFile]) -> Catalogue:
    """Read and check catalogue files without any cache.

    An entry of the maker's own that does not go with the rest is left out, and the shipped one of that name stays.

    Raises
    ------
    FactsError : a shipped file is broken.
    """
    from pinwright.facts.across import check_catalogue

    every = list(files)
    faults: list[Fault] = []
    shipped = _entries((file for file in every if file.shipped), faults)
    faults += (fault for _, fault in check_catalogue(_catalogue(shipped), every))
    if faults:
        raise FactsError(faults)
    own_faults: list[Fault] = []
    own = _entries((file for file in every if not file.shipped), own_faults)
    while wrong := check_catalogue(merged := _catalogue({**shipped, **own}), every):
        for (kind, name), fault in wrong:
            # What is wrong with a shipped board can only come from a chip of the maker's own.
            culprit = (kind, name) if (kind, name) in own else ("chips", merged.boards[name].chip)
            own.pop(culprit, None)
            own_faults.append(fault)
    return replace(merged, faults=tuple(own_faults))


_Entries = dict[tuple[str, str], Chip | Board | Part]


def _entries(files: Iterable[FactsFile], faults: list[Fault]) -> _Entries:
    """Entries of some files by kind and name; broken files only add to ``faults``."""
    from pinwright.facts.validate import parse_file

    found: _Entries = {}
    for file in files:
        parsed = parse_file(file, faults)
        if isinstance(parsed, Chip):
            found["chips", parsed.part] = parsed
        elif isinstance(parsed, Board):
            found["boards", parsed.id] = parsed
        elif parsed is not None:
            found.update((("parts", part.id), part) for part in parsed)
    return found


def _catalogue(entries: _Entries) -> Catalogue:
    chips = {name: entry for (_, name), entry in entries.items() if isinstance(entry, Chip)}
    boards = {name: entry for (_, name), entry in entries.items() if isinstance(entry, Board)}
    parts = {name: entry for (_, name), entry in entries.items() if isinstance(entry, Part)}
    return Catalogue(chips, boards, parts)


def parts_of(data: dict[str, object], parts: Iterable[Part], sources: tuple[Source, ...]) -> list[Part]:
    """Give each part the sources and the name of the file it stands in."""
    family = data.get("family")
    name = str(family.get("id", "")) if isinstance(family, dict) else ""
    return [replace(part, family=name, source=sources) for part in parts]


# ------------------------------------------------------------------------------ cache


@cache
def _model_text() -> bytes:
    return b"".join(
        (_PACKAGE / name).read_bytes()
        for name in (*_MODEL, "provenance.py", "loader.py", "validate.py", "shape.py", "figures.py", "electrical.py")
    )


def _cache_file(files: Sequence[FactsFile]) -> Path | None:
    """Path of the compiled catalogue for exactly these files, or ``None`` when there is no place to keep one."""
    digest = hashlib.blake2b(_model_text(), digest_size=16)
    for file in files:
        digest.update(f"\0{file.kind}/{file.path.name}\0{file.shipped}\0".encode())
        digest.update(file.text.encode())
    root = os.environ.get("PINWRIGHT_CACHE") or os.environ.get("XDG_CACHE_HOME")
    base = Path(root) if root else Path.home() / ".cache"
    return base / "pinwright" / f"facts-{digest.hexdigest()}.msgpack"


@dataclass(frozen=True, slots=True)
class _Kept:
    """What the kept copy holds: parts without their documents, each list of documents once, and which part has which."""

    catalogue: Catalogue
    sources: tuple[tuple[Source, ...], ...]
    of: dict[str, int]


def _kept(catalogue: Catalogue) -> _Kept:
    numbers: dict[tuple[Source, ...], int] = {}
    of = {name: numbers.setdefault(part.source, len(numbers)) for name, part in catalogue.parts.items()}
    bare = {name: replace(part, source=()) for name, part in catalogue.parts.items()}
    return _Kept(replace(catalogue, parts=bare), tuple(numbers), of)


def _read_cache(path: Path) -> Catalogue | None:
    import gc

    import msgspec

    # A hundred thousand objects that all stay: looking through them for litter meanwhile costs a third of the time.
    was_collecting = gc.isenabled()
    gc.disable()
    try:
        kept = msgspec.msgpack.decode(path.read_bytes(), type=_Kept)
        for name, number in kept.of.items():
            object.__setattr__(kept.catalogue.parts[name], "source", kept.sources[number])  # fresh from the file, nobody has seen it
        return kept.catalogue
    except (OSError, msgspec.MsgspecError, LookupError):
        return None
    finally:
        if was_collecting:
            gc.enable()


def _write_cache(path: Path, catalogue: Catalogue) -> None:
    import msgspec

    temporary = path.with_suffix(f".{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        temporary.write_bytes(msgspec.msgpack.encode(_kept(catalogue)))
        os.replace(temporary, path)
        kept = sorted(path.parent.glob("facts-*.msgpack"), key=lambda old: old.stat().st_mtime)
        for old in kept[:-_KEPT_COPIES]:
            old.unlink(missing_ok=True)
    except OSError:  # nowhere to keep it: the next run reads the files again
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
