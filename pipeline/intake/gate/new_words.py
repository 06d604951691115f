"""What an export brings that nobody has confirmed: sites, practitioners, destinations, and patterns of references.

These are the only texts of its own that an export can bring into the store, so each is shown to somebody once. Comes
in: the accepted rows, the store, what was confirmed in writing. Goes out: a NewWords for each kind, as a person is
shown it. What the loads in force hold is confirmed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import duckdb

from pipeline.errors import Fault
from pipeline.intake import identify, statements
from pipeline.intake.gate.reference_patterns import Pattern, is_known, merged
from pipeline.intake.map.export import Export
from pipeline.plain_text import times
from pipeline.settings.confirmed import CASE_REF, PATTERN

PRACTITIONER = "practitioner"
_SAY_SO = 'look at each; if all are right, load it again with --confirm-new, or list them: [confirmed] {} = ["..."]'


@dataclass(frozen=True)
class NewWords:
    """The new words of one kind, or patterns of references, each with what should be said of it."""

    kind: str  # of pipeline.settings.confirmed.KINDS
    words: Mapping[str, str]
    to_declare: bool = False  # patterns that only a list confirms

    @property
    def question(self) -> Fault:
        """What is asked before a load takes them."""
        told = "".join(f"\n    {word}{f' ({said})' if said else ''}" for word, said in self.words.items())
        if self.to_declare:
            mend = f'take pseudonyms; if they are some, declare it: [confirmed] case_ref = ["{next(iter(self.words))}"]'
            found = f"references that may be no pseudonyms:{told}"
            return Fault("new case_ref", found, "a pseudonym that nobody can read or look up", mend)
        found, mend = f"{len(self.words):,} to be confirmed:{told}", _SAY_SO.format(self.kind)
        if self.kind == CASE_REF:
            return Fault("new case_ref", found, f"patterns of pseudonyms: {PATTERN}", mend)
        if self.kind == PRACTITIONER:
            if any(self.words.values()):
                mend = f"give names codes (codes in the mapping, or anonymise --code) and export again; else {mend}"
            return Fault("new practitioner, operator", found, "codes; a practitioner is never named", mend)
        return Fault(f"new {self.kind}", found, "words for a place that name no person and no home", mend)


def new_words(con: duckdb.DuckDBPyConnection, export: Export, settled: Mapping[str, Sequence[str]]) -> list[NewWords]:
    """All that is new. `settled` is what the settings confirm; the mapping may confirm more."""
    both = [*settled.items(), *export.mapping.confirmed.items()]
    listed = [(kind, word) for kind, words in both for word in words]
    values = {"kinds": [kind for kind, _ in listed], "words": [word for _, word in listed]}
    rows = statements.rows(con, "new_words", values)
    new = [
        NewWords(kind, {" ".join(word.split()): _mark(kind, word) for _, word in words})
        for kind, words in groupby(rows, key=lambda row: row[0])
    ]
    return [*new, *_new_patterns(con, export, [word for kind, word in listed if kind == CASE_REF])]


def _mark(kind: str, word: str) -> str:
    like = identify.looks_like(word, is_practitioner=kind == PRACTITIONER)
    return f"looks like {like}" if like else ""


def _new_patterns(con: duckdb.DuckDBPyConnection, export: Export, declared: Sequence[str]) -> Iterator[NewWords]:
    origins = [gives.rows.columns["case_ref"] for gives in export.sheet_tables]
    put_before = {"put_before": "^(?:" + "|".join(sorted({re.escape(origin.prefix) for origin in origins})) + ")"}
    held = merged(Pattern(*row) for row in statements.rows(con, "references_held", put_before))
    given = merged(Pattern(*row) for row in statements.rows(con, "references_given", put_before))
    new = [pattern for pattern in given if not is_known(pattern, held, declared)]
    for to_declare in (False, True):
        words = {pattern.text: _said(pattern) for pattern in new if bool(pattern.reads_as) == to_declare}
        if words:
            yield NewWords(CASE_REF, words, to_declare)


def _said(pattern: Pattern) -> str:
    reads = f"reads as {pattern.reads_as}; " if pattern.reads_as else ""
    return f"{reads}{times(pattern.references)}, first in {pattern.first}"
