"""The timeline as a drawing: well-formed whatever names it holds, readable without colour (behaviour)."""

from __future__ import annotations

import itertools
from xml.etree import ElementTree

import pytest

from pinwright.fitting.timeline import Cell, Row
from pinwright.pack.timeline_svg import timeline_svg
from pinwright.powerup.phases import Stretch
from pinwright.powerup.proof import Proof

SVG = "{http://www.w3.org/2000/svg}"
VERDICTS = ("off", "on", "undefined", "pulses", "obeys")
HOSTILE = ["<b>&\"'", "a\nb\t\x07", "😀 🚀", "שלום", "x" * 200, "]]>", "int", "--><script>"]


def row(line: str, verdicts: tuple[str, ...] = VERDICTS) -> Row:
    phases = ("reset", "boot", "set-up", "running", "upload")
    cells = tuple(
        Cell(phase, verdict, "hi-Z", (Proof(Stretch(phase, "hi-Z"), None, "off", f"because of {line}"),), ("a document",))  # type: ignore[arg-type]
        for phase, verdict in zip(phases, verdicts, strict=False)
    )
    return Row(line, "GP1", "must stay low", cells)


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_makes_a_well_formed_drawing(name: str) -> None:
    root = ElementTree.fromstring(timeline_svg(name, name, [row(name)]))
    assert root.tag == f"{SVG}svg"
    assert not root.findall(f".//{SVG}script")
    assert root.find(f"{SVG}title") is not None
    assert root.find(f"{SVG}desc") is not None


def test_every_verdict_is_told_by_a_word_and_a_pattern_of_its_own() -> None:
    root = ElementTree.fromstring(timeline_svg("t", "b", [row("pump.IN")]))
    words = {text.text for text in root.iter(f"{SVG}text")}
    assert {"off", "ON", "undefined", "pulses", "firmware"} <= words
    fills = {rect.get("fill") for group in root.iter(f"{SVG}g") if group.find(f"{SVG}title") is not None for rect in group[1:2]}
    assert len(fills) == len(VERDICTS)  # cells that mean different things never look alike, not even in grey


def test_every_cell_carries_its_proof() -> None:
    root = ElementTree.fromstring(timeline_svg("t", "b", [row("pump.IN"), row("lamp.LED")]))
    titles = [title.text or "" for group in root.iter(f"{SVG}g") if (title := group.find(f"{SVG}title")) is not None]
    assert len(titles) == 2 * len(VERDICTS)
    assert all("because of" in title for title in titles)


def test_rows_do_not_overlap_and_words_stay_in_their_cells() -> None:
    rows = [row(f"part {number}.LINE") for number in range(40)]
    root = ElementTree.fromstring(timeline_svg("t", "b", rows))
    height = float(root.get("height", "0"))
    cells = [group[1] for group in root.iter(f"{SVG}g") if group.find(f"{SVG}title") is not None]
    tops = sorted({float(cell.get("y", "0")) for cell in cells})
    assert len(tops) == 40
    assert all(below - above >= float(cells[0].get("height", "0")) for above, below in itertools.pairwise(tops))
    assert tops[-1] + 34 < height
    for group in root.iter(f"{SVG}g"):
        text = group.find(f"{SVG}text")
        if group.find(f"{SVG}title") is not None and text is not None:
            # 13 px letters are at most 9 px wide on average (common practice, no source)
            assert float(text.get("x", "0")) + 8.2 * len(text.text or "") <= float(group[1].get("x", "0")) + float(
                group[1].get("width", "0")
            )
