"""The documentation is true: commands run, and everything there is is in it."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
from datetime import date
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from pipeline import run
from pipeline.console.cli import commands
from pipeline.contracts import check_files, measure_files, places
from pipeline.outcomes import results
from pipeline.report.pages import release_pages
from pipeline.report.take_away import png
from pipeline.settings import SETTINGS, first_settings
from tests.conftest import INVENTED, some_of_the_demo, write_export
from tests.test_anonymise import BABIES, workbook

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def examples(command: click.Command) -> list[str]:
    """The example lines of a command's help."""
    return re.findall(r"^ *feeding-audit (.+)$", command.help or "", flags=re.M)


def test_every_command_and_option_is_in_the_readme():
    for name, command in commands.commands.items():
        assert f"feeding-audit {name}" in README
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.opts[0] in README, (name, parameter.opts)


def test_every_command_has_an_example_in_its_help():
    assert all(examples(command) for command in commands.commands.values())


def test_the_examples_of_the_help_and_the_readme_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, one_page: None):
    """All of them, in an order in which a reader could type them, on a part of the demo's cases.

    The demo too: the whole of it is made, in a folder of another name, for the fixture `demo`.
    """
    part = some_of_the_demo(tmp_path / "my-export", 60)
    shutil.copytree(places.DEMO_EXPORT, tmp_path / "part", ignore=shutil.ignore_patterns("*.csv", "datapackage.json"))
    shutil.copytree(part, tmp_path / "part", dirs_exist_ok=True)
    monkeypatch.setattr(places, "DEMO_EXPORT", tmp_path / "part")
    (tmp_path / "caseload.xlsx").symlink_to(places.DEMO_WORKBOOK)
    workbook(tmp_path / "own.xlsx", Babies=BABIES)
    given = "period,table,name,breakdown,level,count,value\n2024-25,measure,breastfed_at_6_weeks,all,all,met,31\n"
    (tmp_path / "given-out.csv").write_text(given, encoding="utf-8")
    monkeypatch.setattr(release_pages, "with_pdf", dict)  # as without Pango
    monkeypatch.setattr(png, "SHARPER", 0.1)
    monkeypatch.chdir(tmp_path)
    lines = [line for command in [commands, *commands.commands.values()] for line in examples(command)]
    lines += re.findall(r"^(?:\.venv/bin/)?feeding-audit (.+)$", README, flags=re.M)
    assert len(lines) >= 12
    assert "report --pdf --folder my-audit" in lines
    lines.remove("report --pdf --folder my-audit")  # it needs Pango; see the next test
    lines.remove("demo --out demo-audit")
    order = [
        "new",
        "demo",
        "anonymise",
        "suggest",
        "check",
        "load",
        "new-quarter",
        "report",
        "charts",
        "publish",
        "published",
        "record-release",
        "due",
        "practitioner",
        "trace",
        "loads",
        "withdraw",
        "erase",
        "measures",
        "layout",
    ]
    for line in sorted(set(lines), key=lambda call: (order.index(call.split()[0]), "--dry-run" not in call, call)):
        if line.startswith(("check caseload", "load caseload")):
            answer_what_asks(tmp_path / "my-audit" / "mappings" / "caseload.toml")
        outcome = CliRunner().invoke(commands, shlex.split(line), input="y\n", catch_exceptions=False)
        assert outcome.exit_code == 0, (line, outcome.output)


def test_the_example_of_a_pdf_runs(drawn_by_pango: None, audit: Path, tmp_path: Path):
    export = write_export(
        tmp_path / "export", {"cases": "case_ref,site,first_contact_date,age_days\nA,North,2026-07-10,10"}
    )
    run.load(audit, export, date(2026, 10, 12), accept_anyway=INVENTED)
    line = ["report", "--pdf", "--folder", str(audit)]
    outcome = CliRunner().invoke(commands, line, catch_exceptions=False)
    assert outcome.exit_code == 0, outcome.output
    assert (audit / "editions" / "2026Q3" / "service.pdf").is_file()


def answer_what_asks(mapping: Path) -> None:
    """What a service lead does between suggest and check: here with the demo's own answers, the cut-off left out."""
    assert "# asks" in mapping.read_text(encoding="utf-8") or "cut_off" not in mapping.read_text(encoding="utf-8")
    answered = (places.DEMO_EXPORT / "mappings" / "outreach.toml").read_text(encoding="utf-8")
    mapping.write_text(re.sub(r"^cut_off.*$", "", answered, flags=re.M), encoding="utf-8")


def test_the_shell_lines_of_the_readme_are_those_of_the_makefile():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = re.findall(r"^make ([a-z]+)$", README, flags=re.M)
    assert targets == ["demo", "test"]
    assert all(re.search(rf"^{target}:", makefile, flags=re.M) for target in targets)
    assert "-m pip install -e ." in README


def test_every_setting_is_in_the_readme_and_explained_in_a_new_audit_toml():
    for setting in SETTINGS:
        assert f"[{setting.section}] {setting.key}" in README
        assert setting.explained in first_settings()


def test_every_key_of_a_measure_and_of_a_check_is_in_developers():
    for key in (*measure_files.MUST, *measure_files.MAY, *check_files.MUST):
        assert f"| `{key}` |" in DEVELOPERS


def test_every_method_is_in_developers():
    assert all(f"`{method}`" in DEVELOPERS for method in results.METHODS.values())


def test_the_documentation_counts_nothing_of_which_a_folder_is_the_list():
    """But in the change log, which says what there was."""
    number = r"\b(?:[0-9]+|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|twenty(?:-[a-z]+)?)"
    for text in (README, DEVELOPERS.split("## Change log")[0]):
        assert re.findall(rf"{number}\s(?:measures|breakdowns|checks|lists|settings)\b", text.lower()) == []


def test_every_check_value_is_in_the_proof_of_the_methods_and_no_other():
    """Each record belongs to a method of the table or to one that is not used, not to both; no name is of no record."""
    proof = DEVELOPERS.split("## Proof of the methods")[1].split("\n## ")[0]
    table, other = proof.split("Of other methods")
    rows = [line.split(" | ")[2] for line in table.splitlines() if line.startswith("| ")]
    used = re.findall(r"`([a-z_0-9.]+)`", " ".join(rows))
    unused = re.findall(r"`([a-z_0-9.]+)`", other.split("**Of a whole report**")[0])
    names = [
        record["id"]
        for name in ("judgement.json", "statistics.json")
        for record in json.loads((ROOT / "tests" / "check_values" / name).read_text(encoding="utf-8"))
    ]
    assert len(names) == 253
    assert [start for start in (*used, *unused) if not any(name.startswith(start) for name in names)] == []
    of_both = [name for name in names if name.startswith(tuple(used)) == name.startswith(tuple(unused))]
    assert of_both == []


def test_every_file_and_folder_that_developers_names_exists():
    """As much of a path as is written, of a file that git keeps."""
    kept = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    picture = re.findall(r"^ *(?:-> )?([a-z_/]+(?:\.py|/))(?= |$|,)", DEVELOPERS.split("```")[1], flags=re.M)
    named = re.findall(r"`([\w./]+(?:\.(?:py|sql|json|toml|html|css|js|sh)|/))`", DEVELOPERS.split("## Change log")[0])
    assert len(picture) >= 20
    assert len(named) >= 20
    made = {"mappings/", "loads/", ".reports/", ".spill/", "NN_name.sql"}  # of an audit folder, or somebody's own
    for name in {*picture, *named} - made:
        assert any(f"/{path}".endswith(f"/{name}") or f"/{name}" in f"/{path}" for path in kept), name
