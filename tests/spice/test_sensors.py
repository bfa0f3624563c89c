"""Resistive sensors in their dividers against ngspice, with the law of the sensor as its resistor's expression (kind: oracle)."""

from __future__ import annotations

import math

import pytest
from fitted import VOLTS, close, ends
from ngspice import Sheet

from pinwright.circuits import curves
from pinwright.circuits.platinum import lead_error
from pinwright.circuits.ranges import Range
from pinwright.circuits.ratiometric import drop_error
from pinwright.circuits.thermistor_circuits import linearising_resistor, self_heating


def divider(sheet: Sheet, name: str, supply_v: float, upper: str, lower: str) -> None:
    """Two resistors given as expressions; asks the voltage in the middle."""
    top, middle = sheet.source(supply_v), sheet.node()
    sheet.add("R", top, middle, f"r={{{upper}}}")
    sheet.add("R", middle, 0, f"r={{{lower}}}")
    sheet.ask(name, f"v({middle})")


@pytest.mark.parametrize("to_ground", [True, False])
def test_a_thermistor_in_its_divider(to_ground: bool) -> None:
    # R = R25 exp(B (1/T - 1/298.15 K)), EPCOS Standardized R/T Characteristics, 1.1
    r25, beta, fixed, supply = Range.around(10e3, 0.01), Range.around(3950.0, 0.01), Range.around(10e3, 0.05), Range(3.2, 3.4, 3.3)
    curve = curves.ntc_divider(r25, beta, fixed, supply, to_ground)
    sheet, claims = Sheet(), {}
    box = ((-20.0, 25.0, 80.0), (r25.low, r25.high), (beta.low, beta.high), (fixed.low, fixed.high), (supply.low, supply.high))
    for number, (t_c, r25_ohm, beta_k, fixed_ohm, supply_v) in enumerate(ends(*box)):
        ntc = f"{r25_ohm:.12g}*exp({beta_k:.12g}*(1/{t_c + 273.15:.12g}-1/298.15))"
        pair = (f"{fixed_ohm:.12g}", ntc) if to_ground else (ntc, f"{fixed_ohm:.12g}")
        divider(sheet, f"v{number}", supply_v, *pair)
        values = {"r25_ohm": r25_ohm, "beta_k": beta_k, "r_fixed_ohm": fixed_ohm, "v_supply_v": supply_v}
        claims[f"v{number}"] = float(curve.volts(t_c, values))
    found = sheet.at_dc()
    assert all(close(found[name], claim, VOLTS) for name, claim in claims.items())


def test_a_thermistor_warms_itself_and_is_straightened() -> None:
    sheet = Sheet()
    r_ntc = "10000*exp(3950*(1/{t}-1/298.15))"
    straight = linearising_resistor(25.0, 10e3, 3950.0)
    for name, t_k in (("cold", 293.15), ("mid", 298.15), ("warm", 303.15)):
        divider(sheet, name, 3.3, f"{straight:.12g}", r_ntc.format(t=t_k))
    top, meter, middle = sheet.source(3.3), sheet.node(), sheet.node()
    current = sheet.meter(top, meter)
    sheet.resistor(meter, middle, 10e3)
    sheet.resistor(middle, 0, 10e3)
    sheet.ask("power", f"v({middle})*i({current})")
    found = sheet.at_dc()
    assert close(found["power"] / 2e-3, self_heating(3.3, 10e3, 10e3, 2e-3), VOLTS)
    # straight in the middle: both halves of ten kelvin are alike within 1 %
    assert close(found["cold"] - found["mid"], found["mid"] - found["warm"], 0.01)


def test_platinum_behind_leads_that_read_too_hot() -> None:
    # IEC 60751: R = R0 (1 + 3.9083e-3 t - 5.775e-7 t²), from memory; a lead resistance reads as its share of 0.385 Ω a kelvin
    fixed = Range.around(1000.0, 0.01)
    curve = curves.platinum_divider(fixed, 100.0, supply_v=Range(3.3, 3.3, 3.3))
    sheet = Sheet()
    for name, t_c, leads in (("cold", 0.0, 0.0), ("hot", 150.0, 0.0), ("leads", 25.0, 1.0)):
        divider(sheet, name, 3.3, "1000", f"100*(1+3.9083e-3*{t_c}-5.775e-7*{t_c}*{t_c})+{leads}")
    found = sheet.at_dc()
    usual = {name: one.range.middle for name, one in curve.uncertain.items()} | {"v_supply_v": 3.3, "r_fixed_ohm": 1000.0}
    assert close(found["cold"], float(curve.volts(0.0, usual)), VOLTS)
    assert close(found["hot"], float(curve.volts(150.0, usual)), VOLTS)
    assert close(float(curve.quantity(found["leads"], usual)) - 25.0, lead_error(1.0, 25.0), 0.02)


def test_a_light_resistor_from_dusk_to_noon() -> None:
    # R = R10 (10 lx / E)^gamma, the definition of gamma between 10 and 100 lx
    curve = curves.light_dependent(Range(8e3, 20e3, 14e3), Range(0.6, 0.8, 0.7), Range.around(10e3, 0.05), Range(3.3, 3.3, 3.3), True)
    sheet, claims = Sheet(), {}
    for number, (lux, r10_ohm, gamma) in enumerate(ends((1.0, 100.0, 10e3), (8e3, 20e3), (0.6, 0.8))):
        divider(sheet, f"v{number}", 3.3, "10000", f"{r10_ohm}*exp({gamma}*ln(10/{lux}))")
        values = {"r10_ohm": r10_ohm, "gamma": gamma, "r_fixed_ohm": 10e3, "v_supply_v": 3.3}
        claims[f"v{number}"] = float(curve.volts(lux, values))
    found = sheet.at_dc()
    assert all(close(found[name], claim, VOLTS) for name, claim in claims.items())


def test_the_wire_of_a_ratiometric_sensor_takes_its_share() -> None:
    sheet = Sheet()
    sensor = sheet.node()
    sheet.resistor(sheet.source(3.3), sensor, 1.0)
    sheet.leak(sensor, 10e-3)
    sheet.ask("v", f"v({sensor})")
    lost = 1 - sheet.at_dc()["v"] / 3.3
    assert close(lost, abs(drop_error(10e-3, 1.0, 3.3)), VOLTS)
    assert math.isfinite(lost)
