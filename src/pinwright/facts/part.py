"""A part: its supply, its bus, and its lines with everything they ask of a pin."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pinwright.facts.cited import Direction, Fact, Language, Level, Seen, Signal, Source

__all__ = [
    "Caution",
    "Curve",
    "Divided",
    "Driver",
    "I2cFacts",
    "Load",
    "Needs",
    "Part",
    "PartCurrent",
    "PartLine",
    "PartSupply",
    "PullFitted",
    "SpiFacts",
    "UartFacts",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSupply:
    """Supply range of a part [V].  For sources: what it delivers."""

    min: float | None = None
    typ: float | None = None
    max: float | None = None
    abs_max: float | None = None
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCurrent:
    """Supply current of a part [A]."""

    idle: Fact | None = None
    active: Fact | None = None
    peak: Fact | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class I2cFacts:
    """Bus address choices (7 bit) and speed [Hz].

    ``hold_off``: line that keeps the part off the bus, for parts that take any other address by command until power is lost.
    """

    addresses: tuple[int, ...]
    default: int
    max_hz: float
    select: str = ""
    hold_off: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpiFacts:
    """Clock modes and speed [Hz]; ``shares`` is false when the part keeps MISO driven while not selected."""

    modes: tuple[int, ...] = (0,)
    max_hz: float
    shares: bool = True
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class UartFacts:
    """Serial port: default rate [Bd]; ``max_baud`` where it can be set."""

    baud: float
    frame: str = "8N1"
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PullFitted:
    """A pull resistor already inside the part or on its module."""

    direction: Literal["up", "down"]
    ohm: float | None = None
    to: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a line asks of its pin; engineering judgement unless the line cites a document.

    ``pwm_min_hz``/``pwm_max_hz`` [Hz]: acceptable PWM frequencies; equal ends mean exactly that one.
    ``square_wave``: a square wave of that frequency is all it takes (a tone), the duty does not matter.
    ``exact_pulses``: microsecond timing (hardware pulse engine or cycle-exact code).
    ``count_pulses``: pulses must not be lost (counter or interrupt).
    ``driver``: in words, the stage that must stand between when a bare pin cannot drive the load.
    ``driver_components``: how many components that stage is.
    """

    interrupt: Literal["no", "optional", "yes"] = "no"
    wake: bool = False
    pull: Literal["none", "up", "down"] = "none"
    pull_ohm: float | None = None
    external_pull: bool = False
    pwm_min_hz: float | None = None
    pwm_max_hz: float | None = None
    pwm_bits: int | None = None
    square_wave: bool = False
    adc_bits: int | None = None
    exact_pulses: bool = False
    count_pulses: bool = False
    driver: str = ""
    driver_components: int = 0
    series_ohm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a driver stage on this line has to switch.

    ``v_v`` [V] feeds it, ``i_a`` [A] runs through it when on, ``inrush_a`` at first; a coil has ``l_h`` [H] and kicks back
    (``coil``, ``motor``).  ``stage``: where the switch sits (``low``: between load and ground; ``high``: between supply and
    load; ``pin``: none, the pin itself feeds the load through a resistor).  An LED has its forward voltage ``vf_min_v`` to
    ``vf_max_v`` [V], and gets the resistor that lets ``i_a`` through, at least ``i_min_a``.
    ``inverts``: the load is on while the pin is low.
    """

    kind: Literal["coil", "motor", "led", "lamp", "heater", "buzzer", "input", "other"]
    v_v: float
    i_a: float
    inrush_a: float | None = None
    l_h: float | None = None
    stage: Literal["low", "high", "pin"] = "low"
    vf_min_v: float | None = None
    vf_max_v: float | None = None
    i_min_a: float | None = None
    inverts: bool = False
    pwm_hz: float | None = None
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """How an analog line tells its quantity.

    ``linear``: V = ``zero_v`` + ``gain_v`` x quantity (``ratiometric``: both are shares of the supply).
    ``ntc``, ``pt``, ``ldr``, ``potentiometer``, ``force``: a resistance in a divider with ``r_fixed_ohm``; ``r_ref_ohm`` at
    ``at_ref`` (25 °C, 0 °C, 10 lx), ``beta_k`` or ``gamma``; ``to_supply``: the sensor is the upper resistor.
    ``fixed_tolerance``: of that resistor as a share, where the part or its law asks for a better one than usual.
    ``low`` and ``high`` bound the quantity in ``unit``; ``tolerance`` is the sensor's own error as a share (resistive) or in
    the quantity's unit (linear).
    """

    kind: Literal["linear", "ntc", "pt", "ldr", "potentiometer", "force"]
    quantity: str
    unit: str
    low: float
    high: float
    zero_v: float = 0.0
    gain_v: float = 0.0
    ratiometric: bool = False
    r_fixed_ohm: float | None = None
    fixed_tolerance: float | None = None
    r_ref_ohm: float | None = None
    at_ref: float | None = None
    beta_k: float | None = None
    gamma: float | None = None
    to_supply: bool = False
    tolerance: float = 0.0
    bandwidth_hz: float | None = None
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Divided:
    """Resistors a maker builds before this line, for parts that are a circuit and no module.

    ``bottom_ohm`` lies from the line to ground [ohm]; ``top_ohm`` from what is measured to the line (``None``: it hangs there itself,
    a current through ``bottom_ohm``).  ``tolerance`` is a share.
    """

    bottom_ohm: float
    top_ohm: float | None = None
    tolerance: float = 0.01
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One wire from the part to the board; ``direction`` is as seen from the controller.

    ``role`` on a bus: SDA SCL | SCK MOSI MISO CS | TX RX (the controller's) | BCLK WS DOUT DIN | DATA.
    ``safe_level`` is what the line must have while the controller starts; ``quiet`` how strongly:
    ``must`` - somebody or something is hurt, wet or broken otherwise; ``prefer`` - a twitch or flicker.
    ``floats``: what the part does when nobody drives the line.
    ``i_in_a``: current the controller must give (safe side), ``r_in_ohm`` the load or source resistance.
    """

    name: str
    direction: Direction
    signal: Signal
    role: str = ""
    count: int = 1
    optional: bool = False
    vil: Level | None = None
    vih: Level | None = None
    vol: Level | None = None
    voh: Level | None = None
    v_max: Level | None = None
    i_in_a: float | None = None
    i_sink_a: float | None = None
    r_in_ohm: float | None = None
    c_in_f: float | None = None
    needs: Needs = Needs()
    rest: Literal["", "high", "low", "either", "pulses", "released", "analog"] = ""
    safe_level: Literal["any", "high", "low", "released"] = "any"
    quiet: Literal["no", "prefer", "must"] = "no"
    must_not: str = ""
    floating: str = ""
    floats: Literal["", "safe", "unsafe", "undefined"] = ""
    pull_fitted: PullFitted | None = None
    load: Load | None = None
    curve: Curve | None = None
    divided: Divided | None = None
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning that belongs to the part; tags ``mains``, ``fire``, ``heat``, ``battery`` are always shown."""

    tag: str
    text: str
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """A maintained software driver: ``language`` and the registry package that carries it.

    ``builtin``: it comes with the language runtime or core itself, nothing to install.
    ``only`` names the chips it runs on (empty: every chip that runs the language), ``not_on`` those it does not;
    ``covers`` the part or family
    the package names, where that is not this very part.
    """

    language: Language
    package: str
    builtin: bool = False
    only: tuple[str, ...] = ()
    not_on: tuple[str, ...] = ()
    covers: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A thing wired to the board.

    ``needs_no_driver``: plain reads, writes, PWM or an analog reading are all the software it takes.
    """

    id: str
    kind: str
    title: str
    form: str = ""
    mpn: str = ""
    maker: str = ""
    keywords: tuple[str, ...] = ()
    supply_v: PartSupply
    current_a: PartCurrent = PartCurrent()
    i2c: I2cFacts | None = None
    spi: SpiFacts | None = None
    uart: UartFacts | None = None
    module_pull_up: Fact | None = None
    facts: dict[str, Fact] = field(default_factory=dict)
    caution: tuple[Caution, ...] = ()
    driver: tuple[Driver, ...] = ()
    needs_no_driver: bool = False
    line: tuple[PartLine, ...] = ()
    see: str = ""
    unknown: tuple[str, ...] = ()
    note: str = ""
    family: str = ""
    source: tuple[Source, ...] = ()
