"""Inputs of a C++ programme: contacts, counted pulses, encoders, distances, one-wire lines, touch, and their interrupts."""

from __future__ import annotations

from pinwright.pack.firmware.cpp_sketch import Sketch, block, comment, said
from pinwright.pack.firmware.model import Echo, Encoder, Pin

__all__ = ["change_watch", "write_change_vectors", "write_inputs"]

_EDGE = {"rising": "RISING", "falling": "FALLING", "both": "CHANGE", "none": "CHANGE"}


def write_inputs(sketch: Sketch) -> None:
    """Every pin that is read, in the order of the brief, with its set-up, its polling and its report."""
    program = sketch.program
    if not program.of("input", "counter", "pulses", "encoder", "echo", "one-wire", "touch", "pulse-data"):
        return
    sketch.section("inputs")
    for pin in program.of("input", "counter", "pulses", "encoder", "echo", "one-wire"):
        _mode(sketch, pin)
    for pin in program.of("input"):
        _contact(sketch, pin)
    for pin in program.of("counter", "pulses"):
        _counter(sketch, pin)
    for knob in program.encoders:
        _encoder(sketch, knob)
    for echo in program.echoes:
        _echo(sketch, echo)
    for pin in program.of("one-wire"):
        _one_wire(sketch, pin)
    for pin in program.of("touch"):
        _touch(sketch, pin)
    for pin in program.of("pulse-data"):
        sketch.shows[pin.name] = ['console.println(F("needs its library"));']


def _mode(sketch: Sketch, pin: Pin) -> None:
    core = sketch.core
    mode = "INPUT"
    if pin.pull == "up":
        mode = "INPUT_PULLUP"
    elif pin.pull == "down" and core.pull_down:
        mode = core.pull_down
    elif pin.pull == "down":
        sketch.notes.append(f"{pin.words}: this chip has no pull-down inside; fit one.")
    sketch.inputs.append(f"pinMode(pins::{pin.snake}, {mode});")


def _report(sketch: Sketch, words: str, value: str, unit: str = "") -> None:
    sketch.pieces.add("tell")
    sketch.reports.append(f"tell({said(words)}, {value}, {said(unit)});" if unit else f"tell({said(words)}, {value});")


def _contact(sketch: Sketch, pin: Pin) -> None:
    """Debounced by time; where polling is not enough an interrupt keeps what came and went between two rounds."""
    sketch.pieces.add("contact")
    settle_ms = round(pin.debounce_s * 1000)
    rest = pin.rest_level != 0
    about = f"settles for {settle_ms} ms" if settle_ms else "does not bounce"
    acts = "" if pin.rest_level is None else f", {'low' if pin.rest_level else 'high'} when it acts"
    start = str(rest).lower()
    name = f"{pin.snake}_contact"
    sketch.add(
        *comment(f"{pin.words}: {about}{acts}."),
        f"Contact {name} = {{pins::{pin.snake}, {settle_ms}, {start}, {start}, 0}};",
    )
    sketch.inputs.append(f"settle({name});")
    now = f'{name}.level ? F("high") : F("low")'
    sketch.polls += block(f"if (has_changed({name}))", [f'tell({said(pin.words)}, {now}, F("now"));'])
    _report(sketch, pin.words, now)
    sketch.shows[pin.name] = [f"watch(pins::{pin.snake});"]
    if pin.must_interrupt and pin.interrupt != "none":
        flag = f"{pin.snake}_called"
        sketch.add(f"volatile bool {flag} = false;  // set at once, looked at in the next round")
        _handler(sketch, pin, pin.interrupt, [f"{flag} = true;"])
        called = [f"{flag} = false;", f'tell({said(pin.words)}, F("called"));']
        sketch.polls += block(f"if ({flag})", called)


def _counter(sketch: Sketch, pin: Pin) -> None:
    sketch.pieces.add("counts")
    count = f"{pin.snake}_count"
    dead_us = round(pin.debounce_s * 1e6)
    body = [f"{count} = {count} + 1;"]
    if dead_us:
        body = ["static uint32_t last_us = 0;", f"if (micros() - last_us >= {dead_us}UL) {{", f"  {body[0]}", "}", "last_us = micros();"]
    sketch.add(
        *comment(f"{pin.words}: pulses counted{f', none real within {dead_us} µs of another' if dead_us else ''}."),
        f"volatile uint32_t {count} = 0;",
    )
    edge = pin.interrupt if pin.interrupt != "none" else "falling"
    if not _handler(sketch, pin, edge, body):
        sketch.polls += _polled(pin, edge, body)
    _report(sketch, pin.words, f"steady({count})")
    sketch.shows[pin.name] = [f"show_count({count});"]


def _polled(pin: Pin, edge: str, body: list[str]) -> list[str]:
    """An edge found by looking, for a pad without an interrupt: pulses shorter than a round are lost."""
    test = {"rising": "now && !before", "falling": "!now && before"}.get(edge, "now != before")
    return [
        "{",
        f"  const bool now = digitalRead(pins::{pin.snake}) == HIGH;",
        "  static bool before = now;",
        *(f"  {line}" for line in block(f"if ({test})", body)),
        "  before = now;",
        "}",
    ]


def _encoder(sketch: Sketch, knob: Encoder) -> None:
    sketch.pieces |= {"counts", "quadrature"}
    snake = knob.name.lower()
    turn = f"turn_{snake}"
    body = [
        "static uint8_t before = 3;",
        f"const uint8_t now = (digitalRead(pins::{knob.a.snake}) == HIGH ? 2 : 0) | (digitalRead(pins::{knob.b.snake}) == HIGH ? 1 : 0);",
        f"{snake}_count = {snake}_count + quarter_turn(before, now);",
        "before = now;",
    ]
    isr = f"{sketch.core.isr} " if sketch.core.isr else ""
    sketch.add(
        *comment(f"{knob.words}: rotary encoder, four counts for a full cycle of its lines."),
        f"volatile int32_t {snake}_count = 0;",
        "",
        *block(f"void {isr}{turn}()", body),
    )
    served = [_attach(sketch, pin, turn, "both") for pin in (knob.a, knob.b)]
    if not all(served):
        sketch.waits.append(f"{turn}();")
    _report(sketch, knob.words, f"steady({snake}_count)")
    sketch.shows[knob.name] = [f"show_count({snake}_count);"]


def _echo(sketch: Sketch, echo: Echo) -> None:
    sketch.pieces.add("distance")
    value = f"echo_mm(pins::{echo.trigger.snake}, pins::{echo.echo.snake})"
    _report(sketch, echo.words, value, "mm")
    sketch.shows[echo.name] = [f'tell({said(echo.words)}, {value}, F("mm"));']


def _one_wire(sketch: Sketch, pin: Pin) -> None:
    sketch.pieces.add("presence")
    value = f'answers_reset(pins::{pin.snake}) ? F("answers") : F("no answer")'
    sketch.add(*comment(f"{pin.words}: only asked whether anybody is there; reading it is a library's work."))
    _report(sketch, pin.words, value)
    sketch.shows[pin.name] = [f"console.println({value});"]


def _touch(sketch: Sketch, pin: Pin) -> None:
    call = sketch.core.touch
    if not call:
        sketch.notes.append(f"{pin.words}: this core has no call for touch.")
        return
    _report(sketch, pin.words, f"{call}(pins::{pin.snake})")
    sketch.shows[pin.name] = [f"console.println({call}(pins::{pin.snake}));"]


# ------------------------------------------------------------------------------ interrupts


def _handler(sketch: Sketch, pin: Pin, edge: str, body: list[str]) -> bool:
    """A handler of its own for a pin; false where the pad cannot raise an interrupt."""
    isr = f"{sketch.core.isr} " if sketch.core.isr else ""
    sketch.add(*block(f"void {isr}on_{pin.snake}()", body))
    return _attach(sketch, pin, f"on_{pin.snake}", edge)


def _attach(sketch: Sketch, pin: Pin, handler: str, edge: str) -> bool:
    core, chip = sketch.core, sketch.program.chip
    name = f"pins::{pin.snake}"
    if core.has_own_interrupt(chip, pin):
        sketch.interrupts.append(f"attachInterrupt(digitalPinToInterrupt({name}), {handler}, {_EDGE[edge]});")
        return True
    vector = core.change_vector(chip, pin)
    if vector is None:
        sketch.notes.append(f"{pin.words}: this pad has no interrupt, so it is only looked at in every round.")
        return False
    sketch.interrupts.append(f"watch_change({name});")
    test = {"rising": "now && !before", "falling": "!now && before"}.get(edge, "now != before")
    sketch.changes.setdefault(vector, []).extend(
        ["{", f"  static bool before = {str(pin.rest_level != 0).lower()};", f"  const bool now = digitalRead({name}) == HIGH;"]
        + [f"  {line}" for line in block(f"if ({test})", [f"{handler}();"])]
        + ["  before = now;", "}"]
    )
    return True


def write_change_vectors(sketch: Sketch) -> None:
    """The interrupts a whole port shares: each pin finds out by itself whether it changed."""
    sleeps = any("volatile bool woken" in line for line in sketch.code)
    for vector in sorted(sketch.changes):
        sketch.add(
            "// This port has one interrupt for all its pins: each is compared with what it was.",
            *block(f"void on_change_{vector}()", [*(["woken = true;"] if sleeps else []), *sketch.changes[vector]]),
        )
        sketch.vectors += [f"ISR(PCINT{vector}_vect) {{ device::on_change_{vector}(); }}", ""]


def change_watch() -> list[str]:
    """``watch_change(pin)``: lets a pin's change raise its port's interrupt (macros of the core's pin table)."""
    return block(
        "void watch_change(pin_number pin)",
        [
            "const int number = pin;  // the core's macros compare with 0",
            "*digitalPinToPCMSK(number) |= bit(digitalPinToPCMSKbit(number));",
            "*digitalPinToPCICR(number) |= bit(digitalPinToPCICRbit(number));",
        ],
    )
