"""A year of the invented service published: what is written, what is refused, what a change gives away.

The attack here is the tests' own: bounds by linear programming (scipy's HiGHS) from figures.csv and the sums a reader
knows, with nothing of the program's choosing. K is 4, so a hidden small count has to be possible as 0 and as 5.
"""

from __future__ import annotations

import csv
import functools
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog

from pipeline.errors import Refused
from pipeline.privacy.publication import early, ledger, proving
from pipeline.privacy.publication.frozen_counts import Key
from pipeline.privacy.publication.ledger import Entry
from pipeline.report.pages import release_pages
from pipeline.runs import run_publish
from pipeline.runs.publishing import own_words
from pipeline.settings import Settings, parse_settings
from tests.conftest import feeding_audit, made_once

YEAR, ROLE = "2025-26", "head of infant feeding"


@pytest.fixture(scope="module")
def released(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's folder with its year published, a copy for each worker; nobody changes it."""

    def make(folder: Path) -> str:
        shutil.copytree(demo[0], folder)
        ran = feeding_audit("publish", YEAR, "--approved-by", ROLE, folder=folder)
        assert ran.returncode == 0, ran.stderr
        return ran.stdout

    made, said = made_once(tmp_path_factory, "released", make)
    assert "none of" in said
    return Path(shutil.copytree(made, tmp_path_factory.mktemp("released") / "audit"))


@pytest.fixture(autouse=True)
def without_pdf(monkeypatch: pytest.MonkeyPatch) -> None:
    """One release has a report as a PDF, which takes as long as the rest of it: the one above."""
    monkeypatch.setattr(release_pages, "with_pdf", dict)


@pytest.fixture
def mine(released: Path, tmp_path: Path) -> Path:
    """A copy to change."""
    return Path(shutil.copytree(released, tmp_path / "audit"))


def figures(folder: Path) -> list[dict[str, str]]:
    with (folder / "published" / YEAR / "figures.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def refused(work: Callable[[], object]) -> str:
    with pytest.raises(Refused) as caught:
        work()
    return str(caught.value)


def test_a_release_is_whole(released: Path):
    place = released / "published" / YEAR
    names = {path.name for path in place.iterdir()}
    assert {"report.html", "safety.html", "figures.csv", "datapackage.json"} <= names <= {*names, "report.pdf"}
    entry = json.loads((released / "releases" / "0001.json").read_text(encoding="utf-8"))
    assert (entry["period"], entry["approved_by"], entry["k"], entry["before"]) == (YEAR, ROLE, 4, "")
    assert set(entry["files"]) == names
    assert not list((released / "published").glob(".*"))


def test_no_count_of_one_to_four_people_is_printed(released: Path):
    rows = figures(released)
    records = ("unknown",)  # says how records are kept, and is no secret
    people = [row for row in rows if row["count"] not in records and not row["level"].endswith("not_recorded")]
    assert len(people) > 300
    small = [row for row in people if row["level"] != "not_recorded" and row["value"] and 1 <= int(row["value"]) <= 4]
    assert small == []
    assert all((row["value"] == "") == (row["mark"] in ("c", "w")) for row in rows)
    assert sum(row["mark"] == "c" for row in rows) > 50


def test_a_not_met_cannot_be_subtracted(released: Path):
    """From figures.csv alone: met, known, eligible and the sums over levels; each small not met stays open."""
    rows = [row for row in figures(released) if row["table"] == "measure" and not row["block"]]
    asked = 0
    for measure in dict.fromkeys(row["name"] for row in rows):  # no sum here is of two measures
        asked += len(bounded([row for row in rows if row["name"] == measure]))
    assert asked > 60


def bounded(rows: list[dict[str, str]]) -> list[tuple[str, ...]]:
    """The counts of one measure that are not printed; each of them stays open."""
    cells: dict[tuple[str, ...], int] = {}
    adds: list[tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]] = []
    levels: dict[str, list[str]] = {}
    for row in rows:
        own = levels.setdefault(row["breakdown"], [])
        if row["level"] not in own:
            own.append(row["level"])
    for breakdown, own in levels.items():
        for level in own:
            key = (breakdown, level)
            adds += [((*key, "eligible"), ((*key, "known"), (*key, "unknown")))]
            adds += [((*key, "known"), ((*key, "met"), (*key, "not_met")))]
        if breakdown != "all":
            for part in ("eligible", "known", "met", "not_met", "unknown"):
                adds.append((("all", "all", part), tuple((breakdown, level, part) for level in own)))
    for key in {key for whole, parts in adds for key in (whole, *parts)}:
        cells[key] = len(cells)
    printed = {}
    for row in rows:
        part = "met" if row["count"] == "by_28" else row["count"]
        key = (row["breakdown"], row["level"], part)
        if row["value"] and key in cells:
            printed[cells[key]] = int(row["value"])
    matrix = np.zeros((len(adds), len(cells)))
    for at, (whole, parts) in enumerate(adds):
        matrix[at, cells[whole]] += 1
        for part in parts:
            matrix[at, cells[part]] -= 1
    limits = [(printed.get(cell, 0), printed.get(cell)) for cell in range(len(cells))]
    asked = [key for key in cells if key[2] in ("met", "not_met") and cells[key] not in printed]
    for key in asked:
        cost = np.zeros(len(cells))
        cost[cells[key]] = 1
        low, high = (linprog(sign * cost, A_eq=matrix, b_eq=np.zeros(len(adds)), bounds=limits) for sign in (1, -1))
        assert low.status == 0
        most = np.inf if high.status == 3 else -high.fun
        assert not (low.fun > 0.5 and most < 4.5), key  # it would be told to be 1 to 4
    return asked


def test_every_number_of_the_page_stands_in_figures_csv(released: Path):
    page = (released / "published" / YEAR / "report.html").read_text(encoding="utf-8")
    page = re.sub(r"all others \d+ of \d+ \(\d+%\)", "", page)  # of two printed numbers the difference
    pairs = set(re.findall(r"\b(\d+) of (?:the )?(\d+) \(\d+%\)", page))
    printed = {row["value"] for row in figures(released)}
    assert len(pairs) > 50
    assert {number for pair in pairs for number in pair} <= printed
    assert "[c]" in page


def test_what_the_lead_marked_stands_on_the_page_and_the_rest_of_the_plan_does_not(released: Path):
    page = (released / "published" / YEAR / "report.html").read_text(encoding="utf-8")
    actions = page.split('id="actions"')[1].split("</section>")[0]
    assert "Add care at home to the record of every division" in actions
    assert "Look at how requests reach the team on Fridays and before holidays" in actions
    assert "supplier" not in page


def test_every_measure_has_a_row_for_every_level_so_that_a_row_tells_of_nobody(released: Path):
    """All but those in which nobody can be: first seen at four weeks or later, and counted only if seen before."""
    levels: dict[tuple[str, str], set[str]] = {}
    for row in figures(released):
        if row["table"] == "measure" and row["breakdown"] != "all":
            levels.setdefault((row["breakdown"], row["name"]), set()).add(row["level"])
    of_age = {
        "asked_at_6_weeks": {"0-6", "7-13", "14-27"},
        "exclusively_breastfed_at_6_weeks": {"0-6", "7-13", "14-27"},
        "breastfed_at_6_weeks": {"0-6", "7-13", "14-27"},
        "seen_promptly": {"0-6", "7-13", "14-27", "28+", "not_recorded"},  # of a request that is no case, no age
    }
    for (breakdown, name), own in levels.items():
        if breakdown == "age_band":
            assert own == of_age.get(name, {"0-6", "7-13", "14-27", "28+"}), name
        else:
            assert own == levels[breakdown, "seen_promptly"], (breakdown, name)
    assert {"asian", "black", "mixed", "white", "other", "not_stated"} <= levels["ethnic_group", "seen_promptly"]
    rows = {row["level"] for row in figures(released) if row["name"] == "vitamin_k"}
    assert {"injection", "oral", "declined", "not_given"} <= rows


def test_verify_goes_through_it_again(released: Path):
    ran = feeding_audit("published", "--verify", folder=released)
    assert ran.returncode == 0
    assert "Verified: 1 release" in ran.stdout
    listed = feeding_audit("published", folder=released)
    assert f"1. {YEAR}: published" in listed.stdout
    assert ROLE in listed.stdout


@pytest.mark.parametrize(
    "name", ["releases/0001.json", "releases/0001.proof.npz", "releases/2025Q3.csv", f"published/{YEAR}/figures.csv"]
)
def test_a_changed_file_is_found(mine: Path, name: str):
    body = (mine / name).read_bytes()
    (mine / name).write_bytes(body[:-40] + bytes(byte ^ 1 for byte in body[-40:]))
    assert name.rpartition("/")[2] in refused(lambda: run_publish.verify(mine))


def test_an_entry_that_is_taken_away_or_written_anew_is_found(mine: Path):
    entry = mine / "releases" / "0001.json"
    said = json.loads(entry.read_text(encoding="utf-8"))
    entry.write_text(json.dumps({**said, "approved_by": "somebody else"}), encoding="utf-8")
    assert "last.txt" in refused(lambda: run_publish.published(mine))
    entry.unlink()
    assert "last.txt" in refused(lambda: run_publish.published(mine))


def test_a_file_beside_the_released_ones_is_found(mine: Path):
    (mine / "published" / YEAR / "notes.txt").write_text("2 of them", encoding="utf-8")
    assert "notes.txt: it is no part of the release" in refused(lambda: run_publish.verify(mine))


def test_what_may_not_be_published_is_refused_early_with_what_to_do(released: Path):
    def publish(period: str, by: str = ROLE) -> str:
        return refused(lambda: run_publish.publish(released, period, by))

    assert "is published already" in publish(YEAR)
    assert "its follow-up ends 84 days after its last day" in publish("2026-27")
    assert "quarters are not published" in publish("2026Q1")
    assert "--approved-by: nobody" in publish("2024-25", " ")


def with_words(key: str, text: str) -> Settings:
    words = {"name": "Moor end feeding team", key: text}
    lines = {name: f"{name} = {json.dumps(words[name])}" for name in words}
    service = "\n".join(line for name, line in lines.items() if name in ("name", "contact"))
    publish = "\n".join(line for name, line in lines.items() if name in ("about", "licence"))
    return parse_settings(f"[service]\n{service}\n[publish]\n{publish}\n", Path("audit.toml"), {})


@pytest.mark.parametrize(
    ("where", "text", "number"),
    [
        ("about", "Four in five babies settle with our help.", "Four"),
        ("about", "We see babies up to 12 weeks old; 3 bled.", "3"),
        ("about", "A tenth of babies bled, a tenth of them badly.", "tenth of"),
        ("about", "The longest wait was 93 days.", "93"),
        ("name", "Moor end (2 babies bled)", "2"),
        ("contact", "the lead, 2 of 9 babies", "2"),
        ("contact", "the lead, 1234567", "1234567"),
        ("contact", "12 Babies Bled, Moor end", "12"),
        ("licence", "CC BY 4.0, 3 of them", "4.0"),
        ("licence", "for all but 3", "3"),
    ],
)
def test_the_services_own_words_with_a_number_are_not_published(where: str, text: str, number: str):
    said = refused(lambda: own_words.see_that_they_hold_no_figure(with_words(where, text), ROLE))
    assert f"it holds “{number}”" in said
    assert said.startswith(f"audit.toml, [{'publish' if where in ('about', 'licence') else 'service'}]")


@pytest.mark.parametrize(
    ("where", "text"),
    [
        ("about", "Since 2019 we see babies from birth to 12 weeks old, one to one, and ask at six weeks."),
        ("contact", "the head of infant feeding, 0123 456 7890, from 9am to 5.30pm, or feeding2@trust.invalid"),
        ("contact", "the lead, Room 4, 12 High Street, AB1 2CD; +44 (0)123 456 7890 ext 12"),
        ("licence", "CC BY 4.0"),
        ("licence", "Open Government Licence v3.0"),
        ("licence", "https://licences.invalid/by/4.0/"),
    ],
)
def test_a_year_an_age_an_address_and_a_version_are_no_figures(where: str, text: str):
    own_words.see_that_they_hold_no_figure(with_words(where, text), ROLE)


def test_a_number_in_the_settings_or_in_the_role_is_refused_before_anything(mine: Path):
    settings_file = mine / "audit.toml"
    text = settings_file.read_text(encoding="utf-8")
    settings_file.write_text(f'{text}\n[publish]\nabout = "None of our 7 babies bled."\n', "utf-8")
    said = refused(lambda: run_publish.publish(mine, "2024-25", "lead of three clinics"))
    assert "about: it holds “7”" in said
    assert "--approved-by: it holds “three”" in said


def entry(period: str, **said: object) -> Entry:
    return Entry(1, {"kind": "publication", "period": period, **said}, "")


def counted(site: str) -> dict[Key, int]:
    return {Key("measure", "seen_promptly", "site", site, "met"): 9}


def test_a_category_renamed_within_a_year_is_refused():
    frozen, now = {"2025Q2": counted("Moor end")}, {"2025Q2": counted("Moorend")}
    said = refused(lambda: early.see_that_nothing_was_renamed(YEAR, frozen, now, ["site"]))
    assert "'Moor end' was a site when 2025Q2 was frozen and is none now; new since: 'Moorend'" in said
    early.see_that_nothing_was_renamed(YEAR, frozen, frozen, ["site"])


def test_a_definition_changed_within_a_year_is_refused():
    those = [entry("2025Q2", definitions={"seen_promptly": "then"})]
    early.see_that_definitions_stand(YEAR, ["2025Q2"], those, {"seen_promptly": "then", "new_one": "now"})
    early.see_that_definitions_stand("2026-27", ["2026Q2"], those, {"seen_promptly": "now"})
    said = refused(lambda: early.see_that_definitions_stand(YEAR, ["2025Q2"], those, {"seen_promptly": "now"}))
    assert "seen_promptly: its definition is not that of 2025Q2" in said


def test_a_ledger_of_another_store_and_a_quarter_of_a_published_year_are_refused():
    those = [entry(YEAR, loads={"1": "of this store"})]
    early.see_that_it_is_of_the_store(those, {1: "of this store", 2: "later"})
    assert "load 1 is not the one of this store" in refused(
        lambda: early.see_that_it_is_of_the_store(those, {1: "of another"})
    )
    assert f"the year {YEAR} is published already" in refused(
        lambda: early.see_that_it_may_be("2025Q2", True, YEAR, True, those)
    )


def test_a_dry_run_writes_nothing_and_asks_for_nobody(demo: tuple[Path, str]):
    folder = demo[0]
    before = {path for path in folder.rglob("*") if "published" in path.parts or "releases" in path.parts}
    ran = feeding_audit("publish", YEAR, "--dry-run", folder=folder)
    assert ran.returncode == 0, ran.stderr
    assert "nothing was written" in ran.stdout
    assert "  [c] " in ran.stdout
    assert {path for path in folder.rglob("*") if "published" in path.parts or "releases" in path.parts} == before


LEAKS = ("comment", "order", "axis", "alt", "time", "action")


def leaks(what: str) -> Callable[..., dict[str, bytes]]:
    """The program's own pages, with something that hidden counts decide in one of them."""
    own = release_pages.files

    def files(frame, found):
        made = dict(own(frame, found))
        hidden = leaks.values
        extra = {
            "comment": f"<!-- {hidden.sum()} rows -->",
            "order": " ".join(map(str, np.argsort(hidden)[:40])),
            "axis": f'<svg viewBox="0 0 {hidden[::3].sum() % 997} 1"></svg>',
            "alt": f'<img alt="{int(hidden[hidden > 0].min())} and {hidden.sum() % 97} hidden">',
            "time": f'<meta name="made" content="{hidden.sum() % 1009}">',
            "action": f"<p>We looked at all {hidden.sum() % 89} of them.</p>",
        }[what]
        made["report.html"] += extra.encode()
        return made

    return files


def test_a_page_that_shows_what_is_hidden_is_not_published(
    demo: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """figures() is where the counts, of the truth or a decoy, are last seen. Of one release each leak is tried."""
    folder = Path(shutil.copytree(demo[0], tmp_path / "audit"))
    own, nothing_shows = run_publish.figures, proving.see_that_nothing_shows

    def seen(want, at, values, printed, **words):
        leaks.values = values
        return own(want, at, values, printed, **words)

    def each_leak(*given):
        told = []
        for files in [leaks(what) for what in LEAKS]:
            monkeypatch.setattr(release_pages, "files", files)
            told.append(refused(lambda: nothing_shows(*given)))
        assert all("report.html: not the same for the truth and for decoy" in said for said in told), told
        return nothing_shows(*given)  # the last of them is there still

    monkeypatch.setattr(run_publish, "figures", seen)
    monkeypatch.setattr(proving, "see_that_nothing_shows", each_leak)
    assert "not the same for the truth and for decoy" in refused(lambda: run_publish.publish(folder, YEAR, ROLE))
    assert not (folder / "published").exists()
    assert not list(folder.glob("releases/*"))


def test_printing_one_withheld_count_more_is_refused_by_the_gate(released: Path):
    those = ledger.opened(released)
    kept = run_publish._kept(released, those)[1]
    hidden = np.flatnonzero(kept.linked.printable & ~kept.printed)
    assert len(hidden) > 50
    for cell in hidden[:: max(1, len(hidden) // 40)]:
        kept.printed[cell] = True
        assert proving.faults_of(1, kept, 4), kept.linked.names[cell]
        kept.printed[cell] = False
    assert proving.faults_of(1, kept, 4) == []


def test_figures_that_went_out_another_way_are_entered_and_what_they_give_away_is_said(mine: Path, tmp_path: Path):
    row = next(
        row for row in figures(mine) if row["mark"] == "c" and row["count"] == "met" and row["breakdown"] == "all"
    )
    given = tmp_path / "given.csv"
    heads = ("period", "table", "name", "breakdown", "level", "count", "value")
    line = [*(row[head] for head in heads[:-1]), "3"]
    given.write_text(f"{','.join(heads)}\n{','.join(line)}\n", encoding="utf-8")
    ran = feeding_audit("record-release", given, "--what", "slides", folder=mine)
    assert ran.returncode == 0, ran.stderr
    assert "LOOK AT THIS" in ran.stdout
    assert row["name"] in ran.stdout.replace("\n", " ")
    assert feeding_audit("published", "--verify", folder=mine).returncode == 0  # it is on record, and stays so
    wrong = tmp_path / "wrong.csv"
    wrong.write_text(",".join(heads) + "\n2025-26,measure,breastfed,all,all,met,two\n", encoding="utf-8")
    said = refused(lambda: run_publish.record(mine, wrong, "slides", ""))
    assert "line 2: name breastfed" in said
    assert "value 'two'" in said


def test_a_kill_leaves_no_release_or_a_whole_one(demo: tuple[Path, str], tmp_path: Path):
    """Killed at each step of writing it, in a process of its own; the next command finishes or clears it.

    One release is then made by this process and one by another, whose sets have their texts in another order.
    """
    killed_at = "import os; from pathlib import Path; from pipeline.privacy.publication import ledger as it; "
    killed_at += "from pipeline.report.pages import release_pages; release_pages.with_pdf = dict; "
    steps = {
        "before the entry": "it._write_once = lambda *_: os._exit(9)",
        "after the entry": "own = it._write_once; it._write_once = lambda *a: (own(*a), os._exit(9))",
    }
    for number, (name, step) in enumerate(steps.items()):
        folder = Path(shutil.copytree(demo[0], tmp_path / str(number)))
        work = f"from pipeline.runs import run_publish; run_publish.publish(Path({str(folder)!r}), {YEAR!r}, {ROLE!r})"
        command = [sys.executable, "-c", f"{killed_at}{step}; {work}"]
        ran = subprocess.run(command, capture_output=True, text=True, env={**os.environ, "PYTHONHASHSEED": "7"})
        assert ran.returncode == 9, ran.stderr
        done = run_publish.published(folder)
        assert len(done) == (1 if name == "after the entry" else 0)
        assert (folder / "published" / YEAR / "report.html").exists() == bool(done)
        assert not list((folder / "published").glob(".*"))
        if done:
            run_publish.verify(folder)
        else:  # what the kill left is frozen by no entry: a load between may have changed it
            (folder / "releases" / "2025Q3.csv").write_bytes(b"left by a run that was killed\n")
            (folder / "published" / YEAR).mkdir(parents=True)
            assert "there is such a folder" in refused(functools.partial(run_publish.publish, folder, YEAR, ROLE))
            assert run_publish.published(folder) == ()
            (folder / "published" / YEAR).rmdir()
            run_publish.publish(folder, YEAR, ROLE)
            run_publish.verify(folder)
    first, second = (
        {path.name: path.read_bytes() for part in ("releases", f"published/{YEAR}") for path in (made / part).iterdir()}
        for made in (tmp_path / "0", tmp_path / "1")
    )
    assert {"0001.json", "2025Q3.csv", "figures.csv", "report.html"} <= first.keys()
    assert first == second
