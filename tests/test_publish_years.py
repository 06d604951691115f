"""Three years published one after the other from the command line: the block, a quarter, another K, two at once.

One store for all; the reports as PDFs, which follow from the pages alone, are left out.
"""

from __future__ import annotations

import csv
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.contracts import places
from pipeline.report.pages import release_pages
from tests import three_years
from tests.children import held
from tests.conftest import feeding_audit, made_once

ROOT = Path(__file__).parent.parent
FIRST, SECOND, THIRD = three_years.YEARS
QUARTER, BLOCK = "2025Q3", f"{FIRST} to {THIRD}"
HARMS = {
    "bleeding_needing_care", "complication_needing_care_within_14_days", "divided_again_within_84_days",
    "infection_within_14_days", "reattached_within_84_days",
}  # fmt: skip


@pytest.fixture(autouse=True, scope="module")
def without_pdf() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(release_pages, "with_pdf", dict)
        yield


def publish(folder: Path, period: str) -> str:
    ran = feeding_audit("publish", period, "--approved-by", "head of infant feeding", folder=folder)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The audit folder with the first two years out, a copy for each worker; nobody changes it."""
    made, _ = made_once(tmp_path_factory, "two_years", two_years)
    return Path(shutil.copytree(made, tmp_path_factory.mktemp("years") / "two")) / "audit"


def two_years(folder: Path) -> str:
    folder.mkdir()
    export = three_years.write_export(folder / "export", 4, ("deprivation_decile", "ethnic_group", "tie_type", "sex"))
    audit = folder / "audit"
    assert feeding_audit("new", audit).returncode == 0
    settings = (places.DEMO_EXPORT / "audit.toml").read_text(encoding="utf-8")
    (audit / "audit.toml").write_text(f"{settings}\n[publish]\nquarterly = true\n", encoding="utf-8")
    assert feeding_audit("load", export, "--accept-anyway", "invented", "--confirm-new", folder=audit).returncode == 0
    for year in (FIRST, SECOND):
        publish(audit, year)
    return ""


@pytest.fixture
def mine(two: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(two, tmp_path / "audit"))


def rows(folder: Path, period: str) -> list[dict[str, str]]:
    with (folder / "published" / period / "figures.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def out(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.glob("published/*/*"))}


def withhold_up_to(folder: Path, k: int) -> None:
    text = (folder / "audit.toml").read_text(encoding="utf-8")
    (folder / "audit.toml").write_text(f"{text}withheld_up_to = {k}\n", encoding="utf-8")


def test_the_third_year_brings_the_block_and_a_quarter_on_the_way_prints_headlines(mine: Path):
    before = out(mine)
    publish(mine, QUARTER)
    assert {(row["table"], row["breakdown"]) for row in rows(mine, QUARTER)} == {("measure", "all")}
    publish(mine, THIRD)
    assert before.items() <= out(mine).items()
    block = [row for row in rows(mine, THIRD) if row["block"]]
    assert {row["block"] for row in block} == {BLOCK}
    assert {row["name"] for row in block} == HARMS
    assert {row["level"] for row in block} == {"all"}
    # The block is the sum of its years, as far as all are printed.
    years: Counter[tuple[str, str]] = Counter()
    printed: Counter[tuple[str, str]] = Counter()
    for year in (FIRST, SECOND, THIRD):
        for row in rows(mine, year):
            if not row["block"] and row["breakdown"] == "all" and row["value"]:
                years[row["name"], row["count"]] += int(row["value"])
                printed[row["name"], row["count"]] += 1
    sums = [(int(row["value"]), years[row["name"], row["count"]]) for row in block
            if row["value"] and printed[row["name"], row["count"]] == 3]  # fmt: skip
    assert len(sums) >= 5
    assert all(one == other for one, other in sums)
    assert "2023/24 to 2025/26" in (mine / "published" / THIRD / "report.html").read_text(encoding="utf-8")
    ran = feeding_audit("published", "--verify", folder=mine)
    assert "Verified: 4 releases." in ran.stdout, ran.stderr
    assert "from everything printed in 4 releases, none of" in " ".join(ran.stdout.split())


def test_a_raised_k_holds_from_its_year_on_and_makes_no_block_with_years_of_another(mine: Path):
    withhold_up_to(mine, 6)
    publish(mine, THIRD)
    people = [row for row in rows(mine, THIRD) if row["count"] != "unknown" and "not_recorded" not in row["level"]]
    assert not [row for row in people if row["value"] and 1 <= int(row["value"]) <= 6]
    assert [row for row in rows(mine, SECOND) if row["value"] in ("5", "6")]
    assert not [row for row in rows(mine, THIRD) if row["block"]]
    page = (mine / "published" / THIRD / "safety.html").read_text(encoding="utf-8")
    assert "in which it is 7 or more (or 5 or more, where an earlier report of ours hid numbers only up to 4)" in page
    ran = feeding_audit("published", "--verify", folder=mine)
    assert ran.returncode == 0, ran.stderr


def test_another_k_within_a_year_is_refused_with_what_to_do(mine: Path):
    publish(mine, QUARTER)
    withhold_up_to(mine, 6)
    ran = feeding_audit("publish", THIRD, "--dry-run", folder=mine)
    assert ran.returncode == 1
    said = " ".join(ran.stderr.split())
    assert f"it is 6, and {QUARTER} was published when it was 4" in said
    assert f"set it to 4 until {THIRD} is out" in said


def test_erasing_a_case_of_a_published_year_leaves_the_release_and_says_so(two: Path, mine: Path):
    before = out(mine)
    references = [line.split(",")[0] for line in (two.parent / "export" / "cases.csv").read_text("utf-8").splitlines()]
    reference = next(one for one in references if one.endswith(three_years.YEARS[SECOND][1]))
    ran = feeding_audit("erase", reference, "--yes", folder=mine)
    assert ran.returncode == 0, ran.stderr
    assert f"What is published ({FIRST}, {SECOND}) stays as it is" in " ".join(ran.stdout.split())
    assert out(mine) == before
    assert feeding_audit("published", "--verify", folder=mine).returncode == 0
    publish(mine, QUARTER)  # and the next release rests on what was frozen


def test_two_that_publish_one_period_at_once_do_so_one_after_the_other(mine: Path):
    typed = ["feeding-audit", "publish", QUARTER, "--approved-by", "the lead", "--folder", str(mine)]
    no_pdf = "import sys; from pipeline.report.pages import release_pages; release_pages.with_pdf = dict; "
    work = f"{no_pdf}sys.argv = {typed!r}; from pipeline.console.cli import main; main()"
    command = [sys.executable, "-c", work]
    with held(mine / "store.duckdb", None) as holder:
        both = [
            subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT)
            for _ in range(2)
        ]
        for one in both:
            assert one.stderr is not None
            assert f"waiting for another program (process {holder})" in one.stderr.readline()
    said = [one.communicate() for one in both]
    assert sorted(one.returncode for one in both) == [0, 1]
    (refused,) = [text for one, (_, text) in zip(both, said, strict=True) if one.returncode]
    assert f"{QUARTER} is published already" in " ".join(refused.split())
    page = (mine / "published" / QUARTER / "report.html").read_text(encoding="utf-8")
    assert "Approved for publication by the lead." in page
    assert not list((mine / "published").glob(".*"))
    assert feeding_audit("published", "--verify", folder=mine).returncode == 0
