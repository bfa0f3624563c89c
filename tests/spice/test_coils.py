"""Coils with their diode against ngspice: what the switch sees, how long the current lives, whether the coil pulls in (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import TIMES, VOLTS, close, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.clamps import clamp, decay_time, diode_needs, stored_energy, switch_voltage
from pinwright.circuits.coils import coil_check, coil_current, coil_levels, coil_power
from pinwright.circuits.ranges import Range

Found = dict[str, float]
IDEAL = "ideal d(is=1e-6 n=0.02)"  # drops 7 mV at 1 A: next to nothing


def released(l_h: float, ohm: float, supply_v: float, clamp_v: float, i_end_a: float, diode: str = "") -> Found:
    """A coil that carries its current and whose switch opens at 0: time to ``i_end_a``, peak at the switch, energy in the clamp.

    The clamp is a voltage source behind an ideal rectifier, or a diode of a model.
    """
    i_a = supply_v / ohm
    sheet = Sheet()
    supply, inner, switch = sheet.source(supply_v), sheet.node(), sheet.node()
    coil = sheet.add("L", supply, inner, f"{l_h:.12g} ic={i_a:.12g}")
    sheet.resistor(inner, switch, ohm)
    sheet.resistor(switch, 0, 1e9)  # the open switch, and its capacitance: without it the voltage would have to jump
    sheet.capacitor(switch, 0, 50e-12, supply_v)
    above = sheet.node()
    if diode:
        sheet.model(f"clamp d({diode})")
        through = sheet.meter(switch, above)
        sheet.add("D", above, supply, "clamp")
    else:
        sheet.model(IDEAL)
        middle = sheet.node()
        through = sheet.add("V", switch, middle, f"dc {clamp_v:.12g}")
        sheet.add("D", middle, above, "ideal")
        sheet.meter(above, supply)
    sheet.measure("t", f"when i({coil})={i_end_a:.12g} fall=1")
    sheet.measure("v", f"max v({switch})")
    sheet.measure("q", f"integ i({through})")
    # Not much longer than the claim: an ideal rectifier whose current ends is too sharp for any simulator.
    return sheet.over_time(1.12 * decay_time(l_h, ohm, i_a, i_end_a, clamp_v), from_states=True)


@pytest.mark.parametrize(
    ("l_h", "ohm", "supply_v", "clamp_v"),
    [(0.1, 63.0, 5.0, 0.7), (0.1, 63.0, 5.0, 15.7), (0.05, 6.0, 12.0, 1.0), (0.4, 320.0, 12.0, 24.7), (2e-3, 42.0, 3.3, 0.7)],
)
def test_the_current_of_a_clamped_coil_decays_as_said(l_h: float, ohm: float, supply_v: float, clamp_v: float) -> None:
    start_a, end_a = supply_v / ohm, 0.1 * supply_v / ohm
    found = released(l_h, ohm, supply_v, clamp_v, end_a)
    claim = clamp(supply_v, start_a, clamp_v, l_h=l_h, r_ohm=ohm, i_release_a=end_a)
    assert claim.t_release_s is not None
    assert close(found["t"], claim.t_release_s, TIMES)
    assert close(found["v"], switch_voltage(supply_v, clamp_v), VOLTS)
    # what a clamp of constant voltage takes is at most the energy stored in the coil; its winding burns the rest
    assert claim.e_j is not None
    assert found["q"] * clamp_v <= claim.e_j * (1 + TIMES)


def test_without_a_winding_the_clamp_takes_all_the_energy() -> None:
    # 1 mΩ, so that the winding takes less than a thousandth
    start_a, l_h = 0.1, 0.1
    sheet = Sheet()
    inner, switch, above = sheet.node(), sheet.node(), sheet.node()
    sheet.add("L", sheet.source(12.0), inner, f"{l_h} ic={start_a}")
    sheet.resistor(inner, switch, 1e-3)
    sheet.resistor(switch, 0, 1e9)
    sheet.capacitor(switch, 0, 50e-12, 12.0)
    through = sheet.add("V", switch, above, "dc 36.7")
    sheet.model(IDEAL)
    supply = sheet.source(12.0)
    sheet.add("D", above, supply, "ideal")
    sheet.measure("q", f"integ i({through})")
    until_s = 0.99 * l_h * start_a / 36.7  # all but a ten-thousandth of it
    assert close(sheet.over_time(until_s, from_states=True)["q"] * 36.7, stored_energy(l_h, start_a), TIMES)


FITTED = [(board, part("solenoid-12v")) for board in ("esp32-wroom32-30pin", "atmega328p-narrow-30pin", "raspberry-pi-pico-w")]
FITTED.append(("atmega328p-narrow-30pin", part("buzzer-passive")))


@pytest.mark.parametrize(("board", "body"), FITTED, ids=short)
def test_a_fitted_diode_clamps_what_the_transistor_stands(board: str, body: str) -> None:
    """A silicon rectifier as a model (1N4001: 0.9 V at 1 A, from memory): within a tenth of its drop, and of the decay with 0.8 V."""
    one = fitted(board, body)
    load = one.placed.line.asks.load
    assert load is not None
    assert load.l_h is not None
    diode = one.piece("across the load, cathode to its supply")
    needs = diode_needs(load.v_v, load.inrush_a or load.i_a)
    assert diode.why == needs.words
    found = released(load.l_h, load.v_v / load.i_a, load.v_v, 0.8, 0.1 * load.i_a, "is=1.4e-8 n=1.75 rs=0.04")
    assert close(found["v"], switch_voltage(load.v_v, 0.8), 0.05)
    name = one.piece("switch").part
    assert found["v"] <= next(switch for switch in one.bench.switches if switch.part == name).v_max_v
    assert close(found["t"], decay_time(load.l_h, load.v_v / load.i_a, load.i_a, 0.1 * load.i_a, 0.8), 0.10)
    # reverse voltage and first current of the diode are those it must be rated for
    assert needs.v_reverse_min_v >= load.v_v
    assert needs.i_forward_min_a >= load.i_a


def test_a_coil_over_supply_drop_and_heat() -> None:
    # 63 Ω at 23 °C, copper of 234.5 °C at its zero (TE 13C9135); the resistor of ngspice gets the same straight line as tc1
    supply, drop, ohm = Range(4.75, 5.25, 5.0), Range(0.1, 0.3), 63.0
    check = coil_check(coil_levels(5.0, 0.75, 0.10, 1.7), supply, drop, ohm, Range(0.0, 70.0))
    tc1 = 1 / (234.5 + 23.0)
    sheet = Sheet()
    currents = []
    for number, (supply_v, drop_v, t_c) in enumerate([(4.75, 0.3, 70.0), (5.25, 0.1, 0.0)]):
        top, inner, meter = sheet.source(supply_v), sheet.node(), sheet.node()
        current = sheet.meter(top, meter)
        sheet.add("R", meter, inner, f"{ohm} tc1={tc1:.12g} temp={t_c + 4.0}")  # ngspice counts from 27 °C: 4 K above our 23 °C
        sheet.add("V", inner, 0, f"dc {drop_v}")
        currents.append(sheet.ask(f"i{number}", f"i({current})"))
        sheet.ask(f"p{number}", f"(v({meter})-v({inner}))*i({current})")
    found = sheet.at_dc()
    assert close(found["i0"], check.i.low, VOLTS)
    assert close(found["i1"], check.i.high, VOLTS)
    assert close(found["p1"], check.p_max_w, VOLTS)
    assert close(found["i1"], coil_current(5.15, ohm * (234.5 / 257.5)), VOLTS)
    assert close(found["p1"], coil_power(5.15, ohm * (234.5 / 257.5)), VOLTS)
