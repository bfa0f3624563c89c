"""Write files whole or not at all, and never over somebody's work unless asked to."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from pinwright.errors import Fault, InputError

__all__ = ["must_be_new", "write_new"]


def must_be_new(path: Path, force: bool = False) -> None:
    """Say before long work that its result could not be written.

    Parameters
    ----------
    path : where to [-]
    force : writing over what is there is wished [-]

    Raises
    ------
    InputError : the file exists already, or its folder does not.
    """
    if path.exists() and not force:
        raise InputError([Fault(str(path), None, "", "This file is already there.", "Choose another name or add --force.")])
    if not path.parent.is_dir():
        raise InputError([Fault(str(path), None, "", "Cannot be written: its folder is not there.", f"Make {path.parent} first.")])


def write_new(path: Path, text: str, force: bool = False) -> None:
    """Write a text file; never over a file that is there unless forced, never half a file.

    Parameters
    ----------
    path : where to [-]
    text : the whole content [-]
    force : write over what is there [-]

    Raises
    ------
    InputError : the file exists, or its folder cannot be written.
    """
    must_be_new(path, force)
    # The whole file first, then its name: nobody ever sees half a file.
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise InputError([Fault(str(path), None, "", f"Cannot be written: {error.strerror or error}.")]) from None
