"""What the catalogue can say: chips with their pads, boards with their pins, parts with their lines.

Every number carries where it comes from.  Floats are in SI units and the key ends in the unit
(``pull_up_ohm``, ``i_pin_source_max_a``); prefixes such as kΩ or mA exist only where people read.

The classes are plain frozen dataclasses.  ``facts.loader`` fills them from TOML, ``facts.validate``
checks what a type cannot say (that a source exists, that a header pin names a real pad, …).
The file format is exactly these classes: a key in a file is a field here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

__all__ = [
    "AdcChannel",
    "AdcRange",
    "AdcUnit",
    "Board",
    "BoardPin",
    "BoardSupply",
    "BootMode",
    "BootState",
    "BusInstance",
    "Caution",
    "Chip",
    "Cite",
    "CurrentGroup",
    "Driver",
    "Electrical",
    "Erratum",
    "Fact",
    "I2cFacts",
    "Level",
    "Needs",
    "Onboard",
    "OtherValue",
    "Pad",
    "Part",
    "PartCurrent",
    "PartLine",
    "PartSupply",
    "PullFitted",
    "PulseEngine",
    "PwmPool",
    "PwmUse",
    "Reserve",
    "Seen",
    "Source",
    "SpiFacts",
    "Strap",
    "UartFacts",
]

Seen = Literal["read", "memory"]
"""``read``: the named place was read.  ``memory``: recalled, not looked up."""

PullDirection = Literal["up", "down", "none"]
LogicLevel = Literal["high", "low"]
BootPadState = Literal["float", "pull-up", "pull-down", "high", "low", "noisy"]
Direction = Literal["in", "out", "bidir", "open-drain", "analog-in", "analog-out"]
Signal = Literal["digital", "pwm", "analog", "i2c", "spi", "uart", "onewire", "pulse", "i2s", "touch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A document facts are taken from."""

    id: str
    title: str
    revision: str = ""
    seen: Seen
    url: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cite:
    """Where one claim comes from: source id, place in it, and whether that place was read."""

    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherValue:
    """What another source says about the same thing; kept beside the value in use."""

    value: float | None = None
    text: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One number with its condition and source.

    ``value`` is the figure to calculate with; ``min``/``typ``/``max`` give a spread where one is known.
    ``also`` keeps disagreeing sources; ``chosen`` then says why the value in use is the safer one,
    and ``safer`` which side is safe, so that a check can compare them.
    """

    value: float | None = None
    min: float | None = None
    typ: float | None = None
    max: float | None = None
    unit: str = ""
    text: str = ""
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"
    safer: Literal["", "low", "high"] = ""
    also: tuple[OtherValue, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A voltage on the straight line ``frac`` x supply + ``v``  [V].

    ``of`` names the supply (``"VCC"`` is the part's own, ``"VDD"`` the chip's).
    ``{ v = 0.4 }`` is a fixed level, ``{ frac = 0.7 }`` a share, ``{ frac = 1, v = -1.5 }`` supply less 1.5 V.
    """

    v: float = 0.0
    frac: float = 0.0
    of: str = ""
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"
    also: tuple[OtherValue, ...] = ()
    chosen: str = ""

    def at(self, supply_v: float) -> float:
        """Voltage [V] when the named supply stands at ``supply_v`` [V]."""
        return self.frac * supply_v + self.v


# --------------------------------------------------------------------------- chip


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcChannel:
    """Which converter a pad reaches."""

    unit: int
    channel: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PwmUse:
    """A PWM pool a pad can take, and which of its channels (empty: any free one)."""

    pool: str
    channel: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strap:
    """A level the chip reads from this pad at reset.

    ``run`` is what normal start needs, ``download`` what the loader needs; ``any`` means no care.
    """

    run: Literal["high", "low", "any"]
    download: Literal["high", "low", "any"] = "any"
    internal: PullDirection = "none"
    why: str = ""
    external: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class BootState:
    """What the pad does in one stretch between power-on and the first line of firmware, in order of time.

    ``duration_s`` [s] where a document gives it, ``None`` where nobody says.
    """

    state: BootPadState
    duration_s: float | None = None
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """One I/O pad of the chip, exposed on a board or not."""

    gpio: int | str
    name: str
    names: tuple[str, ...] = ()
    package_pin: int | None = None
    input: bool
    output: bool
    pull_up: bool
    pull_down: bool
    open_drain: bool = False
    analog_only: bool = False
    interrupt: bool = False
    interrupt_line: str = ""
    wake: tuple[str, ...] = ()
    adc: AdcChannel | None = None
    dac: str = ""
    touch: str = ""
    pwm: tuple[PwmUse, ...] = ()
    functions: tuple[str, ...] = ()
    reserved: Literal["", "flash", "psram", "usb", "crystal", "debug", "reset", "power", "radio", "unbonded"] = ""
    reserved_why: str = ""
    strap: Strap | None = None
    boot: tuple[BootState, ...] = ()
    source_max_a: Fact | None = None
    sink_max_a: Fact | None = None
    note: str = ""
    limits: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrical:
    """Levels, currents and pulls of ordinary pads."""

    vdd_min_v: Fact
    vdd_typ_v: Fact
    vdd_max_v: Fact
    vil_max: Level
    vih_min: Level
    vol_max: Level
    voh_min: Level
    vin_max: Level
    i_pin_source_max_a: Fact
    i_pin_sink_max_a: Fact
    i_pin_design_a: Fact
    i_total_max_a: Fact | None = None
    i_leak_max_a: Fact | None = None
    pull_up_ohm: Fact | None = None
    pull_down_ohm: Fact | None = None
    tolerates_5v: bool = False
    adc_input_max_v: Fact | None = None
    cite: Cite = Cite()


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentGroup:
    """Pads whose currents are limited together (a supply domain or a port group)."""

    id: str
    pads: tuple[int | str, ...]
    pin_source_max_a: float | None = None
    sum_source_max_a: float | None = None
    sum_sink_max_a: float | None = None
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"
    also: tuple[OtherValue, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcRange:
    """One input range of a converter.  Voltages in [V]."""

    name: str
    v_min_v: float
    v_max_v: float
    error_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcUnit:
    """One analog-to-digital converter; ``blocked_by`` names the radios that take it away."""

    unit: int
    bits: int
    blocked_by: tuple[str, ...] = ()
    ranges: tuple[AdcRange, ...]
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PwmPool:
    """PWM generators that share something.

    ``timers`` frequencies can run at once and ``channels`` outputs at most (channel limits by name come
    from ``Pad.pwm``).  A timer with one frequency for all its channels is a pool with ``timers = 1``.
    ``fixed_hz`` [Hz]: the firmware core's clock owns the timer and its frequency must stay.
    ``hz_choices`` [Hz]: the only frequencies there are (a prescaler without an adjustable top); empty: any in range.
    ``timer_id`` joins pools that use one and the same hardware timer in different ways.
    """

    id: str
    kind: Literal["hardware", "software"] = "hardware"
    timers: int = 1
    channels: int
    clock_hz: float
    counter_bits: int
    divider_max: float = 1.0
    hz_min_hz: float | None = None
    hz_max_hz: float | None = None
    fixed_hz: float | None = None
    hz_choices: tuple[float, ...] = ()
    timer_id: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class BusInstance:
    """One UART, I2C, SPI, I2S or CAN block.

    ``wiring``: ``fixed`` - only on pads whose ``functions`` list the name in ``roles``; ``matrix`` - any pad;
    ``software`` - bit-banged on any pad.  ``roles`` maps TX RX | SDA SCL | SCK MOSI MISO | BCLK WS DOUT DIN
    to function names; a role left out does not exist on this instance.
    ``console``: the boot log or the usual upload port; ``max_hz`` is a clock or a baud rate.
    ``block`` joins instances that are the same hardware used differently.
    """

    id: str
    kind: Literal["uart", "i2c", "spi", "i2s", "can"]
    wiring: Literal["fixed", "matrix", "software"]
    roles: dict[str, str] = field(default_factory=dict)
    count: int = 1
    max_hz: float
    console: bool = False
    block: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseEngine:
    """Hardware (or honest software) that makes, catches or counts exact pulses."""

    id: str
    kind: Literal["hardware", "software"]
    gives: tuple[Literal["pulse-out", "pulse-in", "count"], ...]
    count: int
    blocked_by: tuple[str, ...] = ()
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class BootMode:
    """Strap levels that lead to one way of starting."""

    name: str
    levels: dict[str, str]
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Erratum:
    """A fault of the silicon, or of the usual firmware, that a plan must know.

    ``concerns`` names the uses of its ``pads`` it spoils (empty: no choice of pins avoids it), ``weight`` in risk marks;
    ``is_fatal``: the pads do not work at all for those uses.
    """

    id: str
    pads: tuple[int | str, ...] = ()
    concerns: tuple[Literal["interrupt", "analog-in", "output", "touch"], ...] = ()
    weight: int = 1
    is_fatal: bool = False
    effect: str
    workaround: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """A microcontroller, pad by pad.

    ``provenance`` gives the source of whole columns of the pad table: keys ``abilities``, ``interrupt``,
    ``wake``, ``adc``, ``dac``, ``touch``, ``pwm``, ``functions``, ``reserved``, ``boot``, ``strap``.
    """

    schema: Literal[1]
    part: str
    maker: str
    title: str
    variants: tuple[str, ...] = ()
    radio: tuple[str, ...] = ()
    clock_max_hz: float
    flash_bytes: int | None = None
    ram_bytes: int
    usb: Literal["none", "serial", "device", "host-device"] = "none"
    console: tuple[str, ...] = ()
    source: tuple[Source, ...]
    provenance: dict[str, Cite]
    electrical: Electrical
    group: tuple[CurrentGroup, ...] = ()
    adc: tuple[AdcUnit, ...] = ()
    dac_bits: int | None = None
    pwm: tuple[PwmPool, ...] = ()
    bus: tuple[BusInstance, ...] = ()
    engine: tuple[PulseEngine, ...] = ()
    boot_mode: tuple[BootMode, ...] = ()
    erratum: tuple[Erratum, ...] = ()
    pad: tuple[Pad, ...]
    unknown: tuple[str, ...] = ()
    note: tuple[str, ...] = ()


# -------------------------------------------------------------------------- board


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPin:
    """One header pin, with the label printed beside it.

    Exactly one of ``pad`` (the chip pad's name) and ``power`` (GND, 3V3, 5V, VIN, EN, RST, AREF, NC, …) is set.
    ``order`` counts from ``Board.order_from``; ``row`` is as seen from the component side.
    """

    row: str
    order: int
    label: str
    pad: str = ""
    power: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Onboard:
    """Something fitted on the board that touches a pad or a supply pin.

    ``drives``: it can drive the pad by itself (a USB-UART bridge's TXD, a sensor's output).
    ``series_ohm`` stands between it and the pad, ``ohm`` is a pull or load resistor, and a divider has
    ``r_top_ohm``/``r_bottom_ohm`` in [ohm].
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
    """Pads this board or its module takes away although the chip alone leaves them free."""

    pads: tuple[str, ...]
    use: Literal["flash", "psram", "usb", "crystal", "debug", "radio", "sensor", "power"]
    why: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A board a maker can buy, both header rows in order and everything that sits on it.

    ``cost_class`` 1 (cheapest) to 5 is indicative only, never a price.
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
    usb_end: str = ""
    keywords: tuple[str, ...] = ()
    source: tuple[Source, ...]
    provenance: dict[str, Cite]
    supply: tuple[BoardSupply, ...]
    header: tuple[BoardPin, ...]
    onboard: tuple[Onboard, ...] = ()
    reserve: tuple[Reserve, ...] = ()
    unknown: tuple[str, ...] = ()
    note: tuple[str, ...] = ()


# --------------------------------------------------------------------------- part


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
    """Bus address choices (7 bit) and speed [Hz]."""

    addresses: tuple[int, ...]
    default: int
    max_hz: float
    select: str = ""
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
    adc_bits: int | None = None
    exact_pulses: bool = False
    count_pulses: bool = False
    driver: str = ""
    driver_components: int = 0
    series_ohm: float | None = None


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
    """A maintained software driver: ``language`` and the registry package that carries it."""

    language: Literal["micropython", "circuitpython", "cpp"]
    package: str
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A thing wired to the board."""

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
    line: tuple[PartLine, ...] = ()
    see: str = ""
    unknown: tuple[str, ...] = ()
    note: str = ""
    family: str = ""
    source: tuple[Source, ...] = ()
