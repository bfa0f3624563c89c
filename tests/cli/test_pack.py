"""``pinwright pack`` as a maker uses it: a folder to open, refusals in words, nothing of one's own lost (behaviour)."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

SILO = "examples/flour-silo.toml"
WANTED = ("report.html", "report.md", "plan.json", "pack.json", "README.txt", "lists/wires.csv", "lists/parts.csv", "bench/bench.json")
NO_BOARD = "examples/tasting-bench.toml"


@pytest.fixture(scope="module")
def silo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack, written once; tests copy it."""
    from click.testing import CliRunner

    from pinwright.cli.main import main

    folder = tmp_path_factory.mktemp("cli") / "silo"
    brief = Path(__file__).parent.parent.parent / SILO
    result = CliRunner().invoke(main, ["pack", str(brief), "-o", str(folder), "--no-pdf"])
    assert result.exit_code == 0, result.output
    return folder


@pytest.fixture
def mine(silo: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(silo, tmp_path / "mine"))


def test_it_says_what_was_written_and_what_to_open_first(run, tmp_path: Path):
    folder = tmp_path / "silo"
    said = run("pack", SILO, "-o", folder, "--no-pdf", code=0).stdout
    count = sum(path.is_file() for path in folder.rglob("*"))
    assert f"Wrote {count - 1} files into {folder}." in said  # pack.json counts them
    assert f"Open {folder / 'report.html'} first." in said
    assert "cautions: read them before you buy or join anything" in said
    for name in (*WANTED, *(f"drawings/{drawing}.svg" for drawing in ("board", "power-up", "supply"))):
        assert (folder / name).stat().st_size > 100, name
    assert list(folder.glob("firmware/*/*"))
    assert not (folder / "report.pdf").exists()


def test_json(run_json, mine: Path):
    shape = run_json("pack", SILO, "-o", mine, "--no-pdf")
    assert shape["written"] == str(mine)
    assert shape["open_first"] == "report.html"
    assert {file["path"] for file in shape["files"]} == {
        path.relative_to(mine).as_posix() for path in mine.rglob("*") if path.is_file() and path.name != "pack.json"
    }


def test_another_board(run_json, tmp_path: Path):
    shape = run_json("pack", SILO, "-o", tmp_path / "silo", "--board", "raspberry-pi-pico-w", "--no-pdf")
    assert shape["board"] == "raspberry-pi-pico-w"


def test_a_refused_plan_is_told_as_by_timeline(run, tmp_path: Path):
    ours = run("pack", NO_BOARD, "-o", tmp_path / "out", code=1)
    assert ours.stdout == run("timeline", NO_BOARD, code=1).stdout
    assert not (tmp_path / "out").exists()


def test_a_refused_plan_as_json_is_that_of_plan(run_json, tmp_path: Path):
    assert run_json("pack", NO_BOARD, "-o", tmp_path / "out", code=1)["boards"][0]["feasible"] is False


def test_edited_files_are_kept_until_forced(run, mine: Path):
    (mine / "report.md").write_text("my own words", encoding="utf-8")
    (mine / "notes.txt").write_text("mine", encoding="utf-8")
    refused = run("pack", SILO, "-o", mine, "--no-pdf", code=2)
    assert str(mine / "report.md") in refused.stderr
    assert "You have edited this file" in refused.stderr
    assert "--force" in refused.stderr
    assert refused.stdout == ""
    assert (mine / "report.md").read_text(encoding="utf-8") == "my own words"
    run("pack", SILO, "-o", mine, "--no-pdf", "--force", code=0)
    assert (mine / "report.md").read_text(encoding="utf-8") != "my own words"
    assert (mine / "notes.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("force", [(), ("--force",)])
def test_somebody_elses_folder_is_refused_before_any_work(run, tmp_path: Path, force: tuple[str, ...], monkeypatch: pytest.MonkeyPatch):
    from pinwright import planning

    monkeypatch.setattr(planning, "plan_job", lambda *_: pytest.fail("it was planned"))
    (tmp_path / "thesis.txt").write_text("years of work", encoding="utf-8")
    said = run("pack", SILO, "-o", tmp_path, *force, code=2).stderr
    assert "holds other things" in said


@pytest.mark.parametrize(
    "args", [("pack", SILO), ("pack", "-o", "x"), ("pack", SILO, "-o", "nowhere/at/all"), ("pack", SILO, "-o", "README.md")]
)
def test_wrong_use(run, args: tuple[str, ...]):
    run(*args, code=2)


def test_a_misspelt_board_gets_the_nearest_name(run, tmp_path: Path):
    assert "raspberry-pi-pico-w" in run("pack", SILO, "-o", tmp_path / "x", "--board", "raspberry-pi-picow", code=2).stderr


@pytest.mark.skipif(os.name != "posix", reason="needs signals")
def test_ctrl_c_leaves_nothing_half_written(tmp_path: Path):
    """Stopped at any moment there is a whole pack or none, and no hidden folder."""
    root = Path(__file__).parent.parent.parent
    for after_s in (0.5, 1.5, 3.0):
        command = [sys.executable, "-m", "pinwright.cli.main", "pack", SILO, "-o", str(tmp_path / "silo")]
        env = os.environ | {"PYTHONPATH": str(root / "src")}
        with subprocess.Popen(command, cwd=root, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
            time.sleep(after_s)
            process.send_signal(signal.SIGINT)
            _, said = process.communicate(timeout=60)
        assert "Traceback" not in said
        assert {path.name for path in tmp_path.iterdir()} <= {"silo"}
        if (tmp_path / "silo").exists():
            listed = json.loads((tmp_path / "silo" / "pack.json").read_text(encoding="utf-8"))["files"]
            assert all((tmp_path / "silo" / entry["path"]).exists() for entry in listed)
