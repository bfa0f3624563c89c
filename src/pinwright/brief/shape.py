"""Faults of shape: keys nobody knows, missing keys, values of the wrong kind; in plain words.

``model`` says what is right and pydantic finds what is not.  Nothing pydantic says reaches the maker:
every kind of fault has its own words here, and one without words is called a value that does not fit.
"""

from __future__ import annotations

import re
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pinwright.brief.toml_text import KeyPath, shown
from pinwright.errors import nearest
from pinwright.fault_place import real_path

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

__all__ = ["ShapeFault", "mended", "shape_faults"]


@dataclass(frozen=True, slots=True)
class ShapeFault:
    """What is wrong at ``path``; ``guess`` is the nearest right spelling.

    ``meant`` is the path a misspelt key was probably meant to have.
    """

    path: KeyPath
    wrong: str
    right: str = ""
    guess: str = ""
    meant: KeyPath | None = None


def shape_faults(error: ValidationError, data: dict[str, Any]) -> list[ShapeFault]:
    """Put what pydantic found into words, one fault for each place."""
    found: dict[KeyPath, ShapeFault] = {}
    for item in error.errors(include_url=False):
        if item["type"] == "too_short" and item["input"]:
            continue  # counts only the elements without faults; those have their own
        fault = _fault(item, data)
        found.setdefault(fault.path, fault)
    for fault in tuple(found.values()):
        if fault.meant:  # a misspelt key is not missing as well
            found.pop(fault.meant, None)
    return list(found.values())


def _fault(item: Any, data: dict[str, Any]) -> ShapeFault:
    (path, _), kind, value = real_path(item["loc"], data), str(item["type"]), item["input"]
    if kind == "extra_forbidden":
        return _unknown_key(path, data)
    if kind == "missing":
        return _missing(item["loc"], path, value)
    if kind == "literal_error":
        return _not_an_option(path, value)
    if kind == "value_error":
        return ShapeFault(path, *_parted(str(item["ctx"]["error"])))
    return ShapeFault(path, *_wanted(kind, path, value, item.get("ctx", {})))


# ------------------------------------------------------------------------------ words


def _parted(message: str) -> tuple[str, str, str]:
    """What a reader of texts says, parted into what is wrong, what would be right, and its guess."""
    if guess := re.fullmatch(r"(.*) Did you mean ([^?]*)\?", message, re.DOTALL):
        return guess[1], "", guess[2]
    if right := re.fullmatch(r"(.*\.) (Write .*)", message, re.DOTALL):
        return right[1], right[2], ""
    return message, "", ""


def _unknown_key(path: KeyPath, data: dict[str, Any]) -> ShapeFault:
    key, here = str(path[-1]), _table_at(path[:-1])
    known = _keys(here)
    wrong = f"Nobody knows the key {shown(key)} here."
    if (elsewhere := _elsewhere(key, here)) != "":
        return ShapeFault(path, wrong, f"It belongs {elsewhere}.")
    guess = nearest(key[:200], known, 1)
    if not guess:
        return ShapeFault(path, wrong, f"Known here: {', '.join(known)}.")
    there: Any = data
    for step in path[:-1]:
        there = there[step]
    return ShapeFault(path, wrong, "", guess[0], None if guess[0] in there else (*path[:-1], guess[0]))


def _elsewhere(key: str, here: type[BaseModel]) -> str:
    """Where a key belongs that stands in the wrong table."""
    from pinwright.brief import model

    places: list[tuple[type[BaseModel], str]] = [(model.Brief, "at the top, above the first table")]
    if here is model.BriefPart:  # its voltage is called supply, so do not send it to [supply]
        places.append((model.LineWish, "in [part.change.LINE], or in [[part.line]] of a part of your own"))
        places.append((model.BriefLine, "in [[part.line]]"))
    else:
        # A wire is a part's far more often than the supply's.
        places += [(model.BriefPart, "in [[part]]")] * (key == "wire") + [(model.Supply, "in [supply]")]
    places += [
        (model.Use, "in [use]"),
        (model.Firmware, "in [firmware]"),
        (model.Stock, "in [stock]"),
        (model.BoardWish, "in [board]"),
        (model.BriefPart, "in [[part]]"),
    ]
    return next((place for table, place in places if table is not here and key in _keys(table)), "")


def _missing(loc: KeyPath, path: KeyPath, value: Any) -> ShapeFault:
    key = loc[-1]
    if isinstance(key, int):  # a pair with one element
        path = path[:-1] if path and path[-1] == key else path
        return ShapeFault(path, f"Two values are wanted, {len(value) if isinstance(value, list) else 1} given.")
    if path == ("part",):
        return ShapeFault(path, *_NO_PARTS)
    options = _options(path)
    right = f"Write one of: {', '.join(options)}." if options else f'Write {key} = "…".'
    return ShapeFault(path, f"The key {shown(key)} is missing.", right)


def _not_an_option(path: KeyPath, value: Any) -> ShapeFault:
    options = _options(path)
    guess = nearest(value[:200], options, 1) if isinstance(value, str) else ()
    return ShapeFault(path, f"{shown(value)} is not known here.", f"Write one of: {', '.join(options)}.", "".join(guess))


def _wanted(kind: str, path: KeyPath, value: Any, context: dict[str, Any]) -> tuple[str, str]:
    """What is wrong with a value of the wrong kind or size, and how to write it."""
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return _table_wanted(path, value)
    if kind == "tuple_type":
        return _list_wanted(path, value)
    if kind == "string_type":
        number = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e15
        return _unfit(value, "a text in quotes is wanted"), f'Write "{shown(value)}".' if number else ""
    if kind == "bool_type":
        return _unfit(value, "true or false is wanted, without quotes"), ""
    if kind == "int_type" and path[-1] == "address":
        return _unfit(value, "an address is wanted"), "Write it like 0x40."
    if kind == "int_type":
        digits = isinstance(value, str) and value.isdecimal() and value.isascii() and len(value) < 20
        return _unfit(value, "a whole number is wanted, without quotes"), f"Write {value}." if digits else ""
    if kind == "too_short":
        return _NO_PARTS
    if kind == "too_long":
        return f"Two values are wanted, {context['actual_length']} given.", ""
    words = {
        "string_too_short": "it must not be empty",
        "string_too_long": "at most {max_length} characters",
        "greater_than_equal": "it must be at least {ge}",
        "less_than_equal": "it must be at most {le}",
    }
    return _unfit(value, words.get(kind, "").format(**context)), ""


_NO_PARTS = ("There are no parts.", "Write [[part]] for each thing you wire to the board.")


def _unfit(value: Any, wanted: str) -> str:
    return f"{shown(value)} does not fit{f': {wanted}' if wanted else ' here'}."


def _table_wanted(path: KeyPath, value: Any) -> tuple[str, str]:
    table = ".".join(step for step in path if isinstance(step, str))
    if table == "part.fitted":
        return _unfit(value, "a table is wanted"), 'Write it line by line: fitted = { LINE = ["pull-up 4k7"], OTHER = [] }.'
    if isinstance(path[-1], int):
        return _unfit(value, "a table is wanted"), f"Write [[{table}]] and its keys below."
    if isinstance(value, list):
        return "There is only one table of this name.", f"Write [{table}], with single brackets."
    return _unfit(value, "a table is wanted"), f"Write [{table}] and its keys below."


def _list_wanted(path: KeyPath, value: Any) -> tuple[str, str]:
    table = ".".join(step for step in path if isinstance(step, str))
    if path == ("part",) or (path[0] == "part" and path[2:] == ("line",)):
        wrong = "There can be several of these." if isinstance(value, dict) else _unfit(value, "tables are wanted")
        return wrong, f"Write [[{table}]], with two brackets."
    if path[-1] == "ambient":
        return _unfit(value, "two temperatures are wanted"), 'Write them like ["5 degC", "40 degC"].'
    if path[-1] == "pwm":
        return _unfit(value, "one or two frequencies are wanted"), 'Write "1 kHz" or ["1 kHz", "5 kHz"].'
    short = isinstance(value, str) and value.isprintable() and len(value) <= 40 and not set(value) & set('"\\')
    return _unfit(value, "a list in square brackets is wanted"), f'Write ["{value}"].' if short else ""


# ------------------------------------------------------------------------------ what the model knows


def _table_at(path: KeyPath) -> type[BaseModel]:
    """The class behind the table at ``path``."""
    from pinwright.brief import model

    names = [step for step in path if isinstance(step, str)]
    tables: dict[str, type[BaseModel]] = {
        "supply": model.Supply,
        "use": model.Use,
        "firmware": model.Firmware,
        "stock": model.Stock,
        "board": model.BoardWish,
        "part": model.BriefPart,
    }
    if names[:2] == ["part", "line"]:
        return model.BriefLine
    if names[:2] == ["part", "change"]:
        return model.LineWish
    return tables.get(names[0], model.Brief) if names else model.Brief


def _keys(table: type[BaseModel]) -> list[str]:
    return [info.alias or key for key, info in table.model_fields.items()]


def _options(path: KeyPath) -> list[str]:
    """Words a key may have, from the model."""
    while path and isinstance(path[-1], int):
        path = path[:-1]
    if path[2:3] == ("ports",):
        path = path[:3]  # the names of ports are the maker's, the words are not
    fields = _table_at(path[:-1]).model_fields
    info = next((info for key, info in fields.items() if (info.alias or key) == path[-1]), None)
    words = [word for word in _literals(info.annotation) if word] if info else []
    return ["none", *words] if path[-1] == "radio" else words


def _literals(annotation: Any) -> Iterator[str]:
    if typing.get_origin(annotation) is typing.Literal:
        yield from typing.get_args(annotation)
    else:
        for inner in typing.get_args(annotation):
            yield from _literals(inner)


# ------------------------------------------------------------------------------ going on regardless

_STAND_IN: dict[str, Any] = {"title": "?", "name": "?", "direction": "in", "signal": "digital", "part": [{"name": "?"}]}


def mended(data: dict[str, Any], faults: list[ShapeFault]) -> dict[str, Any]:
    """A copy of the data without its faulty values, so that the rest can still be judged.

    A value that may not be missing is replaced; whoever judges must disbelieve everything at a faulty path.
    """
    copy = _copied(data, 6)
    for fault in sorted(faults, key=lambda fault: len(fault.path), reverse=True):
        _mend(copy, fault.path)
        if fault.meant and fault.meant[-1] in _STAND_IN:
            _mend(copy, fault.meant)
    return typing.cast(dict[str, Any], copy)


def _copied(value: Any, depth: int) -> Any:
    if depth and isinstance(value, dict):
        return {key: _copied(inner, depth - 1) for key, inner in value.items()}
    if depth and isinstance(value, list):
        return [_copied(inner, depth - 1) for inner in value]
    return value


def _mend(data: Any, path: KeyPath) -> None:
    parents = [data]
    for step in path[:-1]:
        try:
            parents.append(parents[-1][step])
        except (KeyError, IndexError, TypeError):
            return  # a fault above has already taken it away
    last, parent = path[-1], parents[-1]
    if path[2:3] == ("fitted",) and len(path) > 3:
        parents[2].pop("fitted", None)  # half a circuit is worse than none
    elif not isinstance(last, int):
        if last in _STAND_IN and last in _keys(_table_at(path[:-1])):
            parent[last] = _STAND_IN[last]
        else:
            parent.pop(last, None)
    elif path[-2] == "part":
        parent[last] = {"name": "?"}
    elif path[-2] == "line":
        parent[last] = {key: _STAND_IN[key] for key in ("name", "direction", "signal")}
    elif path[-2] in ("ambient", "pwm", "radio"):
        parents[-2].pop(path[-2], None)
    else:
        parent[last] = "?"
