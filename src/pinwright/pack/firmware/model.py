"""The programme of a device, in no language yet: what each pin is, in which order it is set up, and how a reading becomes a quantity.

Every text that comes from a brief (``words``, ``title``, ...) is raw: escape it with ``names`` where it is written.
``name`` is an identifier in upper case that is safe in Python and C++ with or without a suffix; ``snake`` the same in lower case.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "Analog",
    "Bus",
    "BusDevice",
    "Conversion",
    "Dac",
    "Device",
    "DriverNote",
    "Echo",
    "Encoder",
    "Pin",
    "PinKind",
    "Program",
    "Pwm",
    "Sleep",
    "Step",
    "WakePin",
]

PinKind = Literal[
    "output",
    "select",
    "open-drain",
    "pwm",
    "pulse-out",
    "dac",
    "input",
    "counter",
    "pulses",
    "echo",
    "encoder",
    "analog",
    "touch",
    "bus",
    "one-wire",
    "pulse-data",
]
"""What a pin is to firmware.

``select``: chip select of an SPI part; ``open-drain``: pulls low or lets go, and reads; ``pulse-out``: exact pulses (pixels, infrared);
``counter``: no pulse may be lost; ``pulses``: other pulses that come in; ``pulse-data``: exact pulses both ways on one wire.
"""


@dataclass(frozen=True, slots=True)
class Pin:
    """One used pad.

    ``lines``: ids of the lines on it (several on a bus); ``words`` names them for people.
    ``first_level``: level written before the pin becomes an output (``None``: not driven); ``active_level``: level that switches the
    part on; ``must_stay_off``: somebody or something is hurt otherwise, so firmware switches it on command only.
    ``rest_level``: level while nothing happens (``None``: either, or not known).
    ``pull``: pull inside the chip to turn on; ``interrupt``: edge it must answer to; ``must_interrupt``: polling is not enough;
    ``debounce_s``: time a contact may bounce [s], 0 where nothing bounces.
    ``is_lamp``: an LED or lamp that may blink to show that the firmware runs.
    ``reasons``: why this pin and this circuit, in short sentences.  ``can_interrupt``: the pad can raise an interrupt at all.
    """

    name: str
    label: str
    pad: str
    gpio: int | str
    lines: tuple[str, ...]
    part: str
    words: str
    kind: PinKind
    first_level: int | None = None
    active_level: int | None = None
    must_stay_off: bool = False
    rest_level: int | None = None
    pull: Literal["none", "up", "down"] = "none"
    interrupt: Literal["none", "rising", "falling", "both"] = "none"
    must_interrupt: bool = False
    debounce_s: float = 0.0
    wake: bool = False
    is_lamp: bool = False
    reasons: tuple[str, ...] = ()
    can_interrupt: bool = True

    @property
    def snake(self) -> str:
        """The name in lower case."""
        return self.name.lower()

    @property
    def is_driven(self) -> bool:
        """Whether firmware drives it by itself (not through a bus)."""
        return self.first_level is not None


@dataclass(frozen=True, slots=True)
class Pwm:
    """A PWM output.

    ``hz`` [Hz] as planned, ``low_hz`` to ``high_hz`` what the part accepts; ``bits``: duty resolution the pool reaches at ``hz``;
    ``inverted``: the stage turns the duty round, so off is a steady high; ``tone``: a square wave is all it takes.
    ``pulse_s``: shortest and longest pulse of a servo [s]; ``pool``, ``timer``, ``channel``: what makes it; ``software``: interrupts do;
    ``counter_bits`` and ``clock_hz`` [Hz] of the timer, 0 where not known.
    """

    pin: Pin
    hz: float
    low_hz: float | None
    high_hz: float | None
    bits: int
    pool: str
    timer: str
    channel: str = ""
    inverted: bool = False
    tone: bool = False
    pulse_s: tuple[float, float] | None = None
    software: bool = False
    counter_bits: int = 0
    clock_hz: float = 0.0


@dataclass(frozen=True, slots=True)
class Conversion:
    """How volts at the line become the quantity; x is the voltage over ``feed_v``, R = the sensor's resistance [ohm].

    ``volts``: no law known, the voltage itself.   ``linear``: (V - ``zero``) / ``gain``, in volts.
    ``share``: (x - ``zero``) / ``gain``, shares of the sensor's supply.
    The others first take R from the divider: R = ``r_fixed_ohm`` x / (1 - x), or (1 - x) / x where the sensor leads ``to_supply``.
    ``ntc``: 1/T = 1/T0 + ln(R / ``r_ref_ohm``) / ``beta_k``, kelvin, T0 = ``at_ref`` in °C [EPCOS, Standardized R/T Characteristics].
    ``pt``: R / ``r_ref_ohm`` = 1 + A t + B t^2 (below 0 °C + C (t - 100) t^3) turned round [IEC 60751].
    ``ldr``: ``at_ref`` (``r_ref_ohm`` / R)^(1 / ``gamma``) [lx].
    ``low``, ``high``: what can be read, in ``unit``: the part's range as far as the converter reaches.
    ``is_resistive``: an open or shorted sensor shows as a share of the supply near 0 or 1.
    """

    kind: Literal["volts", "linear", "share", "ntc", "pt", "ldr"]
    quantity: str
    unit: str
    low: float
    high: float
    feed_v: float
    zero: float = 0.0
    gain: float = 1.0
    r_fixed_ohm: float = 0.0
    r_ref_ohm: float = 0.0
    at_ref: float = 0.0
    beta_k: float = 0.0
    gamma: float = 1.0
    to_supply: bool = False

    @property
    def is_resistive(self) -> bool:
        """Whether the sensor is a resistor in a divider."""
        return self.kind in ("ntc", "pt", "ldr")


@dataclass(frozen=True, slots=True)
class Analog:
    """An analog input.

    ``unit``, ``channel``, ``bits``: converter; ``range_name``: its input range, whose highest code stands for ``full_v`` [V];
    ``reads_v``: what the range reads right [V]; ``is_supply``: the range is the board's own supply, so a divider on it cancels.
    ``ratio``: volts at the line for a volt at the pin (divider).  ``samples``: readings to average.
    ``points``: two (shown, true) pairs in the quantity's unit; equal pairs change nothing, the maker writes measured ones.
    """

    pin: Pin
    unit: int
    channel: int
    bits: int
    range_name: str
    full_v: float
    reads_v: tuple[float, float]
    is_supply: bool
    ratio: float
    conversion: Conversion
    points: tuple[tuple[float, float], tuple[float, float]]
    samples: int = 16
    blocked_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Dac:
    """A real analog output: ``bits`` over 0 to ``full_v`` [V]."""

    pin: Pin
    unit: str
    bits: int
    full_v: float


@dataclass(frozen=True, slots=True)
class DriverNote:
    """A maintained driver of a part: ``builtin`` comes with the runtime or core."""

    language: str
    package: str
    builtin: bool
    note: str


@dataclass(frozen=True, slots=True)
class Device:
    """One part of the brief with its pins; ``mpn`` is the maker's part number; ``drivers``: those that run on this chip."""

    name: str
    words: str
    kind: str
    title: str
    mpn: str
    pins: tuple[Pin, ...]
    drivers: tuple[DriverNote, ...] = ()
    needs_no_driver: bool = False

    def driver(self, language: str) -> DriverNote | None:
        """First driver in a language, what is built in before what must be installed."""
        fitting = [driver for driver in self.drivers if driver.language == language]
        return next((d for d in fitting if d.builtin), fitting[0] if fitting else None)


@dataclass(frozen=True, slots=True)
class BusDevice:
    """A part on a bus: 7-bit ``address`` on I2C, ``select`` pin and clock ``modes`` on SPI; ``max_hz`` what it follows [Hz]."""

    name: str
    words: str
    title: str
    address: int | None = None
    select: Pin | None = None
    modes: tuple[int, ...] = ()
    max_hz: float = 0.0


@dataclass(frozen=True, slots=True)
class Bus:
    """A bus: ``instance`` as the chip's maker calls it, ``number`` in it (``None`` where it has none); ``pins`` by role.

    ``hz``: clock all parts follow [Hz], or the rate [Bd] of a UART; ``software``: bit-banged; ``console``: the boot log's port.
    """

    name: str
    words: str
    kind: Literal["i2c", "spi", "uart", "i2s"]
    instance: str
    number: int | None
    hz: float
    pins: tuple[tuple[str, Pin], ...]
    devices: tuple[BusDevice, ...]
    software: bool = False
    console: bool = False
    frame: str = "8N1"

    @property
    def snake(self) -> str:
        """The name in lower case."""
        return self.name.lower()

    def pin(self, role: str) -> Pin | None:
        """Pin of a role (SDA, SCL, SCK, MOSI, MISO, TX, RX, BCLK, WS, DOUT, DIN)."""
        return next((pin for name, pin in self.pins if name == role), None)


@dataclass(frozen=True, slots=True)
class Echo:
    """A distance sensor by sound: a short high on ``trigger``, then ``echo`` is high as long as the sound travels there and back."""

    name: str
    words: str
    trigger: Pin
    echo: Pin

    @property
    def snake(self) -> str:
        """The name in lower case."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Encoder:
    """A rotary encoder on two pins."""

    name: str
    words: str
    a: Pin
    b: Pin

    @property
    def snake(self) -> str:
        """The name in lower case."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class WakePin:
    """A pin that wakes the chip, and the level that does (``None``: any change)."""

    pin: Pin
    level: int | None


@dataclass(frozen=True, slots=True)
class Sleep:
    """Deep sleep as the brief asks and the chip offers.

    ``every_s``, ``awake_s`` [s]: ``None`` where the brief names none.  ``is_reset``: firmware starts anew after it.
    ``hold``: driven pins that must keep their level and only do so where firmware latches them; ``keep_pulls``: pins whose inside pull
    must stay on.  ``levels`` and ``alone``: whether wake pins may have levels of their own, all but ``alone`` of them;
    ``low``: whether those that share a level wake on ``any`` low or only when ``all`` are.
    ``timer_pad`` must be wired to ``timer_to``, or the timer cannot wake it.
    """

    wake: tuple[WakePin, ...]
    every_s: float | None
    awake_s: float | None
    is_reset: bool
    hold: tuple[Pin, ...]
    keep_pulls: tuple[Pin, ...]
    levels: Literal["any", "one-level-for-all"]
    alone: int
    low: Literal["any", "all"]
    wake_pins_max: int | None
    limits: str
    timer_pad: str
    timer_to: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the self-test: ``name`` of a pin, bus, echo or encoder; what to ``do`` and what to ``expect``.

    ``is_load``: it must stay off by itself, so the maker is asked before it is switched.
    """

    kind: Literal[
        "input", "counter", "encoder", "echo", "analog", "touch", "bus", "one-wire", "pulse-data", "output", "pwm", "pulse-out", "dac"
    ]
    name: str
    words: str
    do: str
    expect: str
    is_load: bool = False


@dataclass(frozen=True, slots=True)
class Program:
    """Everything firmware for one plan must know.

    ``pins`` in the order of the brief; ``set_up``: the same pins in the order they are set up (see ``program``).
    ``left_out``: what the chip or plan cannot do, in sentences.  ``languages``: those that run on the chip; ``packages``: language and
    registry package that shows it, from the chip's facts.
    """

    title: str
    board: str
    board_id: str
    chip: str
    logic_v: float
    languages: tuple[str, ...]
    packages: tuple[tuple[str, str], ...]
    radio: tuple[str, ...]
    pins: tuple[Pin, ...]
    set_up: tuple[Pin, ...]
    devices: tuple[Device, ...]
    pwms: tuple[Pwm, ...] = ()
    analogs: tuple[Analog, ...] = ()
    dacs: tuple[Dac, ...] = ()
    buses: tuple[Bus, ...] = ()
    echoes: tuple[Echo, ...] = ()
    encoders: tuple[Encoder, ...] = ()
    sleep: Sleep | None = None
    steps: tuple[Step, ...] = ()
    left_out: tuple[str, ...] = ()
    console_taken: bool = False

    def of(self, *kinds: PinKind) -> tuple[Pin, ...]:
        """Pins of these kinds, in the order of the brief."""
        return tuple(pin for pin in self.pins if pin.kind in kinds)

    def feed_of(self, pin: Pin) -> Pin | None:
        """The one output of an analog pin's part that switches its measuring on, where there is one that may move freely."""
        own = [other for other in self.of("output") if other.part == pin.part] if pin.kind == "analog" else []
        return own[0] if len(own) == 1 and not own[0].must_stay_off else None

    def device_of(self, pin: Pin) -> Device:
        """The part a pin belongs to (the first, on a bus)."""
        return next(device for device in self.devices if pin in device.pins)
