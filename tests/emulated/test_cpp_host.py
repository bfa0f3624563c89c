"""Written C++ for every core but AVR: compiled with all warnings against the cores' declarations, and run on the host.

The declarations (``api/``) hold what the cores' own headers say, sources there; pins that lose a level written too early do so here too
(read in the cores' wiring_digital files).  Expected levels, pulls, frequencies and addresses come from the plan's placed lines.
"""

from __future__ import annotations

import os
import re

import cpp_plans
import host_rig
import pytest
from cpp_plans import Case

CASES = {case.name: case for case in cpp_plans.host_cases()} if not host_rig.missing_tools() else {}
FEW = [name for name in CASES if name.split("/")[1] in cpp_plans.ONE_OF_A_KIND]
"""One board for each core: where the whole self-test is run with both answers."""


def test_the_tools_are_there():
    text = host_rig.missing_tools()
    if text and os.environ.get("CI", "").lower() == "true":
        pytest.fail(f"apt-get install {text}")
    if text:
        pytest.skip(f"apt-get install {text}")
    assert len({case.core.id for case in CASES.values()}) >= 7


@pytest.fixture(scope="session")
def rig(tmp_path_factory: pytest.TempPathFactory) -> host_rig.HostRig:
    shared = tmp_path_factory.getbasetemp().parent if os.environ.get("PYTEST_XDIST_WORKER") else tmp_path_factory.getbasetemp()
    return host_rig.HostRig(shared / "host")


STATES = ("hi-Z", "pull-up", "pull-down", "low", "high")


@pytest.mark.parametrize("name", CASES)
def test_it_compiles_and_starts_as_planned(name: str, rig: host_rig.HostRig):
    case = CASES[name]
    for generation in host_rig.generations(case):
        check_start(case, rig.run(case, generation, loops=200))


def check_start(case: Case, record: host_rig.Record) -> None:
    """Levels before drivers, no pin at the wrong level at any time, pulls as the circuits count on, nothing else touched."""
    wanted = list(cpp_plans.states_wanted(case))
    lamps = {placed.line.id for placed in case.plan.placed if "lamp" in placed.line.title.lower() or "LED" in placed.line.title}
    for placed, last in wanted:
        pin = host_rig.host_pin(case, placed.place)
        states = [state for _, state in record.states.get(pin, [])]
        assert states, f"{placed.line.id} at {placed.place.label} is never set up"
        if placed.line.id in lamps and placed.line.asks.quiet != "must":
            assert set(states) <= {"hi-Z", "low", "high"}
            continue
        assert states[-1] in last, f"{placed.line.id}: {states}, wanted {last}"
        off = cpp_plans.off_level(placed)
        if off in ("low", "high"):
            assert set(states) <= {"hi-Z", off}, f"{placed.line.id} must be {off} from the first moment: {states}"
    for placed in case.plan.placed:
        if cpp_plans.off_level(placed) == "released":
            states = {state for _, state in record.states.get(host_rig.host_pin(case, placed.place), [])}
            assert "high" not in states, f"{placed.line.id} is only ever pulled low"
    used = {host_rig.host_pin(case, placed.place) for placed in case.plan.placed}
    assert set(record.states) <= used, "a pin that is not in the plan was touched"
    musts = [host_rig.host_pin(case, p.place) for p, _ in wanted if p.line.asks.quiet == "must" and p.line.asks.safe_level != "any"]
    others = [host_rig.host_pin(case, p.place) for p, _ in wanted if host_rig.host_pin(case, p.place) not in musts]
    begun = [(index, pin) for index, (what, pin) in enumerate(record.order) if what in STATES]
    first = {pin: index for index, pin in reversed(begun)}
    assert not musts or not others or max(first[pin] for pin in musts) < min(first[pin] for pin in others), "loads come first"


@pytest.mark.parametrize("name", CASES)
def test_buses_get_their_pins_and_parts_are_asked(name: str, rig: host_rig.HostRig):
    case = CASES[name]
    generation = host_rig.generations(case)[-1]
    record = rig.run(case, generation, loops=1300)
    nets = case.plan.candidates.nets
    for index, bus in enumerate(nets.buses):
        pins = {p.net.role: host_rig.host_pin(case, p.place) for p in case.plan.placed if p.net.bus == index}
        if f"// Mind: {bus.name}: the core has no" in case.files["firmware.ino"]:
            continue  # said in the file's head
        labels = {p.net.role: p.place.label for p in case.plan.placed if p.net.bus == index}
        for roles, how in ((("SDA", "SCL"), case.core.wire), (("SCK", "MISO", "MOSI"), case.core.spi)):
            if how == "fixed" and case.board in USUAL and roles[0] in labels:  # the core's object cannot be moved
                assert {role: labels[role] for role in roles if role in labels}.items() <= USUAL[case.board].items()
        if bus.kind == "i2c":
            told = {name: numbers[-1] for name in ("i2c-sda", "i2c-scl") for numbers in record.of(name) if numbers[-1] in pins.values()}
            both = next((numbers for numbers in record.of("i2c") if numbers[1:3] == [pins["SDA"], pins["SCL"]]), None)
            fixed = case.core.wire == "fixed"
            assert fixed or both or told == {"i2c-sda": pins["SDA"], "i2c-scl": pins["SCL"]}, record.of("i2c")
            called = {numbers[1] for numbers in record.of("i2c-call")}
            assert set(bus.addresses.values()) <= called
            clock = max(numbers[1] for numbers in record.of("i2c-hz"))
            assert 0 < clock <= bus.max_hz
        if bus.kind == "spi" and record.of("spi") and case.core.spi not in ("fixed",):
            sck = {numbers[-1] for numbers in record.of("spi-sck")}
            assert pins["SCK"] in sck
        if bus.kind == "uart" and case.core.uart in ("set", "begin-pins", "object"):
            assert {numbers[-1] for numbers in record.of("uart-tx")} | {-1} >= {pins.get("TX", -1)}
            assert {numbers[-1] for numbers in record.of("uart-rx")} | {-1} >= {pins.get("RX", -1)}


@pytest.mark.parametrize("name", FEW)
def test_the_self_test_switches_loads_on_a_yes_only(name: str, rig: host_rig.HostRig):
    case = CASES[name]
    if not case.core.console or case.program.console_taken:
        assert "self_test" not in case.files["firmware.ino"]
        return
    generation = host_rig.generations(case)[-1]
    refused = rig.run(case, generation, self_test=True, answer="n")
    agreed = rig.run(case, generation, self_test=True, answer="y")
    assert any("done; in doubt: 0" in line for _, line in agreed.said), agreed.said[-3:]
    walked = "\n".join(line for _, line in agreed.said)
    for placed in case.plan.placed:
        pin, off = host_rig.host_pin(case, placed.place), cpp_plans.off_level(placed)
        must = placed.line.asks.quiet == "must" and placed.line.asks.safe_level != "any"
        if not must or off not in ("low", "high"):
            continue
        assert {state for _, state in refused.states[pin]} <= {"hi-Z", off}, f"{placed.line.id} moved without a yes"
        assert not [numbers for numbers in refused.of("pwm") if numbers[0] == pin]
        moved = [state for _, state in agreed.states[pin]]
        pulses = [numbers for numbers in agreed.of("pwm") if numbers[0] == pin]
        assert pulses or {"low": "high", "high": "low"}[off] in moved, f"{placed.line.id} is not walked"
        asked = next(index for index, (what, _) in enumerate(agreed.order) if what.startswith("says This switches a load"))
        on = next(
            index
            for index, (what, at) in enumerate(agreed.order)
            if at == pin and (what == "pwm" or what == {"low": "high", "high": "low"}[off])
        )
        assert asked < on
        assert moved[-1] in (off, "pwm"), f"{placed.line.id} is left on"
        if pulses:
            full = pulses[-1][2] if len(pulses[-1]) > 2 else None
            assert pulses[-1][1] == (0 if off == "low" else full if full is not None else pulses[-1][1])
    # Every line is walked, by its own name, its part's or its bus's, or the file says why not.
    told = letters(walked) + letters("".join(line for line in case.files["firmware.ino"].split("#include")[0]))
    for placed in case.plan.placed:
        known = [letters(each)[:30] for each in (placed.line.id, placed.line.part, placed.net.id)]
        assert any(each and each in told for each in known) or not letters(placed.line.part), placed.line.id


@pytest.mark.parametrize("name", [name for name in FEW if "bakery" in name][:4])
def test_the_self_test_scans_every_address(name: str, rig: host_rig.HostRig):
    # 0x08 to 0x77: the 7-bit addresses that are not reserved (UM10204, table of reserved addresses; from memory)
    case = CASES[name]
    if not case.core.console or case.program.console_taken:
        pytest.skip("no console, so no self-test")
    record = rig.run(case, host_rig.generations(case)[-1], self_test=True, answer="y")
    assert {numbers[1] for numbers in record.of("i2c-call")} == set(range(0x08, 0x78))
    said = [line for _, line in record.said]
    planned = {address for bus in case.plan.candidates.nets.buses for address in bus.addresses.values()}
    marked = {int(line.split()[0], 16) for line in said if line.endswith("answers, as planned")}
    assert marked == planned
    assert sum(line.endswith("answers, not in the plan") for line in said) == 112 - len(planned)  # our bus answers everywhere


@pytest.mark.parametrize("name", [name for name in FEW if "loads" in name][:3])
def test_a_state_is_held_until_a_key_a_load_for_five_seconds_at_most(name: str, rig: host_rig.HostRig):
    text = CASES[name].files["firmware.ino"]
    for placed in CASES[name].plan.placed:
        pin = f"{placed.line.part}_{placed.line.name}".lower()
        shown = re.search(rf"(?:set|turn)_{pin}\((?:true|0\.5f)\);\s+hold\((\w+)\);", text)
        if shown:
            must = placed.line.asks.quiet == "must" and placed.line.asks.safe_level != "any"
            assert shown[1] == ("SHOW_MS" if must else "0"), placed.line.id
    assert "#define SHOW_MS 5000" in text
    assert "hold(SHOW_MS)" in text


USUAL = {
    "nano-33-iot": {"SDA": "A4", "SCL": "A5", "SCK": "D13", "MISO": "D12", "MOSI": "D11"},
    "nano-33-ble": {"SDA": "A4", "SCL": "A5", "SCK": "D13", "MISO": "D12", "MOSI": "D11"},
}
"""Where the core's bus objects sit on boards that cannot move them (the maker's pinout drawings, from memory)."""


def letters(text: str) -> str:
    """What is left of a text without signs, blanks and letters that are escaped."""
    return re.sub(r"[^A-Za-z0-9]", "", text)


@pytest.mark.parametrize("name", [name for name in FEW if "loads" in name or "bakery" in name or "oven" in name])
def test_pwm_runs_at_the_planned_frequency(name: str, rig: host_rig.HostRig):
    case = CASES[name]
    for generation in host_rig.generations(case):
        if case.program.chip in case.core.newest_only and generation < 3:
            continue
        record = rig.run(case, generation, self_test=True, answer="y")
        for placed in case.plan.placed:
            asks = placed.line.asks
            if asks.signal != "pwm" or asks.direction != "out" or asks.needs.square_wave:
                continue
            pin = host_rig.host_pin(case, placed.place)
            rates = {numbers[1] for numbers in record.of("pwm-set-up") if numbers[0] == pin}
            if case.core.pwm_fixed_hz:
                assert re.search(r"Mind: This core's own call makes PWM at about", case.files["firmware.ino"])
                continue
            assert rates, f"{placed.line.id} has no PWM"
            # the plan's own mode, or what the part accepts: the frequency it was planned for, within 1 % (the counters are whole numbers)
            planned = float(placed.mode.split()[0])
            assert all(abs(hz - planned) <= 0.01 * planned + 1 for hz in rates), (rates, placed.mode)


@pytest.mark.parametrize("name", [name for name in FEW if name.startswith("sensors/")])
def test_pulses_are_counted_and_contacts_settle(name: str, rig: host_rig.HostRig):
    # 10 pulses 20 ms apart are 10; a contact that bounces for 3 ms changes once (property of counting and of debouncing)
    case = CASES[name]
    rain, door = (next(p for p in case.plan.placed if p.line.part == part) for part in ("rain", "door"))
    pulses = host_rig.host_pin(case, rain.place)
    contact = host_rig.host_pin(case, door.place)
    script = [f"0 pin {pulses} 1", f"0 pin {contact} 1"]
    script += [f"{200 + 20 * number + after} pin {pulses} {level}" for number in range(10) for after, level in ((0, 0), (8, 1))]
    script += [f"{1500 + after} pin {contact} {level}" for after, level in ((0, 0), (1, 1), (2, 0), (3, 1), (4, 0))]
    text = "\n".join(sorted(script, key=lambda line: int(line.split()[0]))) + "\n"
    record = rig.run(case, host_rig.generations(case)[-1], loops=4000, script=text)
    said = [line for _, line in record.said]
    assert "rain.PULSE: 10" in said, said[-12:]
    assert len([line for line in said if line == "door.SW: low now"]) == 1, [line for line in said if line.startswith("door")]


@pytest.mark.parametrize("name", [name for name in FEW if name.startswith(("sleepy/", "delivery-hatch/"))])
def test_it_sleeps_where_the_core_can(name: str, rig: host_rig.HostRig):
    case = CASES[name]
    generation = host_rig.generations(case)[-1]
    record = rig.run(case, generation, loops=20000)
    if not case.core.sleep:
        assert "the firmware only waits" in re.sub(r"\n// ", " ", case.files["firmware.ino"])
        assert not record.of("sleep")
        return
    assert len(record.of("sleep")) == 1
    wakes = [p for p in case.plan.placed if p.line.asks.needs.wake]
    masks = [numbers[0] for call in ("wake-ext1", "wake-each", "wake-gpio") for numbers in record.of(call)]
    alone = [1 << numbers[0] for numbers in record.of("wake-ext0")]
    if case.core.id == "esp32":
        together = 0
        for mask in (*masks, *alone):
            together |= mask
        assert together == sum(1 << host_rig.host_pin(case, placed.place) for placed in wakes)
    held = {numbers[0] for numbers in record.of("hold")}
    deep = next(state for state in case.plan.view.chip.sleep if state.state == "deep-sleep")
    if deep.pads == "held-if-asked":
        musts = {
            host_rig.host_pin(case, p.place)
            for p in case.plan.placed
            if p.line.asks.quiet == "must" and p.line.asks.drives and (not deep.hold_pads or p.place.pad.gpio in deep.hold_pads)
        }
        assert musts <= held


@pytest.mark.parametrize("name", [name for name in FEW if name.startswith("delivery-hatch/")])
def test_a_switched_sensor_is_fed_for_its_reading_only(name: str, rig: host_rig.HostRig):
    # the divider at the cell has a line that connects it: on for each reading, off again at once (the part's note in the catalogue)
    case = CASES[name]
    record = rig.run(case, host_rig.generations(case)[-1], loops=2500)
    feed, sense = (next(p for p in case.plan.placed if p.line.id == f"cell.{line}") for line in ("SENSE_EN", "VBAT"))
    pin, analog = host_rig.host_pin(case, feed.place), host_rig.host_pin(case, sense.place)
    told = [what for what, at in record.order if at == pin or (at == analog and what in ("millivolts", "analog-read"))]
    read = [index for index, what in enumerate(told) if what in ("millivolts", "analog-read")]
    assert read
    assert told[read[0] - 1] == "high"
    assert told[-1] == "low"
