"""Drawing data of the boards: property checks on the shipped catalogue, and the place of a pin worked out by hand.

The axes: from the left edge and from the first end, component side up, first end up (``HeaderStrip`` and ``Onboard`` in facts/board.py).
"""

from __future__ import annotations

import dataclasses
import math
import re
from itertools import combinations

import pytest

from pinwright.errors import OutOfRange
from pinwright.facts.geometry import pin_positions
from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Board, HeaderStrip

CATALOGUE = load_catalogue()
BOARDS = sorted(CATALOGUE.boards.values(), key=lambda board: board.id)

each_board = pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.id)

PITCH_MIN_M = 0.002
"""Header pins with a pitch below 2 mm are no breadboard headers (common practice, no source)."""

LONGEST_M = 0.12
"""No board of the catalogue is longer than this; a slip of a prefix is (common practice, no source)."""


# ------------------------------------------------------------------------------ the catalogue


@each_board
def test_board_can_be_drawn_to_scale(board: Board) -> None:
    assert board.length_m is not None
    assert board.width_m is not None
    assert board.row_spacing_m is not None
    assert PITCH_MIN_M <= board.pitch_m <= board.row_spacing_m < LONGEST_M
    assert board.width_m <= board.length_m < LONGEST_M  # rows run along the longer side on every board so far


@each_board
def test_every_drawing_figure_names_its_source(board: Board) -> None:
    for column in ("size", "row_spacing"):
        assert board.provenance[column].src, column
    placed = [item for item in board.onboard if item.at_m is not None]
    if placed:
        assert board.provenance["places"].src
        assert re.search("approximat|estimat", board.provenance["places"].where)  # nobody shall measure with them


@each_board
def test_no_two_strips_place_one_pin_and_none_places_a_pin_that_is_not_there(board: Board) -> None:
    pins = {(pin.row, pin.order) for pin in board.header}
    claimed = [(strip.row, order) for strip in board.strip for order in range(strip.first, strip.last + 1)]
    assert len(claimed) == len(set(claimed))
    assert set(claimed) <= pins
    assert all(strip.first <= strip.last and strip.src for strip in board.strip)


@each_board
def test_every_pin_lies_on_the_board(board: Board) -> None:
    assert board.length_m is not None
    assert board.width_m is not None
    for pin, (x_m, y_m) in pin_positions(board).items():
        assert 0 < x_m < board.width_m, pin
        assert 0 < y_m < board.length_m, pin


@each_board
def test_no_two_pins_touch(board: Board) -> None:
    close = [
        (one, other) for (one, at), (other, there) in combinations(pin_positions(board).items(), 2) if math.dist(at, there) < PITCH_MIN_M
    ]
    assert close == []


@each_board
def test_rows_lie_where_their_names_say(board: Board) -> None:
    """Left is left of right, the spacing holds, and orders run away from the first end."""
    assert board.row_spacing_m is not None
    at = pin_positions(board)
    rows = {row: [at[pin.row, pin.order] for pin in board.header if pin.row == row] for row in ("left", "right")}
    assert all(rows.values())
    if board.id in ROWS_ACROSS:
        return
    lefts, rights = ({x_m for x_m, _ in rows[row]} for row in ("left", "right"))
    assert max(lefts) < min(rights)
    assert min(rights) - max(lefts) == pytest.approx(board.row_spacing_m, abs=1e-6)
    for places in rows.values():
        assert [y_m for _, y_m in places] == sorted(y_m for _, y_m in places)


ROWS_ACROSS = {"esp01s": "a 2 x 4 header across the end away from the antenna"}
"""Boards whose two rows run across the board, and why."""


@each_board
def test_what_sits_on_the_board_lies_on_it(board: Board) -> None:
    assert board.length_m is not None
    assert board.width_m is not None
    for item in board.onboard:
        if item.at_m is not None:
            assert 0 < item.at_m[0] < board.width_m, item
            assert 0 < item.at_m[1] < board.length_m, item


@each_board
def test_every_lamp_and_button_has_a_place(board: Board) -> None:
    shown = [item for item in board.onboard if item.what in ("led", "rgb-led", "button")]
    without = [(item.what, item.pad or item.pin) for item in shown if item.at_m is None]
    assert without == []


@each_board
def test_socket_end_agrees_with_the_words(board: Board) -> None:
    """Orders count from the USB end exactly where the socket is at the first end."""
    assert (board.usb_end == "none") == (board.usb == "none")
    assert ("usb" in board.order_from.casefold()) == (board.usb_end == "first")


# ------------------------------------------------------------------------------ places worked out by hand


def test_pin_of_a_plain_row() -> None:
    # Raspberry Pi Pico Datasheet, mechanical drawing: 51 x 21 mm, rows 17.78 mm apart, 20 pins each:
    # (51 - 19 x 2.54) / 2 = 1.37 mm from the end, (21 - 17.78) / 2 = 1.61 mm from the edge
    at = pin_positions(CATALOGUE.boards["raspberry-pi-pico"])
    assert at["left", 1] == pytest.approx((0.00161, 0.00137), abs=1e-8)
    assert at["right", 20] == pytest.approx((0.021 - 0.00161, 0.051 - 0.00137), abs=1e-8)
    assert len(at) == 40


def test_rows_of_different_length_are_centred_each_on_its_own() -> None:
    pico = CATALOGUE.boards["raspberry-pi-pico"]
    shorter = dataclasses.replace(pico, header=tuple(pin for pin in pico.header if pin.row == "left" or pin.order <= 18))
    # two pins fewer: the first one lies one pitch further in
    assert pin_positions(shorter)["right", 1][1] == pytest.approx(0.00137 + 0.00254, abs=1e-8)
    assert pin_positions(shorter)["left", 1][1] == pytest.approx(0.00137, abs=1e-8)


def test_strip_places_its_pins() -> None:
    # the shield form: 160 mil instead of 100 between digital pins 8 and 7 (long-standing practice, value from memory)
    at = pin_positions(CATALOGUE.boards["atmega328p-32pin"])
    label = {pin.label: at[pin.row, pin.order] for pin in CATALOGUE.boards["atmega328p-32pin"].header}
    assert label["7"][1] - label["8"][1] == pytest.approx(0.004064, abs=1e-8)
    assert label["8"][1] - label["9"][1] == pytest.approx(0.00254, abs=1e-8)
    assert label["A0"][1] - label["VIN"][1] == pytest.approx(2 * 0.00254, abs=1e-8)  # one pin is missing there


def test_feather_rows_follow_the_makers_rule() -> None:
    # maker's feather specification: 16-pin strip centred 1.0 inch from the USB end, 12-pin strip 1.2 inch, rows 0.8 inch apart
    at = pin_positions(CATALOGUE.boards["feather-rp2040"])
    for row, count, inch in (("left", 16, 1.0), ("right", 12, 1.2)):
        middle = (at[row, 1][1] + at[row, count][1]) / 2
        assert middle == pytest.approx(inch * 0.0254, abs=1e-8)
    assert at["right", 1][0] - at["left", 1][0] == pytest.approx(0.8 * 0.0254, abs=1e-8)


def test_a_row_of_its_own_needs_a_strip() -> None:
    board = CATALOGUE.boards["atmega2560-54pin"]
    bare = dataclasses.replace(board, strip=tuple(strip for strip in board.strip if not strip.row.startswith("end")))
    with pytest.raises(OutOfRange, match="'end-inner' needs a strip"):
        pin_positions(bare)


def test_a_missing_size_is_told() -> None:
    board = dataclasses.replace(CATALOGUE.boards["raspberry-pi-pico"], width_m=None)
    with pytest.raises(OutOfRange, match="width or row spacing is missing"):
        pin_positions(board)


def test_two_strips_on_one_pin_are_refused() -> None:
    strip = HeaderStrip(row="left", first=1, last=2, x_m=0.001, y_m=0.001)
    board = dataclasses.replace(CATALOGUE.boards["raspberry-pi-pico"], strip=(strip, dataclasses.replace(strip, first=2, last=3)))
    with pytest.raises(OutOfRange, match="pin 2 of row 'left'"):
        pin_positions(board)
