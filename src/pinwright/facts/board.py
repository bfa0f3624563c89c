"""A board: header rows in order, what sits on its pins, how it is fed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pinwright.facts.chip import StateCurrent
from pinwright.facts.cited import Cite, Seen, Source

__all__ = ["Board", "BoardPin", "BoardSupply", "HeaderStrip", "Onboard", "Regulator", "Reserve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPin:
    """One header pin, with the label printed beside it.

    Exactly one of ``pad`` (the chip pad's name) and ``power`` (GND, 3V3, 5V, VIN, EN, RST, AREF, NC, …) is set.
    ``order`` counts from ``Board.order_from``; ``row`` is as seen from the component side.
    ``bonded``: the board joins this pin to another header pin of the same pad; each of them says so.
    """

    row: str
    order: int
    label: str
    pad: str = ""
    power: str = ""
    bonded: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Onboard:
    """Something fitted on the board that touches a pad or a supply pin.

    ``drives``: it can drive the pad by itself (a USB-UART bridge's TXD, a sensor's output).
    ``series_ohm`` stands between it and the pad, ``ohm`` is a pull or load resistor, and a divider has
    ``r_top_ohm``/``r_bottom_ohm`` in [ohm].
    ``i_a``: what it draws all the time the board is powered, asleep as well [A].
    ``at_m``: middle of the thing on the board, from the left edge and from the first end [m]; to draw it, not to measure.
    """

    what: Literal[
        "led",
        "rgb-led",
        "button",
        "pull-up",
        "pull-down",
        "divider",
        "usb-bridge",
        "usb-port",
        "auto-program",
        "regulator",
        "series-resistor",
        "sensor",
        "radio",
        "crystal",
        "bootloader",
        "jumper",
        "other",
    ]
    pad: str = ""
    pin: str = ""
    drives: bool = False
    active: Literal["", "high", "low"] = ""
    ohm: float | None = None
    series_ohm: float | None = None
    r_top_ohm: float | None = None
    r_bottom_ohm: float | None = None
    to: str = ""
    effect: str = ""
    i_a: float | None = None
    at_m: tuple[float, float] | None = None
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSupply:
    """A way to feed the board, or a rail it offers.  Volts and amperes."""

    pin: str
    direction: Literal["in", "out", "in/out"]
    v_min_v: float | None = None
    v_max_v: float | None = None
    i_max_a: float | None = None
    i_left_for_parts_a: float | None = None
    via: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserve:
    """Pads, and hardware blocks (``blocks``: ids or block names of bus instances), this board or its module takes away
    although the chip alone leaves them free.
    """

    pads: tuple[str, ...]
    blocks: tuple[str, ...] = ()
    use: Literal["flash", "psram", "usb", "crystal", "debug", "radio", "sensor", "power"]
    why: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Regulator:
    """A regulator on the board, from one of its supply pins (or ``USB``) to another.

    ``dropout_v`` at ``i_max_a``; ``i_quiescent_a``: what it takes for itself; ``efficiency``: a share, for switching ones
    (``None``: linear).  ``theta_k_per_w``: heat resistance to air as mounted; ``t_junction_max_c``: hottest it may get [°C].
    ``drop_v``: what a diode or switch before it costs.
    """

    takes: str
    gives: str
    v_out_v: float
    tolerance: float = 0.02
    i_max_a: float
    v_in_max_v: float | None = None
    dropout_v: float | None = None
    drop_v: float = 0.0
    i_quiescent_a: float | None = None
    efficiency: float | None = None
    theta_k_per_w: float | None = None
    t_junction_max_c: float | None = None
    part: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderStrip:
    """Where a run of header pins lies, for boards whose rows are not two plain parallel lines.

    Pins ``first`` to ``last`` (by order) of ``row``; pin ``first`` sits at (``x_m``, ``y_m``) from the left edge and the
    first end, each next one ``dx_m``, ``dy_m`` further [m].
    """

    row: str
    first: int
    last: int
    x_m: float
    y_m: float
    dx_m: float = 0.0
    dy_m: float = 0.00254
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A board a maker can buy, both header rows in order and everything that sits on it.

    ``cost_class`` 1 (cheapest) to 5 is indicative only, never a price.
    ``current``: what a radio chip beside the microcontroller draws, by state.
    ``usb_end``: the end or side the socket points to; *first* is the end pin orders count from, left and right as seen
    from the component side with the first end up.  ``length_m`` runs along the rows, ``row_spacing_m`` between the two rows.
    ``clock_hz`` [Hz] only where the board runs its chip at another clock than the PWM pools of the chip assume.
    """

    schema: Literal[1]
    id: str
    name: str
    chip: str
    module: str = ""
    maker: str = ""
    cost_class: Literal[1, 2, 3, 4, 5]
    logic_v: float
    clock_hz: float | None = None
    radio: tuple[str, ...] = ()
    usb: Literal["bridge", "native", "none"]
    length_m: float | None = None
    width_m: float | None = None
    pitch_m: float = 0.00254
    row_spacing_m: float | None = None
    order_from: str
    usb_end: Literal["none", "first", "last", "left", "right"]
    keywords: tuple[str, ...] = ()
    source: tuple[Source, ...]
    provenance: dict[str, Cite]
    supply: tuple[BoardSupply, ...]
    header: tuple[BoardPin, ...]
    regulator: tuple[Regulator, ...] = ()
    current: tuple[StateCurrent, ...] = ()
    strip: tuple[HeaderStrip, ...] = ()
    onboard: tuple[Onboard, ...] = ()
    reserve: tuple[Reserve, ...] = ()
    unknown: tuple[str, ...] = ()
    note: tuple[str, ...] = ()
