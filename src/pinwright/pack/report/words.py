"""Small words every section uses: numbers with their noun, lists of names, citations."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Protocol

from pinwright.facts.model import Source
from pinwright.pack.drawing import clean
from pinwright.pack.report.content import Name

__all__ = ["Cited", "cited", "counted", "listed", "sentence"]


class Cited(Protocol):
    """Anything that names its source."""

    @property
    def src(self) -> str:
        """Id of the document."""

    @property
    def where(self) -> str:
        """Place in it."""

    @property
    def seen(self) -> str:
        """Whether that place was read."""


def counted(count: int, one: str, many: str = "") -> str:
    """A number with its noun.

    Parameters
    ----------
    count : how many [-]
    one, many : the noun for one and for several [-]

    >>> counted(1, "part"), counted(0, "part")
    ('1 part', '0 parts')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: Iterable[Name]) -> tuple[str | Name, ...]:
    """Names as a list in a sentence.

    Parameters
    ----------
    names : in their order [-]

    >>> listed([Name("a"), Name("b"), Name("c")])
    (Name(text='a'), ', ', Name(text='b'), ' and ', Name(text='c'))
    """
    all_names = list(names)
    said: list[str | Name] = []
    for number, name in enumerate(all_names):
        if number:
            said.append(" and " if number == len(all_names) - 1 else ", ")
        said.append(name)
    return tuple(said)


def cited(sources: Mapping[str, Source], item: Cited) -> str:
    """Document and place of a claim, marked where it is recalled; empty where it names none.

    Parameters
    ----------
    sources : documents by id [-]
    item : the claim [-]
    """
    if not item.src:
        return ""
    source = sources.get(item.src.split(";")[0].strip())
    title = f"{source.title}{', ' + source.revision if source.revision else ''}" if source is not None else item.src
    return clean(f"{title}{', ' + item.where if item.where else ''}{' (recalled)' if item.seen == 'memory' else ''}")


def sentence(words: str) -> str:
    """Words as a sentence: a capital first, a full stop last.

    Parameters
    ----------
    words : any text [-]

    >>> sentence("fails ON"), sentence("Read it!")
    ('Fails ON.', 'Read it!')
    """
    words = words.strip()
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '!', '?')) else '.'}"
