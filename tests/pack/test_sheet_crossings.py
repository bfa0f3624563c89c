"""The search for a good arrangement is worth it: never more crossings than without, the fewest possible where all can be tried."""

from __future__ import annotations

import sys
from itertools import permutations, product
from pathlib import Path

import pytest

from pinwright.pack.build import Build
from pinwright.pack.sheet.compose import on_endless_paper
from pinwright.pack.sheet.crossings import Trunk, between
from pinwright.pack.sheet.frame import Attach
from pinwright.pack.sheet.heights import settled
from pinwright.pack.sheet.layout import laid_out
from pinwright.pack.sheet.model import Node, Port
from pinwright.pack.sheet.nodes import Level, nodes_of
from pinwright.pack.sheet.pages import whole
from pinwright.pack.sheet.placing import follow, ordered
from pinwright.pack.sheet.routing import routed
from pinwright.pack.sheet.ways import count_crossings

sys.path.insert(0, str(Path(__file__).parent))
from sheet_builds import FORTY, STAGES, example, made_by_hand, planned

LARGE = {
    "hatch": lambda: example("delivery-hatch", "raspberry-pi-pico-2-w"),
    "proofer": lambda: example("bakery-proofer", "esp32-s2-devkitm-1"),
    "oven": lambda: example("oven-wall", "raspberry-pi-pico"),
    "forty": lambda: planned(FORTY, "atmega2560-54pin"),
    "stages": lambda: planned(STAGES, "raspberry-pi-pico"),
}


@pytest.mark.parametrize("name", LARGE)
def test_the_search_never_makes_it_worse(name: str) -> None:  # property
    page = whole(LARGE[name]())[0]
    before, after = on_endless_paper(page, False).crossings, on_endless_paper(page, True).crossings
    assert after <= before
    assert after < 0.6 * before or before < 10  # regression: what it is worth today, with room


SMALL: dict[str, dict[str, list[tuple[str, str]]]] = {
    "fan": {"a": [("GP16", "")], "b": [("GP22", ""), ("GP18", "")], "c": [("GP20", "")], "d": [("GP17", ""), ("GP26", "")]},
    "bus": {"a": [("GP16", ""), ("GP17", "")], "b": [("GP18", ""), ("GP16", "")], "c": [("GP17", ""), ("GP22", "")]},
    "sides": {"a": [("GP2", ""), ("GP20", "")], "b": [("GP3", ""), ("GP9", "")], "c": [("GP21", ""), ("GP4", "")], "d": [("GP6", "")]},
    "pulls": {"a": [("GP2", "pull"), ("GP5", "")], "b": [("GP4", "pull")], "c": [("GP3", ""), ("GP6", "pull")]},
}


def fewest(build: Build, homes: dict[str, int]) -> int:
    """Crossings of the best of all orders of parts on their sides, each drawn in full."""
    kit = nodes_of(whole(build)[0], Level(part_max=30.0))
    follow(kit, homes)
    found = []
    for order in permutations(node.key for node in kit.nodes if node.level == 3):
        frame = ordered(kit, homes, list(order), 90)
        found.append(count_crossings(laid_out(frame, 400.0, 0.0).runs()[1]))
    return min(found)


@pytest.mark.parametrize("name", SMALL)
def test_small_sheets_have_the_fewest_crossings_of_all_orders(name: str) -> None:  # oracle: exhaustive search
    build = made_by_hand(SMALL[name])
    sheet = on_endless_paper(whole(build)[0], True)
    assert sheet.crossings == fewest(build, {node.key: node.home for node in sheet.nodes})


@pytest.mark.parametrize("name", ["fan", "sides", "pulls"])
def test_small_sheets_have_the_fewest_crossings_of_all_sides_too(name: str) -> None:  # oracle: exhaustive search
    build = made_by_hand(SMALL[name])
    found = on_endless_paper(whole(build)[0], True)
    keys = [node.key for node in found.nodes if node.kind == "part"]
    others = [node.key for node in found.nodes if node.kind not in ("part", "board")]
    every = (dict(zip(keys, sides, strict=True)) | dict.fromkeys(others, 0) for sides in product((-1, 1), repeat=len(keys)))
    assert found.crossings == min(fewest(build, homes) for homes in every)


def test_it_is_the_same_every_time() -> None:
    page = whole(made_by_hand(SMALL["sides"]))[0]
    assert [run.points for run in on_endless_paper(page, True).runs] == [run.points for run in on_endless_paper(page, True).runs]


# ------------------------------------------------------------------------------ the pieces


def test_rows_are_as_straight_as_they_can_be() -> None:  # oracle: all tops tried
    for heights, wanted in (([2, 2, 1], [[3], [3], [0]]), ([1, 3, 2], [[6, 7], [], [1, 5]]), ([2, 1, 2], [[0], [9], [4, 4]])):
        rows = 9

        def off(tops: tuple[int, ...], wanted: list[list[int]] = wanted) -> int:
            return sum(abs(top - want) for top, wants in zip(tops, wanted, strict=True) for want in wants)

        allowed = [
            tops for tops in product(range(rows), repeat=3)
            if all(tops[n] + heights[n] <= tops[n + 1] for n in (0, 1)) and tops[2] + heights[2] <= rows
        ]  # fmt: skip
        found = tuple(settled(heights, wanted, rows))
        assert found in allowed
        assert off(found) == min(map(off, allowed))


def channel_of(*nets: tuple[str, list[int], list[int]]) -> dict[str, list[Attach]]:
    """A channel by hand: net, rows towards the board, rows away from it."""
    return {
        net: [
            Attach(Node("n", "part", 3, 1, 1.0, [Port(net, row, "in")]), row, is_outer)
            for rows, is_outer in ((inner, False), (outer, True))
            for row in rows
        ]
        for net, inner, outer in nets
    }  # fmt: skip


def test_two_nets_that_change_places_take_one_crossing_and_one_jog() -> None:
    # by hand: rows 2 and 6 are swapped; whichever runs inside, one stub meets the other's row and steps aside
    found = routed(channel_of(("a", [2], [6]), ("b", [6], [2])))
    assert len(found.jogs) == 1
    assert found.count == 3
    assert {found.tracks["a"], found.tracks["b"]} == {2, 3}


def test_nets_in_one_order_do_not_cross() -> None:
    a, b = Trunk("a", (0,), (4,), 0, 4), Trunk("b", (2,), (6,), 2, 6)
    assert min(between(a, b), between(b, a)) == 0.0  # by hand: the lower one turns first
    found = routed(channel_of(("a", [0], [4]), ("b", [2], [6])))
    assert found.tracks["b"] < found.tracks["a"]


def test_nets_apart_share_a_track_and_straight_ones_need_none() -> None:
    found = routed(channel_of(("a", [0], [3]), ("b", [6], [9]), ("c", [12], [12])))
    assert found.tracks["a"] == found.tracks["b"]
    assert found.count == 1
    assert "c" not in found.tracks
