"""``pinwright new``: the starter brief (behaviour)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


def test_new_plans_at_once_and_is_read_without_fault(starter: Path, run):
    planned = run("plan", starter, "--board", "raspberry-pi-pico", code=0)
    assert planned.stderr == ""
    assert "Proved: no other choice of pins on this board is better." in planned.stdout


def test_new_says_what_was_written_and_what_next(tmp_path: Path, run):
    path = tmp_path / "my device.toml"
    assert run("new", path, code=0).stdout == f"Wrote {path}. Edit it, then run: pinwright plan '{path}'\n"


def test_new_never_overwrites_unless_forced(starter: Path, run):
    starter.write_text("# my own words\n", encoding="utf-8")
    refused = run("new", starter, code=2)
    assert refused.stdout == ""
    assert "already there" in refused.stderr
    assert "--force" in refused.stderr
    assert starter.read_text(encoding="utf-8") == "# my own words\n"
    run("new", starter, "--force", code=0)
    assert "[[part]]" in starter.read_text(encoding="utf-8")


def test_new_json(tmp_path: Path, run_json):
    path = tmp_path / "brief.toml"
    assert run_json("new", path) == {"contract": 1, "written": str(path)}
    assert path.exists()


def test_new_into_a_folder_that_is_not_there(tmp_path: Path, run):
    result = run("new", tmp_path / "nowhere" / "brief.toml", code=2)
    assert "Cannot be written: its folder is not there." in result.stderr


def test_new_onto_a_folder(tmp_path: Path, run):
    run("new", tmp_path, code=2)
    run("new", "--force", tmp_path, code=2)
    assert tmp_path.is_dir()


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder nobody can write, root neither")
def test_new_into_a_folder_nobody_can_write(run):
    result = run("new", "/proc/brief.toml", code=2)
    assert "Cannot be written" in result.stderr


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_new_into_a_locked_folder(tmp_path: Path, run):
    tmp_path.chmod(0o500)
    assert "Cannot be written: Permission denied." in run("new", tmp_path / "brief.toml", code=2).stderr


def test_new_with_a_name_that_would_command_the_terminal(tmp_path: Path, run):
    assert "\\x1b[31m" in run("new", tmp_path / "a\x1b[31m.toml", code=0).stdout
