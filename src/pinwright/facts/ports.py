"""Names of the ports of an expander, from the words of its entry: ``GPA0 to GPA7, GPB0 to GPB7``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pinwright.facts.part import Part

__all__ = ["output_only_ports", "port_names"]

_NUMBERED = re.compile(r"([A-Za-z]*)([0-9]+) to \1([0-9]+)")
_LETTERED = re.compile(r"([A-Z]*)([A-Z]) to \1([A-Z])")


def port_names(part: Part | None) -> tuple[str, ...]:
    """All ports of a part, in their order; empty where it has none or they are not named in ranges.

    Two digits of which the last never passes 7 number ports by bank and bit, as the count of ports tells.
    """
    fact = part.facts.get("port_names") if part is not None else None
    if part is None or fact is None:
        return ()
    names = tuple(name for words in fact.text.split(",") for name in _range(words.strip()))
    count = part.facts.get("port_count")
    if count is not None and count.value is not None and len(names) > count.value:
        names = tuple(name for name in names if name[-1] not in "89")
    return names


def _range(words: str) -> list[str]:
    if match := _NUMBERED.match(words):
        width = len(match[2])
        return [f"{match[1]}{number:0{width}d}" for number in range(int(match[2]), int(match[3]) + 1)]
    if match := _LETTERED.match(words):
        return [f"{match[1]}{chr(code)}" for code in range(ord(match[2]), ord(match[3]) + 1)]
    return []


def output_only_ports(part: Part | None) -> tuple[str, ...]:
    """Ports that must not be used as inputs."""
    fact = part.facts.get("port_output_only") if part is not None else None
    return tuple(name.strip() for name in fact.text.split(",")) if fact is not None else ()
