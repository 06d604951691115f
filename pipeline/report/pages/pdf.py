"""A page as a PDF document, tagged for screen readers (PDF/UA-1), laid out by the page's own print style.

Comes in: a page that was written. Goes out: the document, the same bytes for the same page on one machine. Refuses:
to begin where WeasyPrint, an optional extra, or the library it draws text with, is not there; to fetch anything.
"""

from __future__ import annotations

import gc
from pathlib import Path

from pipeline.errors import Fault, Refused
from pipeline.store.whole_files import write_whole

_ALLOWED = "WeasyPrint, an optional part, and the library Pango"
_OR_PRINT = "or open service.html in a browser and print it to PDF: the same document"


def see_that_it_can_be_made() -> None:
    """Raise Refused where it cannot, before any work is done."""
    try:
        import weasyprint  # noqa: F401
    except ImportError as error:
        mend = f"in the program's folder: pip install -e '.[pdf]'; {_OR_PRINT}"
        raise Refused(Fault("--pdf", "WeasyPrint is not installed", _ALLOWED, mend)) from error
    except OSError as error:
        # WeasyPrint loads Pango when it is imported, and says which library it could not find.
        found = f"WeasyPrint cannot load Pango ({str(error).splitlines()[0]})"
        mend = (
            "install Pango: on Debian or Ubuntu `apt install libpango-1.0-0 libpangoft2-1.0-0`, on a Mac "
            f"`brew install pango`, on Windows as WeasyPrint's own documentation says; {_OR_PRINT}"
        )
        raise Refused(Fault("--pdf", found, _ALLOWED, mend)) from error


def document(page: str) -> bytes:
    """The document of a page. What the page links to stays a link; nothing is fetched."""
    import weasyprint

    nothing = weasyprint.urls.URLFetcher(allowed_protocols=())
    gc.disable()  # a fifth of the time would go into looking for what is no longer in use, and all of it is
    try:
        made: bytes = weasyprint.HTML(string=page, url_fetcher=nothing).write_pdf(pdf_variant="pdf/ua-1")
    finally:
        gc.enable()
    return made


def write(page: Path, path: Path) -> Path:
    """Write the document of a page that was written."""
    return write_whole(path, document(page.read_text(encoding="utf-8")))
