"""The way of a published report: counts frozen, chosen, proved, attacked, rendered, entered, and only then out.

    store -> counts by quarter, frozen -> count system -> choose, gate -> attack -> pages, the same for every decoy
          -> ledger entry -> published/PERIOD

Comes in: an audit folder, a period, who approved it. Goes out: what was published, or would be. Whatever fails, nothing
is published; nothing here can be waived. Whoever changes the ledger holds the store for writing meanwhile, so two that
publish at once do so one after the other.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from pipeline.contracts import measure_files
from pipeline.errors import Refused
from pipeline.privacy.publication import early, ledger, proving, release_record
from pipeline.privacy.publication.frozen_counts import as_csv
from pipeline.privacy.publication.ledger import Entry
from pipeline.privacy.publication.release_frame import figures
from pipeline.privacy.release.linked_counts import Numbers
from pipeline.progress import Progress
from pipeline.report.commentary import commentary_file, to_publish
from pipeline.report.pages import release_pages
from pipeline.runs.publishing import facts, given_out, own_words, prepare
from pipeline.runs.release_results import Published, Recorded, Verified
from pipeline.session import beside, held, opened, settings_of


def publish(
    folder: Path, period: str, approved_by: str, *, dry_run: bool = False, progress: Progress | None = None
) -> Published:
    """Publish a period, or say what would be withheld."""
    watch = progress or Progress()
    if not dry_run:
        early.see_that_it_is_approved(approved_by)
    own_words.see_that_they_hold_no_figure(settings_of(folder), approved_by)
    with opened(folder, period, to_change=not dry_run) as session:
        those = ledger.entries(folder) if dry_run else ledger.opened(folder)
        choices = session.basis.settings.publish
        public = prepare.public(session, those)
        counts = prepare.counts_of(session, those, public, watch)
        want = prepare.wanted_of(session, those, public, counts)
        few = prepare.left_out(session, want, public)
        linked = prepare.linked(want, public, those, few)
        watch.stage("choosing what to withhold")
        chosen = proving.chosen(linked.linked, choices.withheld_up_to)
        said = facts.entry(session, public, want, linked, chosen, approved_by)
        numbers, new = release_record.proof_file(linked, chosen), ledger.next_entry(those, said)
        watch.stage("attacking every release")
        kept = {**_kept(folder, those), new.number: release_record.recorded(new, numbers)}
        attacked = proving.attacked([*those, new], kept)
        watch.stage("rendering the pages, and those of every decoy")
        where = commentary_file.place(folder, session.basis.period).name
        actions = to_publish.actions(session.basis.commentary, where)
        frame = facts.frame(session, those, public, counts, approved_by, actions)

        def render(values: Numbers) -> Mapping[str, bytes]:
            """The files that these counts would make, withheld where the truth's are."""
            rows = figures(
                want, linked.at, values, chosen.printed, period=session.basis.period, population=public.population,
                waits=public.waits, six_weeks=public.six_weeks, known_enough=choices.six_weeks_known, left_out=few,
            )  # fmt: skip
            return release_pages.files(replace(frame, figures=rows), attacked)

        files = proving.see_that_nothing_shows(render, linked.linked.true, [decoy.counts for decoy in chosen.decoys])
        how_much = facts.how_much(want, linked, chosen, public)
        made = Published(session.basis.period, how_much, attacked, frame.activity_only)
        if dry_run:
            return made
        watch.stage("writing the release")
        files = release_pages.with_pdf(files)
        private = {f"{quarter}.csv": as_csv(counts[quarter]) for quarter in counts}
        _, place = ledger.append(folder, those, said, {**private, ledger.proof_name(new): numbers}, files)
        return replace(made, place=place, files=tuple(files))


def verify(folder: Path) -> Verified:
    """Go through every release again: the chain, every file, every decoy, and the attack on all of them together."""
    those = published(folder)
    faults = ledger.faults_of_published(folder, those)
    kept = _kept(folder, those)
    for number, recorded in kept.items():
        faults += proving.faults_of(number, recorded, int(those[number - 1].said["k"]))
    if faults:
        raise Refused(faults)
    return Verified(those, proving.attacked(those, kept) if kept else None)


def published(folder: Path) -> tuple[Entry, ...]:
    """Every release, oldest first; what a kill left of one is finished first, unless somebody is publishing."""
    settings_of(folder)
    with contextlib.suppress(Refused), held(folder, to_change=True, patience=0):
        ledger.opened(folder)
    with beside(folder):  # waits for whoever is publishing
        return ledger.entries(folder)


def record(folder: Path, path: Path, what: str, approved_by: str) -> Recorded:
    """Enter figures that went out another way, and say which small counts they give away."""
    settings_of(folder)
    given = given_out.read(path, measure_files.measures())
    with held(folder, to_change=True):
        those = ledger.opened(folder)
        kept = _kept(folder, those)
        said, not_known = facts.elsewhere(those, kept, given, what, approved_by)
        new = ledger.next_entry(those, said)
        known = {name for entry in those for name in entry.said.get("incident", ())}
        narrowed = [name for name in proving.narrowed_by_all([*those, new], kept)[1] if name not in known]
        entry, _ = ledger.append(folder, those, {**said, "incident": narrowed}, {}, {})
    return Recorded(entry, what, len(given), not_known, tuple(narrowed))


def _kept(folder: Path, those: tuple[Entry, ...]) -> dict[int, release_record.Recorded]:
    """The numbers of every release that the program made."""
    return {
        entry.number: release_record.recorded(entry, ledger.proof_of(folder, entry))
        for entry in those
        if entry.is_publication
    }
