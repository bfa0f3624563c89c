"""A small line chart as SVG, readable without colour: every line has its own dashes, marks and name."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

__all__ = ["Series", "line_chart"]

_WIDTH, _HEIGHT = 720, 440
_LEFT, _RIGHT, _TOP, _BOTTOM = 76, 150, 44, 62
_STYLES = (("", "circle", "#0b4f8a"), ("7 4", "square", "#a3480c"), ("2 3", "diamond", "#2f6b2f"))
_GUIDE = ("1 5", "none", "#666")
_NAME_GAP = 16.0  # names of lines that end close together are moved apart


@dataclass(frozen=True, slots=True)
class Series:
    """One line; a guide has no marks."""

    name: str
    points: Sequence[tuple[float, float]]
    is_guide: bool = False


def line_chart(title: str, desc: str, x_label: str, y_label: str, series: Sequence[Series]) -> str:
    """Chart with logarithmic axes, as SVG text."""
    xs = [x for line in series for x, _ in line.points]
    ys = [y for line in series for _, y in line.points]
    x_of = _scale(min(xs), max(xs), _LEFT, _WIDTH - _RIGHT)
    y_of = _scale(min(ys), max(ys), _HEIGHT - _BOTTOM, _TOP)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-labelledby="title desc"'
        ' font-family="\'DejaVu Sans\', Helvetica, Arial, sans-serif" font-size="13" fill="#111">',
        f'<title id="title">{escape(title)}</title>',
        f'<desc id="desc">{escape(desc)}</desc>',
        f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#fff"/>',
        f'<text x="{_LEFT}" y="24" font-size="15" font-weight="bold">{escape(title)}</text>',
        *_axes(x_of, y_of, (min(xs), max(xs)), (min(ys), max(ys)), sorted({x for line in series for x, _ in line.points})),
        f'<text x="{(_LEFT + _WIDTH - _RIGHT) / 2:.0f}" y="{_HEIGHT - 14}" text-anchor="middle">{escape(x_label)}</text>',
        f'<text transform="translate(20 {(_TOP + _HEIGHT - _BOTTOM) / 2:.0f}) rotate(-90)" text-anchor="middle">{escape(y_label)}</text>',
        *_lines(series, x_of, y_of),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    span = math.log(high / low) or 1.0
    return lambda value: start + (end - start) * math.log(value / low) / span


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers (1, 2, 5 times a power of ten) between two bounds.

    >>> _ticks(0.9, 12)
    [1.0, 2.0, 5.0, 10.0]
    """
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    return [factor * 10.0**decade for decade in decades for factor in (1, 2, 5) if low <= factor * 10.0**decade <= high]


def _axes(
    x_of: Callable[[float], float],
    y_of: Callable[[float], float],
    x_ends: tuple[float, float],
    y_ends: tuple[float, float],
    xs: list[float],
) -> Iterator[str]:
    bottom, right = _HEIGHT - _BOTTOM, _WIDTH - _RIGHT
    free = -math.inf  # labels of measured sizes, left out where they would touch
    for x in xs:
        yield f'<line x1="{x_of(x):.1f}" x2="{x_of(x):.1f}" y1="{_TOP}" y2="{bottom}" stroke="#ddd"/>'
        if x_of(x) - free > 12:
            yield f'<text x="{x_of(x):.1f}" y="{bottom + 19}" text-anchor="middle">{x:,.0f}</text>'
            free = x_of(x) + 4 * len(f"{x:,.0f}")
    for y in _ticks(*y_ends):
        yield f'<line x1="{_LEFT}" x2="{right}" y1="{y_of(y):.1f}" y2="{y_of(y):.1f}" stroke="#ddd"/>'
        yield f'<text x="{_LEFT - 8}" y="{y_of(y) + 4:.1f}" text-anchor="end">{y:g}</text>'
    yield f'<path d="M{_LEFT} {_TOP}V{bottom}H{right}" fill="none" stroke="#111"/>'


def _lines(series: Sequence[Series], x_of: Callable[[float], float], y_of: Callable[[float], float]) -> Iterator[str]:
    styles = iter(_STYLES)
    named: list[float] = []
    for line in sorted(series, key=lambda line: line.is_guide):
        dashes, mark, colour = _GUIDE if line.is_guide else next(styles)
        points = [(x_of(x), y_of(y)) for x, y in line.points]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        yield f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{1.5 if line.is_guide else 2}"{dash}/>'
        yield from (_mark(mark, x, y, colour) for x, y in points if mark != "none")
        at = points[-1][1] + 4
        while any(abs(at - other) < _NAME_GAP for other in named):
            at += 1
        named.append(at)
        yield f'<text x="{points[-1][0] + 10:.1f}" y="{at:.1f}" fill="{colour}">{escape(line.name)}</text>'


def _mark(kind: str, x: float, y: float, colour: str) -> str:
    if kind == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{colour}"/>'
    turn = f' transform="rotate(45 {x:.1f} {y:.1f})"' if kind == "diamond" else ""
    return f'<rect x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8" fill="#fff" stroke="{colour}" stroke-width="2"{turn}/>'
