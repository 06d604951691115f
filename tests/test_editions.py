"""Every page that the demo's folder holds, whichever there are: sound in structure, usable, quiet, the same again."""

from __future__ import annotations

import csv
import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate
from pathlib import Path

import pytest

from pipeline import run
from pipeline.contracts import measure_files, places
from pipeline.report.words.dates import short_label
from pipeline.runs import run_due
from tests.asking_axe import violations
from tests.conftest import INVENTED, some_of_the_demo
from tests.reading_pages import Reader, read, together
from tests.reading_paper import sheet_texts

PERIOD = "2026Q3"
PLACE = Path("editions") / PERIOD
# Pages that axe looks at in the browser tests of their own, with every kind of row.
LOOKED_AT_ELSEWHERE = ("service.html", "due.html", "cases_to_look_at_again.html")
PAPER = "#fdfcfa"  # the ground of every page, as its style says


@pytest.fixture(scope="module")
def folder(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo's audit folder with every page the program can make in it."""
    folder = tmp_path_factory.mktemp("editions") / "audit"
    shutil.copytree(demo[0], folder)
    run_due.due(folder, date(2026, 10, 12), 14)
    run.practitioner(folder, "P03")
    return folder


def pages(folder: Path) -> list[Path]:
    """Every page, by name."""
    return sorted(folder.rglob("*.html"))


def test_there_is_a_page_for_each_reader(folder: Path):
    names = {path.name for path in pages(folder)}
    assert names >= {
        "service.html",
        "technical.html",
        "cases_to_look_at_again.html",
        "due.html",
        "explore.html",
        "P03.html",
    }


def test_structure(folder: Path):
    for page in pages(folder):
        reader = read(page.read_text(encoding="utf-8"))
        assert faults(reader) == [], page.name
        assert contrast_faults(reader) == [], page.name


def test_every_link_to_another_page_finds_its_place(folder: Path):
    """From a figure to its definition, to the records behind it, and back."""
    read_pages = {page: read(page.read_text(encoding="utf-8")) for page in pages(folder)}
    led = Counter()
    for page, reader in read_pages.items():
        for href in reader.values("href"):
            name, _, place = href.partition("#")
            if name and not href.startswith(("http", "mailto")):
                there = (page.parent / name).resolve()
                assert there.is_file(), f"{page.name}: {href}"
                assert not place or place in set(read_pages[there].values("id")), f"{page.name}: {href}"
                led[page.name, name] += 1
    # Every cell of the flow that holds a case, and every primary measure.
    settings = (folder / "audit.toml").read_text(encoding="utf-8")
    primary = len(re.findall(r'^    "\w+",$', settings, re.MULTILINE))
    flow = read_pages[folder / PLACE / "service.html"].tables["flow-caption"][1:-1]
    cells = sum(cell != "0" for row in flow for cell in row[1:-1])
    assert led["service.html", "trace.html"] >= cells + primary > 20


def faults(reader: Reader) -> list[str]:
    """What the HTML Living Standard and WCAG 2.2 (1.1.1, 1.3.1, 2.4.1, 2.4.2, 3.1.1) ask, and axe does not see."""
    tags = Counter(tag for tag, _ in reader.tags)
    found = [f"{tags[tag]} {tag}" for tag in ("h1", "main", "header", "title") if tags[tag] < 1]
    found += ["not one h1"] * (reader.headings.count(1) != 1) + ["not one main"] * (tags["main"] != 1)
    found += ["a heading skips a level"] * any(
        low > high + 1 for high, low in zip(reader.headings, reader.headings[1:], strict=False)
    )
    ids = Counter(reader.values("id"))
    found += [f"id {name} twice" for name, count in ids.items() if count > 1]
    referred = [href[1:] for href in reader.values("href") if href.startswith("#")]
    for attribute in ("aria-labelledby", "aria-describedby", "for", "headers"):
        referred += [name for names in reader.values(attribute) for name in names.split()]
    found += [f"nothing has the id {name}" for name in referred if name not in ids]
    first = next((named for tag, named in reader.tags if tag == "a"), {})
    found += ["the first link does not skip to main"] * (first.get("href") != "#main")
    for tag, named in reader.tags:
        if tag == "html" and named.get("lang") != "en-GB":
            found.append("no language")
        if tag == "svg" and (named.get("role") != "img" or not named.get("aria-labelledby")):
            found.append("a drawing without a name")
        if tag == "th" and named.get("scope") not in ("col", "row", "rowgroup", "colgroup"):
            found.append("a table head without a scope")
        if tag == "img" and "alt" not in named:
            found.append("a picture without words")
    # Each drawing has a title of its own; a pair shares the description.
    found += ["a drawing without a title"] * (tags["title"] != 1 + tags["svg"])
    found += ["a table without a caption"] * (tags["table"] != tags["caption"])
    found += ["a part that folds does not say what it holds"] * (tags["details"] != tags["summary"])
    return found


def contrast_faults(reader: Reader) -> list[str]:
    """Text of a drawing under 4.5 to 1 on the paper (WCAG 2.2, 1.4.3), which axe does not look at."""
    found = []
    for tag, named in reader.tags:
        # The drawing states the colour of its text, or a group of labels does; a group of marks has a stroke.
        of_text = tag in ("text", "svg") or (tag == "g" and "stroke" not in named)
        if of_text and "fill" in named and contrast(named["fill"]) < 4.5:
            found.append(f"text in {named['fill']}: {contrast(named['fill']):.1f}")
    return found


def contrast(colour: str, ground: str = PAPER) -> float:
    """WCAG 2.2: (lighter + 0.05) / (darker + 0.05) of the relative luminances, against the paper."""

    def luminance(written: str) -> float:
        assert re.fullmatch("#[0-9A-Fa-f]{6}", written), written
        shares = [int(written[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        linear = [share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = luminance(ground), luminance(colour)
    return (max(light, dark) + 0.05) / (min(light, dark) + 0.05)


def test_the_contrast_is_that_of_the_standard():
    # WCAG's own extreme, 21 to 1 for black on white; #767676 on white is 4.54 (common practice).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("width", [1280, 390])
def test_in_a_browser(browser, folder: Path, width: int):
    """Offline, no word on the console, no sideways scroll; axe finds nothing."""
    context = browser.new_context(viewport={"width": width, "height": 900}, offline=True)
    view = context.new_page()
    asked, said = [], []
    context.on("request", lambda request: asked.append(request.url))
    view.on("console", lambda message: said.append(message.text))
    view.on("pageerror", lambda error: said.append(str(error)))
    for page in pages(folder):
        view.goto(page.as_uri())
        view.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
        assert view.evaluate("document.documentElement.scrollWidth") <= width, page.name
        if page.name == "service.html":  # elsewhere not all of its parts stand on one page
            assert violations(view, "landmark-unique") == []
        elif page.name not in LOOKED_AT_ELSEWHERE:
            assert violations(view, contrast=width == 1280) == [], page.name
        assert [address for address in asked if not address.startswith(("blob:", "data:"))] == [page.as_uri()]
        assert said == [], page.name
        asked.clear()
    context.close()


def test_every_style_closes_what_it_opens():
    """A block left open holds all that follows, the dark scheme too, and no browser says a word."""
    styles = [path.read_text(encoding="utf-8") for path in places.REPORTS.glob("*.css")]
    assert len(styles) > 4
    for style in styles:
        depths = list(accumulate({"{": 1, "}": -1}.get(sign, 0) for sign in style))
        assert (min(depths), depths[-1]) == (0, 0), style[:60]


def test_no_colour_hangs_on_the_width():
    """So a page's contrast is looked at in one width."""
    styles = "".join(path.read_text(encoding="utf-8") for path in places.REPORTS.glob("*.css"))
    blocks = [inside_braces(styles[at.end() :]) for at in re.finditer(r"@media[^{]*width[^{]*\{", styles)]
    assert len(blocks) > 10
    assert re.search(r"\bgrid-template-columns:", "".join(blocks))  # they are read
    colours = r"(?<!-)\b(color|background(-color)?|fill|stroke|opacity|filter|--[\w-]+): *(?!none\b|transparent\b)"
    assert [block for block in blocks if re.search(colours, block)] == []


def inside_braces(text: str) -> str:
    """Up to the brace that closes what was opened before the text."""
    depths = accumulate((sign == "{") - (sign == "}") for sign in text)
    return text[: next(place for place, depth in enumerate(depths) if depth < 0)]


# Of all that shows: each text and each mark of a drawing with its colour and the ground behind it, once; and what
# becomes of every colour that a drawing states.
SHOWN = """() => {
  const paired = {}, stated = {}, seen = new Set();
  const first = element => {  // of those that are written alike, for the many rows of a table look alike
    const kin = [element, element.parentElement, element.parentElement.parentElement];
    const said = one => ['class', 'style', 'fill', 'stroke', 'scope'].map(name => one.getAttribute(name));
    return seen.size < seen.add(kin.map(one => [one.tagName, ...said(one)]).join()).size;
  };
  const groundOf = element => {
    for (let at = element; at; at = at.parentElement) {
      const ground = getComputedStyle(at).backgroundColor;
      if (ground !== 'rgba(0, 0, 0, 0)') return ground;
    }
    return 'none';
  };
  const note = (kind, colour, element) => {
    if (colour !== 'none') paired[[kind, colour, groundOf(element)].join('|')] ??= element.outerHTML.slice(0, 90);
  };
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const element = texts.currentNode.parentElement;
    if (texts.currentNode.data.trim() && first(element) && element.getClientRects().length)
      note('text', getComputedStyle(element)[element.namespaceURI.endsWith('svg') ? 'fill' : 'color'], element);
  }
  for (const mark of document.querySelectorAll(':is(figure, .plot) :is(path, rect, circle, line)')) {
    if (!mark.getClientRects().length || mark.closest('.gridlayer') || mark.matches('path:not([d])')) continue;
    // Plotly's lines have a fill that nobody sees: they hold no area.
    if (!mark.closest('.plot') || mark.matches('.point')) note('mark', getComputedStyle(mark).fill, mark);
    note('mark', getComputedStyle(mark).stroke, mark);
  }
  for (const property of ['fill', 'stroke'])
    for (const drawn of document.querySelectorAll(`figure [${property}]:not([${property}=none])`))
      stated[`${property} ${drawn.getAttribute(property)}`] = getComputedStyle(drawn)[property];
  return {paired: Object.entries(paired), stated};
}"""
# The grid, the pale band (it has an edge), the stem of the flow and the inside of a hollow mark; light, then dark.
FAINT = {
    *("#e3ded4", "#e6dfd0", "#ebe6db", "#fdfcfa"),
    *("#3d3a34", "#3a362d", "#2e2b26", "#191815"),
}


def hexadecimal(computed: str) -> str:
    return "#" + "".join(f"{int(part):02x}" for part in re.findall(r"\d+", computed)[:3])


def too_faint(paired: list[tuple[str, str]]) -> list[str]:
    """Text under 4.5 to 1 and marks under 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11) on the ground they lie on."""
    found = []
    for key, element in paired:
        kind, colour, ground = key.split("|")
        shown, least = hexadecimal(colour), 4.5 if kind == "text" else 3
        if colour.startswith("rgba") or (kind == "mark" and shown in FAINT):
            continue  # a band of the flow is seen through: the node it ends at has its colour
        if contrast(shown, hexadecimal(ground)) < least:
            found.append(f"{kind} {shown} on {hexadecimal(ground)}: {element}")
    return found


def test_dark_or_light_everything_can_be_told_from_its_ground_and_paper_is_light(browser, folder: Path):
    stated = {}
    view = browser.new_page(viewport={"width": 1280, "height": 900})
    for page in pages(folder):
        looks = {}
        view.emulate_media(media="screen", color_scheme="light")
        # Of the page to explore groups side by side.
        view.goto(page.as_uri() + ("#measure=breastfed_at_6_weeks&split=site" if page.name == "explore.html" else ""))
        view.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
        for media, scheme in (("screen", "light"), ("screen", "dark"), ("print", "light"), ("print", "dark")):
            view.emulate_media(media=media, color_scheme=scheme)
            looks[media, scheme] = shown = view.evaluate(SHOWN)
            assert too_faint(shown["paired"]) == [], (page.name, media, scheme)
            dark = view.evaluate("getComputedStyle(document.documentElement).colorScheme") == "dark"
            assert dark == ((media, scheme) == ("screen", "dark")), page.name
            if dark and page.name not in LOOKED_AT_ELSEWHERE:  # the rest axe has seen in the light
                assert violations(view, "color-contrast") == [], page.name
        assert looks["print", "dark"] == looks["print", "light"], page.name
        grounds = {hexadecimal(key.split("|")[2]) for key, _ in looks["screen", "dark"]["paired"]}
        assert "#191815" in grounds
        assert PAPER not in grounds
        light, dark = (looks["screen", scheme]["stated"] for scheme in ("light", "dark"))
        stated |= {colour: light[colour] != dark[colour] for colour in light}
    view.close()
    assert len(stated) > 15
    assert [colour for colour, changes in stated.items() if not changes] == []


@pytest.mark.parametrize("name", ["due.html", "cases_to_look_at_again.html", "P03.html"])
def test_printed_from_a_browser_every_table_is_in_the_text(browser, folder: Path, name: str):
    (page,) = (path for path in pages(folder) if path.name == name)
    view = browser.new_page()
    view.goto(page.as_uri())
    sheets = [together(text) for text in sheet_texts(view.pdf(prefer_css_page_size=True))]
    view.close()
    assert [text for text in sheets if together("Stays inside the service") not in text] == []
    text = "".join(sheets)
    cells = {cell for table in read(page.read_text(encoding="utf-8")).tables.values() for row in table for cell in row}
    assert len(cells) > 10
    assert [cell for cell in cells if together(cell) not in text] == []


def test_with_scripts_blocked_every_page_can_be_read(browser, folder: Path):
    context = browser.new_context(java_script_enabled=False)
    view = context.new_page()
    for page in pages(folder):
        view.goto(page.as_uri())
        assert view.get_by_role("heading", level=1).inner_text(), page.name
        assert len(view.inner_text("main")) > 100, page.name
    context.close()


def test_the_same_bytes_whatever_the_hash_seed(audit: Path, tmp_path: Path):
    """Sets and dictionaries keyed by text come in another order in a process with another seed: two set, one drawn."""
    run.load(audit, some_of_the_demo(tmp_path / "export", 60), date(2026, 10, 12), accept_anyway=INVENTED)
    run.report(audit, PERIOD)

    def written() -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in (audit / PLACE).iterdir() if path.is_file()}

    made = [written()]
    for seed in ("1", "2"):
        ran = subprocess.run(
            [sys.executable, "-m", "pipeline", "report", PERIOD, "--folder", audit],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=False,
        )
        assert ran.returncode == 0, ran.stderr
        made.append(written())
    assert len(made[0]) >= 3
    assert made[0].keys() == made[1].keys() == made[2].keys()
    assert [name for name in made[0] if len({files[name] for files in made}) > 1] == []


def test_the_numbers_on_the_page_are_those_of_the_results(folder: Path):
    """Every count, share, interval and bound of every table of a measure, read back off the page."""
    with (folder / PLACE / "results.csv").open(encoding="utf-8", newline="") as file:
        results = {(row["measure"], row["period"], row["breakdown"], row["level"]): row for row in csv.DictReader(file)}
    reader = read((folder / PLACE / "service.html").read_text(encoding="utf-8"))
    compared = 0
    for measure in measure_files.measures():
        if measure.kind != measure_files.PROPORTION:
            continue
        labels = {short_label(period): period for _, period, *_ in results}
        for head, *cells in reader.tables[f"{measure.name}-quarters-caption"][1:]:
            row = results[measure.name, labels[head.removesuffix(" so far")], "all", "all"]
            assert cells == [*as_printed(row), left_open(row)], (measure.name, head)
            compared += 1
        everyone = reader.tables[f"{measure.name}-breakdowns-caption"][-1]
        assert everyone[1:4] == as_printed(results[measure.name, PERIOD, "all", "all"])
        # The levels of each breakdown in any order: the labels are words, so rows are told apart by what they hold.
        printed = Counter(
            tuple(row[1:4]) for row in reader.tables[f"{measure.name}-breakdowns-caption"][1:-1] if len(row) > 1
        )
        own = [key for key in results if key[:2] == (measure.name, PERIOD) and key[2] != "all"]
        groups = Counter(key[2] for key in own)  # where there is one it is everyone, and only named
        held = Counter(tuple(as_printed(results[key])) for key in own if groups[key[2]] > 1)
        assert printed == held, measure.name
        compared += sum(held.values())
    assert compared > 500


def hundredths(share: str) -> str:
    """A share in whole per cent, half up, from its own decimal digits."""
    return str((Decimal(share) * 100).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def per_cent(share: str) -> str:
    """The same with its sign; what is neither none nor all never reads so."""
    whole = hundredths(share)
    if whole == "0" and Decimal(share) > 0:
        return "under 1%"
    return "over 99%" if whole == "100" and Decimal(share) < 1 else f"{whole}%"


def as_printed(row: dict[str, str]) -> list[str]:
    """Counts with the share, interval, unknown, as the edition promises to write them."""
    if row["eligible"] == "0":
        return ["none to count", "", ""]
    if row["known"] == "0":
        return ["0 of 0", "", row["unknown"]]
    return [
        f"{row['met']} of {row['known']} ({per_cent(row['value'])})",
        f"{hundredths(row['lower'])} to {hundredths(row['upper'])}%",
        row["unknown"],
    ]


def left_open(row: dict[str, str]) -> str:
    """The bounds, where anything is unknown."""
    if row["unknown"] in ("", "0"):
        return ""
    return f"{hundredths(row['bound_low'])} to {hundredths(row['bound_high'])}%"
