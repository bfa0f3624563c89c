"""The programme of a device in C++, for the cores with ``setup``, ``loop``, ``pinMode`` and ``digitalWrite``.

    cpp_source(program)      # {"firmware.ino": ..., "pins.h": ...}

Order of the set-up: what was held through sleep keeps its level; every driven pin gets its level before it becomes an output, loads that
must stay off first; inputs; buses; converters and timers; interrupts last.  The main loop reads every input and says what it reads; outputs
move on a typed command only, except lamps, which blink.  With ``SELF_TEST`` set it walks every line instead, asking before each load.
"""

from __future__ import annotations

from pinwright.pack.firmware.avr_timers import timer_mode
from pinwright.pack.firmware.cores import core_of
from pinwright.pack.firmware.cpp_analog import write_analogs
from pinwright.pack.firmware.cpp_bench import write_commands, write_report, write_self_test, write_waiting
from pinwright.pack.firmware.cpp_buses import write_buses
from pinwright.pack.firmware.cpp_inputs import change_watch, write_change_vectors, write_inputs
from pinwright.pack.firmware.cpp_kit import kit
from pinwright.pack.firmware.cpp_outputs import write_outputs
from pinwright.pack.firmware.cpp_sketch import Sketch, block, comment, number, said
from pinwright.pack.firmware.cpp_sleep import AWAKE_S, let_go, write_sleep
from pinwright.pack.firmware.model import Pin, Program

__all__ = ["CONSOLE_BAUD", "MAIN", "PINS", "cpp_source"]

MAIN, PINS = "firmware.ino", "pins.h"
CONSOLE_BAUD = 115200
"""Rate of the console [Bd] (our choice; every core takes it)."""
_EARLY = ("silence",)
_REPORT_MS = 1000
_BLINK_MS = 500


def cpp_source(program: Program) -> dict[str, str]:
    """Files of the C++ programme, by name.

    Parameters
    ----------
    program : what firmware must know [-]

    Returns
    -------
    files : text by file name; they belong in one folder named like the main file [-]

    Raises
    ------
    ValueError : no core with this interface is known for the board.
    """
    core = core_of(program)
    if core is None:
        raise ValueError(f"No C++ core with pinMode and digitalWrite is known for the {program.board}.")
    sketch = Sketch(program, core)
    write_outputs(sketch)
    sketch.first += let_go(sketch)
    write_inputs(sketch)
    write_analogs(sketch)
    write_buses(sketch)
    if any("watch_change(" in line for line in sketch.interrupts):
        sketch.add(*change_watch())
    sketch.section("what it does")
    write_waiting(sketch)
    sleeps = write_sleep(sketch)
    write_change_vectors(sketch)
    write_report(sketch)
    write_commands(sketch)
    write_self_test(sketch)
    return {MAIN: _main(sketch, sleeps), PINS: _pins(sketch)}


# ------------------------------------------------------------------------------ the main file


def _main(sketch: Sketch, sleeps: bool) -> str:
    core = sketch.core
    lines = [
        *_head(sketch),
        "",
        "#include <Arduino.h>",
        *(f"#include <{name}>" for name in (*core.includes, *sketch.includes)),
        "",
        f'#include "{PINS}"',
        "",
        f"#if !defined({core.guard})",
        '#error "Choose the board this was written for: its core is another one."',
        "#endif",
        "",
        "// 1: walk every line at the bench, asking before each load; 0: run.",
        "#ifndef SELF_TEST",
        "#define SELF_TEST 0",
        "#endif",
        "",
        "namespace device {",
        "",
        f"using pin_number = {core.pin_type};",
        "",
        *_console(sketch),
        "",
        *kit(sketch.pieces),
        *sketch.code,
        *_set_up(sketch),
        *_step(sketch, sleeps),
        "}  // namespace device",
        "",
        *sketch.vectors,
        *_entry(sketch),
    ]
    return "\n".join(_tidy(lines)) + "\n"


def _tidy(lines: list[str]) -> list[str]:
    """No two empty lines in a row."""
    kept: list[str] = []
    for line in lines:
        if line.strip() or (kept and kept[-1]):
            kept.append(line.rstrip())
    return kept


def _head(sketch: Sketch) -> list[str]:
    program = sketch.program
    lines = [
        *comment(f"{program.title}: firmware for the {program.board}, with {sketch.core.words}."),
        "//",
        *comment("Written from the plan: pins, levels, pulls, frequencies and addresses are the plan's. Change the plan, not the numbers."),
    ]
    notes = list(dict.fromkeys((*program.left_out, *sketch.notes, *_core_notes(sketch))))
    for note in notes:
        lines += ["//", *comment(f"Mind: {note}")]
    libraries = [(device, driver) for device in program.devices if not device.needs_no_driver and (driver := device.driver("cpp"))]
    if libraries:
        lines += ["//", "// Libraries that read or drive the parts; this programme only proves that they are there:"]
    for device, driver in libraries:
        where = "comes with the core" if driver.builtin else "to be installed"
        lines += comment(f"  {device.words} ({device.title}): {driver.package}, {where}")
    return lines


def _core_notes(sketch: Sketch) -> list[str]:
    core = sketch.core
    newest = core.newest_note if sketch.program.chip in core.newest_only else ""
    return [note for note in (core.note, newest) if note]


def _console(sketch: Sketch) -> list[str]:
    if sketch.has_console:
        return ["// What it talks over.", f"decltype({sketch.core.console}) &console = {sketch.core.console};"]
    return kit(_EARLY)


def _set_up(sketch: Sketch) -> list[str]:
    """``set_up()``: in the order that lets nothing twitch."""
    parts = (
        ("outputs: each level before its driver, loads that must stay off first", sketch.first),
        ("inputs", sketch.inputs),
        ("buses", sketch.buses),
        ("converters and timers", sketch.converters),
        ("interrupts, last", sketch.interrupts),
    )
    body: list[str] = []
    for words, statements in parts:
        if statements:
            body += [f"// {words}", *statements]
    return ["// Everything the pins need, in the order that lets nothing twitch.", *block("void set_up()", body), ""]


def _step(sketch: Sketch, sleeps: bool) -> list[str]:
    """``step()``: one round of the main loop."""
    program = sketch.program
    body = [*sketch.waits, *sketch.polls]
    lamps = [pin for pin in program.pins if pin.is_lamp and pin.kind == "output" and not pin.must_stay_off]
    if lamps:
        body += [
            "static uint32_t blinked_ms = 0;",
            "static bool lit = false;",
            *block(
                f"if (millis() - blinked_ms >= {_BLINK_MS})",
                ["blinked_ms = millis();", "lit = !lit;", *(f"set_{pin.snake}(lit);  // shows that it runs" for pin in lamps)],
            ),
        ]
    body += [
        "static uint32_t reported_ms = 0;",
        *block(f"if (millis() - reported_ms >= {_REPORT_MS})", ["reported_ms = millis();", "report();"]),
    ]
    if sleeps and program.sleep is not None:
        awake_ms = round((program.sleep.awake_s or AWAKE_S) * 1000)
        woke = "static uint32_t woke_ms = 0;" if sketch.core.sleep == "stays" else ""
        since = "millis() - woke_ms" if woke else "millis()"
        again = ["woke_ms = millis();"] if woke else []
        body += [*([woke] if woke else []), *block(f"if ({since} >= {awake_ms}UL)", ["sleep_now();", *again])]
    return ["// One round: whatever changed is told at once, everything once a second.", *block("void step()", body), ""]


def _entry(sketch: Sketch) -> list[str]:
    begin = [f"device::console.begin({CONSOLE_BAUD});", "device::set_up();"]
    menu = ["device::show_menu();"] if sketch.outputs and sketch.has_console else []
    if not sketch.has_console:
        return [*block("void setup()", begin[1:]), "", *block("void loop()", ["device::step();"])]
    return [
        *block(
            "void setup()",
            [
                "device::set_up();  // first of all",
                begin[0],
                "#if SELF_TEST",
                f"device::console.println({said('self-test of ' + sketch.program.title, 100)});",
                "device::self_test();",
                *(["#else", *menu] if menu else []),
                "#endif",
            ],
        ),
        "",
        *block("void loop()", ["#if !SELF_TEST", "device::step();", "#endif"]),
    ]


# ------------------------------------------------------------------------------ the pins' header


def _pins(sketch: Sketch) -> str:
    program, core = sketch.program, sketch.core
    lines = [
        *comment(f"{program.title}: pins and numbers of the plan on the {program.board}."),
        "#pragma once",
        "",
        "#include <Arduino.h>",
        "",
        "namespace pins {",
    ]
    for pin in program.pins:
        lines += [*comment(_about(pin)), f"constexpr {core.pin_type} {pin.snake} = {core.pin(pin)};"]
    lines += ["}  // namespace pins", *_rates(sketch), *_addresses(program), *_calibration(program)]
    return "\n".join(lines) + "\n"


def _about(pin: Pin) -> str:
    """Where the pin is, what hangs on it, and why."""
    place = pin.label if pin.label == pin.pad else f"{pin.label}, pad {pin.pad}"
    why = "; ".join(pin.reasons)
    return f"{', '.join(pin.lines)}: {pin.kind} at {place}{'; ' + why if why else ''}"


def _space(name: str, body: list[str]) -> list[str]:
    return ["", f"namespace {name} {{", *body, f"}}  // namespace {name}"] if body else []


def _rates(sketch: Sketch) -> list[str]:
    program, core = sketch.program, sketch.core
    pwm = []
    for each in program.pwms:
        mode = timer_mode(each) if core.pwm == "timers" else None
        hz = mode.hz if mode else core.pwm_fixed_hz if core.pwm_fixed_hz and not each.software else each.hz
        wide = f" (planned {each.hz:g} Hz)" if abs(hz - each.hz) > 0.5 else ""
        pwm += [*comment(f"{each.pin.words}: frequency of its PWM [Hz]{wide}"), f"constexpr uint32_t {each.pin.snake}_hz = {round(hz)};"]
    buses = []
    for bus in program.buses:
        what = "rate [Bd]" if bus.kind == "uart" else "clock [Hz]"
        buses += [*comment(f"{bus.words}: {what} that all its parts follow"), f"constexpr uint32_t {bus.snake} = {round(bus.hz)};"]
    return [*_space("pwm", pwm), *_space("bus_hz", buses)]


def _addresses(program: Program) -> list[str]:
    body = []
    for bus in program.buses:
        for device in bus.devices:
            if device.address is not None:
                body += [*comment(f"{device.words} ({device.title})"), f"constexpr uint8_t {device.name.lower()} = 0x{device.address:02X};"]
    return _space("addresses", body)


def _calibration(program: Program) -> list[str]:
    """Two points a line: what it shows and what is true, for the maker to replace by what was measured."""
    lines: list[str] = []
    for analog in program.analogs:
        (low_shown, low_true), (high_shown, high_true) = analog.points
        values = (("low_shown", low_shown), ("low_true", low_true), ("high_shown", high_shown), ("high_true", high_true))
        law = analog.conversion
        lines += [
            *comment(f"{analog.pin.words}: two points in {law.unit}, as shown and as measured; equal pairs change nothing"),
            f"namespace {analog.pin.snake} {{",
            *(f"constexpr float {name} = {number(value)};" for name, value in values),
            f"}}  // namespace {analog.pin.snake}",
        ]
    return _space("calibration", lines)
