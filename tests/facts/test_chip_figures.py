"""Figures of the chips that supply budgets and analog chains calculate with: complete, sane, and as published.

Bounds without a named source are common practice and wide on purpose: they catch a wrong unit or a slipped
digit, not a wrong last digit.
"""

from __future__ import annotations

import itertools
import math

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import AdcUnit, Chip, Fact, StateCurrent

CATALOGUE = load_catalogue()
CHIPS = sorted(CATALOGUE.chips.values(), key=lambda chip: chip.part)
UNITS = [(chip, unit) for chip in CHIPS for unit in chip.adc]
CURRENTS = [(chip, current) for chip in CHIPS for current in chip.current]

each_chip = pytest.mark.parametrize("chip", CHIPS, ids=lambda chip: chip.part)
each_unit = pytest.mark.parametrize(("chip", "unit"), UNITS, ids=[f"{chip.part}-{unit.unit}" for chip, unit in UNITS])
each_current = pytest.mark.parametrize(
    ("chip", "current"), CURRENTS, ids=[f"{chip.part}-{current.state}{current.radio and '-'}{current.radio}" for chip, current in CURRENTS]
)


def usual(current: StateCurrent) -> float:
    """Typical current [A]; the largest where no typical one is published."""
    value = current.typ_a if current.typ_a is not None else current.max_a
    assert value is not None
    return value


def largest(current: StateCurrent) -> float:
    """Largest current [A]; the typical one where no other is published."""
    value = current.max_a if current.max_a is not None else current.typ_a
    assert value is not None
    return value


def state(chip: Chip, name: str, radio: str = "") -> StateCurrent:
    """The one entry of a state."""
    (found,) = (current for current in chip.current if (current.state, current.radio) == (name, radio))
    return found


def number(fact: Fact | None) -> float:
    """The figure to calculate with."""
    assert fact is not None
    assert fact.value is not None
    return fact.value


# ------------------------------------------------------------------------------ supply currents


@each_chip
def test_states_a_supply_budget_needs(chip: Chip) -> None:
    # behaviour: a battery budget adds up awake and asleep; a radio is either listening or sending
    states = [(current.state, current.radio) for current in chip.current if not (current.state == "light-sleep" and current.radio)]
    assert len(states) == len(set(states))
    assert {("awake", ""), ("deep-sleep", "")} <= set(states)
    radios = {(name, radio) for radio in chip.radio for name in ("radio-listen", "radio-send")}
    assert {entry for entry in states if entry[0].startswith("radio")} == radios


@each_current
def test_current_is_a_current(chip: Chip, current: StateCurrent) -> None:
    # common practice, no source: no chip here sleeps below 0.1 µA or draws 1 A
    assert 1e-7 < usual(current) <= largest(current) < 1.0
    assert current.src
    assert current.where
    assert current.cond


@each_chip
def test_awake_says_clock_and_supply(chip: Chip) -> None:
    # behaviour: a current without its clock and voltage cannot be scaled
    cond = state(chip, "awake").cond
    assert "MHz" in cond
    assert " V" in cond


@each_chip
def test_deeper_sleep_takes_less(chip: Chip) -> None:
    # property: each state switches off what the one above it had on
    light = [current for current in chip.current if current.state == "light-sleep"]
    for measure in (usual, largest):
        ladder = [measure(state(chip, "deep-sleep")), *(measure(current) for current in light), measure(state(chip, "awake"))]
        assert all(below < above for below, above in itertools.pairwise(ladder)), ladder


@each_chip
def test_sending_takes_most(chip: Chip) -> None:
    # property: the power amplifier comes on top of what the chip draws without radio, and beats the receiver at its worst
    for radio in chip.radio:
        send, listen = state(chip, "radio-send", radio), state(chip, "radio-listen", radio)
        assert usual(send) > usual(state(chip, "awake"))
        assert largest(send) > largest(state(chip, "awake"))
        assert largest(send) > largest(listen) > 0.0
        assert usual(listen) > usual(state(chip, "awake"))


BURSTS = {
    # IEEE 802.11b: 192 µs long preamble, then 1536 octets (1500 of payload) at 1 Mbit/s; lengths from memory
    "wifi": 192e-6 + 1536 * 8 / 1e6,
    # Bluetooth Core Specification, LE 1M: 2120 µs is the longest packet time; from memory
    "ble": 2120e-6,
    # Bluetooth Core Specification, BR: a packet in five slots of 625 µs keeps on for 2870 bits at 1 Mbit/s; from memory
    "bluetooth-classic": 2870e-6,
    # IEEE 802.15.4: 6 octets ahead of at most 127, at 250 kbit/s; from memory
    "802.15.4": (6 + 127) * 8 / 250e3,
}
"""How long each radio sends at a time, at most [s]."""


@each_current
def test_burst_is_the_longest_frame(chip: Chip, current: StateCurrent) -> None:
    if current.state == "radio-send":
        assert current.burst_s == pytest.approx(BURSTS[current.radio], rel=0.005)
    else:
        assert current.burst_s is None


# ------------------------------------------------------------------------------ outputs, supervisor


@each_chip
def test_level_and_its_load_fit_together(chip: Chip) -> None:
    # common practice, no source: a pad of 0.1 to 50 mA, and 10 Ω to 1 kΩ behind its level
    electrical = chip.electrical
    supply_v = number(electrical.vdd_typ_v)
    high_a, low_a = number(electrical.voh_i_a), number(electrical.vol_i_a)
    assert 1e-4 <= high_a <= 50e-3
    assert 1e-4 <= low_a <= 50e-3
    rail_v = 3.3 if "IOVDD 3.3 V" in electrical.voh_min.cond else supply_v
    assert 10 < (rail_v - electrical.voh_min.at(rail_v)) / high_a < 1000
    assert 10 < electrical.vol_max.at(rail_v) / low_a < 1000


@each_chip
def test_level_is_not_promised_beyond_the_pad_current(chip: Chip) -> None:
    # property: the maker cannot promise a level at a load it does not allow
    electrical = chip.electrical
    assert number(electrical.voh_i_a) <= number(electrical.i_pin_source_max_a)
    assert number(electrical.vol_i_a) <= number(electrical.i_pin_sink_max_a)


@each_chip
def test_pad_capacitance(chip: Chip) -> None:
    # common practice, no source: bond pad, clamp and package make 1 to 15 pF; where nobody says, the sheet says so
    known = chip.electrical.c_in_f
    if known is None:
        assert any("pad capacitance" in entry for entry in chip.unknown)
    else:
        assert 1e-12 <= number(known) <= 15e-12


@each_chip
def test_supervisor_resets_at_its_highest_level(chip: Chip) -> None:
    # property: a supply dip is safe only above the highest level at which any copy of the chip may reset
    level = chip.electrical.brownout_v
    if level is None:
        assert any("brown-out" in entry for entry in chip.unknown)
    elif level.value is None:
        assert level.text
    else:
        assert 1.5 < level.value < 3.0
        assert level.max in (None, level.value)
        assert level.value >= (level.typ or 0.0)


@pytest.mark.parametrize("board", CATALOGUE.boards.values(), ids=lambda board: board.id)
def test_supervisor_lets_the_board_run(board: object) -> None:
    # common practice, no source: a rail is within 5 %, and must not reset the chip there
    level = CATALOGUE.chips[board.chip].electrical.brownout_v  # type: ignore[attr-defined]
    if level is not None and level.value is not None:
        assert level.value < 0.95 * board.logic_v  # type: ignore[attr-defined]


# ------------------------------------------------------------------------------ converters

# common practice, no source: wide bounds that catch a wrong unit
ADC_BOUNDS = {
    "c_sample_f": (1e-12, 40e-12),  # small enough to charge through kilohms, large enough to drown the noise of a switch
    "r_sample_ohm": (100.0, 100e3),  # a transmission gate; 100 kΩ is the largest printed (ATmega328P, section 28.6.1)
    "t_sample_s": (100e-9, 1e-3),  # faster is a fast converter, slower would be no 1 kS/s any more
    "r_source_max_ohm": (100.0, 1e6),  # 800 kΩ is the largest printed (Nordic, 40 µs)
    "offset_v": (1e-4, 50e-3),
    "gain_error": (1e-4, 0.05),
    "reference_error": (1e-3, 0.15),  # ±1 % for half the supply, ±9 % for an untrimmed inner reference
}
"""Least and most of each figure of a converter."""


@each_unit
def test_adc_figures_have_the_right_size(chip: Chip, unit: AdcUnit) -> None:
    for name, (least, most) in ADC_BOUNDS.items():
        fact: Fact | None = getattr(unit, name)
        if fact is not None:
            said = [value for value in (fact.value, fact.typ, fact.max) if value is not None]
            assert said, name
            assert all(least <= value <= most for value in said), name
    if unit.inl_lsb is not None:  # common practice: the curve bends by less than half a percent of its span
        assert 0 < number(unit.inl_lsb) / 2**unit.bits < 0.005


WHOLE_INPUTS = [(chip, unit) for chip, unit in UNITS if unit.r_source_max_ohm and unit.c_sample_f and unit.t_sample_s]


def test_enough_inputs_are_known_whole() -> None:
    # regression, frozen: four AVR, two STM32 and the nRF52840; fewer means that figures got lost
    assert len(WHOLE_INPUTS) >= 7


@pytest.mark.parametrize(("chip", "unit"), WHOLE_INPUTS, ids=[chip.part for chip, _ in WHOLE_INPUTS])
def test_source_limit_agrees_with_sampling_time(chip: Chip, unit: AdcUnit) -> None:
    # oracle: first-order settling. Through the largest source allowed the capacitor must come within one step, so the sampling
    # time holds ln(2^bits) time constants of (source + switch) x capacitor
    switch_ohm = unit.r_sample_ohm.value or 0.0 if unit.r_sample_ohm else 0.0
    tau_s = (number(unit.r_source_max_ohm) + switch_ohm) * number(unit.c_sample_f)
    assert number(unit.t_sample_s) > math.log(2**unit.bits) * tau_s


@each_chip
def test_what_the_converter_lacks_is_called_unknown(chip: Chip) -> None:
    # behaviour: what nobody knows is listed, never silently absent
    usable = [unit for unit in chip.adc if unit.c_sample_f is None or unit.t_sample_s is None]
    if usable:
        assert any("sampl" in entry or "acquisition" in entry for entry in chip.unknown)


# ------------------------------------------------------------------------------ published values

PUBLISHED_CURRENTS = [
    # ESP32 data sheet, tables of current by radio mode and by power mode, as repeated by a board maker: 240 mA at 19.5 dBm; 10 µA
    ("ESP32", "radio-send", "wifi", "typ_a", 0.240),
    ("ESP32", "deep-sleep", "", "typ_a", 10e-6),
    ("ESP32", "awake", "", "max_a", 0.068),
    # ESP32-S2-SOLO-2 data sheet v1.3: 320 mA
    ("ESP32-S2", "radio-send", "wifi", "max_a", 0.320),
    # ESP32-S3 data sheet v2.2, Tables 5-7, 5-9 and 5-10
    ("ESP32-S3", "radio-send", "wifi", "max_a", 0.340),
    ("ESP32-S3", "awake", "", "max_a", 0.1079),
    ("ESP32-S3", "deep-sleep", "", "typ_a", 7e-6),
    # ESP32-C3 data sheet v2.4, Tables 5-7 and 5-9
    ("ESP32-C3", "radio-send", "wifi", "max_a", 0.335),
    ("ESP32-C3", "deep-sleep", "", "typ_a", 5e-6),
    # ESP32-C6 data sheet v1.5, Tables 5-7 and 5-9
    ("ESP32-C6", "radio-send", "wifi", "max_a", 0.354),
    ("ESP32-C6", "radio-send", "802.15.4", "max_a", 0.305),
    # ESP32-H2 data sheet v1.3, Table 5-6
    ("ESP32-H2", "radio-send", "ble", "max_a", 0.140),
    # ESP8266 data sheet, older edition: 215 mA at 19.5 dBm; ESP8266EX data sheet 2020-10, Table 3-4: 20 µA
    ("ESP8266EX", "radio-send", "wifi", "typ_a", 0.215),
    ("ESP8266EX", "deep-sleep", "", "typ_a", 20e-6),
    # nRF52840 Product Specification, online edition: IRADIO_TX1, IRADIO_RX0, IRADIO_RX1
    ("nRF52840", "radio-send", "ble", "typ_a", 6.40e-3),
    ("nRF52840", "radio-listen", "ble", "typ_a", 6.26e-3),
    ("nRF52840", "radio-listen", "ble", "max_a", 10.10e-3),
    # ATmega328/P data sheet 42735A, Table 32-4: 4.2 µA typical, 8 µA at most; 9.0 mA at 8 MHz and 5 V, twice that at 16 MHz
    ("ATmega328P", "deep-sleep", "", "max_a", 8e-6),
    ("ATmega328P", "awake", "", "max_a", 2 * 9.0e-3),
    # ATmega640/2560 data sheet, section 31.1: 14 mA at 8 MHz and 5 V
    ("ATmega2560", "awake", "", "max_a", 2 * 14e-3),
    # ATmega32U4 data sheet 7766F, p. 379: 15 mA at 8 MHz and 5 V
    ("ATmega32U4", "awake", "", "max_a", 2 * 15e-3),
    # ATtiny85 data sheet 2586Q, Table 21-1: 8 mA at 8 MHz and 5 V; 10 µA with watchdog
    ("ATtiny85", "awake", "", "max_a", 8e-3),
    ("ATtiny85", "deep-sleep", "", "max_a", 10e-6),
    # RP2040 data sheet, Table 637: DORMANT 0.18 mA, 4.2 mA at most
    ("RP2040", "deep-sleep", "", "max_a", 4.2e-3),
    # RP2350 data sheet, Table 1445: 188 µW in P1.7, at 3.3 V
    ("RP2350A", "deep-sleep", "", "typ_a", 188e-6 / 3.3),
    # SAM D21 data sheet, 40.7: program that computes, 4.6 mA at 25 °C
    ("SAMD21G18", "awake", "", "typ_a", 4.6e-3),
    # STM32F103x8 data sheet Rev 17, Table 13: 50 mA at 72 MHz; STM32F411xE data sheet Rev 8, Table 25: 34.5 mA at 100 MHz
    ("STM32F103C8", "awake", "", "max_a", 50e-3),
    ("STM32F411CE", "awake", "", "max_a", 34.5e-3),
]


@pytest.mark.parametrize(("part", "name", "radio", "key", "published_a"), PUBLISHED_CURRENTS)
def test_published_current(part: str, name: str, radio: str, key: str, published_a: float) -> None:
    assert getattr(state(CATALOGUE.chips[part], name, radio), key) == pytest.approx(published_a, rel=0.01)


PUBLISHED_ADC = [
    # ATmega328/P data sheet 42735A, section 28.6.1 and Table 32-11; ATtiny85 data sheet 2586Q, section 17.8
    ("ATmega328P", "c_sample_f", 14e-12),
    ("ATmega328P", "r_source_max_ohm", 10e3),
    ("ATmega328P", "inl_lsb", 0.5),
    ("ATtiny85", "c_sample_f", 14e-12),
    ("ATtiny85", "r_source_max_ohm", 10e3),
    # ATmega32U4 data sheet 7766F, p. 385: 1.5 steps; 2.5 steps of offset and gain at 5 V
    ("ATmega32U4", "inl_lsb", 1.5),
    ("ATmega32U4", "offset_v", 2.5 * 5 / 1024),
    ("ATmega32U4", "gain_error", 2.5 / 1024),
    # STM32F103x8 data sheet Rev 17, Tables 46 and 47; STM32F411xE data sheet Rev 8, Table 65
    ("STM32F103C8", "c_sample_f", 8e-12),
    ("STM32F103C8", "r_source_max_ohm", 11.4e3),
    ("STM32F411CE", "c_sample_f", 7e-12),
    ("STM32F411CE", "r_sample_ohm", 6e3),
    # SAM D21 data sheet, 39.6.3 and 40.9.3
    ("SAMD21G18", "c_sample_f", 3.5e-12),
    ("SAMD21G18", "r_sample_ohm", 3.5e3),
    ("SAMD21G18", "reference_error", 0.01),
    # nRF52840 Product Specification, SAADC; from memory. Source limit at 10 µs: table of later Nordic chips
    ("nRF52840", "c_sample_f", 2.5e-12),
    ("nRF52840", "r_source_max_ohm", 100e3),
    # RP2350 data sheet, 12.4.3: about 1 pF
    ("RP2350A", "c_sample_f", 1e-12),
    # ESP-IDF, ADC calibration: 1.1 V nominal, 1.0 to 1.2 V
    ("ESP32", "reference_error", 0.1 / 1.1),
]


@pytest.mark.parametrize(("part", "key", "published"), PUBLISHED_ADC)
def test_published_converter_figure(part: str, key: str, published: float) -> None:
    for unit in CATALOGUE.chips[part].adc:
        assert number(getattr(unit, key)) == pytest.approx(published, rel=0.02)


def test_source_limit_from_the_formula() -> None:
    # oracle: STM32 data sheets, formula of the largest source (from memory): (k - 0.5) / (f C ln 2^(N+2)) - R of the switch,
    # with 15 cycles, 24 MHz, and Table 65 of the F411 (7 pF, 6 kΩ)
    (unit,) = CATALOGUE.chips["STM32F411CE"].adc
    formula_ohm = (15 - 0.5) / (24e6 * 7e-12 * math.log(2**14)) - 6e3
    assert 0.9 * formula_ohm < number(unit.r_source_max_ohm) <= formula_ohm


SUPERVISORS = {
    # ATmega328/P data sheet 42735A, Table 32-8; ATmega32U4 data sheet 7766J, Table 8-1
    "ATmega328P": (2.5, 2.7, 2.9),
    "ATmega32U4": (2.4, 2.6, 2.8),
    # ESP-IDF, Kconfig.power of each chip, default level; spread printed for the ESP32 only
    "ESP32": (2.38, 2.43, 2.48),
    "ESP32-S2": (None, 2.44, None),
    "ESP32-S3": (None, 2.44, None),
    "ESP32-C3": (None, 2.51, None),
    "ESP32-C6": (None, 2.51, None),
    "ESP32-H2": (None, 2.57, None),
}
"""Least, typical and highest level of the supervisor [V], as published."""


@pytest.mark.parametrize("part", SUPERVISORS)
def test_published_supervisor_level(part: str) -> None:
    level = CATALOGUE.chips[part].electrical.brownout_v
    assert level is not None
    least_v, typical_v, highest_v = SUPERVISORS[part]
    assert level.typ == typical_v
    assert least_v is None or (level.min, level.max) == (least_v, highest_v)


# ------------------------------------------------------------------------------ who says so


@each_chip
def test_plain_fields_name_their_document(chip: Chip) -> None:
    # behaviour: maker, memory, clock, radio and USB have no citation of their own
    cite = chip.provenance["identity"]
    assert cite.where
    assert cite.src in {source.id for source in chip.source}
