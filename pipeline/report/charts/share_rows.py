"""Shares one under the other on one scale from nought to 100%, described as a Plotly figure.

Comes in: rows of a label and two counts, either of which may be missing, and the size. Goes out: a figure with every
place stated: the same axis and the same places whatever the counts are. A row without a share keeps its place, and
has the mark alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from pipeline.report.charts.looks import BLUE, GREY, INK, Frame, axis, layout, note, plain
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.statistics.proportions import wilson

_TICKS = [(0.0, "0%"), (0.25, "25%"), (0.5, "50%"), (0.75, "75%"), (1.0, "100%")]


@dataclass(frozen=True)
class ShareRow:
    """One share; `text` is how it is printed."""

    label: str
    met: int | None
    of: int | None
    text: str
    interval: bool = True  # of a wait there is none


def share_rows(rows: Sequence[ShareRow], frame: Frame) -> Figure:
    """A dot and its 95% interval a row; at the right the counts."""
    row, margin = (46, (12, 20, 10, 34)) if frame.narrow else (38, (236, 190, 4, 30))
    places = [float(len(rows) - 1 - place) for place in range(len(rows))]
    shares = [own.met / own.of if own.met is not None and own.of else None for own in rows]
    ends = [_ends(own) for own in rows]
    above = [None if end is None or share is None else end[1] - share for end, share in zip(ends, shares, strict=True)]
    below = [None if end is None or share is None else share - end[0] for end, share in zip(ends, shares, strict=True)]
    dots = scatter_of(
        shares,
        places,
        "markers",
        marker={"symbol": "circle", "size": 10, "color": [BLUE] * len(rows), "line": {"color": BLUE, "width": 2}},
        error_x={
            **{"type": "data", "symmetric": False, "array": above, "arrayminus": below},
            **{"color": BLUE, "thickness": 1.5, "width": 0},
        },
    )
    labels = []
    for own, place, share in zip(rows, places, shares, strict=True):
        if frame.narrow:
            lines = wrap(f"{plain(own.label)}: {plain(own.text)}", 52)
            shift = 8 + 8 * len(lines)  # above the dot, one line or two
            labels.append(note("<br>".join(lines), 0.0, place, xref="paper", yshift=shift, font={"color": INK}))
            continue
        title = "<br>".join(plain(line) for line in wrap(own.label, 34))
        labels.append(note(title, 0.0, place, xref="paper", xshift=-margin[0] + 2, font={"color": INK}))
        colour = GREY if share is None else BLUE
        labels.append(note(plain(own.text), 1.0, place, xref="paper", xshift=12, font={"color": colour}))
    return Figure(
        [dots],
        layout(
            frame,
            row * len(rows) + margin[2] + margin[3],
            margin,
            xaxis=axis(frame, (0.0, 1.0), _TICKS, grid=True),
            yaxis=axis(frame, (-0.5, len(rows) - 0.3), [], grid=False) | {"showline": False},
            annotations=labels,
        ),
    )


def _ends(row: ShareRow) -> tuple[float, float] | None:
    if row.met is None or not row.of or not row.interval:
        return None
    lower, upper = wilson(row.met, row.of)
    return float(lower), float(upper)
