"""Outputs of a C++ programme: first levels, switching, PWM, servos, tones, exact pulses and analog outputs."""

from __future__ import annotations

from pinwright.pack.firmware.avr_timers import TimerMode, timer_mode
from pinwright.pack.firmware.cpp_sketch import Output, Sketch, block, comment, either, level, number
from pinwright.pack.firmware.model import Dac, Pin, Pwm

__all__ = ["write_outputs"]


_PLAIN = """
void drive_first(pin_number pin, uint8_t level) {
  digitalWrite(pin, level);    // the level first,
  pinMode(pin, OUTPUT);        // then the driver
}
"""
"""For cores that keep a level written before the pin is an output."""


def write_outputs(sketch: Sketch) -> None:
    """First level of every driven pin, then a function for each thing that can be commanded."""
    program = sketch.program
    driven = [pin for pin in program.set_up if pin.is_driven]
    if driven or program.dacs:
        sketch.section("outputs")
    if any(_is_pushed(pin) for pin in driven):
        sketch.add(*(sketch.core.drive or _PLAIN).strip("\n").split("\n"))
    for pin in driven:
        _first_level(sketch, pin)
    pwms = {pwm.pin.name: pwm for pwm in program.pwms}
    triggers = {echo.trigger.name for echo in program.echoes}
    _shared_pwm(sketch)
    for pin in program.pins:
        if pin.name in pwms:
            _pwm(sketch, pwms[pin.name])
        elif pin.kind == "output" and pin.name not in triggers:
            _switch(sketch, pin)
        elif pin.kind == "open-drain":
            _open_drain(sketch, pin)
        elif pin.kind == "pulse-out":
            _pulses(sketch, pin)
    for dac in program.dacs:
        _dac(sketch, dac)


def _is_pushed(pin: Pin) -> bool:
    """Driven both ways from the start; what is shared with the part begins as an input unless it must be low."""
    return pin.is_driven and not (pin.kind in ("open-drain", "pulse-data") and pin.first_level == 1)


def _first_level(sketch: Sketch, pin: Pin) -> None:
    name, high = f"pins::{pin.snake}", pin.first_level
    why = "off, and must stay off" if pin.must_stay_off else "not selected" if pin.kind == "select" else "off"
    if not _is_pushed(pin):
        mode = "INPUT_PULLUP" if pin.pull == "up" else "INPUT"
        sketch.first.append(f"pinMode({name}, {mode});  // let go")
    else:
        sketch.first.append(f"drive_first({name}, {level(high)});  // {why}")


def _about(pin: Pin, what: str) -> list[str]:
    stays = "; must stay off but on command" if pin.must_stay_off else ""
    return comment(f"{pin.words}: {what}{stays}.")


def _show(pin: Pin) -> str:
    """Waits while the maker looks: for a key, for what must stay off not longer than its time."""
    return "hold(SHOW_MS);" if pin.must_stay_off else "hold(0);"


def _offer(sketch: Sketch, pin: Pin, call: str, off: str, shows: tuple[str, ...]) -> None:
    sketch.outputs.append(Output(pin, call, off, pin.must_stay_off, shows))
    sketch.shows[pin.name] = list(shows)


def _switch(sketch: Sketch, pin: Pin) -> None:
    on, off = level(pin.active_level), level(not pin.active_level)
    sketch.add(
        *_about(pin, f"{on} is active"),
        *block(f"void set_{pin.snake}(bool on)", [f"digitalWrite(pins::{pin.snake}, on ? {on} : {off});"]),
    )
    call = f"set_{pin.snake}"
    _offer(sketch, pin, f"{call}(share > 0.0f);", f"{call}(false);", (f"{call}(true);", _show(pin), f"{call}(false);"))


def _open_drain(sketch: Sketch, pin: Pin) -> None:
    name = f"pins::{pin.snake}"
    released = "INPUT_PULLUP" if pin.pull == "up" else "INPUT"
    pulls = "on" if pin.active_level == 0 else "!on"
    sketch.add(
        *_about(pin, "only ever pulled low or let go"),
        *block(
            f"void set_{pin.snake}(bool on)",
            either(pulls, [f"digitalWrite({name}, LOW);", f"pinMode({name}, OUTPUT);"], [f"pinMode({name}, {released});"]),
        ),
    )
    call = f"set_{pin.snake}"
    _offer(sketch, pin, f"{call}(share > 0.0f);", f"{call}(false);", (f"{call}(true);", _show(pin), f"{call}(false);"))


def _pulses(sketch: Sketch, pin: Pin) -> None:
    """Exact pulses need a library; here only a few plain ones, to see that the wire arrives."""
    name, on, off = f"pins::{pin.snake}", level(pin.active_level), level(not pin.active_level)
    sketch.add(
        *_about(pin, "exact pulses are a library's work; these only show that the wire arrives"),
        *block(
            f"void pulse_{pin.snake}()",
            block(
                "for (uint8_t i = 0; i < 10; i++)",
                [f"digitalWrite({name}, {on});", "delayMicroseconds(10);", f"digitalWrite({name}, {off});", "delayMicroseconds(10);"],
            ),
        ),
    )
    sketch.shows[pin.name] = [f"pulse_{pin.snake}();"]


# ------------------------------------------------------------------------------ PWM


def _hardware(pwm: Pwm) -> bool:
    """Whether hardware (or the core's own software) makes it, and not a loop of ours or the tone call."""
    return not (pwm.software and (pwm.tone or pwm.pool.startswith("TC") or "servo" in pwm.pool))


def _bits(sketch: Sketch, pwm: Pwm) -> int:
    """Bits of duty: what the pool reaches, as far as the core's call takes them."""
    return max(1, min(pwm.bits, sketch.core.pwm_bits_max))


def _shared_pwm(sketch: Sketch) -> None:
    """The record of a PWM line and the core's way to write a duty."""
    lines = [pwm for pwm in sketch.program.pwms if _hardware(pwm)]
    core = sketch.core
    if not lines or core.pwm != "shared":
        return
    if core.pwm_note:
        sketch.notes.append(core.pwm_note)
    sketch.add(
        "// A PWM line: nothing is started before its first duty, so until then the pin keeps its level.",
        "struct PwmLine {",
        *(f"  {each}" for each in ("pin_number pin;", "uint32_t hz;", "uint8_t bits;", "uint8_t channel;", "bool started;")),
        *([f"  {core.pwm_field}"] if core.pwm_field else []),
        "};",
    )
    sketch.add(*core.pwm_code.strip("\n").split("\n"))


def _channels(sketch: Sketch) -> dict[str, int]:
    """Channels (or blocks) by number: lines of one frequency side by side, each frequency from an even number on."""
    lines = [pwm for pwm in sketch.program.pwms if _hardware(pwm)]
    rates = list(dict.fromkeys((pwm.hz, _bits(sketch, pwm)) for pwm in lines))
    if sketch.core.pwm_field and "top" in sketch.core.pwm_field:  # blocks: one for each timer of the plan
        blocks = list(dict.fromkeys(pwm.pool for pwm in lines))
        return {pwm.pin.name: int(pwm.pool[-1]) if pwm.pool[-1].isdigit() else blocks.index(pwm.pool) for pwm in lines}
    found: dict[str, int] = {}
    start = 0
    for rate in rates:
        group = [pwm.pin.name for pwm in lines if (pwm.hz, _bits(sketch, pwm)) == rate]
        found.update({name: start + index for index, name in enumerate(group)})
        start += (len(group) + 1) // 2 * 2
    return found


def _pwm(sketch: Sketch, pwm: Pwm) -> None:
    pin = pwm.pin
    if pwm.tone and pwm.software:
        _tone(sketch, pwm)
    elif not _hardware(pwm):
        _soft_servo(sketch, pwm)
    else:
        _duty(sketch, pwm)
        if pwm.pulse_s:
            _servo(sketch, pwm)
        elif pwm.tone:
            call = f"set_{pin.snake}"
            shows = (f"{call}(0.5f);", _show(pin), f"{call}(0.0f);")
            _offer(sketch, pin, f"{call}(share > 0.0f ? 0.5f : 0.0f);", f"{call}(0.0f);", shows)
        else:
            call = f"set_{pin.snake}"
            steps = (f"{call}(0.5f);", _show(pin), f"{call}(0.0f);")
            _offer(sketch, pin, f"{call}(share);", f"{call}(0.0f);", steps)


def _duty(sketch: Sketch, pwm: Pwm) -> None:
    """``set_...(share)``: the share of time the part is on, 0 to 1."""
    mode = timer_mode(pwm) if sketch.core.pwm == "timers" else None
    if mode is not None:
        _timer_duty(sketch, pwm, mode)
    elif sketch.core.pwm == "shared":
        _line_duty(sketch, pwm)
    else:
        _core_duty(sketch, pwm)


def _line_duty(sketch: Sketch, pwm: Pwm) -> None:
    pin, bits = pwm.pin, _bits(sketch, pwm)
    hz = sketch.core.pwm_fixed_hz or pwm.hz
    channel = _channels(sketch)[pin.name]
    last = ", {}" if sketch.core.pwm_field else ""
    asked = f"share {'<' if pwm.inverted else '>'} {'1.0f' if pwm.inverted else '0.0f'}"
    turned = ["share = 1.0f - share;  // the stage turns it round: off is a steady high"] if pwm.inverted else []
    write = f"pwm_write({pin.snake}_pwm, uint32_t(share * {2**bits - 1}.0f + 0.5f));"
    sketch.add(
        *_about(pin, f"PWM at {hz:g} Hz, {bits} bits"),
        f"PwmLine {pin.snake}_pwm = {{pins::{pin.snake}, pwm::{pin.snake}_hz, {bits}, {channel}, false{last}}};",
        "",
        *block(
            f"void set_{pin.snake}(float share)",
            [*turned, *block(f"if ({asked} || {pin.snake}_pwm.started)", [write])],
        ),
    )


def _core_duty(sketch: Sketch, pwm: Pwm) -> None:
    """The core's own call with 8 bits at the frequency its clock gives."""
    pin = pwm.pin
    turned = ["share = 1.0f - share;  // the stage turns it round: off is a steady high"] if pwm.inverted else []
    sketch.add(
        *_about(pin, f"PWM at {pwm.hz:g} Hz as planned, 8 bits, by the core's own call"),
        *block(f"void set_{pin.snake}(float share)", [*turned, f"analogWrite(pins::{pin.snake}, int(share * 255.0f + 0.5f));"]),
    )


def _timer_duty(sketch: Sketch, pwm: Pwm, mode: TimerMode) -> None:
    pin, name = pwm.pin, f"pins::{pwm.pin.snake}"
    set_up = [f"// Timer {mode.number}: {mode.words}.", *mode.set_up]
    if set_up[0] not in sketch.converters:
        sketch.converters += set_up
    register, bit = mode.connect(pwm.channel)
    full = mode.top + 1 if mode.rounds else mode.top
    value = "count - 1" if mode.rounds else "count"
    turned = ["share = 1.0f - share;  // the stage turns it round: off is a steady high"] if pwm.inverted else []
    sketch.add(
        *_about(pin, f"PWM at {mode.hz:.6g} Hz by channel {pwm.channel} of timer {mode.number}"),
        *block(
            f"void set_{pin.snake}(float share)",
            [
                *turned,
                f"const uint32_t count = uint32_t(share * {full}.0f + 0.5f);",
                *either(
                    f"count == 0 || count >= {full}UL",
                    [f"{register} &= ~_BV({bit});  // a steady level needs no timer", f"digitalWrite({name}, count == 0 ? LOW : HIGH);"],
                    [f"const uint16_t compare = uint16_t({value});", *mode.compare(pwm.channel, "compare"), f"{register} |= _BV({bit});"],
                ),
            ],
        ),
    )


def _servo(sketch: Sketch, pwm: Pwm) -> None:
    """A position instead of a duty: the pulse's length as a share of the period."""
    pin = pwm.pin
    short, long = pwm.pulse_s or (0.001, 0.002)
    body = [f"const float pulse_s = {number(short)} + position * {number(long - short)};", f"set_{pin.snake}(pulse_s * {number(pwm.hz)});"]
    sketch.add(
        *comment(f"{pin.words}: servo, position 0 to 1; below 0 it gets no pulses and goes limp."),
        *block(f"void turn_{pin.snake}(float position)", [*block("if (position < 0.0f)", [f"set_{pin.snake}(0.0f);", "return;"]), *body]),
    )
    _offer_servo(sketch, pin)


def _offer_servo(sketch: Sketch, pin: Pin) -> None:
    call = f"turn_{pin.snake}"
    shows = (f"{call}(0.5f);", _show(pin), f"{call}(-1.0f);")
    _offer(sketch, pin, f"{call}(share);", f"{call}(-1.0f);", shows)


def _soft_servo(sketch: Sketch, pwm: Pwm) -> None:
    """Pulses by the main loop: no timer is taken, a busy loop makes the servo tremble."""
    pin = pwm.pin
    short, long = pwm.pulse_s or (0.001, 0.002)
    sketch.pieces.add("servo")
    sketch.add(
        *_about(pin, f"pulses of {short * 1e3:g} to {long * 1e3:g} ms by the main loop; the Servo library holds it more firmly"),
        f"SoftServo {pin.snake}_servo = {{pins::{pin.snake}, 0, 0}};",
        "",
        *block(
            f"void turn_{pin.snake}(float position)",
            [
                f"{pin.snake}_servo.pulse_us =",
                f"    position < 0.0f ? 0 : uint16_t({number(short * 1e6)} + position * {number((long - short) * 1e6)});",
            ],
        ),
    )
    sketch.waits.append(f"pulse({pin.snake}_servo);")
    _offer_servo(sketch, pin)


def _tone(sketch: Sketch, pwm: Pwm) -> None:
    pin, off = pwm.pin, level(not pwm.pin.active_level)
    sketch.add(
        *_about(pin, f"a tone of {pwm.hz:g} Hz"),
        *block(
            f"void set_{pin.snake}(bool on)",
            either(
                "on",
                [f"tone(pins::{pin.snake}, pwm::{pin.snake}_hz);"],
                [f"noTone(pins::{pin.snake});", f"digitalWrite(pins::{pin.snake}, {off});"],
            ),
        ),
    )
    call = f"set_{pin.snake}"
    _offer(sketch, pin, f"{call}(share > 0.0f);", f"{call}(false);", (f"{call}(true);", _show(pin), f"{call}(false);"))


def _dac(sketch: Sketch, dac: Dac) -> None:
    pin, core = dac.pin, sketch.core
    if not core.dac:
        sketch.notes.append(f"{pin.words}: this core has no call for an analog output.")
        return
    bits = core.dac_bits
    first = [f"analogWriteResolution({bits});"] if core.dac == "analogWrite" else []
    sketch.add(
        *_about(pin, f"analog output, {bits} bits over {dac.full_v:g} V"),
        *block(f"void set_{pin.snake}(float share)", [*first, f"{core.dac}(pins::{pin.snake}, int(share * {2**bits - 1}.0f + 0.5f));"]),
    )
    call = f"set_{pin.snake}"
    shows = (f"{call}(0.5f);", _show(pin), f"{call}(0.0f);")
    _offer(sketch, pin, f"{call}(share);", f"{call}(0.0f);", shows)
