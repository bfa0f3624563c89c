"""Build small wirings by hand from the real catalogue: parts of a brief, pins, circuits; nothing of the solver."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue
from pinwright.fitting.interface import Circuit, Element
from pinwright.fitting.lines import expand
from pinwright.fitting.places import view
from pinwright.fitting.setting import Setting
from pinwright.review.model import Wire, Wiring

sys.path.insert(0, str(Path(__file__).parent))

from wired import Build


@pytest.fixture
def build(catalogue: Catalogue) -> Build:
    """``build(board, parts, pins, circuits, modes, …)``: parts as TOML or as ``name=kind``; pins by line id."""

    def make(
        board: str,
        parts: dict[str, str] | str,
        pins: dict[str, str],
        circuits: dict[str, list[Element]] | None = None,
        modes: dict[str, str] | None = None,
        addresses: dict[str, int] | None = None,
        asks: dict[str, dict[str, Any]] | None = None,
        **setting: Any,
    ) -> Wiring:
        text = parts if isinstance(parts, str) else "".join(f'[[part]]\nname = "{n}"\nkind = "{k}"\n' for n, k in parts.items())
        devices = expand(parse_brief(f'title = "test"\n{text}', "test.toml", catalogue), catalogue)
        seen = view(catalogue.boards[board], catalogue)
        wires, left = [], []
        for line in (line for device in devices for line in device.lines):
            changed = (asks or {}).get(line.id)
            line = replace(line, asks=replace(line.asks, **changed)) if changed else line
            if line.id not in pins:
                left.append(line)
                continue
            place = seen.place(pins[line.id])
            assert place is not None, f"{board} has no pin {pins[line.id]}"
            wires.append(Wire(line, place, Circuit(tuple((circuits or {}).get(line.id, []))), (modes or {}).get(line.id, "")))
        assert {wire.line.id for wire in wires} == set(pins)
        known = {device.kind: catalogue.parts[device.kind] for device in devices if device.kind}
        return Wiring(seen, Setting(**setting), tuple(devices), tuple(wires), tuple(left), addresses or {}, known)

    return make
