"""Supplies against ngspice: bursts behind a source, capacitors that bridge gaps, cells, wires and LED strips as ladders (kind: oracle)."""

from __future__ import annotations

import itertools

import pytest
from fitted import TIMES, VOLTS, close
from ngspice import Sheet

from pinwright.circuits.cells import burst_current_max, loaded_voltage
from pinwright.circuits.holdup import (
    brown_out_margin,
    burst_capacitor,
    burst_capacitor_window,
    burst_dip,
    cap_for_current,
    cap_for_power,
    droop,
    hold_up_time,
    inductance_max,
)
from pinwright.circuits.wires import (
    awg_resistance,
    cable_drop,
    copper_resistance,
    distributed_drop,
    feeds_needed,
    loop_resistance,
    loop_resistance_max,
    strip_drop,
)


def burst(i_a: float, t_s: float, c_f: float, source_ohm: float, esr_ohm: float, v_v: float = 3.3) -> float:
    """Deepest dip of a load that steps by ``i_a`` for ``t_s``, with a capacitor beside it [V]."""
    sheet = Sheet()
    rail, inside = sheet.node(), sheet.node()
    sheet.resistor(sheet.source(v_v), rail, source_ohm)
    sheet.capacitor(inside, 0, c_f)
    if esr_ohm:
        sheet.resistor(rail, inside, esr_ohm)
    else:
        sheet.meter(rail, inside)
    edge_s = t_s / 1e5
    sheet.add("I", rail, 0, f"pulse(0 {i_a:.12g} 0 {edge_s:.12g} {edge_s:.12g} {t_s:.12g})")
    sheet.measure("low", f"min v({rail})")
    return v_v - sheet.over_time(1.5 * t_s)["low"]


BURSTS = [
    (0.35, 1e-3, 100e-6, 1.0, 0.0),
    (15e-3, 5e-3, 100e-6, 20.0, 0.5),
    (0.35, 200e-6, 470e-6, 0.5, 0.15),
    (0.24, 10e-3, 10e-6, 0.3, 0.02),
]


@pytest.mark.parametrize(("i_a", "t_s", "c_f", "source_ohm", "esr_ohm"), BURSTS)
def test_the_dip_of_a_burst(i_a: float, t_s: float, c_f: float, source_ohm: float, esr_ohm: float) -> None:
    found = burst(i_a, t_s, c_f, source_ohm, esr_ohm)
    assert close(found, burst_dip(i_a, t_s, c_f, source_ohm, esr_ohm), VOLTS)
    assert close(3.3 - found - 2.43, brown_out_margin(3.3, 2.43, i_a, t_s, c_f, source_ohm, esr_ohm), 2 * VOLTS, VOLTS * found)


def test_the_smallest_capacitor_for_a_burst_is_the_smallest() -> None:
    least = burst_capacitor(0.35, 1e-3, 0.25, 1.0, 0.2)
    window = burst_capacitor_window(0.35, 1e-3, 0.25, 1.0, 1e-2, "inrush", 0.2)
    assert window.low.value == least
    assert close(burst(0.35, 1e-3, least, 1.0, 0.2), 0.25, VOLTS)
    assert burst(0.35, 1e-3, least / 1.1, 1.0, 0.2) > 0.25 * (1 + VOLTS)


@pytest.mark.parametrize(("i_a", "c_f", "esr_ohm"), [(10e-3, 0.1, 30.0), (0.24, 1e-3, 0.25), (0.35, 100e-6, 0.0)])
def test_a_capacitor_alone_carries_a_current(i_a: float, c_f: float, esr_ohm: float) -> None:
    start_v, end_v = 5.0, 3.0
    claim = hold_up_time(c_f, start_v, end_v, i_a, esr_ohm)
    sheet = Sheet()
    terminal, inside = sheet.node(), sheet.node()
    sheet.capacitor(inside, 0, c_f, start_v)
    sheet.resistor(inside, terminal, max(esr_ohm, 1e-6))
    sheet.leak(terminal, i_a)
    sheet.measure("t", f"when v({terminal})={end_v} fall=1")
    sheet.measure("v", f"find v({terminal}) at={claim / 2:.12g}")
    found = sheet.over_time(1.3 * claim, from_states=True)
    assert close(found["t"], claim, TIMES)
    assert close(start_v - found["v"], droop(i_a, claim / 2, c_f, esr_ohm), VOLTS)
    assert close(cap_for_current(i_a, found["t"], start_v - end_v, esr_ohm), c_f, TIMES)


def test_a_capacitor_feeds_a_converter_of_constant_power() -> None:
    c_f = cap_for_power(2.0, 20e-3, 12.0, 7.0, efficiency=0.85)
    sheet = Sheet()
    bus = sheet.node()
    sheet.capacitor(bus, 0, c_f, 12.0)
    sheet.add("B", bus, 0, f"i={2.0 / 0.85:.12g}/max(v({bus}),1)")
    sheet.measure("t", f"when v({bus})=7 fall=1")
    assert close(sheet.over_time(25e-3, from_states=True)["t"], 20e-3, TIMES)


def test_the_largest_inductance_that_lets_a_current_rise() -> None:
    l_h = inductance_max(0.1, 2e-6, 10.0)
    sheet = Sheet()
    top = sheet.step(0.0, 0.1)
    coil = sheet.add("L", top, 0, f"{l_h:.12g} ic=0")
    sheet.measure("i", f"find i({coil}) at=2u")
    assert close(sheet.over_time(3e-6, from_states=True)["i"], 10.0, TIMES)


def test_a_cell_under_load_and_its_largest_burst() -> None:
    sheet = Sheet()
    for name, i_a in (("loaded", 15e-3), ("limit", burst_current_max(3.0, 1.8, 20.0))):
        terminal = sheet.node()
        sheet.resistor(sheet.source(3.0), terminal, 20.0)
        sheet.leak(terminal, i_a)
        sheet.ask(name, f"v({terminal})")
    found = sheet.at_dc()
    assert close(found["loaded"], loaded_voltage(3.0, 15e-3, 20.0), VOLTS)
    assert close(found["limit"], 1.8, VOLTS)


# ------------------------------------------------------------------------------ wires and strips


def ladder(sheet: Sheet, name: str, loop_ohm: float, i_a: float, feeds: int, steps: int = 240) -> list[str]:
    """A strip of evenly spread loads as a ladder, fed at even points; asks the voltage at every step."""
    nodes = [sheet.node() for _ in range(steps + 1)]
    for first, second in itertools.pairwise(nodes):
        sheet.resistor(first, second, loop_ohm / steps)
    for place, node in enumerate(nodes):
        sheet.leak(node, i_a / steps * (0.5 if place in (0, steps) else 1.0))
    for feed in range(feeds):
        place = 0 if feeds == 1 else round(feed * steps / (feeds - 1))
        sheet.add("V", nodes[place], 0, "dc 12")
    return [sheet.ask(f"{name}_{place}", f"v({node})") for place, node in enumerate(nodes)]


@pytest.mark.parametrize("feeds", [1, 2, 3, 5])
def test_the_deepest_drop_along_a_strip(feeds: int) -> None:
    sheet = Sheet()
    names = ladder(sheet, "v", 0.5, 6.0, feeds)
    found = sheet.at_dc()
    assert close(12.0 - min(found[name] for name in names), strip_drop(0.5, 6.0, feeds), VOLTS)


def test_the_fewest_feeds_are_the_fewest() -> None:
    feeds = feeds_needed(0.8, 5.0, 0.2)
    sheet = Sheet()
    enough, fewer = ladder(sheet, "enough", 0.8, 5.0, feeds), ladder(sheet, "fewer", 0.8, 5.0, feeds - 1)
    found = sheet.at_dc()
    assert 12.0 - min(found[name] for name in enough) <= 0.2 * (1 + VOLTS)
    assert 12.0 - min(found[name] for name in fewer) > 0.2


def test_a_cable_there_and_back_cold_and_hot() -> None:
    # two wires of the standard's 39 mΩ/m; ngspice warms them with the same straight line of 0.4 % a kelvin from 20 °C (IEC 60228)
    length_m, per_m, i_a = 2.0, 0.039, 3.0
    sheet = Sheet()
    for name, t_c in (("cold", 20.0), ("hot", 60.0)):
        load, back = sheet.node(), sheet.node()
        wire = f"{length_m * per_m:.12g} tc1=0.004 temp={27.0 + t_c - 20.0}"  # ngspice counts from 27 °C
        sheet.add("R", sheet.source(5.0), load, wire)
        sheet.add("R", back, 0, wire)
        sheet.current(load, back, i_a)
        sheet.ask(name, f"5-(v({load})-v({back}))")
    found = sheet.at_dc()
    assert close(found["cold"], cable_drop(length_m, per_m, i_a), VOLTS)
    assert close(found["hot"], cable_drop(length_m, per_m, i_a, 60.0), VOLTS)
    assert close(found["cold"] / i_a, loop_resistance(length_m, per_m), VOLTS)
    assert close(loop_resistance_max(found["cold"], i_a), 2 * length_m * per_m, VOLTS)
    assert close(distributed_drop(length_m, per_m, i_a), found["cold"] / 2, VOLTS)


def test_copper_of_a_gauge() -> None:
    # the resistor of ngspice by its geometry: 0.017241 Ω mm²/m over the area of 24 AWG (0.205 mm², ASTM B258 by handbook table)
    sheet = Sheet()
    end = sheet.node()
    sheet.resistor(end, 0, 0.017241 / 0.205)
    sheet.current(0, end, 1.0)
    sheet.ask("r", f"v({end})")
    found = sheet.at_dc()["r"]
    assert close(found, awg_resistance(24), VOLTS)
    assert close(found, copper_resistance(0.205e-6), VOLTS)
