"""A practitioner's own caseload beside the rest: counted by hand; whose page it is, and whose it never shows."""

from __future__ import annotations

import functools
import re
import shutil
import stat
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import beta, betabinom

from pipeline import run
from pipeline.errors import Refused
from pipeline.outcomes.lookup import Result
from pipeline.report.pages.practitioner_page import file_name
from pipeline.report.views.own_views import NOT_SHOWN
from pipeline.report.views.whom.drawn_in import all_drawn_in, how
from pipeline.runs.run_results import MadeForOne
from tests.conftest import INVENTED, worked_out_once, write_export
from tests.test_report_page import read

CUT_OFF = date(2026, 6, 30)
PERIOD = "2026Q1"
OWN = 'QL5 & "2" <b>'  # a code may hold anything
OTHERS = ("RK7", "SD8", "TS9", "UM6")


def export(folder: Path) -> Path:
    """Everybody sees two families, one within five days and one not; nobody is recorded for one more.

    RK7 and SD8 divide; only the own code has a division that bled.
    """
    cases, contacts, procedures = [], [], []
    number = 0
    for code in (OWN, *OTHERS):
        for requested in ("2026-01-10", "2026-01-01"):
            number += 1
            cases.append(f"c{number},North,{requested},2026-01-12,10,partial")
            quoted = code.replace('"', '""')
            contacts.append(f'c{number},2026-01-12,"{quoted}",yes')
    cases.append("c11,North,2026-01-12,2026-01-12,10,partial")
    contacts.append("c11,2026-01-12,not_known,yes")
    for case, code, day in (("c1", "RK7", "02-02"), ("c3", "RK7", "02-02"), ("c5", "SD8", "03-31")):
        procedures.append(f"{case},2026-{day},{code}")
    return write_export(
        folder,
        {
            "cases": "case_ref,site,help_requested_date,first_contact_date,age_days,feeding_at_first_contact\n"
            + "\n".join(cases),
            "contacts": "case_ref,contact_date,practitioner,attachment_help\n" + "\n".join(contacts),
            "procedures": "case_ref,procedure_date,operator\n" + "\n".join(procedures),
        },
    )


@pytest.fixture(scope="module")
def loaded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with the export."""
    place = tmp_path_factory.mktemp("practitioner")
    audit = run.new(place / "audit").parent
    done = run.load(audit, export(place / "RK7 and SD8"), CUT_OFF, accept_anyway=INVENTED)
    assert done.examined is not None
    assert sum(sheet.set_aside for sheet in done.examined.counts) == 0
    return audit


@pytest.fixture
def loaded(loaded_once: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(loaded_once, tmp_path / "audit"))


@pytest.fixture(scope="module")
def edition(loaded_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., MadeForOne]]:
    """The edition of a code and a period, made once for all who read it, in a folder whose settings name others."""
    audit = shutil.copytree(loaded_once, tmp_path_factory.mktemp("editions") / "audit")
    (audit / "audit.toml").write_text((audit / "audit.toml").read_text() + "\n# ask TS9 or UM6\n")

    @functools.cache
    def made(code: str, period: str) -> MadeForOne:
        return run.practitioner(audit, code, period)

    with worked_out_once(audit, PERIOD), worked_out_once(audit, "2026-27"):
        yield lambda code, period=PERIOD: made(code, period)


@pytest.fixture(scope="module")
def asked_of(loaded_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A copy of the folder of which no edition is made."""
    audit = shutil.copytree(loaded_once, tmp_path_factory.mktemp("asked") / "audit")
    with worked_out_once(audit, PERIOD):
        yield audit


def periods(page: str, measure: str) -> list[list[str]]:
    """The rows of the table of a measure, without its heads."""
    return read(page).tables[f"{measure}-quarters-caption"][1:]


def test_own_and_rest_are_counted_from_the_rows(edition: Callable[..., MadeForOne]) -> None:
    made = edition(OWN)
    counted = made.content.counted
    assert (counted.first_seen, counted.divisions) == (2, 0)  # RK7 divided c1, which the own code leads
    here = counted.results.set_index(["measure", "period", "breakdown", "level"])
    own = here.loc[("seen_promptly", PERIOD, "whose", "own")]
    rest = here.loc[("seen_promptly", PERIOD, "whose", "rest")]
    assert (own["eligible"], own["known"], own["met"]) == (2, 2, 1)
    # Eight families of four others, four of them seen promptly, and the one of nobody.
    assert (rest["eligible"], rest["known"], rest["met"]) == (9, 9, 5)
    page = made.page.read_text(encoding="utf-8")
    assert periods(page, "seen_promptly") == [
        ["Jan-Mar 26", "1 of 2 (50%, 9 to 91%); 0 not known", "5 of 9 (56%, 27 to 81%); 0 not known"]
    ]


def test_the_page_for_the_own_file_counts_twelve_months_and_all_years(edition: Callable[..., MadeForOne]) -> None:
    """RK7 divided two babies on 2 February 2026, and nobody heard from either afterwards.

    Exact limits of 0 of 2: 1 - 0.025 ** (1 / 2) = 0.842.
    """
    noted = "0 of 2 (0%; 0 to 84%); heard from 0 of 2"
    rows = {
        "Divisions you made": "2",
        "Bleeding that needed care": noted,
        "Breastfed six weeks after division": "none of 2 known",
        "Divided again within 84 days": "0 of 2 (0%; 0 to 84%); 0 not known",
        "Family felt helped": "none of 2 known",  # the two that RK7 leads
        "Reattached within 84 days": noted,
    }
    page = edition("RK7").page.read_text(encoding="utf-8")
    assert read(page).tables["own-file-caption"][1:] == [[title, said, said] for title, said in rows.items()]
    assert "one that two made on one day stands on neither page" in page
    # The twelve months up to 31 March 2027 begin on 1 April 2026.
    page = edition("RK7", "2026-27").page.read_text(encoding="utf-8")
    assert read(page).tables["own-file-caption"][1:] == [
        [title, "0" if title.startswith("Divisions") else "none", said] for title, said in rows.items()
    ]
    # SD8 divided on the last day before them.
    page = edition("SD8", "2026-27").page.read_text(encoding="utf-8")
    own = {title: spans for title, *spans in read(page).tables["own-file-caption"][1:]}
    assert own["Divisions you made"] == ["0", "1"]
    assert own["Divided again within 84 days"] == ["none", "0 of 1 (0%; 0 to 98%); 0 not known"]


def test_measures_of_which_nothing_of_the_own_is_known_have_one_line(edition: Callable[..., MadeForOne]) -> None:
    """Nobody asked RK7's families anything, and nothing is written down of the divisions but that they were made."""
    page = edition("RK7").page.read_text(encoding="utf-8")
    (line,) = re.findall("Nothing is known of yours in these quarters under: (.*)[.]</p>", page)
    assert sorted(line.split("; ")) == [
        "Aftercare advice given",
        "Any complication within 14 days, reattachment apart",
        "Bleeding that needed care",
        "Breastfed at six weeks",
        "Breastfed six weeks after division",
        "Complication needing care",
        "Exclusively breastfed at six weeks",
        "Family felt helped",
        "Fed at the breast at six weeks",
        "Fed within 30 minutes",
        "Infection within 14 days",
        "Reattached within 84 days",
    ]
    assert not any(f"<h3>{title}" in page or f">{title}</h3>" in page for title in line.split("; "))
    assert 'id="asked_at_6_weeks"' in page  # not having been asked is known
    (none,) = re.findall("You had no case or division in these quarters under: (.*)[.]</p>", page)
    assert "Feeding pain eased" in none.split("; ") and "Family felt helped" not in none


def test_what_few_others_stand_behind_is_not_shown(edition: Callable[..., MadeForOne]) -> None:
    """Two operators: their procedures are nobody else's business, on anybody's page."""
    rook = edition("RK7").page.read_text(encoding="utf-8")
    assert read(rook).tables["age_at_procedure-quarters-caption"][0] == ["Quarter", "Own caseload"]
    # RK7's two babies were 31 days old: ten at first contact, three weeks before.
    assert periods(rook, "age_at_procedure") == [["Jan-Mar 26", "31 days (of 2), all 31 days"]]
    article = rook.split('<article id="age_at_procedure"')[1].split("</article>")[0]
    assert "Divisions with you as operator" in article
    assert f"<dd>{NOT_SHOWN}\n" in article
    assert "Difference" not in article
    led = rook.split('<article id="seen_promptly"')[1].split("</article>")[0]
    assert "Cases you lead" in led
    assert "cannot be said: fewer than 5 known on a side" in led


def test_the_own_share_is_drawn_towards_all_where_the_rest_is_shown_and_only_there(
    edition: Callable[..., MadeForOne],
) -> None:
    page = edition(OWN).page.read_text(encoding="utf-8")
    # 1 of 2 drawn towards the 6 of 11 of own and rest, with 40 cases: a beta distribution of (1 + 240/11, 1 + 200/11).
    drawn = beta(1 + 240 / 11, 1 + 200 / 11)
    low, high = (round(100 * end) for end in drawn.interval(0.95))
    share = f"{round(100 * drawn.mean())}% ({low} to {high}%)"
    articles = re.findall(r'<article id="([a-z0-9_]+)"(.*?)</article>', page, re.DOTALL)
    said = {name: re.findall("allowing for few cases\n<dd>(.*)", text) for name, text in articles}
    assert said["seen_promptly"] == [
        f"{share}: as if 40 cases like those of the whole service stood beside the "
        "practitioner’s own; 40 is set beforehand, since practitioners with cases are too few to tell how far they "
        "differ."
    ]
    hidden = [name for name, text in articles if NOT_SHOWN in text]
    assert hidden and not any(said[name] for name in hidden)


def units(*counts: tuple[int, int]) -> dict[str, Result]:
    return {
        f"P{n}": Result(of, of, met, 0, None, None, None, None, None, complete=True, of=of)
        for n, (met, of) in enumerate(counts)
    }


def test_how_far_shares_are_drawn_is_said_with_what_it_is_read_from() -> None:
    few, drawn = all_drawn_in({**units((3, 4), (0, 6), (0, 0)), "several": units((9, 9))["P0"]})
    # Nobody's nine are in no mean: 3 of 10, and 40 cases. Without cases there is nothing to draw.
    assert (few.mean, few.weight, drawn.keys()) == (0.3, 40, {"P0", "P1"})
    assert drawn["P1"].startswith(f"{round(100 * 12 / 46)}% (")
    assert "40 is set beforehand" in how(few)
    apart, _ = all_drawn_in(units(*[(2, 30), (28, 30)] * 5))
    # The weight at which the beta-binomial likelihood of these ten is highest, by scipy and a plain grid; mean a half.
    grid = np.linspace(0.2, 10, 491)
    best = grid[np.argmax([betabinom.logpmf([2, 28], 30, w / 2, w / 2).sum() for w in grid])]
    assert apart.weight == pytest.approx(best, abs=0.03)
    assert how(apart).endswith("is read off how far practitioners here differ by more than chance")
    alike, drawn = all_drawn_in(units(*[(15, 30)] * 9))
    assert "differ by no more than chance gives" in how(alike)
    assert set(drawn.values()) == {"50%"}
    assert set(all_drawn_in(units(*[(0, 30)] * 9))[1].values()) == {"0%"}
    assert all_drawn_in({})[1] == {}


def test_of_the_cases_to_look_at_again_only_the_own_are_listed(edition: Callable[..., MadeForOne]) -> None:
    """Ten babies have no six-week answer, two of each lead; and RK7 divided c1 and c3 with no check on record."""
    of_this_story = ("checks_not_recorded", "no_six_week_answer", "complication_needing_care", "waited_longest")
    listed = {
        code: {
            reason.name: [case.case_ref for case in reason.cases]
            for reason in edition(code).content.reasons
            if reason.name in of_this_story
        }
        for code in (OWN, "RK7", "UM6")
    }
    assert listed[OWN] == {"no_six_week_answer": ["c1", "c2"]}
    assert listed["RK7"] == {"checks_not_recorded": ["c1", "c3"], "no_six_week_answer": ["c3", "c4"]}
    assert listed["UM6"] == {"no_six_week_answer": ["c10", "c9"]}
    page = read(edition("RK7").page.read_text(encoding="utf-8"))
    assert [row[0] for row in page.tables["look-no_six_week_answer-caption"][1:]] == ["c3", "c4"]


def test_no_other_code_is_anywhere_in_the_file(edition: Callable[..., MadeForOne]) -> None:
    for code in (OWN, *OTHERS):
        made = edition(code)
        page = made.page.read_text(encoding="utf-8")
        others = [other for other in OTHERS if other != code]
        # The export's folder and the settings name some of them, too.
        assert [other for other in others if other in page or other in made.page.name] == []
        assert ("QL5" in page) is (code == OWN)


def test_nothing_reads_as_a_verdict(edition: Callable[..., MadeForOne]) -> None:
    page = edition(OWN).page.read_text(encoding="utf-8")
    body = re.sub(r"<[^>]*>", " ", page.split("</style>")[1])
    for word in ("better", "worse", "best", "worst", "outlier", "rank", "poor", "target", "performance", "fail"):
        assert not re.search(rf"\b{word}", body, re.IGNORECASE), word


def test_small_numbers_are_said_before_the_first_figure(edition: Callable[..., MadeForOne]) -> None:
    page = edition(OWN).page.read_text(encoding="utf-8")
    body = re.sub(r"<[^>]*>", " ", page.split("</style>")[1])
    figure = re.search(r"\d+ of \d+", body)
    assert figure is not None
    assert body.index("These numbers are small.") < figure.start()
    assert body.index("lists cases") < body.index("These numbers are small.")


def test_a_code_is_escaped(edition: Callable[..., MadeForOne]) -> None:
    page = edition(OWN).page.read_text(encoding="utf-8")
    assert "QL5 &amp; &#34;2&#34; &lt;b&gt;" in page
    assert "<b>QL5" not in page
    assert '2" <b>' not in page


def test_only_its_owner_reads_it_and_it_is_the_same_twice(loaded: Path) -> None:
    first = run.practitioner(loaded, "RK7", PERIOD).page
    bytes_of_it = first.read_bytes()
    assert stat.S_IMODE(first.stat().st_mode) == 0o600
    assert first.parent == loaded / "editions" / PERIOD / "practitioner"
    assert run.practitioner(loaded, "RK7", PERIOD).page.read_bytes() == bytes_of_it
    assert [path.name for path in first.parent.iterdir()] == [first.name]


def test_a_report_makes_none(loaded: Path) -> None:
    run.report(loaded, PERIOD)
    assert not (loaded / "editions" / PERIOD / "practitioner").exists()


@pytest.mark.parametrize("code", ["WN1", "not_recorded", "rk7", "all", ""])
def test_a_code_that_is_not_there_is_refused(asked_of: Path, code: str) -> None:
    with pytest.raises(Refused) as refused:
        run.practitioner(asked_of, code, PERIOD)
    (fault,) = refused.value.faults
    assert fault.where == "CODE"
    assert fault.allowed == f"one of: {OWN}, RK7, SD8, TS9, UM6"


def test_a_period_without_cases_still_has_a_page_of_the_periods_before(edition: Callable[..., MadeForOne]) -> None:
    page = edition("RK7", "2026Q2").page.read_text(encoding="utf-8")
    assert "No cases to count, so no figure" in page
    assert periods(page, "seen_promptly") == [
        ["Jan-Mar 26", "1 of 2 (50%, 9 to 91%); 0 not known", "5 of 9 (56%, 27 to 81%); 0 not known"],
        ["Apr-Jun 26", "none to count", "not shown"],
    ]


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("P01", "P01"),
        ("MW-4", "MW-4"),
        ("p01", r"p01_[0-9a-f]{20}"),
        ("../../etc/passwd", r"etcpasswd_[0-9a-f]{20}"),
        ("..", r"_[0-9a-f]{20}"),
        ("CON", r"CON_[0-9a-f]{20}"),
        ("COM1", r"COM1_[0-9a-f]{20}"),
        ("A/B", r"AB_[0-9a-f]{20}"),
        ("A\\B", r"AB_[0-9a-f]{20}"),
        ("A\0B", r"AB_[0-9a-f]{20}"),
        ("-x", r"-x_[0-9a-f]{20}"),
        ("Ä" * 300, r"_[0-9a-f]{20}"),
        ("X" * 300, r"X{24}_[0-9a-f]{20}"),
    ],
)
def test_a_file_name_is_plain(code: str, name: str) -> None:
    assert re.fullmatch(name, file_name(code))


def test_no_two_codes_share_a_file_whether_or_not_case_counts() -> None:
    codes = [
        "AB",
        "ab",
        "Ab",
        "A B",
        "A/B",
        "A.B",
        "A_B",
        "A-B",
        "AB ",
        "AB\u200b",
        "ＡＢ",
        "CON",
        "con",
        "",
        ".",
        "..",
    ]
    plain = file_name("ab")  # and whoever is called like the file of another
    codes += [plain, plain.upper(), plain.replace("_", "-")]
    assert len({file_name(code).casefold() for code in codes}) == len(codes)
