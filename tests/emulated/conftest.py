"""Written firmware is run: without Node and the runtime these tests are skipped, except in continuous integration, where they fail."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import emulator
import plans

collect_ignore = ["recorder.py"]
"""It runs in MicroPython only."""


@pytest.fixture(scope="session")
def runs() -> dict[str, plans.Run]:
    """Every brief on every board that runs MicroPython: the plan, the files, and what was recorded."""
    text = emulator.missing()
    if text and os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    if text:
        pytest.skip(text)
    return plans.runs()
