"""Commented files to start an entry of one's own with; they pass the check as they are."""

from __future__ import annotations

from pathlib import Path

__all__ = ["template_text"]

_FOLDER = Path(__file__).parent / "starting"


def template_text(what: str) -> str:
    """The starting file for a ``chip``, ``board`` or ``part``.

    Parameters
    ----------
    what : chip, board or part [-]
    """
    return (_FOLDER / f"{what}.toml").read_text(encoding="utf-8")
