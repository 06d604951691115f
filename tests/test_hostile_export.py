"""An export whose every free text tries to break out of the page: the pages keep the skeleton of a harmless one.

The ways to inject are common practice, no one source; what a page must not hold is the HTML Living Standard's and, for
marks that turn the direction of writing, Unicode Standard Annex 9.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from pipeline import run
from pipeline.intake import screen
from pipeline.runs import run_due
from tests.conftest import INVENTED, worked_out_once, write_export
from tests.reading_pages import read

WAYS = (
    "<script>document.title='x'</script>",
    "</script><script>alert(1)</script>",
    "</style><style>*{display:none}</style>",
    "</title></head><body onload=alert(1)>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    '" style="position:fixed" x="',
    "</td></tr></table></div><h1>mine</h1>",
    "</text></svg><p>mine</p>",
    "<svg onload=alert(1)>",
    "<br>broken<br>up",
    "<b>bold</b> <a href='javascript:alert(1)'>go</a>",
    "<!-- and all that follows",
    "--><![CDATA[ mine ]]>",
    "{{ 7 * 7 }}{{ content.settings }}",
    "{% include 'style.css' %}{# gone #}",
    "&lt;i&gt;&amp;amp; &#x3c;i&#x3e;",
    "javascript:alert(1)//https://example.org/",
    "\u202emirrored\u2066 \u200fletters",
    "\x1b[2J\x07\x08\x0c bell",
    "\u2028line\u2029 \ufeff =1+1 %s {0} ${7*7}",
)
TEMPLATE = {
    "cases": "case_ref,site,first_contact_date,age_days,feeding_at_first_contact,help_requested_date,ethnic_group",
    "contacts": "case_ref,contact_date,practitioner,attachment_help,problem_status",
    "referrals": "case_ref,referral_date",
    "procedures": "case_ref,procedure_date,operator,tie_type",
    "complications": "case_ref,noted_date,kind,severity",
    "feeding_checks": "case_ref,check_date,feeding",
}


def export(folder: Path, harmful: bool) -> Path:
    """One family for each way, every free text of theirs that way; or the same export with harmless texts."""
    rows = {table: [head] for table, head in TEMPLATE.items()}
    for number, way in enumerate(WAYS):
        # The same beginning in both, so that levels stand in the same order.
        text = f"a{number:02} {way if harmful else 'plain'}"
        quoted = '"' + text.replace('"', '""') + '"'
        rows["cases"].append(f"{quoted},{quoted},2026-07-{number + 1:02},5,exclusive,2026-07-01,white")
        rows["contacts"].append(f"{quoted},2026-07-{number + 2:02},{quoted},yes,improved")
        rows["referrals"].append(f"{quoted},2026-07-{number + 5:02}")
        rows["procedures"].append(f"{quoted},2026-08-{number + 1:02},{quoted},none")
        rows["complications"].append(f"{quoted},2026-08-{number + 2:02},bleeding,treated")
        # One in three has an answer, one a value that is set aside and quoted on the page, one none.
        rows["feeding_checks"].append(f"{quoted},2026-08-{number + 7:02},{('exclusive', quoted, '')[number % 3]}")
    return write_export(folder, {table: "\n".join(lines) for table, lines in rows.items()})


def audited(folder: Path, harmful: bool, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """Every page made of such an export, by its name."""
    # The identifier screen would rightly refuse such codes, and no more than that stands between them and the pages.
    monkeypatch.setattr(screen, "find_identifiers", lambda sheets, mapping: ())
    settings = run.new(folder)
    words = WAYS[0] + WAYS[14] if harmful else "plain"
    named = settings.read_text(encoding="utf-8").replace('name = "Name of the service"', f'name = "{words}"')
    settings.write_text(named.replace('contact = ""', f'contact = "{words}"'), encoding="utf-8")
    assert words in named
    source = export(folder / ("harmful" if harmful else "plain"), harmful)
    run.load(folder, source, date(2026, 10, 12), accept_anyway=f"{INVENTED} {words}")
    made = [*run.report(folder, "2026Q3").files, *run_due.due(folder, date(2026, 9, 3), 14).files]
    pages = {path.name: path.read_text(encoding="utf-8") for path in made if path.suffix == ".html"}
    with worked_out_once(folder, "2026Q3"):
        for number in (0, 8, 14):
            code = f"a{number:02} {WAYS[number] if harmful else 'plain'}"
            pages[f"practitioner {number}"] = run.practitioner(folder, code, "2026Q3").page.read_text(encoding="utf-8")
    return pages


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, str], dict[str, str]]:
    """The pages of the harmful export, and of the harmless one."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("hostile")
        return audited(folder / "harmful", True, patch), audited(folder / "plain", False, patch)


def test_there_are_twenty_one_ways():
    assert len(set(WAYS)) == 21


def test_the_skeleton_is_that_of_a_harmless_export(both: tuple[dict[str, str], dict[str, str]]):
    assert both[0].keys() == both[1].keys()
    assert both[0].keys() >= {"service.html", "explore.html", "trace.html", "cases_to_look_at_again.html", "due.html"}
    assert len(both[0]) == 9
    for name, harmful in both[0].items():
        assert len(skeleton(harmful)) > 20, name
        assert skeleton(harmful) == skeleton(both[1][name]), name


def skeleton(page: str) -> list[tuple[str, tuple[str, ...]]]:
    """Every element with the names of its attributes, in order."""
    return [(tag, tuple(named)) for tag, named in read(page).tags]


def test_what_was_written_is_read_as_written(both: tuple[dict[str, str], dict[str, str]]):
    """Escaped once, not twice, and not left out: a level reads as the record has it, unseen signs apart."""
    reader = read(both[0]["service.html"])
    levels = {row[0] for row in reader.tables["seen_promptly-breakdowns-caption"] if row}
    for number, way in enumerate(WAYS[:18]):
        assert f"a{number:02} {way}" in levels
    assert "a18 \ufffdmirrored\ufffd \ufffdletters" in levels


def test_no_page_holds_a_sign_that_is_not_seen(both: tuple[dict[str, str], dict[str, str]]):
    for name, page in both[0].items():
        text = page.split("plotly.js v", 1)[0] if name == "explore.html" else page
        found = re.findall("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]", text)
        assert found == [], name


def test_nothing_that_a_template_language_reads_was_worked_out(both: tuple[dict[str, str], dict[str, str]]):
    text = both[0]["service.html"]
    assert "{{ 7 * 7 }}" in text
    assert "a14 49" not in text
    assert "{% include &#39;style.css&#39; %}" in text
