"""The self-test: every line once, in the order of the bench sheet.

Parts come in the order of the brief, those with a load that must stay off last; each such load on a yes of the maker's only.
"""

from __future__ import annotations

from pinwright.pack.firmware.model import Bus, Echo, Encoder, Pin, Program, Step

__all__ = ["steps_of"]

_LEVEL = {0: "low", 1: "high"}


def steps_of(program: Program) -> tuple[Step, ...]:
    """Steps for all lines of a programme."""
    careful = {pin.part for pin in program.pins if pin.must_stay_off}
    steps: list[Step] = []
    done: set[str] = set()
    for pin in sorted(program.pins, key=lambda pin: pin.part in careful):
        for each in (program.feed_of(pin), pin):  # what feeds a sensor is tried before its reading
            if each is None or each.name in done:
                continue
            for step, names in _steps_at(program, each):
                done.update(names)
                steps.append(step)
    return tuple(steps)


def _steps_at(program: Program, pin: Pin) -> list[tuple[Step, tuple[str, ...]]]:
    bus = next((bus for bus in program.buses if pin in _pins_on(bus)), None)
    if bus is not None:
        return [(_bus_step(bus), tuple(member.name for member in _pins_on(bus)))]
    echo = next((echo for echo in program.echoes if pin in (echo.trigger, echo.echo)), None)
    if echo is not None:
        return [(_echo_step(echo), (echo.trigger.name, echo.echo.name))]
    knob = next((knob for knob in program.encoders if pin in (knob.a, knob.b)), None)
    if knob is not None:
        return [(_encoder_step(knob), (knob.a.name, knob.b.name))]
    step = _input_step(program, pin) or _output_step(program, pin)
    return [] if step is None else [(step, (pin.name,))]


def _pins_on(bus: Bus) -> list[Pin]:
    """Wires of a bus, and the select pins of its parts: they are tested by talking over it."""
    return [*(pin for _, pin in bus.pins), *(device.select for device in bus.devices if device.select is not None)]


def _bus_step(bus: Bus) -> Step:
    names = ", ".join(device.words for device in bus.devices)
    if bus.kind == "i2c":
        wanted = ", ".join(f"0x{d.address:02X} ({d.words})" for d in bus.devices if d.address is not None) or names
        return Step("bus", bus.name, bus.words, "nothing to press: the bus is searched", f"answers at {wanted}")
    if bus.kind == "spi":
        do = f"nothing to press: four bytes are read from {names}"
        return Step("bus", bus.name, bus.words, do, "not all bits alike, if the part talks by itself")
    if bus.kind == "uart":
        do = f"nothing to press: listens to {names}"
        return Step("bus", bus.name, bus.words, do, f"bytes at {bus.hz:g} Bd, if the part talks by itself")
    return Step("bus", bus.name, bus.words, "nothing to press: the pins are checked by ear", f"{names} plays when the driver runs")


def _echo_step(echo: Echo) -> Step:
    return Step("echo", echo.name, echo.words, "hold a flat thing 50 cm before it", "about 500 mm")


def _encoder_step(knob: Encoder) -> Step:
    return Step("encoder", knob.name, knob.words, "turn it to the right", "the count rises (if it falls, change A and B)")


def _input_step(program: Program, pin: Pin) -> Step | None:
    if pin.kind == "input":
        rest = "either level" if pin.rest_level is None else f"{_LEVEL[pin.rest_level]} at rest, {_LEVEL[1 - pin.rest_level]} when it acts"
        return Step("input", pin.name, pin.words, f"press, close or trigger {pin.words}", rest)
    if pin.kind in ("counter", "pulses"):
        return Step("counter", pin.name, pin.words, f"let {pin.words} give some pulses", "the count rises")
    if pin.kind == "touch":
        return Step("touch", pin.name, pin.words, f"touch {pin.words}", "the reading changes clearly")
    if pin.kind == "one-wire":
        return Step("one-wire", pin.name, pin.words, "nothing to press: the wire is searched", f"{len(pin.lines)} part(s) found")
    if pin.kind == "pulse-data":
        return Step("pulse-data", pin.name, pin.words, "nothing to press: the part is read once", "plausible values")
    analog = next((each for each in program.analogs if each.pin is pin), None)
    if analog is None:
        return None
    law = analog.conversion
    do = f"compare with the {law.quantity} you know, and the volts with a meter at the pin"
    return Step("analog", pin.name, pin.words, do, f"{law.low:g} to {law.high:g} {law.unit}, near what you know")


def _output_step(program: Program, pin: Pin) -> Step | None:
    if pin.first_level is None and pin.kind != "dac":
        return None
    on, off = _LEVEL[pin.active_level or 0], _LEVEL[pin.first_level or 0]
    watch = f"watch {pin.words}, or measure its pin"
    if pin.kind == "pwm":
        servo = any(pwm.pin is pin and pwm.pulse_s for pwm in program.pwms)
        seen = "goes to the middle, then limp" if servo else "half (a meter shows about half the supply), then off"
        return Step("pwm", pin.name, pin.words, watch, seen, pin.must_stay_off)
    if pin.kind == "pulse-out":
        return Step("pulse-out", pin.name, pin.words, watch, "on (short pulses), then off", pin.must_stay_off)
    if pin.kind == "dac":
        return Step("dac", pin.name, pin.words, watch, f"half of {program.logic_v:g} V, then 0 V", pin.must_stay_off)
    return Step("output", pin.name, pin.words, watch, f"{on}, then {off}", pin.must_stay_off)
