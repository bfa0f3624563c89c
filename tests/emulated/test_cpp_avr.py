"""Written C++ for the AVR boards: compiled with all warnings against Debian's core, and run in a simulator of the chip from reset on.

What every pin did is rebuilt from its direction and output registers at every clock cycle, and held against the plan: high impedance until
the set-up [the chips' facts: all pads float], the level in the output register before the driver is on, no wrong level at any time, pulls
as the circuits count on.  Timers are read back as the data sheets define their registers (ATmega328P, DS40002061, sections on TC0 to TC2;
ATmega32U4 section 15 for timer 4; from memory).
"""

from __future__ import annotations

import os
import re

import avr_rig
import cpp_plans
import pytest
from avr_rig import BOARDS, Event, Rig, Run
from cpp_plans import Case

from pinwright.fitting.plan import Placed

CASES = {case.name: case for case in cpp_plans.avr_cases()} if not avr_rig.missing_tools() else {}
WITH_PORT = [name for name in CASES if BOARDS[name.split("/")[1]].mcu in ("atmega328p", "atmega2560")]
"""Boards whose console is a serial port the simulator can talk to; the others talk over USB or not at all."""
START_S = 0.25
LOAD_S = 0.8
CORE_PINS = {
    "atmega328p": {"PD0", "PD1"},
    "atmega2560": {"PE0", "PE1"},
    "atmega32u4": {"PB0", "PD5"},
    "attiny85": set(),
}
"""Pads the core takes by itself: its serial port, and on the chip with USB the two lamps for traffic (HardwareSerial, pins_arduino.h)."""
SELECT = {"atmega328p": "PB2", "atmega2560": "PB0", "atmega32u4": "PB0"}
"""The pad the SPI library makes an output (SPI.cpp, begin)."""


def test_the_tools_are_there():
    text = avr_rig.missing_tools()
    if text and os.environ.get("CI", "").lower() == "true":
        pytest.fail(f"apt-get install {text}")
    if text:
        pytest.skip(f"apt-get install {text}")
    assert {BOARDS[case.board].mcu for case in CASES.values()} == set(CORE_PINS)


@pytest.fixture(scope="session")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Rig:
    shared = tmp_path_factory.getbasetemp().parent if os.environ.get("PYTEST_XDIST_WORKER") else tmp_path_factory.getbasetemp()
    return Rig(shared / "avr")


STARTS: dict[str, Run] = {}
"""Runs without events, by case: several tests look at the same one."""


def start(rig: Rig, case: Case) -> Run:
    if case.name not in STARTS:
        STARTS[case.name] = run(rig, case, START_S)
    return STARTS[case.name]


def run(rig: Rig, case: Case, stop_s: float, events: list[Event] | None = None, self_test: bool = False) -> Run:
    board = BOARDS[case.board]
    name = f"{case.name.replace('/', '-')}-{int(self_test)}-{os.environ.get('PYTEST_XDIST_WORKER', '')}"
    elf = rig.folder / name / "firmware.elf"
    if not elf.exists():
        short = ["SHOW_MS=20", "WATCH_MS=50", "LISTEN_MS=20", f"LOAD_MS={round(LOAD_S * 1000)}"]  # waiting costs simulated time only
        rig.compile(board, case.files, name, [f"SELF_TEST={int(self_test)}", *short])
    return rig.run(elf, board, stop_s, events or [])


def states(result: Run, placed: Placed) -> list[str]:
    return [state for _, state in result.pin(placed.place.pad.name)]


def musts(case: Case) -> list[Placed]:
    return [p for p in case.plan.placed if p.line.asks.quiet == "must" and cpp_plans.off_level(p) in ("low", "high")]


@pytest.mark.parametrize("name", CASES)
def test_the_simulated_pins_do_what_the_plan_says(name: str, rig: Rig):
    case = CASES[name]
    result = start(rig, case)
    mcu = BOARDS[case.board].mcu
    spi = any(bus.kind == "spi" for bus in case.plan.candidates.nets.buses)
    lamps = {p.line.id for p in case.plan.placed if "LED" in p.line.title and p.line.asks.quiet != "must"}
    for placed, wanted in cpp_plans.states_wanted(case):
        seen, off, pad = states(result, placed), cpp_plans.off_level(placed), placed.place.pad.name
        if pad.startswith("ADC"):
            continue  # analog inputs without port registers
        assert seen[0] == "hi-Z", f"{placed.line.id}: {seen}"
        if placed.line.id in lamps:
            assert set(seen) <= {"hi-Z", "low", "high"}
            continue
        assert seen[-1] in wanted, f"{placed.line.id} at {pad}: {seen}, wanted {wanted}"
        if off == "low":
            assert set(seen) == {"hi-Z", "low"}, f"{placed.line.id} at {pad}: {seen}"
        elif off == "high":
            # writing a high to an input turns its pull-up on: the step between, towards the safe level
            assert seen == ["hi-Z", "pull-up", "high"], f"{placed.line.id} at {pad}: {seen}"
        elif placed.line.asks.direction == "in" and not (spi and pad == SELECT[mcu]):
            assert not {"low", "high"} & set(seen), f"{placed.line.id} at {pad} is driven: {seen}"
    used = {placed.place.pad.name for placed in case.plan.placed}
    free = {f"P{port[-1]}{bit}" for port in result.changes if port.startswith("DDR") for bit in range(8)} - used - CORE_PINS[mcu]
    free -= {SELECT[mcu]} if spi else set()
    touched = {pad: result.pin(pad) for pad in sorted(free) if len(result.pin(pad)) > 1}
    assert not touched, "pads outside the plan were touched"


@pytest.mark.parametrize("name", CASES)
def test_loads_that_must_stay_off_are_never_on_while_nobody_commands(name: str, rig: Rig):
    case = CASES[name]
    loads = musts(case)
    result = start(rig, case)
    first = {placed.place.pad.name: min(cycle for cycle, state in result.pin(placed.place.pad.name) if state != "hi-Z") for placed in loads}
    others = [
        min((cycle for cycle, state in result.pin(p.place.pad.name) if state != "hi-Z"), default=1 << 60)
        for p, _ in cpp_plans.states_wanted(case)
        if p not in loads and not p.place.pad.name.startswith("ADC")
    ]
    assert not first or not others or max(first.values()) < min(others), "loads are made safe first"
    for placed in loads:
        assert not connected(result, case, placed), f"a timer drives {placed.line.id}"


def connected(result: Run, case: Case, placed: Placed) -> bool:
    """Whether the timer output on the line's pad was ever joined to it (any of its two COM bits)."""
    for use in placed.place.pad.pwm:
        match = re.fullmatch(r"TC(\d)", use.pool)
        if not match or not use.channel:
            continue
        n, channel = match[1], use.channel
        register = f"TCCR{n}C" if n == "4" and channel == "D" and BOARDS[case.board].mcu == "atmega32u4" else f"TCCR{n}A"
        if BOARDS[case.board].mcu == "attiny85" and n == "1":
            register = "TCCR1" if channel == "A" else "GTCCR"
            continue
        shift = {"A": 6, "B": 4, "C": 2, "D": 2}[channel]
        if any(value >> shift & 3 for _, value in result.changes.get(register, [])):
            return True
    return False


# ------------------------------------------------------------------------------ timers


def made_hz(result: Run, n: str, mcu: str) -> float:
    """Frequency a timer makes with the registers as they stand at the end."""
    a, b = result.last(f"TCCR{n}A"), result.last(f"TCCR{n}B")
    if mcu == "atmega32u4" and n == "4":
        clock = result.clock_hz / 2 ** ((b & 15) - 1)
        top = result.last("OCR4C") | (top_high(result) << 8)
        return clock / (top + 1)
    wide = f"ICR{n}L" in result.changes
    dividers = (0, 1, 8, 64, 256, 1024) if wide or n == "0" else (0, 1, 8, 32, 64, 128, 256, 1024)
    clock = result.clock_hz / dividers[b & 7]
    mode = (a & 3) | (b >> 3 & 3) << 2 if wide else (a & 3) | (b >> 3 & 1) << 2
    if wide:
        top = result.last(f"ICR{n}L") | result.last(f"ICR{n}H") << 8
        assert mode == 14, f"timer {n} is in mode {mode}"  # fast PWM up to ICRn
        return clock / (top + 1)
    assert mode in (1, 3), f"timer {n} is in mode {mode}"
    return clock / (510 if mode == 1 else 256)


def top_high(result: Run) -> int:
    """High bits written to the 10-bit timer's top: those that stood in TC4H when OCR4C was written last."""
    cycle = result.changes["OCR4C"][-1][0]
    return result.at("TC4H", cycle)


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if any(p.choice.pool for p in case.plan.placed)])
def test_timers_make_what_was_planned(name: str, rig: Rig):
    case = CASES[name]
    result = start(rig, case)
    mcu = BOARDS[case.board].mcu
    for placed in case.plan.placed:
        match = re.fullmatch(r"TC(\d)", placed.choice.pool)
        if not match or mcu == "attiny85":
            continue
        needs, planned = placed.line.asks.needs, float(placed.mode.split()[0])
        if match[1] == "0":
            assert result.clock_hz / 64 / 256 == pytest.approx(planned, rel=0.01)  # the clock's timer is left alone
            assert result.last("TCCR0B") & 7 == 3
            continue
        hz = made_hz(result, match[1], mcu)
        low, high = needs.pwm_min_hz or planned, needs.pwm_max_hz or planned
        assert hz == pytest.approx(planned, rel=0.03) or low <= hz <= high, f"{placed.line.id}: {hz} Hz, planned {placed.mode}"


# ------------------------------------------------------------------------------ talking to it


def answers(letter: str, until_s: float) -> list[Event]:
    return [Event(0.1 + 0.02 * number, "uart", f"0 {letter}") for number in range(int(until_s / 0.02))]


SELF_TESTS = [name for name in WITH_PORT if name.split("/")[0] in ("loads", "oven-wall", "names")]


@pytest.mark.parametrize("name", SELF_TESTS)
def test_the_self_test_moves_loads_on_a_yes_only(name: str, rig: Rig):
    case = CASES[name]
    if case.program.console_taken:
        pytest.fail("these briefs leave the console alone")
    long_s = 2.2
    refused = run(rig, case, long_s, answers("n", long_s), self_test=True)
    for placed in musts(case):
        off = cpp_plans.off_level(placed)
        assert set(states(refused, placed)) <= ({"hi-Z", "low"} if off == "low" else {"hi-Z", "pull-up", "high"})
        assert not connected(refused, case, placed)
    assert "left off" in refused.serial[0]
    agreed = run(rig, case, long_s, answers("y", long_s), self_test=True)
    assert "done; in doubt: 0" in agreed.serial[0], agreed.serial[0][-600:]
    question = agreed.sent_at[0][agreed.serial[0].index("This switches a load")]
    for placed in musts(case):
        off = cpp_plans.off_level(placed)
        on = {"low": "high", "high": "low"}[off]  # type: ignore[index]
        moves = [cycle for cycle, state in agreed.pin(placed.place.pad.name) if state == on]
        assert moves or connected(agreed, case, placed), f"{placed.line.id} is not walked"
        assert all(cycle > question for cycle in moves), f"{placed.line.id} moved before the question"
        assert states(agreed, placed)[-1] == off, f"{placed.line.id} is left on"


@pytest.mark.parametrize("name", [name for name in WITH_PORT if name.startswith("loads/")])
def test_a_command_switches_a_load_and_time_switches_it_off(name: str, rig: Rig):
    case = CASES[name]
    menu = run(rig, case, 0.3).serial[0]
    number = re.search(r"^(\d+) pump\.IN", menu, re.MULTILINE)
    assert number
    result = run(rig, case, 1.6, [Event(0.5, "uart", f"0 {number[1]} on")])
    pump = next(placed for placed in case.plan.placed if placed.line.part == "pump")
    off = cpp_plans.off_level(pump)
    moves = [(cycle / result.clock_hz, state) for cycle, state in result.pin(pump.place.pad.name)][-2:]
    assert [state for _, state in moves] == [{"low": "high", "high": "low"}[off], off]  # type: ignore[index]
    assert moves[0][0] == pytest.approx(0.5, abs=0.05)
    assert moves[1][0] - moves[0][0] == pytest.approx(LOAD_S, abs=0.1)


@pytest.mark.parametrize("name", [name for name in WITH_PORT if name.startswith("loads/")][:2])
def test_a_load_that_is_commanded_does_not_keep_another_on(name: str, rig: Rig):
    case = CASES[name]
    menu = run(rig, case, 0.3).serial[0]
    pump_number, valve_number = (re.search(rf"^(\d+) {part}\.IN", menu, re.MULTILINE)[1] for part in ("pump", "valve"))  # type: ignore[index]
    events = [
        Event(at, "uart", f"0 {typed}")
        for at, typed in ((0.5, f"{pump_number} on"), (0.8, f"{valve_number} on"), (1.1, f"{valve_number} off"))
    ]
    result = run(rig, case, 1.8, events)
    pump = next(placed for placed in case.plan.placed if placed.line.part == "pump")
    moves = [(cycle / result.clock_hz, state) for cycle, state in result.pin(pump.place.pad.name)][-2:]
    assert moves[0][0] == pytest.approx(0.5, abs=0.05)
    assert moves[1][0] - moves[0][0] == pytest.approx(LOAD_S, abs=0.1)


@pytest.mark.parametrize("name", [name for name in WITH_PORT if name.startswith("sensors/")])
def test_an_open_or_shorted_thermistor_is_no_temperature(name: str, rig: Rig):
    # Both ends of the supply at its divider: the sensor is open or shorted (voltage divider)
    case = CASES[name]
    warm = next(placed for placed in case.plan.placed if placed.line.part == "warm")
    channel = warm.place.pad.adc.channel  # type: ignore[union-attr]
    if case.plan.view.board.logic_v != 5.0 or channel >= 8:
        pytest.skip("the simulator's supply is 5 V, and it converts eight channels")
    result = run(rig, case, 2.6, [Event(0.001, "adc", f"{channel} 0"), Event(1.5, "adc", f"{channel} 5000")])
    lines = [line for line in result.serial[0].replace("\r", "").split("\n") if line.startswith("warm.NTC: ")]
    assert len(lines) >= 2
    assert all(line.startswith("warm.NTC: no value") for line in lines), lines


def test_a_hanging_bus_lets_the_programme_go_on():
    # Wire.h of the core declares setWireTimeout (core 1.8.7, read); without it the library waits for ever by default
    begun = [case.files["firmware.ino"] for case in CASES.values() if "Wire.begin();" in case.files["firmware.ino"]]
    assert begun or not CASES
    for text in begun:
        assert text.index("Wire.begin();") < text.index("Wire.setWireTimeout(25000, true);")


@pytest.mark.parametrize("name", [name for name in WITH_PORT if name.startswith("sensors/")])
def test_inputs_are_read(name: str, rig: Rig):
    # 10 pulses are 10; a bouncing contact changes once; four edges of a quadrature pair are four counts (properties);
    # half the supply at the thermistor's divider is 25 °C (definition of its R25, fixed resistor 10 kΩ)
    case = CASES[name]
    at = {placed.line.part: placed for placed in case.plan.placed if placed.line.part not in ("knob",)}
    knob = [placed for placed in case.plan.placed if placed.line.part == "knob" and placed.line.asks.signal == "pulse"]

    def drive(placed: Placed, t_s: float, level: int) -> Event:
        pad = placed.place.pad.name
        return Event(t_s, "pin", f"{pad[1]} {pad[2]} {level}")

    channel = at["warm"].place.pad.adc.channel  # type: ignore[union-attr]
    events = [Event(0.001, "adc", f"{channel} 2500")]
    events += [drive(at[part], 0.001, 1) for part in ("rain", "door")] + [drive(each, 0.001, 1) for each in knob]
    events += [drive(at["rain"], 0.2 + 0.02 * number + after, level) for number in range(10) for after, level in ((0, 0), (0.008, 1))]
    events += [drive(at["door"], 1.3 + after, level) for after, level in ((0, 0), (0.001, 1), (0.002, 0), (0.003, 1), (0.004, 0))]
    turn = ((0, 0), (1, 0), (0, 1), (1, 1))
    events += [drive(knob[which], 0.6 + 0.01 * index, level) for index, (which, level) in enumerate(turn)]
    result = run(rig, case, 2.6, events)
    text = result.serial[0].replace("\r", "").split("\n")
    assert "rain.PULSE: 10" in text, text[-14:]
    assert len([line for line in text if line == "door.SW: low now"]) == 1, [line for line in text if line.startswith("door")]
    assert "door.SW: called" in text
    turns = [line for line in text if re.fullmatch(r"knob: -?\d+", line)]
    if all(placed.place.pad.name[1] != "J" for placed in knob):  # the simulator counts port J's change bits from the wrong one
        assert turns[-1] in ("knob: 4", "knob: -4"), turns
    if case.plan.view.board.logic_v == 5.0 and channel < 8:  # the simulator's supply, and the channels it converts
        readings = [float(found[1]) for line in text if (found := re.match(r"warm\.NTC: (-?[\d.]+) ", line))]
        assert readings[-1] == pytest.approx(25.0, abs=0.3)
    bus = next(bus for bus in case.plan.candidates.nets.buses if bus.kind == "i2c")
    assert set(result.called) == set(bus.addresses.values())
    assert any("does not answer" in line for line in text)  # nobody is there


@pytest.mark.parametrize("name", [name for name in CASES if name.startswith("sleepy/")])
def test_it_sleeps_with_its_pins_held_and_wakes_on_its_pin(name: str, rig: Rig):
    case = CASES[name]
    flap = next(placed for placed in case.plan.placed if placed.line.asks.needs.wake)
    pad = flap.place.pad.name
    result = run(rig, case, 2.6, [Event(0.001, "pin", f"{pad[1]} {pad[2]} 1"), Event(1.3, "pin", f"{pad[1]} {pad[2]} 0")])
    register, bit = ("SMCR", 0x01) if "SMCR" in result.changes else ("MCUCR", 0x20)
    asleep_s = [cycle / result.clock_hz for cycle, value in result.changes[register] if value & bit]
    assert asleep_s, "it never sleeps"
    assert asleep_s[0] == pytest.approx(1.0, abs=0.1)  # awake_for of the brief
    assert len(asleep_s) >= 2, "nothing woke it"
    assert asleep_s[-1] == pytest.approx(2.3, abs=0.15)  # awake for another second from the edge on
    for placed in musts(case):
        assert states(result, placed)[-1] == cpp_plans.off_level(placed)
