"""Wishes: everything in a brief that could be given up, named in the maker's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.fitting.candidates import Candidates
from pinwright.fitting.words import needs_words

if TYPE_CHECKING:
    from pinwright.brief.reader import BriefFile

__all__ = ["RADIO_WORDS", "Wish", "setting_wishes", "wishes_of"]

RADIO_WORDS = {"wifi": "Wi-Fi", "ble": "Bluetooth LE", "bluetooth-classic": "Bluetooth Classic", "802.15.4": "IEEE 802.15.4 radio"}


@dataclass(frozen=True, slots=True)
class Wish:
    """One thing the brief asks for.  ``id`` is ``line:…``, ``quiet:…``, ``lock:…`` or a setting; ``place`` its line."""

    id: str
    words: str
    place: str = ""


def setting_wishes(file: BriefFile) -> list[Wish]:
    """Wishes about the whole device."""
    use = file.brief.use
    wishes = []
    if use.radio:
        names = " and ".join(RADIO_WORDS[radio] for radio in use.radio)
        wishes.append(Wish("radio", f"{names} on while the device works", _place(file, "radio")))
    if use.console == "keep":
        wishes.append(Wish("console", "the console (boot log and upload port) kept free", _place(file, "console")))
    if use.usb != "free":
        wishes.append(Wish("usb", "the USB pins kept free", _place(file, "usb")))
    if use.sleeping:
        wishes.append(Wish("sleep", "deep sleep between jobs", _place(file, "sleeping")))
    return wishes


def _place(file: BriefFile, key: str) -> str:
    return file.place("use", key) if file.lines.has(("use", key)) else "as always unless the brief says otherwise"


def wishes_of(found: Candidates, settings: Sequence[Wish]) -> list[Wish]:
    """All wishes of a brief that matter on this board, settings last: those are named only if they must be."""
    wishes: list[Wish] = []
    in_the_way = {wish for row in found.found for candidate in row for wish in candidate.blocked}
    for net in found.nets.nets:
        lines = " and ".join(line.id for line in net.lines[:3]) + (f" and {len(net.lines) - 3} more" if len(net.lines) > 3 else "")
        place = ", ".join(dict.fromkeys(line.place for line in net.lines))
        wishes.append(Wish(f"line:{net.id}", f"{lines}: {needs_words(net.lines[0].asks)}", place))
    for net in found.nets.nets:
        asks = net.lines[0].asks
        if f"quiet:{net.id}" in in_the_way:
            level = {"low": "low", "high": "high"}.get(asks.safe_level, "undriven")
            wishes.append(Wish(f"quiet:{net.id}", f"{net.id} must stay {level} until your firmware runs", net.lines[0].place))
        if f"lock:{net.id}" in in_the_way:
            wishes.append(Wish(f"lock:{net.id}", f"{net.id} fixed to {net.lock}", net.lines[0].place))
    wishes += [wish for wish in settings if wish.id in in_the_way]
    return wishes
