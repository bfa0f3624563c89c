"""A microcontroller, pad by pad: abilities, shared hardware, start-up and limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pinwright.facts.cited import BootPadState, Cite, Fact, Language, Level, OtherValue, PullDirection, Seen, Source

__all__ = [
    "AdcChannel",
    "AdcRange",
    "AdcUnit",
    "BootMode",
    "BootState",
    "BusInstance",
    "Chip",
    "CurrentGroup",
    "Electrical",
    "Erratum",
    "Firmware",
    "Pad",
    "PulseEngine",
    "PwmPool",
    "PwmUse",
    "SleepState",
    "StateCurrent",
    "Strap",
]


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

    ``duration_s`` [s] where a document gives it, ``None`` where nobody says.  ``reported``: people tell of it, no document confirms it;
    then it is a reason for caution and for another pin, not for a refusal.
    """

    state: BootPadState
    duration_s: float | None = None
    reported: bool = False
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """One I/O pad of the chip, exposed on a board or not.

    ``tolerates_5v``: stands 5 V while powered, under the conditions ``limits`` states.
    ``max_hz`` [Hz]: the maker allows nothing faster on this pad (``None``: no such limit); ``slow_for_radio``: only so
    that the radio beside it hears well.
    ``needs_setup``: what firmware or a fuse must change before the pad is an ordinary one, in words (empty: nothing).
    """

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
    tolerates_5v: bool = False
    max_hz: float | None = None
    slow_for_radio: bool = False
    needs_setup: str = ""
    note: str = ""
    limits: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrical:
    """Levels, currents and pulls of ordinary pads.

    ``voh_i_a``, ``vol_i_a`` [A]: the load at which ``voh_min`` and ``vol_max`` are promised; at a lighter load the
    output comes closer to its rail.  ``c_in_f``: what a pad adds to a wire.  ``brownout_v``: supply below which the
    chip resets itself.
    """

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
    voh_i_a: Fact | None = None
    vol_i_a: Fact | None = None
    c_in_f: Fact | None = None
    brownout_v: Fact | None = None
    cite: Cite | None = None


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
    """One analog-to-digital converter; ``blocked_by`` names the radios that take it away.

    ``c_sample_f`` and ``r_sample_ohm``: sampling capacitor and the switch before it; ``t_sample_s``: how long it samples in
    the usual firmware; ``r_source_max_ohm``: the most the maker allows before it.  ``inl_lsb``: bend of the curve [LSB];
    ``offset_v``, ``gain_error`` [share], ``reference_error`` [share]: before calibration.
    """

    unit: int
    bits: int
    blocked_by: tuple[str, ...] = ()
    ranges: tuple[AdcRange, ...]
    c_sample_f: Fact | None = None
    r_sample_ohm: Fact | None = None
    t_sample_s: Fact | None = None
    r_source_max_ohm: Fact | None = None
    inl_lsb: Fact | None = None
    offset_v: Fact | None = None
    gain_error: Fact | None = None
    reference_error: Fact | None = None
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
    ``square_only``: it makes square waves (tones) and no other duty.
    ``neighbours``: so many channels with numbers in a row get one timer where firmware names channels by number (1: none do).
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
    square_only: bool = False
    neighbours: int = 1
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
    ``never_inputs``: pads that must not be inputs while it works, although they carry none of its roles (a select input that
    takes the bus away).
    """

    id: str
    kind: Literal["uart", "i2c", "spi", "i2s", "can"]
    wiring: Literal["fixed", "matrix", "software"]
    roles: dict[str, str] = field(default_factory=dict)
    count: int = 1
    max_hz: float
    console: bool = False
    block: str = ""
    never_inputs: tuple[int | str, ...] = ()
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
    ``is_fatal``: the pads do not work at all for those uses; ``fatal_with_radio``: they do not while one of these radios is on.
    ``pull_down_max_ohm``: weakest resistor to ground that still makes a low on such a pad while it reads [ohm].
    """

    id: str
    pads: tuple[int | str, ...] = ()
    concerns: tuple[Literal["interrupt", "analog-in", "output", "touch", "pull-down"], ...] = ()
    weight: int = 1
    is_fatal: bool = False
    fatal_with_radio: tuple[str, ...] = ()
    pull_down_max_ohm: float | None = None
    effect: str
    workaround: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class StateCurrent:
    """What the chip draws from its supply in one state [A].

    ``typ_a`` usual, ``max_a`` worst (guaranteed or the largest seen); ``burst_s`` [s]: how long at a time, for bursts.
    ``radio`` names the radio a radio state belongs to.
    """

    state: Literal["awake", "radio-listen", "radio-send", "light-sleep", "deep-sleep"]
    typ_a: float | None = None
    max_a: float | None = None
    burst_s: float | None = None
    radio: str = ""
    cond: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class SleepState:
    """What pads do while the chip sleeps, and how a pad wakes it.

    ``pads``: outputs keep their level (``held``), let go (``released``), or keep it only where firmware latches them first
    (``held-if-asked``), which only ``hold_pads`` can (empty: all).  ``pulls``: the same for internal pulls.
    ``wake_is_reset``: firmware starts anew, and pads that are not held pass through their ``boot`` states again.
    ``wake_pins_max``: pads that may wake at once (``None``: all with the wake word, 0: none);
    ``wake_levels``: whether each may have a level of its own, all but ``wake_alone`` of them; ``wake_low``: whether those that share
    a level wake on ``any`` of them going low or only when ``all`` are; ``wake_limits``: what else to mind, in words.
    ``timer_wake_pad``: pad that must be wired to the supply pin ``timer_wake_to`` (RST, ...), or the timer cannot wake the chip.
    """

    state: Literal["light-sleep", "deep-sleep"]
    pads: Literal["held", "released", "held-if-asked"]
    hold_pads: tuple[int | str, ...] = ()
    pulls: Literal["kept", "lost", "kept-if-asked"]
    wake_is_reset: bool
    wake_limits: str
    wake_pins_max: int | None = None
    wake_levels: Literal["any", "one-level-for-all"] = "any"
    wake_alone: int = 0
    wake_low: Literal["any", "all"] = "any"
    timer_wake_pad: int | str | None = None
    timer_wake_to: str = ""
    note: str = ""
    src: str = ""
    where: str = ""
    seen: Seen = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Firmware:
    """A maintained language runtime or core a maker can put on the chip.

    ``package`` names a registry package that shows it exists.
    """

    language: Language
    package: str = ""
    note: str = ""
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
    current: tuple[StateCurrent, ...] = ()
    sleep: tuple[SleepState, ...] = ()
    firmware: tuple[Firmware, ...] = ()
    pad: tuple[Pad, ...]
    unknown: tuple[str, ...] = ()
    note: tuple[str, ...] = ()
