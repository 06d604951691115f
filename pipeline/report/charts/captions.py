"""What a chart's key says: of the marks that stand in it, and of no others.

Comes in: the results that are drawn, or the figure. Goes out: a few short sentences.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.contracts.measure_files import DAYS, NOTED, PROPORTION, REPORTED_DAY, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import Result
from pipeline.report.charts.looks import ORANGE
from pipeline.report.charts.plotly_lists import Figure

_DOT = {
    PROPORTION: "Dot: share of those known.",
    NOTED: "Dot: share noted, of all.",
    DAYS: "Dot: the middle one.",
    TIME_TO_EVENT: f"Dot: share within {REPORTED_DAY} days.",
}
_BAND = {
    PROPORTION: "Pale band: what the unknown answers leave open.",
    NOTED: "Pale band: what those nobody heard from leave open.",
}


def _spread(kind: str) -> str:
    return "Broad bar: the middle half." if kind == DAYS else "Line: 95% interval."


# For pages on which the reader chooses what is drawn.
EVERYTHING = {kind: " ".join(filter(None, (dot, _spread(kind), _BAND.get(kind, "")))) for kind, dot in _DOT.items()}


def of_results(measure: Measure, results: Sequence[Result | None]) -> str:
    """The key of a chart with a mark a result."""
    drawn = [result for result in results if result is not None]
    figures = [result for result in drawn if result.value is not None]
    said = [_DOT[measure.kind]] if figures else []
    if any(result.lower is not None for result in figures):
        said.append(_spread(measure.kind))
    if measure.kind in _BAND and any(result.unknown and result.bound_low is not None for result in drawn):
        said.append(_BAND[measure.kind])
    if any(not result.complete for result in figures):
        said.append("Hollow: so far.")
    return " ".join(said)


def by_month(figure: Figure) -> str:
    """The key of a chart with a dot a month, read off the figure."""
    said = ["A dot a month. Grey line: what is usual."]
    lines = [(trace["line"], trace["y"]) for trace in figure.data if "line" in trace]
    if any(line.get("dash") == "dot" and any(end is not None for end in ends) for line, ends in lines):
        said.append("Dotted lines: as far as chance takes a month.")
    if any("diamond" in trace["marker"]["symbol"] for trace in figure.data if "marker" in trace):
        said.append("Orange diamond: a month that is further.")
    if any(line["color"] == ORANGE for line, _ in lines):
        said.append("Orange line: the mean since a lasting change.")
    return " ".join(said)


def once(keys: Iterable[str]) -> str:
    """One key for charts that stand together: what more than one of them says is said once."""
    parts = dict.fromkeys(part for key in keys for part in key.removesuffix(".").split(". ") if part)
    return ". ".join(parts) + "." if parts else ""
