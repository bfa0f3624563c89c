"""Every brief on every board that runs MicroPython, held against the plan: what the runtime recorded is compared with the placed lines.

Expected values come from the plan (oracle: the fitting, which knows nothing of firmware) unless a check names another source.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from plans import IN, OPEN_DRAIN, OUT, PLATINUM, PULLS, Run, behind_board_divider, measured, pin_id, pin_of

from pinwright.fitting.plan import Placed

Runs = dict[str, Run]


def each(runs: Runs) -> Iterator[tuple[str, Run, Placed, Any]]:
    """Every placed line of every run with the runtime's name of its pin."""
    for name, run in runs.items():
        for placed in run.plan.placed:
            yield f"{name} {placed.line.id!r}", run, placed, pin_of(placed, run.port)


def must_stay_off(placed: Placed) -> bool:
    asks = placed.line.asks
    return asks.quiet == "must" and asks.safe_level != "any" and asks.drives


def off_level(placed: Placed) -> int | None:
    """Level of the pin at which the part is off, where the part says so."""
    asks = placed.line.asks
    return {"low": 0, "high": 1, "released": 1}.get(asks.safe_level, 1 if asks.load is not None and asks.load.inverts else None)


def driven(placed: Placed) -> bool:
    """Whether firmware makes the line an output itself (a bus makes its own; exact data wires are open-drain)."""
    asks = placed.line.asks
    return asks.direction == "out" and (placed.net.bus < 0 or asks.role == "CS")


def test_enough_is_run(runs: Runs) -> None:
    assert len(runs) >= 80
    assert {run.port for run in runs.values()} == {"esp32", "rp2", "esp8266", "stm32", "samd", "nrf"}


def test_nothing_raises(runs: Runs) -> None:
    assert {name: run.record["error"] for name, run in runs.items() if run.record["error"]} == {}


def test_only_pins_of_the_plan_are_touched(runs: Runs) -> None:
    for name, run in runs.items():
        used = {pin_of(placed, run.port) for placed in run.plan.placed}
        channels = {placed.place.pad.adc.channel for placed in run.plan.placed if placed.place.pad.adc}
        for event in run.log:
            if event[0] in ("pin", "pin-named", "write", "irq", "pwm", "duty", "neopixel", "dht", "one-wire", "touch", "time-pulse"):
                assert event[1] in used, (name, event)
            if event[0] == "adc":
                assert event[1] in (channels | {0} if run.port in ("nrf", "esp8266") else used), (name, event)
            if event[0] in ("i2c", "i2s"):
                assert {value for value in event[2:] if value in used or isinstance(value, str)} <= used, (name, event)
            if event[0] == "spi":
                fixed = {"sck": 14, "mosi": 13, "miso": 12} if run.port == "esp8266" else {}  # pads of HSPI  [chip facts]
                assert {pin for pin in {**event[5], **fixed}.values() if pin is not None} <= used, (name, event)


def test_outputs_have_their_off_level_before_they_drive(runs: Runs) -> None:
    checked = 0
    for where, run, placed, pin in each(runs):
        if not driven(placed):
            continue
        events = run.on(pin, run.set_up)
        if placed.line.asks.signal == "analog":
            continue
        assert events, where
        kind, _, mode, _, value, _ = events[0]
        assert (kind, mode) == ("pin", OUT), (where, events[:3])
        assert value in (0, 1), (where, "an output without a level may start at any")
        if off_level(placed) is not None:
            assert value == off_level(placed), where
            checked += 1
    assert checked > 200


def test_what_must_stay_off_is_set_up_first(runs: Runs) -> None:
    """Until the last of them is safe, no other pin is made an output, an input or anything else."""
    for name, run in runs.items():
        careful = {pin_of(placed, run.port) for placed in run.plan.placed if must_stay_off(placed)}
        order = [event[1] for event in run.set_up if event[0] in ("pin", "pwm", "i2c", "spi", "uart", "adc", "irq")]
        assert set(order[: len(careful)]) == careful, name


def test_nothing_that_must_stay_off_moves_by_itself(runs: Runs) -> None:
    """In set-up, in the loop, in a self-test whose questions are answered with no, and while going to sleep."""
    for where, run, placed, pin in each(runs):
        if not must_stay_off(placed):
            continue
        for phase in ("loop", "made", "test-no", "after", *(["sleep"] if ["phase", "sleep"] in run.log else [])):
            for event in run.on(pin, run.phase(phase)):
                if event[0] == "write":
                    assert event[2] == off_level(placed), (where, phase, event)
                if event[0] == "pin" and event[2] == OUT:
                    assert event[4] == off_level(placed), (where, phase, event)
                if event[0] in ("duty", "pwm"):
                    assert event[-1] == (65535 if off_level(placed) else 0), (where, phase, event)


def test_the_self_test_switches_loads_after_a_yes_and_off_again(runs: Runs) -> None:
    switched = 0
    for where, run, placed, pin in each(runs):
        if not must_stay_off(placed) or not driven(placed):
            continue
        events = run.phase("test-yes")
        on = [n for n, e in enumerate(events) if e[0] in ("write", "duty") and e[1] == pin and bool(e[2]) != bool(off_level(placed))]
        off = [n for n, e in enumerate(events) if e[0] in ("write", "duty") and e[1] == pin and bool(e[2]) == bool(off_level(placed))]
        assert on, (where, "the self-test leaves it out")
        asked = [n for n, e in enumerate(events) if e[0] == "asked" and "must stay off" in e[1] and n < on[0]]
        assert asked, where
        assert not [n for n, e in enumerate(events) if asked[-1] < n < on[0] and e[0] in ("write", "duty") and e[1] != pin], where
        assert off, where
        assert off[-1] > on[-1], (where, "it ends switched on")
        first_off = next(n for n in off if n > on[-1])
        assert not [e for e in events[on[0] : first_off] if e[0] == "asked"], (where, "on until somebody answers")
        switched += 1
    assert switched > 60


def test_the_self_test_walks_every_line(runs: Runs) -> None:
    for where, run, placed, _ in each(runs):
        said = [words for words, _ in run.record["result"]["results"][1]]
        shown = " ".join(placed.line.id.split())
        net = run.plan.candidates.nets.buses[placed.net.bus].name if placed.net.bus >= 0 else ""
        is_select = placed.line.asks.role == "CS"
        names = [" ".join(name.split()) for name in (placed.line.id, placed.line.part, net) if name]
        left_out = run.files["device.py"].split('"""')[1]
        if not any(_alike(name, words) for name in names for words in said) and not is_select:
            assert _alike(names[-1], left_out) or net.startswith("SPI") or placed.line.asks.signal == "i2s", (where, shown, said)


def _alike(name: str, words: str) -> bool:
    """Whether a name is in words, hidden characters and what a docstring cannot hold left aside."""
    bare = re.compile(r"[^\w]+")
    return bare.sub("", name)[:40] in bare.sub("", words)


def test_inputs_have_the_pull_the_circuit_counts_on(runs: Runs) -> None:
    checked = 0
    for where, run, placed, pin in each(runs):
        asks = placed.line.asks
        if asks.direction != "in" or placed.net.bus >= 0 or asks.signal == "touch":
            continue
        made = [event for event in run.on(pin, run.set_up) if event[0] == "pin"]
        assert made, where
        internal = [e.words.rsplit("-", 1)[1] for e in placed.circuit.elements if e.words.startswith("internal pull-")]
        assert made[0][2] == IN, where
        assert made[0][3] == (PULLS[internal[0]] if internal else None), where
        checked += bool(internal)
    assert checked > 50


def test_wires_of_data_never_drive_high(runs: Runs) -> None:
    """One-wire and climate sensors hang on open-drain wires: a driven high would fight the sensor."""
    for where, run, placed, pin in each(runs):
        if placed.line.asks.direction == "open-drain" and placed.net.bus < 0:
            for event in run.on(pin, run.log):
                if event[0] == "pin":
                    assert event[2] in (OPEN_DRAIN, IN), where


def test_interrupts_where_polling_is_not_enough_and_last(runs: Runs) -> None:
    for where, run, placed, pin in each(runs):
        asks = placed.line.asks
        wanted = asks.direction == "in" and placed.net.bus < 0 and (asks.needs.interrupt == "yes" or asks.needs.count_pulses)
        if wanted and placed.line.name != "ECHO":  # the length of an echo is waited for
            edges = [event[2] for event in run.on(pin, run.set_up) if event[0] == "irq"]
            assert len(edges) == 1, (where, edges)
            away = {"high": 2, "released": 2, "low": 1}.get(asks.rest, 0)
            assert edges[0] & away or edges[0] == 3 or (asks.needs.count_pulses and edges[0]), (where, edges)
    for name, run in runs.items():
        kinds = [event[0] for event in run.set_up if event[0] != "write"]
        first = kinds.index("irq") if "irq" in kinds else len(kinds)
        assert set(kinds[first:]) <= {"irq"}, (name, kinds)


def test_pulses_are_counted_and_knobs_turn(runs: Runs) -> None:
    counted = turned = 0
    for run in runs.values():
        busy = run.record["result"]["read"]["busy"]
        for placed in run.plan.placed:
            name = re.sub(r"\W", "_", f"{placed.line.part}_{placed.line.name}".lower())
            if placed.line.asks.needs.count_pulses:
                assert busy[name] > 10, name
                counted += 1
        for name, steps in run.record["result"]["read"]["spun"].items():
            assert 9 <= abs(steps) <= 11, (name, steps)
            turned += 1
    assert counted > 5
    assert turned > 5


def test_pwm_is_within_what_the_part_takes_and_starts_off(runs: Runs) -> None:
    checked = 0
    for where, run, placed, pin in each(runs):
        asks = placed.line.asks
        if asks.signal != "pwm":
            continue
        events = run.on(pin, run.set_up)
        made = [event for event in events if event[0] == "pwm"]
        assert len(made) == 1, (where, "no PWM")
        _, _, hz, duty = made[0]
        low, high = asks.needs.pwm_min_hz or 0.0, asks.needs.pwm_max_hz or 1e9
        assert low * 0.999 <= hz <= high * 1.001, (where, hz)
        assert abs(hz - float(placed.mode.split()[0])) <= 0.5, (where, "another frequency than planned", hz, placed.mode)
        assert duty == (65535 if asks.load is not None and asks.load.inverts else 0), where
        assert events.index(made[0]) > 0, (where, "PWM before the pin was safe")
        for event in run.on(pin, run.log):
            assert event[0] != "freq" or low <= event[2] <= high, (where, event)
        checked += 1
    assert checked > 60


def test_the_self_test_drives_pwm_as_the_bench_sheet_says(runs: Runs) -> None:
    """Half, or a servo's middle of 1.5 ms in 20 ms, then off  [oracle: ``bench.walk``, which the sheet is made from]."""
    from pinwright.pack.bench.walk import self_test_duty

    servos = 0
    for where, run, placed, pin in each(runs):
        duty = self_test_duty(placed)
        if placed.line.asks.signal != "pwm" or duty is None:
            continue
        inverted = placed.line.asks.load is not None and placed.line.asks.load.inverts
        driven = [event[2] for event in run.phase("test-yes") if event[0] == "duty" and event[1] == pin]
        wanted = [round(65535 * (1 - duty if inverted else duty)), 65535 if inverted else 0]
        assert len(driven) == 2, (where, driven)
        assert all(abs(a - b) <= 1 for a, b in zip(driven, wanted, strict=True)), (where, driven, wanted)
        servos += duty < 0.5
    assert servos > 10


ATTENUATION = {"0 dB": 0, "2.5 dB": 1, "6 dB": 2, "12 dB": 3}
"""Constants of the converter on the esp32 port  [type stubs 1.29.0.post1, machine.ADC]."""


def test_attenuation_is_the_range_the_reading_was_worked_out_for(runs: Runs) -> None:
    checked = 0
    for name, run in runs.items():
        worth = run.plan.readings(run.job.setting.bench)
        for placed in run.plan.placed:
            if placed.line.asks.direction != "analog-in":
                continue
            pin = pin_of(placed, run.port)
            where = {"nrf": placed.place.pad.adc.channel, "esp8266": 0}.get(run.port, pin)  # type: ignore[union-attr]
            made = [event for event in run.set_up if event[0] == "adc" and event[1] == where]
            assert len(made) == 1, (name, placed.line.id)
            if run.port == "esp32" and placed.line.id in worth:
                assert made[0][2] == ATTENUATION[worth[placed.line.id].range_name], (name, placed.line.id)
                checked += 1
    assert checked > 20


def test_readings_are_the_published_ones(runs: Runs) -> None:
    """Sources stand in ``plans.SHOWN``."""
    shown = set()
    for name, run in runs.items():
        for placed, cases in measured(run.plan):
            values = run.record["result"]["read"][f"{placed.line.part}_{placed.line.name}".lower()]
            reads = run.plan.readings(run.job.setting.bench).get(placed.line.id)
            for (_, wanted, tolerance), value in zip(cases, values, strict=True):
                assert reads is None or abs(value - wanted) <= tolerance, (name, placed.line.id, value, wanted)
                shown.add((placed.line.asks.curve.kind, run.port))  # type: ignore[union-attr]
    assert {kind for kind, _ in shown} == {"ntc", "pt", "ldr", "potentiometer", "linear"}
    assert {port for _, port in shown} >= {"esp32", "rp2", "stm32", "samd", "nrf"}


def test_platinum_follows_its_standard_over_all_of_it(runs: Runs) -> None:
    """Half the last digit of the table is 0.012 °C to 0.02 °C  [IEC 60751]."""
    found = [run.record["result"]["read"]["platinum"] for run in runs.values() if "platinum" in run.record["result"]["read"]]
    assert found
    for shown in found:
        assert all(abs(value - wanted) < 0.03 for value, (wanted, _) in zip(shown, PLATINUM, strict=True)), shown


def test_a_divider_on_the_board_is_taken_out(runs: Runs) -> None:
    """Half of 1 V at the chip behind 220 kΩ over 100 kΩ is 1.6 V at the pin  [Ohm's law; resistors from the board's facts]."""
    checked = 0
    for name, run in runs.items():
        for placed in behind_board_divider(run.plan) if run.port == "esp8266" else ():
            fitted = placed.place.fitted("divider")
            wanted = 0.5 * (fitted.r_top_ohm + fitted.r_bottom_ohm) / fitted.r_bottom_ohm  # type: ignore[union-attr,operator]
            value = run.record["result"]["read"][f"{placed.line.part}_{placed.line.name}".lower()][0]
            assert abs(value - wanted) < 0.01, (name, value, wanted)
            checked += 1
    assert checked > 0


def test_two_measured_points_correct_a_reading(runs: Runs) -> None:
    """Both pairs shifted by one move every reading by one  [a straight line through two points]."""
    shifts = [shift for run in runs.values() for shift in run.record["result"]["read"]["calibrated"].values()]
    assert len(shifts) > 20
    assert all(abs(shift - 1) < 1e-3 for shift in shifts), shifts


def test_contacts_may_bounce(runs: Runs) -> None:
    """10 ms of bouncing, then still: nothing changes until 20 ms have gone by since the last change  [the time is our choice]."""
    checked = 0
    for name, run in runs.items():
        for contact, (rest, seen) in run.record["result"]["read"]["bounced"].items():
            assert seen == [rest] * 7 + [1 - rest] * 2, (name, contact, seen)
            checked += 1
    assert checked > 100


def test_a_contact_counts_once_and_anything_else_every_time(runs: Runs) -> None:
    """Three pulses within 2 ms and one later: two from a reed contact that bounces, four from what does not  [the 5 ms are our choice]."""
    found = set()
    for name, run in runs.items():
        kinds = {device.name: device.kind for device in run.plan.candidates.nets.devices}
        for placed in run.plan.placed:
            if placed.line.asks.needs.count_pulses:
                counted = run.record["result"]["read"]["deaf"][f"{placed.line.part}_{placed.line.name}".lower()]
                bounces = kinds[placed.line.part] == "reed-pulse-counter"
                assert counted == (2 if bounces else 4), (name, placed.line.id, counted)
                found.add(bounces)
    assert found == {True, False}


def test_handlers_allocate_nothing(runs: Runs) -> None:
    """Each ran once with the heap locked; one that allocates would have raised MemoryError (see ``test_nothing_raises``)."""
    for name, run in runs.items():
        listened = sum(event[0] == "irq" for event in [*run.phase("loop"), *run.set_up])
        assert run.record["result"]["read"]["handlers"] >= listened, name


def test_buses_have_their_pins_clock_and_addresses(runs: Runs) -> None:
    found = set()
    for name, run in runs.items():
        nets = run.plan.candidates.nets
        for index, bus in enumerate(nets.buses):
            pins = {placed.net.role: pin_of(placed, run.port) for placed in run.plan.placed if placed.net.bus == index}
            events = run.set_up
            if bus.kind == "i2c":
                made = [event for event in events if event[0] == "i2c" and event[2:4] == [pins["SCL"], pins["SDA"]]]
                assert len(made) == 1, (name, bus.name)
                assert 0 < made[0][4] <= bus.max_hz, (name, made)
                said = {tuple(result) for result in run.record["result"]["results"][1]}
                assert (bus.name, True) in {(words, right) for words, right in said} or any(
                    right for words, right in said if _alike(bus.name, words)
                ), (name, "an address the plan gives is not looked for", said)
                for address in bus.addresses.values():
                    assert f"0x{address:02X}" in run.files["device.py"], (name, hex(address))
            elif bus.kind == "spi":
                made = [e for e in events if e[0] == "spi" and (not e[5] or e[5].get("sck") == pins.get("SCK"))]
                assert len(made) == 1, (name, bus.name)
                _, _, hz, polarity, phase, wires = made[0]
                assert 0 < hz <= bus.max_hz, (name, made)
                if wires:
                    assert {role: pin for role, pin in wires.items() if pin is not None} == {k.lower(): v for k, v in pins.items()}
                parts = run.job.catalogue.parts
                kinds = [device.kind for device in nets.devices if device.name in bus.devices]
                modes = [set(parts[kind].spi.modes) for kind in kinds if kind in parts and parts[kind].spi]  # type: ignore[union-attr]
                assert polarity * 2 + phase in set.intersection(*modes), (name, made)
            elif bus.kind == "uart":
                made = [event for event in events if event[0] == "uart"]
                wanted = [e for e in made if e[2] == bus.max_hz and (not e[3] or set(e[3].values()) == set(pins.values()))]
                assert wanted, (name, made, pins)
            found.add((bus.kind, run.port))
    assert {kind for kind, _ in found} == {"i2c", "spi", "uart", "i2s"}


def test_hardware_buses_take_the_instance_of_the_plan(runs: Runs) -> None:
    """Number of the instance in the runtime against what the plan words; SPI2 of the esp32 port is number 1 [quick reference, memory]."""
    for name, run in runs.items():
        words = " ".join(because for placed in run.plan.placed for because in placed.because)
        for event in run.set_up:
            if event[0] not in ("i2c", "spi", "uart") or event[1] is None or run.port == "esp8266":
                continue
            number = event[1] + (1 if run.port == "esp32" and event[0] == "spi" else 0)
            block = {"samd": "SERCOM", "nrf": {"i2c": "TWIM", "spi": "SPIM", "uart": "UARTE"}.get(event[0])}.get(
                run.port, {"i2c": "I2C", "spi": "SPI", "uart": "US?ART"}[event[0]]
            )
            assert re.search(rf"of {block}{number}\b", words), (name, event, block)


def test_exact_pulses_come_from_the_runtime(runs: Runs) -> None:
    """Pixels, climate sensors, one-wire thermometers and echoes use what the runtime brings, on the pin of the plan."""
    kinds = {"neopixel": 0, "dht": 0, "one-wire": 0, "time-pulse": 0}
    for name, run in runs.items():
        devices = {device.name: device.kind for device in run.plan.candidates.nets.devices}
        for placed in run.plan.placed:
            part = run.job.catalogue.parts.get(devices[placed.line.part])
            if part is None:
                continue
            builtin = {
                driver.package
                for driver in part.driver
                if driver.language == "micropython" and driver.builtin and (not driver.only or run.plan.view.chip.part in driver.only)
            }
            asks, pin = placed.line.asks, pin_of(placed, run.port)
            for package, event in (("neopixel", "neopixel"), ("dht", "dht"), ("ds18x20", "one-wire")):
                if package in builtin and asks.signal in ("pulse", "onewire"):
                    assert [e for e in run.log if e[0] == event and e[1] == pin], (name, placed.line.id)
                    kinds[event] += 1
            if part.kind == "distance-sensor" and asks.signal == "pulse" and run.port != "nrf":
                assert [e for e in run.log if e[0] == "time-pulse" and e[1:] == [pin, 1]], (name, placed.line.id)
                kinds["time-pulse"] += 1
    assert min(kinds.values()) >= 3, kinds


def test_touch_dac_and_sound(runs: Runs) -> None:
    made = {event[0] for run in runs.values() for event in run.log}
    assert {"touch", "dac", "i2s"} <= made
    for name, run in runs.items():
        for placed in run.plan.placed:
            pin = pin_of(placed, run.port)
            if placed.line.asks.signal == "touch" and run.port == "esp32":
                assert ["touch", pin] in run.set_up, name
            if placed.line.asks.direction == "analog-out":
                assert ["dac", pin if run.port == "esp32" else 0] in run.set_up, name
                writes = [event[2] for event in run.log if event[0] == "dac-write"]
                assert writes[-1] == 0, (name, writes)


def test_sleep_wakes_as_the_brief_asks(runs: Runs) -> None:
    """The delivery hatch: a bell that rests high wakes it low, a door that may rest either way wakes it by any change (here: high)."""
    ways = set()
    for name, run in runs.items():
        if not run.job.file.brief.use.sleeping:
            assert ["phase", "sleep"] not in run.log, name
            continue
        events = run.phase("sleep")
        assert events[-1] == ["asleep"], name
        wake = {pin_of(placed, run.port): placed.line.asks.rest for placed in run.plan.placed if placed.line.asks.needs.wake}
        if run.port == "esp32":
            asked = [event for event in events if event[0].startswith("wake-")]
            assert {pin for event in asked for pin in event[1]} <= set(wake), name
            for _, pins, level in asked:
                for pin in pins:
                    assert level == (wake[pin] != "high"), (name, pin, level)
            covered = {pin for event in asked for pin in event[1]}
            assert covered == set(wake) if ["wake-ext0"] in [event[:1] for event in asked] else covered, name
            for placed in run.plan.placed:
                state = next(state for state in run.plan.view.chip.sleep if state.state == "deep-sleep")
                holds = not state.hold_pads or placed.place.pad.gpio in state.hold_pads
                if must_stay_off(placed) and state.pads == "held-if-asked" and holds:
                    held = [e for e in run.on(pin_of(placed, run.port), events) if e[0] == "pin" and e[5] is True]
                    assert held, (name, placed.line.id, "not latched")
                    assert held[0][4] == off_level(placed), name
        elif run.port == "rp2":
            assert [event for event in events if event[0] == "lightsleep"], name
        else:
            assert [event for event in events if event[0] in ("lightsleep", "deepsleep")], name
            for pin in wake:
                assert ["irq", pin, 3] in run.log or ["irq", pin, 2] in run.log, (name, pin)
        ways.add(run.port)
    assert ways >= {"esp32", "rp2", "nrf", "samd"}


# ------------------------------------------------------------------------------ the text itself


def test_sources_are_good_python(runs: Runs, tmp_path: Path) -> None:
    for name, run in runs.items():
        folder = tmp_path / name
        folder.mkdir(parents=True)
        for file, text in run.files.items():
            ast.parse(text)
            (folder / file).write_text(text)
    found = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--isolated", "--select", "E,F,W", "--line-length", "100", str(tmp_path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert found.returncode == 0, found.stdout[-3000:]
    shaped = subprocess.run(
        [sys.executable, "-m", "ruff", "format", "--isolated", "--check", "--line-length", "98", str(tmp_path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert shaped.returncode == 0, shaped.stdout[-3000:]


def test_hostile_names_leave_no_mark(runs: Runs) -> None:
    """Nothing hidden, nothing that turns the reading order; every name of a brief is there only as text, never as code."""
    checked = 0
    for name, run in runs.items():
        if not name.startswith("hostile/"):
            continue
        text = "".join(run.files.values())
        assert not re.search("[\u0000-\u0008\u000b-\u001f\u007f\u200b-\u200f\u202a-\u202e\u2066-\u2069\ufeff]", text), name
        tree = ast.parse(run.files["device.py"])
        imports = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom) for alias in node.names}
        assert "os" not in imports, name
        names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        assert names & {"rm", "x", "a"} == set(), name
        checked += 1
    assert checked >= 3


def test_the_same_plan_gives_the_same_bytes(runs: Runs) -> None:
    from pinwright.pack.firmware.micropython import micropython_source
    from pinwright.pack.firmware.program import program_of

    for name, run in list(runs.items())[::9]:
        assert micropython_source(program_of(run.plan, run.job)) == run.files, name


def test_pin_ids() -> None:
    """P1.02 of the nrf port is 34, PB5 of the stm32 port is ``cpu.B5``  [ports/nrf and ports/stm32, pin tables, from memory]."""
    assert (pin_id("nrf", "P1.02"), pin_id("nrf", "P0.13"), pin_id("stm32", "PB5"), pin_id("samd", "PA02"), pin_id("rp2", 6)) == (
        34, 13, "B5", "PA02", 6,
    )  # fmt: skip
