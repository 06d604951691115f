"""The rules about one column, as Great Expectations expectations over each column's distinct values.

Comes in: the distinct texts of every column. Goes out: those that are refused. Every rule is derived from the layout.
Refuses to pass in silence: a rule that raised, a rule that did not run, no rules at all.

The one module that imports great_expectations (3 s, so late; telemetry off). It works on distinct values, so its cost
follows their number and not the rows; DuckDB then finds the lines that hold what was refused.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column

if TYPE_CHECKING:
    from great_expectations.core import ExpectationValidationResult
    from great_expectations.core.batch_definition import BatchDefinition

DATE_SHAPE, DATE_FORMAT = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "%Y-%m-%d"
INTEGER_SHAPE = r"^-?[0-9]{1,9}$"
_IN_SET, _BETWEEN = "ExpectColumnValuesToBeInSet", "ExpectColumnValuesToBeBetween"

Place = tuple[str, str]  # table, column
_Rule = tuple[str, tuple[tuple[str, Any], ...]]  # the expectation, its limits


def has_rule(column: Column) -> bool:
    """Whether the layout says anything about the column's values; case_ref has its rule in sql/checks instead."""
    return column.name != "case_ref" and (column.must or column.kind != TEXT or column.longest is not None)


def refused_values(distinct: Mapping[Place, Sequence[str]], columns: Mapping[Place, Column]) -> dict[Place, set[str]]:
    """The values that break their column's rule.

    `distinct` holds each column's distinct texts, "" for nothing written in a must-column; every column of it has a
    rule. Raises RuntimeError where Great Expectations did not run each rule and say so.
    """
    if not distinct:
        raise RuntimeError("no column to check: the layout has rules, so none was asked for")
    # A rule costs time and a value hardly any: columns with the same rule are asked about together.
    asked: dict[_Rule, list[tuple[Place, str]]] = {}
    for place, texts in distinct.items():
        for rule in _rules(columns[place]) if texts else ():
            asked.setdefault(rule, []).extend((place, text) for text in texts)
    if not asked:
        return {}
    codes = [_with_its_column(place, code) for place, column in columns.items() for code in column.values]
    names = {f"{kind} {dict(limits)}": (kind, limits) for kind, limits in asked}
    frame = pd.DataFrame({name: _series(rule[0], asked[rule]) for name, rule in names.items()})
    rules = [
        (kind, {"column": name, **({"value_set": codes} if kind == _IN_SET else dict(limits))})
        for name, (kind, limits) in names.items()
    ]
    refused: dict[Place, set[str]] = {place: set() for place in distinct}
    for name, positions in validate(frame, rules):
        for position in positions:
            place, text = asked[names[name]][position]
            refused[place].add(text)
    return {place: texts for place, texts in refused.items() if texts}


def _series(kind: str, asked: Sequence[tuple[Place, str]]) -> pd.Series[Any]:
    """What a rule is asked about, from the top of its column; the empty rest is missing, and expectations skip it."""
    if kind == _IN_SET:
        return pd.Series([_with_its_column(place, text) for place, text in asked], dtype=object)
    texts = pd.Series([text for _, text in asked], dtype=object)
    return pd.to_numeric(texts.where(texts.str.match(INTEGER_SHAPE))) if kind == _BETWEEN else texts


def _with_its_column(place: Place, code: str) -> str:
    """A code as the one rule about all codes knows it."""
    return f"{'.'.join(place)} {code}"


def _rules(column: Column) -> list[_Rule]:
    if column.kind in (CODE, YES_NO):
        return [(_IN_SET, ())]
    if column.kind == DATE:
        shape = ("ExpectColumnValuesToMatchRegex", (("regex", DATE_SHAPE),))
        return [shape, ("ExpectColumnValuesToMatchStrftimeFormat", (("strftime_format", DATE_FORMAT),))]
    if column.kind == INTEGER:
        limits = (("min_value", column.minimum), ("max_value", column.maximum))
        return [("ExpectColumnValuesToMatchRegex", (("regex", INTEGER_SHAPE),)), (_BETWEEN, limits)]
    limits = (("min_value", 1 if column.must else None), ("max_value", column.longest))
    return [("ExpectColumnValueLengthsToBeBetween", limits)]


def validate(frame: pd.DataFrame, rules: Sequence[tuple[str, dict[str, Any]]]) -> list[tuple[str, list[int]]]:
    """Column and row positions of what each broken rule refused; each rule has a column of the frame to itself."""
    # Whether a rule holds costs half of what it refuses, and most rules hold. One that raised does not hold.
    held = _outcomes(frame, rules, "BOOLEAN_ONLY")
    asked_again = [rule for rule, result in zip(rules, held, strict=True) if not result.success]
    broken = []
    # COMPLETE: the default lists no more than 20 refused values.
    for (_, how), result in zip(asked_again, _outcomes(frame, asked_again, "COMPLETE"), strict=True):
        if "unexpected_index_list" not in result.result:
            raise RuntimeError(f"the rule about {how['column']} did not run: {result.exception_info}")
        broken.append((how["column"], list(result.result["unexpected_index_list"])))
    return broken


def _outcomes(
    frame: pd.DataFrame, rules: Sequence[tuple[str, dict[str, Any]]], told: Literal["BOOLEAN_ONLY", "COMPLETE"]
) -> list[ExpectationValidationResult]:
    """What each rule says of the frame, in the order of the rules."""
    if not rules:
        return []
    batch = _frames().get_batch({"dataframe": frame})
    import great_expectations as gx
    import great_expectations.expectations as library

    suite = gx.ExpectationSuite(name="layout", expectations=[getattr(library, kind)(**how) for kind, how in rules])
    by_column = {}
    for result in batch.validate(suite, result_format=told).results:
        assert result.expectation_config is not None
        by_column[result.expectation_config.kwargs["column"]] = result
    if len(by_column) != len(rules):
        raise RuntimeError(f"{len(by_column)} of {len(rules)} rules ran")
    return [by_column[how["column"]] for _, how in rules]


@functools.cache
def _frames() -> BatchDefinition[Any]:
    """What Great Expectations is handed a frame through. It writes its settings at every step of making one: 50 ms."""
    os.environ["GX_ANALYTICS_ENABLED"] = "false"
    import great_expectations as gx
    from great_expectations.data_context.types.base import ProgressBarsConfig

    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = ProgressBarsConfig(globally=False)
    asset = context.data_sources.add_pandas("values").add_dataframe_asset("distinct values")
    return asset.add_batch_definition_whole_dataframe("all")
