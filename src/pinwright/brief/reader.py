"""Read a brief; find everything wrong with it in one go and say where, what, and what would be right."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pinwright.brief.toml_text import KeyPath, key_text, load_toml, read_text
from pinwright.errors import Fault, InputError
from pinwright.toml_lines import Lines

if TYPE_CHECKING:
    from pinwright.brief.model import Brief
    from pinwright.brief.shape import ShapeFault
    from pinwright.facts.loader import Catalogue

__all__ = ["BriefFile", "parse_brief", "read_brief"]

_MOST_FAULTS = 500


@dataclass(frozen=True, slots=True)
class BriefFile:
    """A brief with the places its values stand, so that reasons can point into it."""

    brief: Brief
    name: str
    lines: Lines

    def place(self, *path: str | int) -> str:
        """``file:line`` of a value, for reasons and findings."""
        line = self.lines.line(path)
        return self.name if line is None else f"{self.name}:{line}"


def read_brief(path: Path, catalogue: Catalogue) -> BriefFile:
    """Read a brief from a file.

    Parameters
    ----------
    path : the file [-]
    catalogue : boards and parts it may name [-]

    Raises
    ------
    InputError : the file cannot be read or has faults; all of them are listed.
    """
    return parse_brief(read_text(path), path.name, catalogue)


def parse_brief(text: str, name: str, catalogue: Catalogue) -> BriefFile:
    """Read a brief from text.

    Parameters
    ----------
    text : what stands in the file [-]
    name : how faults call the file [-]
    catalogue : boards and parts it may name [-]

    Raises
    ------
    InputError : the text has faults; all of them are listed, in the order of the file.
    """
    data, lines = load_toml(text, name)
    brief, faults = _judged(data, name, lines, catalogue)
    if faults:
        faults.sort(key=lambda fault: (fault.line or 0, fault.key))
        if len(faults) > _MOST_FAULTS:
            faults[_MOST_FAULTS:] = [Fault(name, faults[_MOST_FAULTS].line, "", "There are more faults than are shown here.")]
        raise InputError(faults)
    assert brief is not None
    return BriefFile(brief, name, lines)


def _judged(data: dict[str, Any], name: str, lines: Lines, catalogue: Catalogue) -> tuple[Brief | None, list[Fault]]:
    from pydantic import ValidationError

    from pinwright.brief.model import Brief
    from pinwright.brief.sense import sense_faults
    from pinwright.brief.shape import mended, shape_faults

    try:
        brief = Brief.model_validate(data)
    except ValidationError as error:
        shape = shape_faults(error, data)
        faults = [_placed(fault, name, lines) for fault in shape]
        try:
            rest = Brief.model_validate(mended(data, shape))
        except ValidationError:
            return None, faults  # too much is wrong to go on
        return None, faults + sense_faults(rest, name, lines, catalogue, _hurt(shape), _MOST_FAULTS + 1)
    return brief, sense_faults(brief, name, lines, catalogue, (), _MOST_FAULTS + 1)


def _placed(fault: ShapeFault, name: str, lines: Lines) -> Fault:
    line = lines.line(fault.path)
    return Fault(name, 1 if line is None else line, key_text(fault.path), fault.wrong, fault.right, fault.guess)


def _hurt(faults: list[ShapeFault]) -> set[KeyPath]:
    """Paths nothing can be said about: faulty values, and what a misspelt key was probably meant to be."""
    return {fault.path for fault in faults} | {fault.meant for fault in faults if fault.meant}
