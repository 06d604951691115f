"""The figures of a release to work with: a tidy table, and a Data Package that describes it.

Comes in: a PublicFrame. Goes out: the bytes of figures.csv and of datapackage.json, the same for the same frame.
Refuses: a figure the frame does not hold; a date on which anything was made.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from pipeline.contracts.measure_files import NOTED, PROPORTION, TIME_TO_EVENT, Measure
from pipeline.privacy.release.public_frame import COLUMNS, FEW_KNOWN, LEFT_OUT, WITHHELD, PublicFrame
from pipeline.report.words.dates import both_names

FIGURES, PACKAGE = "figures.csv", "datapackage.json"
_COUNTED = {
    PROPORTION: "share: met of known",
    NOTED: "share: met of eligible; known is how many were heard from",
    TIME_TO_EVENT: "by_7, by_14 and by_28 of eligible: the event by that day",
}


def figures_csv(frame: PublicFrame) -> bytes:
    """The frame's figures as they are, UTF-8 with LF; a withheld value is an empty cell with its mark."""
    text: str = frame.figures.to_csv(columns=list(COLUMNS), index=False, lineterminator="\n")
    return text.encode("utf-8")


def data_package(frame: PublicFrame, figures: bytes) -> bytes:
    """The descriptor of figures.csv, of those bytes, after the Data Package specification (version 1, tabular)."""
    descriptor: dict[str, Any] = {
        "profile": "tabular-data-package",
        "name": f"figures-{frame.period.lower()}",
        "title": f"{frame.service}: published figures, {both_names(frame.period, frame.year_starts)}",
        "description": (
            f"Counts published by the service, from records up to {frame.data_up_to.isoformat()}. They are frozen: "
            "this release is never made again."
        ),
        "version": frame.version,
        **_licences(frame.licence),
        **({"contributors": [{"title": frame.contact, "role": "contact"}]} if frame.contact else {}),
        "period": frame.period,
        "data_up_to": frame.data_up_to.isoformat(),
        "definitions_version": frame.version,
        "marks": _marks(frame),
        "measures": [_measure(measure) for measure in frame.measures],
        "activity": frame.activity_titles,
        "breakdowns": frame.breakdown_titles,
        "resources": [
            {
                "profile": "tabular-data-resource",
                "name": "figures",
                "path": FIGURES,
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "bytes": len(figures),
                "hash": "sha256:" + hashlib.sha256(figures).hexdigest(),
                "schema": {"fields": _fields(frame), "missingValues": [""]},
            }
        ],
    }
    return (json.dumps(descriptor, ensure_ascii=False, indent=2) + "\n").encode("utf-8")


def _licences(licence: str) -> dict[str, Any]:
    if not licence:
        return {}
    key = "path" if licence.startswith(("https://", "http://")) else "title"
    return {"licenses": [{"name": "other", key: licence}]}


def _marks(frame: PublicFrame) -> dict[str, str]:
    enough = f"{round(frame.known_enough * 100)}%"
    return {
        WITHHELD: f"withheld: it is from 1 to {frame.k}, or would help to work out a number that is",
        FEW_KNOWN: f"shown, and to be read with care: fewer than {enough} of the answers are known",
        LEFT_OUT: f"left out: fewer than {enough} of the answers are known",
    }


def _fields(frame: PublicFrame) -> list[dict[str, Any]]:
    marks = [WITHHELD, FEW_KNOWN, LEFT_OUT]
    said = {
        "period": "the year (2026-27, in which it begins and ends) or the calendar quarter (2026Q3) of the release",
        "block": "the years taken together, for harm that is rare; empty for a figure of the period alone",
        "table": "measure: a question asked of a group; activity: who came and what was done",
        "name": "the name of the measure, or of the section of activity; both are listed in this file",
        "breakdown": "what the group is split by; all for everyone, empty for activity",
        "level": "the group; all for everyone, or for the total of a section",
        "count": (
            "what is counted. Of a measure: eligible (all the question is about), known (those with an answer), "
            "unknown (the rest), met (a yes among those known). Of a wait: by_7, by_14, by_28 (the event by that day), "
            "ended (the wait ended another way by day 28), waiting (still waiting on day 28). Of activity: count"
        ),
        "value": "the count; empty where it is withheld",
        "mark": "empty for an exact figure; " + "; ".join(f"{mark}: {means}" for mark, means in _marks(frame).items()),
    }
    kinds: dict[str, dict[str, Any]] = {
        "period": {"constraints": {"required": True}},
        "table": {"constraints": {"required": True, "enum": ["measure", "activity"]}},
        "name": {"constraints": {"required": True}},
        "level": {"constraints": {"required": True}},
        "count": {"constraints": {"required": True}},
        "value": {"type": "integer", "constraints": {"minimum": 0}},
        "mark": {"constraints": {"enum": marks}},
    }
    return [{"name": name, "type": "string", "description": said[name], **kinds.get(name, {})} for name in COLUMNS]


def _measure(measure: Measure) -> dict[str, str]:
    return {
        "name": measure.name,
        "title": measure.title,
        "question": measure.question,
        "counted": _COUNTED.get(measure.kind, measure.kind),
        "eligible": measure.eligible,
        "met": measure.met,
        "unknown": measure.unknown,
        "source": measure.source,
    }
