"""The report as one page that needs nothing else: no address is fetched, no script runs, drawings stand in it as text.

All drawings share one sheet of styles and follow the reader's light or dark.  Every text is escaped by the template engine;
names stand in elements of their own direction.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from pinwright.pack.drawing import clean, style
from pinwright.pack.report.content import Code, Document, Figure, Listing, Name, Ref, Section, Table, Words, plain, walk

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

__all__ = ["LANDSCAPE_FROM_MM", "html_of", "is_landscape", "marked", "numbered", "shares", "sheet_of_styles"]

WIDE_FROM = 5
"""A table of this many columns may be wider than a small screen: it gets a scroll area of its own (our choice)."""
LANDSCAPE_FROM_MM = 188.0
"""A drawing wider than this is printed on a page turned round: A4 and Letter less margins [mm]."""
_RIGHT_TO_LEFT = re.compile(
    "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001eeff]"
    "(?:[^A-Za-z\u00c0-\u024f;:]*[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001eeff])?"
)
"""Words in scripts written from right to left, with what stands between them (Unicode blocks, from memory)."""


def html_of(document: Document) -> str:
    """The report as a page.

    Parameters
    ----------
    document : the report [-]
    """
    drawings = [block.drawing for block in walk(document.sections) if isinstance(block, Figure)]
    more = dict.fromkeys(drawing.more_style for drawing in drawings)

    def shown(figure: Figure) -> Markup:
        from markupsafe import Markup

        return Markup(figure.drawing.markup("auto", with_style=False).strip())

    styles = "\n".join((sheet_of_styles("page.css"), sheet_of_styles("print.css"), style("auto"), *more))
    return _render(document, styles, shown)


def _render(document: Document, styles: str, shown: Any, for_paper: bool = False) -> str:
    from markupsafe import Markup

    page = _environment().get_template("report.html.jinja")
    safe = Markup(styles.replace("</", "<\\/"))
    return page.render(document=document, styles=safe, shown=shown, numbers=numbered(document), for_paper=for_paper)


def numbered(document: Document) -> dict[str, str]:
    """Number of every section by its id: 1, 1.1, ...

    Parameters
    ----------
    document : the report [-]
    """
    numbers: dict[str, str] = {}

    def count(sections: tuple[Section, ...], before: str) -> None:
        for at, section in enumerate(sections, 1):
            numbers[section.id] = f"{before}{at}"
            count(tuple(block for block in section.blocks if isinstance(block, Section)), f"{before}{at}.")

    count(document.sections, "")
    return numbers


def is_landscape(figure: Figure) -> bool:
    """Whether a figure is printed on a page turned round.

    Parameters
    ----------
    figure : with its drawing [-]
    """
    drawing = figure.drawing
    return drawing.width > LANDSCAPE_FROM_MM and drawing.width > drawing.height


def shares(table: Table) -> tuple[float, ...]:
    """Share of a page's width each column of a table gets: by its longest word and how much stands in it; numbers are not broken.

    Parameters
    ----------
    table : with at least one column [-]

    Returns
    -------
    shares : percent, together 100 [-]
    """
    least, wanted = [], []
    for number, column in enumerate(table.columns):
        cells = [plain(row[number]) for row in table.rows]
        longest = max((len(word) for cell in (column.head, *cells) for word in cell.split()), default=1)
        whole = max(map(len, cells), default=0)
        whole = whole if column.is_number or whole <= _SHORT_CELL else 0
        least.append(max(1.15 * min(longest, _LONGEST_WORD), whole, 2.0) + 2.0)
        usual = 1.2 * sum(map(len, cells)) / max(len(cells), 1)
        wanted.append(max(min(usual, _LONGEST_CELL) - least[-1], 0.0))
    spare = max(_PAGE_LETTERS - sum(least), 0.0) / (sum(wanted) or 1.0)
    weights = [low + spare * more for low, more in zip(least, wanted, strict=True)]
    return tuple(round(100 * weight / sum(weights), 2) for weight in weights)


_SHORT_CELL, _LONGEST_WORD, _LONGEST_CELL = 16, 12, 46
"""Columns of short cells are kept whole; longer words are broken, longer cells wrapped: in letters (our choice)."""
_PAGE_LETTERS = 118.0
"""Letters of a table on a line of an upright page (measured)."""


def marked(words: Words) -> Markup:
    """Words as markup: everything escaped, names and foreign scripts in elements of their own direction.

    Parameters
    ----------
    words : a text or pieces of one [-]
    """
    from markupsafe import Markup, escape

    if isinstance(words, Name):
        return Markup("<bdi>") + escape(clean(words.text)) + Markup("</bdi>")
    if isinstance(words, Code):
        return Markup('<code dir="auto">') + escape(clean(words.text)) + Markup("</code>")
    if isinstance(words, Ref):
        return Markup('<a href="#{}">{}</a>').format(words.to, clean(words.text))
    if isinstance(words, tuple):
        return Markup("").join(map(marked, words))
    words = clean(words)
    said, at = Markup(""), 0
    for found in _RIGHT_TO_LEFT.finditer(words):
        said += escape(words[at : found.start()]) + Markup("<bdi>") + escape(found[0]) + Markup("</bdi>")
        at = found.end()
    return said + escape(words[at:])


def sheet_of_styles(name: str) -> str:
    """Text of a style sheet of the package.

    Parameters
    ----------
    name : of the file [-]
    """
    return (files("pinwright.pack.report") / "templates" / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("pinwright.pack.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["marked"] = marked
    made.filters["shares"] = shares
    made.filters["plain"] = plain
    made.tests["landscape"] = is_landscape
    made.tests["wide"] = lambda block: isinstance(block, Listing | Figure) or (isinstance(block, Table) and len(block.columns) >= WIDE_FROM)
    made.filters["kind"] = lambda block: type(block).__name__.lower()
    return made
