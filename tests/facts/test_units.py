"""Property: figures lie where such figures lie, so that a slip of a prefix (mA for A, kΩ for Ω) is seen.

The ranges are ours (common practice, no source).  Figures outside are listed with their reason.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, Chip, Fact, Level, Part

CATALOGUE = load_catalogue()

RANGES: dict[str, tuple[float, float]] = {
    # currents [A]
    "i_pin_source_max_a": (1e-3, 0.1),
    "i_pin_sink_max_a": (1e-3, 0.1),
    "i_pin_design_a": (1e-3, 0.1),
    "pin_source_max_a": (1e-3, 0.1),
    "source_max_a": (1e-4, 0.1),
    "sink_max_a": (1e-4, 0.1),
    "i_total_max_a": (1e-2, 2.0),
    "sum_source_max_a": (1e-2, 0.5),
    "sum_sink_max_a": (1e-2, 0.5),
    "i_leak_max_a": (1e-9, 1e-4),
    "i_max_a": (1e-2, 5.0),
    "i_left_for_parts_a": (1e-3, 5.0),
    "i_in_a": (0.0, 0.1),
    "i_sink_a": (0.0, 0.1),
    "i_a": (1e-6, 3.0),
    "i_min_a": (1e-4, 0.1),
    "inrush_a": (0.01, 10.0),
    "i_quiescent_a": (1e-6, 0.01),
    "voh_i_a": (1e-4, 0.02),
    "vol_i_a": (1e-4, 0.02),
    "typ_a": (1e-7, 0.5),
    "max_a": (1e-7, 1.0),
    "current_a.idle": (0.0, 0.05),
    "current_a.active": (0.0, 1.5),
    "current_a.peak": (0.0, 5.0),
    # resistances [ohm]
    "pull_up_ohm": (1e3, 1e6),
    "pull_down_ohm": (1e3, 1e6),
    "module_pull_up": (1e3, 1e6),
    "pull_ohm": (1e3, 1e6),
    "pull_fitted.ohm": (1e3, 1e6),
    "onboard.ohm": (1e3, 1e6),
    "series_ohm": (1.0, 1e5),
    "r_top_ohm": (1e3, 1e6),
    "top_ohm": (1e3, 1e6),
    "bottom_ohm": (10.0, 1e6),
    "divided.tolerance": (0.001, 0.05),
    "r_bottom_ohm": (1e3, 1e6),
    "r_in_ohm": (1.0, 1e9),
    "r_sample_ohm": (100.0, 1e5),
    "r_source_max_ohm": (1e3, 1e6),
    "r_fixed_ohm": (100.0, 1e6),
    "fixed_tolerance": (1e-4, 0.2),
    "pull_down_max_ohm": (100.0, 1e6),
    "r_ref_ohm": (10.0, 1e6),
    # voltages [V]
    "vdd_min_v": (1.0, 5.0),
    "vdd_typ_v": (1.8, 5.0),
    "vdd_max_v": (3.0, 6.0),
    "adc_input_max_v": (1.0, 6.0),
    "logic_v": (1.8, 5.0),
    "v_min_v": (0.0, 30.0),
    "v_max_v": (0.5, 30.0),
    "error_v": (0.0, 0.3),
    "brownout_v": (1.5, 4.5),
    "v_out_v": (1.8, 5.0),
    "v_in_max_v": (5.0, 30.0),
    "dropout_v": (0.05, 2.0),
    "drop_v": (0.0, 0.7),
    "offset_v": (-0.1, 0.1),
    "v_v": (3.0, 24.0),
    "vf_min_v": (0.8, 3.5),
    "vf_max_v": (1.0, 4.0),
    "zero_v": (-5.0, 5.0),
    "gain_v": (-1.0, 1.0),
    "supply_v": (0.0, 60.0),
    "level.v": (-2.0, 60.0),
    "level.frac": (0.0, 1.0),
    # frequencies [Hz] and rates [Bd]
    "clock_max_hz": (1e6, 1e9),
    "clock_hz": (1e6, 1e9),
    "max_hz": (1e3, 1e8),
    "hz_min_hz": (0.1, 1e6),
    "hz_max_hz": (1.0, 1e8),
    "fixed_hz": (1.0, 1e5),
    "hz_choices": (1.0, 1e6),
    "pwm_min_hz": (1.0, 1e6),
    "pwm_max_hz": (1.0, 1e6),
    "pwm_hz": (1.0, 1e5),
    "bandwidth_hz": (0.05, 1e6),
    "baud": (1200.0, 3e6),
    # the rest
    "c_in_f": (1e-13, 1e-6),
    "c_sample_f": (1e-13, 1e-10),
    "l_h": (1e-4, 1.0),
    "duration_s": (1e-7, 60.0),
    "burst_s": (1e-5, 1.0),
    "t_sample_s": (1e-8, 1e-2),
    "inl_lsb": (0.1, 20.0),
    "gain_error": (-0.1, 0.1),
    "reference_error": (0.001, 0.15),
    "efficiency": (0.5, 0.98),
    "regulator.tolerance": (0.001, 0.1),
    "theta_k_per_w": (10.0, 400.0),
    "t_junction_max_c": (85.0, 175.0),
    "beta_k": (2000.0, 6000.0),
    "gamma": (0.3, 1.2),
    "at_ref": (0.0, 100.0),
    "curve.low": (-1e3, 1e3),
    "curve.high": (0.1, 1e5),
    "curve.tolerance": (0.0, 50.0),
    "at_m": (0.0, 0.2),
    "x_m": (0.0, 0.2),
    "y_m": (0.0, 0.2),
    "dx_m": (-2.54e-3, 2.54e-3),
    "dy_m": (-2.54e-3, 2.54e-3),
    "first": (1, 80),
    "last": (1, 80),
    "length_m": (5e-3, 0.2),
    "width_m": (5e-3, 0.2),
    "row_spacing_m": (2e-3, 0.1),
    "pitch_m": (1e-3, 2.54e-3),
    "ram_bytes": (512, 1e6),
    "flash_bytes": (4096, 3.3e7),
    "counter_bits": (7, 32),
    "divider_max": (1, 1e6),
    "bits": (8, 16),
    "pwm_bits": (1, 16),
    "adc_bits": (1, 24),
    "count": (1, 100),
    "channels": (1, 16),
    "timers": (1, 16),
    "neighbours": (1, 4),
    "driver_components": (0, 6),
    "wake_pins_max": (0, 64),
    "wake_alone": (0, 64),
    "i2c.addresses": (0x08, 0x77),
    "i2c.default": (0x08, 0x77),
}
"""Lowest and highest usual value by key; a key with a dot is meant only below that field."""

OUTSIDE = {
    "STM32F103C8.group[0].sum_sink_max_a": "three pads behind a switch that carries 3 mA (data sheet, Table 5)",
    "STM32F411CE.group[0].sum_sink_max_a": "three pads behind a switch that carries 3 mA (data sheet, pin table)",
    "nRF52840.adc[0].ranges[6].v_max_v": "the converter's gain of 2 leaves 0.3 V of its 0.6 V reference",
    "nRF52840.adc[0].ranges[7].v_max_v": "the converter's gain of 4 leaves 0.15 V of its 0.6 V reference",
    "ldo-ap2112k-3v3.line[0].pull_fitted.ohm": "3 Mohm inside the regulator, from its enable pin to ground",
}
"""Figures outside the range of their key, and why they are right."""

FREE = {
    "gpio",
    "unit",
    "weight",
    "channel",
    "schema",
    "package_pin",
    "order",
    "cost_class",
    "modes",
    "pads",
    "dac_bits",
    "hold_pads",
    "timer_wake_pad",
}
"""Whole numbers that are names or counts, not figures."""


def figures(item: Any, path: str, key: str = "", owner: str = "") -> Iterator[tuple[str, str, float]]:
    """Every figure below ``item``: its path, the key its range is listed under, and its value."""
    if isinstance(item, Fact):
        name = f"{owner}.{key}" if f"{owner}.{key}" in RANGES else key
        yield from ((path, name, value) for value in (item.value, item.min, item.typ, item.max) if value is not None)
    elif isinstance(item, Level):
        yield from ((path, f"level.{part}", value) for part, value in (("v", item.v), ("frac", item.frac)))
    elif dataclasses.is_dataclass(item) and not isinstance(item, type):
        for f in dataclasses.fields(item):
            if f.name not in ("also", "facts"):
                yield from figures(getattr(item, f.name), f"{path}.{f.name}", f.name, key)
    elif isinstance(item, tuple):
        for index, value in enumerate(item):
            yield from figures(value, f"{path}[{index}]", key, owner)
    elif isinstance(item, (int, float)) and not isinstance(item, bool):
        name = "supply_v" if owner == "supply_v" else f"{owner}.{key}" if f"{owner}.{key}" in RANGES else key
        yield path, name, float(item)


def all_figures() -> list[tuple[str, str, float]]:
    entries: list[tuple[str, Chip | Board | Part]] = [
        *CATALOGUE.chips.items(),
        *CATALOGUE.boards.items(),
        *CATALOGUE.parts.items(),
    ]
    return [figure for name, entry in entries for figure in figures(entry, name)]


def test_every_figure_lies_in_its_range() -> None:
    outside = {path: value for path, key, value in all_figures() if key in RANGES and not RANGES[key][0] <= value <= RANGES[key][1]}
    assert set(outside) == set(OUTSIDE), outside


def test_every_figure_has_a_range() -> None:
    found = {key for _, key, _ in all_figures()}
    assert found - set(RANGES) <= FREE
    assert {key for key in RANGES if "." not in key} - found <= {"sink_max_a", "hz_choices"}  # keys of the model not yet used


FACT_UNITS = {
    "_a": "A", "_v": "V", "_ohm": "ohm", "_hz": "Hz", "_s": "s", "_f": "F", "_m": "m", "_w": "W", "_c": "C", "_nm": "N m",
}  # fmt: skip


def facts_of_parts() -> Iterator[tuple[str, str, Fact]]:
    for part in CATALOGUE.parts.values():
        for key, fact in part.facts.items():
            yield part.id, key, fact


def test_unit_of_a_fact_agrees_with_the_end_of_its_key() -> None:
    wrong = []
    for part, key, fact in facts_of_parts():
        unit = next((u for end, u in FACT_UNITS.items() if key.endswith(end) and "_per_" not in key), None)
        if unit and fact.unit not in ("", unit):
            wrong.append(f"{part} {key}: {fact.unit}")
    assert wrong == []


FACT_RANGES = {
    "A": (0.0, 50.0),
    "V": (-60.0, 8000.0),
    "ohm": (0.0, 1e9),
    "Hz": (0.0, 1e9),
    "s": (0.0, 1e4),
    "F": (1e-13, 1e-2),
    "m": (1e-4, 100.0),
    "W": (1e-3, 10.0),
}


@pytest.mark.parametrize("unit", FACT_RANGES)
def test_free_facts_of_parts_lie_in_the_range_of_their_unit(unit: str) -> None:
    low, high = FACT_RANGES[unit]
    for part, key, fact in facts_of_parts():
        if fact.unit == unit:
            for value in (fact.value, fact.min, fact.typ, fact.max):
                assert value is None or low <= value <= high, f"{part} {key}: {value}"


SIZES_ROUNDED: dict[str, str] = {}


def test_memory_sizes_are_powers_of_two() -> None:
    wrong = {part for part, key, fact in facts_of_parts() if key == "size_bytes" and fact.value and int(fact.value).bit_count() != 1}
    assert wrong == set(SIZES_ROUNDED)


@pytest.mark.parametrize("part", CATALOGUE.parts.values(), ids=lambda part: part.id)
def test_supply_range_is_in_order(part: Part) -> None:
    spread = [value for value in (part.supply_v.min, part.supply_v.typ, part.supply_v.max, part.supply_v.abs_max) if value is not None]
    assert spread == sorted(spread)


@pytest.mark.parametrize("part", CATALOGUE.parts.values(), ids=lambda part: part.id)
def test_bus_addresses_are_listed_once(part: Part) -> None:
    addresses = part.i2c.addresses if part.i2c else ()
    assert len(set(addresses)) == len(addresses)


@pytest.mark.parametrize("part", CATALOGUE.parts.values(), ids=lambda part: part.id)
def test_currents_grow_from_idle_to_peak(part: Part) -> None:
    safe = [fact.value or fact.max or fact.typ for fact in (part.current_a.idle, part.current_a.active, part.current_a.peak) if fact]
    known = [value for value in safe if value is not None]
    assert known == sorted(known)


@pytest.mark.parametrize("board", CATALOGUE.boards.values(), ids=lambda board: board.id)
def test_supplies_of_a_board_are_in_order(board: Board) -> None:
    for supply in board.supply:
        if supply.v_min_v is not None and supply.v_max_v is not None:
            assert supply.v_min_v <= supply.v_max_v, supply.pin
        if supply.i_left_for_parts_a is not None and supply.i_max_a is not None:
            assert supply.i_left_for_parts_a <= supply.i_max_a, supply.pin
