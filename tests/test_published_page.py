"""What leaves the service: the report, the figures and what describes them, made from frames made by hand."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import frictionless
import pandas as pd
import pytest

from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.published.figures_package import FIGURES, PACKAGE, data_package, figures_csv
from tests import public_frames

FRAMES = {
    "year": public_frames.year,
    "all withheld": public_frames.all_withheld,
    "activity only": public_frames.activity_only,
    "quarter": public_frames.quarter,
}


@pytest.fixture(scope="module", params=FRAMES)
def frame(request: pytest.FixtureRequest) -> PublicFrame:
    """Each kind of release."""
    return FRAMES[request.param]()


# ---- the figures and what describes them


def test_the_package_is_valid_and_describes_every_column(frame: PublicFrame, tmp_path: Path):
    (tmp_path / FIGURES).write_bytes(figures_csv(frame))
    (tmp_path / PACKAGE).write_bytes(data_package(frame))
    # frictionless validates the descriptor, the number of bytes, the hash, and every cell against its field.
    with frictionless.system.use_context(trusted=True):
        report = frictionless.Package(str(tmp_path / PACKAGE)).validate()
    assert report.valid, report.flatten(["type", "message"])
    assert report.tasks[0].stats["rows"] == len(frame.figures)
    described = json.loads(data_package(frame))
    fields = described["resources"][0]["schema"]["fields"]
    assert [field["name"] for field in fields] == list(frame.figures.columns)
    assert all(len(field["description"]) > 20 for field in fields)
    assert described["period"] == frame.period
    assert described["definitions_version"] == "0.4.0"
    assert described["licenses"] == [{"name": "other", "path": "https://creativecommons.org/licenses/by/4.0/"}]
    assert described["marks"].keys() == {"c", "low", "w"}


def test_the_figures_are_the_frames_own(frame: PublicFrame):
    read = list(csv.DictReader(io.StringIO(figures_csv(frame).decode("utf-8"))))
    held = frame.figures.to_dict("records")
    assert len(read) == len(held)
    for row, own in zip(read, held, strict=True):
        assert row == {name: "" if pd.isna(value) else str(value) for name, value in own.items()}
        assert (row["value"] == "") == (row["mark"] in ("c", "w"))


def test_a_withheld_value_is_an_empty_cell_and_a_mark():
    lines = figures_csv(public_frames.year()).decode("utf-8").split("\n")
    assert lines[0] == "period,block,table,name,breakdown,level,count,value,mark"
    assert "2025-26,,measure,complication_needing_care_within_14_days,all,all,met,,c" in lines
    assert "2025-26,2023-24 to 2025-26,measure,complication_needing_care_within_14_days,all,all,met,9," in lines
    assert "2025-26,,measure,breastfed_at_6_weeks,all,all,met,126,low" in lines


@pytest.mark.parametrize(
    ("licence", "said"),
    [
        ("", None),
        ("Open licence of the invented county", [{"name": "other", "title": "Open licence of the invented county"}]),
    ],
)
def test_a_licence_may_be_a_name_or_none(licence: str, said: object):
    assert json.loads(data_package(public_frames.year(licence=licence))).get("licenses") == said
