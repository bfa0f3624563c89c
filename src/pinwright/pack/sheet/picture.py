"""Ink: a composed page as a drawing.  Wires lie over one another with a gap where they cross, so that a crossing is never a joint."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from pinwright.pack.build.model import Build, Terminal, Wire
from pinwright.pack.drawing import Drawing, clean, cut, text_width
from pinwright.pack.sheet.colours import NAMES, paint
from pinwright.pack.sheet.compose import FOOT
from pinwright.pack.sheet.labels import band_edge
from pinwright.pack.sheet.model import Bar, Box, Label, Node, Point, Run, Sheet, Tag
from pinwright.pack.sheet.nodes import BOLD, SMALL_MM

__all__ = ["drawn"]

WIRE_MM, EDGE_MM, GAP_MM = 0.55, 0.85, 1.6
Segment = tuple[Point, Point]


def drawn(build: Build, sheet: Sheet) -> Drawing:
    """The page as a drawing, 1 mm a unit.

    Parameters
    ----------
    build : the device [-]
    sheet : a composed page of it [-]
    """
    of = f", sheet {sheet.number} of {sheet.of}" if sheet.of > 1 else ""
    drawing = Drawing(f"wiring-{sheet.number}", f"{build.title}: wiring sheet{of}", _said(build, sheet), sheet.width, sheet.height)
    _head(drawing, build, sheet)
    for node in sheet.nodes:
        _block(drawing, node, sheet.boxes[node.key], sheet)
    for x, y, is_used in sheet.pads:
        half = 1.1 if is_used else 0.6
        drawing.add(
            "rect", cls="pw-used" if is_used else "pw-panel", x=x - half, y=y - half, width=2 * half, height=2 * half, stroke_width=0.25
        )
    for bar in sheet.bars:
        _bar(drawing, bar)
    for a, b in sheet.leads:
        drawing.add("path", cls="pw-ink", d=_d((a, b)), stroke_width=0.5)
    over: list[tuple[str, Segment]] = []
    for run in sheet.runs:
        _wire(drawing, build, run, over, sheet.bars)
    for x, y in sheet.dots:
        drawing.add("circle", cls="pw-solid", cx=x, cy=y, r=0.75)
    for tag in sheet.tags:
        _tag(drawing, tag, sheet.scale)
    for label in sheet.labels:
        _text(drawing, label)
    _legend(drawing, build, sheet)
    return drawing


def _said(build: Build, sheet: Sheet) -> str:
    wires = "; ".join(
        f"{run.wire.number} {run.wire.colour} {_words(build, run.wire)}" for run in sorted(sheet.runs, key=lambda r: r.wire.number)
    )
    return f"Wires on this sheet, number, colour, from, to: {wires}."


def _words(build: Build, wire: Wire) -> str:
    return f"{_end(build, wire.a)} to {_end(build, wire.b)}"


def _end(build: Build, terminal: Terminal) -> str:
    return f"{terminal.item} rail" if build.by_ref[terminal.item].kind == "rail" else f"{terminal.item} {terminal.name}"


def _d(points: tuple[Point, ...]) -> str:
    return "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in points)


# ------------------------------------------------------------------------------ blocks


def _head(drawing: Drawing, build: Build, sheet: Sheet) -> None:
    right = f"sheet {sheet.number} of {sheet.of}" if sheet.of > 1 else ""
    room = sheet.width - text_width(right, 3.0) - 6.0
    short = cut(build.title, room / BOLD, 4.2)
    group = drawing.group(None, build.title if short != clean(build.title) else "")
    drawing.text(0.5, 4.6, short, 4.2, group, "pw-bold")
    if right:
        drawing.text(sheet.width - 0.5, 4.6, right, 3.0, None, "pw-bold", "end")
    words = f"Wiring sheet. Unplug everything before you wire. {build.board.title}, seen from the component side."
    room = sheet.width * (0.5 if sheet.elsewhere else 1.0) - 1.0
    drawing.text(0.5, 8.8, cut(words, room, 2.4), 2.4, None, "pw-soft")
    if sheet.elsewhere:
        going = "; ".join(f"{wire.number} on sheet {number}" for wire, number in sheet.elsewhere)
        note = cut(f"Wires that end here and are drawn elsewhere: {going}", sheet.width / 2 - 10.0, 2.2)
        drawing.text(sheet.width - 0.5, 8.8, note, 2.2, None, "pw-soft", "end")
    drawing.add("path", cls="pw-rule", d=f"M0 10.4 H{sheet.width:g}", stroke_width=0.25)


def _block(drawing: Drawing, node: Node, box: Box, sheet: Sheet) -> None:
    item = node.item
    label = "" if item is None else "; ".join(filter(None, (f"{item.ref}: {item.title}", item.rating, item.why, item.note)))
    group = drawing.group(None, label)
    at = {"x": box.x0, "y": box.y0, "width": box.x1 - box.x0, "height": box.y1 - box.y0}
    symbol = item.symbol if item else ""
    if node.kind == "board":
        drawing.add("rect", None, group, "pw-board", **at, rx=1.5, stroke_width=0.4)
    elif node.kind == "other-sheet":
        drawing.add("rect", None, group, "pw-rule", **at, rx=2.5, stroke_width=0.4, stroke_dasharray="1.4 1")
    elif node.kind == "part":
        drawing.add("rect", None, group, "pw-panel", **at, rx=1.2, stroke_width=0.4)
    else:
        rounded = {"capacitor": 2.4, "npn": 3.0, "nmos": 3.0}.get(symbol, 0.0)
        drawing.add("rect", None, group, "pw-fill", **at, rx=rounded or None, stroke_width=0.2)
        drawing.add("rect", None, group, "pw-frame", **at, rx=rounded or None, stroke_width=0.4)
    if symbol == "diode":
        _band(drawing, group, node, box)


def _band(drawing: Drawing, group: ET.Element, node: Node, box: Box) -> None:
    """The ring at a diode's cathode."""
    edge = band_edge(node)
    wide = 1.5
    if edge:
        y = box.y0 + 0.5 if edge == "up" else box.y1 - 0.5 - wide
        drawing.add("rect", None, group, "pw-solid", x=box.x0, y=y, width=box.x1 - box.x0, height=wide)
        return
    cathode = next((p for p in node.ports if p.terminal and p.terminal.name == "K"), None)
    at_left = cathode is not None and (cathode.faces == "in") == (node.home > 0)
    drawing.add(
        "rect", None, group, "pw-solid", x=box.x0 + 0.5 if at_left else box.x1 - 0.5 - wide, y=box.y0, width=wide, height=box.y1 - box.y0
    )


def _bar(drawing: Drawing, bar: Bar) -> None:
    group = drawing.group(None, f"{bar.rail} rail")
    wide, high = bar.x1 - bar.x0, bar.y1 - bar.y0
    drawing.add("rect", None, group, "pw-tag", x=bar.x0, y=bar.y0, width=wide, height=high, stroke_width=0.3)
    if wide > high:
        marks = ((bar.x0, bar.y0, 0.7, high), (bar.x1 - 0.7, bar.y0, 0.7, high))
    else:
        marks = ((bar.x0, bar.y0, wide, 0.7), (bar.x0, bar.y1 - 0.7, wide, 0.7))
    for x, y, w, h in marks:
        drawing.add("rect", None, group, "pw-frame", x=x, y=y, width=w, height=h, style=f"fill:{paint(bar.colour)}", stroke_width=0.2)


# ------------------------------------------------------------------------------ wires


def _wire(drawing: Drawing, build: Build, run: Run, over: list[tuple[str, Segment]], bars: list[Bar]) -> None:
    wire = run.wire
    colour = NAMES.get(wire.colour, wire.colour)
    label = f"Wire {wire.number}, {colour}, {wire.area_mm2:g} mm², {wire.length_m:g} m: {_words(build, wire)}"
    group = drawing.group(None, label, id=f"{drawing.name}-wire-{wire.number}")
    own = list(zip(run.points, run.points[1:], strict=False))
    gaps = [gap for segment in own for net, other in over if net != run.net and (gap := _gap(segment, other))]
    gaps += [gap for segment in own for bar in bars if bar.rail != build.by_net[wire.net].name and (gap := _gap_at_bar(segment, bar))]
    if gaps:
        drawing.add("path", None, group, "pw-halo", d=" ".join(_d(gap) for gap in dict.fromkeys(gaps)), stroke_width=GAP_MM)
    d = _d(run.points)
    drawing.add("path", None, group, "pw-ink", d=d, stroke_width=EDGE_MM, stroke_linejoin="round")
    drawing.add("path", None, group, d=d, fill="none", stroke=paint(wire.colour), stroke_width=WIRE_MM, stroke_linejoin="round")
    over += [(run.net, segment) for segment in own]


def _gap(own: Segment, other: Segment) -> Segment | None:
    """A stretch of paper under a wire where it crosses one that is drawn already."""
    (ax, ay), (bx, by) = own
    (cx, cy), (dx, dy) = other
    half = 0.85
    if ay == by and cx == dx and min(ax, bx) < cx < max(ax, bx) and min(cy, dy) < ay < max(cy, dy):
        return ((cx - half, ay), (cx + half, ay))
    if ax == bx and cy == dy and min(ay, by) < cy < max(ay, by) and min(cx, dx) < ax < max(cx, dx):
        return ((ax, cy - half), (ax, cy + half))
    return None


def _gap_at_bar(own: Segment, bar: Bar) -> Segment | None:
    (ax, ay), (bx, by) = own
    if ay == by and bar.y0 < ay < bar.y1 and min(ax, bx) < bar.x0 and bar.x1 < max(ax, bx):
        return ((bar.x0 - 0.5, ay), (bar.x1 + 0.5, ay))
    return None


def _tag(drawing: Drawing, tag: Tag, scale: float) -> None:
    drawing.add("rect", None, None, "pw-tag", x=tag.x0, y=tag.y0, width=tag.x1 - tag.x0, height=tag.y1 - tag.y0, rx=0.6, stroke_width=0.2)
    size = SMALL_MM * scale
    y = (tag.y0 + tag.y1) / 2 + 0.36 * size
    drawing.text(tag.x0 + 0.5 * scale, y, " ".join(map(str, tag.numbers)), size, None, "pw-bold")
    drawing.text(tag.x1 - 0.5 * scale, y, tag.code, size, None, "", "end")


def _text(drawing: Drawing, label: Label) -> None:
    classes = {"bold": "pw-bold", "soft": "pw-soft", "inverse": "pw-inverse", "quiet": "pw-soft", "bar": "pw-bold"}
    cls = " ".join(classes[style] for style in label.style.split())
    if label.style == "quiet" and label.owner == "board":
        cls = "pw-inverse pw-faint"
    group = drawing.group(None, label.full) if label.full else None
    down = 0.36 * label.size
    x, y = (label.x + down, label.y) if label.turned else (label.x, label.y + down)
    turned = f"rotate(-90 {x:.2f} {y:.2f})" if label.turned else None
    drawing.text(x, y, label.words, label.size, group, cls, label.anchor, transform=turned)


# ------------------------------------------------------------------------------ legend


def _legend(drawing: Drawing, build: Build, sheet: Sheet) -> None:
    """What colours, tags, dots and bars mean."""
    top = sheet.height - FOOT + 4.6
    drawing.add("path", cls="pw-rule", d=f"M0 {top - 2.4:g} H{sheet.width:g}", stroke_width=0.25)
    rails = {net.colour: net.name for net in build.nets if net.role != "signal"}
    codes = dict.fromkeys(run.wire.colour for run in sorted(sheet.runs, key=lambda r: r.wire.number))
    x, y = 0.5, top + 0.6
    for code in codes:
        words = f"{code} {NAMES.get(code, '')}".strip() + (f": {cut(rails[code], 20.0, SMALL_MM)}" if code in rails else "")
        wide = 7.0 + text_width(words, SMALL_MM) + 3.0
        if x + wide > sheet.width:
            x, y = 0.5, y + 3.6
        for cls, stroke, width in (("pw-ink", None, EDGE_MM + 0.3), ("", paint(code), WIRE_MM + 0.3)):
            drawing.add("path", None, None, cls, d=f"M{x:.2f} {y:.2f} h5.5", stroke=stroke, stroke_width=width)
        drawing.text(x + 6.8, y + 0.75, words, SMALL_MM)
        x += wide
    y += 4.0
    x = 0.5
    drawing.add("rect", cls="pw-tag", x=x, y=y - 1.25, width=7.6, height=2.5, rx=0.6, stroke_width=0.2)
    drawing.text(x + 3.8, y + 0.75, "7 YE", SMALL_MM, None, "", "middle")
    x = _explained(drawing, x + 9.0, y, "numbers of the wires that end here, and their colour")
    drawing.add("circle", cls="pw-solid", cx=x + 1, cy=y, r=0.75)
    x = _explained(drawing, x + 3.0, y, "same net; lines that cross without it are not joined")
    drawing.add("rect", cls="pw-tag", x=x, y=y - 1.25, width=5.0, height=2.5, stroke_width=0.3)
    _explained(drawing, x + 6.4, y, "rail: all bars of one name are one strip")


def _explained(drawing: Drawing, x: float, y: float, words: str) -> float:
    drawing.text(x, y + 0.75, words, SMALL_MM, None, "pw-soft")
    return x + text_width(words, SMALL_MM) + 4.0
