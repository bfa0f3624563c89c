"""Every value a circuit gets lies in its window and keeps, at its worst corner, what it is there for.

The inequalities are worked out here with plain arithmetic, not with the functions that chose the values.
Sources: Ohm's law and charge balance where nothing else is named; figures of chips, transistors and parts as the catalogue cites them.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from interface_rig import asks_of, bench_like, board, circuit, is_e24, job_of, measures, number, part, piece, spot

from pinwright.facts.model import Level, Load
from pinwright.fitting.interface.rails import board_rail, pin_driver, pin_high
from pinwright.fitting.setting import Switch

BOARDS = ("raspberry-pi-pico", "esp32-wroom32-30pin", "atmega328p-32pin", "stm32f103c8-40pin", "nano-33-iot")
TOLERANCE = 0.05  # of resistors nobody says more about: gold ring (common practice, no source)
CABLE_F_PER_M = 100e-12  # loose wire (common practice, no source)


# ------------------------------------------------------------------------------ pulls


@pytest.mark.parametrize("name", BOARDS)
def test_a_pull_up_on_a_long_wire_keeps_the_level_the_current_and_the_edge(name: str) -> None:
    # property: over 5 % of resistor and the rail's spread; 1 mA through a closed contact (common practice, no source)
    seen = board(name)
    asks = replace(asks_of(part("push-button-momentary", 'wire = "4 m"')))
    asks = replace(asks, needs=replace(asks.needs, pull_ohm=None))
    pull = piece(circuit(asks, spot(seen, lambda place: place.pad.input), seen), "pull-up")
    assert pull.value is not None
    assert pull.window is not None
    assert pull.value in pull.window
    rail, electrical = board_rail(seen), seen.chip.electrical
    leak = number(electrical.i_leak_max_a, 1e-6)
    needs = max(electrical.vih_min.at(rail.low), electrical.vih_min.at(rail.high))
    assert rail.low - pull.value * (1 + TOLERANCE) * leak > needs
    assert rail.high / (pull.value * (1 - TOLERANCE)) <= 1e-3 * (1 + 1e-9)
    # 100 µs for a contact that bounces for milliseconds (common practice, no source); 3 time constants are 95 %
    assert 3 * pull.value * (1 + TOLERANCE) * (4 * CABLE_F_PER_M + 20e-12) < 100e-6
    assert is_e24(pull.value)


@pytest.mark.parametrize("name", BOARDS)
def test_a_short_wire_uses_the_chips_own_pull_and_nothing_is_bought(name: str) -> None:
    # behaviour: common practice, no source
    seen = board(name)
    found = circuit(asks_of(part("push-button-momentary")), spot(seen, lambda place: place.pad.pull_up), seen)
    assert found.components == 0
    assert found.elements[0].kind == "internal pull"


def test_a_pad_without_a_pull_gets_a_resistor() -> None:
    # GPIO34 to 39 of the ESP32 have no pulls (ESP32 data sheet, pin list; read by the catalogue)
    seen = board("esp32-wroom32-30pin")
    found = circuit(asks_of(part("push-button-momentary")), spot(seen, lambda place: place.pad.gpio == 34), seen)
    assert found.of("pull-up") is not None
    assert "no pull-up of its own" in found.elements[0].why


@pytest.mark.parametrize("name", BOARDS)
def test_a_gate_pull_down_stays_below_the_threshold_and_the_pin_overpowers_it(name: str) -> None:
    # property: 0.3 V lies below the lowest threshold of the catalogue's transistors; leakage by the chip's data sheet
    seen = board(name)
    place = spot(seen, lambda each: each.pad.output and each.pad.strap is None and not each.is_console)
    down = piece(circuit(asks_of(part("solenoid-12v")), place, seen), "pull-down")
    assert down.value is not None
    assert down.window is not None
    assert down.value in down.window
    assert down.value * (1 + TOLERANCE) * (number(seen.chip.electrical.i_leak_max_a, 1e-6) + 1e-6) < 0.31
    assert board_rail(seen).high / (down.value * (1 - TOLERANCE)) < number(seen.chip.electrical.i_pin_source_max_a)


def test_a_pull_the_part_brings_is_not_fitted_twice() -> None:
    # DHT22 modules carry their pull-up (module_pull or pull_fitted of the catalogue)
    asks = asks_of(part("push-button-momentary", 'wire = "4 m"'))
    from pinwright.facts.model import PullFitted

    asks = replace(asks, pull_fitted=PullFitted(direction="up", ohm=10e3))
    seen = board("raspberry-pi-pico")
    assert circuit(asks, spot(seen), seen).of("pull-up") is None


# ------------------------------------------------------------------------------ LEDs


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("kind", ["led-red", "led-yellow", "led-true-green"])
def test_an_led_gets_neither_too_much_nor_too_little(name: str, kind: str) -> None:
    # property: I = (V - VF) / (R + R of the pad); most half above and least as the part says, both at the worst corner
    seen = board(name)
    asks = asks_of(part(kind))
    load = asks.load
    assert load is not None
    assert load.vf_min_v is not None
    assert load.vf_max_v is not None
    found = circuit(asks, spot(seen, lambda place: place.pad.output), seen)
    rail = board_rail(seen)
    if found.of("driver"):  # 3.3 V are not enough for this colour: it must say so in volts or ohms
        assert rail.low - load.vf_max_v < 0.5
        assert "no value works" in found.elements[0].why
        return
    series = piece(found, "series")
    assert series.value is not None
    assert series.window is not None
    assert series.value in series.window
    most = (rail.high - load.vf_min_v) / (series.value * (1 - TOLERANCE))
    assert most <= min(load.i_a * 1.5, number(seen.chip.electrical.i_pin_source_max_a)) * (1 + 1e-9)
    voh = seen.chip.electrical.voh_min.at(rail.middle)
    drive = number(seen.chip.electrical.voh_i_a)
    pad_ohm = (rail.middle - voh) / drive if drive else 0.0
    least = (rail.low - load.vf_max_v) / (series.value * (1 + TOLERANCE) + pad_ohm)
    assert least >= (load.i_min_a or 0.0) * 0.98
    assert found.checks[0].margin >= 0


# ------------------------------------------------------------------------------ transistor stages


def stage(seen_name: str, load: Load, **changes: object):  # type: ignore[no-untyped-def]
    from pinwright.fitting.interface.transistor_stages import low_side_stage

    seen = board(seen_name)
    return low_side_stage(load, pin_high(seen), bench_like(**changes), 8e-3, float(changes.get("ambient_high_c", 40.0)))  # type: ignore[arg-type]


NPN = Switch("npn-test", "test NPN", "npn", 45.0, 0.2, hfe_min=100.0, vbe_v=0.95, vce_sat_v=0.3, p_max_w=0.5)
"""Invented, in the manner of a small-signal transistor."""
FET = Switch("fet-test", "test FET", "mosfet", 30.0, 5.0, 12.0, 1.4, 0.6, ((2.5, 0.05), (4.5, 0.03)), 13e-9)
"""Invented, in the manner of a small logic-level MOSFET."""


@pytest.mark.parametrize("name", BOARDS)
def test_a_base_resistor_saturates_the_transistor_and_spares_the_pin(name: str) -> None:
    # property: forced gain of 10, where data sheets state VCE(sat)  [BC547, 2N2222A data sheets]
    seen = board(name)
    load = Load(kind="buzzer", v_v=5.0, i_a=0.02)
    element, checks, against = stage(name, load, switches=(NPN,))
    assert element is not None, against
    base = next(each for each in element.pieces if each.role == "base")
    assert base.value is not None
    assert base.value in base.window  # type: ignore[operator]
    rail = board_rail(seen)
    gives = min(pin_driver(seen.chip, 2.4e-3).voh.at(rail).low, rail.low)
    assert (gives - 0.95) / (base.value * (1 + TOLERANCE)) * 10 >= 0.02
    assert (rail.high - 0.6) / (base.value * (1 - TOLERANCE)) <= 8e-3 * (1 + 1e-9)
    assert all(check.holds for check in checks)


@pytest.mark.parametrize("name", BOARDS)
def test_a_gate_resistor_spares_the_pin_and_switches_in_time(name: str) -> None:
    # property: I = V / R at the first instant; t = Q R / (V - VGS) for the charge of the gate
    seen = board(name)
    element, checks, against = stage(name, Load(kind="coil", v_v=12.0, i_a=1.0), switches=(FET,))
    assert element is not None, against
    gate = next(each for each in element.pieces if each.role == "gate")
    assert gate.value is not None
    assert gate.value in gate.window  # type: ignore[operator]
    rail = board_rail(seen)
    assert rail.high / gate.value <= 8e-3 * (1 + 1e-9)
    gives = pin_driver(seen.chip, 1e-5).voh.at(rail).low
    assert 13e-9 * gate.value / (gives - 1.4) <= 10e-6 * (1 + 1e-9)
    assert checks[0].margin > 0


@pytest.mark.parametrize(("kind", "wants"), [("coil", True), ("motor", True), ("buzzer", True), ("heater", False), ("lamp", False)])
def test_what_kicks_back_gets_a_diode_and_nothing_else_does(kind: str, wants: bool) -> None:
    # behaviour: common practice, no source; it stands twice the supply and the whole current
    element, _, against = stage("raspberry-pi-pico", Load(kind=kind, v_v=12.0, i_a=1.0))  # type: ignore[arg-type]
    assert element is not None, against
    diodes = [each for each in element.pieces if each.what == "diode"]
    assert bool(diodes) is wants
    if wants:
        assert diodes[0].rating == "at least 24 V, 1 A"
        assert "cathode to its supply" in diodes[0].role


def test_every_coil_and_motor_of_the_catalogue_gets_its_diode() -> None:
    # behaviour: no plan switches a coil without a diode (common practice, no source)
    job = job_of(part("led-red"))
    seen = board("raspberry-pi-pico")
    looked_at = 0
    for known in job.catalogue.parts.values():
        for line in known.line:
            if line.load is None or line.load.stage != "low" or line.load.kind not in ("coil", "motor"):
                continue
            looked_at += 1
            found = circuit(asks_of(part(known.id), line.name), spot(seen), seen)
            assert any(each.what == "diode" for element in found.elements for each in element.pieces), known.id
    assert looked_at >= 2


def test_the_transistor_at_hand_is_taken_before_a_better_one() -> None:
    # behaviour: [stock] parts come first (docs/brief-keys.md)
    mine, other = replace(FET, part="mine", in_stock=True), replace(FET, part="other", r_on=((2.5, 0.001),))
    element, _, _ = stage("raspberry-pi-pico", Load(kind="lamp", v_v=12.0, i_a=1.0), switches=(other, mine))
    assert element is not None
    assert element.pieces[0].part == "mine"


def test_where_no_transistor_works_each_is_refused_with_its_numbers() -> None:
    # behaviour: 60 V at 40 A is beyond everything in the catalogue (55 V at most, its data sheets)
    element, checks, against = stage("raspberry-pi-pico", Load(kind="heater", v_v=60.0, i_a=40.0))
    assert element is None
    assert checks == ()
    for switch in bench_like().switches:
        assert switch.part in against
    assert "stands 30 V and 5.7 A" in against


def test_a_pin_too_weak_for_any_transistor_costs_more_than_one_that_is_not() -> None:
    # PC13 of the STM32F103 may not be used as a current source (data sheet DS5319, GPIO section): it must not look cheaper
    seen = board("stm32f103c8-40pin")
    asks = asks_of(part("buzzer-active"))
    weak = next(place for place in seen.places if place.pad.name == "PC13")
    usual = spot(seen, lambda place: place.pad.source_max_a is None and place.pad.output)
    failed, built = circuit(asks, weak, seen), circuit(asks, usual, seen)
    assert failed.components > built.components
    assert [check.what for check in failed.tight] == ["driver stage"]
    assert "the pin gives at most" in failed.tight[0].words
    assert not built.tight


# ------------------------------------------------------------------------------ heat


def test_warmer_surroundings_never_cool_a_transistor() -> None:
    # property
    hot = []
    for ambient in (-20.0, 25.0, 40.0, 60.0, 85.0):
        _, checks, against = stage("raspberry-pi-pico", Load(kind="heater", v_v=12.0, i_a=1.5), switches=(FET,), ambient_high_c=ambient)
        assert checks, against
        hot.append(150.0 - checks[0].margin)
    assert hot == sorted(hot)


def test_a_larger_load_never_gets_a_cooler_transistor() -> None:
    # property: one transistor, so that a stronger one cannot step in
    hot = []
    for i_a in (0.01, 0.1, 0.5, 1.0, 2.0, 3.0):
        _, checks, against = stage("raspberry-pi-pico", Load(kind="heater", v_v=12.0, i_a=i_a), switches=(FET,))
        assert checks, against
        hot.append(-checks[0].margin)
    assert hot == sorted(hot)


def test_the_heat_of_a_small_mosfet_by_hand() -> None:
    # P = I² R with 1.8 times the cold resistance, 125 K/W for a small package on little copper (both common practice, no source)
    _, checks, _ = stage("raspberry-pi-pico", Load(kind="heater", v_v=12.0, i_a=2.0), switches=(FET,))
    assert 150.0 - checks[0].margin == pytest.approx(40.0 + 2.0**2 * 0.05 * 1.8 * 125.0)


def test_the_rating_of_an_npn_falls_with_the_heat_around_it() -> None:
    # Free-air ratings hold at 25 °C and fall in a straight line to nothing at 150 °C  [BC547 data sheet, derating 5 mW/K; from memory]
    def allowed(ambient_c: float) -> float:
        _, checks, against = stage("raspberry-pi-pico", Load(kind="buzzer", v_v=5.0, i_a=0.03), switches=(NPN,), ambient_high_c=ambient_c)
        assert not against
        return next(each.margin for each in checks if each.what == "heat of the switch")

    assert allowed(25.0) - allowed(75.0) == pytest.approx(0.5 * 50 / 125)
    weak = replace(NPN, p_max_w=0.02)
    element, _, against = stage("raspberry-pi-pico", Load(kind="buzzer", v_v=5.0, i_a=0.03), switches=(weak,), ambient_high_c=100.0)
    assert element is None
    assert "of heat against" in against
    assert "100 °C" in against


# ------------------------------------------------------------------------------ dividers and shifters


@pytest.mark.parametrize("name", ["raspberry-pi-pico", "esp32-wroom32-30pin", "xiao-esp32s3"])
def test_a_divider_keeps_the_pin_safe_at_its_worst_corner_and_still_reads_high(name: str) -> None:
    # property: V R2 / (R1 + R2) with the lower resistor high, the upper low, supply 5 % high, leakage pushing up
    seen = board(name)
    asks = asks_of(part("ultrasonic-hc-sr04"), "ECHO")
    found = circuit(asks, spot(seen, lambda place: place.pad.input and not place.pad.tolerates_5v), seen)
    upper, lower = piece(found, "upper").value, piece(found, "lower").value
    assert upper is not None
    assert lower is not None
    assert is_e24(upper)
    assert is_e24(lower)
    leak = number(seen.chip.electrical.i_leak_max_a, 1e-6)
    top, bottom = upper * (1 - TOLERANCE), lower * (1 + TOLERANCE)
    highest = 5.25 * bottom / (top + bottom) + leak * top * bottom / (top + bottom)
    assert highest <= seen.chip.electrical.vin_max.at(board_rail(seen).high)
    assert found.checks[0].margin > 0
    assert 5e3 <= upper + lower <= 100e3


def test_a_tolerant_pad_needs_no_divider() -> None:
    # STM32F103 FT pads stand 5 V (data sheet DS5319, table 5)
    seen = board("stm32f103c8-40pin")
    found = circuit(asks_of(part("ultrasonic-hc-sr04"), "ECHO"), spot(seen, lambda place: place.pad.tolerates_5v), seen)
    assert found.of("divider") is None


def test_forty_volts_into_a_converter_are_divided_down() -> None:
    # property: absurd but possible; the worst corner stays below the rail
    seen = board("raspberry-pi-pico")
    body = '[[part]]\nname = "x"\n  [[part.line]]\n  name = "V"\n  direction = "analog-in"\n  signal = "analog"\n  highest = "40 V"\n'
    found = circuit(asks_of(body), spot(seen, measures), seen)
    upper, lower = piece(found, "upper").value or 0.0, piece(found, "lower").value or 0.0
    assert 40.0 * lower * 1.05 / (upper * 0.95 + lower * 1.05) <= board_rail(seen).high
    assert not found.fails


@pytest.mark.parametrize("name", BOARDS)
def test_a_divider_bought_for_a_converter_needs_no_capacitor(name: str) -> None:
    # property: the source looks like R1 parallel to R2; the limit is the chip maker's, or 10 kΩ (common practice, no source)
    seen = board(name)
    asks = asks_of(part("current-sensor-acs712"))
    place = spot(seen, measures)
    found = circuit(asks, place, seen)
    if seen.board.logic_v > 4.5:
        assert found.of("divider") is None  # 5 V into a 5 V converter
        return
    upper, lower = piece(found, "upper").value or 0.0, piece(found, "lower").value or 0.0
    unit = next(each for each in seen.chip.adc if place.pad.adc and each.unit == place.pad.adc.unit)
    limit = number(unit.r_source_max_ohm)
    if limit:
        assert upper * lower / (upper + lower) <= limit
    assert found.of("capacitor") is None


def test_a_low_that_is_too_high_is_told_with_both_figures() -> None:
    # behaviour: 2 V as a low on a 3.3 V pin helps nobody; nothing can be fitted that would
    body = (
        '[[part]]\nname = "x"\n  [[part.line]]\n  name = "OUT"\n  direction = "in"\n  signal = "digital"\n'
        '  gives_high_of = "3.2 V"\n  gives_low_of = "2 V"\n'
    )
    seen = board("raspberry-pi-pico")
    found = circuit(asks_of(body), spot(seen), seen)
    assert len(found.tight) == 1
    assert "2 V" in found.tight[0].words
    assert "VIL of the pin" in found.tight[0].words
    assert found.tight[0].margin < 0


def test_five_volt_highs_pass_on_a_five_volt_board() -> None:
    # behaviour: no element where none is needed
    seen = board("atmega328p-32pin")
    found = circuit(asks_of(part("ultrasonic-hc-sr04"), "ECHO"), spot(seen), seen)
    assert found.elements == ()
    assert found.words == "direct"
    assert all(check.holds for check in found.checks)


def test_a_high_the_part_does_not_take_gets_a_shifter_up() -> None:
    # WS2812B on 5 V wants 0.7 VDD = 3.5 V (data sheet); 3.3 V are too little
    seen = board("raspberry-pi-pico")
    found = circuit(asks_of(part("led-ws2812b"), "DIN"), spot(seen), seen)
    assert found.of("level shifter") is not None
    seen = board("atmega328p-32pin")
    assert circuit(asks_of(part("led-ws2812b"), "DIN"), spot(seen), seen).of("level shifter") is None


def test_a_fixed_level_by_hand() -> None:
    # VOH of the pin against VIH of an invented part at 2.0 V: plain difference at the lowest rail
    seen = board("raspberry-pi-pico")
    asks = replace(asks_of(part("led-red")), load=None, i_in_a=0.0, needs=replace(asks_of(part("led-red")).needs, driver_components=0))
    found = circuit(replace(asks, vih=Level(v=2.0)), spot(seen), seen)
    gives = pin_driver(seen.chip, 0.0).voh.at(board_rail(seen)).low
    check = next(each for each in found.checks if each.what == "high the part reads")
    assert check.margin == pytest.approx(gives - 2.0)


# ------------------------------------------------------------------------------ capacitors at converters


def test_a_weak_source_gets_a_capacitor_and_a_strong_one_does_not() -> None:
    # SAMD21 and ATmega data sheets ask for sources of about 10 kΩ; 1 MΩ is far above anything
    seen = board("atmega328p-32pin")
    asks = replace(asks_of(part("temperature-lm35")), curve=None)
    weak = circuit(replace(asks, r_in_ohm=1e6), spot(seen, measures), seen)
    strong = circuit(replace(asks, r_in_ohm=100.0), spot(seen, measures), seen)
    assert weak.of("capacitor") is not None
    assert "1 MΩ" in weak.of("capacitor").why  # type: ignore[union-attr]
    assert strong.of("capacitor") is None
    assert strong.checks[0].margin > 0


# ------------------------------------------------------------------------------ stock and series


def test_the_stock_comes_first_where_it_fits() -> None:
    # behaviour: docs/brief-keys.md, [stock]
    seen = board("raspberry-pi-pico")
    found = circuit(asks_of(part("led-red")), spot(seen), seen, bench_like(resistors=(333.0, 10e3)))
    assert piece(found, "series").value == 333.0
    assert piece(found, "series").origin == "stock"
    bought = circuit(asks_of(part("led-red")), spot(seen), seen, bench_like(resistors=(1.0, 1e9)))
    assert is_e24(piece(bought, "series").value or 0.0)
    assert piece(bought, "series").origin.startswith("E")


def test_a_divider_takes_both_from_the_stock() -> None:
    # behaviour: 10 kΩ over 15 kΩ makes 3.15 V of 5.25 V
    seen = board("raspberry-pi-pico")
    found = circuit(asks_of(part("ultrasonic-hc-sr04"), "ECHO"), spot(seen), seen, bench_like(resistors=(10e3, 15e3)))
    values = {piece(found, "upper").value, piece(found, "lower").value}
    assert values <= {10e3, 15e3}
    assert piece(found, "upper").origin == "stock"


def test_a_stock_that_would_need_a_capacitor_is_no_bargain() -> None:
    # property: taking an item out of the drawer never makes a circuit of fewer components
    for name in ("stm32f103c8-40pin", "raspberry-pi-pico", "nano-33-iot"):
        seen = board(name)
        asks, place = asks_of(part("current-sensor-acs712")), spot(seen, measures)
        empty = circuit(asks, place, seen).components
        for stock in ((33e3,), (47e3, 33e3), (10e3, 47e3), (1.0,), (1e9,)):
            assert circuit(asks, place, seen, bench_like(resistors=stock)).components <= empty, (name, stock)


@pytest.mark.parametrize(
    "kind", ["led-red", "solenoid-12v", "buzzer-active", "push-button-momentary", "ultrasonic-hc-sr04", "ir-led-sender"]
)
def test_less_in_the_drawer_never_makes_fewer_components(kind: str) -> None:
    # property
    full = (100.0, 330.0, 470.0, 1e3, 2.2e3, 4.7e3, 10e3, 22e3, 47e3, 100e3)
    seen = board("raspberry-pi-pico")
    asks = asks_of(part(kind, 'wire = "2 m"'))
    whole = circuit(asks, spot(seen), seen, bench_like(resistors=full)).components
    for gone in range(len(full)):
        left = (*full[:gone], *full[gone + 1 :])
        assert circuit(asks, spot(seen), seen, bench_like(resistors=left)).components >= whole


def test_every_window_of_the_catalogue_holds_its_value() -> None:
    # property: every kind on three boards; what was chosen (not asked for) lies in its window, and no number is infinite
    counted = 0
    for name in ("raspberry-pi-pico", "atmega328p-32pin", "esp32-wroom32-30pin"):
        seen = board(name)
        for kind in job_of(part("led-red")).catalogue.parts.values():
            if not kind.line:
                continue
            lines = [each for device in job_of(part(kind.id)).nets.devices for each in device.lines]
            for line in lines:
                place = spot(seen, measures) if line.asks.signal == "analog" else spot(seen, lambda each: each.pad.output)
                found = circuit(line.asks, place, seen)
                for element in found.elements:
                    for each in element.pieces:
                        if each.value is None:
                            continue
                        assert math.isfinite(each.value)
                        assert each.value > 0
                        if each.window is not None and each.origin not in ("as asked", "usual"):
                            counted += 1
                            assert each.value in each.window, (kind.id, line.name, each)
                assert all(math.isfinite(check.margin) for check in found.checks)
    assert counted > 20


# ------------------------------------------------------------------------------ where a divider or a pull is not enough


def test_a_resistance_in_the_part_counts_with_the_divider() -> None:
    # property: 10 kΩ in series with 5 V; the divided low end of the high must still pass VIH, or a shifter takes its place
    seen = board("raspberry-pi-pico")
    asks = replace(asks_of(part("ultrasonic-hc-sr04"), "ECHO"), signal="digital")
    for own in (0.0, 1e3, 10e3, 1e6):
        found = circuit(replace(asks, r_in_ohm=own), spot(seen), seen)
        if found.of("divider") is None:
            assert found.of("level shifter") is not None
            assert own > 1e3
            continue
        upper, lower = piece(found, "upper").value or 0.0, piece(found, "lower").value or 0.0
        level = asks.voh or asks.v_max
        assert level is not None
        lowest = level.at(5.0 * (0.95 if level.frac else 1.0)) * lower * 0.95 / (upper * 1.05 + own + lower * 0.95)
        assert lowest > seen.chip.electrical.vih_min.at(3.3) * 0.97
        assert found.checks[0].holds


def test_an_open_wire_that_rests_too_low_for_the_part_gets_a_shifter() -> None:
    # 24LC512 at 5 V wants 0.7 VDD = 3.5 V (data sheet); a pull-up to 3.3 V makes 3.3 V
    seen = board("raspberry-pi-pico")
    asks = replace(asks_of(part("eeprom-24lc512", 'supply = "5 V"'), "SDA"), pull_fitted=None)
    found = circuit(asks, spot(seen), seen)
    assert found.of("level shifter") is not None
    assert "what the part wants" in found.elements[0].why
    alike = replace(asks_of(part("eeprom-24lc512"), "SDA"), pull_fitted=None)
    assert circuit(alike, spot(seen), seen).of("level shifter") is None


@pytest.mark.parametrize("name", BOARDS)
def test_a_pin_loses_in_proportion_below_and_beyond_the_load_of_its_data_sheet(name: str) -> None:
    # property of a MOS output, a resistor to its rail (common practice, no source)
    high = pin_high(board(name))
    if high.at_a is None:
        return
    lost = [high.rail.low - high.at(share * high.at_a).low for share in (0.5, 1.0, 1.5)]
    assert lost[0] == pytest.approx(lost[1] / 2)
    assert lost[2] == pytest.approx(lost[1] * 1.5)
