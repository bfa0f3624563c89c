"""What does not hold is found, by how much, and with what helps.   Sources beside each number."""

from __future__ import annotations

import pytest
from supply_rig import LED, awake, found, known_catalogue, linear, supplied, way_in, words

from pinwright.facts.model import StateCurrent
from pinwright.supply.findings import SUPPLY_RULES

ESP = "esp32-wroom32-30pin"
STRIP = '[[part]]\nname = "strip"\nkind = "led-strip-12v-dimming"\n'


def esp(supply: str, listen_a: float, send_a: float):  # type: ignore[no-untyped-def]
    """A board with a radio of invented currents on a 5 V pin, one regulator of 2 A."""
    radio = (StateCurrent(state="radio-listen", typ_a=listen_a, radio="wifi"), StateCurrent(state="radio-send", max_a=send_a, radio="wifi"))
    facts = known_catalogue(
        ESP, awake(0.03), *radio, supply=(way_in("VIN", 2.5, 6.0),),
        regulator=(linear("VIN", "3V3", 3.3, i_max_a=2.0, theta_k_per_w=None, i_quiescent_a=None),),
    )  # fmt: skip
    return supplied(f'[supply]\n{supply}\n[use]\nradio = "wifi"\n' + LED, ESP, facts)


def test_a_burst_beyond_the_source_is_cautioned_and_steady_current_refused() -> None:
    # conservation: 0.45 A and the LED's 5 mA against 0.3 A
    burst = found(esp('source = "adapter"\nvoltage = "5 V"\ncurrent = "300 mA"', 0.08, 0.45), "supply-source")
    assert [f.severity for f in burst] == ["caution"]
    assert "455 mA" in words(burst)
    assert "300 mA" in words(burst)
    assert "capacitor" in burst[0].fix
    steady = found(esp('source = "adapter"\nvoltage = "5 V"\ncurrent = "50 mA"', 0.08, 0.45), "supply-source")
    assert [f.severity for f in steady] == ["refuse"]
    assert found(esp('source = "adapter"\nvoltage = "5 V"\ncurrent = "1 A"', 0.08, 0.45), "supply-source") == []


def test_the_capacitor_for_a_burst_by_hand() -> None:
    # C = I t / dV: 155 mA lacking, 5 ms, 0.3 V (common practice, no source) are 2.6 mF
    burst = found(esp('source = "adapter"\nvoltage = "5 V"\ncurrent = "300 mA"', 0.08, 0.45), "supply-source")
    farads = 0.155 * 5e-3 / 0.3
    assert f"{farads * 1e3:.2f} mF" in burst[0].fix


def test_a_source_of_no_current_at_all_is_refused() -> None:
    refused = found(esp('source = "adapter"\nvoltage = "5 V"\ncurrent = "0 A"', 0.08, 0.45), "supply-source")
    assert not refused or refused[0].severity == "refuse"


def test_a_coin_cell_under_a_radio_sags_to_nothing_and_says_so() -> None:
    # A 20 mm coin cell has 10 to 40 Ω (common practice, no source): 0.45 A would drop more than its whole voltage; once a traceback
    said = words(found(esp('source = "battery"\nkind = "cell-cr2032"', 0.08, 0.45), "supply-sag"))
    assert "in the battery itself" in said
    assert "leaves 0 V" in said


def test_cells_that_hold_do_not_sag() -> None:
    assert found(esp('source = "lithium cell"\nvoltage = "3.7 V"', 0.01, 0.02), "supply-sag") == [] or "leaves 3." in words(
        found(esp('source = "lithium cell"\nvoltage = "3.7 V"', 0.01, 0.02), "supply-sag")
    )


def test_a_strong_feed_gets_a_fuse_between_load_and_wire() -> None:
    # 1.25 times the steady current at least (common practice, no source): 2 A ask 2.5 A, blade fuses come as 3 A (ISO 8820-3, from memory)
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "5 A"\n' + STRIP, "atmega328p-32pin")
    fuses = found(report, "supply-fuse")
    assert len(fuses) == 1
    assert "Fuse it with 3 A" in fuses[0].fix
    assert "from 2.5 A" in words(fuses)
    assert "local code" in fuses[0].fix
    assert found(supplied(LED, "atmega328p-32pin"), "supply-fuse") == []


def test_a_feed_beyond_every_fuse_is_answered() -> None:
    body = STRIP.replace('dimming"\n', 'dimming"\ncurrent = "50 A"\n')
    fuses = found(supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "90 A"\n' + body, "atmega328p-32pin"), "supply-fuse")
    assert len(fuses) == 1
    assert "50 A" in words(fuses)


def test_a_rail_nobody_gives_is_asked_for_with_a_quarter_to_spare() -> None:
    # 12 V strip on a USB device; its 2 A and a quarter (common practice, no source) are 2.5 A
    rails = found(supplied('[supply]\nsource = "usb"\n' + STRIP, "raspberry-pi-pico"), "supply-rail")
    assert len(rails) == 1
    assert "strip runs at 12 V" in words(rails)
    assert "at least 2.5 A" in rails[0].fix
    assert "ground joined" in rails[0].fix


def test_twelve_volts_for_board_and_strip_need_no_other_rail() -> None:
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "5 A"\n' + STRIP, "atmega328p-32pin")
    assert report.others == ()
    assert report.draw.awake >= 2.0


def test_a_long_thin_feed_is_cautioned_with_its_loss() -> None:
    # property: the drop is given and exceeds 3 % of the voltage (common practice, no source)
    report = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "5 A"\nwire = "20 m"\n' + STRIP, "atmega328p-32pin")
    wires = found(report, "supply-wire")
    assert len(wires) == 1
    assert report.wire_drop_v > 0.03 * 12
    assert report.wire in words(wires)
    short = supplied('[supply]\nsource = "adapter"\nvoltage = "12 V"\ncurrent = "5 A"\nwire = "20 cm"\n' + STRIP, "atmega328p-32pin")
    assert found(short, "supply-wire") == []


@pytest.mark.parametrize(
    "supply",
    ['source = "usb"', 'source = "adapter"\nvoltage = "12 V"\ncurrent = "1 A"', 'source = "battery"\ncells = 3', 'source = "lithium cell"'],
)
def test_every_finding_has_a_reason_a_number_or_a_way_out(supply: str) -> None:
    # behaviour: no bare refusal (CONTRIBUTING.md); every rule is documented
    for board in ("raspberry-pi-pico", "atmega328p-32pin", ESP, "attiny85-dip8"):
        for finding in supplied(f"[supply]\n{supply}\n" + STRIP + LED, board).findings:
            assert finding.rule in SUPPLY_RULES
            assert all(finding.because), finding
            assert finding.fix
            assert finding.sources
