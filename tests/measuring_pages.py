"""How long and how wide the pages of a service of any size are: python -m tests.measuring_pages 60 400 8400 [FOLDER].

Comes in: numbers of sites, practitioners and cases, and a folder where the pages shall stay. Goes out: a line a page
and width with its height, what overflows sideways and the size of the file, and the seconds of each command. The cases
are those of the demo, over and over, dealt out to the sites; of fewer than it has, the latest. No part of the tests.
"""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from playwright.sync_api import sync_playwright

from pipeline.contracts import places

PAGES = ("service.html", "technical.html", "by_practitioner.html")
WIDTHS = (1280, 390)
STAFF = ("practitioner", "operator")
MEASURED = "() => [document.documentElement.scrollHeight, document.documentElement.scrollWidth - innerWidth]"


def write_export(folder: Path, sites: int, practitioners: int, cases: int) -> None:
    """The demo's rows as so many cases, each copy of a case at a site of its own and seen by that site's staff."""
    tables = {path.stem: _rows(path) for path in sorted(places.DEMO_EXPORT.glob("*.csv"))}
    often = Counter(row["case_ref"] for row in tables["cases"])
    of_demo = sorted(row["first_contact_date"] + row["case_ref"] for row in tables["cases"] if _plain(row, often))
    refs = [place[10:] for place in of_demo][-cases:]
    copies = -(-cases // len(refs))
    at = {(ref, copy): place for place, (copy, ref) in enumerate((c, r) for c in range(copies) for r in refs)}
    staff = [range(site, max(practitioners, sites), sites) for site in range(sites)]
    for name, rows in tables.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            written = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
            written.writeheader()
            for copy in range(copies):
                for number, row in enumerate(rows):
                    not_seen = name == "requests" and number < cases // 10
                    place = number if not_seen else at.get((row["case_ref"], copy), cases)
                    if place < cases:
                        written.writerow(_dealt(row, copy, place % sites, staff[place % sites]))


def _rows(path: Path) -> list[dict[str, str]]:
    """The rows without a fault of the line itself; what is quoted is left out."""
    header, *lines = path.read_text(encoding="utf-8-sig").replace("\0", "").splitlines()
    sound = [line for line in lines if '"' not in line and line.count(",") == header.count(",")]
    return list(csv.DictReader([header, *sound]))


def _plain(row: dict[str, str], often: Counter[str]) -> bool:
    """A row that is no fault of the demo: its case comes once and its day is a day."""
    day = row["first_contact_date"]
    return often[row["case_ref"]] == 1 and len(day) == 10 and day[:3] == "202" and len(row["case_ref"]) == 8


def _dealt(row: dict[str, str], copy: int, site: int, staff: range) -> dict[str, str]:
    dealt = dict(row, case_ref=f"{row['case_ref']}-{copy}")
    if "site" in row:
        dealt["site"] = f"Hub {site + 1:02}"
    for column in STAFF:
        number = row.get(column, "")[1:]
        if number.isdigit():
            dealt[column] = f"P{staff[int(number) % len(staff)] + 1:03}"
    return dealt


def main(sites: int, practitioners: int, cases: int, kept: Path) -> None:
    """Load such an export, make its pages and measure them."""
    export, audit = kept / "export", kept / "audit"
    export.mkdir(parents=True)
    write_export(export, sites, practitioners, cases)
    program = [sys.executable, "-m", "pipeline"]
    subprocess.run([*program, "new", str(audit)], check=True, stdout=subprocess.DEVNULL)
    settings = (places.DEMO_EXPORT / "audit.toml").read_text(encoding="utf-8").split("[confirmed]")[0]
    names = ", ".join(f'"Hub {site + 1:02}"' for site in range(sites))
    staff = ", ".join(f'"P{number + 1:03}"' for number in range(max(practitioners, sites)))
    numbered = ", ".join(f'"AAA9999A-{"9" * digits}"' for digits in range(1, 4))
    said = f'destination = ["division clinic", "hospital clinic, outpatients"]\ncase_ref = [{numbered}]\n'
    confirmed = f'[confirmed]\nsite = [{names}]\npractitioner = [{staff}, "elsewhere"]\n{said}'
    (audit / "audit.toml").write_text(settings + confirmed, encoding="utf-8")
    load = ["load", str(export), "--extracted-on", "2026-10-12", "--accept-anyway", "measuring pages"]
    for command in (load, ["report", "--by-practitioner"]):
        began = time.perf_counter()
        subprocess.run([*program, *command, "--folder", str(audit)], check=True, stdout=subprocess.DEVNULL)
        print(f"{command[0]}: {time.perf_counter() - began:.0f} s")
    _measure(sorted(path for page in PAGES for path in audit.rglob(page)))


def _measure(paths: list[Path]) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "chromium"), args=["--no-sandbox"]
        )
        for path in paths:
            for width in WIDTHS:
                page = browser.new_page(viewport={"width": width, "height": 900})
                page.goto(path.as_uri())
                height, over = page.evaluate(MEASURED)
                print(f"{path.name} at {width}: {height:,} px, {over} px too wide, {path.stat().st_size // 1000:,} kB")
                page.close()
        browser.close()


if __name__ == "__main__":
    service = (int(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
    if len(sys.argv) > 4:
        main(*service, Path(sys.argv[4]))
    else:
        with tempfile.TemporaryDirectory() as scratch:
            main(*service, Path(scratch))
