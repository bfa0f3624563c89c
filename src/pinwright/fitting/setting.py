"""What the brief says about the whole device."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Setting"]


@dataclass(frozen=True, slots=True)
class Setting:
    """What the brief says about the whole device."""

    radio: tuple[str, ...] = ()
    sleeping: bool = False
    keep_console: bool = True
    keep_usb: bool = True
    language: str = ""
