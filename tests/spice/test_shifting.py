"""The MOSFET level shifter against ngspice: lows both ways, and the rise of both sides (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import TIMES, close
from ngspice import Sheet

from pinwright.circuits.pulls import rise_time
from pinwright.circuits.shifting import Fet, fet_shifter

V_LOW_V, V_HIGH_V = 3.3, 5.0
SIDES = [(4700.0, 4700.0, 50e-12, 50e-12), (10e3, 2200.0, 50e-12, 200e-12), (2200.0, 10e3, 100e-12, 50e-12)]


def shifter(
    sheet: Sheet, ohms: tuple[float, float], farads: tuple[float, float], vth_v: float, from_below: bool, until_s: float = 1e-6
) -> tuple[str, str]:
    """One MOSFET between two pulled-up wires, held low from one side by 20 Ω and released; gives the lower and the upper wire."""
    low, high = sheet.node(), sheet.node()
    below, above = sheet.source(V_LOW_V), sheet.source(V_HIGH_V)
    sheet.model(f"shift nmos(level=1 vto={vth_v} kp=0.2)")
    sheet.model("body d(is=1e-12 n=1)")
    sheet.add("M", high, below, low, low, "shift")
    sheet.add("D", low, high, "body")
    for rail, wire, ohm, farad in ((below, low, ohms[0], farads[0]), (above, high, ohms[1], farads[1])):
        sheet.resistor(rail, wire, ohm)
        sheet.capacitor(wire, 0, farad)
    sheet.model("contact sw(vt=0.5 vh=0.1 ron=20 roff=1e9)")
    sheet.add("S", low if from_below else high, 0, sheet.step(1.0, 0.0, at_s=until_s, edge_s=1e-9), 0, "contact")
    return low, high


def rises(ohms: tuple[float, float], farads: tuple[float, float], vth_v: float, from_below: bool) -> tuple[float, float]:
    """Rise from 30 % to 70 % of its own rail of the lower and of the upper wire [s]."""
    sheet = Sheet()
    low, high = shifter(sheet, ohms, farads, vth_v, from_below)
    for name, wire, rail_v in (("low", low, V_LOW_V), ("high", high, V_HIGH_V)):
        for share in (3, 7):
            sheet.measure(f"{name}{share}", f"when v({wire})={share / 10 * rail_v:.12g} rise=1")
    t = sheet.over_time(1e-6 + 8 * (ohms[0] * farads[0] + ohms[1] * farads[1]))
    return t["low7"] - t["low3"], t["high7"] - t["high3"]


@pytest.mark.parametrize("from_below", [True, False], ids=["from below", "from above"])
def test_a_low_gets_through_both_ways(from_below: bool) -> None:
    # VGS(th) 1.5 V at most, driven from above the body diode goes first: AN97055 (from memory)
    fet = Fet(1.5, 1e-3, 1.2, 50.0, r_on_ohm=3.5, r_on_at_v=2.75)
    said = fet_shifter(fet, V_LOW_V, V_HIGH_V, r_low_ohm=4700.0, r_high_ohm=4700.0, c_low_f=50e-12, c_high_f=50e-12)
    sheet = Sheet()
    low, high = shifter(sheet, (4700.0, 4700.0), (50e-12, 50e-12), 1.5, from_below)
    for name, wire in (("low", low), ("high", high)):
        sheet.measure(f"before_{name}", f"find v({wire}) at=0.9u")
        sheet.measure(f"after_{name}", f"find v({wire}) at=5u")
    found = sheet.over_time(6e-6)
    assert said.works
    assert max(found["before_low"], found["before_high"]) < 0.4
    assert close(found["after_low"], V_LOW_V, 0.005)
    assert close(found["after_high"], V_HIGH_V, 0.005)


def test_a_threshold_too_high_for_the_lower_rail_passes_no_low() -> None:
    # the formula refuses a threshold of 3.5 V on a rail of 3.3 V; so does ngspice: the upper wire stays above its VIL of 1.5 V
    said = fet_shifter(Fet(3.5, 1e-3, 1.2, 50.0), V_LOW_V, V_HIGH_V, r_low_ohm=4700.0, r_high_ohm=4700.0, c_low_f=50e-12, c_high_f=50e-12)
    sheet = Sheet()
    _, high = shifter(sheet, (4700.0, 4700.0), (50e-12, 50e-12), 3.5, True)
    sheet.measure("v", f"find v({high}) at=0.9u")
    assert not said.works
    assert sheet.over_time(2e-6)["v"] > 1.5


@pytest.mark.parametrize(("r_low_ohm", "r_high_ohm", "c_low_f", "c_high_f"), SIDES)
@pytest.mark.parametrize("from_below", [True, False], ids=["from below", "from above"])
def test_sides_that_part_early_rise_alone(r_low_ohm: float, r_high_ohm: float, c_low_f: float, c_high_f: float, from_below: bool) -> None:
    # with a threshold of 2.4 V the channel closes at 0.9 V, below 30 % of either rail
    said = fet_shifter(
        Fet(2.4, 1e-3, 0.4, 50.0, vgs_th_min_v=2.4),
        V_LOW_V,
        V_HIGH_V,
        r_low_ohm=r_low_ohm,
        r_high_ohm=r_high_ohm,
        c_low_f=c_low_f,
        c_high_f=c_high_f,
    )
    low_s, high_s = rises((r_low_ohm, r_high_ohm), (c_low_f, c_high_f), 2.4, from_below)
    assert said.t_rise_low_s is not None
    assert said.t_rise_high_s is not None
    assert close(low_s, said.t_rise_low_s, TIMES)
    assert close(high_s, said.t_rise_high_s, TIMES)


LENDING = [*SIDES[:2], (4700.0, 4700.0, 50e-12, 200e-12), (4700.0, 4700.0, 200e-12, 50e-12)]


@pytest.mark.parametrize(("r_low_ohm", "r_high_ohm", "c_low_f", "c_high_f"), LENDING)
def test_sides_that_part_late_are_slower_than_either_alone(r_low_ohm: float, r_high_ohm: float, c_low_f: float, c_high_f: float) -> None:
    """With a threshold of 0.8 V the channel joins both wires up to 2.5 V, and each lends the other its pull-up and its capacitor.

    Then a side may take up to 1.96 times what it takes alone; all pull-ups and all capacitance together bound it within a fifth.
    """
    low_s, high_s = rises((r_low_ohm, r_high_ohm), (c_low_f, c_high_f), 0.8, True)
    joined_s = rise_time(r_low_ohm * r_high_ohm / (r_low_ohm + r_high_ohm), c_low_f + c_high_f)
    alone_s = (rise_time(r_low_ohm, c_low_f), rise_time(r_high_ohm, c_high_f))
    assert max(low_s / alone_s[0], high_s / alone_s[1]) > 1 + TIMES
    assert max(low_s, high_s) <= 1.2 * max(*alone_s, joined_s)


def test_the_slower_side_is_no_slower_than_said() -> None:
    said = fet_shifter(Fet(0.8, 1e-3, 1.2, 50.0), V_LOW_V, V_HIGH_V, r_low_ohm=4700.0, r_high_ohm=4700.0, c_low_f=50e-12, c_high_f=50e-12)
    assert said.t_rise_low_s is not None
    assert said.t_rise_high_s is not None
    slower_s = max(rises((4700.0, 4700.0), (50e-12, 50e-12), 0.8, True))
    assert slower_s <= max(said.t_rise_low_s, said.t_rise_high_s) * (1 + TIMES)
