from __future__ import annotations

import pytest

from pinwright.facts.loader import Catalogue, load_catalogue


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue()
