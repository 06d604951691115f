"""Every chart of the service page as a drawing of its own, for a slide: 16 to 9, taller where it has many rows.

Comes in: what the page shows, and of what service and days it is. Goes out: SVG with the title, the counts and what is
not known, the key, the day the data go up to, and that it stays inside the service, in the drawing itself. Refuses to
draw anew: a chart is the page's.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from pathlib import Path
from textwrap import wrap

from pipeline.contracts import places
from pipeline.errors import Fault, Refused, nearest
from pipeline.plain_text import without_unseen_signs
from pipeline.report.charts.looks import FONT, GREY, INK, PAPER
from pipeline.report.charts.svg import number
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages.service_page import drawn
from pipeline.report.take_away import png
from pipeline.report.views.measure_views import Chart
from pipeline.report.words import labels, sentences
from pipeline.report.words.dates import both_names, day_label
from pipeline.report.words.labels import Wording
from pipeline.store.whole_files import write_whole

SVG, PNG = "svg", "png"
WIDTH, HEIGHT, SIDE = 1280, 720, 64
_TITLE, _UNDER, _KEY = 30, 20, 17  # sizes of type
_LEAST = 1.15  # a chart is never drawn smaller than so: its type would not be read across a room
_HEAD = re.compile(r'<svg class="wide" viewBox="0 0 ([0-9.]+) ([0-9.]+)"')
_NAME = re.compile(r'<title id="([\w-]+)-wide-title">(.*?)</title>')


def write_charts(content: EditionContent, chosen: Sequence[str], form: str, place: Path) -> tuple[Path, ...]:
    """Write the charts of an edition, or those chosen by name, a file each. Raises Refused where one is not there."""
    words = labels.read(places.REPORTS / "wording.toml")
    under = f"{content.settings.service}, {both_names(content.period, content.settings.year_starts)}"
    foot = f"Data up to {day_label(content.provenance.cut_off)}. Stays inside the service: numbers are small."
    drawings = {_named(chart)[0]: chart for chart in charts_in(tuple(drawn(content, words).values()))}
    unknown = [name for name in chosen if name not in drawings]
    if unknown:
        found = "; ".join(f"there is no chart {name}{nearest(name, drawings)}" for name in unknown)
        listed = "".join(f"\n    {name}" for name in drawings)
        raise Refused(Fault("--chart", found, f"one of{listed}", "take one of these, or leave --chart out for all"))
    made = {
        name: _slide(chart, title, [under, *_lines(_counts(name, title, content, words), _UNDER)], foot)
        for (name, title), chart in ((_named(chart), chart) for chart in drawings.values())
        if name in chosen or not chosen
    }
    place.mkdir(parents=True, exist_ok=True)
    return tuple(
        write_whole(
            place / f"{content.period}-{name}.{form}",
            png.picture(svg) if form == PNG else svg.encode("utf-8"),
        )
        for name, svg in made.items()
    )


def _counts(name: str, title: str, content: EditionContent, words: Wording) -> str:
    """Of what a chart is: the figure of everyone; of several measures, how many are not known in each."""
    if name == "flow":
        return f"{words.several('case', int(content.flow['cases'].sum()))} first seen in the period."
    measures = {measure.name: measure for measure in content.measures}
    everyone = {own: content.lookup.everyone(own, content.period) for own in measures}
    own = name.removesuffix("-curve")
    if own in measures:
        of = words.grains[measures[own].grain][1]
        return f"Everyone: {sentences.figure(measures[own], everyone[own], of)}."
    primary = [measures[one] for one in content.settings.at_a_glance]
    shown = [measure for measure in primary if measure.title in title] or primary
    unknown = [(measure.title, everyone[measure.name]) for measure in shown]
    told = [f"{of} {one.unknown} of {one.eligible}" for of, one in unknown if one and one.unknown is not None]
    return f"Not known, of everyone: {'; '.join(told)}." if told else ""


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


def _named(chart: Chart) -> tuple[str, str]:
    """Of which measure, and what of it is drawn; and the title."""
    named = _NAME.search(chart.wide)
    if named is None:
        raise ValueError(f"a drawing without its name: {chart.wide[:80]}")
    return named[1], html.unescape(named[2])


def _slide(chart: Chart, named: str, under: Sequence[str], foot: str) -> str:
    page = str(chart.wide)  # no longer Markup, which would escape what it is changed with
    head = _HEAD.match(page)
    if head is None:
        raise ValueError(f"a drawing without its size: {page[:80]}")
    title, key = _lines(named, _TITLE), _lines(chart.caption, _KEY)
    top = 46 + 38 * len(title) + 8 + 26 * len(under)
    below = 24 * len(key) + 72
    wide, high = float(head[1]), float(head[2])
    across = WIDTH - 2 * SIDE
    scale = min(across / wide, max(_LEAST, (HEIGHT - top - below) / high))
    height = max(HEIGHT, round(top + high * scale + below))
    place = f'x="{SIDE}" y="{top}" width="{number(wide * scale)}" height="{number(high * scale)}"'
    chart_itself = page.replace('<svg class="wide"', f"<svg {place}", 1)
    texts = [_text(line, 58 + 38 * at, _TITLE, INK, 600) for at, line in enumerate(title)]
    texts += [_text(line, 58 + 38 * len(title) + 26 * at, _UNDER, GREY) for at, line in enumerate(under)]
    texts += [_text(line, height - below + 28 + 24 * at, _KEY, GREY) for at, line in enumerate(key)]
    texts.append(_text(foot, height - 28, _KEY, INK))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}"'
        f' font-family="{FONT}"><rect width="{WIDTH}" height="{height}" fill="{PAPER}"/>'
        f"{chart_itself}{''.join(texts)}</svg>\n"
    )


def _lines(text: str, size: int) -> list[str]:
    return wrap(without_unseen_signs(text), int((WIDTH - 2 * SIDE) / (size * 0.56)))


def _text(line: str, baseline: int, size: int, colour: str, weight: int = 400) -> str:
    look = f'x="{SIDE}" y="{baseline}" font-size="{size}" font-weight="{weight}" fill="{colour}"'
    return f"<text {look}>{html.escape(without_unseen_signs(line), quote=False)}</text>"
