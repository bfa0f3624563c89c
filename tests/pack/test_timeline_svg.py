"""The timeline as a drawing: well-formed whatever names it holds, readable without colour (behaviour)."""

from __future__ import annotations

import itertools
import re
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pinwright.fitting.timeline import Cell, Row
from pinwright.pack.timeline_svg import timeline_drawing, timeline_svg
from pinwright.powerup.phases import PHASES, Stretch
from pinwright.powerup.proof import Proof

sys.path.insert(0, str(Path(__file__).parent))

from drawn import HOSTILE, SVG, inks, outside, parsed, touching

VERDICTS = ("off", "on", "undefined", "pulses", "obeys")


def row(line: str, verdicts: tuple[str, ...] = VERDICTS, does: str = "hi-Z") -> Row:
    phases = ("reset", "boot", "set-up", "running", "upload") if len(verdicts) == 5 else PHASES
    cells = tuple(
        Cell(phase, verdict, does, (Proof(Stretch(phase, "hi-Z"), None, "off", f"because of {line}"),), ("a document",))  # type: ignore[arg-type]
        for phase, verdict in zip(phases, verdicts, strict=False)
    )
    return Row(line, "GP1", "must stay low", cells)


def cells_of(root: ElementTree.Element) -> list[ElementTree.Element]:
    return [group for group in root.iter(f"{SVG}g") if group.find(f"{SVG}title") is not None]


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_makes_a_well_formed_drawing(name: str) -> None:
    root = ElementTree.fromstring(timeline_svg(name, name, [row(name)]))
    assert root.tag == f"{SVG}svg"
    assert not root.findall(f".//{SVG}script")
    assert root.find(f"{SVG}title") is not None
    assert root.find(f"{SVG}desc") is not None
    assert touching(root) == []
    assert outside(root) == []


def test_every_verdict_is_told_by_a_word_and_a_look_of_its_own() -> None:
    root = parsed(timeline_drawing("t", "b", [row("pump.IN"), row("sensor.OUT", ("-",))]))
    words = {ink.words for ink in inks(root)}
    assert {"off", "ON", "undefined", "pulses", "firmware"} <= words
    looks = {(group[1].get("class"), group[1].get("fill"), group[1].get("stroke-dasharray")) for group in cells_of(root)}
    assert len(looks) == len(VERDICTS) + 1  # cells that mean different things never look alike, not even in grey
    patterned = {fill for _, fill, _ in looks if fill}
    assert len(patterned) == 3
    assert all(root.find(f".//{SVG}pattern[@id='{fill[5:-1]}']") is not None for fill in patterned)


def test_every_cell_carries_its_proof() -> None:
    root = ElementTree.fromstring(timeline_svg("t", "b", [row("pump.IN"), row("lamp.LED")]))
    titles = [group.findtext(f"{SVG}title") or "" for group in cells_of(root)]
    assert len(titles) == 2 * len(VERDICTS)
    assert all("because of" in title for title in titles)


def test_rows_do_not_overlap_and_words_stay_in_their_cells() -> None:
    rows = [row(f"part {number}.LINE") for number in range(40)]
    drawing = timeline_drawing("t", "b", rows)
    root = parsed(drawing)
    cells = [group[1] for group in cells_of(root)]
    tops = sorted({float(cell.get("y", "0")) for cell in cells})
    assert len(tops) == 40
    assert all(below - above >= float(cells[0].get("height", "0")) for above, below in itertools.pairwise(tops))
    assert tops[-1] + float(cells[0].get("height", "0")) < drawing.height
    assert touching(root) == []
    for group in cells_of(root):
        field = group[1]
        for ink in inks(group):
            assert ink.x0 >= float(field.get("x", "0"))
            assert ink.x1 <= float(field.get("x", "0")) + float(field.get("width", "0"))


@pytest.mark.parametrize("does", ["hi-Z", "hi-Z, pulled up, low", "pulled down, noisy, high, low, pulled up"])
def test_all_phases_fit_a_landscape_page(does: str) -> None:
    """Letter is 279.4 mm wide, A4 297 mm (ISO 216); 10 mm of margin each."""
    drawing = timeline_drawing("t", "b", [row("lamp.LED", ("-",) * 7, does), row("pump.IN", ("off",) * 7)])
    assert drawing.width <= 259.0
    root = parsed(drawing)
    assert touching(root) == []
    assert outside(root) == []


def test_two_drawings_in_one_page_share_no_id_and_no_bare_style() -> None:
    made = [timeline_drawing("t", "b", [row("pump.IN")], name=name).markup() for name in ("one", "two")]
    ids = [set(re.findall(r' id="([^"]*)"', markup)) for markup in made]
    assert not ids[0] & ids[1]
    for selector in re.findall(r"(?:^|[}\n])([^{}@]+)\{", re.search(r"<style>(.*?)</style>", made[0], re.DOTALL)[1]):  # type: ignore[index]
        assert ".pw-" in selector  # nothing of it touches a page around
