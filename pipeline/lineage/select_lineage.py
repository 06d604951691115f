"""What a SELECT rests on, found in the SELECT itself: for each of its columns, and for which rows there are.

Comes in: the tree of a query (contracts/parse_tree.py), and what is known of the tables it names. Goes out: a Relation.
Refuses: a table that is not known.

It says too much rather than too little. A name that cannot be placed rests on every column in sight; a form of query
not listed here, on everything below it. One thing is left out on purpose: the right side of a LEFT JOIN that finds one
row at most changes nothing but its own columns, so that the referral behind a date does not come along with the weight
that stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pipeline.contracts.parse_tree import Node, nodes

Source = tuple[str, str]  # a table and one of its columns
Sources = frozenset[Source]
NOTHING: Sources = frozenset()


@dataclass(frozen=True)
class Relation:
    """What the rows of a table or query rest on."""

    columns: Mapping[str, Sources]  # what each value rests on, beside what the row itself rests on
    rows: Sources  # what decides which rows there are
    keys: tuple[frozenset[str], ...] = ()  # columns by which no two rows are alike

    @property
    def everything(self) -> Sources:
        """All that any of it rests on."""
        return self.rows.union(*self.columns.values())


Known = Mapping[str, Relation]


@dataclass(frozen=True)
class _Scope:
    """What the names in a query may mean."""

    tables: tuple[tuple[str, Relation], ...]
    joined: frozenset[tuple[str, str]] = frozenset()  # columns of the right side of a USING: found on the left
    named: dict[str, Sources] = field(default_factory=dict)  # the query's own columns, as far as they are read
    outer: _Scope | None = None

    def __iter__(self) -> Iterator[_Scope]:
        yield self
        if self.outer is not None:
            yield from self.outer


def table(name: str, columns: Mapping[str, object], keys: tuple[frozenset[str], ...] = ()) -> Relation:
    """A table that is followed no further: each column is its own source."""
    return Relation({column: frozenset({(name, column)}) for column in columns}, frozenset({(name, "")}), keys)


def relation(query: Node, known: Known, outer: _Scope | None = None) -> Relation:
    """What a query rests on."""
    within = dict(known)
    for entry in query.get("cte_map", {}).get("map", ()):
        within[entry["key"]] = _renamed(relation(entry["value"]["query_node"], within, outer), entry["value"])
    if query["type"] == "SELECT_NODE":
        return _select(query, within, outer)
    if query["type"] == "SET_OPERATION_NODE":
        parts = [relation(part, within, outer) for part in query["children"]]
        together = [
            frozenset().union(*sources) for sources in zip(*(part.columns.values() for part in parts), strict=False)
        ]
        rows = frozenset().union(*(part.everything for part in parts))
        return Relation(dict(zip(parts[0].columns, together, strict=False)), rows)
    return Relation({}, _below(query, within))


def _select(query: Node, known: Known, outer: _Scope | None) -> Relation:
    scope, rows = _from(query["from_table"], known, outer)
    for item in query["select_list"]:
        for name, sources in _item(item, scope, known):
            scope.named[name] = sources
    columns = dict(scope.named)
    whole = frozenset().union(*columns.values())
    deciding = [query.get(part) for part in ("where_clause", "having", "qualify")]
    grouped = query.get("group_expressions") or []
    modifiers = query.get("modifiers") or []
    limited = any(modifier["type"].startswith("LIMIT") for modifier in modifiers)
    for modifier in modifiers:
        if modifier["type"] == "DISTINCT_MODIFIER":
            rows |= whole
        if limited or modifier["type"] != "ORDER_MODIFIER":
            deciding.append(modifier)
    rows |= _sources([*deciding, *grouped], scope, known)
    if query.get("aggregate_handling") != "STANDARD_HANDLING" or any(not _name(by) for by in grouped):
        rows |= whole  # grouped by what only the list of columns says
    return Relation(columns, rows, _keys(query, grouped, modifiers))


def _keys(query: Node, grouped: list[Node], modifiers: list[Node]) -> tuple[frozenset[str], ...]:
    if any(by["type"] == "DISTINCT_MODIFIER" and not by.get("distinct_on_targets") for by in modifiers):
        return (frozenset(_called(item, place) for place, item in enumerate(query["select_list"])),)
    if grouped and len(query.get("group_sets") or []) == 1:
        items = {_name(item): _called(item, 0) for item in query["select_list"] if _name(item)}
        if all(_name(by) in items for by in grouped):
            return (frozenset(items[_name(by)] for by in grouped),)
    return ()


def _item(item: Node, scope: _Scope, known: Known) -> list[tuple[str, Sources]]:
    """The columns that one entry of a list of columns gives."""
    if item["class"] != "STAR":
        return [(_called(item, len(scope.named)), _sources(item, scope, known))]
    of = item.get("relation_name", "")
    also = _sources(item.get("replace_list"), scope, known)
    return [
        (column, sources | also)
        for alias, relation in scope.tables
        if of in ("", alias)
        for column, sources in relation.columns.items()
        if of or (alias, column) not in scope.joined
    ]


def _from(part: Node, known: Known, outer: _Scope | None) -> tuple[_Scope, Sources]:
    """The tables of a FROM, and what decides which rows they give together."""
    if part["type"] == "JOIN":
        return _join(part, known, outer)
    table, alias = Relation({}, NOTHING), part.get("alias", "")
    if part["type"] == "BASE_TABLE":
        name = ".".join(filter(None, (part.get("schema_name"), part["table_name"])))
        if name not in known:
            raise ValueError(f"the SQL reads {name}, and nothing is known of that table")
        table, alias = known[name], alias or part["table_name"]
    elif part["type"] == "SUBQUERY":
        table = relation(part["subquery"]["node"], known, outer)
    elif part["type"] != "EMPTY":
        table = Relation({}, _below(part, known))
    return _Scope(((alias, _renamed(table, part)),), outer=outer), table.rows


def _join(part: Node, known: Known, outer: _Scope | None) -> tuple[_Scope, Sources]:
    left, left_rows = _from(part["left"], known, outer)
    right, right_rows = _from(part["right"], known, left)  # a LATERAL one may read the left side
    right_tables, using = right.tables, part.get("using_columns") or []
    both = _Scope((*left.tables, *right_tables), left.joined | right.joined, outer=outer)
    condition = _sources(part.get("condition"), both, known)
    condition |= frozenset().union(*(_placed((column,), both) for column in using))
    if part["ref_type"] not in ("REGULAR", "CROSS"):  # NATURAL, ASOF, POSITIONAL: by columns that are not written out
        condition |= frozenset().union(*(relation.everything for _, relation in both.tables))
    if part["join_type"] in ("LEFT", "INNER") and part["ref_type"] == "REGULAR":
        hidden = frozenset((alias, column) for alias, _ in right_tables for column in using)
        both = _Scope(both.tables, both.joined | hidden, outer=outer)
    if part["join_type"] != "LEFT" or part["ref_type"] != "REGULAR" or not _one_row_at_most(part, right_tables):
        return both, left_rows | right_rows | condition
    ((alias, table),) = right_tables
    beside = Relation(
        {column: sources | right_rows | condition for column, sources in table.columns.items()}, NOTHING, table.keys
    )
    return _Scope((*left.tables, (alias, beside)), both.joined, outer=outer), left_rows


def _one_row_at_most(part: Node, right: tuple[tuple[str, Relation], ...]) -> bool:
    """Whether the join says what a key of its right side is equal to."""
    if len(right) != 1:
        return False
    ((alias, table),) = right
    told = set(part.get("using_columns") or [])
    condition = part.get("condition") or {}
    for equal in condition["children"] if condition.get("type") == "CONJUNCTION_AND" else [condition]:
        if equal.get("type") == "COMPARE_EQUAL":
            sides = [_name(equal["left"]), _name(equal["right"])]
            owners = [side[0] if len(side) == 2 else "" for side in sides]
            if "" not in owners and owners.count(alias) == 1:
                told.add(sides[owners.index(alias)][1])
    return any(key <= told for key in table.keys)


def _sources(part: Any, scope: _Scope, known: Known) -> Sources:
    """What an expression, or several, rest on."""
    if isinstance(part, list):
        return frozenset().union(*(_sources(child, scope, known) for child in part))
    if not isinstance(part, dict):
        return NOTHING
    if part.get("class") == "COLUMN_REF":
        return _placed(tuple(part["column_names"]), scope)
    if part.get("class") == "STAR":
        return frozenset().union(*(relation.everything for _, relation in scope.tables))
    sources = frozenset().union(*(_sources(child, scope, known) for key, child in part.items() if key != "subquery"))
    if "subquery" in part:
        sources |= relation(part["subquery"]["node"], known, scope).everything
    return sources


def _placed(name: tuple[str, ...], scope: _Scope) -> Sources:
    """What a name means: in the query itself, else in the ones around it."""
    owner, column = ("", name[0]) if len(name) == 1 else name[:2]
    for query in scope:
        placed = [
            sources
            for alias, relation in query.tables
            for called, sources in relation.columns.items()
            # The second: a field of a column that holds several.
            if (owner == alias and called == column)
            or (called == name[0] and (len(name) > 1 or (alias, called) not in query.joined))
        ]
        if name[0] in query.named:
            placed.append(query.named[name[0]])
        if placed:
            return frozenset().union(*placed)
    return frozenset().union(*(relation.everything for query in scope for _, relation in query.tables))


def _below(part: Node, known: Known) -> Sources:
    """Everything that the tables named anywhere below rest on."""
    own = {entry["key"] for node in nodes(part) for entry in node.get("cte_map", {}).get("map", ())}
    own |= {node["cte_name"] for node in nodes(part) if "cte_name" in node}  # of a recursive one, named within itself
    names = {
        ".".join(filter(None, (node.get("schema_name"), node["table_name"])))
        for node in nodes(part)
        if node.get("type") == "BASE_TABLE"
    }
    return frozenset().union(*(known[name].everything for name in names - own))


def _renamed(table: Relation, part: Node) -> Relation:
    """The relation with the column names that an alias gives it: FROM x AS y (a, b)."""
    names = part.get("column_name_alias") or part.get("aliases") or []
    if not names:
        return table
    columns = [*names, *list(table.columns)[len(names) :]]
    return Relation(dict(zip(columns, table.columns.values(), strict=False)), table.rows)


def _name(expression: Node) -> tuple[str, ...]:
    """The name that a plain reference to a column has; of any other expression nothing."""
    return tuple(expression["column_names"]) if expression.get("class") == "COLUMN_REF" else ()


def _called(item: Node, place: int) -> str:
    """What a column of the query is called."""
    named = _name(item)
    return item.get("alias") or (named[-1] if named else f"column {place + 1}")
