"""Every row of the results, and every line of the files, against a second computation.

The second one (tests/second_opinion) was written in plain Python from the definitions alone, by someone who had not
seen this program; its exports are dense in ties, boundary days and damage. Invented rows. What is newer than it has its
story alone: compared is every measure and breakdown that it knows, and all of those must be there.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts import breakdown_file, measure_files
from pipeline.outcomes import periods
from tests.conftest import INVENTED, work_out_folder
from tests.second_opinion.nasty import write_export
from tests.second_opinion.reckoning import reckon

NUMBERS = ("eligible", "known", "met", "unknown", "value", "lower", "upper", "bound_low", "bound_high")


def agree(ours: Any, theirs: Any) -> bool:
    if pd.isna(ours) or theirs is None:
        return bool(pd.isna(ours)) and theirs is None
    return math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-12)


@pytest.mark.parametrize("seed", [20260701, 20260702, 20260703])
def test_results_and_accounts_equal_an_independent_computation(audit: Path, tmp_path: Path, seed: int):
    export = tmp_path / "export"
    export.mkdir()
    cut_off = write_export(export, seed, 400)
    loaded = run.load(audit, export, cut_off, accept_anyway=INVENTED)
    period = periods.latest_ended(cut_off)
    theirs = reckon(export, cut_off, period)

    parts = ("lines", "header", "blank", "accepted", "set_aside", "repeats")
    for counts in loaded.examined.counts:
        account = theirs.accounts[counts.file.removesuffix(".csv")]
        assert {part: getattr(counts, part) for part in parts} == {part: getattr(account, part) for part in parts}

    measures, breakdowns = ({key[part] for key in theirs.results} for part in (0, 2))
    assert measures <= {measure.name for measure in measure_files.measures()}
    assert breakdowns <= {breakdown.name for breakdown in breakdown_file.breakdowns()}
    ours = {
        (row["measure"], row["period"], row["breakdown"], row["level"]): row
        for row in work_out_folder(audit).results.to_dict("records")
        if row["measure"] in measures and row["breakdown"] in breakdowns
    }
    assert len(ours) > 3000
    assert set(ours) == set(theirs.results)
    different = [
        (key, name, ours[key][name], getattr(other, name))
        for key, other in theirs.results.items()
        for name in NUMBERS
        if not agree(ours[key][name], getattr(other, name))
    ]
    different += [
        (key, "complete", ours[key]["complete"], other.complete)
        for key, other in theirs.results.items()
        if ours[key]["complete"] != other.complete
    ]
    assert different == []
