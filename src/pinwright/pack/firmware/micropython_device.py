"""``device.py`` of a MicroPython programme: constants with reasons, set-up in the safe order, readings, switching, sleep."""

from __future__ import annotations

import re
import textwrap

from pinwright.pack.firmware.analog import FAULT_SHARE
from pinwright.pack.firmware.micropython_parts import WIDTH, Sheet, number, wrapped_call
from pinwright.pack.firmware.micropython_selftest import self_test_lines
from pinwright.pack.firmware.micropython_sleep import sleep_lines
from pinwright.pack.firmware.model import Analog, Pin
from pinwright.pack.firmware.names import cut, plain, python_comment

__all__ = ["device_source"]


def device_source(sheet: Sheet) -> str:
    """Text of ``device.py``; what it needs of the kit is noted in the sheet."""
    constants = _constants(sheet)
    laws = [line for analog in sheet.program.analogs for line in _law(sheet, analog)]
    set_up = _set_up(sheet)
    methods = [*_read_all(sheet), *_switching(sheet), *sleep_lines(sheet), *self_test_lines(sheet)]
    body = ["class Device:", '    """All lines of the device, set up in the safe order."""', "", *set_up, *methods]
    used = "\n".join((*constants, *laws, *body))
    sheet.classes = {name for name in sheet.classes if re.search(rf"\b{name}\b", used)}
    lines = [*_docstring(sheet), "", *_imports(sheet), "", *constants, *laws, "", "", *body]
    return "\n".join(lines).rstrip() + "\n"


def _docstring(sheet: Sheet) -> list[str]:
    program = sheet.program
    subject = f"{_text(program.title, 60)}: every line on the {_text(program.board, 70)} ({program.chip})."
    lines = textwrap.wrap(subject, WIDTH - 3)
    lines[0] = f'"""{lines[0]}'
    lines += ["", "Copy kit.py, device.py and main.py to the board. Pin numbers are the chip's, labels the board's."]
    drivers = _drivers(sheet)
    if drivers:
        lines += ["", "Parts that need a driver of their own:"]
        for words in drivers:
            lines += textwrap.wrap(f"- {words}", WIDTH, subsequent_indent="  ")
    if program.radio:
        lines += ["", f"The radio ({', '.join(program.radio)}) is left to your own code."]
    left_out = [*program.left_out, *sheet.without.values()]
    if left_out:
        lines += ["", "Left out, because the chip, the runtime or the plan cannot do it:"]
        for reason in left_out:
            lines += textwrap.wrap(f"- {_text(reason, 300)}", WIDTH, subsequent_indent="  ")
    return [*lines, '"""']


def _drivers(sheet: Sheet) -> list[str]:
    """Where the drivers of parts come from that this programme does not talk to itself."""
    own = {echo.words for echo in sheet.program.echoes} | {knob.words for knob in sheet.program.encoders}
    found: dict[str, list[str]] = {}
    for device in sheet.program.devices:
        driver = device.driver("micropython")
        if device.needs_no_driver or not device.kind or device.words in own or (driver is not None and driver.builtin):
            continue
        words = f"package {driver.package}" if driver is not None else "no maintained one is known; its data sheet says how to talk to it"
        found.setdefault(f"{_text(device.title, 70)}: {words}", []).append(_text(device.words, 40))
    return [f"{', '.join(names)}: {title}" for title, names in found.items()]


def _text(text: str, most: int) -> str:
    """A text for a docstring: it can neither end it nor escape anything."""
    return cut(plain(text), most).replace("\\", "/").replace('"', "'")


def _imports(sheet: Sheet) -> list[str]:
    modules = sorted(sheet.modules)
    classes = f"from machine import {', '.join(sorted(sheet.classes))}"
    return [*(f"import {name}" for name in modules), "import kit", *([classes] if sheet.classes else [])]


# ------------------------------------------------------------------------------ constants


def _constants(sheet: Sheet) -> list[str]:
    program = sheet.program
    lines = []
    needs_supply = any(
        sheet.setting(analog).full_v is None or analog.conversion.kind not in ("volts", "linear") for analog in program.analogs
    )
    if needs_supply or any(sheet.has(dac.pin) for dac in program.dacs):
        lines += [f"SUPPLY_V = {number(program.logic_v)}  # the board's own supply: measure it and write it here", ""]
    for pin in program.pins:
        reasons = "; ".join(cut(plain(reason), 160) for reason in pin.reasons)
        lines += python_comment(f"{cut(plain(pin.words), 60)}, printed {plain(pin.label)}" + (f": {reasons}" if reasons else ""))
        lines.append(f"{pin.name}_PIN = {sheet.pin_id(pin)}")
    for pwm in program.pwms:
        made = f"{'in software' if pwm.software else 'by ' + pwm.pool}"
        shown = f"{pwm.low_hz or 0:g} to {pwm.high_hz or 0:g} Hz" if pwm.low_hz != pwm.high_hz else f"{pwm.hz:g} Hz and no other"
        words = f"{cut(plain(pwm.pin.words), 60)} takes {shown}; made {made}, with {pwm.bits} bits of duty"
        lines += ["", *python_comment(words)]
        lines.append(f"{pwm.pin.name}_HZ = {round(min(pwm.hz, sheet.port.pwm_most_hz or pwm.hz))}")
    for analog in program.analogs:
        lines += ["", *_analog_constants(sheet, analog)]
    for bus in program.buses:
        lines.append("")
        what = "rate" if bus.kind == "uart" else "clock"
        lines += python_comment(f"{cut(plain(bus.words), 60)} on {bus.instance}: the fastest {what} all its parts follow")
        lines.append(f"{bus.name}_HZ = {round(bus.hz)}")
        for each in bus.devices:
            if each.address is not None:
                lines.append(f"{each.name} = 0x{each.address:02X}  # {cut(plain(each.title), 60)}")
    for pin in program.of("pulse-out"):
        if _is_pixels(sheet, pin):
            lines += ["", f"{pin.name}_LEDS = 1  # how many LEDs hang on the line"]
    return lines


def _analog_constants(sheet: Sheet, analog: Analog) -> list[str]:
    name, law = analog.pin.name, analog.conversion
    low, high = analog.reads_v
    lines = []
    if sheet.port.adc_by == "channel":
        lines.append(f"{name}_CHANNEL = {analog.channel}")
    setting = sheet.setting(analog)
    share = setting.share
    high = min(high, setting.full_v or high, sheet.program.logic_v * share if share else high)
    chosen = analog.range_name in sheet.port.adc or (analog.is_supply and share == 1.0) or setting.full_v is not None
    area = f"range {analog.range_name}" if chosen else "the runtime's own range"
    words = f"{cut(plain(analog.pin.words), 60)}: {analog.bits} bits, {area}, right from {low:g} V to {high:.3g} V"
    lines += python_comment(words + (f"; a divider takes the line down by {analog.ratio:.4g}" if analog.ratio != 1 else ""))
    points = ", ".join(f"({number(shown)}, {number(true)})" for shown, true in analog.points)
    lines += python_comment(f"Calibration in {law.unit}: write two pairs you measured, (shown, true).")
    return [*lines, f"{name}_POINTS = ({points})"]


# ------------------------------------------------------------------------------ laws


def _law(sheet: Sheet, analog: Analog) -> list[str]:
    law, name = analog.conversion, analog.pin.snake
    feed = "SUPPLY_V" if abs(law.feed_v - sheet.program.logic_v) < 0.05 else number(law.feed_v)
    head = ["", "", f"def {name}_law(volts):"]
    if law.kind == "volts":
        return [*head, '    """Volts on the line: what they mean, the part\'s data sheet says."""', "    return volts"]
    doc = f'    """{_text(law.quantity, 40).capitalize()} in {_text(law.unit, 10)}, {law.low:g} to {law.high:g}."""'
    if law.kind == "linear":
        return [*head, doc, f"    return {_less('volts', law.zero)} / {number(law.gain)}"]
    if law.kind == "share":
        return [*head, doc, f"    return {_less(f'volts / {feed}', law.zero)} / {number(law.gain)}"]
    sheet.pieces.add("resistance")
    setting = sheet.setting(analog)
    full_v = (setting.full_v or (analog.full_v if setting.share is None else sheet.program.logic_v * setting.share)) * analog.ratio
    reach = full_v / law.feed_v
    ends = (FAULT_SHARE * max(reach, 1.0), (1 - FAULT_SHARE) * min(reach, 1.0))
    given = [f"volts / {feed}", number(law.r_fixed_ohm), *map(number, ends), *(["to_supply=True"] if law.to_supply else [])]
    lines = [*head, f'{doc[:-3]} None: open, shorted or beyond."""', *wrapped_call("    ", "r_ohm = ", "kit.resistance", tuple(given))]
    lines += ["    if r_ohm is None:", "        return None"]
    if law.kind == "ntc":
        sheet.pieces.add("ntc")
        return [*lines, f"    return kit.ntc(r_ohm, {number(law.r_ref_ohm)}, {number(law.beta_k)}, {number(law.at_ref)})"]
    if law.kind == "pt":
        sheet.pieces.add("platinum")
        return [*lines, f"    return kit.platinum(r_ohm, {number(law.r_ref_ohm)})"]
    sheet.pieces.add("light")
    return [*lines, f"    return kit.light(r_ohm, {number(law.r_ref_ohm)}, {number(law.gamma)}, {number(law.at_ref)})"]


def _less(what: str, zero: float) -> str:
    return f"({what} - {number(zero)})" if zero else what


# ------------------------------------------------------------------------------ set-up


def _set_up(sheet: Sheet) -> list[str]:
    program = sheet.program
    first = [pin for pin in program.set_up if pin.is_driven and pin.must_stay_off]
    then = [pin for pin in program.set_up if pin.is_driven and not pin.must_stay_off and sheet.has(pin)]
    lines = ["    def __init__(self):"]
    lines += _section("What must stay off: the level is written before the pin becomes an output.", [_output(sheet, pin) for pin in first])
    lines += _section("Other outputs, switched off.", [_output(sheet, pin) for pin in then])
    lines += _section("Inputs.", _inputs(sheet))
    lines += _section("Buses.", _buses(sheet))
    lines += _section("PWM, at a duty that switches off.", _pwms(sheet))
    lines += _section("Analog.", _analogs(sheet))
    lines += _section("Interrupts last: everything they touch is there now.", _interrupts(sheet))
    return [*(lines if len(lines) > 1 else [*lines, "        pass"]), ""]


def _section(words: str, blocks: list[list[str]]) -> list[str]:
    return [f"        # {words}", *(line for block in blocks for line in block)] if blocks else []


def _output(sheet: Sheet, pin: Pin) -> list[str]:
    made = sheet.first(pin)
    if pin.kind == "pwm" and sheet.has(pin):
        return [f"        {pin.snake} = {made}"]
    if _is_pixels(sheet, pin):
        sheet.pieces.add("Pixels")
        return wrapped_call("        ", f"self.{pin.snake} = ", "kit.Pixels", (made, f"{pin.name}_LEDS"))
    if pin.kind == "pulse-data":
        sheet.pieces.add("Climate")
        sheet.modules.add("dht")
        part = sheet.program.device_of(pin).mpn.split()
        return wrapped_call("        ", f"self.{pin.snake} = ", "kit.Climate", (f"dht.{_dht_class(part)}({made})",))
    if pin.kind == "open-drain" and not sheet.port.open_drain:
        sheet.pieces.add("OpenDrain")
        return wrapped_call("        ", f"self.{pin.snake} = ", "kit.OpenDrain", (made, "Pin"))
    sheet.pieces.add("Output")
    active = "" if pin.active_level == 1 else "active=0"
    return wrapped_call("        ", f"self.{pin.snake} = ", "kit.Output", (made, active))


def _dht_class(words: list[str]) -> str:
    return "DHT11" if any(word == "DHT11" for word in words) else "DHT22"


def _is_pixels(sheet: Sheet, pin: Pin) -> bool:
    return pin.kind == "pulse-out" and sheet.driver_module(pin) == "neopixel" and "neopixel" in sheet.port.modules


def _inputs(sheet: Sheet) -> list[list[str]]:
    program = sheet.program
    blocks = []
    echoes = {echo.echo.name: echo for echo in program.echoes}
    for pin in program.set_up:
        made, head = sheet.first(pin), f"self.{pin.snake} = "
        if pin.kind == "input":
            sheet.pieces.add("Contact")
            blocks.append(wrapped_call("        ", head, "kit.Contact", (made, str(round(pin.debounce_s * 1000)))))
        elif pin.kind in ("counter", "pulses"):
            sheet.pieces.add("Counter")
            dead = str(round(pin.debounce_s * 1e6)) if pin.debounce_s else ""
            blocks.append(wrapped_call("        ", head, "kit.Counter", (made, dead)))
        elif pin.kind == "echo":
            echo = echoes.get(pin.name)
            if echo is not None and sheet.has(echo):
                sheet.pieces.add("Echo")
                arguments = (f"self.{echo.trigger.snake}.pin", made)
                blocks.append(wrapped_call("        ", f"self.{echo.snake} = ", "kit.Echo", arguments))
            else:
                sheet.pieces.add("Counter")
                blocks.append(wrapped_call("        ", head, "kit.Counter", (made,)))
    for knob in program.encoders:
        sheet.pieces.add("Encoder")
        blocks.append(wrapped_call("        ", f"self.{knob.snake} = ", "kit.Encoder", (sheet.first(knob.a), sheet.first(knob.b))))
    return blocks


def _buses(sheet: Sheet) -> list[list[str]]:
    program = sheet.program
    blocks = []
    for bus in program.buses:
        if sheet.has(bus):
            name, arguments = sheet.bus(bus)
            if bus.kind == "uart" and sheet.port.uart == "fixed":
                blocks.append(
                    python_comment(f"This runtime gives {bus.instance} pins of its own: check that they are these.", indent="        ")
                )
            blocks.append(wrapped_call("        ", f"self.{bus.snake} = ", name, arguments))
    for pin in program.of("one-wire"):
        if sheet.has(pin):
            sheet.pieces.add("Thermometers")
            blocks.append(wrapped_call("        ", f"self.{pin.snake} = ", "kit.Thermometers", (sheet.first(pin),)))
    return blocks


def _pwms(sheet: Sheet) -> list[list[str]]:
    blocks = []
    for pwm in sheet.program.pwms:
        if sheet.has(pwm.pin):
            name, arguments = sheet.pwm(pwm)
            named = (arguments[0], f"{pwm.pin.name}_HZ", *arguments[2:])
            blocks.append(wrapped_call("        ", f"self.{pwm.pin.snake} = ", name, named))
    return blocks


def _analogs(sheet: Sheet) -> list[list[str]]:
    blocks = []
    for analog in sheet.program.analogs:
        sheet.pieces.add("Analog")
        name = analog.pin.snake
        ratio = number(analog.ratio)
        given: tuple[str, ...] = (sheet.adc(analog), sheet.full_v(analog), ratio, f"{name}_law", f"{analog.pin.name}_POINTS")
        given += (str(analog.samples),)
        fed_by = sheet.program.feed_of(analog.pin)
        given += (f"self.{fed_by.snake}",) if fed_by is not None else ()
        blocks.append(wrapped_call("        ", f"self.{name} = ", "kit.Analog", given))
    for dac in sheet.program.dacs:
        if sheet.has(dac.pin):
            name, arguments = sheet.dac(dac)
            blocks.append(wrapped_call("        ", f"self.{dac.pin.snake} = ", name, arguments))
    for pin in sheet.program.of("touch"):
        if sheet.has(pin):
            sheet.pieces.add("Touch")
            blocks.append(wrapped_call("        ", f"self.{pin.snake} = ", "kit.Touch", (f"Pin({pin.name}_PIN)",)))
    return blocks


def _interrupts(sheet: Sheet) -> list[list[str]]:
    listening = [pin for pin in sheet.program.set_up if pin.interrupt != "none" and pin.kind in ("input", "counter", "pulses")]
    pairs = [(pin.snake, pin) for pin in listening] + [(knob.snake, knob.a) for knob in sheet.program.encoders]
    return [wrapped_call("        ", "", f"self.{name}.listen", sheet.irq(pin)) for name, pin in pairs]


# ------------------------------------------------------------------------------ reading and switching


def readable(sheet: Sheet) -> list[tuple[str, str]]:
    """Name and expression of everything that is read, in the order of the brief."""
    program = sheet.program
    found = []
    for pin in program.pins:
        if pin.kind in ("input", "counter", "pulses", "pulse-data", "one-wire", "analog", "touch") and sheet.has(pin):
            if pin.kind != "analog" or any(analog.pin is pin for analog in program.analogs):
                found.append((pin.snake, f"self.{pin.snake}.read()"))
        elif pin.kind == "open-drain":
            found.append((pin.snake, f"self.{pin.snake}.pin.value()"))
    found += [(echo.snake, f"self.{echo.snake}.read()") for echo in program.echoes if sheet.has(echo)]
    found += [(knob.snake, f"self.{knob.snake}.read()") for knob in program.encoders]
    return found


def switched(sheet: Sheet) -> list[Pin]:
    """Pins with an object that can be switched off and on; selects belong to their bus."""
    pins = [pin for pin in sheet.program.pins if pin.kind in ("output", "open-drain", "pulse-out", "pwm", "dac")]
    return [pin for pin in pins if pin.kind != "dac" or sheet.has(pin)]


def _read_all(sheet: Sheet) -> list[str]:
    items = [f'            "{name}": {expression},' for name, expression in readable(sheet)]
    body = ["        return {", *items, "        }"] if items else ["        return {}"]
    return ["    def read_all(self):", '        """Everything that is read, by name."""', *body, ""]


def _switching(sheet: Sheet) -> list[str]:
    pins = switched(sheet)
    items = [f'            "{pin.snake}": self.{pin.snake},' for pin in pins]
    lines = ["    def outputs(self):", '        """Everything that is switched, by name; what must stay off comes first."""']
    ordered = [item for pin, item in zip(pins, items, strict=True) if pin.must_stay_off]
    ordered += [item for pin, item in zip(pins, items, strict=True) if not pin.must_stay_off]
    lines += ["        return {", *ordered, "        }"] if items else ["        return {}"]
    lines += [
        "",
        "    def apply(self, wanted):",
        '        """Switch what is wanted; an output nobody named is left as it is (all start off)."""',
        "        outputs = self.outputs()",
        "        for name, is_on in wanted.items():",
        "            outputs[name].set(is_on)",
        "",
        "    def all_off(self):",
        "        for output in self.outputs().values():",
        "            output.off()",
        "",
    ]
    lamps = [f"        self.{pin.snake}.set(is_on)" for pin in pins if pin.is_lamp]
    if lamps:
        lines += ["    def blink(self, is_on):", '        """Lamps that may show that the firmware runs."""', *lamps, ""]
    return lines
