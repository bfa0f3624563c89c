"""Read a brief; find everything wrong with it in one go and say where, what, and what would be right."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pinwright.errors import Fault, InputError, nearest
from pinwright.toml_lines import Lines, scan_lines

if TYPE_CHECKING:
    from pinwright.brief.model import Brief, BriefPart
    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import Part

__all__ = ["BriefFile", "parse_brief", "read_brief"]

_LARGEST = 1_000_000  # bytes; a brief is written by hand


@dataclass(frozen=True, slots=True)
class BriefFile:
    """A brief with the places its values stand, so that reasons can point into it."""

    brief: Brief
    name: str
    lines: Lines

    def place(self, *path: str | int) -> str:
        """``file:line`` of a value, for reasons and findings."""
        line = self.lines.line(path)
        return self.name if line is None else f"{self.name}:{line}"


def read_brief(path: Path, catalogue: Catalogue) -> BriefFile:
    """Read a brief from a file.

    Raises
    ------
    InputError : the file cannot be read or has faults; all of them are listed.
    """
    try:
        data = path.read_bytes()
        if len(data) > _LARGEST:
            raise InputError([Fault(path.name, None, "", f"This file has {len(data)} bytes; a brief has at most {_LARGEST}.")])
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        fault = Fault(path.name, None, "", f"This is not UTF-8 text (byte {error.start}).", "Save it as UTF-8.")
        raise InputError([fault]) from None
    except OSError as error:
        raise InputError([Fault(str(path), None, "", f"Cannot be read: {error.strerror or error}.")]) from None
    return parse_brief(text, path.name, catalogue)


def parse_brief(text: str, name: str, catalogue: Catalogue) -> BriefFile:
    """Read a brief from text.  Raises ``InputError`` with every fault found."""
    try:
        data = tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax_fault(error, name)]) from None
    except (RecursionError, ValueError) as error:  # a number too long to convert, brackets nested too deep
        raise InputError([Fault(name, None, "", f"This is not usable TOML: {error}.")]) from None
    lines = scan_lines(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    faults: list[Fault] = []
    brief = _shape(data, name, lines, faults)
    if brief is not None:
        faults += _sense(brief, name, lines, catalogue)
    if faults:
        raise InputError(sorted(faults, key=lambda fault: (fault.line or 0, fault.key)))
    assert brief is not None
    return BriefFile(brief, name, lines)


def _syntax_fault(error: tomllib.TOMLDecodeError, name: str) -> Fault:
    import re

    message = str(error)
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    what = message[: found.start()].strip() if found else message
    place = f" at column {found[2]}" if found else ""
    hint = "Texts stand in quotes; a table starts with [name]." if "Invalid value" in what else ""
    return Fault(name, int(found[1]) if found else None, "", f"This is not valid TOML{place}: {what}.", hint)


# ------------------------------------------------------------------------------ shape


def _shape(data: dict[str, Any], name: str, lines: Lines, faults: list[Fault]) -> Brief | None:
    from pydantic import ValidationError

    from pinwright.brief.model import Brief

    try:
        return Brief.model_validate(data)
    except ValidationError as error:
        known = {(fault.line, fault.key): fault for fault in (_shape_fault(item, data, name, lines) for item in error.errors())}
        faults.extend(known.values())
        return None


def _shape_fault(item: Any, data: dict[str, Any], name: str, lines: Lines) -> Fault:
    from pinwright.facts.validate import path_text

    path = _real_path(item["loc"], data)
    key, kind, line = path_text(path), item["type"], lines.line(path)
    context = item.get("ctx", {})
    if kind == "extra_forbidden":
        keys = _known_keys(path[:-1])
        guess = nearest(str(path[-1]), keys, 1)
        right = "" if guess else f"Known here: {', '.join(keys)}."
        return Fault(name, line, key, f"Nobody knows the key {path[-1]!r} here.", right, guess[0] if guess else "")
    if kind == "missing":
        return Fault(name, line, key, f"The key {str(item['loc'][-1])!r} is missing.")
    if kind == "literal_error":
        options = [word.strip(" '\"") for word in str(context.get("expected", "")).replace(" or ", ", ").split(",")]
        guess = nearest(str(item["input"]), options, 1) if isinstance(item["input"], str) else ()
        right = f"Write one of: {', '.join(word for word in options if word)}."
        return Fault(name, line, key, f"{_brief_repr(item['input'])} is not known here.", right, guess[0] if guess else "")
    if kind == "value_error":
        return Fault(name, line, key, str(context.get("error", item["msg"])))
    return Fault(name, line, key, f"{_brief_repr(item['input'])} does not fit: {_plain(item)}.")


_PLAIN = {
    "string_type": "a text in quotes is wanted",
    "bool_type": "true or false is wanted (without quotes)",
    "int_type": "a whole number is wanted (without quotes)",
    "tuple_type": "a list in square brackets is wanted",
    "dict_type": "a table is wanted",
    "model_type": "a table is wanted, like [name]",
    "model_attributes_type": "a table is wanted, like [name]",
    "too_short": "at least {min_length} wanted, {actual_length} given",
    "string_too_short": "it must not be empty",
    "string_too_long": "at most {max_length} characters",
    "greater_than_equal": "it must be at least {ge}",
    "less_than_equal": "it must be at most {le}",
    "too_long": "at most {max_length} wanted",
}


def _plain(item: Any) -> str:
    template = _PLAIN.get(item["type"])
    if template is None:
        return str(item["msg"]).rstrip(".").lower()
    return template.format(**item.get("ctx", {}))


def _brief_repr(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _real_path(loc: tuple[str | int, ...], data: Any) -> tuple[str | int, ...]:
    """Pydantic's location without the names of its own validators: only steps that exist in the data."""
    path: tuple[str | int, ...] = ()
    current = data
    for index, step in enumerate(loc):
        if isinstance(current, dict) and step in current:
            current = current[step]
        elif isinstance(current, list) and isinstance(step, int) and step < len(current):
            current = current[step]
        elif index == len(loc) - 1 and isinstance(current, dict) and isinstance(step, str):
            return (*path, step)  # a missing key
        else:
            continue
        path += (step,)
    return path


def _known_keys(path: tuple[str | int, ...]) -> list[str]:
    """Keys the format knows in the table at ``path``."""
    from pinwright.brief import model

    owner: Any = model.Brief
    tables = {"supply": model.Supply, "use": model.Use, "board": model.BoardWish, "part": model.BriefPart}
    for step in path:
        if isinstance(step, int):
            continue
        if owner is model.BriefPart and step == "line":
            owner = model.BriefLine
        elif owner is model.BriefPart and step == "change":
            owner = model.LineWish
        else:
            owner = tables.get(str(step), owner)
    return [info.alias or key for key, info in owner.model_fields.items()]


# ------------------------------------------------------------------------------ sense


def _sense(brief: Brief, name: str, lines: Lines, catalogue: Catalogue) -> Iterator[Fault]:
    def report(path: tuple[str | int, ...], wrong: str, right: str = "", guess: str = "") -> Fault:
        from pinwright.facts.validate import path_text

        return Fault(name, lines.line(path), path_text(path), wrong, right, guess)

    yield from _board_faults(brief, catalogue, report)
    ambient = brief.use.ambient_c
    if ambient and ambient[0] > ambient[1]:
        yield report(("use", "ambient"), "The lowest temperature is above the highest.", "Write the lower one first.")
    seen: dict[str, int] = {}
    labels = {pin.label for b in catalogue.boards.values() for pin in b.header} | {p.name for c in catalogue.chips.values() for p in c.pad}
    folded = {label.casefold() for label in labels}
    for i, part in enumerate(brief.part):
        first = seen.setdefault(part.name, i)
        if first != i:
            yield report(("part", i, "name"), f"Two parts are called {part.name!r} (the other is part {first + 1}).", "Give each its own name.")
        yield from _part_faults(part, i, catalogue, report)
        for line, pin in part.pins.items():
            if pin.casefold() not in folded:
                guess = nearest(pin, labels, 1)
                yield report(("part", i, "pins", line), f"No board has a pin called {pin!r}.", "Write the label printed on the board, or the pad name.", "".join(guess))


Report = Callable[..., Fault]


def _board_faults(brief: Brief, catalogue: Catalogue, report: Report) -> Iterator[Fault]:
    for key in ("only", "prefer", "avoid", "own"):
        for j, board in enumerate(getattr(brief.board, key)):
            if board not in catalogue.boards:
                guess = nearest(board, catalogue.boards, 1)
                right = "" if guess else "'pinwright facts list boards' shows them all."
                yield report(("board", key, j), f"The catalogue has no board {board!r}.", right, "".join(guess))
    both = set(brief.board.only) & set(brief.board.avoid)
    for board in sorted(both):
        yield report(("board", "avoid"), f"{board!r} stands under only and under avoid.")
    if brief.board.budget is not None:
        from pinwright.brief.prices import parse_money

        try:
            parse_money(brief.board.budget)
        except ValueError as error:
            yield report(("board", "budget"), str(error))


def _part_faults(part: BriefPart, i: int, catalogue: Catalogue, report: Report) -> Iterator[Fault]:
    if part.kind is None and not part.line:
        yield report(("part", i), f"{part.name!r} has neither a kind nor lines.", "Give kind = \"…\" or describe it with [[part.line]].")
    if part.kind is not None and part.line:
        yield report(("part", i, "line"), f"{part.name!r} has a kind and lines of its own.", "Use [part.change.LINE] to change a line of a kind.")
    lines: dict[str, bool] = {}
    if part.kind is not None:
        known = catalogue.parts.get(part.kind)
        if known is None:
            yield report(("part", i, "kind"), f"The catalogue has no part {part.kind!r}.", *_kind_hint(part.kind, catalogue))
            return
        if not known.line:
            yield report(("part", i, "kind"), f"{known.title} has no wire to the controller.", "It needs no pin: leave it out of the brief.")
            return
        lines = {line.name: line.count > 1 for line in known.line}
        yield from _address_faults(part, i, known, report)
        yield from _supply_faults(part, i, known, report)
    else:
        lines = {line.name: False for line in part.line}
        yield from _own_line_faults(part, i, report)
    yield from _line_name_faults(part, i, lines, report)


def _kind_hint(kind: str, catalogue: Catalogue) -> tuple[str, str]:
    guess = nearest(kind, catalogue.parts, 1)
    if guess:
        return "", guess[0]
    words = {word: part.id for part in catalogue.parts.values() for word in part.keywords}
    by_word = nearest(kind, words, 1)
    if by_word:
        return "", words[by_word[0]]
    return "'pinwright facts search WORD' finds parts by what they do.", ""


def _address_faults(part: BriefPart, i: int, known: Part, report: Report) -> Iterator[Fault]:
    if part.address is None:
        return
    if known.i2c is None:
        yield report(("part", i, "address"), f"{known.title} has no bus address.", "Leave the key out.")
    elif part.address not in known.i2c.addresses:
        choices = ", ".join(f"0x{address:02X}" for address in known.i2c.addresses)
        yield report(("part", i, "address"), f"{known.title} cannot be at 0x{part.address:02X}.", f"It takes {choices}.")


def _supply_faults(part: BriefPart, i: int, known: Part, report: Report) -> Iterator[Fault]:
    if part.supply_v is None or known.form == "source":
        return
    low, high = known.supply_v.min, known.supply_v.max
    if (low is not None and part.supply_v < low) or (high is not None and part.supply_v > high):
        yield report(("part", i, "supply"), f"{known.title} takes {low if low is not None else 0:g} to {high or 0:g} V, not {part.supply_v:g} V.")


def _own_line_faults(part: BriefPart, i: int, report: Report) -> Iterator[Fault]:
    roles = {"i2c": {"SDA", "SCL"}, "spi": {"SCK", "MOSI", "MISO", "CS"}, "uart": {"TX", "RX"}, "i2s": {"BCLK", "WS", "DOUT", "DIN", "MCLK"}}
    seen: set[str] = set()
    for j, line in enumerate(part.line):
        here: tuple[str | int, ...] = ("part", i, "line", j)
        if line.name in seen:
            yield report((*here, "name"), f"Two lines are called {line.name!r}.")
        seen.add(line.name)
        wanted = roles.get(line.signal, set())
        if wanted and line.role not in wanted:
            yield report((*here, "role"), f"A line on {line.signal} needs a role.", f"Write one of {', '.join(sorted(wanted))}.")
        if (line.signal == "analog") != (line.direction in ("analog-in", "analog-out")):
            yield report((*here, "direction"), f"Direction {line.direction!r} and signal {line.signal!r} do not go together.", "Analog lines are analog-in or analog-out.")
        if line.power_up == "must stay off" and line.off_level is None:
            yield report((*here, "power_up"), "Nothing says at which level the part is off.", "Add off_level = \"low\", \"high\" or \"released\".")
        if line.power_up == "must stay off" and line.direction in ("in", "analog-in"):
            yield report((*here, "power_up"), "The part drives this line; the board cannot keep it off.")
        if line.gives_high_of_v is not None and line.gives_low_of_v is not None and line.gives_low_of_v >= line.gives_high_of_v:
            yield report(here, "Its low is not below its high.")
        if line.takes_high_from_v is not None and line.takes_low_up_to_v is not None and line.takes_low_up_to_v >= line.takes_high_from_v:
            yield report(here, "The level it reads as low is not below the one it reads as high.")
    signals = {line.signal for line in part.line}
    if "i2c" in signals and part.address is None:
        yield report(("part", i, "address"), "A part of your own on I2C needs its address.", "Add address = 0x40 (its own).")
    if "uart" in signals and part.baud is None:
        yield report(("part", i, "baud"), "A serial part of your own needs its rate.", "Add baud = \"9600 baud\".")
    if part.power_up == "must stay off" and not any(line.off_level for line in part.line):
        yield report(("part", i, "power_up"), "No line says at which level the part is off.", "Add off_level to the line that switches it.")


def _line_name_faults(part: BriefPart, i: int, lines: dict[str, bool], report: Report) -> Iterator[Fault]:
    wires = {name if not many else f"{name}{n}": name for name, many in lines.items() for n in range(1, 65 if many else 2)}
    for key, names, known in (
        ("pins", list(part.pins), wires),
        ("connect", list(part.connect), lines),
        ("leave_out", list(part.leave_out), lines),
        ("wires", list(part.wires), lines),
        ("change", list(part.change), lines),
    ):
        for j, name in enumerate(names):
            if name not in known:
                path: tuple[str | int, ...] = ("part", i, key, j if key in ("connect", "leave_out") else name)
                right = f"Its lines: {', '.join(lines)}."
                yield report(path, f"{part.name!r} has no line {name!r}.", right, "".join(nearest(name, known, 1)))
    for name in part.wires:
        if lines.get(name) is False:
            yield report(("part", i, "wires", name), f"Line {name!r} is a single wire.")
    if part.count > 1 and part.pins:
        yield report(("part", i, "pins"), "Pins can only be fixed for one part at a time.", "Write the parts one by one.")
    for name, wish in part.change.items():
        if wish.pwm and wish.pwm[0] > wish.pwm[1]:
            yield report(("part", i, "change", name, "pwm"), "The lowest frequency is above the highest.")
    for j, line in enumerate(part.line):
        if line.pwm and line.pwm[0] > line.pwm[1]:
            yield report(("part", i, "line", j, "pwm"), "The lowest frequency is above the highest.")
