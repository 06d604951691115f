"""Which groups stand apart from all others, out of how many comparisons, and what the lead is told to look at first."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from pipeline.contracts import places
from pipeline.contracts.breakdown_file import breakdowns
from pipeline.contracts.measure_files import RESULT_COLUMNS
from pipeline.judgement.judged import EQUITY
from pipeline.outcomes import lookup
from pipeline.outcomes.lookup import Result
from pipeline.report.charts.group_matrix import Column, group_matrix, rows_of_measures
from pipeline.report.content.edition import EditionContent
from pipeline.report.opening.attention import attention
from pipeline.report.pages import html_page, service_page
from pipeline.report.views import equity as views_equity
from pipeline.report.views.equity import equity
from pipeline.report.views.finding_lists import Findings, findings
from pipeline.report.words import labels
from pipeline.report.words.dates import still_running
from tests import report_content

WORDS = labels.read(places.REPORTS / "wording.toml")
SHARE, WAIT, AGE = "seen_promptly", "days_from_referral_to_procedure", "age_at_procedure"


def content_of(counts: dict[tuple[str, str], tuple[int, int, int]], primary: tuple[str, ...]) -> EditionContent:
    """A quarter in which one measure has these counts: eligible, known, met."""
    rows = []
    for (breakdown, level), (eligible, known, met) in counts.items():
        row = dict.fromkeys(RESULT_COLUMNS)
        row |= {"measure": SHARE, "kind": "proportion", "period": "2026Q3", "breakdown": breakdown, "level": level}
        row |= {"eligible": eligible, "known": known, "met": met, "unknown": eligible - known, "complete": "yes"}
        row |= {"value": met / known if known else None}
        row |= {"bound_low": met / eligible, "bound_high": (met + eligible - known) / eligible}
        rows.append(row)
    content = report_content.content()
    settings = replace(content.settings, at_a_glance=primary, standards={})
    frames = pd.DataFrame(rows, columns=list(RESULT_COLUMNS)), report_content.frames()[1]
    return replace(content, settings=settings, lookup=lookup.read(*frames))


def shown(counts: dict[tuple[str, str], tuple[int, int, int]]) -> Findings:
    """What such a quarter finds of its groups."""
    return findings(content_of(counts, (SHARE,)), WORDS, EQUITY)


def test_of_two_groups_the_one_that_is_worse_off_is_listed_once_with_the_counts_of_both():
    # Newcombe 1998, method 10: 56 of 70 less 48 of 80 is 0.20, limits 0.0524 and 0.3339.
    listed = shown(
        {("all", "all"): (150, 150, 104), ("first_baby", "yes"): (70, 70, 56), ("first_baby", "no"): (80, 80, 48)}
    )
    assert [(group.whom, group.what, group.text) for group in listed.worse] == [
        (
            "First baby, not the first",
            "Seen promptly",
            "48 of 80 (60%); all others 56 of 70 (80%): 20 percentage points lower (95% interval 5 to 33 lower), "
            "Oct 25-Sep 26",
        )
    ]
    assert listed.better == ()
    assert listed.made == 1


def test_a_group_like_the_others_is_counted_and_not_listed_and_one_alone_is_neither():
    listed = shown(
        {
            ("all", "all"): (25, 20, 10),
            ("first_baby", "yes"): (10, 10, 5),
            ("first_baby", "no"): (10, 10, 5),
            ("first_baby", "not_recorded"): (5, 0, 0),  # no group: it is no other either
            ("ethnic_group", "white"): (25, 20, 10),  # everyone: there are no others
        }
    )
    assert listed.worse == listed.better == ()
    assert (listed.made, listed.cannot) == (1, 0)


def test_a_wait_is_drawn_and_an_age_is_not():
    content = report_content.content()
    content = replace(content, settings=replace(content.settings, at_a_glance=(WAIT, AGE)))
    assert [view.measure.name for view in equity(content, WORDS).views] == [WAIT]


def of(met: int, known: int) -> Result:
    """A share of which nothing is unknown, without its interval."""
    share = met / known
    return Result(known, known, met, 0, share, None, None, share, share, complete=True, of=known)


def test_a_row_of_the_matrix_is_one_group_and_every_measure_has_the_same_scale():
    """In units of a scale: a dot lies as far from its own column's nought as its share says, whatever the column."""
    columns = [
        Column(title, [("Fifth", [("first", of(first, 4)), ("last", None)])], of(2, 4))
        for title, first in (("Seen promptly", 1), ("Asked at six weeks", 3))
    ]
    drawn = group_matrix(columns)
    across, upwards = drawn.data[-1]["x"], drawn.data[-1]["y"]
    ticks = dict(zip(drawn.layout["xaxis"]["tickvals"], drawn.layout["xaxis"]["ticktext"], strict=True))
    noughts = [at for at, text in ticks.items() if text == "0%"]
    alls = [at for at, text in ticks.items() if text == "100%"]
    assert [far - near for near, far in zip(noughts, alls, strict=True)] == pytest.approx([1, 1])
    assert [at for at in across if at is not None] == pytest.approx([noughts[0] + 0.25, noughts[1] + 0.75])
    assert upwards[:2] == upwards[2:]  # a group is one row; the second keeps its place without a figure
    said = [note["text"] for note in drawn.layout["annotations"]]
    assert [text for text in said if text in ("1 of 4", "3 of 4", "none")] == ["1 of 4", "none", "3 of 4", "none"]
    assert said.index("Fifth") < said.index("first") < said.index("last")


@pytest.mark.parametrize(("many", "rows"), [(0, []), (1, [1]), (4, [4]), (5, [3, 2]), (7, [4, 3]), (8, [4, 4])])
def test_measures_stand_four_abreast_and_the_rest_beneath(many: int, rows: list[int]):
    assert [len(row) for row in rows_of_measures([Column("Seen promptly", [], None)] * many)] == rows


def test_a_group_of_one_measure_has_its_place_under_the_others(monkeypatch: pytest.MonkeyPatch):
    """Or the rows of the measures abreast would not be the same groups."""
    content = content_of(
        {("all", "all"): (29, 29, 3), ("ethnic_group", "martian"): (9, 9, 3)}, ("asked_at_6_weeks", SHARE)
    )
    whole = content.lookup.everyone(SHARE, "2026Q3")
    results = content.lookup.results | {("asked_at_6_weeks", "2026Q3", "all", "all"): whole}
    content = replace(content, lookup=replace(content.lookup, results=results))
    asked: list[Column] = []
    monkeypatch.setattr(views_equity, "group_matrix", lambda columns: asked.extend(columns) or group_matrix(columns))
    equity(content, WORDS)
    levels = [[(title, [level for level, _ in own]) for title, own in column.groups] for column in asked]
    assert len(levels) == 2
    assert levels[0] == levels[1]
    assert "martian" in dict(levels[0])["Ethnic group"]


def test_without_a_breakdown_for_equity_there_is_none():
    content = report_content.content()
    content = replace(
        content, breakdowns=tuple(replace(breakdown, for_equity=False) for breakdown in content.breakdowns)
    )
    assert equity(content, WORDS).views == ()
    assert findings(content, WORDS, EQUITY).made == 0


def test_which_breakdowns_are_for_equity_stands_in_the_sql():
    """As the editions' design names them."""
    named = {breakdown.name for breakdown in breakdowns() if breakdown.for_equity}
    assert named >= {"deprivation_fifth", "ethnic_group", "first_baby"}
    titles = {breakdown.name: breakdown.title for breakdown in breakdowns()}
    assert titles["first_baby"] == "First baby"
    assert titles["route"] == "Where cases stand"


@pytest.mark.parametrize(
    ("standard", "said"),
    [
        (0.9, ()),  # 19 of 20 is 95%
        (0.96, ()),  # below it, within what chance gives
        (0.999, ("Worse: Seen promptly: 19 of 20 (95%), 0 not known; standard 99.9%: missed",)),
    ],
)
def test_the_attention_names_a_standard_that_is_not_met(standard: float, said: tuple[str, ...]):
    content = content_of({("all", "all"): (20, 20, 19)}, (SHARE,))
    content = replace(content, settings=replace(content.settings, standards={SHARE: standard}))
    again = "Cases to look at again: 3, listed in a file of their own"
    assert attention(content) == (*said, again)


def test_a_period_has_ended_on_its_last_day():
    day = pd.Timestamp("2026-09-30").date()
    assert still_running("2026Q3", day, 4) == ()
    (said,) = still_running("2026Q3", day - pd.Timedelta(days=1), 4)
    assert said.startswith("The quarter ends on 30 September 2026, after the last day of the data")
    (said,) = still_running("2026-27", day, 4)
    assert said.startswith("The year ends on 31 March 2027, after the last day of the data")


def test_a_page_that_cannot_be_written_leaves_the_old_one(tmp_path: Path):
    page = html_page.write(tmp_path / "page.html", "old")
    with pytest.raises(UnicodeEncodeError):
        html_page.write(page, "new, as far as " + "\ud800")
    assert page.read_text(encoding="utf-8") == "old"


@pytest.mark.parametrize(("whole", "charts"), [(20, 1), (19, 0), (2, 0)])
def test_a_chart_of_groups_is_drawn_only_of_twenty_or_more_and_the_table_stays(whole, charts):
    groups = {("first_baby", "no"): (1, 1, 1), ("first_baby", "yes"): (whole - 1, whole - 1, 1)}
    page = service_page.page(content_of({("all", "all"): (whole, whole, 2), **groups}, (SHARE,)))
    own = page[page.index('<section id="equity"') :].partition("</section>")[0]
    assert own.count("<figure>") == charts
    assert ("Fewer than 20 in all: groups are too small for a chart." in own) is (charts == 0)
    assert "The figures as a table" in own
    assert f'id="{SHARE}-breakdowns-caption"' in page


def test_of_a_measure_with_nobody_to_count_there_is_no_chart_and_no_way_to_a_table_that_is_not_there():
    page = service_page.page(content_of({("all", "all"): (1, 1, 1)}, (SHARE, "breastfed_at_6_weeks")))
    own = page[: page.index('id="equity-breastfed_at_6_weeks"')].rpartition("<p")[2]
    assert "No cases to count, so no figure: <span" in own
    assert 'aria-labelledby="equity-breastfed_at_6_weeks"' not in page


def test_where_nothing_is_known_of_anybody_there_is_no_way_to_a_table_that_is_not_there():
    page = service_page.page(content_of({("all", "all"): (1, 0, 0)}, (SHARE,)))
    assert f'id="{SHARE}-breakdowns-caption"' not in page
    assert f'href="#{SHARE}-breakdowns-caption"' not in page
