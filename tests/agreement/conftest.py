"""Helpers for tests that hold our facts against data nobody here wrote.

The data are read from the installed package when the test runs.  Where the package is missing the test is skipped,
except in continuous integration (``CI=true``), where it fails: silence must not look like agreement.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Mapping
from importlib import metadata
from pathlib import Path

import pytest


def _missing(what: str, how: str) -> None:
    text = f"{what} is not installed. Install it with: {how}"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(text)
    pytest.skip(text)


@pytest.fixture(scope="session")
def debian_text() -> Callable[[str, str], str]:
    """Text of a file that a Debian package puts on the disk: ``debian_text(package, path)``."""

    def read(package: str, path: str) -> str:
        if not Path(path).is_file():
            _missing(f"Debian package {package} ({path})", f"apt-get install {package}")
        return Path(path).read_text(encoding="utf-8", errors="replace")

    return read


@pytest.fixture(scope="session")
def package_folder() -> Callable[[str, str], Path]:
    """Path of a file or folder inside an installed Python package: ``package_folder(distribution, path)``."""

    def find(distribution: str, path: str) -> Path:
        try:
            found = Path(str(metadata.distribution(distribution).locate_file(path)))
        except metadata.PackageNotFoundError:
            found = Path("/nonexistent")
        if not found.exists():
            _missing(f"Python package {distribution} ({path})", f"pip install {distribution}")
        return found

    return find


@pytest.fixture(scope="session")
def definitions(package_folder: Callable[[str, str], Path]) -> dict[str, tuple[str, list[tuple[str, str]]]]:
    """Board definitions of circuitpython-stubs by name: the port they belong to, and printed names with the pad behind each."""
    found = {}
    for path in sorted(package_folder("circuitpython-stubs", "board_definitions").glob("*/__init__.pyi")):
        text = path.read_text(encoding="utf-8")
        port = re.search(r"^ - port: (\S+)", text, re.MULTILINE)
        names = re.findall(r"^(\w+): microcontroller\.Pin\s+# (\w+)", text, re.MULTILINE)
        assert port, path
        found[path.parent.name] = (port[1], [(name, _pad(pad, port[1])) for name, pad in names])
    return found


def _pad(name: str, port: str) -> str:
    """A pad as its maker writes it: P0_13 is P0.13, and PB03 is PB3 on an STM32."""
    if port == "stm":
        return re.sub(r"^(P[A-Z])0(\d)$", r"\1\2", name)
    return re.sub(r"^P(\d)_(\d\d)$", r"P\1.\2", name)


@pytest.fixture(scope="session")
def settle() -> Callable[[Iterable[str], Mapping[str, str]], None]:
    """Fail on every disagreement nobody explained and on every explanation nobody needs any more."""

    def check(found: Iterable[str], explained: Mapping[str, str]) -> None:
        disagreements = set(found)
        unexplained = sorted(disagreements - set(explained))
        stale = sorted(set(explained) - disagreements)
        assert not unexplained, "unexplained disagreements:\n  " + "\n  ".join(unexplained)
        assert not stale, "explanations no longer needed:\n  " + "\n  ".join(stale)

    return check
