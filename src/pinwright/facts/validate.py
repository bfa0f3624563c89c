"""Check catalogue files: first their shape, then what a type cannot say.

Run it on the whole catalogue with ``pinwright facts check``, or on single files with
``python -m pinwright.facts.validate FILE...`` while writing them.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from pinwright.errors import Fault, nearest
from pinwright.facts.electrical import check_chip_levels, check_part_levels
from pinwright.facts.figures import KeyPath, check_figures, members
from pinwright.facts.loader import FactsFile, parts_of
from pinwright.facts.model import Board, Chip, Fact, Level, Part, Source
from pinwright.facts.provenance import PAD_COLUMNS
from pinwright.facts.shape import PartsFile, read_shape
from pinwright.toml_lines import Lines, scan_lines

__all__ = ["Reporter", "cites", "data_of", "lines_of", "parse_file", "path_text"]


def parse_file(file: FactsFile, faults: list[Fault]) -> Chip | Board | list[Part] | None:
    """Read one file into its model; add everything wrong with it to ``faults`` and then return ``None``."""
    report = Reporter(file, faults)
    before = len(faults)
    data = data_of(file, report)
    if data is None:
        return None
    found = read_shape({"chips": Chip, "boards": Board, "parts": PartsFile}[file.kind], data)
    if isinstance(found, list):
        for fault in found:
            report(fault.path, fault.wrong, fault.right, fault.guess)
        return None
    check_figures(found, (), report)
    is_sound = len(faults) == before  # whoever calculates needs sound figures
    if isinstance(found, Chip):
        _check_chip(found, file.path, report)
        if is_sound:
            check_chip_levels(found, report)
    elif isinstance(found, Board):
        _check_board(found, file.path, report)
    elif isinstance(found, PartsFile):
        _check_parts(found, report)
        for index, part in enumerate(found.part if is_sound else ()):
            check_part_levels(part, ("part", index), report)
    if len(faults) > before:
        return None
    return parts_of(data, found.part, found.source) if isinstance(found, PartsFile) else found


def data_of(file: FactsFile, report: Reporter) -> dict[str, Any] | None:
    """The text of a file as TOML, or ``None`` and a fault."""
    if file.unreadable:
        report.at(None, file.unreadable)
        return None
    try:
        return tomllib.loads(file.text)
    except RecursionError:
        report.at(None, "This is not valid TOML: brackets in brackets, too deep.")
    except ValueError as error:  # a syntax error, or a number of thousands of digits
        place = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", str(error), re.DOTALL)
        words = f"{place[1]} (column {place[3]})" if place else str(error).removesuffix(" (at end of document)")
        line = int(place[2]) if place else file.text.count("\n") + 1 if "end of document" in str(error) else None
        report.at(line, f"This is not valid TOML: {words}.")
    return None


def path_text(path: KeyPath) -> str:
    """Write a path the way people read it: ``part[2].wire``.

    >>> path_text(("part", 2, "wire"))
    'part[2].wire'
    """
    text = ""
    for key in path:
        text += f"[{key}]" if isinstance(key, int) else f".{key}" if text else str(key)
    return text


@lru_cache(maxsize=4)
def lines_of(text: str) -> Lines:
    """Lines of a file's keys; only a file with a fault is scanned."""
    return scan_lines(text)


class Reporter:
    """Turns what is wrong at a path of one file into a fault with its line."""

    def __init__(self, file: FactsFile, faults: list[Fault]) -> None:
        self._file, self._faults = file, faults
        self._name = "/".join(file.path.parts[-2:])

    def at(self, line: int | None, wrong: str) -> None:
        self._faults.append(Fault(self._name, line, "", wrong))

    def __call__(self, path: KeyPath, wrong: str, right: str = "", guess: str = "") -> None:
        self._faults.append(Fault(self._name, lines_of(self._file.text).line(path), path_text(path), wrong, right, guess))


# ------------------------------------------------------------------------------ sense


def _duplicates(names: list[Any]) -> list[Any]:
    return [name for name, count in Counter(names).items() if count > 1]


def cites(item: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """Yield every object below ``item`` that can name a source, with its path."""
    if isinstance(item, tuple):
        for index, value in enumerate(item):
            yield from cites(value, (*path, index))
    elif isinstance(item, dict):
        for key, value in item.items():
            yield from cites(value, (*path, key))
    elif item is not None:
        cls: Any = type(item)
        held = members(cls)
        if held.is_cited:
            yield path, item
        for name in held.objects:
            if value := getattr(item, name):
                yield from cites(value, (*path, name))


def _check_sources(item: Any, sources: tuple[Source, ...], report: Reporter, root: KeyPath = ()) -> None:
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


def _check_spread(fact: Fact, path: KeyPath, report: Reporter) -> None:
    spread = [v for v in (fact.min, fact.typ, fact.max) if v is not None]
    if spread != sorted(spread):
        report(path, "Minimum, typical and maximum are out of order.")
    elif (
        fact.value is not None
        and spread
        and not (fact.min is None or fact.min <= fact.value) & (fact.max is None or fact.value <= fact.max)
    ):
        report(path, f"The value {fact.value:g} lies outside its own minimum and maximum.")
    if fact.value is None and not spread and not fact.text:
        report(path, "This fact says nothing.", "Give value, a spread (min, typ, max) or text.")
    others = [other.value for other in fact.also if other.value is not None]
    if fact.safer and fact.value is not None and others:
        safe = min(others) >= fact.value if fact.safer == "low" else max(others) <= fact.value
        if not safe:
            report(path, f"Another source gives a safer ({fact.safer}er) value than {fact.value:g}.")


def _check_chip(chip: Chip, path: Path, report: Reporter) -> None:
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
        here: KeyPath = ("pad", i)
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


def _check_buses(chip: Chip, report: Reporter) -> None:
    functions = {name for pad in chip.pad for name in pad.functions}
    for twice in _duplicates([bus.id for bus in chip.bus]):
        report(("bus",), f"Two bus instances are called {twice!r}.")
    pads = {str(pad.gpio) for pad in chip.pad}
    for i, bus in enumerate(chip.bus):
        for j, gpio in enumerate(bus.never_inputs):
            if str(gpio) not in pads:
                report(("bus", i, "never_inputs", j), f"No pad is numbered {gpio!r}.", guess="".join(nearest(str(gpio), pads, 1)))
        if bus.wiring != "fixed":
            continue
        if not bus.roles:
            report(("bus", i, "roles"), "A fixed instance needs the function name of each role.")
        for role, function in bus.roles.items():
            if function not in functions:
                guess = nearest(function, functions, 1)
                report(("bus", i, "roles", role), f"No pad has the function {function!r}.", guess=guess[0] if guess else "")


def _check_boot_modes(chip: Chip, report: Reporter) -> None:
    straps = {pad.name for pad in chip.pad if pad.strap}
    if straps and not any(mode.name == "run" for mode in chip.boot_mode):
        report(("boot_mode",), "There are strap pads but no boot mode called 'run'.")
    for i, mode in enumerate(chip.boot_mode):
        for name, level in mode.levels.items():
            if name not in straps:
                report(("boot_mode", i, "levels", name), f"{name} is not a strap pad.")
            if level not in ("high", "low", "any"):
                report(("boot_mode", i, "levels", name), f"{level!r} is not a level.", "Write high, low or any.")


def _check_board(board: Board, path: Path, report: Reporter) -> None:
    _check_sources(board, board.source, report)
    if path.stem != board.id:
        report(("id",), f"The file is called {path.name}.", f"Call it {board.id}.toml.")
    if "header" not in board.provenance:
        report(("provenance",), "The header rows have no source.", "Add provenance.header.")
    for i, pin in enumerate(board.header):
        if bool(pin.pad) == bool(pin.power):
            report(("header", i), "A header pin is either a pad or a supply pin.", "Set exactly one of pad and power.")
    counted = Counter(pin.pad for pin in board.header if pin.pad)
    for i, pin in enumerate(board.header):
        if counted[pin.pad] > 1 and not pin.bonded:
            report(
                ("header", i, "pad"),
                f"Two header pins have the pad {pin.pad!r}.",
                "Where the board joins them, write bonded = true on each.",
            )
        elif pin.bonded and counted[pin.pad] < 2:
            report(("header", i, "bonded"), "No other header pin has this pad.", "Leave bonded away, or give the other pin the same pad.")
    for row in dict.fromkeys(pin.row for pin in board.header):
        orders = [pin.order for pin in board.header if pin.row == row]
        if orders != list(range(1, len(orders) + 1)):
            report(("header",), f"Row {row!r} is not numbered 1, 2, 3, … in order.")


def _check_parts(file: PartsFile, report: Reporter) -> None:
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


def _check_part_lines(part: Part, i: int, report: Reporter) -> None:
    for j, line in enumerate(part.line):
        here: KeyPath = ("part", i, "line", j)
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


def _main(arguments: list[str]) -> int:
    faults: list[Fault] = []
    for argument in arguments:
        path = Path(argument)
        parse_file(FactsFile(path.parent.name, path, path.read_text(encoding="utf-8"), True), faults)
    for fault in faults:
        sys.stdout.write(f"{fault}\n")
    sys.stdout.write(f"{_counted(len(arguments), 'file')}, {_counted(len(faults), 'fault')}\n")
    return 1 if faults else 0


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


if __name__ == "__main__":
    sys.exit(_main(sys.argv[1:]))
