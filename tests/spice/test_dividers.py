"""Dividers against ngspice: every corner of resistors, supply and leakage, and the edge behind them (kind: oracle)."""

from __future__ import annotations

import math

import pytest
from fitted import TIMES, VOLTS, Fitted, around, close, ends, fitted, part, short
from ngspice import Sheet

from pinwright.circuits.dividers import design, divider_out, feedback_out, full_scale_in, loaded_out, strap_level
from pinwright.circuits.pulls import rise_time
from pinwright.circuits.ranges import Range, over
from pinwright.circuits.shifting import divider_speed
from pinwright.circuits.window import shown

C_PIN_F = 10e-12  # UM10204 r5, table 10: a pin has 10 pF at most
C_WIRE_F_PER_M = 100e-12  # loose wires, common practice, no source


def own(signal: str, volts: str, supply: str, direction: str = "in", wire: str = "20 cm") -> str:
    level = f'highest = "{volts}"' if direction == "analog-in" else f'gives_high_of = "{volts}"\ngives_low_of = "0.1 V"'
    return (
        f'[[part]]\nname = "x"\nsupply = "{supply}"\nwire = "{wire}"\n'
        f'[[part.line]]\nname = "A"\ndirection = "{direction}"\nsignal = "{signal}"\n{level}\n'
    )


LOGIC = ("esp32-wroom32-30pin", "raspberry-pi-pico-w", "xiao-nrf52840", "esp12f-30pin", "feather-m0-express")
WISHES = [
    (board, body, highest_v)
    for board in LOGIC
    for body, highest_v in (
        (part("ultrasonic-hc-sr04"), 5.25),
        (own("digital", "5 V", "5 V", wire="2 m"), 5.0),
        (own("pulse", "12 V", "12 V"), 12.0),
    )
] + [("atmega328p-narrow-30pin", own("digital", "12 V", "12 V"), 12.0)]
ANALOG = [
    (board, own("analog", volts, "12 V", "analog-in"), highest_v)
    for board in ("esp32-wroom32-30pin", "atmega328p-narrow-30pin", "raspberry-pi-pico-w")
    for volts, highest_v in (("10 V", 10.0), ("24 V", 24.0))
]


def outputs(one: Fitted, highest_v: float) -> list[tuple[float, float]]:
    """Output of a fitted divider at every corner, by ngspice and by our formula."""
    top, bottom = (around(one.ohm(role), one.tolerance(role)) for role in ("upper", "lower"))
    box = ((highest_v * 0.9, highest_v), top, bottom, (-one.leak_a, one.leak_a))
    sheet, claims = Sheet(), []
    for number, (v_in_v, top_ohm, bottom_ohm, i_leak_a) in enumerate(ends(*box)):
        out = sheet.node()
        sheet.resistor(sheet.source(v_in_v), out, top_ohm)
        sheet.resistor(out, 0, bottom_ohm)
        sheet.leak(out, i_leak_a)
        sheet.ask(f"c{number}", f"v({out})")
        claims.append(divider_out(v_in_v, top_ohm, bottom_ohm, i_leak_a))
    found = sheet.at_dc()
    return [(found[f"c{number}"], claim) for number, claim in enumerate(claims)]


@pytest.mark.parametrize(("board", "body", "highest_v"), WISHES, ids=short)
def test_a_fitted_divider_keeps_every_corner_below_the_rail(board: str, body: str, highest_v: float) -> None:
    one = fitted(board, body, "x.ECHO" if "hc-sr04" in body else "")
    pairs = outputs(one, highest_v)
    assert all(close(v, claim, VOLTS) for v, claim in pairs)
    highest = max(v for v, _ in pairs)
    assert highest <= one.rail.high * (1 + VOLTS)
    assert highest >= one.rail.high * 0.8  # nor does it waste the range: a tenth of tolerance, and the steps of E24


@pytest.mark.parametrize(("board", "body", "highest_v"), ANALOG, ids=short)
def test_a_fitted_divider_keeps_an_analog_line_within_the_lowest_supply(board: str, body: str, highest_v: float) -> None:
    one = fitted(board, body)
    pairs = outputs(one, highest_v)
    assert all(close(v, claim, VOLTS) for v, claim in pairs)
    assert max(v for v, _ in pairs) <= one.rail.low * (1 + VOLTS)


@pytest.mark.parametrize(
    "case", [(5.25, 3.3, 0.05, 1e-6, 5e3, 100e3), (12.0, 3.2, 0.01, 50e-9, 10e3, 30e3), (24.0, 1.1, 0.05, 1e-6, 50e3, 1e6)]
)
def test_the_bounds_of_a_design_are_the_corners_of_ngspice(case: tuple[float, ...]) -> None:
    v_in_v, limit_v, tolerance, leak_a, least, most = case
    found = design(v_in_v, limit_v, tolerance=tolerance, i_leak_a=leak_a, total_low_ohm=least, total_high_ohm=most)
    sheet, names, drains = Sheet(), [], []
    for number, (top_ohm, bottom_ohm, i_leak_a) in enumerate(
        ends(around(found.top_ohm, tolerance), around(found.bottom_ohm, tolerance), (-leak_a, leak_a))
    ):
        out, top = sheet.node(), sheet.source(v_in_v)
        meter = sheet.node()
        drain = sheet.meter(top, meter)
        sheet.resistor(meter, out, top_ohm)
        sheet.resistor(out, 0, bottom_ohm)
        sheet.leak(out, i_leak_a)
        names.append(sheet.ask(f"v{number}", f"v({out})"))
        drains.append(sheet.ask(f"i{number}", f"i({drain})"))
    said = sheet.at_dc()
    v = [said[name] for name in names]
    assert close(min(v), found.v_out.low, VOLTS)
    assert close(max(v), found.v_out.high, VOLTS)
    assert max(v) <= limit_v
    assert close(max(said[name] for name in drains), found.i_drain.high, VOLTS, leak_a)


def test_loaded_and_full_scale() -> None:
    sheet = Sheet()
    loaded, scaled = sheet.node(), sheet.node()
    sheet.resistor(sheet.source(5.0), loaded, 10e3)
    sheet.resistor(loaded, 0, 20e3)
    sheet.resistor(loaded, 0, 33e3)
    sheet.resistor(sheet.source(full_scale_in(1.1, 1e6, 470e3)), scaled, 1e6)
    sheet.resistor(scaled, 0, 470e3)
    sheet.ask("loaded", f"v({loaded})")
    sheet.ask("scaled", f"v({scaled})")
    found = sheet.at_dc()
    assert close(found["loaded"], loaded_out(5.0, 10e3, 20e3, 33e3), VOLTS)
    assert close(found["scaled"], 1.1, VOLTS)


def test_a_regulator_settles_where_its_feedback_says() -> None:
    # the regulator is an amplifier with a gain of a million between reference and middle; the pin takes 100 µA
    sheet = Sheet()
    out, middle = sheet.node(), sheet.node()
    sheet.add("E", out, 0, sheet.source(1.25), middle, 1e6)
    sheet.resistor(out, middle, 1000.0)
    sheet.resistor(middle, 0, 330.0)
    sheet.leak(middle, 100e-6)
    sheet.ask("out", f"v({out})")
    assert close(sheet.at_dc()["out"], feedback_out(1.25, 1000.0, 330.0, 100e-6), VOLTS)


def test_a_strap_between_two_pulls() -> None:
    # pull-up inside the chip of 20 to 50 kΩ against a resistor of 10 kΩ at 5 %
    top, bottom, leak_a = Range(20e3, 50e3), Range.around(10e3, 0.05), 1e-6
    claim = strap_level(3.3, top, bottom, 0.8, 2.0, leak_a)
    sheet = Sheet()
    for number, (top_ohm, bottom_ohm, i_a) in enumerate(ends((top.low, top.high), (bottom.low, bottom.high), (-leak_a, leak_a))):
        out = sheet.node()
        sheet.resistor(sheet.source(3.3), out, top_ohm)
        sheet.resistor(out, 0, bottom_ohm)
        sheet.leak(out, i_a)
        sheet.ask(f"v{number}", f"v({out})")
    found = sheet.at_dc().values()
    assert close(min(found), claim.v.low, VOLTS)
    assert close(max(found), claim.v.high, VOLTS)


@pytest.mark.parametrize(("board", "body", "highest_v"), WISHES[:6], ids=short)
def test_the_edge_behind_a_divider(board: str, body: str, highest_v: float) -> None:
    one = fitted(board, body, "x.ECHO" if "hc-sr04" in body else "")
    c_f = C_PIN_F + one.placed.line.asks.wire_m * C_WIRE_F_PER_M
    top_ohm, bottom_ohm = one.ohm("upper"), one.ohm("lower")
    end_v = highest_v * bottom_ohm / (top_ohm + bottom_ohm)
    sheet, out = Sheet(), ""
    out = sheet.node()
    sheet.resistor(sheet.step(0.0, highest_v), out, top_ohm)
    sheet.resistor(out, 0, bottom_ohm)
    sheet.capacitor(out, 0, c_f)
    for share in (0.1, 0.3, 0.7, 0.9):
        sheet.measure(f"t{int(share * 10)}", f"when v({out})={share * end_v:.12g} rise=1")
    source_ohm = top_ohm * bottom_ohm / (top_ohm + bottom_ohm)
    t = sheet.over_time(5 * source_ohm * c_f)
    claimed = rise_time(source_ohm, c_f)
    assert close(t["t7"] - t["t3"], claimed, TIMES)
    assert close(t["t9"] - t["t1"], divider_speed(top_ohm, bottom_ohm, c_f)[0], TIMES)
    check = next(check for check in one.circuit.checks if check.formula == "dividers.divider_out")
    assert check.words.endswith(f"its edge takes {shown(claimed, 's')}")
    assert not math.isnan(check.margin)


def test_over_gives_the_same_ends_as_ngspice() -> None:
    # a divider whose two resistors and supply all vary: the corners that ``over`` visits are the real extremes
    box = {"v_in_v": Range(4.75, 5.25), "top_ohm": Range.around(10e3, 0.05), "bottom_ohm": Range.around(20e3, 0.05)}
    claim = over(divider_out, **box)
    sheet = Sheet()
    for number, (v_v, top_ohm, bottom_ohm) in enumerate(ends(*(((r.low, r.middle, r.high)) for r in box.values()))):
        out = sheet.node()
        sheet.resistor(sheet.source(v_v), out, top_ohm)
        sheet.resistor(out, 0, bottom_ohm)
        sheet.ask(f"v{number}", f"v({out})")
    found = sheet.at_dc().values()
    assert close(min(found), claim.low, VOLTS)
    assert close(max(found), claim.high, VOLTS)


@pytest.mark.parametrize("board", ["esp32-wroom32-30pin", "raspberry-pi-pico-w"])
def test_the_margin_of_a_divided_high_holds_at_every_corner(board: str) -> None:
    # a part on 12 V that gives 10 V at least, whatever its supply
    one = fitted(board, own("digital", "10 V", "12 V").replace("gives_low", 'highest = "12 V"\ngives_low'))
    check = next(check for check in one.circuit.checks if check.formula == "dividers.divider_out")
    sheet = Sheet()
    top, bottom = (around(one.ohm(role), one.tolerance(role)) for role in ("upper", "lower"))
    for number, (top_ohm, bottom_ohm, i_leak_a) in enumerate(ends(top, bottom, (-one.leak_a, one.leak_a))):
        out = sheet.node()
        sheet.resistor(sheet.source(10.0), out, top_ohm)
        sheet.resistor(out, 0, bottom_ohm)
        sheet.leak(out, i_leak_a)
        sheet.ask(f"v{number}", f"v({out})")
    needed_v = max(one.vih_v(one.rail.low), one.vih_v(one.rail.high))
    assert min(sheet.at_dc().values()) - needed_v >= check.margin - VOLTS * needed_v
