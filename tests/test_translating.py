"""What a service writes, put into the layout's own writing: each rule with a text that passes and one that does not."""

from __future__ import annotations

import json
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.contracts import layout
from pipeline.intake.map.mapping import Origin
from pipeline.intake.map.standard_codes import STANDARDS
from pipeline.intake.map.translation import format_fault, needs_translation, parted, translate
from pipeline.intake.map.words.left_out import LeftOut

CASES = layout.table("cases")
DAY, SEX, FIRST_BABY = CASES.column("first_contact_date"), CASES.column("sex"), CASES.column("first_baby")
WEIGHT = CASES.column("birth_weight_g")
CHECK_VALUES = Path(__file__).parent / "check_values" / "domain.json"


def one(origin: Origin, column: layout.Column, text: str) -> str | None:
    """The layout text, or None where the text is refused."""
    result = translate(origin, column, [text])
    assert set(result.texts) ^ set(result.refused) == {text}, "each text has one answer"
    return result.texts.get(text)


def why(origin: Origin, column: layout.Column, text: str) -> str:
    return translate(origin, column, [text]).refused[text]


def day(text: str, *formats: str) -> str | None:
    return one(Origin(column="Date", dates=formats), DAY, text)


def times(text: str, factor: str = "1000") -> str | None:
    return one(Origin(column="kg", times=Decimal(factor)), WEIGHT, text)


# Which origins translate


@pytest.mark.parametrize(
    "origin",
    [
        Origin(column="a", codes={"Y": "yes"}),
        Origin(column="a", times=Decimal(10)),
        Origin(column="a", nothing=frozenset({"-"})),
    ],
)
def test_codes_factors_and_words_for_nothing_need_translation(origin: Origin):
    assert needs_translation(origin, WEIGHT)


@pytest.mark.parametrize(
    "origin", [Origin(column="a"), Origin(constant="North"), Origin(days_old=42), Origin(column="a", prefix="RB-")]
)
def test_a_plain_column_a_constant_an_age_and_a_prefix_need_none(origin: Origin):
    assert not needs_translation(origin, WEIGHT)
    assert needs_translation(origin, DAY), "a time of day behind a date is left out"


def test_what_needs_no_translation_is_left_alone():
    assert one(Origin(column="Sex"), SEX, "anything") == "anything"


# Codes

MARKS = Origin(column="First?", codes={"Y": "yes", "N": "no", "?": "not_known", "not asked": ""})


def test_a_listed_code_becomes_the_layouts():
    assert [one(MARKS, FIRST_BABY, text) for text in ("Y", "N", "?", "not asked")] == ["yes", "no", "not_known", ""]


def test_white_space_around_a_code_does_not_count_and_the_answer_is_under_the_text_as_given():
    assert translate(MARKS, FIRST_BABY, [" Y\u00a0"]).texts == {" Y\u00a0": "yes"}


def test_a_blank_text_is_nothing_recorded():
    assert one(MARKS, FIRST_BABY, " ") == ""


@pytest.mark.parametrize("text", ["y", "YES", "Y.", "Y Y", "not  asked"])
def test_a_code_that_is_not_listed_is_refused_however_like_a_listed_one(text: str):
    assert one(MARKS, FIRST_BABY, text) is None


def test_a_code_of_the_layout_that_is_not_listed_is_refused_too():
    assert one(MARKS, FIRST_BABY, "yes") is None


def test_what_is_allowed_names_the_codes():
    assert why(MARKS, FIRST_BABY, "J") == "a code of the mapping: Y, N, ?, not asked"


def test_codes_on_a_column_of_numbers_are_exceptions_and_every_other_text_stays():
    origin = Origin(column="Weight", codes={"9999": "", "LBW": "2499"})
    assert translate(origin, WEIGHT, ["9999", "LBW", "3450", "heavy"]).texts == {
        "9999": "",
        "LBW": "2499",
        "3450": "3450",
        "heavy": "heavy",
    }


def test_codes_on_a_column_of_texts_are_exceptions_too():
    origin = Origin(column="Site", codes={"Moorend Ctr": "Moorend", "?": ""})
    texts = translate(origin, CASES.column("site"), ["Moorend Ctr", "Hilltop", "?"]).texts
    assert texts == {"Moorend Ctr": "Moorend", "Hilltop": "Hilltop", "?": ""}


def test_a_code_among_numbers_is_not_multiplied_and_the_others_are():
    origin = Origin(column="kg", codes={"9999": "", "LBW": "2499"}, times=Decimal(1000))
    result = translate(origin, WEIGHT, ["9999", "LBW", "3.45", "VLBW"])
    assert result.texts == {"9999": "", "LBW": "2499", "3.45": "3450"}
    allowed = "a code of the mapping: 9999, LBW; or a number that times 1000 is whole"
    assert result.refused["VLBW"].startswith(allowed)


def written_as(**marks: Any) -> Origin:
    return Origin(column="kg", **marks)


@pytest.mark.parametrize(
    ("origin", "text", "grams"),
    [
        (written_as(times=Decimal(1000), decimal=","), "3,45", "3450"),
        (written_as(times=Decimal(1000), decimal=","), "3", "3000"),
        (written_as(times=Decimal(1000), decimal=","), "3.45", None),
        (written_as(times=Decimal(1000)), "3,45", None),
        (written_as(thousands=","), "3,450", "3450"),
        (written_as(thousands=","), "3450", "3450"),
        (written_as(thousands=","), "3,45", None),
        (written_as(thousands=","), "3,4500", None),
        (written_as(thousands=","), "34,50,000", None),
        (written_as(thousands=".", decimal=","), "3.450,0", "3450"),
        (written_as(thousands=".", decimal=","), "3.45", None),
        (written_as(thousands=" "), "3 450", "3450"),
        (written_as(decimal=","), "3450,5", None),
        (written_as(decimal=","), "heavy", None),
    ],
)
def test_marks_in_a_number_are_what_the_column_says_and_never_guessed(origin: Origin, text: str, grams: str | None):
    assert one(origin, WEIGHT, text) == grams


@pytest.mark.parametrize(
    ("form", "column", "text", "number"),
    [
        ("age", "age_days", "3 weeks 2 days", "23"),
        ("age", "age_days", "3w2d", "23"),
        ("age", "age_days", "3/52 2/7", "23"),
        ("age", "age_days", "1 Week", "7"),
        ("age", "age_days", "5/52", "35"),
        ("age", "age_days", "5/7", "5"),
        ("age", "age_days", "10 days", "10"),
        *(("age", "age_days", text, None) for text in ("2/12", "2 months", "5", "3 weeks 8 days", "+ 5 days", "soon")),
        ("gestation", "gestation_weeks", "38+4", "38"),
        ("gestation", "gestation_weeks", "38 weeks 4 days", "38"),
        ("gestation", "gestation_weeks", "38w4d", "38"),
        ("gestation", "gestation_weeks", "38+4/40", "38"),
        ("gestation", "gestation_weeks", "38", "38"),
        *(("gestation", "gestation_weeks", text, None) for text in ("38+7", "38.5", "term", "38+4+1")),
        # 7 x 453.59237 + 4/16 x 453.59237 = 3288.54; 3.4565 kg is 3456.5 g, a half, so up.
        ("weight", "birth_weight_g", "7lb 4oz", "3289"),
        ("weight", "birth_weight_g", "7 lbs", "3175"),
        ("weight", "birth_weight_g", "3.45 kg", "3450"),
        ("weight", "birth_weight_g", "3.4565kg", "3457"),
        ("weight", "birth_weight_g", "3450g", "3450"),
        *(("weight", "birth_weight_g", text, None) for text in ("3450", "3,45 kg", "7lb 16oz", "4oz", "heavy")),
    ],
)
def test_amounts_that_say_their_unit(form: str, column: str, text: str, number: str | None):
    assert one(Origin(column="a", form=form), CASES.column(column), text) == number


@pytest.mark.parametrize(
    ("cell", "signs", "parts"),
    [
        ("good movement; bleed+", (";",), ["good movement", "bleed+"]),
        ("a;b, c", (";", ","), ["a", "b", "c"]),
        ("a;b, c", (";",), ["a", "b, c"]),
        (" ; a ;; b;", (";",), ["a", "b"]),
        ("a; a", (";",), ["a", "a"]),
        ("a and b", (" and ",), ["a", "b"]),
        ("a.b", (".",), ["a", "b"]),
        ("a;b", (), ["a;b"]),
        (";", (";",), []),
    ],
)
def test_the_parts_of_a_cell_that_is_a_list(cell: str, signs: tuple[str, ...], parts: list[str]):
    assert parted(cell, signs) == parts


def test_a_list_in_a_column_of_yes_and_no_is_yes_where_any_part_is_and_no_part_is_overlooked():
    codes = {"sore": "no", "wind": "yes", "?": "not_known", "none": ""}
    origin = Origin(column="Problems", any_of=(";", ","), codes=codes, nothing=frozenset({"n/a"}))
    cells = {"sore; wind": "yes", "wind": "yes", "sore, none": "no", "?; none": "not_known", "none; N/A": "", ";": ""}
    result = translate(origin, CASES.column("wind"), [*cells, "sore; Wind", "wind; ooze"])
    assert result.texts == cells
    assert set(result.refused) == {"sore; Wind", "wind; ooze"}
    assert result.refused["wind; ooze"] == "parts that are codes of the mapping: sore, wind, ?, none"


# Dates


def test_a_date_by_its_format():
    assert day("31/07/2026", "%d/%m/%Y") == "2026-07-31"
    assert day("31 Jul 26", "%d %b %y") == "2026-07-31"
    assert day("July 31, 2026", "%B %d, %Y") == "2026-07-31"
    assert day("31/07/2026 10:15", "%d/%m/%Y %H:%M") == "2026-07-31"


def test_a_nought_left_out_before_a_day_or_month_is_no_matter_where_signs_part_them():
    assert day("1/7/2026", "%d/%m/%Y") == "2026-07-01"


@pytest.mark.parametrize("text", ["31.07.2026", "31/07/26", "30/02/2026", "31/07/2026 25:15", "07/31/2026", "soon"])
def test_a_text_of_another_shape_or_of_no_day_is_refused(text: str):
    assert day(text, "%d/%m/%Y") is None


def test_a_two_digit_year_turns_as_pythons_does():
    assert day("01/01/68", "%d/%m/%y") == "2068-01-01"
    assert day("01/01/69", "%d/%m/%y") == "1969-01-01"


@pytest.mark.parametrize(
    "text",
    ["2026-07-31", "2026-07-31 10:15:00", "2026-07-31T10:15", "2026-07-31T10:15:00.5Z", "2026-07-31 23:30+01:00"],
)
@pytest.mark.parametrize("form", ["%d/%m/%Y", "serial"])
def test_an_iso_date_is_accepted_beside_any_format_by_its_date_part(text: str, form: str):
    assert day(text, form) == "2026-07-31"


@pytest.mark.parametrize(
    "text",
    ["31/07/2026 14:30", "31/07/2026 9:05", "31/07/2026T14:30:59.5Z", "31/07/2026, 2:30 pm", "31/07/2026 23:30+01:00"],
)
def test_a_time_of_day_behind_any_date_is_left_out(text: str):
    assert day(text, "%d/%m/%Y") == "2026-07-31"


@pytest.mark.parametrize(
    "text", ["1st May 2026", "1ST MAY 2026", "1st of may 2026", "1st May 2026 14:30", "01 mAY 2026"]
)
def test_the_ending_of_a_number_and_the_case_of_a_month_do_not_count(text: str):
    assert day(text, "%d %B %Y") == "2026-05-01"


def test_iso_dates_with_a_time_of_day_need_no_format():
    assert day("2026-07-31T09:00:00") == "2026-07-31"
    assert day("2026-07-31 24:00") is None
    assert day("31/07/2026") is None


# Words for nothing

NOTHING = frozenset({"-", "n/a", "not asked"})


@pytest.mark.parametrize("column", [DAY, SEX, WEIGHT, CASES.column("site")])
def test_words_for_nothing_are_nothing_in_any_column_whatever_their_case_and_blanks(column: layout.Column):
    origin = Origin(column="a", codes={"X": "female"} if column == SEX else None, nothing=NOTHING)
    assert [one(origin, column, text) for text in ("-", "N/A", " Not  asked ")] == ["", "", ""]


def test_a_code_of_the_column_comes_before_a_word_for_nothing():
    origin = Origin(column="a", codes={"-": "not_known", "N/A": ""}, nothing=NOTHING)
    assert [one(origin, SEX, text) for text in ("-", "N/A", "n/a", "?")] == ["not_known", "", "", None]


def test_what_was_left_out_is_counted_once_for_each_column():
    left, origin = LeftOut(), Origin(column="Seen", dates=("%d/%m/%Y",), nothing=NOTHING)
    counts = {"31/07/2026 14:30": 2, "30/07/2026": 5, "soon 14:30": 1, "-": 3, "N/A": 1, "n/a": 4}
    for _ in range(2):  # two tables that read the same column
        left.see(origin, DAY, counts, translate(origin, DAY, counts))
    assert list(left.words()) == [
        "Seen: a time of day stands behind 2 of its dates; only the day is read",
        'taken as nothing recorded, as the mapping says: "-" (3), "n/a" (5) in Seen',
    ]


@pytest.mark.parametrize("text", ["2026-02-30", "2026-7-31", "20260731", "2026-07-31 25:00", "2026-07-31 later"])
def test_what_is_only_like_an_iso_date_is_refused(text: str):
    assert day(text, "%d/%m/%Y") is None


def test_the_years_1900_to_2999_are_accepted_and_no_other():
    assert day("01/01/1900", "%d/%m/%Y") == "1900-01-01"
    assert day("31/12/2999", "%d/%m/%Y") == "2999-12-31"
    assert day("31/12/1899", "%d/%m/%Y") is None
    assert day("01/01/3000", "%d/%m/%Y") is None
    assert day("1899-12-31", "%d/%m/%Y") is None
    assert day("0026-07-31", "%d/%m/%Y") is None


def test_two_formats_that_read_two_days_refuse_the_text_and_say_so():
    formats = ("%d/%m/%Y", "%m/%d/%Y")
    assert day("03/04/2026", *formats) is None
    assert why(Origin(column="Date", dates=formats), DAY, "03/04/2026").endswith(
        "one day only: this can be read as two"
    )
    assert day("31/04/2026", *formats) is None, "no day by either"
    assert day("31/07/2026", *formats) == "2026-07-31"
    assert day("04/04/2026", *formats) == "2026-04-04", "the same day by both"


def test_an_iso_date_counts_as_a_reading_of_its_own():
    assert day("2026-04-03", "%Y-%d-%m") is None
    assert day("2026-04-04", "%Y-%d-%m") == "2026-04-04"
    assert day("2026-31-07", "%Y-%d-%m") == "2026-07-31"


def test_the_name_of_a_weekday_must_be_the_days():
    # 31 July 2026 is a Friday.
    assert day("Fri 31/07/2026", "%a %d/%m/%Y") == "2026-07-31"
    assert day("Mon 31/07/2026", "%a %d/%m/%Y") is None


def test_numbers_with_nothing_between_need_their_noughts():
    # A spreadsheet makes 01072026 into 1072026, which could be read as 10 July.
    assert day("01072026", "%d%m%Y") == "2026-07-01"
    assert day("1072026", "%d%m%Y") is None
    assert day("20260731", "%Y%m%d") == "2026-07-31"
    assert day("2026731", "%Y%m%d") is None
    assert day("31Jul2026", "%d%b%Y") == "2026-07-31"
    assert day("1Jul2026", "%d%b%Y") == "2026-07-01", "letters part the numbers"
    assert day("Jul12026", "%b%d%Y") is None
    assert day("010726 10:15", "%d%m%y %H:%M") == "2026-07-01"
    assert day("10726 10:15", "%d%m%y %H:%M") is None


def test_a_serial_is_a_spreadsheets_day_number():
    # As spreadsheets show them: 1 January 2000 is 36526, 1 March 1900 is 61, 31 July 2026 is 46234.
    assert day("36526", "serial") == "2000-01-01"
    assert day("46234", "serial") == "2026-07-31"
    assert day("46234.0", "serial") == "2026-07-31"
    assert day("61", "serial") == "1900-03-01"


@pytest.mark.parametrize(
    "text", ["60", "59", "1", "0", "-5", "46234.5", "46,234", "046234", "999999", "20260731", "31/07/2026"]
)
def test_no_serial(text: str):
    assert day(text, "serial") is None


def test_what_is_allowed_shows_a_date_in_each_format():
    assert why(Origin(column="Date", dates=("%d/%m/%Y", "serial")), DAY, "soon") == (
        "a date like 31/07/2026 (%d/%m/%Y) or a day number like 46234 (serial, from 61) or a date like 2026-07-31, "
        "of the years 1900 to 2999"
    )


FORMATS = [
    "%d/%m/%Y",
    "%m/%d/%Y",
    "%d.%m.%y",
    "%d %b %Y",
    "%B %d, %Y",
    "%Y%m%d",
    "%d%m%Y",
    "%d%b%Y",
    "%a %d-%b-%Y %H:%M",
    "%Y-%d-%m",
    "%d%m%y",
]
ANY_DAY = st.dates(date(1900, 1, 1), date(2999, 12, 31))
# %y knows the century only of the years it turns on.
SHORT_DAY = st.dates(date(1969, 1, 1), date(2068, 12, 31))


@given(form=st.sampled_from(FORMATS), every=st.data())
def test_a_day_written_in_a_format_is_read_back(form: str, every: st.DataObject):
    drawn = every.draw(SHORT_DAY if "%y" in form else ANY_DAY)
    written = drawn.strftime(form)
    if form == "%Y-%d-%m" and drawn.day <= 12 and drawn.day != drawn.month:
        assert day(written, form) is None, "an ISO date of another day"
    else:
        assert day(written, form) == drawn.isoformat()


@given(drawn=st.dates(date(1900, 3, 1), date(2999, 12, 31)))
def test_a_day_written_as_a_serial_is_read_back(drawn: date):
    # 36526 is 1 January 2000.
    assert day(str(36526 + (drawn - date(2000, 1, 1)).days), "serial") == drawn.isoformat()


@given(
    text=st.one_of(
        st.from_regex(r"[0-3]?[0-9][/.-]?[0-3]?[0-9][/.-]?(19|20)?[0-9]{2}", fullmatch=True),
        st.from_regex(r"[0-9]{1,8}", fullmatch=True),
        ANY_DAY.map(str),
    ),
    formats=st.lists(st.sampled_from([*FORMATS, "serial"]), min_size=1, max_size=3),
)
def test_only_a_day_that_a_format_gives_is_ever_returned(text: str, formats: list[str]):
    """The other way round: write the day found in each format, noughts or none, and the text must be among them."""
    found = day(text, *formats)
    if found is None:
        return
    meant = date.fromisoformat(found)
    ways = {found, str((meant - date(2000, 1, 1) + timedelta(36526)).days)} if "serial" in formats else {found}
    for form in formats:
        if form != "serial":
            parts = [form]
            for directive in ("%d", "%m"):
                bare = str(meant.day if directive == "%d" else meant.month)
                parts += [part.replace(directive, bare) for part in parts]
            ways |= {meant.strftime(part) for part in parts}
    assert text in ways


@pytest.mark.parametrize(
    "form",
    [
        "%d/%m/%Y",
        "%d %B %y",
        "%b %d %Y",
        "%A, %d.%m.%Y",
        "%d/%m/%Y %I:%M:%S.%f %p %z",
        "%Y%m%d",
        "100%% %d/%m/%Y",
        "serial",
    ],
)
def test_formats_that_determine_a_day(form: str):
    assert format_fault(form) == ""


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ("%d/%m", "no year (%Y or %y)"),
        ("%d/%Y", "no month (%m or %b or %B)"),
        ("%B %Y", "no day (%d)"),
        ("soon", "no year (%Y or %y), no month (%m or %b or %B), no day (%d)"),
        ("%d/%m/%Y %b", "more than one month (%m or %b or %B)"),
        ("%d/%m/%Y %y", "more than one year (%Y or %y)"),
        ("%d/%d/%m/%Y", "more than one day (%d)"),
        ("%d/%m/%Y %H:%H", "a part of it stands twice"),
        ("%x", "%x has no meaning here"),
        ("%j/%Y", "%j has no meaning here"),
        ("%-d/%m/%Y", "%- has no meaning here"),
        ("%d/%m/%Y %Q", "%Q has no meaning here"),
        ("%d/%m/%Y %", "% has no meaning here"),
        ("%%d/%m/%Y", "no day (%d)"),
    ],
)
def test_formats_that_do_not_and_what_they_lack(form: str, said: str):
    assert format_fault(form) == said


# Factors


@pytest.mark.parametrize(
    ("text", "factor", "product"),
    [
        ("3.45", "1000", "3450"),
        ("3", "1000", "3000"),
        (".9", "1000", "900"),
        ("3.4500", "1000", "3450"),
        ("35", "0.1", None),
        ("40", "0.1", "4"),
        ("-1", "1000", "-1000"),
        ("0.0", "1000", "0"),
        # In binary floating point 1.1 times 10 times 3 is not 33, and 4.35 times 100 is 434.99999999999994.
        ("4.35", "100", "435"),
        ("3.4567", "1000", None),
        ("3,45", "1000", None),
        ("3,450", "1000", None),
        ("3 450", "1000", None),
        ("3.45e0", "1000", None),
        ("3.45 kg", "1000", None),
        ("٣", "1000", None),
        ("nan", "1000", None),
        ("3.", "1000", None),
        # Longer than any exact product that is worked out: no rounding to something whole.
        ("1." + "0" * 70 + "1", "1000", None),
        ("1", "1E+40", None),
    ],
)
def test_a_number_times_a_factor_is_exact_and_whole_or_refused(text: str, factor: str, product: str | None):
    assert times(text, factor) == product


def test_what_is_allowed_names_the_factor():
    origin = Origin(column="kg", times=Decimal("1000"))
    assert why(origin, WEIGHT, "3,45").startswith("a number that times 1000 is whole, decimals after a point")


@given(grams=st.integers(0, 20000))
def test_kilograms_become_grams_without_rounding(grams: int):
    assert times(f"{grams // 1000}.{grams % 1000:03}") == str(grams)


# Open standards


@pytest.mark.parametrize(
    ("name", "kept_as"),
    [
        ("breastfeeding_status", "breastfeeding_status"),
        ("ethnic_category", "ethnic_category_2001"),
        ("phenotypic_sex", "phenotypic_sex"),
    ],
)
def test_the_lists_of_open_standards_are_the_check_values(name: str, kept_as: str):
    kept = json.loads(CHECK_VALUES.read_text(encoding="utf-8"))["codes_of_open_standards"]
    assert STANDARDS[name] == kept[kept_as]


def test_a_birth_weight_not_known_is_the_check_value():
    kept = json.loads(CHECK_VALUES.read_text(encoding="utf-8"))["codes_of_open_standards"]
    assert STANDARDS["birth_weight_not_known"] == {str(kept["birth_weight_not_known"]): ""}
    assert set(STANDARDS) == {"breastfeeding_status", "ethnic_category", "phenotypic_sex", "birth_weight_not_known"}
