from __future__ import annotations

import signal

import pytest

from pinwright.facts.loader import Catalogue, load_catalogue

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # started in the background of a script: Ctrl-C must reach what is tested
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue()
