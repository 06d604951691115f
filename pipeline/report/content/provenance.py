"""What a report rests on: program, cut-off, loads with the checksums of their files, settings.

Comes in: the store. Goes out: a frozen Provenance. No clock is read.
"""

from __future__ import annotations

import re
from datetime import date

import duckdb

from pipeline import __version__
from pipeline.contracts.query_files import answer
from pipeline.report.content.edition import Load, LoadedFile, Provenance
from pipeline.settings import Settings

_CONFIRMED = re.compile(r"(^\s*\[\s*\"?confirmed\"?\s*\][^\n]*\n)(?:(?!^\s*\[).*\n?)*", flags=re.MULTILINE)


def of_store(con: duckdb.DuckDBPyConnection, cut_off: date, settings: Settings) -> Provenance:
    """The provenance of what counts of the attached store, as it stands."""
    files: dict[int, list[LoadedFile]] = {}
    for load, name, sha256, lines in answer(con, "accounts/files").fetchall():
        files.setdefault(load, []).append(LoadedFile(name, sha256, lines))
    return Provenance(
        __version__,
        cut_off,
        tuple(
            Load(load, export, extracted_on, tuple(files.get(load, ())), source, anyway)
            for load, export, extracted_on, source, anyway in answer(con, "accounts/loads").fetchall()
        ),
        _without_codes(settings.text),
    )


def _without_codes(settings_text: str) -> str:
    """The settings but for what was confirmed: codes of practitioners stand on no page that a team reads."""
    return _CONFIRMED.sub(r"\1# (what was confirmed is not printed)\n", settings_text)
