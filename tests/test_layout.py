"""The one declaration of the layout: an open standard, and the same everywhere it is used."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from frictionless import Package

from pipeline.console.cli import commands
from pipeline.contracts import layout, places
from pipeline.errors import Refused


def test_the_declaration_is_a_valid_data_package():
    """Data Package and Table Schema, read by frictionless, the standard's own library."""
    descriptor = json.loads(places.LAYOUT.read_text(encoding="utf-8"))
    assert Package.from_descriptor(descriptor).resource_names == [table.name for table in layout.tables()]
    assert list(Package.metadata_validate(descriptor)) == []


COLUMN = """{"resources": [{
 "name": "cases",
 "description": "",
 "schema": {"fields": [
  {"name": "case_ref", "type": "string"},
  {"name": "seen", "type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]}
]}}]}
"""
SEEN = '"type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]'


@pytest.mark.parametrize(
    ("written", "line", "found"),
    [
        (COLUMN.replace('"string"},', '"string"}'), 6, "no JSON: Expecting ',' delimiter"),
        (COLUMN.replace('"boolean"', '"bool"'), 6, "seen: the type bool"),
        (COLUMN.replace(SEEN, '"trueValues": ["yes"]'), 6, "seen: the type None"),
        (COLUMN.replace('"trueValues": ["yes"], ', ""), 6, "seen: a boolean with trueValues None, falseValues ['no']"),
        (COLUMN.replace(SEEN, '"type": "integer", "constraints": {"minimum": 0}'), 6, "seen: an integer without both"),
        (COLUMN.replace('"type": "string"', '"type": "string", "constrain": {}'), 5, "case_ref: the key constrain"),
        (
            COLUMN.replace('"type": "string"', '"type": "string", "constraints": {"enum": ["a", 1]}'),
            5,
            "case_ref: the en",
        ),
        (COLUMN.replace('"seen"', '"case_ref"'), 6, "case_ref: the name case_ref a second time"),
        (COLUMN.replace('"seen"', '"Seen on"'), 6, "Seen on: the name Seen on"),
        (COLUMN.replace('"seen"', '"line"'), 6, "line: the name line"),
        (COLUMN.replace('"seen"', '"order"'), 6, "order: the name order"),
    ],
)
def test_a_mistake_in_the_declaration_is_refused_with_its_line(written: str, line: int, found: str):
    assert len(layout.read_tables(COLUMN, "layout.json")) == 1
    with pytest.raises(Refused) as refused:
        layout.read_tables(written, "layout.json")
    (fault,) = refused.value.faults
    assert fault.where == f"layout.json, line {line}"
    assert fault.found.startswith(found)


def test_the_tables_and_their_must_columns_are_those_of_the_contract():
    must = {table.name: [column.name for column in table.columns if column.must] for table in layout.tables()}
    assert must == {
        "cases": ["case_ref", "site", "first_contact_date", "age_days"],
        "contacts": ["case_ref", "contact_date", "practitioner"],
        "assessments": ["case_ref", "assessment_date", "practitioner"],
        "referrals": ["case_ref", "referral_date"],
        "procedures": ["case_ref", "procedure_date", "operator"],
        "complications": ["case_ref", "noted_date", "kind"],
        "feeding_checks": ["case_ref", "check_date"],
        "requests": ["case_ref", "site", "request_date"],
        "family_views": ["case_ref", "answered_date"],
    }


def test_layout_prints_every_table_column_and_code():
    printed = CliRunner().invoke(commands, ["layout"]).output
    words = set(re.findall(r"[a-z_]+", printed))
    for table in layout.tables():
        assert f"\n{table.name}: {table.description}\n" in printed
        for column in table.columns:
            assert column.name in words
            assert set(column.values) <= words
            if column.minimum is not None:
                assert f"from {column.minimum} to {column.maximum}" in re.sub(r"\s+", " ", printed)


def test_the_demo_carries_the_same_declaration(tmp_path: Path):
    demo = json.loads((places.DEMO_EXPORT / "datapackage.json").read_text(encoding="utf-8"))
    declared = json.loads(places.LAYOUT.read_text(encoding="utf-8"))
    assert [resource["schema"] for resource in demo["resources"]] == [
        resource["schema"] for resource in declared["resources"]
    ]


def test_a_measure_that_waits_for_the_days_of_a_setting_says_so():
    printed = CliRunner().invoke(commands, ["measures", "seen_promptly"]).output
    assert "complete  5 (seen_promptly_days of audit.toml) days after the period\n" in printed
    printed = CliRunner().invoke(commands, ["measures", "fed_within_30_minutes"]).output
    assert "complete  at the end of the period\n" in printed
