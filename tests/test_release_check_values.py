"""The check tables of the disclosure design, each by its letter, with where its numbers come from.

A: Handbook on Statistical Disclosure Control (sdcTools), ch. 4.2.3, after Geurts 1992, table 10 (x11; the others worked
by hand). B: the table of the introduction of Fischetti and Salazar, intervals worked by hand. All others by hand.
There is no H.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import pytest

from pipeline.privacy.release.gate_of_release import broken_promises
from pipeline.privacy.release.linked_counts import Decoy, LinkedCounts
from pipeline.privacy.release.outside_attack import attack, narrowed
from pipeline.privacy.release.withholding import NoSafeChoice, choose
from pipeline.statistics.proportions import wilson

Sums = Sequence[tuple[str, Sequence[str]]]


def bounds(values: dict[str, int], sums: Sums, hidden: Iterable[str]) -> dict[str, tuple[float, float]]:
    """What the attack makes of each hidden count."""
    place = {name: i for i, name in enumerate(values)}
    hidden = list(hidden)
    got = attack(
        len(values),
        [(place[whole], tuple(place[part] for part in parts)) for whole, parts in sums],
        {place[name]: value for name, value in values.items() if name not in hidden},
        [place[name] for name in hidden],
    )
    return {name: (low, high) for name, low, high in zip(hidden, got.lowest, got.highest, strict=True)}


def linked(
    values: dict[str, int],
    sums: Sums,
    *,
    unprinted: Iterable[str] = (),
    printed_before: Iterable[str] = (),
    withheld_before: Iterable[str] = (),
    dear: Iterable[str] = (),
) -> LinkedCounts:
    place = {name: i for i, name in enumerate(values)}
    before = {**dict.fromkeys(printed_before, 1), **dict.fromkeys(withheld_before, 2)}
    return LinkedCounts(
        names=tuple(values),
        true=np.array(list(values.values()), dtype=np.int64),
        identities=tuple((place[whole], tuple(place[part] for part in parts)) for whole, parts in sums),
        about_people=np.ones(len(values), bool),
        printable=np.array([name not in {*unprinted, *before} for name in values]),
        earlier=np.array([before.get(name, 0) for name in values], dtype=np.int8),
        cost=np.array([40.0 if name in set(dear) else 4.0 for name in values]),
        all_or_none=np.zeros(len(values), bool),
    )


def withheld_by_choice(counts: LinkedCounts, k: int = 4) -> set[str]:
    """What is withheld; the gate has to pass it."""
    chosen = choose(counts, k)
    assert broken_promises(counts, k, chosen.printed, chosen.protected, chosen.decoys, chosen.proofs) == []
    return {counts.names[i] for i in np.flatnonzero(chosen.withheld)}


def table(rows: Sequence[Sequence[int]]) -> tuple[dict[str, int], list[tuple[str, list[str]]]]:
    """A two-way table with all its totals: x11, x12 ..., r1 ..., c1 ..., all."""
    across, down = range(1, 1 + len(rows[0])), range(1, 1 + len(rows))
    values = {f"x{i}{j}": rows[i - 1][j - 1] for i in down for j in across}
    sums: list[tuple[str, list[str]]] = [(f"r{i}", [f"x{i}{j}" for j in across]) for i in down]
    sums += [(f"c{j}", [f"x{i}{j}" for i in down]) for j in across]
    sums += [("all", [f"r{i}" for i in down]), ("all", [f"c{j}" for j in across])]
    for whole, parts in sums:
        values[whole] = sum(values[part] for part in parts)
    return values, sums


def outcomes(known: Sequence[int], met: Sequence[int]) -> tuple[dict[str, int], list[tuple[str, list[str]]]]:
    """Rows of a breakdown: d1, met1, not1 ... and their totals d, met, not."""
    rows = range(1, 1 + len(known))
    values: dict[str, int] = {}
    for i, (d, m) in enumerate(zip(known, met, strict=True), 1):
        values |= {f"d{i}": d, f"met{i}": m, f"not{i}": d - m}
    values |= {"d": sum(known), "met": sum(met), "not": sum(known) - sum(met)}
    sums = [(f"d{i}", [f"met{i}", f"not{i}"]) for i in rows]
    sums += [(kind, [f"{kind}{i}" for i in rows]) for kind in ("d", "met", "not")]
    return values, [*sums, ("d", ["met", "not"])]


NOT_MET = ("not1", "not2", "not3", "not")


def test_a_the_table_of_the_handbook() -> None:
    values, sums = table([[5, 2], [1, 2], [3, 3]])
    assert (values["r1"], values["r2"], values["r3"], values["c1"], values["c2"], values["all"]) == (7, 3, 6, 9, 7, 16)
    got = bounds(values, sums, ["x11", "x12", "x21", "x22"])
    assert got == {"x11": (3, 6), "x12": (1, 4), "x21": (0, 3), "x22": (0, 3)}


def test_b_the_table_of_fischetti_and_salazar() -> None:
    got = bounds(*table([[20, 50, 10], [8, 19, 22], [17, 32, 12]]), ["x23", "x21", "x31", "x33"])
    assert got == {"x23": (5, 30), "x21": (0, 25), "x31": (0, 25), "x33": (4, 29)}


def test_c_one_count_alone_in_its_row() -> None:
    assert bounds(*table([[12, 2], [9, 11]]), ["x12"]) == {"x12": (2, 2)}


def test_d_two_small_counts_are_safe_together() -> None:
    values, sums = outcomes([30, 16, 9], [14, 3, 2])
    got = bounds(values, sums, ["met2", "met3", "not1", "not2", "not3", "not"])
    assert (got["met2"], got["met3"], got["not2"], got["not3"]) == ((0, 5), (0, 5), (11, 16), (4, 9))
    assert withheld_by_choice(linked(values, sums, unprinted=NOT_MET)) == {"met2", "met3"}


def test_d2_two_small_counts_are_not_safe_together() -> None:
    values, sums = outcomes([30, 16, 9], [14, 2, 1])
    got = bounds(values, sums, ["met2", "met3", *NOT_MET])
    assert (got["met2"], got["met3"]) == ((0, 3), (0, 3))
    assert withheld_by_choice(linked(values, sums, unprinted=NOT_MET, dear=["d", "met"])) == {"met1", "met2", "met3"}
    got = bounds(values, sums, ["met1", "met2", "met3", *NOT_MET])
    assert (got["met1"], got["met2"], got["met3"]) == ((0, 17), (0, 16), (0, 9))


def test_e_nothing_printed_is_small_but_a_difference_is() -> None:
    values, sums = outcomes([12, 20], [10, 12])
    got = bounds(values, sums, ["met1", "met2", "not1", "not2"])
    assert got == {"met1": (2, 12), "met2": (10, 20), "not1": (0, 10), "not2": (0, 10)}
    counts = linked(values, sums, unprinted=["not1", "not2", "not"])
    assert withheld_by_choice(counts) & {"met1", "d1"}


YEAR = {"q1": 7, "q2": 3, "q3": 9, "q4": 6, "year": 25}
YEAR_SUMS = [("year", ["q1", "q2", "q3", "q4"])]


def test_f_the_fourth_quarter_or_the_year() -> None:
    assert bounds(YEAR, YEAR_SUMS, ["q2"]) == {"q2": (3, 3)}
    counts = linked(YEAR, YEAR_SUMS, printed_before=["q1", "q3"], withheld_before=["q2"])
    assert len(withheld_by_choice(counts) & {"year", "q4"}) == 1


def test_g_rolling_totals_cannot_be_mended() -> None:
    values = {"q1": 7, "q2": 6, "q3": 9, "q4": 6, "q5": 2, "to q4": 28, "to q5": 23}
    sums = [("to q4", ["q1", "q2", "q3", "q4"]), ("to q5", ["q2", "q3", "q4", "q5"])]
    assert bounds(values, sums, ["q2", "q3", "q4", "q5"])["q5"] == (2, 2)
    out = {"printed_before": ["q1", "to q4", "to q5"], "withheld_before": ["q2", "q3", "q4", "q5"]}
    with pytest.raises(NoSafeChoice, match="q5 cannot be"):
        choose(linked(values, sums, **out), 4)


def test_i_what_was_done_lies_within_who_was_referred() -> None:
    values = {"referred1": 6, "referred2": 2, "done1": 5, "done2": 1, "not done1": 1, "not done2": 1}
    values |= {"referred": 8, "done": 6, "not done": 2}
    sums = [(f"referred{i}", [f"done{i}", f"not done{i}"]) for i in ("1", "2", "")]
    sums += [(kind, [f"{kind}1", f"{kind}2"]) for kind in ("referred", "done", "not done")]
    rest = ["done1", "done2", "not done1", "not done2"]
    got = bounds(values, sums, ["referred1", "referred2", *rest])
    assert (got["done1"], got["done2"]) == ((0, 6), (0, 6))
    got = bounds(values, sums, rest)  # I2: who was referred is printed
    assert (got["done1"], got["done2"]) == ((4, 6), (0, 2))


def test_j_marks_that_say_how_small_say_too_much() -> None:
    """Three rows marked 1 to 4 prove 3 or more; under a total marked 1 to 4 the total is 3 or 4. So one mark only."""
    totals = {sum(rows) for rows in np.ndindex(4, 4, 4) for rows in [np.add(rows, 1)]}
    assert min(totals) == 3
    assert {total for total in totals if 1 <= total <= 4} == {3, 4}


def test_k_a_percentage_beside_a_withheld_count_gives_it_away() -> None:
    def fits(known: int, percent: int) -> list[int]:
        return [met for met in range(known + 1) if round(100 * met / known) == percent]

    assert (fits(23, 9), fits(41, 7), fits(12, 25)) == ([2], [3], [3])
    both = {(met, known) for known in range(1, 31) for met in fits(known, 17)}
    assert both == {(1, 6), (2, 12), (3, 18), (4, 23), (4, 24), (5, 29), (5, 30)}


def test_l_limits_and_intervals_give_the_counts_away() -> None:
    limits = {n: round(100 * (0.4 + 3 * (0.4 * 0.6 / n) ** 0.5), 1) for n in (14, 15, 16)}
    assert limits == {14: 79.3, 15: 77.9, 16: 76.7}
    low, high = wilson([3, 3, 3], [14, 15, 16])
    assert (np.round(100 * low, 1).tolist(), np.round(100 * high, 1).tolist()) == ([7.6, 7.0, 6.6], [47.6, 45.2, 43.0])


def test_narrowed_names_what_no_longer_covers_all_sizes() -> None:
    values, sums = outcomes([30, 16, 9], [14, 2, 1])
    place = {name: i for i, name in enumerate(values)}
    identities = [(place[whole], tuple(place[part] for part in parts)) for whole, parts in sums]
    printed = {place[name]: value for name, value in values.items() if name in ("d1", "d2", "d3", "d", "met1", "met")}
    got = attack(len(values), identities, printed, [place["met2"], place["met3"]])
    assert narrowed(got, 4).tolist() == [place["met2"], place["met3"]]
    assert narrowed(got, 2).tolist() == []


def test_the_gate_names_each_rule_that_is_broken() -> None:
    """On table F: quarters 1 and 3 are out, quarter 2 is withheld for good."""
    out = {"printed_before": ["q1", "q3"], "withheld_before": ["q2"]}
    counts = linked(YEAR, YEAR_SUMS, **out)
    chosen = choose(counts, 4)
    place = {name: i for i, name in enumerate(counts.names)}

    def faults(printed: Iterable[str], decoys: Sequence[Decoy] = chosen.decoys) -> set[str]:
        mask = np.isin(counts.names, list(printed))
        return set(broken_promises(counts, 4, mask, chosen.protected, decoys, chosen.proofs))

    kept = {counts.names[i] for i in np.flatnonzero(chosen.printed)}
    assert faults(kept) == set()
    assert {"q2 is protected and printed", "q2 was withheld before and is printed"} <= faults({*kept, "q2"})
    assert "q1 was printed before and is not" in faults(kept - {"q1"})
    one_end = [[Decoy(d.counts, tuple(p for p in d.promises if p[1] != end)) for d in chosen.decoys] for end in (0, 5)]
    assert "q2 is protected and no decoy makes it nought" in faults(kept, one_end[0])
    assert "q2 is protected and no decoy makes it 5 or more" in faults(kept, one_end[1])
    unasked = linked(YEAR, YEAR_SUMS, unprinted=["year"], **out)
    printed = np.isin(unasked.names, ["q1", "q3", "year"])
    told = broken_promises(unasked, 4, printed, chosen.protected, chosen.decoys, chosen.proofs)
    assert "year is printed, though nobody asked for it" in told
    assert place["q2"] in {count for decoy in chosen.decoys for count, _ in decoy.promises}
