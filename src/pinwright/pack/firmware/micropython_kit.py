"""Helper classes of a MicroPython programme (``kit.py`` on the board), each written only where it is used.

Handlers of interrupts allocate nothing: they touch small integers only, and their bound method is made once, outside.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["kit_source"]

_PIECES: dict[str, tuple[tuple[str, ...], str]] = {
    "Output": (
        (),
        '''
class Output:
    """Something that is switched.  Its pin was made at the level where it is off."""

    def __init__(self, pin, active=1):
        self.pin = pin
        self.active = active

    def on(self):
        self.pin.value(self.active)

    def off(self):
        self.pin.value(1 - self.active)

    def set(self, wanted):
        self.on() if wanted else self.off()
''',
    ),
    "OpenDrain": (
        (),
        '''
class OpenDrain:
    """Pulls low or lets go, on a runtime without a mode for it: an input lets go."""

    def __init__(self, pin, pin_class):
        self.pin = pin
        self.pin_class = pin_class

    def on(self):
        self.pin.init(self.pin_class.OUT, value=0)

    def off(self):
        self.pin.init(self.pin_class.IN)

    def set(self, wanted):
        self.on() if wanted else self.off()
''',
    ),
    "Pwm": (
        ("machine",),
        '''
class Pwm:
    """PWM with its duty in percent; ``inverted``: the stage behind the pin turns the duty round."""

    def __init__(self, pin, hz, inverted=False):
        self.inverted = inverted
        self.pwm = machine.PWM(pin, freq=hz, duty_u16=65535 if inverted else 0)

    def percent(self, duty):
        share = min(max(duty, 0), 100) / 100
        self.pwm.duty_u16(round(65535 * (1 - share if self.inverted else share)))

    def on(self):
        self.percent(100)

    def off(self):
        self.percent(0)

    def set(self, wanted):
        self.on() if wanted else self.off()
''',
    ),
    "Servo": (
        (),
        '''
class Servo(Pwm):
    """A hobby servo; ``position`` 0 to 1 between its shortest and longest pulse."""

    def __init__(self, pin, hz, shortest_us, longest_us):
        super().__init__(pin, hz)
        self.hz = hz
        self.ends_us = (shortest_us, longest_us)

    def position(self, share):
        shortest, longest = self.ends_us
        t_us = shortest + (longest - shortest) * min(max(share, 0), 1)
        self.pwm.duty_u16(round(t_us * self.hz * 65535 / 1000000))

    def percent(self, duty):
        if duty > 0:
            self.position(duty / 100)
        else:
            self.pwm.duty_u16(0)  # no pulses: the servo goes limp
''',
    ),
    "Tone": (
        (),
        '''
class Tone(Pwm):
    """A buzzer without electronics of its own: a square wave is its tone."""

    def __init__(self, pin, hz, lowest_hz, highest_hz):
        super().__init__(pin, hz)
        self.ends_hz = (lowest_hz, highest_hz)

    def play(self, hz):
        lowest, highest = self.ends_hz
        self.pwm.freq(round(min(max(hz, lowest), highest)))
        self.percent(50)

    def on(self):
        self.percent(50)
''',
    ),
    "Pixels": (
        ("neopixel",),
        '''
class Pixels:
    """Addressable LEDs; the runtime makes their pulses."""

    def __init__(self, pin, count):
        self.leds = neopixel.NeoPixel(pin, count)

    def fill(self, red, green, blue):
        self.leds.fill((red, green, blue))
        self.leds.write()

    def on(self):
        self.fill(16, 16, 16)

    def off(self):
        self.fill(0, 0, 0)

    def set(self, wanted):
        self.on() if wanted else self.off()
''',
    ),
    "Dac": (
        ("machine",),
        '''
class Dac:
    """A real analog output in volts."""

    def __init__(self, where, bits, full_v):
        self.dac = machine.DAC(where)
        self.most = (1 << bits) - 1
        self.full_v = full_v

    def volts(self, volts):
        self.dac.write(round(min(max(volts / self.full_v, 0), 1) * self.most))

    def percent(self, share):
        self.volts(self.full_v * share / 100)

    def off(self):
        self.volts(0)

    def set(self, wanted):
        self.percent(100 if wanted else 0)
''',
    ),
    "Contact": (
        ("time",),
        '''
class Contact:
    """An input: its level counts once it stood still for ``still_ms``."""

    def __init__(self, pin, still_ms):
        self.pin = pin
        self.still_ms = still_ms
        self.level = self.seen = pin.value()
        self.since = time.ticks_ms()
        self.edges = 0

    def listen(self, trigger, **how):
        self.pin.irq(handler=self._on_edge, trigger=trigger, **how)

    def _on_edge(self, _pin):
        self.edges += 1  # a short press between two looks is not lost

    def read(self):
        now, level = time.ticks_ms(), self.pin.value()
        if level != self.seen:
            self.seen, self.since = level, now
        if time.ticks_diff(now, self.since) >= self.still_ms:
            self.level = level
        return self.level
''',
    ),
    "Counter": (
        ("machine", "time"),
        '''
class Counter:
    """Counts pulses in interrupts; after each it is deaf for ``dead_us`` (a contact bounces)."""

    def __init__(self, pin, dead_us=0):
        self.pin = pin
        self.dead_us = dead_us
        self.count = 0
        self.last_us = time.ticks_us()

    def listen(self, trigger, **how):
        self.pin.irq(handler=self._on_pulse, trigger=trigger, **how)

    def _on_pulse(self, _pin):
        now = time.ticks_us()
        if time.ticks_diff(now, self.last_us) >= self.dead_us:
            self.last_us = now
            self.count += 1

    def read(self):
        return self.count

    def take(self):
        """Pulses since the last take."""
        state = machine.disable_irq()
        count, self.count = self.count, 0
        machine.enable_irq(state)
        return count
''',
    ),
    "Encoder": (
        (),
        '''
class Encoder:
    """A rotary encoder: a change of A or B is a quarter step, an impossible one counts nothing."""

    STEPS = (0, -1, 1, 0, 1, 0, 0, -1, -1, 0, 0, 1, 0, 1, -1, 0)

    def __init__(self, a, b):
        self.a = a
        self.b = b
        self.state = a.value() << 1 | b.value()
        self.quarters = 0

    def listen(self, trigger, **how):
        self.a.irq(handler=self._on_edge, trigger=trigger, **how)
        self.b.irq(handler=self._on_edge, trigger=trigger, **how)

    def _on_edge(self, _pin):
        new = self.a.value() << 1 | self.b.value()
        self.quarters += self.STEPS[self.state << 2 | new]
        self.state = new

    def read(self):
        return self.quarters // 4
''',
    ),
    "Echo": (
        ("machine", "time"),
        '''
class Echo:
    """Distance by sound: half its way while the echo line is high, at 343 m/s (air of 20 °C)."""

    def __init__(self, trigger, echo):
        self.trigger = trigger
        self.echo = echo

    def read(self):
        """Millimetres, or None where nothing answers within 30 ms (about 5 m)."""
        self.trigger.value(1)
        time.sleep_us(10)
        self.trigger.value(0)
        t_us = machine.time_pulse_us(self.echo, 1, 30000)
        return None if t_us < 0 else t_us * 0.343 / 2
''',
    ),
    "pulse_us": (
        ("time",),
        '''
def pulse_us(pin, level, timeout_us):
    """Length of a pulse, or -1.  Timed in Python: some ten microseconds, a few millimetres, off."""
    begun = time.ticks_us()
    while pin.value() != level:
        if time.ticks_diff(time.ticks_us(), begun) > timeout_us:
            return -1
    begun = time.ticks_us()
    while pin.value() == level:
        if time.ticks_diff(time.ticks_us(), begun) > timeout_us:
            return -1
    return time.ticks_diff(time.ticks_us(), begun)
''',
    ),
    "Thermometers": (
        ("ds18x20", "onewire", "time"),
        '''
class Thermometers:
    """1-Wire thermometers, in °C.  Measuring takes 750 ms: a read gives what was begun before."""

    def __init__(self, pin):
        self.bus = ds18x20.DS18X20(onewire.OneWire(pin))
        self.found = []
        self.begun = None
        self.last = []

    def search(self):
        self.found = self.bus.scan()
        return self.found

    def read(self):
        if self.begun is not None and time.ticks_diff(time.ticks_ms(), self.begun) < 750:
            return self.last
        try:
            if self.begun is not None:
                self.last = [self.bus.read_temp(address) for address in self.found]
            if self.found or self.search():
                self.bus.convert_temp()
                self.begun = time.ticks_ms()
        except Exception:  # a checksum was wrong, or a wire came off: search again next time
            self.found, self.last, self.begun = [], [], None
        return self.last
''',
    ),
    "Climate": (
        (),
        '''
class Climate:
    """Temperature in °C and humidity in percent; None while the sensor does not answer."""

    def __init__(self, sensor):
        self.sensor = sensor

    def read(self):
        try:
            self.sensor.measure()
        except OSError:
            return None
        return self.sensor.temperature(), self.sensor.humidity()
''',
    ),
    "Analog": (
        ("time",),
        '''
class Analog:
    """An analog input in its own unit: mean of ``samples``, its law, two calibration points.

    ``feed``: output that switches the part's measuring on; it is on for a reading only.
    """

    def __init__(self, adc, full_v, ratio, law, points, samples, feed=None):
        self.adc = adc
        self.full_v = full_v
        self.ratio = ratio
        self.law = law
        self.points = points
        self.samples = samples
        self.feed = feed

    def volts(self):
        """Volts on the line, a divider before the pin taken out."""
        total = 0
        try:
            if self.feed is not None:
                self.feed.on()
                time.sleep_ms(10)
            for _ in range(self.samples):
                total += self.adc.read_u16()
        finally:
            if self.feed is not None:
                self.feed.off()
        return total / self.samples / 65535 * self.full_v * self.ratio

    def read(self):
        """In its unit; None where the law finds the sensor open, shorted or beyond its range."""
        shown = self.law(self.volts())
        if shown is None:
            return None
        (shown_a, true_a), (shown_b, true_b) = self.points
        slope = (true_b - true_a) / (shown_b - shown_a)
        return true_a + (shown - shown_a) * slope
''',
    ),
    "Touch": (
        ("machine",),
        '''
class Touch:
    """A touch pad: a plain number that changes when a finger comes near."""

    def __init__(self, pin):
        self.pad = machine.TouchPad(pin)

    def read(self):
        return self.pad.read()
''',
    ),
    "resistance": (
        (),
        '''
def resistance(share, r_fixed_ohm, least, most, to_supply=False):
    """Sensor in a divider, from the share of the supply at its tap.

    None outside ``least`` to ``most``, the ends of supply and range: open, shorted, or beyond.
    """
    if not least < share < most:
        return None
    return r_fixed_ohm * ((1 - share) / share if to_supply else share / (1 - share))
''',
    ),
    "ntc": (
        ("math",),
        '''
def ntc(r_ohm, r_ref_ohm, beta_k, t_ref_c):
    """Thermistor in °C by its beta: 1/T = 1/T0 + ln(R/R0)/B, in kelvin."""
    return 1 / (1 / (t_ref_c + 273.15) + math.log(r_ohm / r_ref_ohm) / beta_k) - 273.15
''',
    ),
    "platinum": (
        ("math",),
        '''
def platinum(r_ohm, r0_ohm):
    """Platinum element in °C by IEC 60751: the quadratic, and Newton's steps below 0 °C."""
    a, b, c = 3.9083e-3, -5.775e-7, -4.183e-12
    ratio = min(max(r_ohm / r0_ohm, 0.1852), 3.9049)  # -200 °C to 850 °C
    t = (-a + math.sqrt(a * a - 4 * b * (1 - ratio))) / (2 * b)
    if t < 0:
        for _ in range(4):
            off = 1 + a * t + b * t * t + c * (t - 100) * t * t * t - ratio
            t -= off / (a + 2 * b * t + c * (4 * t - 300) * t * t)
    return t
''',
    ),
    "light": (
        (),
        '''
def light(r_ohm, r_ref_ohm, gamma, e_ref_lux):
    """Light-dependent resistor in lux: a power law; its maker promises little."""
    return e_ref_lux * (r_ref_ohm / r_ohm) ** (1 / gamma)
''',
    ),
}
"""Each piece with the modules it imports, in the order they are written."""

_MICROVOLTS = (
    ("total += self.adc.read_u16()", "total += self.adc.read_uv()"),
    (
        "total / self.samples / 65535 * self.full_v * self.ratio",
        "total / self.samples / 1000000 * self.ratio",
    ),
)
_NEEDS = {"Servo": "Pwm", "Tone": "Pwm"}

_TEST_HEAD = '''
class Test:
    """The self-test: says what to do and to expect, and notes what came of it.

    ``ask`` puts a question and returns the answer; ``wait_s``: how long a press may take.
    """

    def __init__(self, ask, wait_s):
        self.ask = ask
        self.wait_ms = round(wait_s * 1000)
        self.results = []

    def begin(self, words, do, expect):
        print("\\n" + words + ": " + do)
        print("  expected: " + expect)

    def note(self, words, is_right):
        self.results.append((words, is_right))
        print({None: "  not done", True: "  right", False: "  NOT as expected"}[is_right])

    def yes(self, question):
        return self.ask("  " + question + " (y/n) ").strip().lower()[:1] == "y"

    def until(self, happened):
        begun = time.ticks_ms()
        while not happened():
            if time.ticks_diff(time.ticks_ms(), begun) > self.wait_ms:
                return False
            time.sleep_ms(5)
        return True

    def allowed(self, is_load):
        return not is_load or self.yes("A load that must stay off. Safe to switch it on briefly?")

    def summary(self):
        wrong = [words for words, is_right in self.results if is_right is False]
        print("\\n%d lines, %d not as expected" % (len(self.results), len(wrong)))
        for words in wrong:
            print("  " + words)
        return self.results
'''

_TESTS: dict[str, str] = {
    "input": """
    def input(self, words, line, do, expect):
        self.begin(words, do, expect)
        first = line.read()
        print("  now: " + ("high" if first else "low"))
        is_right = self.until(lambda: line.read() != first)
        print("  then: " + ("high" if line.read() else "low"))
        self.note(words, is_right)
""",
    "counter": """
    def counter(self, words, line, do, expect):
        self.begin(words, do, expect)
        first = line.read()
        self.note(words, self.until(lambda: line.read() > first))
""",
    "value": """
    def value(self, words, read, unit, do, expect):
        self.begin(words, do, expect)
        found = read()
        if found is None:
            print("  no value: open, shorted, silent, or beyond what can be read")
        else:
            print("  read:", found, unit)
        self.note(words, self.yes("Is that as expected?"))
""",
    "i2c": """
    def i2c(self, words, bus, addresses, do, expect):
        self.begin(words, do, expect)
        found = bus.scan()
        print("  answers at: " + (", ".join(hex(each) for each in found) or "nothing"))
        self.note(words, all(address in found for address in addresses))
""",
    "spi": """
    def spi(self, words, bus, selects, do, expect):
        self.begin(words, do, expect)
        for select in selects:
            select.on()
            try:
                print("  bytes:", bus.read(4))
            finally:
                select.off()
        self.note(words, self.yes("Is that as expected?"))
""",
    "uart": """
    def uart(self, words, bus, do, expect):
        self.begin(words, do, expect)
        heard = self.until(lambda: bus.any() > 0)
        print("  bytes:", bus.read() if heard else None)
        self.note(words, heard or self.yes("Nothing came. Is that as expected?"))
""",
    "output": """
    def output(self, words, line, do, expect, is_load=False):
        self.begin(words, do, expect)
        self.drive(words, line, line.on, is_load)
""",
    "level": """
    def level(self, words, line, do, expect, is_load=False):
        self.begin(words, do, expect)
        self.drive(words, line, lambda: line.percent(50), is_load)
""",
}
_DRIVE = """
    def drive(self, words, line, switch, is_load):
        if not self.allowed(is_load):
            self.note(words, None)
            return
        try:
            switch()
            if is_load:
                time.sleep_ms(LOAD_MS)  # a load is never left on until somebody answers
            else:
                self.ask("  It is on: look and measure, then press Enter. ")
        finally:
            line.off()
        self.note(words, self.yes("It is off again. Did it do all that?"))
"""
_LOAD = "LOAD_MS = 5000  # how long the self-test leaves a load on"


def kit_source(pieces: Iterable[str], tests: Iterable[str], microvolts: bool, pulse: bool) -> str:
    """Text of ``kit.py`` with these pieces and self-test methods.

    ``microvolts``: the converter gives calibrated readings; ``pulse``: the runtime times pulses itself.
    """
    wanted = set(pieces) | ({"pulse_us"} if "Echo" in set(pieces) and not pulse else set())
    wanted |= {_NEEDS[name] for name in wanted if name in _NEEDS}
    chosen = [name for name in _PIECES if name in wanted]
    modules = {module for name in chosen for module in _PIECES[name][0]} | {"time"}
    if not pulse and "machine" in modules and not {"Pwm", "Dac", "Counter", "Touch"} & set(chosen):
        modules.remove("machine")
    text = '"""Helpers for device.py: what is switched, read, counted and tested."""\n\n'
    text += "".join(f"import {module}\n" for module in sorted(modules))
    for name in chosen:
        body = _PIECES[name][1]
        for old, new in _MICROVOLTS if microvolts and name == "Analog" else ():
            body = body.replace(old, new)
        body = body if pulse else body.replace("machine.time_pulse_us(", "pulse_us(")
        text += "\n" + body
    named = set(tests)
    drives = bool(named & {"output", "level"})
    imports, _, rest = text.partition("\n\n\n")
    head = f"{imports.rstrip()}\n\n{_LOAD}\n" if drives else f"{imports.rstrip()}\n"
    text = head + (f"\n\n{rest}" if rest else "")
    return text + "\n" + _TEST_HEAD + (_DRIVE if drives else "") + "".join(_TESTS[name] for name in _TESTS if name in named)
