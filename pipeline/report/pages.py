"""A template and its values into a page, and a page into a file.

Comes in: the name of a template in reports/, and what it shows. Goes out: one HTML page that needs nothing else, the
same bytes for the same values; a file that is there whole or not at all. Refuses: a template that asks for what is not
there.
"""

from __future__ import annotations

import base64
import functools
import hashlib
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pipeline import places


def render(template: str, **values: Any) -> str:
    """The page as text. Everything but the style is escaped."""
    style = (places.REPORTS / "style.css").read_text(encoding="utf-8")
    page: str = _environment().get_template(template).render(style=Markup(style), style_hash=hashed(style), **values)
    return page


def write(path: Path, text: str) -> Path:
    """Write a page so that whoever opens it meanwhile finds the old one or the new one, never a part."""
    fresh = path.with_name(f".{path.name}.new")
    fresh.write_text(text, encoding="utf-8", newline="\n")
    return fresh.replace(path)


def hashed(text: str) -> str:
    """Name an inline style or script, byte for byte as it stands between its tags, for the Content-Security-Policy."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


@functools.cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(places.REPORTS, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
