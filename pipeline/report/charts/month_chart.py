"""Month by month as a Plotly figure: where a share stands, what is usual, and how far chance alone takes a month.

Comes in: one measure's months, judged, and the size. Goes out: a figure whose arrays are plain lists. Refuses: to join
points over a month without cases; to draw a limit where no count could be outside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.judgement.months import Monthly
from pipeline.report.charts.looks import (
    BAND_EDGE,
    BLACK,
    BLUE,
    GREY,
    NARROW,
    ORANGE,
    TOPS,
    Frame,
    axis,
    ends_named,
    layout,
)
from pipeline.report.charts.plotly_lists import Figure, Stated, scatter_of
from pipeline.report.words.dates import short_month
from pipeline.report.words.sentences import percent, share_set

MONTHS_SHOWN = 36
_TOP, _BOTTOM = 14, 46


def by_month(monthly: Monthly, standard: float | None, frame: Frame) -> Figure:
    """The latest 36 months: a dot each, orange where further from the usual than chance takes it."""
    first = max(len(monthly.months) - MONTHS_SHOWN, 0)
    months = monthly.months[first:]
    share, centre, lower, upper = (
        _numbers(line[first:]) for line in (monthly.share, monthly.centre, monthly.lower, monthly.upper)
    )
    top = _top([*share, *centre, standard])
    ways = dict(monthly.outside)
    outside = [first + at in ways for at in range(len(months))]
    span = (-0.5, len(months) - 0.5)
    edges = [place for at in range(len(months)) for place in (at - 0.5, at + 0.5)]
    limits = [[limit if limit is not None and 0 < limit < top else None for limit in line] for line in (lower, upper)]
    traces: list[Stated] = [
        scatter_of(edges, _twice(line), "lines", line={"color": BAND_EDGE, "width": 1, "dash": "dot", "shape": "hv"})
        for line in limits
    ]
    traces.append(scatter_of(edges, _twice(centre), "lines", line={"color": GREY, "width": 1.25, "shape": "hv"}))
    if standard is not None:
        dashes = {"color": BLACK, "width": 1, "dash": "dash"}
        traces.append(scatter_of(list(span), [standard] * 2, "lines", line=dashes))
    if monthly.lasting is not None:
        traces.append(_since(monthly, first))
    colours = [ORANGE if out else BLUE for out in outside]
    traces.append(
        scatter_of(
            list(range(len(months))),
            share,
            "lines+markers",
            line={"color": BLUE, "width": 1},
            marker={
                "symbol": ["diamond" if out else "circle" for out in outside],
                "size": 7 if frame is NARROW else 8,
                "color": colours,
            },
        )
    )
    steps = 4 if top == 1.0 else 2
    ticks = [(top * step / steps, f"{round(top * step / steps * 100):d}%") for step in range(steps + 1)]
    return Figure(
        data=traces,
        layout=layout(
            frame,
            frame.over_time,
            (43, 76, _TOP, _BOTTOM) if frame.narrow else (44, 84, _TOP, _BOTTOM),
            xaxis=axis(frame, span, _ticks(months, frame), grid=False),
            yaxis=axis(frame, (0.0, top), ticks, grid=True),
            annotations=_end_labels(monthly, centre[-1], standard, top, frame),
        ),
    )


def _since(monthly: Monthly, first: int) -> Stated:
    """The mean since about when a lasting change began."""
    since = monthly.months.index(monthly.lasting.since) if monthly.lasting else 0
    mean = float(monthly.met[since:].sum() / monthly.of[since:].sum())
    ends = [max(since - first, 0) - 0.5, len(monthly.months) - first - 0.5]
    return scatter_of(ends, [mean] * 2, "lines", line={"color": ORANGE, "width": 2})


def _numbers(line: Any) -> list[float | None]:
    return [None if value != value else float(value) for value in line.tolist()]


def _twice(line: Sequence[float | None]) -> list[float | None]:
    return [value for value in line for _ in (0, 1)]


def _top(values: Sequence[float | None]) -> float:
    highest = max((value for value in values if value is not None), default=1.0)
    return next(end for end in TOPS if highest <= end or end == TOPS[-1])


def _ticks(months: Sequence[str], frame: Frame) -> list[tuple[float, str]]:
    """Every third month that begins a quarter, every sixth where it is narrow; the year under the first and January."""
    every = (1, 7) if frame is NARROW else (1, 4, 7, 10)
    places = [at for at, month in enumerate(months) if int(month[5:]) in every]
    named = [short_month(months[at]) for at in places]
    return [
        (float(at), name + (f"<br>{months[at][:4]}" if at == places[0] or months[at][5:] == "01" else ""))
        for at, name in zip(places, named, strict=True)
    ]


def _end_labels(
    monthly: Monthly, centre: float | None, standard: float | None, top: float, frame: Frame
) -> list[dict[str, Any]]:
    """The usual, the latest month and the standard, named at the right edge where they end."""
    wanted: list[tuple[float, str, str]] = []
    if monthly.of[-1]:
        share = float(monthly.share[-1])
        wanted.append((share, f"{percent(share)}<br>{int(monthly.met[-1])} of {int(monthly.of[-1])}", BLUE))
    if centre is not None:
        wanted.append((centre, f"usual<br>{percent(centre)}", GREY))
    if standard is not None:
        wanted.append((standard, f"standard<br>{share_set(standard)}", BLACK))
    return ends_named(wanted, top, frame.over_time - _TOP - _BOTTOM, frame)
