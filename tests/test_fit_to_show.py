"""What of the rest of a service may stand on a practitioner's page: the rule by hand, and an attack on it.

The attacker is plain Python and knows nothing of the rule: it holds the numbers a page shows, its own cases, and, if it
likes, those of one colleague, and adds and subtracts.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from itertools import combinations, product

import numpy as np
import pytest

from pipeline.contracts.measure_files import DAYS, PROPORTION
from pipeline.privacy.fit_to_show import MET, NOT_MET, UNKNOWN, Row, fit_to_show

PERIOD = "2026Q3"


def rows_of(measure: str, told: str, period: str = PERIOD) -> list[Row]:
    """`A yyn? B y`: the answers of each practitioner's cases; `-` is nobody. Cases are numbered along the text."""
    answers = {"y": MET, "n": NOT_MET, "?": UNKNOWN}
    words = told.split()
    rows: list[Row] = []
    for code, cases in zip(words[::2], words[1::2], strict=True):
        for place, answer in enumerate(cases):
            # A dot keeps the place of a case that is not eligible, so that a case has one name under every measure.
            if answer != ".":
                rows.append(Row(measure, period, f"{code}{place}", None if code == "-" else code, answers[answer]))
    return rows


def shown(*told: Sequence[Row], kinds: dict[str, str] | None = None) -> set[str]:
    rows = [row for answers in told for row in answers]
    named = {row.measure: PROPORTION for row in rows} | (kinds or {})
    return {measure for measure, _ in fit_to_show(rows, named)}


@pytest.mark.parametrize(
    ("told", "fits"),
    [
        ("A yn B yn C yn D yn", True),  # whoever reads, three others stand behind met and behind not met
        ("A yn B yn C yn", False),  # two others
        ("A yn B yn C yn - ynyn", False),  # who is not recorded is no practitioner
        ("A yn B yn C yn D yn - yn", True),
        ("A yn B yn C yn D yy", False),  # met by four, not met by three: A would see that of two others
        ("A yn B yn C yn D yn?", False),  # the one that is not known is D's
        ("A yn? B yn? C yn? D yn?", True),
        ("A yy B yy C yy D yy", False),  # of all others: all of theirs
        ("A nn B nn C nn D nn", False),
        ("A ynyn B ynyn C yn D yn", True),  # A of the ten that B does not have: four, no more than half
        ("A ynynyn B ynyn C yn D yn", False),  # six of ten: beside B the rest is mostly A
    ],
)
def test_one_measure(told: str, fits: bool) -> None:
    assert shown(rows_of("m", told)) == ({"m"} if fits else set())


def test_of_days_there_is_only_the_number_of_cases() -> None:
    assert shown(rows_of("m", "A yy B yy C yy D yy"), kinds={"m": DAYS}) == {"m"}
    assert shown(rows_of("m", "A yy B yy C yy"), kinds={"m": DAYS}) == set()


@pytest.mark.parametrize(
    ("first", "second", "fits"),
    [
        # Two cases more in the second, both D's: second less first is D.
        ("A yn B yn C yn D yn..", "A yn B yn C yn D ynyn", False),
        ("A yn. B yn. C yn. D yn.", "A yny B yny C yny D yny", True),
        # The same cases, and of those met one of A's is not met in the second: met less met is A's.
        ("A yyn B yyn C yyn D yyn", "A ynn B yyn C yyn D yyn", False),
        # A case of A's is not known in the first only: known less known.
        ("A yn? B yn? C yn? D yn?", "A ynn B yn? C yn? D yn?", False),
        # Two more whose practitioner is not recorded: somebody may know whose they were.
        ("A yn B yn C yn D yn - ..", "A yn B yn C yn D yn - yn", False),
        # Nothing to do with each other.
        ("A yn.. B yn.. C yn.. D yn..", "A ..yn B ..yn C ..yn D ..yn", True),
        # The other way round: the smaller comes second.
        ("A yn B yn C yn D ynyn", "A yn B yn C yn D yn..", False),
    ],
)
def test_two_measures(first: str, second: str, fits: bool) -> None:
    assert shown(rows_of("a", first), rows_of("b", second)) == ({"a", "b"} if fits else {"a"})


def test_three_measures() -> None:
    """Of all complications less bleeding less infection, what is left is C's; any two of the three may be shown."""
    every = rows_of("a", "A yynnn B yynnn C yyynn D yynnn")
    bleeding = rows_of("b", "A ynnnn B ynnnn C ynnnn D ynnnn")
    infection = rows_of("c", "A nynnn B nynnn C nynnn D nynnn")
    assert shown(every, bleeding) == {"a", "b"}
    assert shown(every, infection) == {"a", "c"}
    assert shown(bleeding, infection) == {"b", "c"}
    assert shown(every, bleeding, infection) == {"a", "b"}


def test_groups_that_overlap() -> None:
    """Bleeding and infection added, less either of them: the one case with both is D's."""
    either = rows_of("a", "A yynnn B yynnn C yynnn D yyynn")
    bleeding = rows_of("b", "A ynnnn B ynnnn C ynnnn D yynnn")
    infection = rows_of("c", "A nynnn B nynnn C nynnn D nyynn")
    assert shown(either, bleeding) == {"a", "b"}
    assert shown(either, bleeding, infection) == {"a", "b"}


def test_of_two_that_cannot_both_be_shown_the_first_named_is() -> None:
    rows = rows_of("a", "A yn B yn C yn D yn..") + rows_of("b", "A yn B yn C yn D ynyn")
    assert fit_to_show(rows, {"a": PROPORTION, "b": PROPORTION}, ["b"]) == {("b", PERIOD)}


def test_an_earlier_period_shows_the_same_when_later_ones_are_known() -> None:
    before = rows_of("b", "A yn B yn C yn D yn..", "2026Q2")
    after = rows_of("a", "A yn B yn C yn D ynyn", "2026Q3")
    kinds = {"a": PROPORTION, "b": PROPORTION}
    assert fit_to_show(before, kinds) == {("b", "2026Q2")}
    # The same cases stand in two quarters under two measures: the newer gives way.
    assert fit_to_show(before + after, kinds, ["a"]) == {("b", "2026Q2")}


# The attack.

KINDS = ("every", "some", "kept", "bleeding", "infection", "other", "later")
Number = frozenset[tuple[str, str]]  # the rows behind a number shown, as (practitioner, case); nobody is ""


def service(seed: int) -> list[Row]:
    """Measures that lie in each other as real ones do, with few cases and odd ones here and there."""
    chance = random.Random(seed)
    codes = [f"P{number}" for number in range(chance.randint(4, 8))]
    rows: list[Row] = []
    for period in ("2026Q2", "2026Q3"):
        for number in range(chance.randint(30, 120)):
            code = chance.choice([*codes, *codes, None])
            case = f"{period}-{number}"

            def add(measure: str, answer: bool | None, case: str = case, code: str | None = code, when: str = period):
                said = UNKNOWN if answer is None else MET if answer else NOT_MET
                rows.append(Row(measure, when, case, code, said))

            yes = chance.random() < 0.6
            known = chance.random() < 0.8
            every = yes if known else None
            add("every", every)
            add("kept", None if every is None else every and chance.random() < 0.7)
            # Only one practitioner asks a second time, now and then.
            add("later", every if known or code != codes[0] else True)
            if chance.random() < 0.9 or code != codes[-1]:
                add("some", None if every is None else every and chance.random() < 0.9)
            bled, infected = chance.random() < 0.3, chance.random() < 0.3
            odd = code == codes[1] and chance.random() < 0.2
            add("bleeding", bled)
            add("infection", infected)
            add("other", bled or infected or odd)
    return rows


def numbers_shown(rows: Iterable[Row], fit: Iterable[tuple[str, str]], without: Iterable[str]) -> list[Number]:
    """Eligible, known and met of every measure and quarter shown, less the cases of those who know their own."""
    found: list[Number] = []
    knowing = set(without)
    for measure, period in sorted(fit):
        here = [row for row in rows if (row.measure, row.period) == (measure, period)]
        for counted in ((MET, NOT_MET, UNKNOWN), (MET, NOT_MET), (MET,)):
            of_them = [row for row in here if row.answer in counted and row.practitioner not in knowing]
            found.append(frozenset((row.practitioner or "", row.unit) for row in of_them))
    return found


def isolated(numbers: Sequence[Number], terms: int) -> set[str]:
    """The practitioners whose cases alone are what is left when up to so many numbers are added and subtracted.

    Adding and subtracting counts each case some number of times; what comes down to one practitioner is a sum in which
    everybody else's cases are counted no times at all.
    """
    rows = sorted(set().union(*numbers))
    codes, begins = np.unique([code for code, _ in rows], return_index=True)
    holds = np.array([[row in number for row in rows] for number in numbers], dtype=np.int8)
    found: set[str] = set()
    for size in range(1, min(terms, len(numbers)) + 1 if rows else 0):
        chosen = np.array(list(combinations(range(len(numbers)), size)))
        for signs in product((1, -1), repeat=size - 1):
            times = sum(by * holds[chosen[:, place]] for place, by in enumerate((1, *signs)))
            left = np.logical_or.reduceat(times != 0, begins, axis=1)  # of each sum, whose cases are counted
            alone = left[left.sum(axis=1) == 1]
            found |= set(codes[alone.any(axis=0)].tolist())
    return found - {""}


def all_or_none(numbers: Sequence[Number]) -> bool:
    """Whether a number of those met says the same of each: nobody, or everybody who is known."""
    return any(not met or met == known for known, met in zip(numbers[1::3], numbers[2::3], strict=True))


@pytest.mark.parametrize("seed", range(20))
def test_no_sum_or_difference_comes_down_to_one_practitioner(seed: int) -> None:
    rows = service(seed)
    kinds = dict.fromkeys(KINDS, PROPORTION)
    fit = fit_to_show(rows, kinds)
    codes = sorted({row.practitioner for row in rows if row.practitioner})
    reader = random.Random(seed).choice(codes)
    for period in ("2026Q2", "2026Q3"):
        within = [pair for pair in fit if pair[1] == period]
        assert isolated(numbers_shown(rows, within, [reader]), 3) == set()
        for colleague in codes:
            assert isolated(numbers_shown(rows, within, {reader, colleague}), 3) == set()
    every_period = numbers_shown(rows, fit, [reader])
    assert isolated(every_period, 2) == set()
    assert not all_or_none(every_period)


def test_the_attacker_finds_what_an_open_page_would_show() -> None:
    """So that a silent attack means something: with every measure shown, it isolates somebody nearly every time."""
    found = 0
    for seed in range(20):
        rows = service(seed)
        everything = [(measure, "2026Q3") for measure in KINDS]
        found += bool(isolated(numbers_shown(rows, everything, ["P0"]), 3))
    assert found >= 12


def test_the_rule_leaves_something_to_show() -> None:
    counts = [len(fit_to_show(service(seed), dict.fromkeys(KINDS, PROPORTION))) for seed in range(20)]
    assert max(counts) >= 4
    assert sum(1 for count in counts if count) >= 12
