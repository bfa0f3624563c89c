"""The drawn board: every pin labelled, nothing overlaps, to scale (properties over all boards; places worked out by hand)."""

from __future__ import annotations

import dataclasses
import re
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.fitting.places import BoardView, view
from pinwright.pack.board_layout import apart, outline_of, spots_of
from pinwright.pack.board_marks import MARKS, marks_of
from pinwright.pack.board_svg import board_drawing, board_svg

sys.path.insert(0, str(Path(__file__).parent))

from drawn import HOSTILE, SVG, crossed, inks, negative_sizes, outside, parsed, points, touching

CATALOGUE = load_catalogue()
BOARDS = sorted(CATALOGUE.boards)
each_board = pytest.mark.parametrize("board", BOARDS)
Uses = dict[tuple[str, int], tuple[str, ...]]


def seen(board: str) -> BoardView:
    return view(CATALOGUE.boards[board], CATALOGUE)


def uses(board: BoardView, every: int, name: str = "part") -> Uses:
    """Every so many I/O pins in use; the third one carries a bus of four parts, the fifth a long name."""
    found: Uses = {}
    for number, place in enumerate(board.places):
        if number % every == 0:
            found[place.row, place.order] = (f"{name} {number} · LINE",)
        if number == 2:
            found[place.row, place.order] = tuple(f"{name} {each} · SDA" for each in "abcd")
        if number == 4:
            found[place.row, place.order] = (f"{name} with a name that goes on and on and on · CONTROL",)
    return found


def healthy(root: ElementTree.Element) -> None:
    assert touching(root) == []
    assert outside(root) == []
    assert crossed(root) == []
    assert negative_sizes(root) == []


# ------------------------------------------------------------------------------ all boards


@each_board
@pytest.mark.parametrize("every", [1, 2, 5, 1000])
def test_nothing_overlaps_on_any_board_however_many_pins_are_used(board: str, every: int) -> None:
    healthy(parsed(board_drawing(seen(board), uses(seen(board), every), "Proofing cabinet", with_5v=True)))


@each_board
def test_every_header_pin_is_labelled_as_printed(board: str) -> None:
    root = parsed(board_drawing(seen(board), {}))
    drawn = sorted(ink.words for ink in inks(root))
    for pin in seen(board).board.header:
        assert pin.label in drawn
        drawn.remove(pin.label)  # each label stands as often as it is printed


@each_board
def test_every_line_is_bound_to_its_pin_by_an_unbroken_leader(board: str) -> None:
    """Pin, leader, box: ends meet within what rounding to hundredths leaves."""
    wanted = uses(seen(board), 3)
    drawing = board_drawing(seen(board), wanted)
    root = parsed(drawing)
    labels = {(pin.row, pin.order): pin.label for pin in seen(board).board.header}
    leads = [group for group in root.iter(f"{SVG}g") if any(line.get("class") == "pw-ink" for line in group.findall(f"{SVG}polyline"))]
    for key, said in wanted.items():
        mine = [group for group in leads if (group.findtext(f"{SVG}title") or "").startswith(f"{labels[key]}: {', '.join(said)}")]
        assert len(mine) == 2, key  # one on the board, one to the box
        near, far = (points(next(line for line in group.findall(f"{SVG}polyline"))) for group in mine)
        assert near[-1] == pytest.approx(far[0], abs=0.011)
        box = mine[1].find(f"{SVG}rect")
        assert box is not None
        x, y, width, height = (float(box.get(name, "0")) for name in ("x", "y", "width", "height"))
        assert x - 0.02 <= far[-1][0] <= x + width + 0.02
        assert y <= far[-1][1] <= y + height


@each_board
def test_a_board_fits_the_page(board: str) -> None:
    """186 mm and 259 mm: A4 (210 x 297 mm, ISO 216) and Letter (215.9 x 279.4 mm) less 10 to 12 mm of margin."""
    drawing = board_drawing(seen(board), uses(seen(board), 2))
    assert drawing.width <= 186.0
    assert drawing.height <= 259.0
    assert min(float(text.get("font-size", "0")) for text in parsed(drawing).iter(f"{SVG}text")) >= 2.0  # about 5.7 pt


@each_board
def test_key_shows_the_marks_that_occur_and_no_others(board: str) -> None:
    root = parsed(board_drawing(seen(board), {}))
    words = " ".join(ink.words for ink in inks(root))
    present = {mark.letter for place in seen(board).places for mark in marks_of(seen(board), place)}
    for letter, mark in MARKS.items():
        assert (mark.words.split(":")[0] in words) == (letter in present), letter


@each_board
def test_pins_lie_to_scale(board: str) -> None:
    """Distances between drawn pins are the real ones times one scale."""
    drawing = board_drawing(seen(board), {})
    scale = float(re.search(r"drawn ([\d.]+) : 1", drawing.markup())[1])  # type: ignore[index]
    outline = outline_of(seen(board).board)
    centres = [
        (
            float(group[1].get("x", "0")) + float(group[1].get("width", "0")) / 2,
            float(group[1].get("y", "0")) + float(group[1].get("height", "0")) / 2,
        )
        if group[1].tag == f"{SVG}rect"
        else (float(group[1].get("cx", "0")), float(group[1].get("cy", "0")))
        for group in _pin_groups(parsed(drawing), seen(board))
    ]
    real = [outline.at[pin.row, pin.order] for pin in seen(board).board.header]
    assert len(centres) == len(real)
    for (x, y), (mm_x, mm_y) in zip(centres, real, strict=True):
        assert x - centres[0][0] == pytest.approx((mm_x - real[0][0]) * scale, abs=0.03)
        assert y - centres[0][1] == pytest.approx((mm_y - real[0][1]) * scale, abs=0.03)


def _pin_groups(root: ElementTree.Element, board: BoardView) -> list[ElementTree.Element]:
    """Groups of the pins, their leader taken out, in the order of the header."""
    groups = []
    titles = {f"{pin.label}: " for pin in board.board.header}
    for group in root.findall(f"{SVG}g"):
        title = group.findtext(f"{SVG}title") or ""
        if any(title.startswith(start) for start in titles):
            for line in group.findall(f"{SVG}polyline"):
                group.remove(line)
            groups.append(group)
    return groups


# ------------------------------------------------------------------------------ names


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("board", ["raspberry-pi-pico", "atmega2560-54pin", "attiny85-dip8", "esp01s"])
def test_any_name_makes_a_sound_drawing(board: str, name: str) -> None:
    root = parsed(board_drawing(seen(board), uses(seen(board), 2, name), name))
    healthy(root)
    assert not root.findall(f".//{SVG}script")
    assert not root.findall(f".//{SVG}b")


def test_hostile_labels_of_own_boards_are_cut_off_from_markup() -> None:
    board = CATALOGUE.boards["xiao-rp2040"]
    header = tuple(dataclasses.replace(pin, label="<&>\n😀") if pin.order == 1 else pin for pin in board.header)
    healthy(parsed(board_drawing(view(dataclasses.replace(board, header=header, name="<i>" * 60), CATALOGUE), {})))


def test_ids_begin_with_the_drawings_name_and_the_same_input_gives_the_same_bytes() -> None:
    made = [board_drawing(seen("esp32-devkitc-v4"), uses(seen("esp32-devkitc-v4"), 2), name="first").markup() for _ in range(2)]
    assert made[0] == made[1]
    ids = re.findall(r' id="([^"]*)"', made[0])
    assert ids
    assert all(each.startswith("first-") for each in ids)


# ------------------------------------------------------------------------------ single claims


def test_a_plan_is_bound_line_by_line() -> None:
    from pinwright.planning import open_job, plan_job

    job = open_job(Path(__file__).parents[2] / "examples" / "bakery-proofer.toml")
    plan = plan_job(job).usable[0]
    root = parsed(board_svg(plan, job.file.brief.title))
    healthy(root)
    words = {ink.words for ink in inks(root)}
    for placed in plan.placed:
        assert f"{placed.line.part} · {placed.line.name}" in words
    desc = root.findtext(f"{SVG}desc") or ""
    shared = [p for p in plan.placed if sum(q.place == p.place for q in plan.placed) > 1]
    assert shared  # the example has a bus
    assert all(f"{p.line.part} · {p.line.name}" in desc for p in plan.placed)


def test_supply_pins_of_a_build_are_bound_to_their_rails() -> None:
    from pinwright.pack.build.make import build_of
    from pinwright.planning import open_job, plan_job

    build = build_of(plan_job(open_job(Path(__file__).parents[2] / "examples" / "bakery-proofer.toml")))
    drawing = board_svg(build.plan, build.title, build=build)
    root = parsed(drawing)
    healthy(root)
    words = {ink.words for ink in inks(root)}
    for net in build.nets:
        for terminal in net.terminals:
            if net.role != "signal" and terminal.item == "board":
                number = f"{terminal.name}: " if terminal.name.endswith(")") else ""
                assert f"{number}{net.name} · rail" in words
    assert any(each.startswith("supply · ") for each in words)  # where the source comes in


def test_marks_of_known_pins() -> None:
    """Strap pins and input-only pins of the ESP32: its datasheet, sections on strapping pins and IO_MUX (as cited in the facts)."""
    board = seen("esp32-devkitc-v4")
    letters = {place.label: {mark.letter for mark in marks_of(board, place)} for place in board.places}
    assert {"I", "P"} <= letters["IO34"]
    assert "S" in letters["IO12"]
    assert "R" in letters["IO26"]
    assert "R" not in letters["IO32"]
    assert "X" in letters["CLK"]
    assert {"C"} <= letters["TX"]


def test_five_volt_marks_only_where_they_help() -> None:
    board = seen("stm32f103c8-40pin")
    assert not any(mark.letter == "5" for place in board.places for mark in marks_of(board, place))
    assert any(mark.letter == "5" for place in board.places for mark in marks_of(board, place, with_5v=True))


def test_every_mark_has_a_letter_of_its_own_and_no_two_share_letter_and_shape() -> None:
    assert len({(mark.letter.upper(), mark.shape) for mark in MARKS.values()}) == len(MARKS) - 1  # N and n: the same, less sure
    assert len({mark.shape for mark in MARKS.values()}) == len(MARKS) - 1


def test_a_missing_size_is_drawn_as_a_guess_and_says_so() -> None:
    board = dataclasses.replace(CATALOGUE.boards["raspberry-pi-pico"], width_m=None)
    root = parsed(board_drawing(view(board, CATALOGUE), uses(seen("raspberry-pi-pico"), 2)))
    healthy(root)
    words = [ink.words for ink in inks(root)]
    assert any("NOT TO SCALE" in each for each in words)
    assert not any("drawn" in each for each in words)
    assert words.count("GND") == sum(pin.label == "GND" for pin in board.header)


def test_pins_of_an_inner_row_get_a_lane_between_the_outer_ones() -> None:
    spots = spots_of(CATALOGUE.boards["atmega2560-54pin"], outline_of(CATALOGUE.boards["atmega2560-54pin"]), 2.0)
    bottom = [spot for spot in spots if spot.side == "bottom"]
    assert len(bottom) == 36
    assert len({round(spot.lane, 2) for spot in bottom}) == 36
    assert {spot.rank for spot in bottom if spot.pin.row == "end-inner"} == {1}


def test_boxes_move_no_more_than_they_must() -> None:
    # two boxes of 4 that both want 10, gap 1: centres 5 apart about the middle, by symmetry
    assert apart([10.0, 10.0], [4.0, 4.0], 1.0) == pytest.approx([7.5, 12.5])
    assert apart([0.0, 10.0, 20.0], [4.0, 4.0, 4.0], 1.0) == pytest.approx([0.0, 10.0, 20.0])


def test_catalogue_has_forty_boards_or_more(catalogue: Catalogue) -> None:
    """The tests above are worth as much as the boards they run over."""
    assert len(catalogue.boards) >= 40
