"""The way to ngspice is shared with the tests of the interface circuits."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "spice"))

import ngspice


@pytest.fixture
def needs_ngspice() -> None:
    """Skip without the simulator; fail in continuous integration, where silence must not look like agreement."""
    if ngspice.available():
        return
    text = "Debian package ngspice is not installed. Install it with: apt-get install ngspice"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    pytest.skip(text)
