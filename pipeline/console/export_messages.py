"""What is said of exports, loads and the store.

Comes in: what the spine gave back. Goes out: lines on standard output.
"""

from __future__ import annotations

import shlex
from pathlib import Path

from pipeline.console.terminal import say, say_wrapped
from pipeline.intake.account.findings import Findings
from pipeline.intake.examination import Examined
from pipeline.intake.suggest.write_mapping import Suggested
from pipeline.plain_text import number_of
from pipeline.runs.run_results import Loaded, Withdrawn
from pipeline.store import Erased, Event, LineCounts


def loaded(load: Loaded) -> None:
    """What a load did."""
    if load.examined is None:
        say(f"These files are in the store already, as load {load.number}; nothing changed.")
        return
    say(f"Load {load.number}, {load.examined.export.name}, cut-off {load.cut_off}:")
    for words in load.no_longer_there:
        say_wrapped(f"LOOK AT THIS: {words}.")
    _examined(load.examined)
    for new in load.examined.new:
        say_wrapped(f"new {new.kind}, confirmed: {', '.join(new.words)}")
    if load.examined.findings.reasons:
        say(f"To mend them at source, open {load.lists / 'to_mend.xlsx'}")
    if load.settled is not None and (load.settled.total or load.settled.anew):
        say_wrapped(f"Of what load {load.settled.before} had set aside: {load.settled.words}.")


def checked(examined: Examined, to_mend: Path | None) -> None:
    """What a load would say."""
    verdict = "a load would hold it back" if examined.held_back else "a load would accept it"
    say(f"Checked {examined.export.name}, cut-off {examined.export.cut_off}: {verdict}. Nothing was stored.")
    for doubt in examined.held_back:
        say(str(doubt))
    _examined(examined)
    if to_mend is not None:
        say(f"Wrote the list of what to mend: {to_mend}. Nothing else was changed.")
    elif examined.findings.reasons:
        say("For a workbook that lists all of it: add --to-mend FILE.xlsx")


def suggested(done: Suggested, export: Path, folder: Path) -> None:
    """What a suggestion holds, and how to go on."""
    made = done.suggestion
    say(f"Wrote a first mapping: {done.path}")
    say(f"Its lines: {made.sure} sure, {made.likely} likely, {made.asks} ask you to decide.")
    for words in done.first_look.not_read:
        say_wrapped(f"not read: {words}")
    if done.first_look.marks:
        say_wrapped(done.first_look.marks)
    if done.first_look.identifiers:
        say("LOOK AT THIS: these columns look like personal identifiers; no load takes an export with them:")
        for words in done.first_look.identifiers:
            say_wrapped(words)
        say("Take them out of the export; or, where one is no identifier, say why under [not_identifiers].")
    say("1. Open it in a text editor, answer what asks, mend what is wrong, and save it.")
    where = f"{shlex.quote(str(export))} --folder {shlex.quote(str(folder))}"
    say(f"2. Check the export: feeding-audit check {where} --extracted-on YYYY-MM-DD")
    say(f"3. Load it:          feeding-audit load {where} --extracted-on YYYY-MM-DD")


def _examined(examined: Examined) -> None:
    """What matters first: the lines, what to look at, what was set aside; what was left out comes last."""
    _counts(examined.counts)
    if examined.compared is not None:
        say(f"Since load {examined.compared.before}: {examined.compared.words}.")
    for remark in examined.remarks:
        if remark.serious:
            say_wrapped(f"LOOK AT THIS: {remark.text}")
    _findings(examined.findings, sum(sheet.set_aside for sheet in examined.counts))
    for remark in examined.remarks:
        if not remark.serious:
            say_wrapped(remark.text)


def _counts(counts: tuple[LineCounts, ...]) -> None:
    wide = max(22, *(len(sheet.file) for sheet in counts))
    say(
        f"  {'file':<{wide}}{'lines':>8} = {'header':>6} + {'blank':>6} + {'accepted':>9} + {'set aside':>9} + "
        f"{'repeats':>7} + {'left out':>8}"
    )
    for sheet in counts:
        say(
            f"  {sheet.file:<{wide}}{sheet.lines:>8} = {sheet.header:>6} + {sheet.blank:>6} + {sheet.accepted:>9} + "
            f"{sheet.set_aside:>9} + {sheet.repeats:>7} + {sheet.left_out:>8}"
        )


def _findings(findings: Findings, lines: int) -> None:
    if not findings.reasons:
        say("Nothing was set aside.")
        return
    say(f"Set aside: {number_of(lines, 'line')}.")
    if findings.rows:
        say(f"Of lines that were kept, {number_of(findings.rows, 'part')} (a contact, a procedure) could not be used.")
    if findings.values:
        say(f"Of rows that were kept, {number_of(findings.values, 'single value')} could not be used.")
    say("The commonest reasons:")
    for words in findings.commonest:
        say(words)


def happened(events: tuple[Event, ...]) -> None:
    """Everything that happened to a store."""
    if not events:
        say("Nothing was loaded yet.")
    for event in events:
        if event.kind != "load":
            what = f"withdrawal of load {event.of_load}" if event.kind == "withdrawal" else event.kind
            say(f"{event.event:>4}  {what}{f': {event.reason}' if event.reason else ''}")
            continue
        source = f", source {event.source}" if event.source else ""
        say(f"{event.event:>4}  load of {event.export}{source}, cut-off {event.cut_off}")
        say(
            f"      {number_of(event.lines, 'line')}: {event.accepted} accepted, {event.set_aside} set aside, "
            f"{number_of(event.repeats, 'repeat')}, {event.left_out} left out; {number_of(event.cases, 'case')}"
        )
        if event.accepted_anyway:
            say_wrapped(f"    accepted though it looked wrong as a whole: {event.accepted_anyway}")
        if event.withdrawn_by is not None:
            say(f"      withdrawn by event {event.withdrawn_by}")
        else:
            counts = "counts" if event.counting == 1 else "count"
            say(f"      in force; {number_of(event.counting, 'case')} {counts} as it holds them")


def withdrawn(done: Withdrawn) -> None:
    """What a withdrawal did."""
    say(f"Event {done.event}: load {done.load} is withdrawn, and counts no more.")
    say(
        f"Cases that counted as it held them: {done.counted_from_it}; of these count now as an older load holds them: "
        f"{done.counting_again}."
    )
    say("To undo this, load the same files again. Reports made before stay as they are: make them again.")


def erased(done: Erased) -> None:
    """What an erasure did."""
    listed = ", ".join(map(str, done.loads))
    say(
        f"Event {done.event}: the case is erased: {number_of(done.rows, 'row')} and "
        f"{number_of(done.findings, 'finding')} of load {listed}. The store and the lists in loads/ hold it no more."
    )
    for text in (
        "Erase the record itself at its source too, or the next export brings it back.",
        "Exports and copies of this folder that you keep still hold it.",
        "Results made before hold only counts. A page may hold it in the lead's words: mend them, and make it again.",
    ):
        say_wrapped(text)
    if done.published:
        say_wrapped(
            f"What is published ({', '.join(done.published)}) stays as it is: it holds only counts, and is never made "
            "again. The frozen counts behind it hold no case."
        )
    if done.removed:
        listed = ", ".join(map(str, done.removed))
        say_wrapped(f"Removed, because they named it: {listed}. report and due make them again without it.")
    for path in done.still_written:
        say_wrapped(f"LOOK AT THIS: {path} is yours, and still mentions the reference; take it out there.")
