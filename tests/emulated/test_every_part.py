"""Every part of the catalogue by itself, each on the next board in turn: its firmware runs, whatever its lines ask."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from itertools import cycle
from pathlib import Path

import emulator
import plans
import pytest

from pinwright.brief.reader import parse_brief
from pinwright.errors import InputError
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import prepare
from pinwright.pack.firmware.micropython import micropython_source
from pinwright.pack.firmware.program import program_of
from pinwright.planning import plan_job

BOARDS = (
    "esp32-devkitc-v4", "raspberry-pi-pico", "stm32f411ce-40pin", "nano-33-iot", "feather-nrf52840-express", "esp12f-30pin",
    "esp32-c3-devkitc-02",
)  # fmt: skip
"""One of each port, and one whose sleep differs."""


def test_every_part_runs(tmp_path: Path) -> None:
    text = emulator.missing()
    if text and os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    if text:
        pytest.skip(text)
    catalogue = load_catalogue()
    jobs = []
    for (kind, part), board in zip(sorted(catalogue.parts.items()), cycle(BOARDS), strict=False):
        optional = ", ".join(f'"{line.name}"' for line in part.line if line.optional)
        brief = f'title = "One part"\n[use]\nsleeping = true\nwake_every = "10 min"\n[board]\nonly = ["{board}"]\n'
        brief += f'[[part]]\nname = "it"\nkind = "{kind}"\nconnect = [{optional}]\n'
        try:
            job = prepare(parse_brief(brief, "part.toml", catalogue), catalogue)
        except InputError:  # it has no wire to the controller
            continue
        for plan in plan_job(job).usable:
            files = micropython_source(program_of(plan, job))
            folder = tmp_path / kind
            folder.mkdir()
            for name, source in files.items():
                ast.parse(source)
                (folder / name).write_text(source)
            jobs.append({"id": kind, "files": files, "world": plans.world(plan, job, plans.port_of(plan)) | {"turns": 3}})
    records = emulator.run(jobs)
    assert len(records) > 150
    assert {kind: record["error"] for kind, record in records.items() if record["error"]} == {}
    for command in (["check", "--select", "E,F,W", "--line-length", "100"], ["format", "--check", "--line-length", "98"]):
        done = subprocess.run(
            [sys.executable, "-m", "ruff", command[0], "--isolated", *command[1:], str(tmp_path)],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout[-2000:]
