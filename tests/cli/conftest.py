"""Run the commands as a maker would: in this process for speed, or as a process of their own."""

from __future__ import annotations

import functools
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from pinwright.cli.main import main
from pinwright.facts import loader

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = ROOT / "examples"
COMMAND = [sys.executable, "-m", "pinwright.cli.main"]

_load_catalogue = loader.load_catalogue

Run = Callable[..., Result]


def _no_accident(words: str) -> None:
    assert "Traceback" not in words
    assert "a fault of Pinwright" not in words
    assert "\x1b" not in words


@pytest.fixture(autouse=True)
def _load_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands in this process share one reading of each catalogue."""
    monkeypatch.setattr(loader, "load_catalogue", lambda folders=(): _loaded(tuple(folders)))


@functools.cache
def _loaded(folders: tuple[Path, ...]) -> loader.Catalogue:
    return _load_catalogue(folders)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command from the project's folder; whatever it does, it must not crash nor send escape codes."""

    def invoke(*args: object, code: int | None = None) -> Result:
        monkeypatch.chdir(ROOT)
        result = CliRunner().invoke(main, [str(arg) for arg in args])
        assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
        _no_accident(result.stdout + result.stderr)
        assert result.exit_code in (0, 1, 2)
        assert code is None or result.exit_code == code, result.output
        return result

    return invoke


@pytest.fixture
def run_json(run: Run) -> Callable[..., dict[str, Any]]:
    """Run a command with ``--json``: one document on stdout and nothing else there."""

    def invoke(*args: object, code: int = 0) -> dict[str, Any]:
        return json.loads(run(*args, "--json", code=code).stdout, parse_constant=_no_constant)

    return invoke


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} is not JSON")


@pytest.fixture
def process() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Run a command as a process of its own, its output in pipes."""

    def invoke(*args: object, **env: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*COMMAND, *map(str, args)], cwd=ROOT, env=environment(**env), capture_output=True, encoding="utf-8", timeout=60, check=False
        )

    return invoke


def environment(**env: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name not in ("FORCE_COLOR", "NO_COLOR", "PYTHONIOENCODING")}
    return kept | {"PYTHONPATH": str(ROOT / "src"), "PYTHONUTF8": "1"} | env


@pytest.fixture
def starter(tmp_path: Path, run: Run) -> Path:
    """What ``pinwright new`` writes."""
    path = tmp_path / "starter.toml"
    run("new", path, code=0)
    return path


@pytest.fixture
def brief(tmp_path: Path) -> Callable[[str], Path]:
    """A brief of one's own (invented)."""

    def write(words: str, name: str = "mine.toml") -> Path:
        path = tmp_path / name
        path.write_text(words, encoding="utf-8")
        return path

    return write


@pytest.fixture
def assert_narrow() -> Callable[[str], None]:
    """Every line of a text fits into 80 columns."""

    def check(words: str) -> None:
        wide = [line for line in words.splitlines() if cell_len(line.rstrip()) > 80]
        assert not wide

    return check
