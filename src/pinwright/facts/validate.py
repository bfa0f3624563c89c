"""Check catalogue files: first their shape, then what a type cannot say.

Run it on the whole catalogue with ``pinwright facts check``, or on single files with
``python -m pinwright.facts.validate FILE...`` while writing them.
"""

from __future__ import annotations

import dataclasses
import json
import sys
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from pinwright.errors import Fault, nearest
from pinwright.facts import model
from pinwright.facts.loader import Catalogue, FactsFile, parts_of
from pinwright.facts.model import Board, Chip, Fact, Level, Part, Source
from pinwright.facts.provenance import PAD_COLUMNS
from pinwright.toml_lines import Lines, scan_lines

__all__ = ["check_catalogue", "parse_file", "uncited"]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class PartsFamily:
    """Name of a file of parts."""

    id: str
    title: str


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class PartsFile:
    """A whole file of parts."""

    schema: int
    family: PartsFamily
    source: tuple[Source, ...]
    part: tuple[Part, ...]


def parse_file(file: FactsFile, faults: list[Fault]) -> Chip | Board | list[Part] | None:
    """Read one file into its model; add everything wrong with it to ``faults`` and then return ``None``."""
    name = _short(file.path)
    if file.unreadable:
        faults.append(Fault(name, None, "", file.unreadable))
        return None
    try:
        data = tomllib.loads(file.text)
    except tomllib.TOMLDecodeError as error:
        faults.append(Fault(name, getattr(error, "lineno", None), "", f"This is not valid TOML: {error}."))
        return None
    target = {"chips": Chip, "boards": Board, "parts": PartsFile}[file.kind]
    lines = scan_lines(file.text)
    found = _shape(target, data, name, lines, faults)
    if found is None:
        return None
    before = len(faults)
    report = _Reporter(name, lines, faults)
    if isinstance(found, Chip):
        _check_chip(found, file.path, report)
    elif isinstance(found, Board):
        _check_board(found, file.path, report)
    elif isinstance(found, PartsFile):
        _check_parts(found, report)
    if len(faults) > before:
        return None
    return parts_of(data, found.part, found.source) if isinstance(found, PartsFile) else found


# ------------------------------------------------------------------------------ shape


@cache
def _adapter(target: type) -> Any:
    """Pydantic's reader for one of our dataclasses, strict and refusing unknown keys."""
    from pydantic import TypeAdapter

    for item in [*(getattr(model, name) for name in model.__all__), PartsFamily, PartsFile]:
        if dataclasses.is_dataclass(item):
            setattr(item, "__pydantic_config__", {"extra": "forbid", "strict": True})  # noqa: B010
    return TypeAdapter(target)


def _shape(target: type, data: dict[str, Any], name: str, lines: Lines, faults: list[Fault]) -> Any:
    from pydantic import ValidationError

    try:
        # JSON mode is strict about numbers and words yet takes a list where we keep a tuple.
        return _adapter(target).validate_json(json.dumps(data, default=str))
    except ValidationError as error:
        for item in error.errors():
            path = tuple(key for key in item["loc"] if not (isinstance(key, str) and key.startswith(("function-", "int", "str"))))
            key = path_text(path)
            if item["type"] in ("unexpected_keyword_argument", "extra_forbidden"):
                owner = _owner(target, path[:-1])
                known = [f.name for f in dataclasses.fields(owner)] if owner else []
                guess = nearest(str(path[-1]), known, 1)
                faults.append(Fault(name, lines.line(path), key, "Nobody knows this key.", guess=guess[0] if guess else ""))
            elif item["type"] in ("missing", "missing_argument"):
                faults.append(Fault(name, lines.line(path), key, "This key is missing."))
            else:
                faults.append(Fault(name, lines.line(path), key, f"{item['msg']}, not {item['input']!r}."))
        return None


def _owner(target: type, path: tuple[str | int, ...]) -> type | None:
    """Dataclass that holds the value at ``path``, as far as the annotations tell."""
    import typing

    current: Any = target
    for key in path:
        if isinstance(key, int):
            continue
        if not dataclasses.is_dataclass(current):
            return None
        hints = typing.get_type_hints(current)
        current = hints.get(key)
        for _ in range(3):
            options = [a for a in typing.get_args(current) if a is not type(None) and a is not Ellipsis and a is not str]
            if options and not dataclasses.is_dataclass(current):
                current = options[-1]
    return current if dataclasses.is_dataclass(current) and isinstance(current, type) else None


def path_text(path: tuple[str | int, ...]) -> str:
    """Write a path the way people read it: ``part[2].wire``.

    >>> path_text(("part", 2, "wire"))
    'part[2].wire'
    """
    text = ""
    for key in path:
        text += f"[{key}]" if isinstance(key, int) else f".{key}" if text else str(key)
    return text


def _short(path: Path) -> str:
    return "/".join(path.parts[-2:])


# ------------------------------------------------------------------------------ sense


class _Reporter:
    def __init__(self, file: str, lines: Lines, faults: list[Fault]) -> None:
        self._file, self._lines, self._faults = file, lines, faults

    def __call__(self, path: tuple[str | int, ...], wrong: str, right: str = "", guess: str = "") -> None:
        self._faults.append(Fault(self._file, self._lines.line(path), path_text(path), wrong, right, guess))


def _duplicates(names: list[Any]) -> list[Any]:
    return [name for name, count in Counter(names).items() if count > 1]


def cites(item: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Yield every object below ``item`` that can name a source, with its path."""
    if dataclasses.is_dataclass(item) and not isinstance(item, type):
        if hasattr(item, "src"):
            yield path, item
        for f in dataclasses.fields(item):
            yield from cites(getattr(item, f.name), (*path, f.name))
    elif isinstance(item, tuple):
        for index, value in enumerate(item):
            yield from cites(value, (*path, index))
    elif isinstance(item, dict):
        for key, value in item.items():
            yield from cites(value, (*path, key))


def _check_sources(item: Any, sources: tuple[Source, ...], report: _Reporter, root: tuple[str | int, ...] = ()) -> None:
    known = [source.id for source in sources]
    for twice in _duplicates(known):
        report(("source",), f"Two sources are called {twice!r}.", "Give each its own id.")
    recalled = {source.id for source in sources if source.seen == "memory"}
    for path, cited in cites(item, root):
        if cited.src and cited.src not in known:
            guess = nearest(cited.src, known, 1)
            report((*path, "src"), f"No source is called {cited.src!r}.", "Add it as [[source]].", guess[0] if guess else "")
        if cited.src in recalled and cited.seen == "read":
            report((*path, "seen"), f"Source {cited.src!r} is recalled, so nothing can have been read in it.")
        if isinstance(cited, Fact):
            _check_spread(cited, path, report)
        if isinstance(cited, (Fact, Level)) and cited.also and not cited.chosen:
            report((*path, "chosen"), "Sources disagree here.", "Say in 'chosen' why this value is the safer one.")


def _check_spread(fact: Fact, path: tuple[str | int, ...], report: _Reporter) -> None:
    spread = [v for v in (fact.min, fact.typ, fact.max) if v is not None]
    if spread != sorted(spread):
        report(path, "Minimum, typical and maximum are out of order.")
    if fact.value is None and not spread and not fact.text:
        report(path, "This fact says nothing.", "Give value, a spread (min, typ, max) or text.")
    others = [other.value for other in fact.also if other.value is not None]
    if fact.safer and fact.value is not None and others:
        safe = min(others) >= fact.value if fact.safer == "low" else max(others) <= fact.value
        if not safe:
            report(path, f"Another source gives a safer ({fact.safer}er) value than {fact.value:g}.")


def _check_chip(chip: Chip, path: Path, report: _Reporter) -> None:
    _check_sources(chip, chip.source, report)
    if path.stem != chip.part.lower():
        report(("part",), f"The file is called {path.name}.", f"Call it {chip.part.lower()}.toml.")
    for column in PAD_COLUMNS:
        if column not in chip.provenance:
            report(("provenance",), f"Column {column!r} of the pad table has no source.", f"Add provenance.{column}.")
    pools = {pool.id for pool in chip.pwm}
    units = {adc.unit for adc in chip.adc}
    names = [pad.name for pad in chip.pad]
    for twice in _duplicates(names) + _duplicates([pad.gpio for pad in chip.pad]):
        report(("pad",), f"Two pads are called {twice!r}.")
    for twice in _duplicates(
        [p.adc for p in chip.pad if p.adc] + [p.touch for p in chip.pad if p.touch] + [p.dac for p in chip.pad if p.dac]
    ):
        report(("pad",), f"Two pads share the channel {twice!r}.")
    for i, pad in enumerate(chip.pad):
        here: tuple[str | int, ...] = ("pad", i)
        for use in pad.pwm:
            if use.pool not in pools:
                report((*here, "pwm"), f"No PWM pool is called {use.pool!r}.")
        if pad.adc and pad.adc.unit not in units:
            report((*here, "adc"), f"There is no ADC unit {pad.adc.unit}.")
        if pad.analog_only and (pad.output or pad.pull_up or pad.interrupt):
            report(here, "An analog-only pad has no output, pull or interrupt.")
        if pad.reserved in ("", "usb", "debug") and not pad.boot and (pad.input or pad.output):
            report((*here, "boot"), "Nothing says what this pad does before firmware runs.", "Add boot = [{ state = ... }].")
        if pad.pwm and not pad.output:
            report((*here, "pwm"), "A pad that cannot drive cannot carry PWM.")
    gpios = {pad.gpio for pad in chip.pad}
    for i, group in enumerate(chip.group):
        for gpio in group.pads:
            if gpio not in gpios:
                report(("group", i, "pads"), f"There is no pad {gpio!r}.")
    _check_buses(chip, report)
    _check_boot_modes(chip, report)


def _check_buses(chip: Chip, report: _Reporter) -> None:
    functions = {name for pad in chip.pad for name in pad.functions}
    for twice in _duplicates([bus.id for bus in chip.bus]):
        report(("bus",), f"Two bus instances are called {twice!r}.")
    for i, bus in enumerate(chip.bus):
        if bus.wiring != "fixed":
            continue
        if not bus.roles:
            report(("bus", i, "roles"), "A fixed instance needs the function name of each role.")
        for role, function in bus.roles.items():
            if function not in functions:
                guess = nearest(function, functions, 1)
                report(("bus", i, "roles", role), f"No pad has the function {function!r}.", guess=guess[0] if guess else "")


def _check_boot_modes(chip: Chip, report: _Reporter) -> None:
    straps = {pad.name for pad in chip.pad if pad.strap}
    if straps and not any(mode.name == "run" for mode in chip.boot_mode):
        report(("boot_mode",), "There are strap pads but no boot mode called 'run'.")
    for i, mode in enumerate(chip.boot_mode):
        for name, level in mode.levels.items():
            if name not in straps:
                report(("boot_mode", i, "levels", name), f"{name} is not a strap pad.")
            if level not in ("high", "low", "any"):
                report(("boot_mode", i, "levels", name), f"{level!r} is not a level.", "Write high, low or any.")


def _check_board(board: Board, path: Path, report: _Reporter) -> None:
    _check_sources(board, board.source, report)
    if path.stem != board.id:
        report(("id",), f"The file is called {path.name}.", f"Call it {board.id}.toml.")
    if "header" not in board.provenance:
        report(("provenance",), "The header rows have no source.", "Add provenance.header.")
    for i, pin in enumerate(board.header):
        if bool(pin.pad) == bool(pin.power):
            report(("header", i), "A header pin is either a pad or a supply pin.", "Set exactly one of pad and power.")
    for row in dict.fromkeys(pin.row for pin in board.header):
        orders = [pin.order for pin in board.header if pin.row == row]
        if orders != list(range(1, len(orders) + 1)):
            report(("header",), f"Row {row!r} is not numbered 1, 2, 3, … in order.")


def _check_parts(file: PartsFile, report: _Reporter) -> None:
    _check_sources(file.part, file.source, report, ("part",))
    for twice in _duplicates([part.id for part in file.part]):
        report(("part",), f"Two parts are called {twice!r}.")
    for i, part in enumerate(file.part):
        for twice in _duplicates([line.name for line in part.line]):
            report(("part", i, "line"), f"Two lines of {part.id} are called {twice!r}.")
        _check_part_lines(part, i, report)


_ROLES = {
    "i2c": {"SDA", "SCL"},
    "spi": {"SCK", "MOSI", "MISO", "CS"},
    "uart": {"TX", "RX"},
    "i2s": {"BCLK", "WS", "DOUT", "DIN", "MCLK"},
}
_BUS_FACTS: dict[str, Callable[[Part], object]] = {"i2c": lambda p: p.i2c, "spi": lambda p: p.spi, "uart": lambda p: p.uart}


def _check_part_lines(part: Part, i: int, report: _Reporter) -> None:
    for j, line in enumerate(part.line):
        here: tuple[str | int, ...] = ("part", i, "line", j)
        roles = _ROLES.get(line.signal)
        if roles and line.role not in roles:
            report((*here, "role"), f"{line.role!r} is not a role on {line.signal}.", f"Write one of {', '.join(sorted(roles))}.")
        if line.signal in _BUS_FACTS and not _BUS_FACTS[line.signal](part):
            report((*here, "signal"), f"Part {part.id} has a {line.signal} line but no [part.{line.signal}] facts.")
        if line.safe_level in ("high", "low") and line.direction in ("in", "analog-in"):
            report((*here, "safe_level"), "A line the part drives cannot be asked to rest at a level.")
        if line.quiet == "must" and line.safe_level == "any":
            report((*here, "quiet"), "A line that must stay quiet needs a safe_level.")
        if (line.needs.pwm_min_hz or 0) > (line.needs.pwm_max_hz or float("inf")):
            report((*here, "needs"), "pwm_min_hz is above pwm_max_hz.")
    if part.i2c and part.i2c.default not in part.i2c.addresses:
        report(("part", i, "i2c"), "The default address is not among the addresses.")
    if part.i2c and part.i2c.hold_off and part.i2c.hold_off not in {line.name for line in part.line}:
        report(("part", i, "i2c"), f"hold_off: part {part.id} has no line {part.i2c.hold_off!r}.")


def check_catalogue(catalogue: Catalogue) -> list[tuple[tuple[str, str], Fault]]:
    """Faults between files, each with the kind and name of the entry that has it.

    A board's chip and pads must exist, a part's ``see`` must lead somewhere.
    """
    faults: list[tuple[tuple[str, str], Fault]] = []
    for board in catalogue.boards.values():
        name, owner = f"boards/{board.id}.toml", ("boards", board.id)
        chip = catalogue.chips.get(board.chip)
        if chip is None:
            guess = nearest(board.chip, catalogue.chips, 1)
            faults.append((owner, Fault(name, None, "chip", f"No chip is called {board.chip!r}.", guess="".join(guess))))
            continue
        pads = {pad.name for pad in chip.pad}
        used = [("header", pin.pad) for pin in board.header] + [("onboard", item.pad) for item in board.onboard]
        used += [("reserve", pad) for item in board.reserve for pad in item.pads]
        blocks = {name for bus in chip.bus for name in (bus.id, bus.block) if name}
        for name_of_block in (b for item in board.reserve for b in item.blocks):
            if name_of_block not in blocks:
                guess = nearest(name_of_block, blocks, 1)
                wrong = f"{chip.part} has no bus block {name_of_block!r}."
                faults.append((owner, Fault(name, None, "reserve.blocks", wrong, guess="".join(guess))))
        for key, pad in used:
            if pad and pad not in pads:
                fault = Fault(name, None, key, f"{chip.part} has no pad {pad!r}.", guess="".join(nearest(pad, pads, 1)))
                faults.append((owner, fault))
    for part in catalogue.parts.values():
        if part.see and part.see not in catalogue.parts:
            fault = Fault(f"parts/{part.family}.toml", None, f"{part.id}.see", f"No part is called {part.see!r}.")
            faults.append((("parts", part.id), fault))
    return faults


def uncited(catalogue: Catalogue) -> list[Fault]:
    """List every value that names no source."""
    from pinwright.facts.provenance import claims

    entries: list[tuple[str, str, Chip | Board | Part]] = [(f"chips/{c.part.lower()}.toml", "", c) for c in catalogue.chips.values()]
    entries += [(f"boards/{b.id}.toml", "", b) for b in catalogue.boards.values()]
    entries += [(f"parts/{p.family}.toml", f"{p.id}.", p) for p in catalogue.parts.values()]
    return [
        Fault(name, None, owner + claim.key, "This value names no source.")
        for name, owner, item in entries
        for claim in claims(item)
        if claim.source is None
    ]


def _main(arguments: list[str]) -> int:
    faults: list[Fault] = []
    for argument in arguments:
        path = Path(argument)
        parse_file(FactsFile(path.parent.name, path, path.read_text(encoding="utf-8"), True), faults)
    for fault in faults:
        sys.stdout.write(f"{fault}\n")
    sys.stdout.write(f"{len(arguments)} files, {len(faults)} faults\n")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(_main(sys.argv[1:]))
