"""The shape of a catalogue file: known keys, nothing missing, every value of its kind; in plain words.

The dataclasses of ``model`` say what is right and pydantic finds what is not.  Nothing pydantic says reaches the
maker: every kind of fault has its own words here.
"""

from __future__ import annotations

import dataclasses
import json
import typing
from collections.abc import Iterator
from functools import cache
from typing import Any

from pinwright.errors import nearest
from pinwright.facts import model
from pinwright.facts.model import Part, Source
from pinwright.fault_place import KeyPath, real_path

__all__ = ["PartsFamily", "PartsFile", "ShapeFault", "read_shape"]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class PartsFamily:
    """Name of a file of parts."""

    id: str
    title: str


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class PartsFile:
    """A whole file of parts."""

    schema: typing.Literal[1]
    family: PartsFamily
    source: tuple[Source, ...]
    part: tuple[Part, ...]


@dataclasses.dataclass(frozen=True, slots=True)
class ShapeFault:
    """What is wrong at ``path``, what would be right, and the nearest right spelling."""

    path: KeyPath
    wrong: str
    right: str = ""
    guess: str = ""


def read_shape(target: type, data: dict[str, Any]) -> Any | list[ShapeFault]:
    """Read the data of a file as an object of ``target``, or list everything that does not fit, one fault for each place."""
    from pydantic import ValidationError

    try:
        # JSON mode is strict about numbers and words yet takes a list where we keep a tuple.
        return _adapter(target).validate_json(json.dumps(data, default=_no_date))
    except ValidationError as error:
        found: dict[KeyPath, ShapeFault] = {}
        for item in error.errors(include_url=False):
            fault = _fault(target, data, item)
            found.setdefault(fault.path, fault)
        misspelt = {(*fault.path[:-1], fault.guess) for fault in found.values() if fault.wrong == _UNKNOWN and fault.guess}
        # A misspelt key is not missing as well.
        return [fault for path, fault in found.items() if not (fault.wrong == _MISSING and path in misspelt)]


@cache
def _adapter(target: type) -> Any:
    """Pydantic's reader for one of our dataclasses, strict and refusing unknown keys."""
    from pydantic import TypeAdapter

    for item in [*(getattr(model, name) for name in model.__all__), PartsFamily, PartsFile]:
        if dataclasses.is_dataclass(item):
            setattr(item, "__pydantic_config__", {"extra": "forbid", "strict": True})  # noqa: B010
    return TypeAdapter(target)


def _no_date(value: Any) -> Any:
    """A date or time, which no key wants, as something no key takes."""
    return [{"date": str(value)}]


# ------------------------------------------------------------------------------ words

_UNKNOWN = "Nobody knows this key."
_MISSING = "This key is missing."


def _fault(target: type, data: dict[str, Any], item: Any) -> ShapeFault:
    path, value = real_path(item["loc"], data)
    kind = str(item["type"])
    if kind in ("unexpected_keyword_argument", "extra_forbidden"):
        known = _keys(_wanted(target, path[:-1]))
        guess = nearest(str(path[-1])[:200], known, 1)
        return ShapeFault(path, _UNKNOWN, "" if guess else f"Known here: {', '.join(known)}.", "".join(guess))
    if kind in ("missing", "missing_argument"):
        if isinstance(path[-1], int):
            return ShapeFault(path[:-1], "Two figures are wanted here.")
        return ShapeFault(path, _MISSING, _how_to_write(str(path[-1]), _wanted(target, path)))
    hint = _wanted(target, path)
    options = [str(option) for option in _literals(hint)]
    if options and not isinstance(value, (dict, list)):
        guess = nearest(value[:200], options, 1) if isinstance(value, str) else ()
        quoted = [f'"{option}"' for option in options] if isinstance(next(_literals(hint)), str) else options
        return ShapeFault(
            path, f"{shown(value)} is not known here.", f"Write {'one of: ' if len(quoted) > 1 else ''}{', '.join(quoted)}.", "".join(guess)
        )
    if kind == "too_long":
        return ShapeFault(path, f"{len(value)} figures stand here.", "Two are wanted.")
    return ShapeFault(path, f"{shown(value)} does not fit: {_kind_words(hint)} is wanted.", _example(path, hint, value))


def shown(value: Any) -> str:
    """A value the way the file writes it, on one line.

    >>> shown(True), shown("high"), shown({"value": 1})
    ('true', "'high'", 'A table')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:59] + "…")
    if isinstance(value, int) and value.bit_length() > 64:
        return "A number this long"
    if isinstance(value, int | float):
        return repr(value)
    return "A table" if isinstance(value, dict) else "A list" if isinstance(value, list) else f"The date or time {value}"


def _kind_words(hint: Any) -> str:
    """What kind of value an annotation asks for."""
    if hint is None:
        return "something else"
    if typing.get_origin(hint) is tuple:
        inner = typing.get_args(hint)
        if inner[-1] is not Ellipsis:
            return "a pair of numbers in square brackets"
        return f"a list in square brackets, each of it {_kind_words(inner[0])},"
    if typing.get_origin(hint) is dict:
        return "a table"
    options = [item for item in typing.get_args(hint) or (hint,) if item is not type(None)]
    if len(options) == 1 and options[0] is not hint:
        return _kind_words(options[0])
    words = {
        str: "text in quotes",
        bool: "true or false without quotes",
        int: "a whole number without quotes",
        float: "a number without quotes",
    }
    return " or ".join(words.get(item, "a table" if dataclasses.is_dataclass(item) else "one of the known words") for item in options)


def _example(path: KeyPath, hint: Any, value: Any) -> str:
    """How a table or list is written, where something else stands."""
    table = ".".join(step for step in path if isinstance(step, str))
    cls = _class_in(hint)
    many = typing.get_origin(hint) is tuple
    if cls is not None and many:
        return f"Write [[{table}]] and its keys below, or {path[-1]} = [{{ … }}]."
    if cls is not None:
        required = [field.name for field in dataclasses.fields(cls) if _is_required(field)]
        first = required or [name for name in ("value", "frac") if name in _keys(cls)] or _keys(cls)[:1]
        return f"Write {{ {', '.join(f'{name} = …' for name in first)} }}."
    if many and isinstance(value, str) and value.isprintable() and len(value) <= 40 and not set(value) & set('"\\'):
        return f'Write ["{value}"].'
    return ""


def _how_to_write(key: str, hint: Any) -> str:
    options = list(_literals(hint))
    if options:
        written = [f'"{option}"' if isinstance(option, str) else str(option) for option in options]
        return f"Write {key} = {written[0]}." if len(written) == 1 else f"Write {key} = one of {', '.join(written)}."
    if cls := _class_in(hint):
        return (
            f"Write [[{key}]] with {', '.join(f.name for f in dataclasses.fields(cls) if _is_required(f))}." if _is_list(hint, cls) else ""
        )
    return f'Write {key} = "…".' if hint is str else f"Write {key} = … ({_kind_words(hint)})."


def _is_list(hint: Any, cls: type) -> bool:
    return typing.get_origin(hint) is tuple and any(_is_required(field) for field in dataclasses.fields(cls))


def _is_required(field: dataclasses.Field[Any]) -> bool:
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


# ------------------------------------------------------------------------------ what the model knows


def _wanted(target: type, path: KeyPath) -> Any:
    """Annotation of the value at a path; ``None`` where no key of the model leads."""
    current: Any = target
    for key in path:
        if isinstance(key, int):
            inner = [item for item in typing.get_args(current) if item is not Ellipsis]
            current = inner[0] if inner else None
            continue
        origin = typing.get_origin(current)
        if origin is dict:
            current = typing.get_args(current)[1]
            continue
        cls = _class_in(current)
        current = typing.get_type_hints(cls).get(key) if cls is not None else None
    return current


def _class_in(hint: Any) -> type | None:
    """The dataclass an annotation holds, bare, optional or in a list."""
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        return hint
    if typing.get_origin(hint) is dict:
        return None
    return next((cls for item in typing.get_args(hint) if (cls := _class_in(item)) is not None), None)


def _keys(hint: Any) -> list[str]:
    cls = _class_in(hint)
    return [field.name for field in dataclasses.fields(cls)] if cls is not None else []


def _literals(hint: Any) -> Iterator[Any]:
    """Words a value may have, the empty one left out."""
    if typing.get_origin(hint) is typing.Literal:
        yield from (option for option in typing.get_args(hint) if option != "")
    elif _class_in(hint) is None:
        for inner in typing.get_args(hint):
            yield from _literals(inner)
