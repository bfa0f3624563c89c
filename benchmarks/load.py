"""Loading the whole catalogue in a fresh process, against a process that does nothing."""

from __future__ import annotations

import tempfile

from common import Result, Row, alternate, byte_code, say

__all__ = ["measure"]

_PROGRAMS = {
    "nothing": ("-c", "pass"),
    "import": ("-c", "import pinwright.facts.loader, msgspec"),
    "kept copy": ("-c", "from pinwright.facts.loader import load_catalogue; load_catalogue()"),
    "TOML": ("-c", "from pinwright.facts.loader import fact_files, read_files; read_files(fact_files())"),
}
_WORDS = {
    "import": "import of the loader alone",
    "kept copy": "whole catalogue from its kept copy",
    "TOML": "whole catalogue from TOML, checked",
}


def measure(quick: bool) -> Result:
    """Three ways of loading."""
    byte_code()
    say("facts: loading the catalogue")
    with tempfile.TemporaryDirectory() as folder:
        taken = alternate(_PROGRAMS, 2 if quick else 7, {"PINWRIGHT_CACHE": folder})
    rows = tuple(Row("facts", words, taken[name] / taken["nothing"], "x python -c pass") for name, words in _WORDS.items())
    return Result(rows, {"median_s": taken})
