"""Writes firmware for plans, has all of it run in one Node process, and hands back what was recorded."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
PACKAGE = "@micropython/micropython-webassembly-pyscript"


def missing() -> str:
    """What must be installed before firmware can be run; empty if all is there."""
    if shutil.which("node") is None:
        return "Node is not installed."
    if not (FOLDER / "node_modules" / PACKAGE / "micropython.mjs").is_file():
        return "The MicroPython runtime is not installed. Install it with: npm ci --prefix tests/emulated"
    return ""


def run(jobs: list[dict[str, Any]]) -> dict[str, Any]:
    """Records of all jobs by their id; the process is started once."""
    done = subprocess.run(["node", "run.mjs"], cwd=FOLDER, input=json.dumps(jobs), capture_output=True, text=True, timeout=240, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    records: dict[str, Any] = json.loads(done.stdout)
    return records
