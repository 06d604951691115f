"""A SELECT as DuckDB parses it: its own tree of nodes, before anything is looked up.

Comes in: the text of one SELECT. Goes out: dictionaries and lists, and a walk over them. Refuses, with DuckDB's
own error, what it cannot take apart.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Iterator
from typing import Any

import duckdb

Node = dict[str, Any]
_OF_NO_TABLE = ("unnest", "range", "generate_series")  # table functions that read nothing but what they are given


@functools.cache
def tree(sql: str) -> Node:
    """The node of the query, taken apart once however often it is asked for: nobody changes anything in it."""
    ((written,),) = duckdb.execute("SELECT json_serialize_sql($1)", [sql]).fetchall()
    read = json.loads(written)
    if read["error"]:
        raise duckdb.ParserException(read["error_message"])
    query: Node = read["statements"][0]["node"]
    return query


def nodes(part: Any) -> Iterator[Node]:
    """Every node in a part of the tree, itself included."""
    if isinstance(part, dict):
        yield part
        for value in part.values():
            yield from nodes(value)
    elif isinstance(part, list):
        for value in part:
            yield from nodes(value)


@functools.cache
def tables_read(sql: str) -> tuple[tuple[str, int], ...]:
    """The name of each table and table function that is read, steps of WITH left out, and its place in bytes."""
    parts = list(nodes(tree(sql)))
    steps = {entry["key"] for part in parts for entry in part.get("cte_map", {}).get("map", ())}
    reads = []
    for part in parts:
        if part.get("type") == "BASE_TABLE":
            name, own = ".".join(filter(None, (part["schema_name"], part["table_name"]))), steps
        elif part.get("type") == "TABLE_FUNCTION":
            name, own = part["function"]["function_name"], set(_OF_NO_TABLE)
        else:
            continue
        if name not in own:
            reads.append((name, int(part["query_location"])))
    return tuple(reads)


def place(part: Node) -> int:
    """Where a part begins, in bytes; what stands nowhere in the text lies behind its end."""
    return min((int(node["query_location"]) for node in nodes(part) if "query_location" in node), default=1 << 63)
