"""A drawing as a picture: SVG to PNG.

Comes in: SVG of our own. Goes out: PNG, twice its size in pixels, so that it is sharp on a screen, in letters of the
machine's own fonts. Refuses: to begin where resvg, an optional part, is not installed.
"""

from __future__ import annotations

from pipeline.errors import Fault, Refused

SHARPER = 2


def see_that_it_can_be_made() -> None:
    """Raise Refused where it cannot, before any work is done."""
    try:
        import resvg_py  # noqa: F401
    except ImportError as error:
        mend = "in the program's folder: pip install -e '.[png]'; or take --as svg, which slides open too"
        raise Refused(Fault("--as png", "resvg-py is not installed", "resvg-py, an optional part", mend)) from error


def picture(svg: str) -> bytes:
    """The picture of a drawing."""
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=SHARPER))
