"""Circuit drawings: one for every interface circuit, with symbols of IEC 60617 and the inequalities behind the values.

Circuits that differ in nothing but names share a drawing that names them all; the two wires of an I2C bus are one drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pinwright.pack.build.model import Build, Item, Stage, Terminal
from pinwright.pack.circuit.blocks import own_pulls
from pinwright.pack.circuit.bus import bus_sketch, buses_of
from pinwright.pack.circuit.parts import hangs
from pinwright.pack.circuit.sketch import SMALL_MM, Sketch, rows_of
from pinwright.pack.circuit.tree import Letters, stage_sketch
from pinwright.pack.circuit.words import Row, caution_rows, check_rows, connections, item_rows, net_rows
from pinwright.pack.drawing import Drawing, text_width

__all__ = ["CircuitDrawing", "circuit_drawings"]

WIDTH_MM = 120.0
"""Widest a drawing is [mm]."""
_PAD_MM, _LINE_MM, _TITLE_MM = 3.0, 1.36, 3.1


@dataclass(frozen=True, slots=True)
class _Circuit:
    """Stages drawn together, and alike ones that share the drawing."""

    stages: tuple[Stage, ...]
    alike: tuple[Stage, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        return tuple(line for stage in (*self.stages, *self.alike) for line in stage.lines)


class CircuitDrawing(Drawing):
    """A drawing of one circuit.

    ``lines``: all it stands for; ``stages``: drawn ones; ``alike``: others with the same circuit; ``sketch``: what was drawn,
    before it was moved and shrunk; ``texts``: where words stand on the paper.
    """

    lines: tuple[str, ...]
    stages: tuple[Stage, ...]
    alike: tuple[Stage, ...]
    sketch: Sketch
    texts: list[tuple[tuple[float, float, float, float], str]]


def circuit_drawings(build: Build) -> list[CircuitDrawing]:
    """A drawing for every interface circuit, in the order of the build's stages.

    Parameters
    ----------
    build : what is built [-]
    """
    return [_drawing(build, circuit, number) for number, circuit in enumerate(_circuits(build), start=1)]


# ------------------------------------------------------------------------------ which circuits


def _circuits(build: Build) -> list[_Circuit]:
    pairs = {stage.pin: pair for pair in buses_of(build) for stage in pair}
    found: list[_Circuit] = []
    known: dict[tuple[object, ...], int] = {}
    for stage in build.stages:
        pair = pairs.get(stage.pin)
        if pair is not None:
            if stage is pair[0]:
                found.append(_Circuit(pair))
            continue
        if not _has_circuit(build, stage):
            continue
        sign = _sign(build, stage)
        if len(stage.lines) == 1 and sign in known:
            first = found[known[sign]]
            found[known[sign]] = _Circuit(first.stages, (*first.alike, stage))
            continue
        known[sign] = len(found)
        found.append(_Circuit((stage,)))
    return found


def _has_circuit(build: Build, stage: Stage) -> bool:
    """Whether anything is fitted, or a pull of the chip or the board is used."""
    placed = (build.plan.of(line) for line in stage.lines)
    return bool(stage.items) or any(p is not None and p.circuit.of("internal pull") is not None for p in placed)


def _sign(build: Build, stage: Stage) -> tuple[object, ...]:
    """What two circuits must have in common to share a drawing: all that is drawn and said but names of pins, parts and components."""
    numbers: dict[str, int] = {}

    def net_of(terminal: Terminal) -> object:
        net = build.net_at.get(terminal)
        if net is None:
            return None
        return (net.role, net.v_v) if net.role != "signal" else numbers.setdefault(net.id, len(numbers))

    def of_item(item: Item) -> tuple[object, ...]:
        ends = [net_of(Terminal(item.ref, name)) for name in item.terminals]
        return (item.symbol, item.role, item.title, item.value, item.rating, item.part, item.origin, item.why, *ends)

    def of_part(item: Item) -> tuple[object, ...]:
        nets = [net for name in item.terminals if (net := build.net_at.get(Terminal(item.ref, name))) is not None]
        return (item.part, item.title, *((net.role, net.v_v) for net in nets if net.role != "signal"))

    placed = [p for line in stage.lines if (p := build.plan.of(line)) is not None]
    ends = [(of_part(build.by_ref[end.item]), net_of(end)) for end in stage.ends]
    items = [of_item(build.by_ref[ref]) for ref in stage.items]
    said = [(p.circuit.elements, p.circuit.checks) for p in placed]
    drawn = [hangs(build, build.by_ref[end.item], p) for end, p in zip(stage.ends, placed, strict=False)]
    return (net_of(stage.pin), *own_pulls(build, stage), *ends, *items, *said, *drawn)


# ------------------------------------------------------------------------------ one drawing


def _drawing(build: Build, circuit: _Circuit, number: int) -> CircuitDrawing:
    letters = Letters()
    drawn = circuit.stages
    sketch = bus_sketch(build, *drawn, letters) if len(drawn) == 2 else stage_sketch(build, drawn[0], letters)
    left, top, right, bottom = sketch.extent
    scale = min(1.0, (WIDTH_MM - 2 * _PAD_MM) / (right - left))
    first = circuit.stages[0].lines if len(circuit.stages) == 1 else _bus_names(circuit)
    names = [*first, *(line for stage in circuit.alike for line in stage.lines)]
    pins = " and ".join(dict.fromkeys(stage.pin.name for stage in circuit.stages))
    title = f"{', '.join(names)} at pin {pins}" if not circuit.alike else ", ".join(names)
    heads = rows_of(title, WIDTH_MM - 2 * _PAD_MM, _TITLE_MM * 1.1, 3)
    rows = _rows(build, circuit, letters)
    texts = _laid(rows)
    circuit_top = _PAD_MM + _TITLE_MM * _LINE_MM * len(heads) + 2.0
    words_top = circuit_top + (bottom - top) * scale + 3.0
    height = words_top + sum(SMALL_MM * _LINE_MM * len(lines) + 0.8 for _, _, lines in texts) + _PAD_MM
    drawing = CircuitDrawing(f"circuit-{number}", f"Circuit of {title}", _said(build, circuit, rows), WIDTH_MM, height)
    drawing.lines, drawing.stages, drawing.alike = circuit.lines, circuit.stages, circuit.alike
    drawing.sketch, drawing.texts = sketch, []
    for count, words in enumerate(heads, start=1):
        _say(drawing, _PAD_MM, _PAD_MM + _TITLE_MM * _LINE_MM * count - 1.0, words, _TITLE_MM, "pw-bold")
    dx, dy = _PAD_MM - left * scale, circuit_top - top * scale
    sketch.draw(drawing, dx, dy, scale)
    drawing.texts += [((b[0] * scale + dx, b[1] * scale + dy, b[2] * scale + dx, b[3] * scale + dy), w) for b, w in sketch.texts]
    drawing.add("path", cls="pw-rule", d=f"M{_PAD_MM:g} {words_top - 1.2:.2f}H{WIDTH_MM - _PAD_MM:g}", stroke_width=0.2)
    _write(drawing, texts, words_top)
    return drawing


def _bus_names(circuit: _Circuit) -> tuple[str, ...]:
    """All lines of a bus, each device's two side by side."""
    data, clock = circuit.stages
    return tuple(line for pair in zip(data.lines, clock.lines, strict=True) for line in pair)


def _rows(build: Build, circuit: _Circuit, letters: Letters) -> list[Row]:
    first = [line for stage in circuit.stages for line in stage.lines]
    rows = [*item_rows(build, circuit.stages), *check_rows(build, first)]
    if circuit.alike:
        rows.append(("", "The same", _same(circuit)))
    rows += net_rows(build, letters.of)
    return [*rows, *dict.fromkeys(caution_rows(build, (*circuit.stages, *circuit.alike)))]


def _same(circuit: _Circuit) -> str:
    """Which components stand for which in circuits that share the drawing."""
    drawn = circuit.stages[0]
    said = [f"drawn is {', '.join(drawn.lines)} at pin {drawn.pin.name}"]
    for stage in circuit.alike:
        pairs = [f"{theirs} for {mine}" for mine, theirs in zip(drawn.items, stage.items, strict=True) if mine != theirs]
        said.append(f"{', '.join(stage.lines)} at pin {stage.pin.name}{' with ' + ', '.join(pairs) if pairs else ''}")
    return "; ".join(said)


def _said(build: Build, circuit: _Circuit, rows: Sequence[Row]) -> str:
    return " ".join([connections(build, circuit.stages), *(f"{about}: {_stop(words)}" for _, about, words in rows)])


def _stop(words: str) -> str:
    return words if words.endswith(".") else f"{words}."


_Laid = tuple[str, str, list[str]]


def _laid(rows: Sequence[Row]) -> list[_Laid]:
    """Rows of words wrapped to the width; the first line holds what it is about."""
    wide = WIDTH_MM - 2 * _PAD_MM - 3.5
    found = []
    for mark, about, words in rows:
        head = (rows_of(about, wide * 0.5, SMALL_MM * 1.1, 1) or [""])[0]
        found.append((mark, head, _hanging(words, wide, _head_width(head))))
    return found


def _head_width(head: str) -> float:
    return text_width(head, SMALL_MM * 1.1) + 2.0


def _hanging(words: str, wide: float, taken: float) -> list[str]:
    """Words on as many lines as they need, the first one shorter by what stands before it."""
    first: list[str] = []
    pieces = words.split()
    while pieces and text_width(" ".join([*first, pieces[0]]), SMALL_MM) <= wide - taken:
        first.append(pieces.pop(0))
    return [" ".join(first), *rows_of(" ".join(pieces), wide, SMALL_MM, 40)]


def _write(drawing: CircuitDrawing, rows: Sequence[_Laid], y: float) -> None:
    for mark, head, lines in rows:
        for count, words in enumerate(lines):
            y += SMALL_MM * _LINE_MM
            base = y - SMALL_MM * 0.3
            if count == 0 and mark:
                drawing.add("path", cls="pw-warn", d=f"M{_PAD_MM:g} {base:.2f}h2.2l-1.1 -2z", stroke_width=0.25)
            if count == 0:
                _say(drawing, _PAD_MM + 3.5, base, head, SMALL_MM, "pw-bold")
            _say(drawing, _PAD_MM + 3.5 + (_head_width(head) if count == 0 else 0.0), base, words, SMALL_MM)
        y += 0.8


def _say(drawing: CircuitDrawing, x: float, y: float, words: str, size: float, cls: str = "") -> None:
    if words.strip():
        drawing.text(x, y, words, size, None, cls)
        wide = text_width(words, size * (1.1 if cls == "pw-bold" else 1.0))
        drawing.texts.append(((x, y - size * 0.78, x + wide, y + size * 0.22), words))
