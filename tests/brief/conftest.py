from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.errors import Fault, InputError
from pinwright.facts.loader import Catalogue

FILE = "tank.toml"


@pytest.fixture(scope="session")
def healthy() -> dict[str, str]:
    """Invented briefs without a fault, by name."""
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(Path(__file__).parent.glob("healthy/*.toml"))}


@pytest.fixture
def faults(catalogue: Catalogue) -> Callable[[str], list[Fault]]:
    """Faults of a brief given as text."""

    def read(text: str) -> list[Fault]:
        try:
            parse_brief(text, FILE, catalogue)
        except InputError as error:
            return list(error.faults)
        return []

    return read
