"""The report on paper: the PDF of the pack, and the page printed by a browser on A4 and on Letter."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tools

from pinwright.pack.drawing import clean

SIZES = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
"""Sides of a page [pt]   [ISO 216; ANSI/ASME Y14.1, both from memory]."""
EDGE_PT = 14.0
"""No word comes nearer to the edge of its page than this, about 5 mm: what usual printers reach."""


def assert_paper(printed: tools.Printed, size: str) -> None:
    """Every page is of this size, upright or turned; every word lies on its page."""
    short, long = SIZES[size]
    for wide, high in printed.pages:
        assert sorted((wide, high)) == pytest.approx([short, long], abs=1.0)
    for page, word, x0, y0, x1, y1 in printed.words:
        wide, high = printed.pages[page - 1]
        assert x0 >= EDGE_PT - 1, (page, word)
        assert y0 >= EDGE_PT - 1, (page, word)
        assert x1 <= wide - EDGE_PT + 1, (page, word)
        assert y1 <= high - EDGE_PT + 1, (page, word)


def squeezed(words: str) -> str:
    return re.sub(r"\s+", "", words)


def assert_content(printed: tools.Printed, build) -> None:
    text = squeezed(printed.text)
    assert squeezed(clean(build.title)) in text
    words = {squeezed(word) for _, word, *_ in printed.words}
    for wire in build.wires:
        assert str(wire.number) in words
    for placed in build.plan.placed:
        assert squeezed(clean(placed.line.id)) in text, placed.line.id
    for section in ("Cautionsfirst", "Theboard,andwhy", "Interfacecircuits", "Power-up", "Wiresandparts", "Benchsheet", "Sources"):
        assert section in text


@pytest.fixture
def printed(built, poppler) -> tools.Printed:
    path = built[1] / "report.pdf"
    assert path.exists(), "the program that prints, or its library, is missing"
    return tools.read_pdf(path)


def test_the_pdf_says_it_all_on_a4(built, printed: tools.Printed):
    assert_paper(printed, "A4")
    assert_content(printed, built[0])


def test_fonts_travel_with_the_pdf(printed: tools.Printed):
    assert printed.fonts
    assert all(re.search(r"\byes\s+(yes|no)\s+(yes|no)\s+\d", line) for line in printed.fonts)


def test_tables_repeat_their_heads(built, printed: tools.Printed):
    """The wire list is longer than a page: its head stands on every page it takes."""
    by_page: dict[int, list[str]] = {}
    for page, word, *_ in printed.words:
        by_page.setdefault(page, []).append(word)
    with_wires = [words for words in by_page.values() if words.count("AWG") > 3]
    assert len(with_wires) > 1
    for words in with_wires:
        assert {"from", "to", "net", "colour", "area", "gauge", "length", "note"} <= set(words)


@pytest.mark.parametrize("size", SIZES)
def test_a_browser_prints_the_page(small, browser, poppler, tmp_path: Path, size: str):
    page = (small[1] / "report.html").read_text(encoding="utf-8")
    copy = tmp_path / "print.html"
    # What the person chooses in the browser's own print window.
    wish = f"@page{{size:{size}}}@page turned{{size:{size} landscape}}"
    copy.write_text(page.replace("</style>", f"{wish}</style>", 1), encoding="utf-8")
    tools.chromium("--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'out.pdf'}", f"file://{copy}")
    done = tools.read_pdf(tmp_path / "out.pdf")
    assert_paper(done, size)
    assert_content(done, small[0])
