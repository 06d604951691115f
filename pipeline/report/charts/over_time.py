"""What each chart over time shows, described as a Plotly figure: ranges, ticks and label places all stated.

Comes in: results in order, and the size. Goes out: a figure whose arrays are plain lists. Refuses: to cut an axis
off above nought, or to join points over a quarter without a figure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from pipeline.contracts.measure_files import DAYS, FOLLOWED_DAYS, Measure
from pipeline.outcomes.lookup import CurveDay, Result
from pipeline.outcomes.periods import QUARTER, kind
from pipeline.report.charts.looks import (
    BAND,
    BAND_EDGE,
    BLACK,
    BLUE,
    GREY,
    HALF,
    NARROW,
    PAPER,
    TOPS,
    Frame,
    apart,
    axis,
    ends_named,
    layout,
    note,
    plain,
)
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.report.words.dates import short_label
from pipeline.report.words.sentences import days_long, percent, share_set

Series = Sequence[tuple[str, Result | None]]
_TOP, _BOTTOM = 14, 58
_DAY_TICKS = [(float(day), f"{day}" if day else "day 0") for day in range(0, FOLLOWED_DAYS + 1, 14)]


def values(results: Sequence[Result | None]) -> list[float | None]:
    """The values, with None for a gap."""
    return [None if result is None else result.value for result in results]


def bars(results: Sequence[Result | None], *, half: bool = False) -> dict[str, Any]:
    """Error bars from limits: what Plotly wants is how far each lies from its point. A middle half is a broad bar."""
    ends = [
        (None, None)
        if result is None or result.value is None or result.lower is None or result.upper is None
        else (result.upper - result.value, result.value - result.lower)
        for result in results
    ]
    return {
        "type": "data",
        "symmetric": False,
        "array": [above for above, _ in ends],
        "arrayminus": [below for _, below in ends],
        "color": HALF if half else BLUE,
        "thickness": 5 if half else 1.5,
        "width": 0,
    }


def open_range(places: Sequence[float], results: Sequence[Result | None], across: bool) -> dict[str, Any]:
    """The pale band from one bound to the other, with its ends marked: what the unknown answers leave open."""
    along: list[float | None] = []
    bounds: list[float | None] = []
    for place, result in zip(places, results, strict=True):
        if result is not None and result.unknown and result.bound_low is not None:
            along += [place, place, None]
            bounds += [result.bound_low, result.bound_high, None]
    return scatter_of(
        bounds if across else along,
        along if across else bounds,
        "lines+markers",
        line={"color": BAND, "width": 11},
        marker={
            "symbol": "line-ns-open" if across else "line-ew-open",
            "size": 11,
            "line": {"color": BAND_EDGE, "width": 1},
        },
        hoverinfo="skip",
    )


def _share_axis(results: Sequence[Result | None], standard: float | None) -> tuple[float, list[tuple[float, str]]]:
    seen = [standard or 0.0]
    for result in results:
        if result is not None:
            seen += [share for share in (result.value, result.upper, result.bound_high) if share is not None]
    top = next(end for end in TOPS if max(seen) <= end or end == TOPS[-1])
    steps = 4 if top == 1.0 else 2
    return top, [(top * step / steps, f"{round(top * step / steps * 100):d}%") for step in range(steps + 1)]


def _day_axis(results: Sequence[Result | None]) -> tuple[float, list[tuple[float, str]]]:
    highest = max((result.upper or 0 for result in results if result is not None), default=0)
    step = next((days for days in (7, 14, 28, 56) if highest <= days * 4), 112)
    steps = max(1, math.ceil(highest / step))
    return step * steps, [
        (step * tick, f"{step * tick}" + (" days" if tick == steps else "")) for tick in range(steps + 1)
    ]


def value_axis(
    measure: Measure, results: Sequence[Result | None], standard: float | None
) -> tuple[float, list[tuple[float, str]]]:
    """Where the upright axis ends, and its ticks: days, or shares of few heights."""
    return _day_axis(results) if measure.kind == DAYS else _share_axis(results, standard)


def over_periods(measure: Measure, series: Series, standard: float | None, frame: Frame) -> Figure:
    """One point a quarter, the reported one last; hollow and `so far` where the quarter is not complete."""
    results = [result for _, result in series]
    places = [float(place) for place in range(len(series))]
    in_days = measure.kind == DAYS
    top, ticks = value_axis(measure, results, standard)
    hollow = [result is not None and not result.complete for result in results]
    traces = [] if in_days else [open_range(places, results, across=False)]
    if standard is not None and not in_days:
        ends = [-0.5, len(series) - 0.5]
        dashes = {"color": BLACK, "width": 1, "dash": "dash"}
        traces.append(scatter_of(ends, [standard] * 2, "lines", line=dashes))
    traces.append(
        scatter_of(
            places,
            values(results),
            "lines+markers",
            line={"color": BLUE, "width": 1.25},
            marker={
                "symbol": "circle",
                "size": 9,
                "color": [PAPER if so_far else BLUE for so_far in hollow],
                "line": {"color": BLUE, "width": 2},
            },
            error_y=bars(results, half=in_days),
        )
    )
    step = 2 if frame is NARROW and len(series) > 5 else 1
    periods = [
        (places[place], _tick(series[place][0], hollow[place], new_year=place < step or _new_year(series, place, step)))
        for place in range(len(series))
        if (len(series) - 1 - place) % step == 0
    ]
    return Figure(
        data=traces,
        layout=layout(
            frame,
            frame.over_time,
            _margin(frame, _BOTTOM, 16 if in_days else 0),
            xaxis=axis(frame, (-0.5, len(series) - 0.5), periods, grid=False),
            yaxis=axis(frame, (0.0, float(top)), ticks, grid=True),
            annotations=_end_labels(measure, results[-1], None if in_days else standard, float(top), frame),
        ),
    )


def _margin(frame: Frame, bottom: int, unit: int = 0) -> tuple[int, int, int, int]:
    """Room for the labels: shares or days with their unit at the left, the last figure at the right."""
    return (43 + unit, 76, _TOP, bottom) if frame.narrow else (44 + unit, 84, _TOP, bottom)


def _new_year(series: Series, place: int, step: int) -> bool:
    return series[place][0][:4] != series[place - step][0][:4]


def _tick(period: str, hollow: bool, new_year: bool) -> str:
    """The months, and the year where it begins: the labels before it stand in the year before."""
    months = short_label(period).split(" ")[0]
    of_a_year = kind(period) == QUARTER and new_year
    return months + (f"<br>{period[:4]}" if of_a_year else "") + ("<br>so far" if hollow else "")


def end_label(measure: Measure, result: Result) -> str:
    """A figure with its count, on two lines; empty where there is no figure."""
    if result.value is None:
        return ""
    if measure.kind == DAYS:
        return f"{days_long(result.value)}<br>of {result.eligible}"
    of = f"{result.met} of {result.of}" if result.bound_low is not None else f"of {result.eligible}"
    return f"{percent(result.value)}<br>{of}"


def standard_label(standard: float) -> str:
    """The service's own standard."""
    return f"standard<br>{share_set(standard)}"


def _end_labels(
    measure: Measure, last: Result | None, standard: float | None, top: float, frame: Frame
) -> list[dict[str, Any]]:
    """The last figure and the standard, named at the right edge where they end."""
    wanted: list[tuple[float, str, str]] = []
    if last is not None and last.value is not None:
        wanted.append((last.value, end_label(measure, last), BLUE))
    if standard is not None:
        wanted.append((standard, standard_label(standard), BLACK))
    return ends_named(wanted, top, frame.over_time - _TOP - _BOTTOM, frame)


def wait_curve(
    curves: Sequence[tuple[str, tuple[CurveDay, ...]]],
    frame: Frame,
    ended: Sequence[tuple[int, float]] = (),
    at_risk: Mapping[int, int] | None = None,
) -> Figure:
    """How the share with the event grew from day 0 to 84, the reported quarter first, a dashed line for the other.

    ended: day and share of the waits that had ended another way; at_risk: how many waited on the days, under them.
    """
    traces, ends = [], []
    looks: tuple[tuple[str, str], ...] = ((BLUE, "solid"), (GREY, "dash"))
    for (period, curve), (colour, dash) in zip(curves, looks, strict=False):
        steps = [(0, 0.0)] + [(day.day, day.incidence) for day in curve if day.incidence is not None]
        traces.append(
            scatter_of(
                [day for day, _ in steps],
                [share for _, share in steps],
                "lines",
                line={"color": colour, "width": 2.25 if dash == "solid" else 1.75, "dash": dash, "shape": "hv"},
                name=period,
            )
        )
        ends.append((steps[-1][1], plain(short_label(period)), colour))
    if ended:
        dots = {"color": GREY, "width": 1.5, "dash": "dot", "shape": "hv"}
        traces.append(
            scatter_of([0, *(day for day, _ in ended)], [0.0, *(share for _, share in ended)], "lines", line=dots)
        )
        ends.append((ended[-1][1], "ended<br>otherwise", GREY))
    under = 16 if at_risk else 0
    room = frame.curve - _TOP - 42
    least = (2.6 if ended else 1.3) * frame.font
    heights = apart([share * room for share, _, _ in ends], least, least / 4 if ended else 0.0, float(room))
    days_under = [(day, f"{text}<br>{at_risk[int(day)]}" if at_risk else text) for day, text in _DAY_TICKS]
    return Figure(
        data=traces[::-1],
        layout=layout(
            frame,
            frame.curve + under,
            _margin(frame, 42 + under),
            xaxis=axis(frame, (0.0, float(FOLLOWED_DAYS)), days_under, grid=False),
            yaxis=axis(frame, (0.0, 1.0), [(0, "0%"), (0.5, "50%"), (1, "100%")], grid=True),
            annotations=[
                note(text, 1.0, height / room, xref="paper", yref="paper", xshift=6, font={"color": colour})
                for (_, text, colour), height in zip(ends, heights, strict=True)
            ],
        ),
    )
