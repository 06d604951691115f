"""Nothing rests on the order of lines: every story, its lines reversed and shuffled, gives the same results."""

from __future__ import annotations

import csv
import importlib
import io
import random
import textwrap
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts import layout, measure_files
from pipeline.outcomes import periods
from pipeline.outcomes.outcome import Outcome
from tests.conftest import INVENTED, work_out_folder, write_export

Rows = list[dict[str, str]]
Order = Callable[[Rows], Rows]


def told() -> Iterator[tuple[str, Mapping[str, str], str]]:
    """Every story beside this file: its name, its tables and its cut-off. The folder is the list."""
    for path in sorted(Path(__file__).parent.glob("test_story_*.py")):
        if path != Path(__file__):
            stories = importlib.import_module(f"{__package__}.{path.stem}").STORIES
            for number, (tables, cut_off) in enumerate(stories, start=1):
                yield f"{path.stem.removeprefix('test_story_')}_{number}", tables, cut_off


def one_export_a_cut_off() -> dict[str, dict[str, Rows]]:
    """All stories of a cut-off as one export, which is quicker to load.

    A story becomes a site, so that its results stay apart, and its name comes before each case_ref.
    """
    exports: dict[str, dict[str, Rows]] = defaultdict(lambda: defaultdict(list))
    for name, tables, cut_off in told():
        for table, text in tables.items():
            for row in csv.DictReader(io.StringIO(textwrap.dedent(text).strip())):
                renamed = row | {"case_ref": f"{name}/{row['case_ref']}"} | ({"site": name} if table == "cases" else {})
                exports[cut_off][table].append(renamed)
    return exports


def outcome_of(folder: Path, tables: Mapping[str, Rows], cut_off: str, order: Order) -> Outcome:
    """The outcome of the export, its lines in that order."""
    texts = {}
    for table, rows in tables.items():
        written = io.StringIO()
        columns = [column.name for column in layout.table(table).columns]
        writer = csv.DictWriter(written, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(order(rows))
        texts[table] = written.getvalue()
    audit = run.new(folder / "audit").parent
    loaded = run.load(
        audit, write_export(folder / "export", texts), date.fromisoformat(cut_off), accept_anyway=INVENTED
    )
    assert sum(each.accepted for each in loaded.examined.counts) == sum(len(rows) for rows in tables.values())
    return work_out_folder(audit, periods.of(date.fromisoformat(cut_off)))


def as_written(rows: Rows) -> Rows:
    return rows


def backwards(rows: Rows) -> Rows:
    return rows[::-1]


def shuffled(rows: Rows) -> Rows:
    return random.Random(20260630).sample(rows, len(rows))


@pytest.fixture(scope="module")
def in_order(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Outcome]:
    """By cut-off: the outcome of the lines as the stories have them."""
    return {
        cut_off: outcome_of(tmp_path_factory.mktemp("in_order"), tables, cut_off, as_written)
        for cut_off, tables in one_export_a_cut_off().items()
    }


@pytest.mark.parametrize("order", [backwards, shuffled])
def test_the_order_of_lines_changes_nothing(
    in_order: dict[str, Outcome], tmp_path_factory: pytest.TempPathFactory, order: Order
) -> None:
    exports = one_export_a_cut_off()
    assert exports.keys() == in_order.keys()
    for cut_off, tables in exports.items():
        found = outcome_of(tmp_path_factory.mktemp("reordered"), tables, cut_off, order)
        pd.testing.assert_frame_equal(found.results, in_order[cut_off].results, check_exact=True)
        pd.testing.assert_frame_equal(found.waits, in_order[cut_off].waits, check_exact=True)
        pd.testing.assert_frame_equal(found.apart, in_order[cut_off].apart, check_exact=True)


def test_every_measure_has_a_story(in_order: dict[str, Outcome]) -> None:
    counted = pd.concat([outcome.results for outcome in in_order.values()])
    with_cases = set(counted.loc[counted["eligible"] > 0, "measure"])
    assert with_cases == {measure.name for measure in measure_files.measures()}
