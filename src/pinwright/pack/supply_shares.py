"""Lower half of the supply picture: who takes which current, on a logarithmic scale, and what empties the battery."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.circuits.window import shown
from pinwright.pack.drawing import Drawing, cut, text_width, wrapped
from pinwright.pack.patterns import filled
from pinwright.supply.budget import Draw, total

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from pinwright.supply.report import SupplyReport

__all__ = ["Row", "draw_consumers", "draw_endurance", "endurance_height", "rows_of"]

_PAD, _NAME, _AXIS, _END, _COLUMN = 3.0, 50.0, 58.0, 122.0, 20.3
_BOLD = 1.12  # bold words are so much wider
_SIZE, _SMALL, _HEAD, _ROW = 2.6, 2.3, 3.2, 4.8
_MOST_SHARES = 6
_LOOKS = ("back", "bars", "hatch", "cross", "lines", "dots", "")


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the picture: a rail's heading (no ``draw``), somebody who takes current, or a sum (``is_sum``)."""

    name: str
    draw: Draw | None = None
    known: bool = True
    is_sum: bool = False


def rows_of(report: SupplyReport) -> list[Row]:
    """Rails with who hangs on them, the regulators' own current, and the sum the source gives.

    Parameters
    ----------
    report : the supply of a plan [-]

    Returns
    -------
    rows : rails that the source feeds first, then the sum, then rails with a supply of their own
    """
    rows: list[Row] = []
    rails = sorted(report.rails, key=lambda rail: (rail in report.others, rail != "logic"))
    for rail in [rail for rail in rails if rail not in report.others]:
        rows += _rail(report, rail, "")
    itself = [
        Row(f"regulator {stage.regulator.takes} to {stage.regulator.gives}", Draw(*(stage.regulator.i_quiescent_a,) * 3))
        for stage in report.stages
        if stage.regulator.i_quiescent_a
    ]
    if any(stage.regulator.efficiency for stage in report.stages):
        counted = total(report.fed) + sum((row.draw for row in itself if row.draw), Draw())
        draw = report.draw
        itself.append(Row("conversion", Draw(draw.asleep - counted.asleep, draw.awake - counted.awake, draw.burst - counted.burst)))
    rows += [Row("on the way"), *itself] if itself else []
    known = all(consumer.known for consumer in report.fed)
    rows.append(Row("from the source" if known else "known, from the source", report.draw, is_sum=True))
    for rail in [rail for rail in rails if rail in report.others]:
        rows += _rail(report, rail, ", a supply of its own")
    return rows


def _rail(report: SupplyReport, rail: str, more: str) -> list[Row]:
    mine = sorted((c for c in report.consumers if c.rail == rail), key=lambda c: (-c.draw.burst, c.name))
    volts = f" {mine[0].volts:.3g} V" if rail == "logic" else ""
    return [Row(f"{rail}{volts}{more}"), *(Row(c.name, c.draw, c.known) for c in mine)]


def _states(report: SupplyReport) -> tuple[str, ...]:
    return ("asleep", "awake", "burst") if report.is_sleeping else ("awake", "burst")


def draw_consumers(drawing: Drawing, report: SupplyReport, rows: list[Row], y: float) -> float:
    """Draw all rows; returns where they end.

    Parameters
    ----------
    drawing : where to draw [-]
    report : the supply of a plan [-]
    rows : from ``rows_of`` [-]
    y : upper edge [mm]

    Returns
    -------
    bottom : lower edge, in drawn mm
    """
    states = _states(report)
    drawing.text(_PAD, y + 3.2, "Who takes the current", _HEAD, cls="pw-bold")
    limit = report.source.i_max_a
    figures = [value for row in rows if row.draw for state in states if (value := getattr(row.draw, state)) > 0]
    low, high = _decades([*figures, *([limit] if limit else [])])
    top, bottom = y + 10.0, y + 11.0 + _ROW * len(rows)

    def at(amps: float) -> float:
        if amps <= 0:
            return _NAME + 1.6
        return _AXIS + (_END - _AXIS) * (math.log10(amps) - low) / (high - low)

    _axis(drawing, low, high, at, top, bottom)
    for number, state in enumerate(states):
        x = _column(number, states)
        _marker(drawing, None, state, x - text_width(state, _SMALL) * _BOLD - 2.6, top - 2.2)
        drawing.text(x, top - 1.4, state, _SMALL, None, "pw-bold", "end")
    if limit:
        fed = next(number for number, row in enumerate(rows) if row.is_sum) + 1
        drawing.add("rect", None, None, "pw-solid", x=at(limit) - 0.3, y=top, width=0.6, height=0.6 + _ROW * fed)
        words = f"source gives {shown(limit, 'A')}"
        x = min(at(limit), _END + 4.0)
        drawing.text(x, top - 5.0, words, _SMALL, None, "pw-bold", "end")
    for number, row in enumerate(rows):
        _row(drawing, row, states, at, top + 0.6 + _ROW * number)
    return bottom


def _decades(figures: list[float]) -> tuple[int, int]:
    """Whole powers of ten around all figures, at least three of them."""
    if not figures:
        return -3, 0
    low, high = math.floor(math.log10(min(figures))), math.ceil(math.log10(max(figures)) + 1e-9)
    low = max(low, high - 9)
    return (low, high) if high - low >= 3 else (high - 3, high)


def _axis(drawing: Drawing, low: int, high: int, at: Callable[[float], float], top: float, bottom: float) -> None:
    for decade in range(low, high + 1):
        x = at(10.0**decade)
        drawing.add("line", None, None, "pw-rule", x1=x, y1=top, x2=x, y2=bottom, stroke_width=0.15)
        if (high - decade) % (2 if high - low > 6 else 1) == 0:
            drawing.text(x, top - 1.4, shown(10.0**decade, "A"), 2.0, None, "pw-soft", "middle")
    drawing.text(_NAME + 1.6, top - 1.4, "0", 2.0, None, "pw-soft", "middle")


def _column(number: int, states: tuple[str, ...]) -> float:
    return 183.0 - _COLUMN * (len(states) - 1 - number)


def _row(drawing: Drawing, row: Row, states: tuple[str, ...], at: Callable[[float], float], y: float) -> None:
    middle = y + 2.3
    if row.draw is None:
        drawing.text(_PAD, y + 3.2, cut(row.name, (_END - _PAD) / _BOLD, _SIZE), _SIZE, cls="pw-bold")
        return
    figures = [getattr(row.draw, state) for state in states]
    said = ", ".join(f"{state} {shown(value, 'A')}" for state, value in zip(states, figures, strict=True))
    group = drawing.group(label=f"{row.name}: {said if row.known else 'nobody gives its current'}")
    cls = "pw-bold" if row.is_sum else ""
    indent = 0.0 if row.is_sum else 2.0
    if row.is_sum:
        drawing.add("line", None, group, "pw-ink", x1=_PAD, y1=y, x2=183.0, y2=y, stroke_width=0.25)
    room = (_NAME - _PAD - indent - 1.0) / (_BOLD if row.is_sum else 1.0)
    drawing.text(_PAD + indent, y + 3.2, cut(row.name, room, _SIZE), _SIZE, group, cls)
    if not row.known:
        words = "nobody gives its current"
        fill = filled(drawing, "hatch")
        drawing.add("rect", None, group, "pw-edge", x=_AXIS, y=y + 0.6, width=_END - _AXIS, height=3.4, fill=fill, stroke_width=0.2)
        drawing.add("rect", None, group, "pw-paper", x=_AXIS + 8.0, y=y + 0.4, width=text_width(words, _SMALL) * _BOLD + 2.0, height=3.8)
        drawing.text(_AXIS + 9.0, y + 3.2, words, _SMALL, group, "pw-bold")
        for number in range(len(states)):
            drawing.text(_column(number, states), y + 3.2, "?", _SIZE, group, "pw-bold", "end")
        return
    places = [at(value) for value in figures]
    if min(figures) >= 0:  # what a converter saves has no place on a logarithmic scale
        thick = 0.7 if row.is_sum else 0.35
        drawing.add("line", None, group, "pw-ink", x1=min(places), y1=middle, x2=max(places), y2=middle, stroke_width=thick)
        for state, x in zip(states, places, strict=True):
            _marker(drawing, group, state, x, middle)
    for number, value in enumerate(figures):
        drawing.text(_column(number, states), y + 3.2, shown(value, "A"), _SMALL, group, cls or ("" if value else "pw-soft"), "end")


def _marker(drawing: Drawing, parent: Element | None, state: str, x: float, y: float) -> None:
    """Asleep a ring, awake a square, burst a full point: told apart by their form."""
    if state == "asleep":
        drawing.add("circle", None, parent, "pw-paper", cx=x, cy=y, r=1.15)
        drawing.add("circle", None, parent, "pw-ink", cx=x, cy=y, r=1.15, stroke_width=0.35)
    elif state == "awake":
        drawing.add("rect", None, parent, "pw-used", x=x - 0.9, y=y - 0.9, width=1.8, height=1.8, stroke_width=0.3)
    else:
        drawing.add("circle", None, parent, "pw-solid", cx=x, cy=y, r=0.8)


# ------------------------------------------------------------------------------ battery


def _shares(report: SupplyReport) -> list[tuple[str, float]]:
    if report.endurance is None:
        return []
    shares = list(report.endurance.shares)
    rest = sum(share for _, share in shares[_MOST_SHARES:])
    return [*shares[:_MOST_SHARES], *([(f"{len(shares) - _MOST_SHARES} more", rest)] if rest > 0 else [])]


def _said(report: SupplyReport, wide: float) -> list[str]:
    if report.endurance is None:
        return []
    advice = report.endurance.advice
    return [
        *wrapped(f"Battery: {report.endurance.words}", wide / _BOLD, _SIZE, 2),
        *(wrapped(f"To make it last longer: {advice}", wide, _SIZE, 3) if advice else []),
    ]


def endurance_height(report: SupplyReport, wide: float) -> float:
    """Height of the battery's part; nothing for a source that is not emptied.

    Parameters
    ----------
    report : the supply of a plan [-]
    wide : width it may take [mm]

    Returns
    -------
    height : in drawn mm
    """
    if report.endurance is None:
        return 0.0
    return 20.0 + 3.6 * len(_said(report, wide)) + 4.6 * math.ceil(len(_shares(report)) / 2)


def draw_endurance(drawing: Drawing, report: SupplyReport, y: float, x: float, wide: float) -> None:
    """Draw who empties the battery: one bar of the whole charge, parted by patterns, and what follows.

    Parameters
    ----------
    drawing : where to draw [-]
    report : the supply of a plan [-]
    y, x : upper left corner [mm]
    wide : width it may take [mm]
    """
    if report.endurance is None:
        return
    drawing.text(x, y + 3.2, "What empties the battery", _HEAD, cls="pw-bold")
    lines = _said(report, wide)
    for number, line in enumerate(lines):
        drawing.text(x, y + 8.0 + 3.6 * number, line, _SIZE, cls="pw-bold" if number == 0 else "")
    top, left = y + 8.0 + 3.6 * len(lines), x
    for number, (name, share) in enumerate(_shares(report)):
        group = drawing.group(label=f"{name}: {share * 100:.1f} %")
        width = share * wide
        look = _LOOKS[number % len(_LOOKS)]
        fill = filled(drawing, look) if look else None
        cls = "pw-edge" if look else "pw-fill"
        drawing.add("rect", None, group, cls, x=left, y=top, width=width, height=6.0, fill=fill, stroke_width=0.3)
        left += width
        kx, ky = x + (number % 2) * wide / 2, top + 9.0 + 4.6 * (number // 2)
        drawing.add("rect", None, group, cls, x=kx, y=ky, width=5.0, height=3.2, fill=fill, stroke_width=0.3)
        percent = f"{share * 100:.0f} %" if share >= 0.01 else "below 1 %"
        words = f"{percent}: {name}"
        drawing.text(kx + 6.5, ky + 2.6, cut(words, wide / 2 - 9.0, _SIZE), _SIZE, group)
