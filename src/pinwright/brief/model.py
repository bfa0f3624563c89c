"""The brief: what the maker asks for.  These classes *are* the file format.

A key in the file is a field here (or its alias, where the field name carries a unit the file does not).
Quantities are strings with a unit, see ``quantities``.  ``reader`` turns a file into a ``Brief``;
``schema`` turns these classes into a JSON Schema for editors.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, WithJsonSchema

from pinwright.brief.fitted import EXAMPLES, parse_accuracy, parse_fitted
from pinwright.quantities import UNITS, QuantityError, parse_quantity

__all__ = ["BoardWish", "Brief", "BriefLine", "BriefPart", "LineWish", "Supply", "Use"]


def _reads(unit: str, bare: bool = False) -> BeforeValidator:
    """Reads a text such as ``400 mA`` into a float in SI units; ``bare``: a text without a unit counts in the unit itself."""

    def read(value: Any) -> float:
        if bare and isinstance(value, int | float) and not isinstance(value, bool):
            value = f"{value:.12g}"
        if isinstance(value, str):
            if bare and re.fullmatch(r"\s*\d{1,9}([.,]\d{1,9})?\s*", value):
                return parse_quantity(f"{value.strip()} {unit}", unit)
            return parse_quantity(value, unit)
        if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e15:
            raise QuantityError(f'{value:.12g} has no unit. Write it in quotes, like "{UNITS[unit].example}".')
        raise QuantityError(f'A quantity is wanted here: a text like "{UNITS[unit].example}".')

    return BeforeValidator(read)


def _text(unit: str) -> dict[str, Any]:
    return {"type": "string", "examples": [UNITS[unit].example]}


Amperes = Annotated[float, _reads("A"), WithJsonSchema(_text("A"))]
Volts = Annotated[float, _reads("V"), WithJsonSchema(_text("V"))]
Metres = Annotated[float, _reads("m"), WithJsonSchema(_text("m"))]
Hertz = Annotated[float, _reads("Hz"), WithJsonSchema(_text("Hz"))]
Ohms = Annotated[float, _reads("ohm"), WithJsonSchema(_text("ohm"))]
StockOhms = Annotated[float, _reads("ohm", bare=True), WithJsonSchema(_text("ohm"))]
Seconds = Annotated[float, _reads("time"), WithJsonSchema(_text("time"))]
AmpereHours = Annotated[float, _reads("Ah"), WithJsonSchema(_text("Ah"))]
Celsius = Annotated[float, _reads("degC"), WithJsonSchema(_text("degC"))]
Baud = Annotated[float, _reads("Bd"), WithJsonSchema(_text("Bd"))]


def _as_range(value: Any) -> Any:
    """One frequency means exactly that one; two are the lowest and the highest that work."""
    return [value, value] if isinstance(value, str) else value


def _as_list(value: Any) -> Any:
    if value == "none":
        return []
    return [value] if isinstance(value, str) else value


def _as_address(value: Any) -> Any:
    """Bus addresses may be written 0x40 (a TOML number) or "0x40"."""
    if isinstance(value, str):
        try:
            return int(value, 0)
        except ValueError:
            written = value if len(value) <= 40 else value[:39] + "…"
            raise ValueError(f"{written!r} is not an address. Write it like 0x40.") from None
    return value


def _seven_bits(value: int) -> int:
    if _LOWEST_ADDRESS <= value <= _HIGHEST_ADDRESS:
        return value
    written = f"0x{value:02X}" if 0 <= value < 0x10000 else "This number"
    eight = f" Written with 8 bits, as some data sheets do? Then it is 0x{value >> 1:02X}." if 0xF0 > value > _HIGHEST_ADDRESS else ""
    raise ValueError(f"{written} is not possible: a bus address has 7 bits, 0x03 to 0x77.{eight}")


_LOWEST_ADDRESS, _HIGHEST_ADDRESS = 0x03, 0x77
_ADDRESS_SCHEMA = {
    "anyOf": [
        {"type": "integer", "minimum": _LOWEST_ADDRESS, "maximum": _HIGHEST_ADDRESS},
        {"type": "string", "pattern": "^\\s*(0[xX][0-9A-Fa-f_]+|0[bB][01_]+|0[oO][0-7_]+|[1-9][0-9_]*)\\s*$"},
    ],
    "examples": ["0x40"],
}
_RANGE_SCHEMA = {"anyOf": [_text("Hz"), {"type": "array", "items": _text("Hz"), "minItems": 2, "maxItems": 2}]}


def _is_fitted(value: str) -> str:
    parse_fitted(value)
    return value


def _is_accuracy(value: str) -> str:
    parse_accuracy(value)
    return value


FittedText = Annotated[str, AfterValidator(_is_fitted), WithJsonSchema({"type": "string", "examples": list(EXAMPLES.values())})]
AccuracyText = Annotated[str, AfterValidator(_is_accuracy), WithJsonSchema({"type": "string", "examples": ["0.5 degC"]})]
HertzRange = Annotated[tuple[Hertz, Hertz], BeforeValidator(_as_range), WithJsonSchema(_RANGE_SCHEMA)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Address = Annotated[int, BeforeValidator(_as_address), AfterValidator(_seven_bits), WithJsonSchema(_ADDRESS_SCHEMA)]
Radio = Literal["wifi", "ble", "bluetooth-classic", "802.15.4"]
_RADIO_SCHEMA = {
    "anyOf": [
        {"type": "string", "enum": ["none", *get_args(Radio)]},
        {"type": "array", "items": {"type": "string", "enum": list(get_args(Radio))}},
    ]
}
Radios = Annotated[tuple[Radio, ...], BeforeValidator(_as_list), WithJsonSchema(_RADIO_SCHEMA)]
PowerUp = Literal["must stay off", "may twitch", "any"]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False, strict=True)


class Supply(_Table):
    """Where the power comes from."""

    source: Literal["usb", "adapter", "battery", "lithium cell", "other"] = Field("usb", description="What feeds the device")
    voltage_v: Volts | None = Field(None, alias="voltage", description="Supply voltage, for example 5 V")
    current_a: Amperes | None = Field(None, alias="current", description="What the supply can give, for example 1 A")
    kind: str | None = Field(None, description="A supply of the catalogue: a cell, a charger, a USB port")
    pin: str | None = Field(None, description="Supply pin of the board it goes to, as printed; left out: the one that fits")
    cells: int | None = Field(None, ge=1, le=12, description="Cells in series")
    capacity_ah: AmpereHours | None = Field(None, alias="capacity", description="Charge of the battery, for example 2000 mAh")
    wire_m: Metres | None = Field(None, alias="wire", description="Length of wire from the supply to the device")


class Use(_Table):
    """How the device is used."""

    radio: Radios = Field((), strict=False, description="Radios that are on while the device works; the board must have them")
    sleeping: bool = Field(False, description="The device spends most of its time in deep sleep")
    ambient_c: tuple[Celsius, Celsius] | None = Field(
        None, alias="ambient", strict=False, description="Lowest and highest temperature around it"
    )
    wake_every_s: Seconds | None = Field(None, alias="wake_every", description="How often it wakes from sleep, for example 10 min")
    awake_for_s: Seconds | None = Field(None, alias="awake_for", description="How long it stays awake each time, for example 5 s")
    console: Literal["keep", "free"] = Field(
        "keep", description="keep: leave the pins of the boot log and upload port alone; free: they may be used"
    )
    usb: Literal["keep", "free", "device"] = Field(
        "keep",
        description=(
            "keep: leave the USB data pins alone; free: they may be used; device: the device is a keyboard, mouse or the like for a "
            "computer, through the board's own socket"
        ),
    )


class Firmware(_Table):
    """How the firmware will be written."""

    language: Literal["micropython", "circuitpython", "cpp"] | None = Field(
        None, description="Only boards that run it; leave out to let every board bring its best"
    )


class Stock(_Table):
    """Components already in the drawer: they are chosen first."""

    resistors: tuple[StockOhms, ...] = Field((), strict=False, description="Resistors at hand, a bare number in ohms: 330, 4k7, 10k")
    resistor_series: Literal["E6", "E12", "E24", "E48", "E96"] = Field("E24", description="Series to buy from where none at hand fits")
    resistor_tolerance: float = Field(5.0, gt=0, le=20, strict=False, description="Tolerance of the resistors in percent")
    parts: tuple[str, ...] = Field((), strict=False, description="Transistors and other catalogue parts at hand")


class BoardWish(_Table):
    """Which boards come into question."""

    only: tuple[str, ...] = Field((), strict=False, description="Consider these boards and no others")
    prefer: tuple[str, ...] = Field((), strict=False, description="Take one of these if it can do the job")
    avoid: tuple[str, ...] = Field((), strict=False, description="Do not take these")
    own: tuple[str, ...] = Field((), strict=False, description="Boards already in the drawer: they cost nothing")
    budget: str | None = Field(None, description="Most the board may cost, with the currency of your price list: 12 EUR")
    max_length_m: Metres | None = Field(None, alias="max_length", description="Longest board that fits, for example 60 mm")
    max_width_m: Metres | None = Field(None, alias="max_width", description="Widest board that fits, for example 30 mm")


class LineWish(_Table):
    """What a line needs, where it differs from what the catalogue says of its kind."""

    interrupt: Literal["no", "optional", "yes"] | None = Field(None, description="Must the pin raise an interrupt?")
    wake: bool | None = Field(None, description="Must the line wake the board from deep sleep?")
    pull: Literal["none", "up", "down"] | None = Field(None, description="Resistor that defines the level at rest")
    pull_resistor_ohm: Ohms | None = Field(None, alias="pull_resistor", description="Its value; fits a real resistor, 4k7")
    pwm: HertzRange | None = Field(None, strict=False, description="PWM frequency, or lowest and highest that work")
    pwm_bits: int | None = Field(None, ge=1, le=20, description="Steps of duty as a power of two")
    pwm_channel: int | None = Field(
        None, ge=0, le=63, description="Number of the PWM channel finished firmware uses; check holds it to the timers"
    )
    adc_bits: int | None = Field(None, ge=1, le=24, description="Resolution the reading needs")
    exact_pulses: bool | None = Field(None, description="Pulses with microsecond timing")
    count_pulses: bool | None = Field(None, description="No pulse may be lost")
    current_a: Amperes | None = Field(None, alias="current", description="Current the pin must give or take")
    source_resistance_ohm: Ohms | None = Field(
        None, alias="source_resistance", description="Resistance an analog source looks like, for example 500k"
    )
    accuracy: AccuracyText | None = Field(None, description="Largest error a reading may have, in its own unit: 0.5 degC")
    power_up: PowerUp | None = Field(None, description="What must hold until the firmware is in charge")
    off_level: Literal["low", "high", "released"] | None = Field(None, description="Level at which the part is off")


class BriefLine(LineWish):
    """A line of a part of the maker's own, from its data sheet."""

    name: Name = Field(description="Name of the line, as printed on the part")
    direction: Literal["in", "out", "bidir", "open-drain", "analog-in", "analog-out"] = Field(
        description="As seen from the board: in means the board reads it"
    )
    signal: Literal["digital", "pwm", "analog", "i2c", "spi", "uart", "onewire", "pulse", "i2s", "touch"] = Field(
        description="What runs over it"
    )
    role: Literal["", "SDA", "SCL", "SCK", "MOSI", "MISO", "CS", "TX", "RX", "BCLK", "WS", "DOUT", "DIN", "MCLK", "DATA"] = Field(
        "", description="Its role on a bus; TX and RX are the board's"
    )
    takes_high_from_v: Volts | None = Field(None, alias="takes_high_from", description="Lowest level the part reads as high")
    takes_low_up_to_v: Volts | None = Field(None, alias="takes_low_up_to", description="Highest level it reads as low")
    gives_high_of_v: Volts | None = Field(None, alias="gives_high_of", description="Lowest high the part drives")
    gives_low_of_v: Volts | None = Field(None, alias="gives_low_of", description="Highest low the part drives")
    highest_v: Volts | None = Field(None, alias="highest", description="Highest voltage the line can carry")
    rest: Literal["", "high", "low", "either", "pulses", "released"] = Field("", description="Level while nothing happens")
    floats: Literal["", "safe", "unsafe"] = Field("", description="What the part does when nobody drives the line")


class BriefPart(_Table):
    """A thing to wire to the board: of a kind the catalogue knows, or described line by line."""

    name: Name = Field(description="Your own name for it")
    kind: str | None = Field(None, description="Its kind in the catalogue; leave out and give [[part.line]] for your own")
    count: int = Field(1, ge=1, le=64, description="How many of them")
    wire_m: Metres | None = Field(None, alias="wire", description="Length of wire to the board, for example 2 m")
    supply_v: Volts | None = Field(None, alias="supply", description="Voltage you feed it with")
    current_a: Amperes | None = Field(None, alias="current", description="Current it draws")
    power_up: PowerUp | None = Field(None, description="What must hold until the firmware is in charge")
    pins: dict[str, str] = Field({}, description="Lines you have already fixed: line = pin label or pad name")
    connect: tuple[str, ...] = Field((), strict=False, description="Optional lines to wire as well")
    leave_out: tuple[str, ...] = Field((), strict=False, description="Lines to leave unconnected")
    wires: dict[str, Annotated[int, Field(ge=0, le=64)]] = Field({}, description="How many of a repeated line to wire")
    ports: dict[str, Literal["in", "out"]] = Field(
        {}, description='What you use the pins of an expander as: GPA0 = "in", GPB0 = "out"; in means the expander reads'
    )
    switched: bool = Field(False, description="Its supply is switched off while the device sleeps")
    fitted: dict[str, Annotated[tuple[FittedText, ...], Field(strict=False)]] = Field(
        {},
        description=(
            "What is really fitted between pin and part, line by line, for `check` (`plan` ignores it): "
            'ECHO = ["divider 10k over 20k"]; [] is a straight wire, and a line not named is taken to have what it needs. '
            "Words: pull-up R, pull-up R to 5 V, pull-down R, series R, divider R over R (the one at the part first), "
            "capacitor C, level shifter, transistor, diode, module pull-up off (you took it off the module). "
            "On a bus the pull-ups are those in the lists, once one of its parts has a list"
        ),
    )
    address: Address | None = Field(None, description="Its bus address, if you have set one")
    baud: Baud | None = Field(None, description="Its serial rate, for a part of your own")
    speed_hz: Hertz | None = Field(None, alias="speed", description="Bus clock it needs at most, for a part of your own")
    change: dict[str, LineWish] = Field({}, description="[part.change.LINE]: what a line needs, where it differs")
    line: tuple[BriefLine, ...] = Field((), strict=False, description="[[part.line]]: the lines of a part of your own")


class Brief(_Table):
    """A whole brief."""

    title: Name = Field(description="What the device is")
    supply: Supply = Field(default_factory=lambda: Supply.model_validate({}), description="Where the power comes from")
    use: Use = Field(default_factory=lambda: Use.model_validate({}), description="How the device is used")
    stock: Stock = Field(default_factory=lambda: Stock.model_validate({}), description="Components already in the drawer")
    firmware: Firmware = Field(default_factory=lambda: Firmware.model_validate({}), description="How the firmware will be written")
    board: BoardWish = Field(default_factory=lambda: BoardWish.model_validate({}), description="Which boards come into question")
    part: tuple[BriefPart, ...] = Field(min_length=1, strict=False, description="[[part]]: everything wired to the board")
