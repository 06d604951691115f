"""A drawing as a picture: SVG to PNG.

Comes in: SVG of our own. Goes out: PNG, twice its size in pixels, so that it is sharp on a screen, in letters of the
machine's own fonts. Refuses: to begin where resvg, an optional part, is not installed, or the machine has no letters.
"""

from __future__ import annotations

from functools import cache

from pipeline.errors import Fault, Refused
from pipeline.report.charts.looks import FONT

SHARPER = 2
# Where none of a drawing's own families is on the machine, resvg takes Arial or, without a word, no letters at all.
INSTEAD = ("DejaVu Sans", "Noto Sans", "Open Sans", "Ubuntu", "Cantarell", "FreeSans", "Verdana", "Tahoma")


def see_that_it_can_be_made() -> None:
    """Raise Refused where it cannot, before any work is done."""
    try:
        import resvg_py  # noqa: F401
    except ImportError as error:
        mend = "in the program's folder: pip install -e '.[png]'; or take --as svg, which slides open too"
        raise Refused(Fault("--as png", "resvg-py is not installed", "resvg-py, an optional part", mend)) from error
    if family(FONT) == "":
        found, allowed = "no letters are installed that a picture could be drawn in", f"{FONT}, {', '.join(INSTEAD)}"
        mend = "install one of these typefaces (Debian: apt install fonts-liberation); or take --as svg"
        raise Refused(Fault("--as png", found, allowed, mend))


def picture(svg: str) -> bytes:
    """The picture of a drawing."""
    return _drawn(svg, family(FONT) or None)


@cache
def family(written: str) -> str | None:
    """The family to take for sans-serif in drawings of these families; None: resvg's own, empty: none has letters."""
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="60" height="20">{}</svg>'
    word, nothing = drawing.format(f'<text font-family="{written}" y="15">words</text>'), drawing.format("")
    return next((name for name in (None, *INSTEAD) if _drawn(word, name) != _drawn(nothing, name)), "")


def _drawn(svg: str, sans_serif: str | None) -> bytes:
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=SHARPER, sans_serif_family=sans_serif))
