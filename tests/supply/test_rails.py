"""Where the source meets the board, and what its regulators must carry, drop and burn.   Sources: Ohm's law, P = U I."""

from __future__ import annotations

import pytest
from supply_rig import LED, awake, catalogue, found, known_catalogue, linear, supplied, way_in, words

NANO = "nano-33-iot"
PICO = "raspberry-pi-pico"


def nano(volts: str, i_chip_a: float, more: str = "", **regulator: object):  # type: ignore[no-untyped-def]
    """A 3.3 V board with one invented regulator on VIN (4 to 15 V)."""
    facts = known_catalogue(NANO, awake(i_chip_a), supply=(way_in("VIN", 4.0, 15.0),), regulator=(linear("VIN", "3V3", 3.3, **regulator),))
    return supplied(f'[supply]\nsource = "adapter"\nvoltage = "{volts}"\ncurrent = "2 A"\n{more}\n' + LED, NANO, facts)


def test_the_heat_of_a_linear_regulator_by_hand() -> None:
    # oracle: P = (Vin - Vout) I + Vin Iq, at the adapter's 5 % high; T = 40 °C + 100 K/W P
    report = nano("9 V", 0.1)
    stage = report.stages[0]
    i_a = report.rails["logic"].awake
    p_w = (9.45 - 3.3) * (i_a + 1e-3) + 9.45 * 1e-3
    assert stage.p_w == pytest.approx(p_w, rel=0.02)  # whether its own current passes the drop too is a matter of a percent
    assert stage.junction_c == pytest.approx(40.0 + 100.0 * stage.p_w)


def test_warmer_surroundings_never_cool_a_regulator() -> None:
    # property; 100 K/W on top of the surroundings
    hot = [nano("9 V", 0.1, f'[use]\nambient = ["0 degC", "{t} degC"]').stages[0].junction_c for t in (20, 40, 60, 80)]
    assert hot == sorted(hot)
    assert hot[3] - hot[0] == pytest.approx(60.0)


def test_more_current_and_more_voltage_never_cool_a_regulator() -> None:
    # property
    by_current = [nano("9 V", i_a).stages[0].junction_c for i_a in (0.01, 0.05, 0.1, 0.2)]
    by_volts = [nano(volts, 0.1).stages[0].junction_c for volts in ("5 V", "9 V", "12 V", "14 V")]
    assert by_current == sorted(by_current)
    assert by_volts == sorted(by_volts)


def test_a_regulator_too_hot_is_told_with_its_temperature() -> None:
    # 12 V and 150 mA: (12.6 - 3.3) 0.15 = 1.4 W, 140 K above 40 °C
    said = words(found(nano("12 V", 0.15), "supply-heat"))
    assert "125 °C is the most" in said
    assert "1.4" in said
    assert found(nano("5 V", 0.05), "supply-heat") == []


def test_a_regulator_asked_for_too_much_is_refused_awake_and_cautioned_in_a_burst() -> None:
    refused = found(nano("5 V", 0.6), "supply-regulator")
    assert [f.severity for f in refused] == ["refuse"]
    assert "500 mA" in words(refused)
    facts = known_catalogue(NANO, awake(0.1, 0.6), supply=(way_in("VIN", 4.0, 15.0),), regulator=(linear("VIN", "3V3", 3.3),))
    burst = found(supplied('[supply]\nsource = "adapter"\nvoltage = "5 V"\n' + LED, NANO, facts), "supply-regulator")
    assert [f.severity for f in burst] == ["caution"]
    assert found(nano("5 V", 0.1), "supply-regulator") == []


def test_three_alkaline_cells_sag_below_a_regulator() -> None:
    # 3 x 0.9 V at the end (common practice, no source) is 2.7 V; 3.3 V and 0.3 V of dropout need 3.6 V: 0.9 V short
    facts = known_catalogue(NANO, awake(0.02), supply=(way_in("VIN", 3.0, 15.0),), regulator=(linear("VIN", "3V3", 3.3),))
    report = supplied('[supply]\nsource = "battery"\ncells = 3\n' + LED, NANO, facts)
    low = report.source.v.low
    assert report.stages[0].headroom_v == pytest.approx(low - 3.3 - 0.3)
    said = words(found(report, "supply-headroom"))
    assert "needs 3.6 V" in said
    assert f"falls to {low:.3g} V" in said
    assert found(nano("5 V", 0.05), "supply-headroom") == []


def test_a_diode_before_the_regulator_costs_headroom() -> None:
    # oracle: the drop comes off the input
    assert nano("5 V", 0.05).stages[0].headroom_v - nano("5 V", 0.05, drop_v=0.4).stages[0].headroom_v == pytest.approx(0.4)  # type: ignore[operator]


def test_a_wire_costs_headroom_and_a_longer_one_more() -> None:
    # property: V = I R there and back, until a thicker wire keeps 3 % of 5 V (common practice, no source)
    drops = [nano("5 V", 0.3, f'wire = "{metres} m"').wire_drop_v for metres in (0, 1, 5, 20)]
    assert drops[0] == 0.0
    assert drops[:3] == sorted(drops[:3])
    assert max(drops) <= 0.03 * 5
    near, far = nano("5 V", 0.3, 'wire = "1 m"'), nano("5 V", 0.3, 'wire = "20 m"')
    assert near.stages[0].headroom_v > far.stages[0].headroom_v  # type: ignore[operator]


def test_a_switching_regulator_takes_less_than_it_gives() -> None:
    # oracle: I_in = V_out I_out / (efficiency V_in), at the lowest input
    report = nano("12 V", 0.2, efficiency=0.8, dropout_v=None, i_quiescent_a=None)
    i_out = report.rails["logic"].awake
    assert report.draw.awake == pytest.approx(3.3 * i_out / (0.8 * 11.4))
    assert report.stages[0].p_w == pytest.approx(3.3 * i_out * (1 / 0.8 - 1))


def test_twelve_volts_on_a_five_volt_pin_are_not_let_in() -> None:
    # Raspberry Pi Pico: VSYS takes 5.5 V at most (its data sheet, as the catalogue cites it)
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "2 A"\n' + LED, PICO)
    assert report.entry.supply is None
    entry = found(report, "supply-entry")
    assert [f.severity for f in entry] == ["refuse"]  # more than a tenth above everything it takes
    assert "11.4 to 12.6 V" in words(entry)
    assert "buck module" in entry[0].fix
    assert found(supplied('[supply]\nsource = "adapter"\nvoltage = "5 V"\n' + LED, PICO), "supply-entry") == []


@pytest.mark.parametrize("name", sorted(catalogue().boards))
def test_no_board_lets_in_more_than_its_pin_stands(name: str) -> None:
    # property: wherever a source is let in, its nominal voltage lies within the pin's, its highest at most 6 % above (our choice)
    for volts in ("3 V", "5 V", "9 V", "12 V", "24 V", "48 V"):
        report = supplied(f'[supply]\nsource = "adapter"\nvoltage = "{volts}"\n[use]\nconsole = "free"\n' + LED, name)
        if report.entry.supply is not None:
            assert report.source.v.high <= (report.entry.supply.v_max_v or 0.0) * 1.06, (name, volts)
            assert report.source.v.middle <= (report.entry.supply.v_max_v or 0.0), (name, volts)


def test_usb_goes_to_the_socket() -> None:
    for name in ("raspberry-pi-pico", "atmega328p-32pin", "esp32c3-mini16-clone"):
        assert supplied('[supply]\nsource = "usb"\n' + LED, name).entry.pin == "USB"


def test_three_alkaline_cells_go_where_they_may_run_down() -> None:
    # 2.7 to 4.8 V: VSYS of the Pico W takes 1.8 to 5.5 V, its 5 V pin 4.5 to 5.5 V (its data sheet, as the catalogue cites it)
    assert supplied('[supply]\nsource = "battery"\ncells = 3\n' + LED, "raspberry-pi-pico-w").entry.pin == "VSYS"


def test_a_nominal_twelve_volts_fits_a_pin_up_to_twelve_and_its_heat_is_worked_out() -> None:
    # 7 to 12 V at VIN (the catalogue); P = (12.6 - 5) I + 12.6 Iq at the adapter's 5 % high
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "1 A"\n' + LED, "atmega328p-32pin")
    assert report.entry.pin == "VIN"
    stage, own_a = report.stages[0], 0.006
    assert stage.p_w == pytest.approx((12.6 - 5.0) * stage.draw.awake + 12.6 * own_a)
    assert stage.junction_c is not None


def test_a_charger_with_a_usb_plug_feeds_a_board_with_no_other_way_in() -> None:
    # behaviour: a board fed by its socket or a lithium cell only
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "5 V"\n' + LED, "feather-rp2040")
    assert report.entry.pin == "USB"
    assert found(report, "supply-entry") == []
    assert supplied('[supply]\nsource = "adapter"\nkind = "usb-charger-5v"\n' + LED, PICO).entry.pin == "USB"


@pytest.mark.parametrize(("volts", "severity"), [("24 V", "refuse"), ("12.5 V", "caution"), ("3 V", "caution")])
def test_what_destroys_a_board_is_refused_and_what_does_not_is_cautioned(volts: str, severity: str) -> None:
    # 7 to 12 V at VIN is the highest way in (the catalogue): more than a tenth above is lost (our choice)
    report = supplied(f'[supply]\nsource = "adapter"\nvoltage = "{volts}"\n' + LED, "atmega328p-32pin")
    assert [f.severity for f in found(report, "supply-entry")] == [severity]


def test_every_term_of_a_headroom_is_printed_and_adds_up() -> None:
    # oracle: 4.5 V at the end of a USB cable (USB 2.0, 7.2.2, from memory), less 0.4 V of diode: 4.1 V against 3.3 V and 1 V
    facts = known_catalogue(NANO, awake(0.02), regulator=(linear("USB", "3V3", 3.3, drop_v=0.4, dropout_v=1.0),))
    report = supplied('[supply]\nsource = "usb"\n' + LED, NANO, facts)
    headroom = found(report, "supply-headroom")
    said = words(headroom)
    assert report.stages[0].headroom_v == pytest.approx(4.5 - 0.4 - 3.3 - 1.0)
    for term in ("needs 4.3 V", "falls to 4.5 V", "400 mV in the diode", "4.1 V arrive", "rail falls to 3.1 V", "works from 1.62 V"):
        assert term in said, term
    assert [f.severity for f in headroom] == ["note"]  # the chip works on (its lowest supply as the catalogue cites it)


def test_a_rail_below_what_the_chip_needs_is_more_than_a_note() -> None:
    # 4.5 V less 0.4 V and 1.3 V leave 2.8 V; the chip works from 3 V (its data sheet, as the catalogue cites it)
    board = "esp32-wroom32-30pin"
    facts = known_catalogue(board, awake(0.02), regulator=(linear("USB", "3V3", 3.3, drop_v=0.4, dropout_v=1.3),))
    assert [f.severity for f in found(supplied(LED, board, facts), "supply-headroom")] == ["caution"]


def test_a_low_power_port_counts_where_the_brief_names_it() -> None:
    # 4.4 V at a low-power port (USB 2.0, 7.2.2, from memory)
    named = supplied('[supply]\nsource = "usb"\nkind = "usb-port-2v0"\n' + LED, PICO)
    assert (named.source.v.low, supplied(LED, PICO).source.v.low) == (4.4, 4.5)


def test_a_source_never_enters_past_the_regulator() -> None:
    # The maker's drawing of the board: RAW leads to the regulator, VCC is its 3.3 V output; 5 V at VCC would move every level of the plan.
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "5 V"\ncurrent = "1 A"\n' + LED, "atmega328p-3v3-8mhz-narrow")
    assert report.entry.pin == "VIN"
    near = supplied('[supply]\nsource = "adapter"\nvoltage = "3.3 V"\ncurrent = "1 A"\n' + LED, "atmega328p-3v3-8mhz-narrow")
    assert near.entry.pin == "3V3"
