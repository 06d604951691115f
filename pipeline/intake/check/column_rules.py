"""The rules about one column, as Great Expectations expectations over each column's distinct values.

Comes in: the distinct texts of every column. Goes out: those that are refused. Every rule is derived from the layout.
Refuses to pass in silence: a rule that raised, a rule that did not run, no rules at all.

The one module that imports great_expectations (3 s, so late; telemetry off). It works on distinct values, so its cost
follows their number and not the rows; DuckDB then finds the lines that hold what was refused.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column

DATE_SHAPE, DATE_FORMAT = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "%Y-%m-%d"
INTEGER_SHAPE = r"^-?[0-9]{1,9}$"
_AS_NUMBER = " as a number"

Place = tuple[str, str]  # table, column


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
    # A column in which nothing is written breaks no rule, and a rule costs time even there.
    distinct = {place: values for place, values in distinct.items() if values}
    if not distinct:
        return {}
    # What has the same rules is asked about once, under the name of the first: a rule costs time, a value hardly any.
    alike: dict[str, dict[Place, Sequence[str]]] = {}
    for place, values in distinct.items():
        alike.setdefault(repr(_rules("", columns[place])), {})[place] = values
    together = {next(iter(places)): sorted(set().union(*places.values())) for places in alike.values()}
    frame = _frame(together, columns)
    rules = [rule for place in together for rule in _rules(".".join(place), columns[place])]
    broken: dict[Place, set[str]] = {place: set() for place in together}
    for name, positions in validate(frame, rules):
        table, column = name.removesuffix(_AS_NUMBER).split(".")
        broken[table, column].update(frame[f"{table}.{column}"].iloc[positions])
    refused = {
        place: broken[first].intersection(values)
        for first, places in zip(together, alike.values(), strict=True)
        for place, values in places.items()
    }
    return {place: refused[place] for place in distinct if refused[place]}


def _frame(distinct: Mapping[Place, Sequence[str]], columns: Mapping[Place, Column]) -> pd.DataFrame:
    """One column a place, the values from the top; the empty rest is missing, and expectations skip it."""
    series: dict[str, pd.Series[Any]] = {}
    for place, values in distinct.items():
        name = ".".join(place)
        series[name] = pd.Series(list(values), dtype=object)
        if columns[place].kind == INTEGER:
            whole = series[name].where(series[name].str.match(INTEGER_SHAPE, na=False))
            series[name + _AS_NUMBER] = pd.to_numeric(whole)
    return pd.DataFrame(series)


def _rules(name: str, column: Column) -> list[tuple[str, dict[str, Any]]]:
    rules: list[tuple[str, dict[str, Any]]] = []
    if column.kind in (CODE, YES_NO):
        rules.append(("ExpectColumnValuesToBeInSet", {"column": name, "value_set": list(column.values)}))
    elif column.kind == DATE:
        rules.append(("ExpectColumnValuesToMatchRegex", {"column": name, "regex": DATE_SHAPE}))
        rules.append(("ExpectColumnValuesToMatchStrftimeFormat", {"column": name, "strftime_format": DATE_FORMAT}))
    elif column.kind == INTEGER:
        limits = {"min_value": column.minimum, "max_value": column.maximum}
        rules.append(("ExpectColumnValuesToMatchRegex", {"column": name, "regex": INTEGER_SHAPE}))
        rules.append(("ExpectColumnValuesToBeBetween", {"column": name + _AS_NUMBER, **limits}))
    elif column.kind == TEXT:
        limits = {"min_value": 1 if column.must else None, "max_value": column.longest}
        rules.append(("ExpectColumnValueLengthsToBeBetween", {"column": name, **limits}))
    return rules


def validate(frame: pd.DataFrame, rules: Sequence[tuple[str, dict[str, Any]]]) -> list[tuple[str, list[int]]]:
    """Column and row positions of what each broken rule refused."""
    os.environ["GX_ANALYTICS_ENABLED"] = "false"
    import great_expectations as gx
    import great_expectations.expectations as library
    from great_expectations.data_context.types.base import ProgressBarsConfig

    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = ProgressBarsConfig(globally=False)
    asset = context.data_sources.add_pandas("values").add_dataframe_asset("distinct values")
    batch = asset.add_batch_definition_whole_dataframe("all").get_batch({"dataframe": frame})
    suite = gx.ExpectationSuite(name="layout", expectations=[getattr(library, kind)(**how) for kind, how in rules])
    # COMPLETE: the default lists no more than 20 refused values.
    outcome = batch.validate(suite, result_format="COMPLETE")
    if len(outcome.results) != len(rules):
        raise RuntimeError(f"{len(outcome.results)} of {len(rules)} rules ran")
    broken = []
    for result in outcome.results:
        assert result.expectation_config is not None
        name = result.expectation_config.kwargs["column"]
        if "unexpected_index_list" not in result.result:
            raise RuntimeError(f"the rule about {name} did not run: {result.exception_info}")
        if not result.success:
            broken.append((name, list(result.result["unexpected_index_list"])))
    return broken
