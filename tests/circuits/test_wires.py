"""Wires against standards' tables, and strips against a network of resistors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.wires import (
    IEC_60228_OHM_PER_KM,
    awg_area,
    awg_diameter,
    awg_resistance,
    cable_drop,
    copper_resistance,
    copper_temperature_factor,
    distributed_drop,
    feeds_needed,
    iec60228_resistance,
    loop_resistance,
    loop_resistance_max,
    strip_drop,
)
from pinwright.errors import OutOfRange

# ASTM B258, values read in a university table: gauge, diameter in inches, ohm per 1000 ft at 20 °C
GAUGES = [(18, 0.0403, 6.385), (22, 0.02535, 16.14), (24, 0.0201, 25.67), (30, 0.01002, 103.2)]

# IEC 60228, temperature correction factors, read in a maker's copy
FACTORS = {5: 1.064, 10: 1.042, 15: 1.020, 20: 1.0, 25: 0.980, 30: 0.962, 35: 0.943, 40: 0.926, 45: 0.909, 50: 0.893, 55: 0.877,
           60: 0.862, 65: 0.847, 70: 0.833, 75: 0.820, 80: 0.806, 85: 0.794, 90: 0.781, 95: 0.769, 100: 0.758}  # fmt: skip


@pytest.mark.parametrize(("awg", "d_in", "r_ohm_per_kft"), GAUGES)
def test_gauges_published(awg: int, d_in: float, r_ohm_per_kft: float) -> None:
    assert awg_diameter(awg) / 0.0254 == pytest.approx(d_in, rel=0.0015)
    assert awg_resistance(awg) * 304.8 == pytest.approx(r_ohm_per_kft, rel=0.0015)


def test_gauges_by_definition() -> None:
    # ASTM B258: 4/0 is 0.46 in, 36 is 0.005 in, 39 steps between them
    assert awg_diameter(-3) / 0.0254 == pytest.approx(0.46, rel=1e-3)
    assert awg_diameter(36) == pytest.approx(0.127e-3)


def test_usb_cable_lengths_follow_from_the_gauges() -> None:
    # USB 1.x cable table, read in a public pin-out collection: 0.81, 1.31, 2.08, 3.33 m for power wires of AWG 28, 26, 24, 22:
    # the same resistance each time
    resistances = [length * awg_resistance(awg) for length, awg in ((0.81, 28), (1.31, 26), (2.08, 24), (3.33, 22))]
    assert max(resistances) / min(resistances) < 1.025


@pytest.mark.parametrize(("t_c", "k_t"), FACTORS.items())
def test_temperature_factors_published(t_c: float, k_t: float) -> None:
    assert copper_temperature_factor(t_c) == pytest.approx(k_t, abs=5.1e-4)


@pytest.mark.parametrize("area_mm2", IEC_60228_OHM_PER_KM)
def test_table_of_conductors_is_sound(area_mm2: float) -> None:
    # property: tinned is worse than plain, flexible worse than solid up to 35 mm², and none better than copper allows by more than 8 %
    area_m2 = area_mm2 * 1e-6
    plain, tinned = iec60228_resistance(2, area_m2), iec60228_resistance(2, area_m2, "tinned")
    flexible = iec60228_resistance(5, area_m2)
    assert plain < tinned
    assert flexible < iec60228_resistance(6, area_m2, "tinned")
    assert plain < flexible or area_mm2 == 50
    assert 0.92 < plain / copper_resistance(area_m2) < 1.15


def test_conductors_published() -> None:
    # IEC 60228 (2004), read in copies of makers
    assert iec60228_resistance(5, 0.5e-6) * 1e3 == pytest.approx(39.0)
    assert iec60228_resistance(1, 1.5e-6) * 1e3 == pytest.approx(12.1)
    assert iec60228_resistance(5, 2.5e-6, "tinned") * 1e3 == pytest.approx(8.21)


def test_drop_derived() -> None:
    # Conductors of IEC 60228 and Ohm's law
    assert cable_drop(2, 0.039, 3) == pytest.approx(0.468)
    assert distributed_drop(1, 0.039, 3.6) == pytest.approx(0.1404)


@settings(max_examples=30)
@given(st.floats(0.1, 50), st.floats(1e-3, 0.3), st.floats(0.01, 20), st.floats(20, 90))
def test_drop_properties(length_m: float, r_ohm_per_m: float, i_a: float, t_c: float) -> None:
    # property: hot copper drops more, a spread load half, and the limit undoes the drop
    drop = cable_drop(length_m, r_ohm_per_m, i_a, t_c)
    assert drop >= cable_drop(length_m, r_ohm_per_m, i_a)
    assert distributed_drop(length_m, r_ohm_per_m, i_a, t_c) == pytest.approx(drop / 2)
    assert loop_resistance_max(drop, i_a) == pytest.approx(loop_resistance(length_m, r_ohm_per_m, t_c))


@pytest.mark.parametrize("feeds", [1, 2, 3, 5])
def test_strip_against_a_network_of_resistors(feeds: int) -> None:
    # oracle: 400 equal current sinks on a ladder, solved as a network; the feeds are ideal
    pixels, r_loop, i_total = 400, 0.5, 6.0
    g = 1 / (r_loop / pixels)
    matrix, sinks = np.zeros((pixels + 1, pixels + 1)), np.full(pixels + 1, i_total / pixels)
    for k in range(pixels):
        matrix[k, k] += g
        matrix[k + 1, k + 1] += g
        matrix[k, k + 1] -= g
        matrix[k + 1, k] -= g
    fed = [0] if feeds == 1 else [round(k * pixels / (feeds - 1)) for k in range(feeds)]
    free = [k for k in range(pixels + 1) if k not in fed]
    drops = np.linalg.solve(matrix[np.ix_(free, free)], sinks[free])
    assert strip_drop(r_loop, i_total, feeds) == pytest.approx(drops.max(), rel=0.02)


@settings(max_examples=50)
@given(st.floats(0.01, 5), st.floats(0.1, 30), st.floats(0.05, 2))
def test_feeds_needed_are_enough_and_one_less_is_not(r_loop_ohm: float, i_a: float, drop_v: float) -> None:
    # property
    feeds = feeds_needed(r_loop_ohm, i_a, drop_v)
    assert strip_drop(r_loop_ohm, i_a, feeds) <= drop_v * (1 + 1e-6)
    if feeds > 1:
        assert strip_drop(r_loop_ohm, i_a, feeds - 1) > drop_v * (1 - 1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: awg_diameter(60), "run from 4/0"),
        (lambda: awg_area(math.nan), "awg must be a finite number"),
        (lambda: copper_resistance(0), "area must be above 0 m²"),
        (lambda: iec60228_resistance(3, 1e-6), "class 1, 2, 5 or 6, not 3"),
        (lambda: iec60228_resistance(5, 0.6e-6), r"0\.6 mm² is no area of the standard"),
        (lambda: iec60228_resistance(5, 1e-6, "gold"), "plain or tinned, not 'gold'"),  # type: ignore[arg-type]
        (lambda: copper_temperature_factor(-273.15), "above -200 °C"),
        (lambda: cable_drop(-1, 0.039, 1), "length must not be below 0 m"),
        (lambda: cable_drop(1, -0.039, 1), "resistance per metre must not be below 0"),
        (lambda: strip_drop(1, 1, 0), "at least one, not 0"),
        (lambda: feeds_needed(1, 1, 0), "drop max must be above 0 V"),
    ],
)
def test_bad_input_is_refused_in_words(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=words):
        call()
