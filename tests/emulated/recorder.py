"""Runs on the board's runtime: a ``machine`` module (and its neighbours) that records what firmware does, then the firmware itself.

Strict where a port is: a mode, a pull or an argument a port does not know raises, as it would there.  ``JOB_TEXT`` is the job's world:
port, analog readings, what buses answer, and what to run.
"""
# ruff: noqa: F821, RET503, T201, UP031 (MicroPython, and JOB_TEXT is set by run.mjs)

import json
import sys

import micropython

JOB = json.loads(JOB_TEXT)
PORT = JOB["port"]
LOG = []
ANSWERS = []


class Asleep(Exception):
    """The device went to sleep."""


class World:
    us = 0
    is_locked = False  # handlers run with the heap locked
    toggles = False  # inputs change, as if somebody pressed everything
    handlers = []
    made = {}
    naps = 0
    reads = 0


def note(*what):
    LOG.append(list(what))


def tick(us):
    World.us += us
    if World.toggles:
        for handler, pin in World.handlers:
            handler(pin)


def spin(us):
    """Time goes by in small steps, so that no change of a pair is missed."""
    while us > 0:
        tick(min(us, 4000))
        us -= 4000


class Time:
    def ticks_ms(self):
        World.us += 50
        return World.us // 1000

    def ticks_us(self):
        World.us += 50
        return World.us

    def ticks_diff(self, a, b):
        return a - b

    def ticks_add(self, a, b):
        return a + b

    def sleep_ms(self, ms):
        (spin if World.toggles else tick)(ms * 1000)

    def sleep_us(self, us):
        tick(us)

    def sleep(self, s):
        tick(int(s * 1000000))


class Names:
    def __getattr__(self, name):
        return name


def known(given, *names):
    for name in given:
        if name not in names:
            raise TypeError("the %s port does not take %s here" % (PORT, name))


def played(name):
    """Level of an input while somebody plays with everything: pairs turn like an encoder, the rest goes up and down."""
    for a, b in JOB.get("pairs", []):
        if name in (a, b):
            step = World.us // 8000 % 4  # A leads B by a quarter turn
            return (0, 1, 1, 0)[step] if name == a else (0, 0, 1, 1)[step]
    return World.us // 60000 & 1


class Pin:
    IN, OUT, ALT = 0, 1, 3
    IRQ_RISING, IRQ_FALLING = 1, 2
    PULL_UP = 1
    if PORT != "nrf":
        OPEN_DRAIN = 2
    if PORT != "esp8266":
        PULL_DOWN = 2
    if PORT in ("stm32", "samd"):
        cpu = Names()

    def __init__(self, name, mode=None, pull=-1 if PORT == "esp32" else None, **how):  # -1: the pad keeps what it has
        if isinstance(name, Pin):
            name = name.name
        if PORT in ("esp32", "rp2", "esp8266", "nrf") and not isinstance(name, int):
            raise ValueError("pins have numbers on the %s port, not %r" % (PORT, name))
        self.name = name
        self.mode = None
        self.level = 0
        if mode is None and not how:
            note("pin-named", name)
            return
        self.init(mode, pull, **how)

    def init(self, mode=None, pull=-1 if PORT == "esp32" else None, **how):
        known(how, "value", *(("hold", "drive") if PORT == "esp32" else ()))
        self.mode = mode
        if mode == Pin.OUT and pull is not None and PORT == "samd":
            raise ValueError("OUT incompatible with pull")
        if "value" in how:
            self.level = how["value"]
        World.made[self.name] = self
        note("pin", self.name, mode, pull, how.get("value"), how.get("hold"))

    def value(self, level=None):
        if level is None:
            if World.is_locked or self.mode in (Pin.OUT, 2):
                return self.level
            if not World.toggles:
                return JOB.get("levels", {}).get(str(self.name), 0)
            World.us += 20
            return played(self.name)
        self.level = 1 if level else 0
        note("write", self.name, self.level)

    __call__ = value

    def on(self):
        self.value(1)

    def off(self):
        self.value(0)

    def irq(self, handler=None, trigger=3, **how):
        known(how, *(("hard",) if PORT not in ("nrf", "esp32") else ()), *(("wake",) if PORT == "esp32" else ()))
        if handler is not None:
            World.handlers.append((handler, self))
        note("irq", self.name, trigger)


class PWM:
    def __init__(self, pin, freq=None, duty_u16=None, **how):
        known(how)
        if not isinstance(freq, int) or not isinstance(duty_u16, int):
            raise TypeError("frequency and duty are whole numbers")
        if PORT == "esp8266" and freq > 1000:
            raise ValueError("1 Hz to 1 kHz")
        self.pin = pin
        note("pwm", pin.name, freq, duty_u16)

    def duty_u16(self, duty):
        if not isinstance(duty, int) or not 0 <= duty <= 65535:
            raise ValueError("duty %r" % duty)
        note("duty", self.pin.name, duty)

    def freq(self, hz):
        if not isinstance(hz, int):
            raise TypeError("frequency %r" % hz)
        note("freq", self.pin.name, hz)

    def deinit(self):
        note("pwm-off", self.pin.name)


class ADC:
    if PORT == "esp32":
        ATTN_0DB, ATTN_2_5DB, ATTN_6DB, ATTN_11DB = 0, 1, 2, 3

    def __init__(self, where, **how):
        known(how, *{"esp32": ("atten", "sample_ns"), "samd": ("vref", "average", "bits")}.get(PORT, ()))
        by_channel = PORT in ("esp8266", "nrf")
        if by_channel != isinstance(where, int):
            raise ValueError("the %s port takes %s" % (PORT, "a channel" if by_channel else "a pin"))
        self.name = where if by_channel else where.name
        note("adc", self.name, how.get("atten", how.get("vref")))

    def share(self):
        return JOB.get("analog", {}).get(str(self.name), 0.25)

    def read_u16(self):
        return round(65535 * self.share())


if PORT == "esp32":

    def _read_uv(self):
        return round(1000000 * self.share())  # here the job tells volts

    ADC.read_uv = _read_uv


class I2C:
    def __init__(self, *number, scl=None, sda=None, freq=400000):
        note("i2c", number[0] if number else None, scl.name, sda.name, freq)
        self.where = "%s/%s" % (scl.name, sda.name)

    def scan(self):
        return JOB.get("answers", {}).get(self.where, [])


class SoftI2C(I2C):
    def __init__(self, scl=None, sda=None, freq=400000):
        super().__init__(scl=scl, sda=sda, freq=freq)


class SPI:
    def __init__(self, number, baudrate=0, polarity=0, phase=0, **wires):
        known(wires, "sck", "mosi", "miso")
        if PORT == "esp8266" and wires:
            raise TypeError("HSPI has fixed pins")
        names = {role: pin.name if pin is not None else None for role, pin in wires.items()}
        note("spi", number, baudrate, polarity, phase, names)

    def read(self, count):
        note("spi-read", count)
        return bytes(count)


class SoftSPI(SPI):
    def __init__(self, **how):
        for role in ("sck", "mosi", "miso"):
            if how.get(role) is None:
                raise ValueError("must specify all of sck/mosi/miso")
        super().__init__(None, **how)


class UART:
    def __init__(self, number, baudrate=9600, **wires):
        known(wires, *(("tx", "rx") if PORT in ("esp32", "rp2", "samd") else ()))
        note("uart", number, baudrate, {role: pin.name for role, pin in wires.items()})

    def any(self):
        return 3

    def read(self):
        return b"abc"


class I2S:
    TX, RX, STEREO = 1, 2, 3

    def __init__(self, number, sck=None, ws=None, sd=None, mode=None, bits=16, format=None, rate=0, ibuf=0):
        note("i2s", number, sck.name, ws.name, sd.name)


class DAC:
    def __init__(self, where):
        self.name = where if isinstance(where, int) else where.name
        note("dac", self.name)

    def write(self, value):
        note("dac-write", self.name, value)


class TouchPad:
    def __init__(self, pin):
        self.name = pin.name
        note("touch", pin.name)

    def read(self):
        return 400


class Module:
    def __init__(self, **things):
        for name, thing in things.items():
            setattr(self, name, thing)


def time_pulse_us(pin, level, timeout=1000000):
    note("time-pulse", pin.name, level)
    return 2915  # 500 mm there and back at 343 m/s


def deepsleep(ms=None):
    note("deepsleep", ms)
    raise Asleep


def lightsleep(ms=None):
    note("lightsleep", ms)
    World.naps += 1
    if ms is None or World.naps > 20:
        raise Asleep


def disable_irq():
    return 1


def enable_irq(state):
    pass


machine = Module(
    Pin=Pin, PWM=PWM, ADC=ADC, UART=UART, I2C=I2C, SPI=SPI, SoftI2C=SoftI2C, SoftSPI=SoftSPI,
    disable_irq=disable_irq, enable_irq=enable_irq, deepsleep=deepsleep, lightsleep=lightsleep,
)  # fmt: skip
if PORT != "nrf":
    machine.time_pulse_us = time_pulse_us
if PORT in ("esp32", "rp2", "stm32"):
    machine.I2S = I2S
if PORT in ("esp32", "samd"):
    machine.DAC = DAC
if PORT == "esp32":
    machine.TouchPad = TouchPad


class NeoPixel:
    def __init__(self, pin, count, bpp=3, timing=1):
        self.pin = pin
        note("neopixel", pin.name, count)

    def fill(self, colour):
        self.colour = colour

    def write(self):
        note("pixels", self.pin.name, self.colour)


class Dht:
    def __init__(self, pin):
        note("dht", pin.name)

    def measure(self):
        World.reads += 1
        if World.reads % 5 == 4:
            raise OSError("no answer")

    def temperature(self):
        return 21.5

    def humidity(self):
        return 40.0


class OneWire:
    def __init__(self, pin):
        self.pin = pin


class DS18X20:
    def __init__(self, wire):
        note("one-wire", wire.pin.name)

    def scan(self):
        return [b"\x28abcdefg"]

    def convert_temp(self):
        pass

    def read_temp(self, address):
        World.reads += 1
        if World.reads % 5 == 4:
            raise Exception("CRC error")  # as the driver does  [ds18x20 module, from memory]
        return 24.0


def wake_note(kind):
    def wake(pins, level):
        each = pins if isinstance(pins, (list, tuple)) else [pins]
        note(kind, [pin.name for pin in each], bool(level))

    return wake


modules = {"machine": machine, "time": Time()}
if PORT in ("esp32", "rp2", "esp8266"):
    modules["neopixel"] = Module(NeoPixel=NeoPixel)
    modules["dht"] = Module(DHT11=Dht, DHT22=Dht)
    modules["onewire"] = Module(OneWire=OneWire)
    modules["ds18x20"] = Module(DS18X20=DS18X20)
if PORT == "esp32":
    modules["esp32"] = Module(WAKEUP_ALL_LOW=False, WAKEUP_ANY_HIGH=True, wake_on_gpio=wake_note("wake-gpio"))
    modules["esp32"].gpio_deep_sleep_hold = lambda on: note("hold", on)
    if JOB.get("ext"):
        modules["esp32"].wake_on_ext0 = wake_note("wake-ext0")
        modules["esp32"].wake_on_ext1 = wake_note("wake-ext1")
sys.modules.update(modules)
sys.path.append("/")


def asked(yes):
    def ask(question):
        ANSWERS.append(question)
        note("asked", question)
        return "y" if yes else "n"

    return ask


def calibrated(analog):
    """Two pairs that shift by one: how far the reading moves."""
    before, points = analog.read(), analog.points
    analog.points = tuple((shown, true + 1) for shown, true in points)
    after = analog.read()
    analog.points = points
    return after - before


def bounced(contact):
    """A contact that bounces for 10 ms: what is read before, meanwhile, 15 ms and 30 ms after the last bounce."""
    name, levels = str(contact.pin.name), JOB["levels"]
    rest = levels.get(name, 0)
    seen = [contact.read()]
    for number in range(5):
        levels[name] = 1 - rest if number % 2 == 0 else rest
        seen.append(contact.read())
        tick(2000)
    for _ in range(2):
        tick(13000)
        seen.append(contact.read())
    tick(13000)
    seen.append(contact.read())
    levels[name] = rest
    tick(40000)
    contact.read()
    tick(40000)
    contact.read()
    return [rest, seen]


def deaf(counter):
    """Three pulses 1 ms apart, then one 20 ms later: how many count."""
    tick(20000)
    counter.take()
    for wait in (0, 1000, 1000, 20000):
        tick(wait)
        counter._on_pulse(counter.pin)
    return counter.take()


def spun(knob):
    """Ten turns through all four states: how many steps are counted."""
    before = knob.read()
    spin(320000)
    return knob.read() - before


def locked():
    """Every handler once with the heap locked: one that allocates raises MemoryError, as it would on the board."""
    World.is_locked = True
    done = 0
    for handler, pin in World.handlers:
        micropython.heap_lock()
        try:
            handler(pin)
        finally:
            micropython.heap_unlock()
        done += 1
    World.is_locked = False
    return done


def run():
    import device
    import main

    note("phase", "loop")
    main.main(JOB.get("turns", 12))
    note("phase", "made")
    made = device.Device()
    for name, levels in JOB.get("read", {}).items():
        values = []
        for where, level in levels:
            JOB["analog"][where] = level
            values.append(getattr(made, name).read())
        READ[name] = values
    READ["calibrated"] = {name: calibrated(getattr(made, name)) for name in JOB.get("read", {})}
    READ["bounced"] = {name: bounced(getattr(made, name)) for name in JOB.get("contacts", [])}
    READ["handlers"] = locked()
    READ["deaf"] = {name: deaf(getattr(made, name)) for name in JOB.get("counters", [])}
    World.toggles = True
    for yes in (False, True):
        note("phase", "test-yes" if yes else "test-no")
        RESULTS.append([list(result) for result in made.self_test(ask=asked(yes), wait_s=2)])
    note("phase", "after")
    READ["spun"] = {name: spun(getattr(made, name)) for name in made.read_all() if name.endswith("_turns")}
    if hasattr(sys.modules["kit"], "platinum"):
        READ["platinum"] = [sys.modules["kit"].platinum(r_ohm, 100.0) for r_ohm in JOB["platinum"]]
    if JOB.get("busy"):
        for _ in range(30):
            spin(40000)
            made.read_all()
        READ["busy"] = made.read_all()
    World.toggles = False
    if hasattr(made, "sleep_now"):
        note("phase", "sleep")
        try:
            made.sleep_now()
        except Asleep:
            note("asleep")


READ = {}
RESULTS = []
try:
    run()
finally:
    print("@@" + json.dumps({"log": LOG, "read": READ, "results": RESULTS, "answers": ANSWERS}))
