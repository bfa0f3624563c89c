"""The field faults: briefs in ``briefs/``, what each must come out as in ``expected.toml``, invented boards in ``own/``."""

from __future__ import annotations

from pathlib import Path

import pytest

from pinwright.facts.loader import Catalogue, load_catalogue

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def with_own_boards() -> Catalogue:
    """The shipped catalogue and the boards invented for these tests."""
    catalogue = load_catalogue((HERE / "own",))
    assert not catalogue.faults
    return catalogue
