"""Every chart of the service page as a drawing of its own, for a slide: 16 to 9, taller where it has many rows.

Comes in: what the page shows, and of what service and days it is. Goes out: SVG with the title, the key, the day the
data go up to, and that it stays inside the service, in the drawing itself. Refuses to draw anew: a chart is the page's.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from textwrap import wrap

from pipeline.contracts import places
from pipeline.errors import Fault, Refused
from pipeline.plain_text import without_unseen_signs
from pipeline.report.charts.looks import FONT, GREY, INK, PAPER
from pipeline.report.charts.svg import number
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages.service_page import drawn
from pipeline.report.take_away import png
from pipeline.report.views.measure_views import Chart
from pipeline.report.words import labels
from pipeline.report.words.dates import both_names, day_label
from pipeline.store.whole_files import write_whole

FORMS = SVG, PNG = "svg", "png"
WIDTH, HEIGHT, SIDE = 1280, 720, 64
_TITLE, _UNDER, _KEY = 30, 20, 17  # sizes of type
_LEAST = 1.15  # a chart is never drawn smaller than so: its type would not be read across a room
_HEAD = re.compile(r'<svg class="wide" viewBox="0 0 ([0-9.]+) ([0-9.]+)"')
_NAME = re.compile(r'<title id="([\w-]+)-wide-title">(.*?)</title>')


@dataclass(frozen=True)
class Slide:
    """One drawing."""

    name: str  # of the measure, and what of it is drawn
    svg: str


def write_charts(content: EditionContent, chosen: Sequence[str], form: str, place: Path) -> tuple[Path, ...]:
    """Write the charts of an edition, or those chosen by name, a file each. Raises Refused where one is not there."""
    words = labels.read(places.REPORTS / "wording.toml")
    under = f"{content.settings.service}, {both_names(content.period, content.settings.year_starts)}"
    foot = (
        f"Data up to {day_label(content.provenance.cut_off)}. Stays inside the service: numbers are small. "
        "How many answers are not known: see the service edition."
    )
    made = {slide.name: slide.svg for slide in slides(tuple(drawn(content, words).values()), under, foot)}
    unknown = [name for name in chosen if name not in made]
    if unknown:
        mend = "take one of these, or leave --chart out for all of them"
        raise Refused([Fault("--chart", name, ", ".join(made), mend) for name in unknown])
    place.mkdir(parents=True, exist_ok=True)
    return tuple(
        write_whole(
            place / f"{content.period}-{name}.{form}",
            png.picture(svg) if form == PNG else svg.encode("utf-8"),
        )
        for name, svg in made.items()
        if name in chosen or not chosen
    )


def slides(views: object, under: str, foot: str) -> tuple[Slide, ...]:
    """The charts in the order of what is shown, each once; `under` stands below their titles, `foot` at the foot."""
    made = {slide.name: slide for slide in (_slide(chart, under, foot) for chart in charts_in(views))}
    return tuple(made.values())


def charts_in(views: object) -> Iterator[Chart]:
    """Every chart in what a page shows, however deep."""
    if isinstance(views, Chart):
        yield views
    elif isinstance(views, tuple | list):
        for part in views:
            yield from charts_in(part)
    elif is_dataclass(views):
        for field in fields(views):
            yield from charts_in(getattr(views, field.name))


def _slide(chart: Chart, under: str, foot: str) -> Slide:
    page = str(chart.wide)  # no longer Markup, which would escape what it is changed with
    head, named = _HEAD.match(page), _NAME.search(page)
    if head is None or named is None:
        raise ValueError(f"a drawing without its size or its name: {page[:80]}")
    title, key = _lines(html.unescape(named[2]), _TITLE), _lines(chart.caption, _KEY)
    top = 46 + 38 * len(title) + 34
    below = 24 * len(key) + 72
    wide, high = float(head[1]), float(head[2])
    across = WIDTH - 2 * SIDE
    scale = min(across / wide, max(_LEAST, (HEIGHT - top - below) / high))
    height = max(HEIGHT, round(top + high * scale + below))
    place = f'x="{SIDE}" y="{top}" width="{number(wide * scale)}" height="{number(high * scale)}"'
    chart_itself = page.replace('<svg class="wide"', f"<svg {place}", 1)
    texts = [_text(line, 58 + 38 * at, _TITLE, INK, 600) for at, line in enumerate(title)]
    texts.append(_text(under, top - 22, _UNDER, GREY))
    texts += [_text(line, height - below + 28 + 24 * at, _KEY, GREY) for at, line in enumerate(key)]
    texts.append(_text(foot, height - 28, _KEY, INK))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}"'
        f' font-family="{FONT}"><rect width="{WIDTH}" height="{height}" fill="{PAPER}"/>'
        f"{chart_itself}{''.join(texts)}</svg>\n"
    )
    return Slide(named[1], svg)


def _lines(text: str, size: int) -> list[str]:
    return wrap(without_unseen_signs(text), int((WIDTH - 2 * SIDE) / (size * 0.56)))


def _text(line: str, baseline: int, size: int, colour: str, weight: int = 400) -> str:
    look = f'x="{SIDE}" y="{baseline}" font-size="{size}" font-weight="{weight}" fill="{colour}"'
    return f"<text {look}>{html.escape(without_unseen_signs(line), quote=False)}</text>"
