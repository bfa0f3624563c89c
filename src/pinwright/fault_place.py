"""Where in a file a fault stands that pydantic found: it names steps that no file has."""

from __future__ import annotations

from typing import Any

__all__ = ["KeyPath", "real_path"]

KeyPath = tuple[str | int, ...]
"""Keys and places in lists from the top of a file."""


def real_path(loc: KeyPath, data: Any) -> tuple[KeyPath, Any]:
    """A location without the steps that name a kind and no key, and the value there.

    Parameters
    ----------
    loc : location of a fault as pydantic gives it [-]
    data : what stands in the file [-]

    >>> real_path(("pin", "str", "row"), {"pin": {"row": 3}})
    (('pin', 'row'), 3)
    """
    path: KeyPath = ()
    current = data
    for index, step in enumerate(loc):
        in_list = isinstance(current, list) and isinstance(step, int) and step < len(current)
        if in_list or (isinstance(current, dict) and step in current):
            current = current[step]
        elif index < len(loc) - 1 or not isinstance(current, (dict, list)) or not _is_place(current, step):
            continue
        path += (step,)
    return path, current


def _is_place(current: Any, step: str | int) -> bool:
    return isinstance(step, str) if isinstance(current, dict) else isinstance(step, int)
