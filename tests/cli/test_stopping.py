"""Ctrl-C: soon over, no traceback, and what was found so far is kept (behaviour)."""

from __future__ import annotations

import contextlib
import json
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

from pinwright.cli.progress import terminal_reporter
from pinwright.cli.show_plan import show_plan
from pinwright.fitting.rank import Ranking
from pinwright.planning import PlanResult, open_job

from .conftest import COMMAND, ROOT, environment

# Stops itself at the given board, as if Ctrl-C were pressed there.
STOPPING = """
import os, signal, sys
from pinwright.fitting import rank
from pinwright.cli.main import main
plan_board, left = rank.plan_board, [int(sys.argv.pop(1))]
def stopping(job, board):
    left[0] -= 1
    if left[0] == -1:
        os.kill(os.getpid(), signal.SIGINT)
    return plan_board(job, board)
rank.plan_board = stopping
main()
"""


def stopped_at(board: int, *args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", STOPPING, str(board), "plan", *args],
        cwd=ROOT, env=environment(), capture_output=True, encoding="utf-8", timeout=60, check=False,
    )  # fmt: skip


def test_ctrl_c_keeps_what_it_has():
    done = stopped_at(15, "examples/flour-silo.toml", "--json")
    found = json.loads(done.stdout)
    assert f"Stopped after {len(found['boards'])} of {len(found['boards']) + len(found['unseen'])} boards" in done.stderr
    assert "Traceback" not in done.stderr
    assert found["boards"]
    assert found["unseen"]
    assert done.returncode == (0 if any(board["feasible"] for board in found["boards"]) else 1)


def test_ctrl_c_says_what_was_not_looked_at():
    done = stopped_at(15, "examples/flour-silo.toml")
    assert " boards looked at" in done.stdout
    assert "Not looked at: " in done.stdout
    assert "No board in question" not in done.stdout


def test_stopped_before_the_first_board_nobody_claims_that_no_board_can(catalogue, capsys):
    job = open_job(ROOT / "examples" / "flour-silo.toml", catalogue=catalogue)
    show_plan(PlanResult(Ranking(job, (), "cost class (indicative)", tuple(catalogue.boards)), {}, {}), 6, Path("flour-silo.toml"))
    terminal_reporter(quiet=True).stopped(0, 25)
    shown, told = capsys.readouterr()
    assert "Stopped before the first board was planned." in shown
    assert "can do this job" not in shown
    assert told == "Stopped after 0 of 25 boards; there is nothing to show yet.\n"


def test_ctrl_c_on_a_terminal_ends_soon(tmp_path: Path):
    ours, theirs = pty.openpty()
    child = subprocess.Popen(
        [*COMMAND, "plan", "examples/oven-wall.toml"], cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=theirs, encoding="utf-8"
    )
    os.close(theirs)
    progress = b""
    while b"planning 4 of" not in progress:
        progress += os.read(ours, 4096)
    child.send_signal(signal.SIGINT)
    start = time.monotonic()
    shown, _ = child.communicate(timeout=20)
    assert time.monotonic() - start < 5  # a busy machine; alone it takes a fraction of a second
    with contextlib.suppress(OSError):  # the other end is closed
        progress += os.read(ours, 65536)
    os.close(ours)
    assert b"Traceback" not in progress
    assert b"Stopped after " in progress
    assert "boards looked at" in shown
    assert child.returncode in (0, 1)
