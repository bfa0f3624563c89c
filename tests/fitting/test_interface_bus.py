"""Pull-ups of a shared bus: what the modules bring counts, too many are named, and a long wire slows the bus down.

Source of every limit: UM10204 (the I2C-bus specification): R >= (VDD - 0.4 V) / 3 mA, t_r = 0.8473 R C, 1000 ns up to
100 kHz, 300 ns up to 400 kHz, at most 400 pF.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from interface_rig import bench_like, board, job_of, number, part, spot

from pinwright.facts.model import PullFitted
from pinwright.fitting.interface import Circuit, Element, with_bus_pulls
from pinwright.fitting.interface.rails import board_rail
from pinwright.fitting.lines import Line

PICO = "raspberry-pi-pico"
PIN_F, CABLE_F_PER_M = 10e-12, 100e-12  # UM10204 table 9; loose wire (common practice, no source)


def wire(pulls: list[float | None], wire_m: float = 0.0, max_hz: float = 400e3, resistors: tuple[float, ...] = ()) -> Circuit:
    """The first circuit of an SDA wire with one part for each pull-up (``None``: a bare part)."""
    kept = next(each for device in job_of(part("bme280")).nets.devices for each in device.lines if each.name == "SDA")
    lines: list[Line] = []
    for number_, ohm in enumerate(pulls):
        fitted = None if ohm is None else PullFitted(direction="up", ohm=ohm)
        asks = replace(kept.asks, pull_fitted=fitted, wire_m=wire_m / len(pulls))
        lines.append(replace(kept, id=f"x{number_}.SDA", asks=asks))
    seen = board(PICO)
    return with_bus_pulls(lines, [Circuit()] * len(lines), spot(seen), seen, bench_like(resistors=resistors), max_hz)[0]


def parallel(*ohms: float) -> float:
    return 1 / sum(1 / each for each in ohms)


def test_a_bare_part_gets_a_pull_up_that_rises_in_time_and_can_be_pulled_low() -> None:
    # published limits, worst corner of 5 % resistors and the rail's spread, by hand
    found = wire([None], wire_m=1.0)
    pull = found.elements[0].pieces[0]
    assert pull.value is not None
    assert pull.window is not None
    assert pull.value in pull.window
    assert pull.value * 0.95 >= (board_rail(board(PICO)).high - 0.4) / 3e-3
    assert 0.8473 * pull.value * 1.05 * (2 * PIN_F + 1.0 * CABLE_F_PER_M) <= 300e-9
    assert found.checks[0].holds
    assert found.components == 1


def test_pull_ups_of_modules_count_in_parallel_and_none_is_added() -> None:
    found = wire([10e3, 4.7e3])
    assert found.components == 0
    assert "3.2 kΩ in all" in found.checks[0].words  # 1 / (1/10 + 1/4.7) = 3.197 kΩ
    assert parallel(10e3, 4.7e3) == pytest.approx(3197, abs=1)
    assert found.checks[0].holds


def test_too_many_pull_ups_are_named_and_taken_off_until_it_fits() -> None:
    pulls = [2.2e3, 2.2e3, 2.2e3]  # 733 Ω together; 3.4 V rail: (3.4 - 0.4) / 3 mA = 1 kΩ
    found = wire(list(pulls))
    assert [element.kind for element in found.elements] == ["module pull-ups off"]
    assert "2.2 kΩ" in found.elements[0].words
    assert found.components == 0
    assert found.checks[0].holds
    assert "2.2 kΩ in all" in found.checks[0].words or "1.1 kΩ in all" in found.checks[0].words


def test_pull_ups_too_weak_for_the_wire_get_one_more() -> None:
    # 100 kΩ on 120 pF rises in 0.8473 · 100 kΩ · 120 pF = 10 µs
    found = wire([100e3], wire_m=1.0)
    assert found.components == 1
    added = found.elements[0].pieces[0].value
    assert added is not None
    assert 0.8473 * parallel(100e3, added) * 120e-12 <= 300e-9
    assert parallel(100e3, added) >= (board_rail(board(PICO)).high - 0.4) / 3e-3


def test_the_board_s_own_pull_up_counts() -> None:
    # behaviour: a pin with a 4.7 kΩ pull-up on the board needs none beside it
    for name in ("esp12f-30pin", "feather-rp2040", "nano-33-iot", "xiao-rp2040", "feather-m0-express"):
        seen = board(name)
        place = next((each for each in seen.places if (item := each.fitted("pull-up")) and item.ohm and 2e3 < item.ohm < 6e3), None)
        if place is not None:
            break
    else:
        seen, place = board(PICO), None
    if place is None:
        from pinwright.facts.model import Onboard

        plain = spot(seen)
        place = replace(plain, onboard=(Onboard(what="pull-up", ohm=4700.0),))
    kept = next(each for device in job_of(part("bme280")).nets.devices for each in device.lines if each.name == "SDA")
    bare = replace(kept, asks=replace(kept.asks, pull_fitted=None))
    found = with_bus_pulls([bare], [Circuit()], place, seen, bench_like(), 400e3)[0]
    assert found.components == 0


def test_a_wire_too_long_for_fast_mode_lowers_it_and_one_too_long_for_all_is_refused_in_words() -> None:
    # 3.5 m: 370 pF; 300 ns / (0.8473 · 370 pF) = 957 Ω < 1 kΩ: no fast mode.  1000 ns would allow 3.19 kΩ.
    found = wire([None], wire_m=3.5)
    assert "keep the bus at 100 kHz or slower" in found.checks[0].words
    assert found.checks[0].holds
    ohm = found.elements[0].pieces[0].value
    assert ohm is not None
    assert 0.8473 * ohm * 1.05 * 370e-12 <= 1000e-9
    far = wire([None], wire_m=20.0)
    assert not far.checks[0].holds
    assert "2.02 nF" in far.checks[0].words
    assert "400 pF" in far.checks[0].words
    assert "allowed no value" not in far.checks[0].words


def test_more_wire_never_allows_a_larger_pull_up() -> None:
    # property: at one speed the upper end of the window and the chosen total never rise
    highs = []
    for metres in (0.0, 0.2, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5):
        found = wire([None], wire_m=metres, max_hz=100e3)
        piece = found.elements[0].pieces[0]
        assert piece.window is not None
        highs.append(piece.window.high.value)
    assert highs == sorted(highs, reverse=True)
    assert highs[0] > highs[-1]


def test_more_modules_never_add_components() -> None:
    # property: every pull-up that comes with a module is one less to buy
    counts = [
        wire([None] * 3).components,
        wire([10e3, None, None]).components,
        wire([10e3, 10e3, None]).components,
        wire([10e3] * 3).components,
    ]
    assert counts == sorted(counts, reverse=True)


def test_the_stock_comes_first_on_the_bus_too() -> None:
    found = wire([None], resistors=(3333.0,))
    assert found.elements[0].pieces[0].value == 3333.0
    assert found.elements[0].pieces[0].origin == "stock"


@pytest.mark.parametrize("ohm", [1e-3, 1.0, 1e9])
def test_absurd_pull_ups_are_answered_in_words(ohm: float) -> None:
    found = wire([ohm, ohm])
    assert len(found.checks) == 1
    assert found.checks[0].words
    assert "nan" not in found.checks[0].words
    assert "inf" not in found.checks[0].words.replace("infinite", "")


def test_real_modules_of_the_catalogue_add_up() -> None:
    # what the catalogue says the modules carry, in parallel, by hand
    job = job_of(part("bme280", name="a") + part("bh1750", name="b") + part("ds3231", name="c"))
    carried = [number(job.catalogue.parts[kind].module_pull_up) for kind in ("bme280", "bh1750", "ds3231")]
    lines = [each for device in job.nets.devices for each in device.lines if each.name == "SDA"]
    seen = board(PICO)
    found = with_bus_pulls(lines, [Circuit()] * 3, spot(seen), seen, bench_like(), 400e3)[0]
    if all(carried):
        from pinwright.circuits.window import shown

        assert shown(parallel(*carried)) in found.checks[0].words


# ------------------------------------------------------------------------------ two rails on one wire


def test_a_module_that_pulls_to_five_volts_stands_behind_a_shifter_where_others_share_the_wire() -> None:
    # The display backpack pulls to its 5 V; the BME280 takes 3.6 V at most (data sheet): tolerant pads do not protect it
    job = job_of(part("lcd1602-pcf8574", name="text") + part("bme280", name="air"))
    lines = [each for device in job.nets.devices for each in device.lines if each.name == "SDA"]
    seen = board("stm32f103c8-40pin")
    place = spot(seen, lambda each: each.pad.tolerates_5v)
    both = with_bus_pulls(lines, [Circuit(), Circuit()], place, seen, bench_like(), 100e3)
    shifted = {line.part: each.of("level shifter") for line, each in zip(lines, both, strict=True)}
    assert shifted["air"] is None
    assert shifted["text"] is not None
    assert "5 V" in shifted["text"].why
    alone = [line for line in lines if line.part == "text"]
    assert with_bus_pulls(alone, [Circuit()], place, seen, bench_like(), 100e3)[0].of("level shifter") is None


def test_pull_ups_behind_a_shifter_do_not_count() -> None:
    # A two-transistor shifter module carries 10 kΩ on each side (common practice, no source)
    kept = next(each for device in job_of(part("bme280")).nets.devices for each in device.lines if each.name == "SDA")
    strong = replace(kept, asks=replace(kept.asks, pull_fitted=PullFitted(direction="up", ohm=1.5e3)))
    shifter = Circuit((Element("level shifter", "two-way level shifter", 1, "test"),))
    seen = board(PICO)
    found = with_bus_pulls([strong], [shifter], spot(seen), seen, bench_like(), 100e3)[0]
    assert "10 kΩ in all" in found.checks[0].words
