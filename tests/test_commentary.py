"""The lead's words: read from a file, made safe to print, and the action plan in them. Worked by hand."""

from __future__ import annotations

import html
import itertools
import re
import time
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.contracts.places import DEMO_EXPORT
from pipeline.errors import Refused
from pipeline.privacy.release.public_frame import PublicAction
from pipeline.report.commentary import by_when, commentary_file, commentary_view, earlier, markdown, plan, to_publish
from pipeline.report.commentary.commentary_view import CommentaryView
from pipeline.report.commentary.plan import COLUMNS
from pipeline.report.opening import this_quarter
from pipeline.report.pages import html_page

HEAD = "| Finding | Action | Owner | By when | Done |\n| --- | --- | --- | --- | --- |\n"
VOID = {"hr", "br"}


class Skeleton(HTMLParser):
    """Tags and attributes in order; refuses tags that do not close in order."""

    def __init__(self, text: str, closed: bool = True):
        super().__init__()
        self.closed = closed
        self.seen: list[tuple[str, tuple[tuple[str, str | None], ...]]] = []
        self.open: list[str] = []
        self.text = ""
        self.feed(text)
        self.close()
        assert self.open == [] or not closed

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, tuple(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        self.seen.append((f"/{tag}", ()))
        assert self.open.pop() == tag or not self.closed

    def handle_data(self, data):
        self.text += data

    def handle_comment(self, data):
        pytest.fail(f"a comment: {data}")

    def handle_decl(self, decl):
        pytest.fail(f"a declaration: {decl}")

    def unknown_decl(self, data):
        pytest.fail(f"a declaration: {data}")

    def handle_pi(self, data):
        pytest.fail(f"a processing instruction: {data}")

    @property
    def tags(self) -> list[str]:
        return [tag for tag, _ in self.seen if not tag.startswith("/")]


def printed(text: str) -> str:
    """The words alone, every block in order, headings as h3 to h6."""
    parts = seen(text).parts
    return "\n".join(f"<h{part.level}>{part.words}</h{part.level}>" if part.level else part.words for part in parts)


def seen(own: str, before: str = "") -> CommentaryView:
    return commentary_view.view(own, before, "2026Q3")


def rows(table: commentary_view.Table | None) -> list[tuple[str, ...]]:
    assert table is not None
    return [(row.head, *row.cells) for group in table.groups for row in group.rows]


# ---- what opens the report


def test_what_we_saw_opens_the_report_as_far_as_there_is_room_and_goes_on_where_it_was():
    words = "First words.\n\n## What we saw\n\n{}\n\n### Waits\n\nLonger.\n\n## What we will do\n\nAsk."
    short = this_quarter.saw(seen(words.format("Busy.")).parts)
    assert [(part.level, str(part.words.striptags())) for part in short.parts] == [
        (0, "Busy."),
        (4, "Waits"),
        (0, "Longer."),
    ]
    assert [str(part.words.striptags()) for part in short.rest] == ["First words.", "What we will do", "Ask."]
    assert not short.goes_on
    # A block that would be too much goes on under its own heading; nothing is there twice.
    long = this_quarter.saw(seen(words.format("Busy.\n\n" + "x" * this_quarter.MOST)).parts)
    assert [str(part.words.striptags()) for part in long.parts] == ["Busy."]
    assert long.goes_on
    rest = [str(part.words.striptags()) for part in long.rest]
    assert rest[:3] == ["First words.", "What we saw", "x" * this_quarter.MOST]
    assert rest[3:] == ["Waits", "Longer.", "What we will do", "Ask."]


def test_a_heading_or_a_table_does_not_end_what_opens_the_report():
    opens = this_quarter.saw(seen("# Ours\n\n## What we saw\n\nBusy.\n\n### Weeks\n\n| a |\n| --- |\n| 1 |\n").parts)
    assert [str(part.words.striptags()) for part in opens.parts] == ["Busy."]
    assert [part.level for part in opens.rest] == [3, 4, 5, 0]
    assert opens.rest[-1].table is not None and opens.goes_on


def test_words_without_that_heading_stay_where_they_are():
    assert this_quarter.saw(seen("## What went on\n\nMuch.").parts).parts == ()
    assert this_quarter.saw(()).rest == ()


@pytest.mark.parametrize(
    ("written", "last"),
    [
        ("2026-10-31", date(2026, 10, 31)),
        ("by 31/10/2026", date(2026, 10, 31)),
        ("1.2.2027", date(2027, 2, 1)),
        ("3rd Nov. 2026.", date(2026, 11, 3)),
        ("end of November 2026", date(2026, 11, 30)),
        ("by the end of February 2028", date(2028, 2, 29)),
        ("Sept 2026", date(2026, 9, 30)),
        ("before November 2026", date(2026, 10, 31)),
        ("before the end of November 2026", date(2026, 11, 30)),
        ("31 June 2026", None),
        ("marble 2026", None),
        ("decision 2026", None),
        ("from November 2026", None),  # when it begins
        ("mid November 2026", None),
        ("November", None),
        ("before the next export", None),
        ("as soon as 2026", None),
        ("", None),
    ],
)
def test_the_last_day_of_an_action_is_read_off_or_left_open(written: str, last: date | None):
    assert by_when.last_day(written) == last


# ---- the file


def test_no_file_is_no_words(audit: Path):
    assert commentary_file.read(audit, "2026Q3") == ""


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (b"one\r\ntwo\rthree\n", "one\ntwo\nthree\n"),
        (b"\xef\xbb\xbf# First\r\n", "# First\n"),
        (b"caf\xc3\xa9 \xf0\x9f\x91\xb6", "café 👶"),
        (b"", ""),
    ],
)
def test_line_ends_and_a_byte_order_mark_make_no_difference(audit: Path, written: bytes, read: str):
    commentary_file.place(audit, "2026Q3").write_bytes(written)
    assert commentary_file.read(audit, "2026Q3") == read


@pytest.mark.parametrize(
    ("written", "said"),
    [
        (b"one\ntwo \x92 three\n", r"2026Q3\.md: the file is not UTF-8 text \(from byte 9, in line 2\)"),
        ("\ufeffone".encode("utf-16-le"), r"not UTF-8 text \(from byte 1, in line 1\)"),
        (b"\xed\xa0\x80", "not UTF-8 text"),  # half of a pair
        (b"a" * 5_000_000, r"a file of 5,000,000 bytes\n  allowed: up to 100,000 bytes"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_saying_where(audit: Path, written: bytes, said: str):
    commentary_file.place(audit, "2026Q3").write_bytes(written)
    with pytest.raises(Refused, match=said):
        commentary_file.read(audit, "2026Q3")


def test_the_longest_file_is_read(audit: Path):
    commentary_file.place(audit, "2026Q3").write_bytes(b"a" * commentary_file.LONGEST)
    assert len(commentary_file.read(audit, "2026Q3")) == 100_000


def test_a_folder_in_its_place_is_refused(audit: Path):
    commentary_file.place(audit, "2026Q3").mkdir()
    with pytest.raises(Refused, match=r"2026Q3\.md: a folder\n  allowed: a text file"):
        commentary_file.read(audit, "2026Q3")


# ---- safe to print


@pytest.mark.parametrize(
    "hostile",
    [
        "<script>alert(1)</script>",
        "</section></main></body></html>",
        "<img src=x onerror=alert(1)>",
        "<!-- never closed",
        "<!-- over two\nlines --> after",
        "<![CDATA[ x ]]>",
        "<?php x ?>",
        "<!DOCTYPE html>",
        "<style>body{display:none}</style>",
        "a </p></td></table> b",
        "{{ content.settings }} {% include 'x' %} {# x #}",
        "&lt;script&gt;alert(1)&lt;/script&gt;",
        "&#60;script&#62;",
        '"><svg onload=alert(1)>',
        "<a href=javascript:alert(1)>x</a>",
        "\x00\x07\x1b[31m\u202eabc\u2066",
        "&#x202e;&#8238;abc",
    ],
)
def test_whatever_is_written_the_page_keeps_its_skeleton(hostile: str):
    """In a paragraph, a heading, an item, a quotation, code and a cell: the tags are those of a harmless word."""
    frame = "{0}\n\n# {1}\n\n* {0}\n\n> {0}\n\n`{1}`\n\n| {1} | b |\n| --- | --- |\n| {1} | **{1}** |\n\n" + HEAD
    frame += "| {1} | {1} | {1} | {1} | {1} |\n"
    flat = " ".join(hostile.split())
    pages_of = [
        html_page.render(
            "parts/commentary.html",
            content=Holder(view),
            opening=SimpleNamespace(saw=this_quarter.saw(view.parts)),
            which="quarter",
        )
        for view in map(seen, (frame.format(hostile, flat), frame.format("word", "word")))
    ]
    # The tables of the page leave out end tags. A warning more is no tag of the lead's words.
    told, harmless = (
        Skeleton(re.sub(r'<div class="note unread">.*?</div>', "", page, flags=re.S), closed=False) for page in pages_of
    )
    assert told.seen == harmless.seen
    assert not set("\x00\x07\x1b\u202e\u2066") & set(pages_of[0])
    for words in re.findall(r"[a-z]{3,}", html.unescape(hostile)):
        assert words in told.text  # shown, not swallowed


class Holder:
    """What the part of the page takes of an edition's content."""

    def __init__(self, view: CommentaryView):
        self.commentary = view


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("[a](https://example.org/x?y=1&z)", '<a href="https://example.org/x?y=1&amp;z">a</a>'),
        ("[a](HTTP://example.org)", '<a href="HTTP://example.org">a</a>'),
        ("[a](mailto:lead@example.org)", '<a href="mailto:lead@example.org">a</a>'),
        ("[a](#seen_promptly)", '<a href="#seen_promptly">a</a>'),
        ("<https://example.org>", '<a href="https://example.org">https://example.org</a>'),
        ("[a][1]\n\n[1]: https://example.org", '<a href="https://example.org">a</a>'),
        ("[a](javascript:alert(1))", "a (javascript:alert(1))"),
        ("[a](JaVaScRiPt:x)", "a (JaVaScRiPt:x)"),
        ("[a](&#106;avascript:x)", "a (javascript:x)"),
        ("<javascript:x>", "javascript:x"),
        ("[**a**](data:text/html,x)", "<strong>a</strong> (data:text/html,x)"),
        ("[a](file:///etc/x)", "a (file:///etc/x)"),
        ("[a](//example.org)", "a (//example.org)"),
        ("[a](chart.png)", "a (chart.png)"),
        ("[a][1]\n\n[1]: vbscript:x", "a (vbscript:x)"),
        ("[a]()", "a"),
        ("![a chart](https://example.org/c.png)", "a chart"),
        ("![](c.png)", "(a picture)"),
        ("![a **bold** `x`](c.png)", "a bold x"),
        ("[![a chart](c.png)](https://example.org)", '<a href="https://example.org">a chart</a>'),
    ],
)
def test_links_lead_to_the_web_mail_and_this_page_only_and_no_picture_is_fetched(written: str, shown: str):
    assert printed(written).strip() == f"<p>{shown}</p>"


def test_a_line_that_is_one_comment_is_a_note_and_is_not_printed():
    text = (
        "above\n<!-- note -->\nbelow <!-- shown -->\n\n<!-- a --> b\n\n    <!-- code -->\n\n* item\n  <!-- note -->\n"
    )
    shown = printed(text)
    assert shown.split("\n")[0] == "<p>above</p>"
    assert "<p>below &lt;!-- shown --&gt;</p>" in shown
    assert "<p>&lt;!-- a --&gt; b</p>" in shown
    assert "<code>&lt;!-- code --&gt;" in shown
    assert "note" not in shown
    assert "&lt;!-- goes on --&gt;</p>" in printed("> above\n    <!-- goes on -->")
    assert "&lt;!-- fenced --&gt;" in printed("```\n<!-- fenced -->\n```")


def test_a_note_stands_right_above_a_table_and_right_under_one():
    view = seen(f"<!-- one -->\n{HEAD}| a | b | c | d | no |\n<!-- two -->\nAfter.")
    assert rows(view.plan) == [("a", "b", "c", "d", "no")]
    assert [part.words.strip() for part in view.parts] == ["<p>After.</p>"]


def test_headings_follow_the_page_s_own_without_a_gap():
    levels = [part.level for part in seen("# T\n\n### A\n\nx\n\n## B\n\ny\n\n###### C\n\nz\n\n# U\n\nu").parts]
    assert [level for level in levels if level] == [3, 4, 4, 5, 3]
    deep = "\n\n".join(f"{'#' * depth} h\n\nx" for depth in range(1, 7))
    assert [part.level for part in seen(deep).parts if part.level] == [3, 4, 5, 6, 6, 6]


def test_the_laid_title_and_headings_without_anything_under_them_are_left_out():
    laid = (
        "# Commentary, July to September 2026\n\n## What we saw\n\n<!-- x -->\n\n## What we are unsure of\n\nMuch.\n\n"
    )
    view = seen(f"{laid}## What we will do\n\n{HEAD}| a | b | c | d | no |\n")
    assert [(part.level, part.words.strip()) for part in view.parts] == [
        (3, "What we are unsure of"),
        (0, "<p>Much.</p>"),
    ]
    # A title and headings of the lead's own are the lead's words.
    assert [(part.level, part.words) for part in seen("# A hard summer\n\n## We did not meet it").parts] == [
        (3, "A hard summer"),
        (4, "We did not meet it"),
    ]
    assert [part.level for part in seen("## What we saw\n\n### Waits\n\n## What we will do").parts] == [3, 4]
    assert seen("#\n\n## \n").parts == ()


def test_a_heading_in_a_quotation_is_no_heading_of_the_page():
    assert Skeleton(printed("> # Loud\n\n* ## Louder")).tags == ["blockquote", "p", "ul", "li", "p"]


def test_a_table_of_the_lead_s_own_is_a_table_with_a_caption():
    view = seen(
        "## Waits\n\nSee:\n\n| Week | *n* |\n| :-- | --: |\n| 1 | <b> |\n\n| Day | n |\n| --- | --- |\n| 2 | 3 |"
    )
    tables = [part.table for part in view.parts if part.table]
    assert [(table.key, table.caption, table.heads, rows(table)) for table in tables] == [
        ("commentary-table-1", "Waits: table 1", ("Week", "<em>n</em>"), [("1", "&lt;b&gt;")]),
        ("commentary-table-2", "Waits: table 2", ("Day", "n"), [("2", "3")]),
    ]


def test_what_is_nested_too_deep_stays_text():
    for text in (f"{'> ' * 60}deep", f"{'* ' * 60}deep", "".join(f"{'  ' * depth}* {depth}\n" for depth in range(60))):
        shown = printed(text)
        Skeleton(shown)
        assert "deep" in shown or "59" in shown
        assert shown.count("<blockquote>") + shown.count("<ul>") <= markdown.DEEPEST * 2


@pytest.mark.parametrize(
    "piece",
    ["a", "[", "![", "<", "`a", "*a ", "**a*", "_a", "> ", "* ", "|", "| a ", "[a](", "[a]: b\n", "&", "\\", "1. ",
     "<!--", "<a ", "\n\n", "# a\n", "~~~\n", "](", "<https://a> ", "- - "],
)  # fmt: skip
def test_the_longest_file_of_anything_is_printed_in_moderate_time(piece: str):
    """No timing of ours: a minute of work is a hang. Most take under a second.

    An open bracket costs the parser the square of how many there are: so a part of the length has as large a part of
    the minute, squared; a half, and of what it opens with a bracket a quarter.
    """
    parts = 4 if piece in ("[", "![") else 2
    text = (piece * commentary_file.LONGEST)[: commentary_file.LONGEST // parts]
    began = time.process_time()
    for part in seen(text).parts:
        if not part.table:
            Skeleton(str(part.words))
    assert time.process_time() - began < 60 / parts**2


PIECES = st.sampled_from([*" \n|>*-#_()<&!\\W", "  ", "\n\n", " | ", "| - | - |\n", "1. "])
ROWS = st.sampled_from(
    ["| W |\n", "| W | W | W | W | no |\n", "| W | W | W | W | W | W |\n", "W | W\n", "| W \\| W |\n"]
)
TABLES = st.tuples(
    st.sampled_from([HEAD, "| W | W |\n| - | - |\n", "| Action | By whom |\n| - | - |\n"]), st.lists(ROWS)
)


@settings(deadline=None)
@given(st.lists(st.one_of(PIECES, TABLES.map(lambda table: "\n\n" + table[0] + "".join(table[1]))), max_size=40))
def test_no_word_is_lost_whatever_stands_around_it(pieces: list[str]):
    """Each W becomes a word with a number; tables, plans and cells without a column are looked through too."""
    number = itertools.count()
    text = re.sub("W", lambda _: f" w{next(number)}w ", "".join(pieces))
    assume("<!--" not in text)
    view = seen(text)
    shown = " ".join(part.words for part in view.parts)
    for table in (view.plan, *(part.table for part in view.parts)):
        if table:
            shown += " ".join([*table.heads, *(cell for row in rows(table) for cell in row)])
    assert set(re.findall(r"w\d+w", text)) == set(re.findall(r"w\d+w", shown))


# ---- the plan


def test_the_plan_is_read_and_taken_out_of_the_words():
    view = seen(f"Words.\n\n{HEAD}| F \\| f | **A** | O | soon | no |\n|  |  |  |  |  |\n\nMore.")
    assert [part.words.strip() for part in view.parts] == ["<p>Words.</p>", "<p>More.</p>"]
    assert view.plan is not None
    assert view.plan.heads == ("Finding", "Action", "Owner", "By when", "Done")
    assert rows(view.plan) == [("F | f", "<strong>A</strong>", "O", "soon", "no")]
    assert view.warnings == ()


@pytest.mark.parametrize(
    ("done", "is_done"),
    [
        *[(text, True) for text in ("yes", "Yes.", "Y", "done", "Done, 12 October 2026", "completed in May", "✓", "x")],
        *[(text, True) for text in ("2026-10-12", "12/10/2026", "12 October 2026", "on 3rd Oct 2026", "October 2026")],
        *[(text, True) for text in ("yes, at all sites", "[x]", "**yes**", "finished")],
        *[(text, False) for text in ("", "no", "No!", "not yet", "not done", "open", "started", "n", "☐", "-", "n/a")],
        *[(text, False) for text in ("from November 2026", "due 12 October 2026", "planned for 2026-10-12", "?")],
        *[(text, None) for text in ("half", "yes but not at the hub", "done for some", "by 12 October 2026", "12")],
        *[(text, None) for text in ("October", "yesterday", "mostly", "yes and no", "closed, partly")],
    ],
)
def test_an_action_is_open_unless_done_says_yes(done: str, is_done: bool | None):
    assert plan.is_done(done) is is_done
    (action,) = plan.read(markdown.read(f"{HEAD}| f | a | o | w | {done} |"), "x").actions
    assert action.open is not is_done or is_done is None
    assert action.open is (is_done is not True)


def test_what_is_open_and_not_in_this_plan_is_brought_forward():
    before = (
        HEAD + "| a | Ask  every family | o | w | no |\n| b | Ring | o | w | yes |\n| c | Look | p | v | not yet |\n"
    )
    own = HEAD + "| z | Ask every family | q | u | no |\n"
    view = seen(own, before)
    assert view.brought_forward is not None
    assert view.brought_forward.caption == "Brought forward: still open in an earlier plan, and not in this one"
    assert view.brought_forward.heads == (*COLUMNS, "Plan of")
    assert rows(view.brought_forward) == [("c", "Look", "p", "v", "not yet", "April to June 2026")]
    assert rows(seen("", before).brought_forward) == [
        ("a", "Ask  every family", "o", "w", "no", "April to June 2026"),
        ("c", "Look", "p", "v", "not yet", "April to June 2026"),
    ]
    # In this plan, done or not: it is spoken of.
    assert seen(own.replace("| no |", "| yes |"), before.replace("not yet", "yes")).brought_forward is None


@pytest.mark.parametrize(
    ("own", "before", "said"),
    [
        ("", "", "No earlier commentary was written, so there was no action to bring forward."),
        ("", "Words only.", "No action of an earlier plan is still open."),
        ("", f"{HEAD}| a | b | c | d | yes |", "No action of an earlier plan is still open."),
        (
            f"{HEAD}| a | b | c | d | no |",
            f"{HEAD}| a | b | c | d | no |",
            "Every action still open in an earlier plan is in this one.",
        ),
    ],
)
def test_nothing_to_bring_forward_is_said(own: str, before: str, said: str):
    view = seen(own, before)
    assert view.brought_forward is None
    assert view.of_before == said


def open_then(folder: Path, period: str, year_starts: int = 4) -> list[tuple[str, str]]:
    """What is still open of the plans before a period, and in which plan it was last written down."""
    before = earlier.read(folder, period, year_starts)
    return [(since, action.action.written) for since, action in earlier.still_open(before, period)]


def written(folder: Path, **plans: str) -> Path:
    """An audit folder with plans; 2025_26 is the year 2025-26."""
    (folder / "commentary").mkdir(exist_ok=True)
    for period, rows_of_it in plans.items():
        name = period.removeprefix("of_").replace("_", "-")
        (folder / "commentary" / f"{name}.md").write_text(HEAD + rows_of_it, encoding="utf-8")
    return folder


def test_an_action_stays_until_a_plan_says_it_is_done(tmp_path: Path):
    audit = written(tmp_path, of_2025Q1="| f | Ring | o | w | no |\n| f | Ask | o | w | no |\n")
    for period in ("2025Q2", "2025Q4", "2027Q1"):  # the quarters in between were skipped
        assert open_then(audit, period) == [("2025Q1", "Ring"), ("2025Q1", "Ask")]
    assert open_then(audit, "2025Q1") == []  # of its own plan nothing is brought forward
    written(audit, of_2025Q3="| f | Ring  | o | w | yes |\n| g | Look | o | w | no |\n")  # done; a further one
    assert open_then(audit, "2025Q3") == [("2025Q1", "Ring"), ("2025Q1", "Ask")]
    assert open_then(audit, "2025Q4") == [("2025Q1", "Ask"), ("2025Q3", "Look")]
    written(audit, of_2026Q1="| f | Ring | o | w | open again |\n| f | Ask | o | w | no |\n")
    assert open_then(audit, "2026Q2") == [("2025Q3", "Look"), ("2026Q1", "Ring"), ("2026Q1", "Ask")]


def test_a_plan_that_has_an_action_twice_closes_it_when_both_are_done(tmp_path: Path):
    audit = written(tmp_path, of_2025Q1="| f | Ring | Hub | w | yes |\n| f | Ring | Clinic | w | no |\n")
    assert open_then(audit, "2025Q3") == [("2025Q1", "Ring")]
    written(audit, of_2025Q2="| f | Ring | all | w | yes |\n")
    assert open_then(audit, "2025Q3") == []


def test_a_year_brings_forward_what_its_quarters_left_open_and_is_brought_forward_itself(tmp_path: Path):
    audit = written(
        tmp_path,
        of_2025Q2="| f | Ring | o | w | no |\n",
        of_2026Q1="| f | Ask | o | w | no |\n",
        of_2026Q2="| f | Later | o | w | no |\n",
        of_2024_25="| f | Of the year before | o | w | no |\n",
    )
    of_the_year = [("2024-25", "Of the year before"), ("2025Q2", "Ring"), ("2026Q1", "Ask")]
    assert open_then(audit, "2025-26") == of_the_year  # 2025-26 ends with 2026Q1
    # On the same day ends the quarter first: its plan does not know that of the year, which knows its own.
    written(audit, of_2025_26="| f | Ring | o | w | yes |\n| f | New | o | w | no |\n")
    assert open_then(audit, "2026Q1") == of_the_year[:2]
    assert open_then(audit, "2026Q2") == [of_the_year[0], of_the_year[2], ("2025-26", "New")]
    # Where years begin in January 2026 ends with 2026Q4.
    written(audit, of_2026="| f | Of 2026 | o | w | no |\n")
    assert open_then(audit, "2026Q4", 1)[-1] == ("2026Q2", "Later")
    assert open_then(audit, "2027", 1)[-1] == ("2026", "Of 2026")


def test_files_of_other_names_are_no_plans(tmp_path: Path):
    written(tmp_path, draft="| f | Ring | o | w | no |\n", of_2025Q5="| f | Ring | o | w | no |\n")
    assert open_then(tmp_path, "2026Q1") == []


PLANS = {
    "columns in other words": (
        "Words.\n\n| Finding | Action | Who | When | Done |\n| - | - | - | - | - |\n| f | a | Lead | soon | no |\n",
        [("f", "a", "", "", "no", "Lead", "soon")],
        ["line 3: the action plan lacks the columns Owner and By when; it has Finding, Action, Who, When and Done"],
    ),
    "no column Done": (
        "| Action | Owner |\n| --- | --- |\n| a | Lead |\n",
        [("", "a", "Lead", "", "")],
        [
            "line 1: the action plan lacks the columns Finding, By when and Done; it has Action and Owner; without "
            "Done every action counts as open"
        ],
    ),
    "columns in another order and other capitals": (
        "| done | OWNER | by  When | action | finding |\n| - | - | - | - | - |\n| no | Lead | soon | a | f |\n",
        [("f", "a", "Lead", "soon", "no")],
        [],
    ),
    "a bar in a text": (
        f"{HEAD}| f | ask A|B | Lead | soon | yes |\n",
        [("f", "ask A", "B", "Lead", "soon | yes")],
        [
            "line 3: a row of 6 cells in a table of 5 columns; a | in a text is written \\|",
            "line 3: Done says “soon | yes”, which is read as not done; write yes, no or a date",
        ],
    ),
    "a row cut short": (f"{HEAD}| f | a |\n", [("f", "a", "", "", "")], []),
    "a row without an action": (
        f"{HEAD}| f |  | Lead | soon | no |\n",
        [("f", "", "Lead", "soon", "no")],
        ["line 3: an action without a text under Action"],
    ),
    "a Done that says neither": (
        f"{HEAD}| f | a | Lead | soon | half of it |\n",
        [("f", "a", "Lead", "soon", "half of it")],
        ["line 3: Done says “half of it”, which is read as not done; write yes, no or a date"],
    ),
    "two plans": (
        f"{HEAD}| f | a | Lead | soon | no |\n\nAnd:\n\n{HEAD}| g | b | Lead | soon | no |\n",
        [("f", "a", "Lead", "soon", "no"), ("g", "b", "Lead", "soon", "no")],
        [],
    ),
}


@pytest.mark.parametrize("name", PLANS)
def test_no_row_of_a_plan_is_lost_and_what_is_not_as_meant_is_said(name: str):
    text, expected, warnings = PLANS[name]
    view = seen(text)
    assert rows(view.plan) == expected
    assert list(view.warnings) == [f"commentary/2026Q3.md, {warning}" for warning in warnings]


def test_shifted_cells_never_close_an_action():
    (action,) = plan.read(markdown.read(f"{HEAD}| f | a | b | c | yes | more |"), "x").actions
    assert action.done.written == "yes | more"
    assert action.open


@pytest.mark.parametrize(
    ("text", "words", "warning"),
    [
        (
            "| Finding | What to do |\n| --- | --- |\n| f | Ring |\n",
            "Ring",
            "line 1: a table without a column Action is printed as it stands, and nothing in it is brought forward; it "
            "has Finding and What to do",
        ),
        (
            "| What | To do |\n| --- | --- |\n| f | Ring |\n",
            "Ring",
            "line 1: no table has a column Action; this one is printed as it stands, and nothing in it is brought "
            "forward; it has What and To do",
        ),
        (f"{HEAD}\n| f | Ring | Lead | soon | no |\n", "| f | Ring | Lead | soon | no |", f"line 4: {plan._LOOSE}"),
        (f"{HEAD[:-7]}\n| f | Ring | Lead | soon | no |\n", "| f | Ring |", f"line 1: {plan._LOOSE}"),
        (
            f"* item\n\n  {HEAD.replace(chr(10), chr(10) + '  ')}| f | Ring | L | s | no |",
            "Ring",
            f"line 3: {plan._LOOSE}",
        ),
    ],
)
def test_what_is_no_plan_but_looks_like_one_is_printed_and_said(text: str, words: str, warning: str):
    view = seen(text)
    assert view.plan is None
    shown = " ".join(part.words for part in view.parts) + str([rows(part.table) for part in view.parts if part.table])
    assert words in shown
    assert view.warnings == (f"commentary/2026Q3.md, {warning}",)


def test_a_row_of_any_table_keeps_what_has_no_column():
    (part,) = seen("| a | b |\n| --- | --- |\n| 1 | 2 | 3 | 4 | |\n").parts
    assert rows(part.table) == [("1", "2", "3", "4")]


def test_a_plan_of_the_period_before_that_cannot_be_read_is_said_too():
    warnings = seen("", f"{HEAD}| f | a | b | c | half |").warnings
    assert [warning.split(":")[0] for warning in warnings] == ["commentary/2026Q2.md, line 3"]


def test_the_demo_carries_one_open_action_on_and_leaves_one_behind():
    own, before = (
        (DEMO_EXPORT / "commentary" / f"{name}.md").read_text(encoding="utf-8") for name in ("2026Q3", "2026Q2")
    )
    view = seen(own, before)
    assert view.warnings == ()
    assert [row[0] for row in rows(view.brought_forward)] == ["Small troubles after division noted rarely"]
    assert [row[0] for row in rows(view.plan) if row[0].endswith("(from April to June 2026)")] == [
        "Own standard for seeing families promptly not met (from April to June 2026)"
    ]
    assert len(rows(view.plan)) == 6


def test_many_warnings_are_not_all_said():
    warnings = seen(HEAD + "| f | a | b | c | half |\n" * 20).warnings
    assert len(warnings) == 9
    assert warnings[-1] == "commentary/2026Q3.md: 12 further lines like these"


# ---- actions marked for publication

MARKED = HEAD.replace(" Done |", " Done | Publish |").replace("--- |\n", "--- | --- |\n")


def test_only_what_is_marked_is_published_as_plain_text():
    text = (
        MARKED
        + "| Long *waits* | Ask the [clinic](https://a.invalid/7) | Lead | end of May 2026 | no | Yes |\n"
        + "| Calm | Rest | Lead | 1 June 2026 | 2026-06-02 | no |\n"
        + "| Few asked at six weeks in 2025/26 | Book the six-week call | Hub | by 3 July 2026 | 4 July 2026 | yes |\n"
        + "| Calm | Rest | Lead | soon | no | perhaps |\n"
    )
    assert to_publish.actions(text, "f") == (
        PublicAction("Long waits", "Ask the clinic", "Lead", "end of May 2026", "no"),
        PublicAction(
            "Few asked at six weeks in 2025/26", "Book the six-week call", "Hub", "by 3 July 2026", "4 July 2026"
        ),
    )
    # A plan without the column publishes nothing, and lacks nothing.
    assert to_publish.actions(HEAD + "| f | a | Lead | soon | no |\n", "f") == ()
    assert seen(HEAD + "| f | a | Lead | soon | no |\n").warnings == ()


@pytest.mark.parametrize(
    ("finding", "number"),
    [
        ("17 families waited", "17"), ("a share of 80%", "80%"), ("Two babies bled", "Two"), ("half of them", "half"),
        ("one baby bled", "one"), ("twenty-one waits", "twenty"),
        ("a third of families", "third of"), ("½ waited", "½"),
        ("waits of 1,5 weeks", "1,5"), ("Ⅳ waits", "Ⅳ"), ("a baby bled on 3 May 2026", "3"), ("six babies", "six"),
        ("**1**7 waits", "17"), ("2015 and 2026 and 3", "3"), ("a dozen", "dozen"), ("٣ waits", "٣"),
    ],
)  # fmt: skip
def test_an_action_with_a_number_is_not_published(finding: str, number: str):
    text = f"# Words\n\n{MARKED}| {finding} | Act | Lead | soon | no | yes |\n"
    with pytest.raises(Refused) as refused:
        to_publish.actions(text, "commentary/2026Q3.md")
    (fault,) = refused.value.faults
    assert fault.where == "commentary/2026Q3.md, line 5"
    assert f"“{number}” under Finding" in fault.found
    assert "write no under Publish" in fault.mend
    # The service's own page says so before.
    assert f"line 5: marked to publish, and holds “{number}” under Finding" in seen(text).warnings[0]


@pytest.mark.parametrize(
    "finding",
    [
        "Everyone waits",
        "no one site stands out",
        "from April to June 2026",
        "2026Q3 and 2026-27",
        "often",
        "the weight",
    ],
)
def test_a_year_and_a_word_that_only_looks_like_a_number_are_no_figures(finding: str):
    assert len(to_publish.actions(f"{MARKED}| {finding} | Act | Lead | soon | no | yes |\n", "f")) == 1


def test_the_page_says_which_actions_are_marked_and_what_is_read_as_no():
    view = seen(MARKED + "| f | a | Lead | soon | no | yes |\n| g | b | Lead | soon | no | maybe |\n")
    assert view.plan is not None
    assert view.plan.heads == ("Finding", "Action", "Owner", "By when", "Done", "Publish")
    assert [row[-1] for row in rows(view.plan)] == ["yes", "maybe"]
    assert view.warnings == (
        "commentary/2026Q3.md, line 4: Publish says “maybe”, which is read as no; write yes or no",
    )
