"""The spine: each stage called once, in order.

    export -> open (read, choose, screen) -> examine (check, account, gate) -> store
    store, as it stands at an event -> cases -> measures -> counts -> statistics -> judgement -> content -> pages
    a figure -> its cases -> their lines

Comes in: an audit folder, an export, a period. Goes out: what was done. What a stage refuses, it lets through.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pipeline import store
from pipeline.contracts import places
from pipeline.contracts.apart_files import aparts
from pipeline.contracts.breakdown_file import breakdowns, shown_to_all
from pipeline.intake.account import findings, load_lists, mending_workbook
from pipeline.intake.examination import Examined, examine
from pipeline.intake.gate import confirming
from pipeline.intake.open_export import open_export
from pipeline.intake.read.contents import open_contents
from pipeline.intake.suggest.write_mapping import Suggested, write_suggestion
from pipeline.judgement import months_judged
from pipeline.judgement.comparisons_table import comparisons
from pipeline.judgement.rare_harm import all_watched
from pipeline.lineage import figure_asked
from pipeline.outcomes import accounts, cases, counting, measure_rows, results
from pipeline.outcomes.by_month import by_month, noted_in_order
from pipeline.outcomes.look_again import look_again
from pipeline.outcomes.outcome import Outcome, put_together
from pipeline.progress import Progress
from pipeline.report.content import inputs
from pipeline.report.content.edition import EditionContent
from pipeline.report.content.gather import gather
from pipeline.report.content.gather_practitioner import gather_practitioner
from pipeline.report.opening.attention import attention
from pipeline.report.pages import commentary_to_write, pdf
from pipeline.report.pages.by_practitioner_page import write_by_practitioner
from pipeline.report.pages.explore_page import write_explorer
from pipeline.report.pages.look_again_page import write_cases_to_look_at_again
from pipeline.report.pages.practitioner_page import write_practitioner_edition
from pipeline.report.pages.service_page import write_service_edition, write_technical_page
from pipeline.report.pages.trace_page import write_trace
from pipeline.report.take_away import chart_slides, png
from pipeline.report.take_away.figures_workbook import write_figures
from pipeline.report.views.behind.traced import Traced, traced_of
from pipeline.report.views.behind.traced_levels import traced_levels
from pipeline.runs.run_results import Loaded, MadeForOne, Reported
from pipeline.session import Session, beside, held, opened, settings_of
from pipeline.store import audit_folder
from pipeline.store.audit_folder import owner_only


def new(folder: Path) -> Path:
    """Make an audit folder; the settings file in it."""
    with owner_only():
        return audit_folder.make(folder)


def suggest(folder: Path, path: Path, name: str | None = None, encoding: str | None = None) -> Suggested:
    """Write a first mapping for an export into the audit folder; nothing else of it is kept."""
    settings_of(folder)
    with owner_only():
        return write_suggestion(open_contents(path), folder, name, encoding)


def check(
    folder: Path,
    path: Path,
    extracted_on: date | None = None,
    *,
    mapping: str | None = None,
    encoding: str | None = None,
    to_mend: Path | None = None,
    progress: Progress | None = None,
) -> Examined:
    """Say all that a load would say, and store nothing; `to_mend` is where to write the workbook, if anywhere."""
    settings, watch = settings_of(folder), progress or Progress()
    if to_mend is not None:
        mending_workbook.see_that_it_may_be_written(to_mend)
    export = open_export(path, extracted_on, settings, folder=folder, mapping=mapping, encoding=encoding, watch=watch)
    with beside(folder) as con:
        examined = examine(con, export, settings, watch)
        if to_mend is not None:
            mending_workbook.write_workbook(to_mend, findings.listed(con), export=export.name)
    return examined


def load(
    folder: Path,
    path: Path,
    extracted_on: date | None = None,
    *,
    mapping: str | None = None,
    encoding: str | None = None,
    accept_anyway: str = "",
    confirm_new: bool = False,
    progress: Progress | None = None,
) -> Loaded:
    """Read, screen and check an export, and add it to the folder's store, unless it is held back."""
    settings, watch = settings_of(folder), progress or Progress()
    export = open_export(path, extracted_on, settings, folder=folder, mapping=mapping, encoding=encoding, watch=watch)
    with held(folder, to_change=True, may_make=True) as con:
        there = store.load_of(con, export.fingerprint, export.given)
        if there is not None:  # the lists again too: the first load may have ended before they were written
            return Loaded(there, export.cut_off, None, load_lists.write(con, there, folder))
        examined = examine(con, export, settings, watch)
        doubts, reasons = () if accept_anyway else examined.doubts, examined.findings.commonest
        confirming.hold_back(folder, doubts, examined.new, reasons, confirm_new=confirm_new)
        watch.stage("storing")
        number = store.add_load(
            con,
            export=export.name,
            source=export.mapping.source,
            cut_off=export.cut_off,
            fingerprint=export.fingerprint,
            mapping=export.mapping.text,
            accepted_anyway=accept_anyway if examined.doubts else "",
            counts=examined.counts,
            remarks=examined.kept_remarks(accept_anyway),
            headings=[(heading.sheet, heading.column) for heading in export.headings],
        )
        confirming.forget(folder)
        lists = load_lists.write(con, number, folder)
        settled = None if examined.before is None else accounts.settled(con, examined.before, number)
        gone = accounts.list_no_longer_there(con, folder, after_load=True)
        return Loaded(number, export.cut_off, examined, lists, settled, gone)


def report(
    folder: Path,
    period: str | None = None,
    as_loaded: int | None = None,
    *,
    as_pdf: bool = False,
    practitioners: bool = False,
    progress: Progress | None = None,
) -> Reported:
    """Write the result files and the pages of a quarter; as loaded at an event, beside the current ones, as of then."""
    watch = progress or Progress()
    if as_pdf:
        pdf.see_that_it_can_be_made()
    with opened(folder, period, as_loaded) as session:
        outcome = worked_out(session, watch)
        content = judged(session, outcome, watch)
        watch.stage("writing the pages")
        again = look_again(session.con, outcome.period)
        headlines = figure_asked.headlines(outcome, content.settings.at_a_glance)
        behind = traced_of(session.con, outcome, content.settings, headlines, content.settings.traced_cases)
        place = session.place()
        files = [
            write_service_edition(content, place / "service.html"),
            write_explorer(content, place / "explore.html"),
            write_technical_page(content, place / "technical.html"),
            write_trace(behind, traced_levels(session.con, outcome, content.settings), content, place / "trace.html"),
            *write_cases_to_look_at_again(again, content, place),
            write_figures(content, place / "figures.xlsx"),
            results.write_csv(outcome.results, place / "results.csv"),
            results.write_csv(outcome.waits, place / "waits.csv"),
            results.write_csv(comparisons(content.judgement), place / "comparisons.csv"),
            results.write_csv(outcome.activity, place / "activity.csv"),
            results.write_csv(months_judged.table(content.over_time), place / "over_time.csv"),
        ]
        files += write_by_practitioner(session.con, outcome, content, place) if practitioners else ()
        if as_pdf:
            watch.stage("laying out the PDF")
            files.append(pdf.write(files[0], place / "service.pdf"))
        doubts = content.quality.warnings
        if as_loaded is None:  # one made again is no new fact, and would pass for how it was made at the time
            accounts.list_no_longer_there(session.con, folder)
            doubts = (*inputs.recorded(session.con, folder, session.basis, session.event), *doubts)
    return Reported(tuple(files), content.settings, outcome, doubts, attention(content))


def worked_out(session: Session, watch: Progress) -> Outcome:
    """From the store to the results: cases, measures, counts, statistics; for every period up to the session's."""
    con, measures, settings, period = session.con, session.measures, session.basis.settings, session.basis.period
    split_by, shown, groups_apart = breakdowns(), shown_to_all(breakdowns()), aparts(measures)
    watch.stage("one row a case")
    cases.build(con)
    wanted = session.periods_from(cases.first_day(con))
    measure_rows.count_rows(con, measures, settings, watch)
    apart = measure_rows.count_apart(con, groups_apart)
    watch.stage("counting by period, breakdown and level")
    counting.break_down(con, split_by)
    counts, day_counts = counting.count(con, measures, shown), counting.count_days(con, measures, shown)
    by_level, waits = results.work_out(counts, day_counts, measures, wanted, session.cut_off, settings.year_starts)
    within = results.within_year(con, measures, session.quarters_within(), session.cut_off)
    months = by_month(con, measures, cases.first_day(con), session.last_day(), session.cut_off)
    noted = noted_in_order(con, measures, session.last_day())
    return put_together(con, period, session.cut_off, measures, shown, by_level, waits, apart, within, months, noted)


def judged(session: Session, outcome: Outcome, watch: Progress) -> EditionContent:
    """From the results to what a report is made of, judged: months and rare harm here, comparisons when first asked."""
    watch.stage("judging")
    over_time = months_judged.judged(outcome.months, outcome.measures, session.basis.settings)
    rare_harm = all_watched(outcome.noted, session.basis.settings.accepted_rates)
    return gather(session.con, session.basis, outcome, over_time, rare_harm)


def charts(
    folder: Path,
    period: str | None = None,
    *,
    form: str = chart_slides.SVG,
    chosen: Sequence[str] = (),
    place: Path | None = None,
    progress: Progress | None = None,
) -> tuple[Path, ...]:
    """Write the charts of a service edition, or some of them, as files of their own."""
    if form == chart_slides.PNG:
        png.see_that_it_can_be_made()
    with opened(folder, period) as session:
        watch = progress or Progress()
        content = judged(session, worked_out(session, watch), watch)
        return chart_slides.write_charts(content, chosen, form, place or audit_folder.part(session.place(), "charts"))


def practitioner(folder: Path, code: str, period: str | None = None, progress: Progress | None = None) -> MadeForOne:
    """Write the edition of one practitioner and quarter."""
    watch = progress or Progress()
    with opened(folder, period) as session:
        content = gather_practitioner(session.con, session.basis, worked_out(session, watch), code)
        watch.stage("writing the page")
        page = write_practitioner_edition(content, audit_folder.part(session.place(), "practitioner"))
        return MadeForOne(page, content)


def new_quarter(folder: Path, period: str | None = None, progress: Progress | None = None) -> commentary_to_write.Laid:
    """Lay the file for the lead's words on a quarter or a year."""
    with opened(folder, period) as session:
        watch = progress or Progress()
        content = judged(session, worked_out(session, watch), watch)
        return commentary_to_write.lay(folder, content, session.basis.commentary_before)


def trace(
    folder: Path,
    name: str,
    period: str,
    breakdown: str | None = None,
    level: str | None = None,
    progress: Progress | None = None,
) -> Traced:
    """Follow a figure of a quarter to the lines of the exports."""
    with opened(folder, period) as session:
        outcome = worked_out(session, progress or Progress())
        figure = figure_asked.asked(outcome, name, breakdown, level)
        return traced_of(session.con, outcome, session.basis.settings, [figure])[0]


def demo(folder: Path, progress: Progress | None = None) -> tuple[Loaded, ...]:
    """Load the two sources of an invented service: an export in the layout, and a team's own workbook."""
    with owner_only():
        audit_folder.make_demo(folder)
    return tuple(load(folder, path, progress=progress) for path in (places.DEMO_EXPORT, places.DEMO_WORKBOOK))
