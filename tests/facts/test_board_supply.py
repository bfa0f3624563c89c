"""How the boards of the catalogue are fed: property checks on the shipped figures, and two boards added up by hand.

A regulator goes from one supply pin (or ``USB``) to another (``Regulator`` in facts/board.py).  Regulators that give the same rail
are alternatives, one for each way in, often the same chip: their currents are never added.
"""

from __future__ import annotations

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, BoardSupply, Regulator

CATALOGUE = load_catalogue()
BOARDS = sorted(CATALOGUE.boards.values(), key=lambda board: board.id)
FED = [board for board in BOARDS if board.regulator]
REGULATORS = [(board, regulator) for board in FED for regulator in board.regulator]

each_board = pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.id)
each_fed_board = pytest.mark.parametrize("board", FED, ids=lambda board: board.id)
each_regulator = pytest.mark.parametrize(
    ("board", "regulator"), REGULATORS, ids=[f"{board.id}-{regulator.takes}-{regulator.gives}" for board, regulator in REGULATORS]
)

DROPOUT_MAX_V = 2.0
"""A 78M05 needs 2 V, the most of any fixed regulator on small boards (TS78M05A data sheet, description)."""

QUIESCENT_MIN_A, QUIESCENT_MAX_A = 1e-7, 15e-3
"""Nanopower regulators take some 0.3 µA, the hungry 1117 up to 11 mA (AMS1117 data sheet, recalled); the rest is margin."""

NOT_THE_RAIL = {("esp32-h2-devkitm-1", "VBAT"), ("stm32f103c8-40pin", "VBAT"), ("stm32f411ce-40pin", "VBAT")}
"""Inputs that feed a clock or a backup pin of the chip alone (notes of the boards)."""


def rail_of(board: Board) -> str:
    """Pin of the rail the chip runs from: by name, so that 3V3 on a 5 V board is no logic rail."""
    return "3V3" if board.logic_v == pytest.approx(3.3) else "5V"


def reaches(board: Board, start: str) -> set[str]:
    """Pins that carry a voltage when ``start`` is fed.

    The 5 V of the socket stands on the pin called 5V of every board that has one, through a fuse, a switch, a diode or nothing.
    """
    seen: set[str] = set()
    ahead = {start}
    while ahead:
        pin = ahead.pop()
        seen.add(pin)
        ahead |= {regulator.gives for regulator in board.regulator if regulator.takes == pin} - seen
        if pin == "USB" and any(supply.pin == "5V" for supply in board.supply):
            ahead |= {"5V"} - seen
    return seen


def ways_in(board: Board) -> list[BoardSupply]:
    """Every supply a maker may feed, but the rail itself and the pins of ``NOT_THE_RAIL``."""
    return [
        supply
        for supply in board.supply
        if "in" in supply.direction.split("/") and supply.pin != rail_of(board) and (board.id, supply.pin) not in NOT_THE_RAIL
    ]


# ------------------------------------------------------------------------------ the ways


@each_board
def test_every_way_in_reaches_the_logic_rail(board: Board) -> None:
    # otherwise the board would not start from it (Kirchhoff; no source needed)
    assert [supply.pin for supply in ways_in(board) if rail_of(board) not in reaches(board, supply.pin)] == []


@each_board
def test_a_board_with_a_socket_lists_it_as_a_supply(board: Board) -> None:
    # a socket always brings 5 V (USB 2.0, 7.2); recalled
    assert (board.usb != "none") == any(supply.pin == "USB" for supply in board.supply)


@each_board
def test_a_board_without_regulator_has_only_its_rail_to_feed(board: Board) -> None:
    # bare chips and modules are fed at their supply pin and nowhere else
    if not board.regulator:
        assert [supply.pin for supply in board.supply] == [rail_of(board)]


@each_regulator
def test_a_regulator_joins_supply_pins_of_its_board(board: Board, regulator: Regulator) -> None:
    # a name nobody lists as a supply leads nowhere in a power budget
    pins = {supply.pin for supply in board.supply}
    assert regulator.takes in pins
    assert regulator.gives in pins
    assert regulator.takes != regulator.gives


@each_fed_board
def test_one_regulator_for_each_way(board: Board) -> None:
    ways = [(regulator.takes, regulator.gives) for regulator in board.regulator]
    assert len(ways) == len(set(ways))


# ------------------------------------------------------------------------------ the figures


@each_regulator
def test_dropout_is_known_and_small(board: Board, regulator: Regulator) -> None:
    if regulator.dropout_v is None:  # only what can also step up has none (RT6150 data sheet: 1.8 to 5.5 V in for 3.3 V)
        assert regulator.efficiency is not None
        lowest = {supply.pin: supply.v_min_v for supply in board.supply if supply.v_min_v is not None}
        takes = [other.takes for other in board.regulator if other.gives == regulator.gives]
        assert min(lowest[pin] for pin in takes) < regulator.v_out_v
        assert "no dropout" in regulator.note
    else:
        assert 0.05 <= regulator.dropout_v <= DROPOUT_MAX_V


@each_regulator
def test_own_current_is_known_and_plausible(board: Board, regulator: Regulator) -> None:
    assert regulator.i_quiescent_a is not None
    assert QUIESCENT_MIN_A <= regulator.i_quiescent_a <= QUIESCENT_MAX_A


@each_regulator
def test_the_logic_rail_suits_the_chip(board: Board, regulator: Regulator) -> None:
    if regulator.gives != rail_of(board):
        return
    chip = CATALOGUE.chips[board.chip].electrical
    assert chip.vdd_min_v.value is not None
    assert chip.vdd_max_v.value is not None
    assert chip.vdd_min_v.value <= regulator.v_out_v * (1 - regulator.tolerance)
    assert regulator.v_out_v * (1 + regulator.tolerance) <= chip.vdd_max_v.value
    assert regulator.v_out_v == pytest.approx(board.logic_v)


@each_regulator
def test_parts_get_no_more_than_the_regulator_gives(board: Board, regulator: Regulator) -> None:
    # the chip takes its share first, so what is left is less than the limit (charge conservation)
    left = [supply.i_left_for_parts_a for supply in board.supply if supply.pin == regulator.gives and supply.i_left_for_parts_a]
    assert all(i_a <= regulator.i_max_a for i_a in left)


@each_regulator
def test_the_input_stands_what_the_board_allows(board: Board, regulator: Regulator) -> None:
    # the highest voltage the board's own table allows must not exceed the regulator's input limit (makers' rule)
    assert regulator.v_in_max_v is not None
    for supply in board.supply:
        if supply.pin == regulator.takes and supply.v_max_v is not None:
            assert supply.v_max_v - regulator.drop_v <= regulator.v_in_max_v


@each_regulator
def test_the_highest_input_is_enough_at_full_current(board: Board, regulator: Regulator) -> None:
    # a regulator that cannot regulate even from the highest input has a wrong figure (common practice, no source)
    for supply in board.supply:
        if supply.pin == regulator.takes and supply.v_max_v is not None:
            assert supply.v_max_v - regulator.drop_v - (regulator.dropout_v or 0.0) >= regulator.v_out_v * (1 - regulator.tolerance)


@each_regulator
def test_heat_figures_fit_the_usual_packages(board: Board, regulator: Regulator) -> None:
    # SOT-223 60 to 90 K/W on copper (common practice), 136 K/W without (LMS8117A sheet), SOT-23-5 220 K/W (MIC5205, MIC5219 sheets),
    # tiny packages up to 250 K/W, DFN modules from about 40 K/W (both recalled); silicon is planned to 125 °C
    if regulator.theta_k_per_w is None:
        assert regulator.note.startswith("Inside the USB bridge chip")
        return
    assert 40 <= regulator.theta_k_per_w <= 250
    assert regulator.t_junction_max_c == 125
    if regulator.efficiency is not None:
        assert 0.6 <= regulator.efficiency < 1


@each_regulator
def test_a_diode_before_it_costs_what_diodes_cost(board: Board, regulator: Regulator) -> None:
    # Schottky diodes drop 0.3 to 0.45 V, a MOSFET switch some ten millivolts (1N5819HW: 0.32 V at 0.1 A, 0.45 V at 1 A)
    assert regulator.drop_v == 0 or 0.02 <= regulator.drop_v <= 0.5


@each_regulator
def test_its_part_is_in_the_catalogue_or_left_out(board: Board, regulator: Regulator) -> None:
    if not regulator.part:
        return
    part = CATALOGUE.parts[regulator.part]
    assert part.kind == "ldo"
    limit = part.facts["i_out_max_a"].value
    assert limit is not None
    assert regulator.i_max_a <= limit


@each_fed_board
def test_recalled_regulators_are_told_as_unknown(board: Board) -> None:
    if any(regulator.seen == "memory" for regulator in board.regulator):
        assert any(word in line for line in board.unknown for word in ("regulator", "converter"))


# ------------------------------------------------------------------------------ always on


@each_fed_board
def test_a_bridge_is_counted_once(board: Board) -> None:
    """One bridge chip has two entries, one a wire; its current stands on one of them."""
    bridges = [item for item in board.onboard if item.what == "usb-bridge"]
    assert len([item for item in bridges if item.i_a]) == (1 if bridges else 0)


@each_fed_board
def test_a_power_lamp_is_counted(board: Board) -> None:
    # a lamp wired to a rail is always on; 0.2 to 5 mA is what its resistor allows (common practice, no source)
    for item in board.onboard:
        if item.what == "led" and "power LED" in item.effect:
            assert item.i_a is not None, item
            assert 2e-4 <= item.i_a <= 5e-3


@each_fed_board
def test_a_lamp_with_a_known_resistor_takes_what_ohm_says(board: Board) -> None:
    # (rail - 2 V) / R; 2 V across a red or yellow lamp (common practice, no source); a raw input up to its highest voltage
    for item in board.onboard:
        if item.what == "led" and item.i_a and item.series_ohm:
            rail_v = {"5V": 5.0, "VCC": board.logic_v, "3V3": 3.3, "RAW": 12.0}[item.pin]
            assert item.i_a == pytest.approx((rail_v - 2) / item.series_ohm, rel=0.2)


def always_on_a(board: Board, takes: str) -> float:
    """What the board takes from ``takes`` while its chip is off: the first regulator on the way and all that is always on [A]."""
    first = next(regulator for regulator in board.regulator if regulator.takes == takes)
    assert first.i_quiescent_a is not None
    return first.i_quiescent_a + sum(item.i_a for item in board.onboard if item.i_a)


MEASURED = {
    "esp32-devkitc-v4": ("5V", 3.8e-3),  # lucidar.me, page on this board
    "esp32-wroom32-30pin": ("VIN", 11.38e-3),  # kohacraft.com, a copy
    "esp12f-30pin": ("VIN", 14e-3),  # question 37641 on arduino.stackexchange.com, from USB
    "esp12f-16pin": ("5V", 13e-3),  # kevinstadler.github.io, copies with a bridge that stays awake
    "xiao-esp32c3": ("BAT", 43e-6),  # maker's wiki
    "xiao-esp32s3": ("BAT", 14e-6),  # maker's wiki
    "xiao-nrf52840": ("BAT", 5e-6),  # maker, recalled; 2.4 µA measured by others
    "nano-33-iot": ("VIN", 3.3e-3),  # forum.arduino.cc 880370
}
"""Whole board in deep sleep [A], and the pin it was fed at."""


@pytest.mark.parametrize("name", MEASURED)
def test_sum_comes_near_what_others_measured(name: str) -> None:
    """Within a factor of 2.5: copies differ that much, and cautious figures lie above; the sleeping chip adds 10 µA at most."""
    pin, measured_a = MEASURED[name]
    assert measured_a / 2.5 - 10e-6 <= always_on_a(CATALOGUE.boards[name], pin) <= 2.5 * measured_a


def test_pico_takes_less_than_the_makers_dormant_figure() -> None:
    # maker's table: 0.8 mA dormant from VBUS, chip and flash included; a part cannot exceed the whole
    assert always_on_a(CATALOGUE.boards["raspberry-pi-pico"], "USB") < 0.8e-3


def test_shield_board_by_hand() -> None:
    # regulator 6 mA, bridge 15 mA, op-amp 0.5 mA, lamp (5 - 2) V / 1 kohm = 3 mA: 24.5 mA (figures of the board file)
    assert always_on_a(CATALOGUE.boards["atmega328p-32pin"], "VIN") == pytest.approx(24.5e-3)


def test_two_stages_in_a_row() -> None:
    assert reaches(CATALOGUE.boards["atmega328p-32pin"], "VIN") == {"VIN", "5V", "3V3"}
    assert reaches(CATALOGUE.boards["raspberry-pi-pico"], "VSYS") == {"VSYS", "3V3"}
