"""Currents of wires: the table is sound, and the thinnest wire is the thinnest."""

from __future__ import annotations

import itertools

import pytest

from pinwright.circuits.ampacity import CAUTION_FIXED_WIRING, WIRES, thinnest, warm_share, wire
from pinwright.errors import OutOfRange


def test_published() -> None:
    # DIN VDE 0298-4, Table 11, read in a cable maker's excerpt: 1.5 mm², two loaded cores 16 A, single in free air 24 A
    assert (wire("1.5 mm²").i_pair_a, wire("1.5mm2").i_alone_a) == (16, 24)
    # ARRL Handbook table in a public copy: AWG 18 bundled 5 A, single 9.2 A
    assert (wire("awg 18").i_pair_a, wire("AWG18").i_alone_a) == (5.0, 9.2)


def test_warm_share_published() -> None:
    # DIN VDE 0298-4, Table 17, from memory: PVC 70 °C: 0.87 at 40, 0.79 at 45, 0.71 at 50, 0.61 at 55, 0.50 at 60 °C
    for t_c, share in ((40, 0.87), (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50)):
        assert warm_share(t_c) == pytest.approx(share, abs=0.005)
    assert warm_share(10) == 1.0


@pytest.mark.parametrize("system", ["mm²", "AWG"])
def test_table_is_sound(system: str) -> None:
    # property: thicker wires stand more and drop less; a wire in a bundle never more than alone; below 15 A/mm² side by side
    rows = sorted((one for one in WIRES if system in one.name), key=lambda one: one.area_m2)
    for thin, thick in itertools.pairwise(rows):
        assert thin.i_pair_a < thick.i_pair_a
        assert thin.r_ohm_per_m > thick.r_ohm_per_m
    for one in rows:
        assert one.source
        assert one.i_alone_a is None or one.i_pair_a < one.i_alone_a
        assert one.i_pair_a / (one.area_m2 * 1e6) < 15


def test_thinnest_is_thinnest() -> None:
    # property, against all rows
    for i_a in (0.5, 2.0, 3.0, 3.1, 6.0, 20.0, 63.0):
        found = thinnest(i_a)
        assert found.i_pair_a >= i_a
        assert all(one.i_pair_a < i_a for one in WIRES if "mm²" in one.name and one.area_m2 < found.area_m2)
    assert thinnest(0.5, r_max_ohm_per_m=0.01).name == "2.5 mm²"
    assert thinnest(6.0, t_ambient_c=50).name == "1 mm²"  # 6 A · 0.71 are too little for 0.75 mm²


def test_cautions_defer_to_the_local_code() -> None:
    assert "local code" in CAUTION_FIXED_WIRING
    assert "licensed" in CAUTION_FIXED_WIRING


def test_bad_input_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="No current is known for a wire 'AWG 7'"):
        wire("AWG 7")
    with pytest.raises(OutOfRange, match="split the load over several feeds"):
        thinnest(100.0)
    with pytest.raises(OutOfRange, match="metric or awg, not 'swg'"):
        thinnest(1.0, system="swg")
    with pytest.raises(OutOfRange, match="use silicone or PTFE wire"):
        warm_share(75)
    with pytest.raises(OutOfRange, match="i must be above 0 A"):
        thinnest(0.0)
