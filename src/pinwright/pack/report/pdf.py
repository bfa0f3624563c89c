"""The report on paper: the same page, printed by a program that knows paged style sheets.

That program and the text library it uses may be missing; then ``PdfMissing`` says which, and the page prints the same.
Listings of firmware are left out: nobody types them from paper.  Drawings stand in it with fixed colours, for the program knows
no variables.  Nothing is fetched: addresses of drawings are answered from memory, everything else is refused.
"""

from __future__ import annotations

import contextlib
import gc
import logging
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from pinwright.pack.report.content import Document, Figure, walk
from pinwright.pack.report.html import _render, is_landscape, sheet_of_styles

if TYPE_CHECKING:
    from markupsafe import Markup

__all__ = ["PdfMissing", "pdf_of"]

_PAGE_MM = {False: (184.0, 220.0), True: (272.0, 158.0)}
"""Largest drawing on an A4 page, upright and turned: margins and caption taken off [mm]."""
_A4 = "@page{size:A4}@page turned{size:A4 landscape}table{table-layout:fixed}th,td{min-width:0!important}"
"""Widths of columns are given: working them out from every cell takes the printing program longer than all the rest."""
_SCHEME = "drawing:"
_INSTEAD = "report.html prints the same"


class PdfMissing(Exception):
    """What printing needs is not there; the words say what, and what to do instead."""


def pdf_of(document: Document) -> bytes:
    """The report as a PDF, A4.

    Parameters
    ----------
    document : the report [-]

    Raises
    ------
    PdfMissing : the program that prints, or its text library, is not installed.
    """
    weasyprint = _weasyprint()
    drawings = {
        f"{_SCHEME}{block.drawing.name}": block.drawing.markup("print").encode()
        for block in walk(document.sections)
        if isinstance(block, Figure)
    }
    html = _render(document, "\n".join((sheet_of_styles("page.css"), sheet_of_styles("print.css"), _A4)), _image, for_paper=True)
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    try:
        with _no_collecting():
            printed = weasyprint.HTML(string=html, base_url=_SCHEME, url_fetcher=_from_memory(drawings)).write_pdf(pdf_tags=True)
    except Exception as error:  # a fault of that program spoils no pack
        raise PdfMissing(f"weasyprint failed ({type(error).__name__}: {error}); {_INSTEAD}") from error
    assert isinstance(printed, bytes)
    return printed


@contextlib.contextmanager
def _no_collecting() -> Iterator[None]:
    """A document has millions of small objects that live until it is printed; looking for garbage among them takes a sixth of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _weasyprint() -> Any:
    try:
        return _import()
    except ImportError as error:
        raise PdfMissing(f"the Python package {error.name or 'weasyprint'} is not installed; {_INSTEAD}") from None
    except OSError:
        raise PdfMissing(f"the library Pango is not installed (Debian: libpangoft2-1.0-0); {_INSTEAD}") from None


def _import() -> Any:
    import weasyprint

    return weasyprint


def _image(figure: Figure) -> Markup:
    """A drawing by its name, in the size it has on paper."""
    from markupsafe import Markup

    drawing = figure.drawing
    wide, high = _PAGE_MM[is_landscape(figure)]
    scale = min(1.0, wide / drawing.width, high / drawing.height)
    size = f"width:{drawing.width * scale:.2f}mm;height:{drawing.height * scale:.2f}mm"
    return Markup('<img src="{}" alt="{}" style="{}">').format(f"{_SCHEME}{drawing.name}", drawing.root[0].text or "", size)


def _from_memory(drawings: dict[str, bytes]) -> Any:
    """What answers addresses: drawings of this report, and nothing else."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Memory(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in drawings:
                raise ValueError("This report fetches nothing.")
            return URLFetcherResponse(url, drawings[url], {"Content-Type": "image/svg+xml"})

    return Memory()
