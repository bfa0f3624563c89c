"""Symbols by their shapes in IEC 60617 (from memory; the database itself is not free to read), lengths in mm.

Each is drawn round the point it is told; ``two`` gives back nothing but the ink between two points of one line.
"""

from __future__ import annotations

from collections.abc import Callable

from pinwright.pack.circuit.sketch import LABEL_MM, SMALL_MM, Sketch

__all__ = ["BODY_MM", "TWO_MM", "ground", "nmos", "npn", "supply", "two", "way"]

TWO_MM = 12.0
"""Length of a component with two ends, leads and all [mm]."""
BODY_MM, _HALF = 6.0, 1.1
Turn = Callable[[float, float], tuple[float, float]]


def two(sketch: Sketch, kind: str, x: float, y: float, dx: int, dy: int, dashes: str = "") -> None:
    """A symbol with two ends, from a point along a direction for ``TWO_MM``; its first end (an anode, a contact's pivot) at the point.

    Parameters
    ----------
    sketch : grows [-]
    kind : resistor, capacitor, diode, led, coil, motor, lamp, heater, buzzer, contact, ntc, pt, ldr, force or light [-]
    x, y : where it begins [mm]
    dx, dy : direction, one of them 1 or -1 [-]
    dashes : for what is not a component of its own [-]
    """

    def turn(along: float, across: float) -> tuple[float, float]:
        return x + dx * along - dy * across, y + dy * along + dx * across

    half = _DRAWN.get(kind, _resistor)(sketch, turn, dashes)
    middle = TWO_MM / 2
    sketch.path(turn(0, 0), turn(middle - half, 0), width=0.3, dashes=dashes)
    sketch.path(turn(middle + half, 0), turn(TWO_MM, 0), width=0.3, dashes=dashes)


def _resistor(sketch: Sketch, turn: Turn, dashes: str = "", half: float = BODY_MM / 2, side: float = _HALF) -> float:
    m = TWO_MM / 2
    sketch.path(turn(m - half, -side), turn(m + half, -side), turn(m + half, side), turn(m - half, side), commands="MLLLZ", dashes=dashes)
    return half


def _capacitor(sketch: Sketch, turn: Turn, dashes: str) -> float:
    m = TWO_MM / 2
    for end in (-0.6, 0.6):
        sketch.path(turn(m + end, -2), turn(m + end, 2), width=0.5)
    return 0.6


def _diode(sketch: Sketch, turn: Turn, dashes: str) -> float:
    m = TWO_MM / 2
    sketch.path(turn(m - 1.4, -1.5), turn(m + 1.4, 0), turn(m - 1.4, 1.5), commands="MLLZ")
    sketch.path(turn(m + 1.4, -1.5), turn(m + 1.4, 1.5))
    return 1.4


def _led(sketch: Sketch, turn: Turn, dashes: str) -> float:
    half = _diode(sketch, turn, dashes)
    m = TWO_MM / 2
    for at in (-0.7, 0.7):
        _arrow(sketch, turn(m + at, -1.9), turn(m + at + 1.1, -3.4))
    return half


def _arrow(sketch: Sketch, a: tuple[float, float], b: tuple[float, float]) -> None:
    """A thin stroke with a filled head at ``b``."""
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    neck = (b[0] - ux * 0.8, b[1] - uy * 0.8)
    sketch.path(a, neck, width=0.25)
    sketch.path(b, (neck[0] - uy * 0.4, neck[1] + ux * 0.4), (neck[0] + uy * 0.4, neck[1] - ux * 0.4), commands="MLLZ", cls="pw-solid")


def _coil(sketch: Sketch, turn: Turn, dashes: str) -> float:
    """An operating device: a rectangle that lies across its leads."""
    return _resistor(sketch, turn, half=1.8, side=3.0)


def _round(sketch: Sketch, turn: Turn, letter: str = "") -> float:
    m, r = TWO_MM / 2, 2.6
    x, y = turn(m, 0)
    sketch.circle(x, y, r)
    if letter:
        sketch.text(x, y + 1.0, letter, LABEL_MM, "middle")
    return r


def _motor(sketch: Sketch, turn: Turn, dashes: str) -> float:
    return _round(sketch, turn, "M")


def _lamp(sketch: Sketch, turn: Turn, dashes: str) -> float:
    r, m, d = _round(sketch, turn), TWO_MM / 2, 2.6 * 0.7071
    sketch.path(turn(m - d, -d), turn(m + d, d))
    sketch.path(turn(m - d, d), turn(m + d, -d))
    return r


def _heater(sketch: Sketch, turn: Turn, dashes: str) -> float:
    half, m = _resistor(sketch, turn), TWO_MM / 2
    for at in (-1.5, 0.0, 1.5):
        sketch.path(turn(m + at, -_HALF), turn(m + at, _HALF))
    return half


def _buzzer(sketch: Sketch, turn: Turn, dashes: str) -> float:
    """A half disc, its flat side towards where the leads come from; here its two leads run in line."""
    m, r, k = TWO_MM / 2, 2.4, 2.4 * 0.5523
    sketch.path(turn(m - r, 0), turn(m + r, 0), turn(m + r, -k), turn(m + k, -r), turn(m, -r), turn(m - k, -r), turn(m - r, -k),
                turn(m - r, 0), commands="MLCC")  # fmt: skip
    return r


def _contact(sketch: Sketch, turn: Turn, dashes: str) -> float:
    m = TWO_MM / 2
    sketch.path(turn(m + 2.4, 0), turn(m - 2.2, -1.9), width=0.45)
    return 2.4


def _varying(letter: str) -> Callable[[Sketch, Turn, str], float]:
    def drawn(sketch: Sketch, turn: Turn, dashes: str) -> float:
        half, m = _resistor(sketch, turn), TWO_MM / 2
        sketch.path(turn(m + 3.4, -2.2), turn(m - 2.2, 2.2), turn(m - 3.6, 2.2), width=0.3)
        x, y = turn(m - 2.9, 4.5)
        sketch.text(x, y + 0.8, letter, SMALL_MM, "middle")
        return half

    return drawn


def _light(sketch: Sketch, turn: Turn, dashes: str) -> float:
    half, m = _resistor(sketch, turn), TWO_MM / 2
    for at in (-1.2, 0.9):
        _arrow(sketch, turn(m + at - 1.5, -3.6), turn(m + at, -1.5))
    return half


_DRAWN: dict[str, Callable[[Sketch, Turn, str], float]] = {
    "resistor": _resistor, "capacitor": _capacitor, "diode": _diode, "led": _led, "coil": _coil, "motor": _motor, "lamp": _lamp,
    "heater": _heater, "buzzer": _buzzer, "contact": _contact, "ntc": _varying("−ϑ"), "pt": _varying("+ϑ"), "force": _varying("F"),
    "ldr": _light,
}  # fmt: skip


def supply(sketch: Sketch, net: str, label: str, x: float, y: float) -> None:
    """A rail above a point: a wire of 3 mm, an arrow and the rail's name."""
    sketch.wire((x, y), (x, y - 3))
    sketch.path((x - 1, y - 1.8), (x, y - 3), (x + 1, y - 1.8), width=0.3)
    sketch.rail(net, x, y - 3)
    sketch.text(x, y - 3.8, label, SMALL_MM, "middle")


def ground(sketch: Sketch, net: str, x: float, y: float) -> None:
    """Ground below a point."""
    sketch.wire((x, y), (x, y + 2))
    for number, wide in enumerate((2.0, 1.25, 0.5)):
        sketch.path((x - wide, y + 2 + 0.75 * number), (x + wide, y + 2 + 0.75 * number), width=0.4)
    sketch.rail(net, x, y + 2)


def npn(sketch: Sketch, x: float, y: float) -> None:
    """An NPN transistor: base at the point, collector at (+7, -6), emitter at (+7, +6)."""
    sketch.path((x, y), (x + 3.4, y), width=0.3)
    sketch.path((x + 3.4, y - 2.4), (x + 3.4, y + 2.4), width=0.6)
    sketch.path((x + 3.4, y - 1), (x + 7, y - 3.2), (x + 7, y - 6), width=0.3)
    sketch.path((x + 7, y + 3.2), (x + 7, y + 6), width=0.3)
    _arrow(sketch, (x + 3.4, y + 1), (x + 6.9, y + 3.2))


def nmos(sketch: Sketch, x: float, y: float) -> None:
    """An enhancement N-channel MOSFET with its body joined to the source: gate at the point, drain (+7, -6), source (+7, +6)."""
    sketch.path((x, y), (x + 2.6, y), width=0.3)
    sketch.path((x + 2.6, y - 2.4), (x + 2.6, y + 2.4), width=0.45)
    for at in (-2.0, 0.0, 2.0):
        sketch.path((x + 3.5, y + at - 0.75), (x + 3.5, y + at + 0.75), width=0.5)
    sketch.path((x + 3.5, y - 2), (x + 7, y - 2), (x + 7, y - 6), width=0.3)
    sketch.path((x + 3.5, y + 2), (x + 7, y + 2), (x + 7, y + 6), width=0.3)
    sketch.path((x + 7, y), (x + 7, y + 2), width=0.3)
    _arrow(sketch, (x + 7, y), (x + 3.6, y))


def way(sketch: Sketch, left: float, right: float, y: float, to: str) -> None:
    """An arrow from one x to another that says which way a signal goes: ``right``, ``left`` or ``both``."""
    if to == "both":
        _arrow(sketch, ((left + right) / 2, y), (left, y))
        _arrow(sketch, ((left + right) / 2, y), (right, y))
    elif to == "left":
        _arrow(sketch, (right, y), (left, y))
    else:
        _arrow(sketch, (left, y), (right, y))
