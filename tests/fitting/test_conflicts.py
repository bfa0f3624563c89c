"""Refusals: the wishes named conflict, and leaving out any one of them resolves it (kind: property)."""

from __future__ import annotations

import pytest
from briefs import random_brief

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue
from pinwright.fitting.candidates import Candidates, candidates
from pinwright.fitting.conflict import explain_conflict, minimal_conflict, wishes_feasible
from pinwright.fitting.places import view
from pinwright.fitting.rank import Job, prepare
from pinwright.fitting.solver import is_feasible
from pinwright.fitting.wishes import wishes_of


def _found(job: Job, board: str) -> Candidates:
    return candidates(view(job.catalogue.boards[board], job.catalogue), job.nets, job.setting)


BOARDS = ("esp12f-30pin", "esp01s", "atmega328p-narrow-30pin", "esp32-c3-devkitm-1", "raspberry-pi-pico", "esp32-wroom32-30pin")


@pytest.mark.parametrize("board", BOARDS)
def test_a_conflict_is_sufficient_and_minimal(board: str, catalogue: Catalogue) -> None:
    refused = 0
    for seed in range(40):
        job = prepare(random_brief(seed, 40, catalogue), catalogue)
        found = _found(job, board)
        if is_feasible(found.problem()[0]):
            continue
        refused += 1
        everything = [wish.id for wish in wishes_of(found, job.settings)]
        core, _ = minimal_conflict(found, everything)
        assert not wishes_feasible(found, core, everything), (board, seed)
        for wish in core:
            assert wishes_feasible(found, [w for w in core if w != wish], everything), (board, seed, wish)
    assert refused > 3


def test_no_smaller_set_conflicts_where_that_is_claimed(catalogue: Catalogue) -> None:
    # Kind: oracle.  Every pair and every single wish is tried.
    import itertools

    checked = 0
    for seed in range(60):
        job = prepare(random_brief(seed, 14, catalogue), catalogue)
        found = _found(job, "esp12f-30pin")
        if is_feasible(found.problem()[0]):
            continue
        everything = [wish.id for wish in wishes_of(found, job.settings)]
        core, smallest = minimal_conflict(found, everything)
        if smallest and 1 < len(core) <= 3:
            checked += 1
            for size in range(1, len(core)):
                for subset in itertools.combinations(everything, size):
                    assert wishes_feasible(found, subset, everything), (seed, subset)
    assert checked > 2


def test_the_chain_speaks_of_the_brief_and_the_facts(catalogue: Catalogue) -> None:
    text = 'title = "Three soils"\n[use]\nradio = "wifi"\n' + "".join(
        f'[[part]]\nname = "{name}"\nkind = "soil-moisture-capacitive"\n' for name in ("north", "south", "east")
    )
    job = prepare(parse_brief(text, "soils.toml", catalogue), catalogue)
    conflict = explain_conflict(_found(job, "esp12f-30pin"), job.settings)
    assert [wish for wish, _ in conflict.wishes] == ["line:east.AOUT", "line:north.AOUT"]
    assert conflict.smallest
    chain = " ".join(conflict.chain)
    assert "east.AOUT and north.AOUT each need an analog input (soils.toml:11, soils.toml:5)." in chain
    assert "cannot measure a voltage" in chain
    assert chain.endswith("only A0 (TOUT) of the 30-pin board with ESP-12F module and USB bridge is left for 2 lines.")


def test_one_frequency_at_a_time_is_named(catalogue: Catalogue) -> None:
    text = """title = "Flap and light"
[[part]]
name = "flap"
kind = "servo-hobby"
[[part]]
name = "light"
kind = "led-strip-12v-dimming"
"""
    job = prepare(parse_brief(text, "flap.toml", catalogue), catalogue)
    conflict = explain_conflict(_found(job, "esp12f-30pin"), job.settings)
    assert {wish for wish, _ in conflict.wishes} == {"line:flap.SIG", "line:light.GATE"}
    assert any("one frequency at a time" in step for step in conflict.chain)


def test_radio_is_named_when_giving_it_up_would_help(catalogue: Catalogue) -> None:
    # ESP32: the second converter belongs to the radio while Wi-Fi is on (ESP-IDF guide, ADC).
    text = 'title = "Seven pots"\n[use]\nradio = "wifi"\n[[part]]\nname = "pot"\nkind = "potentiometer-10k"\ncount = 7\n'
    job = prepare(parse_brief(text, "pots.toml", catalogue), catalogue)
    conflict = explain_conflict(_found(job, "esp32-wroom32-30pin"), job.settings)
    ids = [wish for wish, _ in conflict.wishes]
    assert "radio" in ids
    assert len(ids) == 8
    assert any("which Wi-Fi takes away while it is on" in step for step in conflict.chain)


def test_the_same_conflict_is_told_in_every_process() -> None:
    # property: of crowds equally small the same is named, whatever the order of sets in a process
    import os
    import subprocess
    import sys
    from pathlib import Path

    root = Path(__file__).parents[2]
    code = (
        "import sys; from pathlib import Path; from pinwright.planning import open_job, plan_job\n"
        "for plan in plan_job(open_job(Path(sys.argv[1]))).ranking.boards:\n    print(plan.conflict.wishes if plan.conflict else '')"
    )
    said = [
        subprocess.run(
            [sys.executable, "-c", code, str(root / "examples" / "oven-wall.toml")],
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(root / "src")},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    ]
    assert said[0].strip()
    assert said[0] == said[1] == said[2]
