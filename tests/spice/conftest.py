"""ngspice judges our circuits: without it these tests are skipped, except in continuous integration, where they fail."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import ngspice


@pytest.fixture(autouse=True)
def _ngspice() -> None:
    if ngspice.available():
        return
    text = "Debian package ngspice is not installed. Install it with: apt-get install ngspice"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    pytest.skip(text)
