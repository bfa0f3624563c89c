"""The wiring sheet holds what a person wires by: every wire once and from end to end, nothing over anything else (properties).

What is checked is common sense of drawings (common practice, no source), on the geometry itself and once more on the ink.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache, partial
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from pinwright.pack.build import Build, Terminal
from pinwright.pack.drawing import text_width
from pinwright.pack.sheet import pages, sheets
from pinwright.pack.sheet.model import Point, Sheet
from pinwright.pack.sheet.picture import drawn

sys.path.insert(0, str(Path(__file__).parent))
from drawn import BOLD, outside, parsed, touching
from sheet_builds import FORTY, HOSTILE, SMALL, STAGES, example, made_by_hand, planned

PINS = [f"GP{number}" for number in (*range(23), 26, 27, 28)]
CIRCUITS = ("", "", "", "pull", "series", "divider", "switch", "shifter")


def random_device(seed: int) -> Build:
    """An invented device: up to twelve parts with all kinds of circuits, on a bus and on pins of their own, in any order."""
    chance = random.Random(seed)
    free = chance.sample(PINS, len(PINS))
    bus = [free.pop(), free.pop()]
    parts: dict[str, list[tuple[str, str]]] = {}
    for number in range(chance.randint(3, 12)):
        lines: list[tuple[str, str]] = []
        for _ in range(chance.randint(1, 5)):
            if chance.random() < 0.2 and not any(pin in bus for pin, _ in lines):
                lines.append((chance.choice(bus), ""))
            elif free:
                lines.append((free.pop(), chance.choice(CIRCUITS)))
        parts[f"p{number}"] = lines or [(bus[0], "")]
    return made_by_hand(parts, seed)


CASES: dict[str, Callable[[], Build]] = {
    **{
        f"random-{seed}": partial(random_device, seed) for seed in (0, 1, 3, 15)
    },  # 15 has two stubs in one row, one of which must step aside
    "hatch": lambda: example("delivery-hatch", "raspberry-pi-pico-2-w"),
    "silo": lambda: example("flour-silo", "xiao-esp32c3"),
    "proofer": lambda: example("bakery-proofer", "esp32-s2-devkitm-1"),
    "oven": lambda: example("oven-wall", "raspberry-pi-pico"),
    "oven-large": lambda: example("oven-wall", "atmega2560-54pin"),
    "forty": lambda: planned(FORTY, "atmega2560-54pin"),
    "stages": lambda: planned(STAGES, "raspberry-pi-pico"),
    "hostile": lambda: planned(HOSTILE, "raspberry-pi-pico"),
    "small-inner-row": lambda: planned(SMALL, "atmega328p-3v3-8mhz-narrow"),
    "small-end-rows": lambda: planned(SMALL, "atmega32u4-32pin"),
    "bare-chip": lambda: planned(SMALL, "attiny85-dip8"),
}

Rect = tuple[float, float, float, float]


@cache
def laid(name: str) -> tuple[Build, list[Sheet]]:
    build = CASES[name]()
    return build, pages(build)


@pytest.fixture(params=CASES)
def case(request: pytest.FixtureRequest) -> tuple[Build, list[Sheet]]:
    return laid(request.param)


def rects_of_words(sheet: Sheet) -> list[tuple[str, str, Rect]]:
    """Words, what they stand on, and their rectangle; capitals and descenders take 0.76 and 0.24 of the
    size, as in the font, and the base line lies 0.36 of it below the middle."""
    found = []
    for label in sheet.labels:
        wide = text_width(label.words, label.size) * (BOLD if "bold" in label.style or label.style == "bar" else 1.0)
        start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[label.anchor]
        up, down = 0.4 * label.size, 0.6 * label.size
        if label.turned:
            rect = (label.x - up, label.y - start - wide, label.x + down, label.y - start)
        else:
            rect = (label.x + start, label.y - up, label.x + start + wide, label.y + down)
        found.append((label.words, label.owner, rect))
    return found + [(f"tag {tag.numbers}", "", (tag.x0, tag.y0, tag.x1, tag.y1)) for tag in sheet.tags]


def meet(a: Rect, b: Rect, slack: float = 0.06) -> bool:
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack


def segments(sheet: Sheet) -> Iterator[tuple[int, str, Point, Point]]:
    for run in sheet.runs:
        for a, b in pairwise(run.points):
            yield run.wire.number, run.net, a, b


def test_every_wire_is_drawn_once(case: tuple[Build, list[Sheet]]) -> None:
    build, sheets_ = case
    drawn = Counter(run.wire.number for sheet in sheets_ for run in sheet.runs)
    assert drawn == Counter(wire.number for wire in build.wires)


def test_every_wire_is_level_or_upright_and_has_a_tag_with_its_number(case: tuple[Build, list[Sheet]]) -> None:
    for sheet in case[1]:
        tagged = {number: tag for tag in sheet.tags for number in tag.numbers}
        for run in sheet.runs:
            assert len(run.points) > 1
            for a, b in pairwise(run.points):
                assert (a[0] == pytest.approx(b[0], abs=1e-6)) != (a[1] == pytest.approx(b[1], abs=1e-6))
            assert run.wire.number in tagged
            tags = [tag for tag in sheet.tags if run.wire.number in tag.numbers]
            assert all(tag.code == run.wire.colour for tag in tags)
            assert any(on_way(run.points, tag.x0, tag.y0, tag.x1, tag.y1) for tag in tags), (run, tags)


def on_way(points: tuple[Point, ...], x0: float, y0: float, x1: float, y1: float) -> bool:
    return any(
        min(a[0], b[0]) - 0.01 <= (x0 + x1) / 2 <= max(a[0], b[0]) + 0.01
        and min(a[1], b[1]) - 0.01 <= (y0 + y1) / 2 <= max(a[1], b[1]) + 0.01
        for a, b in pairwise(points)
    )


def test_ends_of_wires_are_their_terminals(case: tuple[Build, list[Sheet]]) -> None:
    """One terminal is one place on a page, at its block or on the line a component hangs on; a rail is any bar of its name."""
    build, sheets_ = case
    for sheet in sheets_:
        at: dict[Terminal, set[tuple[str, Point]]] = {}
        for run in sheet.runs:
            for terminal, point in ((run.wire.a, run.points[0]), (run.wire.b, run.points[-1])):
                item = build.by_ref[terminal.item]
                if item.kind == "rail":
                    bars = [bar for bar in sheet.bars if bar.rail == terminal.item]
                    assert any(reaches(point, (bar.x0, bar.y0, bar.x1, bar.y1), 0.02) for bar in bars), (run.wire.number, point)
                    continue
                box = sheet.boxes.get(terminal.item)
                if box is None:  # on another sheet: the block that says so
                    boxes = [box for key, box in sheet.boxes.items() if key == f"other {run.wire.number}"]
                    assert len(boxes) == 1
                    assert reaches(point, (boxes[0].x0, boxes[0].y0, boxes[0].x1, boxes[0].y1), 0.55)
                    continue
                near = 2.6 * sheet.scale if item.kind == "component" else 0.55 * sheet.scale  # a lead from the line to the body
                assert reaches(point, (box.x0, box.y0, box.x1, box.y1), near), (run.wire.number, terminal, point, box)
                is_drop = run.net == run.wire.net
                at.setdefault(terminal, set()).add(("drop" if is_drop else "routed", (round(point[0], 2), round(point[1], 2))))
        for terminal, places in at.items():
            kinds = Counter(kind for kind, _ in places)
            assert max(kinds.values()) == 1, (terminal, places)
        spots = Counter(point for places in at.values() for point in {point for _, point in places})
        assert max(spots.values(), default=1) == 1  # no two terminals in one place


def reaches(point: Point, rect: Rect, slack: float) -> bool:
    return rect[0] - slack <= point[0] <= rect[2] + slack and rect[1] - slack <= point[1] <= rect[3] + slack


def test_no_two_nets_share_a_piece_and_corners_keep_off_other_nets(case: tuple[Build, list[Sheet]]) -> None:
    _, sheets_ = case
    for sheet in sheets_:
        for (_, one, a, b), (_, other, c, d) in combinations(list(segments(sheet)), 2):
            if one == other:
                continue
            upright, level = a[0] == b[0], c[1] == d[1]
            if upright == level:  # one upright, one level: they may cross, but not touch with an end
                (x, ys), (y, xs) = ((a[0], sorted((a[1], b[1]))), (c[1], sorted((c[0], d[0])))) if upright else (
                    (c[0], sorted((c[1], d[1]))), (a[1], sorted((a[0], b[0])))
                )  # fmt: skip
                if xs[0] - 0.3 < x < xs[1] + 0.3 and ys[0] - 0.3 < y < ys[1] + 0.3:
                    assert xs[0] + 0.3 < x < xs[1] - 0.3, (one, other, a, b, c, d)
                    assert ys[0] + 0.3 < y < ys[1] - 0.3, (one, other, a, b, c, d)
            else:
                along, across = (1, 0) if upright else (0, 1)
                apart = abs(a[across] - c[across])
                low, high = max(min(a[along], b[along]), min(c[along], d[along])), min(max(a[along], b[along]), max(c[along], d[along]))
                assert apart > 0.75 or low >= high - 1e-6, (one, other, a, b, c, d)


def test_no_wire_runs_through_a_block_a_bar_of_another_rail_or_words(case: tuple[Build, list[Sheet]]) -> None:
    _, sheets_ = case
    for sheet in sheets_:
        words = rects_of_words(sheet)
        for run in sheet.runs:
            ends = {run.wire.a.item, run.wire.b.item}
            for a, b in pairwise(run.points):
                line = (min(a[0], b[0]) - 0.2, min(a[1], b[1]) - 0.2, max(a[0], b[0]) + 0.2, max(a[1], b[1]) + 0.2)
                for key, box in sheet.boxes.items():
                    slack = 0.75 * sheet.scale if key in ends or key.startswith("other") else 0.06
                    if key == "board" and "board" in ends:
                        slack = 2.0 * 1.8 * sheet.scale  # pins of an inner row lie within the outline
                    assert not meet(line, (box.x0, box.y0, box.x1, box.y1), slack), (run.wire.number, key)
                for text, _, rect in words:
                    is_own = text.startswith("tag (") and str(run.wire.number) in text.strip("tag (),").split(", ")
                    assert is_own or same_net_tag(sheet, run.net, text) or not meet(line, rect, 0.3), (run.wire.number, text)


def same_net_tag(sheet: Sheet, net: str, text: str) -> bool:
    """A tag of the same net: the wire runs under it to the terminal both end at."""
    return any(f"tag {tag.numbers}" == text and {r.net for r in sheet.runs if r.wire.number in tag.numbers} == {net} for tag in sheet.tags)


def test_words_and_blocks_keep_apart(case: tuple[Build, list[Sheet]]) -> None:
    for sheet in case[1]:
        words = rects_of_words(sheet)
        for (one, _, a), (other, _, b) in combinations(words, 2):
            assert not meet(a, b), (one, other)
        boxes = {key: (box.x0, box.y0, box.x1, box.y1) for key, box in sheet.boxes.items()}
        bars = [(bar.x0, bar.y0, bar.x1, bar.y1) for bar in sheet.bars]
        for text, owner, rect in words:
            for key, box in boxes.items():
                assert key == owner or not meet(rect, box), (text, key)
            if owner in boxes:
                box = boxes[owner]
                assert box[0] <= rect[0] + 0.5, (text, owner)
                assert rect[2] <= box[2] + 0.5, (text, owner)
                assert box[1] <= rect[1] + 0.3, (text, owner)
                assert rect[3] <= box[3] + 0.3, (text, owner)
        for one, other in combinations([*boxes.values(), *bars], 2):
            assert not meet(one, other), (one, other)
        for bar in bars:
            assert not any(meet(bar, rect) for text, owner, rect in words if not owner.startswith("bar"))


def test_everything_is_on_the_page_and_large_enough(case: tuple[Build, list[Sheet]]) -> None:
    for sheet in case[1]:
        assert sheet.width <= 259.0  # A4 and Letter landscape with 10 mm margins: ISO 216, ANSI/ASME Y14.1 (from memory)
        assert sheet.height <= 190.0
        rects = [rect for _, _, rect in rects_of_words(sheet)]
        rects += [(box.x0, box.y0, box.x1, box.y1) for box in (*sheet.boxes.values(), *sheet.bars)]
        rects += [(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])) for _, _, a, b in segments(sheet)]
        for rect in rects:
            assert rect[0] >= -1e-6
            assert rect[1] >= 10.4  # below the head
            assert rect[2] <= sheet.width + 1e-6
            assert rect[3] <= sheet.height - 12.5  # above the legend
        assert min(label.size for label in sheet.labels) >= 2.0


@pytest.mark.parametrize("name", CASES)
def test_the_ink_keeps_to_the_page_and_no_words_touch(name: str) -> None:
    build, found = laid(name)
    for sheet in found:
        root = parsed(drawn(build, sheet))
        assert touching(root) == []
        assert outside(root) == []


def test_pages_say_which_they_are_and_where_a_wire_goes_on() -> None:
    _, found = laid("forty")
    assert [(sheet.number, sheet.of) for sheet in found] == [(number, len(found)) for number in range(1, len(found) + 1)]
    for sheet in found:
        for wire, other in sheet.elsewhere:
            assert wire.number in {run.wire.number for run in found[other - 1].runs}
            assert f"other {wire.number}" in found[other - 1].boxes


def test_a_long_name_is_cut_and_kept_in_full() -> None:
    build, found = laid("hostile")
    cut = [label for sheet in found for label in sheet.labels if label.full]
    assert any(label.full == "x" * 64 and label.words.endswith("…") for label in cut)
    assert "x" * 64 in sheets(build)[0].markup()
