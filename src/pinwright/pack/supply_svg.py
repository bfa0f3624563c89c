"""The supply budget as a picture: every limit is one wall, and every load a bar that must end before it.

Currents, voltages and heat are drawn as shares of what is allowed, so that the narrowest margin meets the eye first; who takes
how much stands below on a logarithmic scale, for sleep and radio bursts differ by five powers of ten.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pinwright.circuits.window import shown
from pinwright.pack.drawing import Drawing, cut, text_width, wrapped
from pinwright.pack.patterns import add_patterns, filled
from pinwright.pack.supply_shares import draw_consumers, draw_endurance, endurance_height, rows_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from pinwright.supply.rails import Stage
    from pinwright.supply.report import SupplyReport

__all__ = ["Gauge", "gauges_of", "supply_svg"]

_WIDTH, _PAD = 186.0, 3.0
_NAME, _WALL, _BEYOND, _WORDS = 50.0, 122.0, 133.0, 136.0
_BOLD = 1.12  # bold words are so much wider
_SIZE, _SMALL, _HEAD, _ROW = 2.7, 2.4, 3.2, 9.0


@dataclass(frozen=True, slots=True)
class Gauge:
    """A load against its limit: ``usual`` and ``most`` are shares of the limit, above 1 too much; ``None``: nobody gives the limit.

    ``words`` say what is left in its unit.  Of currents ``usual`` is awake and ``most`` in a burst.
    """

    name: str
    usual: float | None
    most: float | None
    words: str


def gauges_of(report: SupplyReport) -> list[Gauge]:
    """Everything in a supply that has a limit, in the way of the current.

    Parameters
    ----------
    report : the supply of a plan [-]

    Returns
    -------
    gauges : source, wire, then current, headroom and heat of each regulator
    """
    unknown = any(not consumer.known for consumer in report.fed)
    found = [_current("source", report.draw.awake, report.draw.burst, report.source.i_max_a, unknown)]
    if report.feed is not None and report.feed.wire is not None:
        from pinwright.supply.feeds import DROP_SHARE

        most_v = DROP_SHARE * report.source.v.middle
        said = f"loses {shown(report.feed.drop_v, 'V')} of {shown(most_v, 'V')} a feed may"
        share = report.feed.drop_v / most_v
        found.append(Gauge(f"wire {report.feed.wire.name}, {report.feed.length_m:g} m: voltage lost", share, share, said))
    elif report.feed is not None:
        found.append(Gauge("wire from the source", None, None, report.feed.because or "no wire of the tables stands it"))
    for stage in (*report.stages, *report.side_stages):
        found += _of_stage(stage, unknown)
    return found


def _current(name: str, awake_a: float, burst_a: float, can_a: float | None, unknown: bool) -> Gauge:
    more = "; unknown currents not counted" if unknown else ""
    if can_a is None:
        return Gauge(f"{name}: current", None, None, f"{shown(burst_a, 'A')} in a burst; nobody gives the limit{more}")
    if can_a <= 0:
        return Gauge(f"{name}: current", None, None, "gives no current")
    left = f"{shown(abs(can_a - burst_a), 'A')} {'left' if can_a >= burst_a else 'lacking'}"
    words = f"{shown(burst_a, 'A')} of {shown(can_a, 'A')}: {left}{more}"
    return Gauge(f"{name}: current", awake_a / can_a, burst_a / can_a, words)


def _of_stage(stage: Stage, unknown: bool) -> Iterator[Gauge]:
    regulator = stage.regulator
    name = f"{regulator.takes} to {regulator.gives}"
    yield _current(name, stage.draw.awake, stage.draw.burst, regulator.i_max_a, unknown)
    if stage.headroom_v is None:
        yield Gauge(f"{name}: voltage", None, None, "nobody gives its dropout")
    else:
        needs_v, arrives_v = stage.v_arrives_v - stage.headroom_v, stage.v_arrives_v
        said = (
            f"needs {shown(needs_v, 'V')}, {shown(arrives_v, 'V')} arrive: "
            f"{shown(abs(stage.headroom_v), 'V')} {'to spare' if stage.headroom_v >= 0 else 'lacking'}"
        )
        share = needs_v / arrives_v if arrives_v > 0 else 9.9
        yield Gauge(f"{name}: voltage", share, share, said)
    if stage.junction_c is None:
        yield Gauge(f"{name}: heat", None, None, f"{shown(stage.p_w, 'W')} of heat; nobody gives its heat resistance")
    else:
        share = max(stage.junction_c, 0.0) / stage.junction_max_c
        said = f"{shown(stage.p_w, 'W')}: junction {stage.junction_c:.0f} of {stage.junction_max_c:.0f} °C awake"
        yield Gauge(f"{name}: heat", share, share, said)


def supply_svg(report: SupplyReport, title: str = "", name: str = "supply") -> Drawing:
    """Draw the supply of a plan.

    Parameters
    ----------
    report : its supply [-]
    title : what the device is [-]
    name : beginning of the drawing's ids [-]

    Returns
    -------
    drawing : 186 mm wide, as high as it must be; its description says the same in words
    """
    gauges, rows = gauges_of(report), rows_of(report)
    path = _path(report)
    path_height = max(len(lines) for _, lines, _ in path) * 3.3 + 6.0
    top_gauges = _PAD + 11.5 + path_height + 5.0
    top_rows = top_gauges + 11.0 + _ROW * len(gauges) + 4.0
    drawn = _PAD + top_rows + 12.0 + 4.8 * len(rows) + endurance_height(report, _WIDTH - 2 * _PAD)
    drawing = Drawing(name, f"{title or 'Supply'}: what it takes and what it is given", _said(report, gauges), _WIDTH, drawn)
    add_patterns(drawing, "hatch", "back", "cross", "bars", "lines", "dots")
    drawing.text(_PAD, _PAD + 4.0, cut(title or "Supply", (_WIDTH - 2 * _PAD) / _BOLD, 4.4), 4.4, cls="pw-bold")
    drawing.text(_PAD, _PAD + 8.6, cut(f"Supply: {report.source.words}", _WIDTH - 2 * _PAD, 2.8), 2.8, cls="pw-soft")
    _draw_path(drawing, path, _PAD + 11.5, path_height)
    _draw_gauges(drawing, gauges, top_gauges)
    bottom = draw_consumers(drawing, report, rows, top_rows)
    draw_endurance(drawing, report, bottom + 6.0, _PAD, _WIDTH - 2 * _PAD)
    return drawing


# ------------------------------------------------------------------------------ the way of the current


def _path(report: SupplyReport) -> list[tuple[str, list[str], str]]:
    """Boxes from source to logic rail: heading, lines, class."""
    source, entry = report.source, report.entry
    steps = [("source", f"{source.v.low:.3g} to {source.v.high:.3g} V, {source.kind or 'kind not said'}", "pw-fill")]
    steps.append((f"in at {entry.pin}", entry.because, "pw-fill") if entry.supply else ("no way in", entry.because, "pw-bad"))
    for stage in report.stages:
        kind = f"converter, {stage.regulator.efficiency * 100:.0f} %" if stage.regulator.efficiency else "linear"
        words = f"{kind}, gives {shown(stage.draw.burst, 'A')}, {shown(stage.p_w, 'W')} of heat"
        steps.append((f"{stage.regulator.takes} to {stage.regulator.gives}", words, "pw-fill"))
    logic = [c for c in report.fed if c.rail == "logic"]
    if logic:
        steps.append(("logic rail", f"{logic[0].volts:.3g} V, {shown(report.rails['logic'].burst, 'A')} in a burst", "pw-fill"))
    wide = _step_width(len(steps)) - 3.0
    return [(cut(head, wide / _BOLD, _SIZE), wrapped(words, wide, _SMALL, 4), cls) for head, words, cls in steps]


def _step_width(count: int) -> float:
    return (_WIDTH - 2 * _PAD - 7.0 * (count - 1)) / count


def _draw_path(drawing: Drawing, path: list[tuple[str, list[str], str]], y: float, height: float) -> None:
    wide = _step_width(len(path))
    for number, (head, lines, cls) in enumerate(path):
        x = _PAD + number * (wide + 7.0)
        ink = "pw-inverse" if cls == "pw-bad" else ""
        drawing.add("rect", None, None, cls, x=x, y=y, width=wide, height=height, rx=0.8, stroke_width=0.3)
        drawing.text(x + 1.5, y + 3.6, head, _SIZE, None, f"pw-bold {ink}".strip())
        for at, line in enumerate(lines):
            drawing.text(x + 1.5, y + 7.2 + 3.3 * at, line, _SMALL, None, ink)
        if number:
            middle = y + height / 2
            drawing.add("line", None, None, "pw-ink", x1=x - 6.6, y1=middle, x2=x - 1.8, y2=middle, stroke_width=0.5)
            head_of = f"{x - 2.6:.2f},{middle - 1.1:.2f} {x - 0.5:.2f},{middle:.2f} {x - 2.6:.2f},{middle + 1.1:.2f}"
            drawing.add("polygon", None, None, "pw-solid", points=head_of)


# ------------------------------------------------------------------------------ the wall


def _draw_gauges(drawing: Drawing, gauges: list[Gauge], y: float) -> None:
    drawing.text(_PAD, y + 3.2, "How much of each limit is used", _HEAD, cls="pw-bold")
    key_x = _NAME + 18.0
    for words, draw in _KEY:
        draw(drawing, key_x, y + 0.4)
        drawing.text(key_x + 6.0, y + 3.0, words, _SMALL)
        key_x += 9.0 + text_width(words, _SMALL)
    top, bottom = y + 8.6, y + 9.4 + _ROW * len(gauges)
    for share in (0, 25, 50, 75, 100):
        x = _NAME + (_WALL - _NAME) * share / 100
        drawing.text(x, top - 1.2, f"{share} %" if share else "0", 2.2, None, "pw-soft", "middle")
        if share < 100:
            drawing.add("line", None, None, "pw-rule", x1=x, y1=top, x2=x, y2=bottom, stroke_width=0.15)
    for number, gauge in enumerate(gauges):
        _draw_gauge(drawing, gauge, top + 2.0 + _ROW * number)
    drawing.add("rect", None, None, "pw-solid", x=_WALL - 0.45, y=top, width=0.9, height=bottom - top)


def _draw_gauge(drawing: Drawing, gauge: Gauge, y: float) -> None:
    group, high = drawing.group(label=f"{gauge.name}: {gauge.words}"), 4.6
    for at, line in enumerate(names := wrapped(gauge.name, _NAME - _PAD - 2.0, _SIZE)):
        drawing.text(_PAD, y + (3.3 if len(names) == 1 else 1.6) + 3.2 * at, line, _SIZE, group)
    for at, line in enumerate(words := wrapped(gauge.words, (_WIDTH - _PAD - _WORDS) / _BOLD, _SMALL, 3)):
        is_over = gauge.most is not None and gauge.most > 1
        drawing.text(_WORDS, y + 3.2 - 1.5 * (len(words) - 1) + 3.0 * at, line, _SMALL, group, "pw-bold" if is_over else "")
    if gauge.usual is None or gauge.most is None:
        drawing.add(
            "rect", None, group, "pw-rule", x=_NAME, y=y, width=_WALL - _NAME - 0.6, height=high, stroke_width=0.3, stroke_dasharray="1 0.8"
        )
        drawing.text(_NAME + 2.0, y + 3.2, "?", _SIZE, group, "pw-bold")
        return
    span = _WALL - _NAME
    usual, most = (min(share, 1.0) * span for share in (gauge.usual, gauge.most))
    drawing.add("rect", None, group, "pw-fill", x=_NAME, y=y, width=span, height=high, stroke_width=0.2)
    _bar(drawing, group, _NAME + usual, y, most - usual, high, "hatch")
    _bar(drawing, group, _NAME, y, usual, high, "back")
    if gauge.most > 1:
        over = min((gauge.most - 1) * span, _BEYOND - _WALL)
        over = max(over, 2.2)
        drawing.add(
            "polygon", None, group, "pw-bad", stroke_width=0.3,
            points=f"{_WALL:.2f},{y - 0.7:.2f} {_WALL + over:.2f},{y + high / 2:.2f} {_WALL:.2f},{y + high + 0.7:.2f}",
        )  # fmt: skip


def _bar(drawing: Drawing, group: Element, x: float, y: float, wide: float, high: float, pattern: str) -> None:
    if wide > 0.02:
        drawing.add("rect", None, group, "pw-edge", x=x, y=y, width=wide, height=high, fill=filled(drawing, pattern), stroke_width=0.25)


def _key_bar(pattern: str) -> Callable[[Drawing, float, float], None]:
    def draw(drawing: Drawing, x: float, y: float) -> None:
        fill = filled(drawing, pattern) if pattern else None
        drawing.add("rect", None, None, "pw-edge" if pattern else "pw-fill", x=x, y=y, width=5.0, height=3.2, fill=fill, stroke_width=0.2)

    return draw


def _key_over(drawing: Drawing, x: float, y: float) -> None:
    drawing.add(
        "polygon", None, None, "pw-bad", points=f"{x:.2f},{y:.2f} {x + 4.5:.2f},{y + 1.6:.2f} {x:.2f},{y + 3.2:.2f}", stroke_width=0.2
    )


_KEY = (("used", _key_bar("back")), ("more in a burst", _key_bar("hatch")), ("left", _key_bar("")), ("too much", _key_over))


# ------------------------------------------------------------------------------ words


def _said(report: SupplyReport, gauges: list[Gauge]) -> str:
    """The whole picture in words."""
    states = ("asleep", "awake", "burst") if report.is_sleeping else ("awake", "burst")
    parts = [f"{report.source.words}; {report.entry.because}"]
    parts += [f"{gauge.name}: {gauge.words}" for gauge in gauges]
    for consumer in report.consumers:
        figures = ", ".join(f"{state} {shown(getattr(consumer.draw, state), 'A')}" for state in states)
        own = ", from a supply of its own" if consumer.rail in report.others else ""
        parts.append(f"{consumer.name} on {consumer.rail}{own}: {figures if consumer.known else 'nobody gives its current'}")
    parts.append("from the source: " + ", ".join(f"{state} {shown(getattr(report.draw, state), 'A')}" for state in states))
    if report.endurance is not None:
        shares = ", ".join(f"{name} {share * 100:.0f} %" for name, share in report.endurance.shares)
        parts.append(f"battery lasts {report.endurance.words}: {shares}. {report.endurance.advice}")
    return "; ".join(parts)
