"""Property: every part of the catalogue can be wired to at least one board of it, alone, with and without its optional lines."""

from __future__ import annotations

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Part
from pinwright.fitting.candidates import candidates
from pinwright.fitting.lines import expand
from pinwright.fitting.nets import join
from pinwright.fitting.places import BoardView, view
from pinwright.fitting.plan import fit
from pinwright.fitting.setting import Setting

CATALOGUE = load_catalogue()
VIEWS = [view(board, CATALOGUE) for board in sorted(CATALOGUE.boards.values(), key=lambda board: board.id)]

WITH_LINES = [part for part in CATALOGUE.parts.values() if part.line]
WITH_OPTIONAL_LINES = [part for part in WITH_LINES if any(line.optional for line in part.line)]


def is_carried(part: Part, connect: tuple[str, ...], views: list[BoardView] = VIEWS) -> bool:
    names = ", ".join(f'"{name}"' for name in connect)
    brief = f'title = "One part"\n[[part]]\nname = "it"\nkind = "{part.id}"\nconnect = [{names}]\n'
    nets = join(expand(parse_brief(brief, "one.toml", CATALOGUE), CATALOGUE))
    return any(fit(candidates(board, nets, Setting()), board.board.cost_class) is not None for board in views)


@pytest.mark.parametrize("part", WITH_LINES, ids=lambda part: part.id)
def test_part_alone_fits_a_board(part: Part) -> None:
    assert is_carried(part, ())


@pytest.mark.parametrize("part", WITH_OPTIONAL_LINES, ids=lambda part: part.id)
def test_part_with_all_its_optional_lines_fits_a_board(part: Part) -> None:
    assert is_carried(part, tuple(line.name for line in part.line if line.optional))


def test_part_that_asks_too_much_is_refused() -> None:
    # the part with most lines against the board with fewest pins
    smallest = [min(VIEWS, key=lambda board: len(board.places))]
    part = max(WITH_LINES, key=lambda part: sum(line.count for line in part.line))
    assert not is_carried(part, tuple(line.name for line in part.line if line.optional), smallest)
