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
    # property: V = I R there and back
    drops = [nano("5 V", 0.3, f'wire = "{metres} m"').wire_drop_v for metres in (0, 1, 5, 20)]
    assert drops[0] == 0.0
    assert drops == sorted(drops)
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
    assert entry[0].severity in ("caution", "refuse")
    assert "11.4 to 12.6 V" in words(entry)
    assert "regulator" in entry[0].fix
    assert found(supplied('[supply]\nsource = "adapter"\nvoltage = "5 V"\n' + LED, PICO), "supply-entry") == []


@pytest.mark.parametrize("name", sorted(catalogue().boards))
def test_no_board_lets_in_more_than_its_pin_stands(name: str) -> None:
    # property: wherever a source is let in, its highest voltage lies within the pin's (2 % for rounding)
    for volts in ("3 V", "5 V", "9 V", "12 V", "24 V", "48 V"):
        report = supplied(f'[supply]\nsource = "adapter"\nvoltage = "{volts}"\n[use]\nconsole = "free"\n' + LED, name)
        if report.entry.supply is not None:
            assert report.source.v.high <= (report.entry.supply.v_max_v or 0.0) * 1.02, (name, volts)


def test_usb_goes_to_the_socket() -> None:
    for name in ("raspberry-pi-pico", "atmega328p-32pin", "esp32c3-mini16-clone"):
        assert supplied('[supply]\nsource = "usb"\n' + LED, name).entry.pin == "USB"
