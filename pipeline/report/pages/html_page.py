"""A template and its values into a page, and a page into a file.

Comes in: the name of a template in reports/, and what it shows. Goes out: one HTML page that needs nothing else, the
same bytes for the same values; a file that is there whole or not at all. Refuses: a template that asks for what is not
there.
"""

from __future__ import annotations

import base64
import functools
import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pipeline.contracts import places
from pipeline.plain_text import without_unseen_signs
from pipeline.store.whole_files import write_whole

# Nothing is let in and no script runs; a page with scripts of its own names each, and what these need.
_POLICY = "default-src 'none'; {scripts}style-src {style}; base-uri 'none'; form-action 'none'"


def render(
    template: str, *, scripts: Sequence[str] = (), images: str = "", styles: Sequence[str] = (), **values: Any
) -> str:
    """The page as text. Everything but the style and the page's own scripts is escaped."""
    # Every page has the one style, what stands in a style of its own name beside its template, and the dark scheme.
    sheets = (places.REPORTS / name for name in ("style.css", Path(template).with_suffix(".css"), "dark.css"))
    style = "".join(path.read_text(encoding="utf-8") for path in sheets if path.is_file())
    named = " ".join(f"'{hashed(script)}'" for script in scripts)
    let_in = (f"script-src {named}; " if named else "") + (f"img-src {images}; " if images else "")
    page: str = (
        _environment()
        .get_template(template)
        .render(
            style=Markup(style),
            policy=Markup(
                _POLICY.format(scripts=let_in, style=" ".join(f"'{hashed(text)}'" for text in (style, *styles)))
            ),
            scripts=tuple(Markup(script) for script in scripts),
            **values,
        )
    )
    return page


def write(path: Path, text: str) -> Path:
    """Write a page so that whoever opens it meanwhile finds the old one or the new one, never a part."""
    return write_whole(path, text.encode("utf-8"))


def hashed(text: str) -> str:
    """Name an inline style or script, byte for byte as it stands between its tags, for the Content-Security-Policy."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def _finished(value: Any) -> Any:
    """What a template prints of a value: a text from the records without the signs that are not seen."""
    return without_unseen_signs(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@functools.cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(places.REPORTS, encoding="utf-8"),
        autoescape=True,
        finalize=_finished,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
