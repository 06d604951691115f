"""The published report: what commissioners and the public read. One HTML file that needs nothing else.

Comes in: a PublicFrame. Goes out: the page as text, the same bytes for the same frame. Refuses: any figure that the
frame does not print, in words, tables, drawings or anything that is not seen.
"""

from __future__ import annotations

from pipeline.contracts import places
from pipeline.outcomes.periods import kind
from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.pages import html_page
from pipeline.report.published import activity_and_records, groups, plain_words, printed_counts, sections, summary_page
from pipeline.report.words import labels
from pipeline.report.words.dates import both_names, day_label, long_label
from pipeline.report.words.sentences import share_set
from pipeline.report.words.table import Group, Row, Table


def page(frame: PublicFrame) -> str:
    """The whole page as text."""
    words = plain_words.read(places.REPORTS / "published.toml", frame.seen_promptly_days)
    wording = labels.read(places.REPORTS / "wording.toml")
    printed, activity = printed_counts.of_measures(frame), printed_counts.of_activity(frame)
    asked = sections.sections(frame, printed, words)
    by_group = groups.groups(frame, printed, wording)
    return html_page.render(
        "published.html",
        frame=frame,
        period=both_names(frame.period, frame.year_starts),
        which=kind(frame.period),
        data_up_to=day_label(frame.data_up_to),
        known_enough=share_set(frame.known_enough),
        summary=summary_page.summary(frame, printed, activity, words, asked, by_group.unlike),
        sections=asked,
        activity=activity_and_records.activity_tables(frame, activity, wording),
        groups=by_group,
        records=activity_and_records.records(frame, printed),
        actions=_actions(frame),
        national=words.national,
        blocks=any(block for block, *_ in printed),
        few_known=any(one.few_known for one in printed.values()),
        numbers=f"{len(frame.figures):,}",
        shown=f"{frame.figures['value'].notna().sum():,}",
        withheld=f"{frame.figures['value'].isna().sum():,}",
        earlier=tuple((period, long_label(period)) for period in frame.earlier),
    )


def _actions(frame: PublicFrame) -> Table | None:
    rows = [Row(action.finding, (action.action, action.owner, action.by_when, action.done)) for action in frame.actions]
    heads = ("What we saw", "What we will do", "Who", "By when", "Done")
    return Table("actions", "Actions", heads, (Group("", tuple(rows)),), words=True) if rows else None
