"""Pieces of a MicroPython programme: expressions for pins, PWM, converters and buses on one port, and what the port cannot do."""

from __future__ import annotations

from dataclasses import dataclass, field

from pinwright.pack.firmware.model import Analog, Bus, BusDevice, Dac, Echo, Pin, Program, Pwm
from pinwright.pack.firmware.names import plain, python_literal
from pinwright.pack.firmware.ports import AdcSetting, Port

__all__ = ["Sheet", "call", "number", "text_argument", "wrapped_call"]

WIDTH = 98
"""Columns of the programme (our choice; it must stay below 100)."""
_DRIVEN = ("output", "select", "pwm", "pulse-out")
_IRQ = {"rising": "Pin.IRQ_RISING", "falling": "Pin.IRQ_FALLING", "both": "Pin.IRQ_RISING | Pin.IRQ_FALLING"}


def number(value: float) -> str:
    """A figure as people write it: no power of ten in sight, always a float.

    >>> number(10000.0), number(0.6875), number(1 / 3)
    ('10000.0', '0.6875', '0.333333')
    """
    shown = f"{float(f'{value:.6g}'):f}".rstrip("0") if abs(value) >= 1e-4 or value == 0 else f"{value:.6g}"
    return f"{shown}0" if shown.endswith(".") else shown


def call(name: str, *arguments: str) -> str:
    """A call on one line."""
    return f"{name}({', '.join(argument for argument in arguments if argument)})"


def text_argument(text: str, most: int = 84) -> str:
    """A text as an argument: one literal, or several under each other where it is too long for a line.

    >>> print(text_argument("one two three", 10))
    "one two "
    "three"
    """
    rest, lines = plain(text), []
    while len(python_literal(rest)) > most:
        end = next(end for end in range(min(len(rest), most), 0, -1) if len(python_literal(rest[:end])) <= most or end == 1)
        space = rest.rfind(" ", 1, end)
        end = space + 1 if space > 0 else end
        lines.append(python_literal(rest[:end]))
        rest = rest[end:]
    return "\n".join([*lines, python_literal(rest)])


def wrapped_call(indent: str, head: str, name: str, arguments: tuple[str, ...], tail: str = "") -> list[str]:
    """A call on one line, or with its arguments on the next, or one argument a line, whichever fits first."""
    given = tuple(argument for argument in arguments if argument)
    if any("\n" in argument for argument in given):
        broken = [f"{indent}    {line}" for argument in given for line in f"{argument},".split("\n")]
        return [f"{indent}{head}{name}(", *broken, f"{indent}){tail}"]
    line = f"{indent}{head}{call(name, *given)}{tail}"
    if len(line) <= WIDTH:
        return [line]
    inner = f"{indent}    {', '.join(given)}"
    if len(inner) <= WIDTH:
        return [f"{indent}{head}{name}(", inner, f"{indent}){tail}"]
    return [f"{indent}{head}{name}(", *(f"{indent}    {argument}," for argument in given), f"{indent}){tail}"]


@dataclass
class Sheet:
    """What is gathered while a programme is written: helpers it needs, and what the port leaves out (by the name of pin or bus)."""

    program: Program
    port: Port
    pieces: set[str] = field(default_factory=set)
    tests: set[str] = field(default_factory=set)
    modules: set[str] = field(default_factory=set)
    classes: set[str] = field(default_factory=lambda: {"Pin"})
    without: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        port, program = self.port, self.program
        for pwm in program.pwms:
            if port.pwm_most_hz is not None and (pwm.low_hz or 0.0) > port.pwm_most_hz:
                most = f"{port.pwm_most_hz:g} Hz at most, the part wants {pwm.low_hz:g} Hz"
                self.without[pwm.pin.name] = f"{pwm.pin.words}: this runtime makes PWM of {most}; the pin stays an output, off."
        for bus in program.buses:
            why = self._no_bus(bus)
            if why:
                self.without[bus.name] = f"{bus.words}: {why}"
        for pin in program.pins:
            if pin.kind == "pulse-out" and self.driver_module(pin) not in self.port.modules:
                words = "this runtime makes no exact pulses by itself; its driver does, or none. The pin stays an output, off."
                self.without[f"pulses of {pin.name}"] = f"{pin.words}: {words}"
            why = self._no_pin(pin)
            if why:
                self.without[pin.name] = f"{pin.words}: {why}"

    def has(self, thing: Pin | Bus | Echo) -> bool:
        """Whether the port can do it."""
        return thing.name not in self.without

    def _no_bus(self, bus: Bus) -> str:
        port = self.port
        if bus.console:
            return f"{bus.instance} is the runtime's own console; it is left alone."
        if bus.kind == "i2s" and not port.i2s:
            return "this runtime has no I2S."
        if bus.kind == "uart" and bus.software:
            return "this runtime has no serial port in software."
        if bus.kind == "uart" and bus.number is None:
            return f"this runtime does not reach {bus.instance}."
        if bus.kind == "spi" and port.spi in ("soft", "fixed") and {role for role, _ in bus.pins} != {"SCK", "MOSI", "MISO"}:
            return "SPI in software wants all of SCK, MOSI and MISO here, and this bus has not got all."
        return ""

    def _no_pin(self, pin: Pin) -> str:
        port = self.port
        if pin.kind == "touch" and not port.touch:
            return "this runtime does not read touch pads."
        if pin.kind == "dac" and not port.dac:
            return "this runtime has no analog output on this chip."
        if pin.kind in ("one-wire", "pulse-data") and self.driver_module(pin) not in port.modules:
            return "this runtime brings no driver for its wire, so the pin is left alone."
        return ""

    def driver_module(self, pin: Pin) -> str:
        """Built-in module that drives the part on a pin; empty if none does."""
        driver = self.program.device_of(pin).driver("micropython")
        return driver.package if driver is not None and driver.builtin else ""

    # -- expressions ---------------------------------------------------------

    def pin_id(self, pin: Pin) -> str:
        """What names the pad to ``Pin``."""
        name = str(pin.gpio)
        if self.port.pin == "number":
            return name
        if self.port.pin == "port32":
            port, _, bit = name.removeprefix("P").partition(".")
            return str(int(port) * 32 + int(bit))
        return f"Pin.cpu.{name.removeprefix('P') if self.port.pin == 'cpu-short' else name}"

    def first(self, pin: Pin) -> str:
        """The pin as it is made: a driven one at its first level."""
        name = f"{pin.name}_PIN"
        # Said even where there is none: a pad may come out of reset with a pull of its own, and not every port takes it away.
        pull = {"up": "Pin.PULL_UP", "down": "Pin.PULL_DOWN", "none": "pull=None"}[pin.pull]
        hold = "hold=False" if self.is_held(pin) else ""
        if pin.kind in _DRIVEN:
            return call("Pin", name, "Pin.OUT", f"value={pin.first_level}", hold)
        if pin.kind in ("open-drain", "pulse-data", "one-wire"):
            if not self.port.open_drain:
                return call("Pin", name, "Pin.IN", pull)
            return call("Pin", name, "Pin.OPEN_DRAIN", pull, "value=1")
        return call("Pin", name, "Pin.IN", pull, hold)

    def is_held(self, pin: Pin) -> bool:
        """Whether the pin is latched in deep sleep, and let go at the start."""
        sleep = self.program.sleep
        return sleep is not None and self.port.sleep == "deep" and pin in (*sleep.hold, *sleep.keep_pulls)

    def pwm(self, pwm: Pwm) -> tuple[str, tuple[str, ...]]:
        """Class and arguments of a PWM output."""
        hz = str(round(min(pwm.hz, self.port.pwm_most_hz or pwm.hz)))
        pin = pwm.pin.snake
        if pwm.pulse_s is not None:
            self.pieces.add("Servo")
            return "kit.Servo", (pin, hz, *(str(round(t_s * 1e6)) for t_s in pwm.pulse_s))
        if pwm.tone:
            self.pieces.add("Tone")
            most = min(pwm.high_hz or pwm.hz, self.port.pwm_most_hz or float("inf"))
            return "kit.Tone", (pin, hz, str(round(pwm.low_hz or pwm.hz)), str(round(most)))
        self.pieces.add("Pwm")
        return "kit.Pwm", (pin, hz, "inverted=True" if pwm.inverted else "")

    def setting(self, analog: Analog) -> AdcSetting:
        """How the port sets the range of an analog input."""
        return self.port.adc.get(analog.range_name) or self.port.adc.get("") or AdcSetting(share=1.0)

    def adc(self, analog: Analog) -> str:
        """The converter's input."""
        self.classes.add("ADC")
        where = f"Pin({analog.pin.name}_PIN)" if self.port.adc_by == "pin" else f"{analog.pin.name}_CHANNEL"
        return call("ADC", where, self.setting(analog).arguments)

    def full_v(self, analog: Analog) -> str:
        """What the highest code stands for, as an expression."""
        setting = self.setting(analog)
        if setting.microvolts:
            return "None"
        if setting.full_v is not None:
            return number(setting.full_v)
        return "SUPPLY_V" if setting.share in (None, 1.0) else f"SUPPLY_V * {number(setting.share or 1.0)}"

    def dac(self, dac: Dac) -> tuple[str, tuple[str, ...]]:
        """Class and arguments of an analog output."""
        self.pieces.add("Dac")
        where = f"Pin({dac.pin.name}_PIN)" if self.port.dac == "pin" else "0"
        return "kit.Dac", (where, str(dac.bits), "SUPPLY_V")

    def bus(self, bus: Bus) -> tuple[str, tuple[str, ...]]:
        """Class and arguments of a bus."""
        pins = {role: f"Pin({pin.name}_PIN)" for role, pin in bus.pins}
        hz = f"{bus.name}_HZ"
        if bus.kind == "i2c":
            name = "I2C" if self.port.i2c == "pins" else "SoftI2C"
            self.classes.add(name)
            which = str(bus.number or 0) if name == "I2C" else ""
            return name, (which, *(f"{role.lower()}={pins[role]}" for role in ("SCL", "SDA") if role in pins), f"freq={hz}")
        if bus.kind == "uart":
            self.classes.add("UART")
            given = tuple(f"{role.lower()}={pins[role]}" for role in ("TX", "RX") if role in pins)
            return "UART", (str(bus.number), f"baudrate={hz}", *(given if self.port.uart == "pins" else ()))
        if bus.kind == "i2s":
            self.classes.add("I2S")
            data = pins.get("DOUT") or pins.get("DIN") or "None"
            mode = "mode=I2S.TX" if "DOUT" in pins else "mode=I2S.RX"
            common = ("bits=16", "format=I2S.STEREO", "rate=22050", "ibuf=8000")
            return "I2S", (str(bus.number or 0), f"sck={pins.get('BCLK')}", f"ws={pins.get('WS')}", f"sd={data}", mode, *common)
        edge = common_mode(bus.devices)
        clock = (f"baudrate={hz}", f"polarity={edge >> 1}", f"phase={edge & 1}")
        if self.port.spi == "fixed":
            self.classes.add("SPI")
            return "SPI", ("1", *clock)
        wires = tuple(f"{role.lower()}={pins.get(role, 'None')}" for role in ("SCK", "MOSI", "MISO"))
        name = "SPI" if self.port.spi == "pins" else "SoftSPI"
        self.classes.add(name)
        which = str((bus.number or 0) - self.port.spi_id) if name == "SPI" else ""
        return name, (which, *clock, *wires)

    def irq(self, pin: Pin) -> tuple[str, ...]:
        """Arguments that make a pin listen."""
        return _IRQ[pin.interrupt], "hard=True" if self.port.hard_irq else ""


def common_mode(devices: tuple[BusDevice, ...]) -> int:
    """Clock mode every part of an SPI bus takes, the lowest; the first part's where they do not agree.

    >>> common_mode((BusDevice("A", "", "", modes=(0, 3)), BusDevice("B", "", "", modes=(1, 3))))
    3
    """
    sets = [set(device.modes) for device in devices if device.modes]
    if not sets:
        return 0
    shared = set.intersection(*sets)
    return min(shared or sets[0])
