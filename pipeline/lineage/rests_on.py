"""What a figure rests on: read off the SQL of its measure, of its breakdown, and of the case tables below them.

Comes in: a connection with the store attached and the case tables built, and the SQL of a figure. Goes out: the
working columns it reads of the case tables, the settings it reads, and the columns of the layout it comes from in the
end. Every file was held to its form when it was run.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import duckdb

from pipeline.contracts import layout, parse_tree
from pipeline.contracts.breakdown_file import BREAKDOWNS
from pipeline.contracts.grains import GRAINS
from pipeline.contracts.numbered_files import case_files
from pipeline.contracts.parse_tree import Node
from pipeline.contracts.sql_file import SqlFile
from pipeline.lineage import select_lineage
from pipeline.lineage.select_lineage import Relation, Sources
from pipeline.store import schema


@dataclass(frozen=True)
class Ground:
    """What is known of every table that SQL may name: followed down to the store, and to the tables of the grains."""

    to_the_store: dict[str, Relation]
    to_the_grains: dict[str, Relation]  # what a case, a referral or a procedure is known to be


@dataclass(frozen=True)
class RestsOn:
    """What the answers of a figure rest on."""

    worked_out: Sources  # columns of the case tables, and of the settings
    written: Sources  # columns of the layout's tables; a table whose rows alone matter has the column ""

    def used(self) -> dict[str, tuple[str, ...]]:
        """Table of the layout -> the columns that matter, in the layout's order. The reference stands elsewhere."""
        columns_of = {}
        for table in layout.tables():
            matter = [column.name for column in table.columns if (table.name, column.name) in self.written]
            if any(name == table.name for name, _ in self.written):
                columns_of[table.name] = tuple(name for name in matter if name != "case_ref")
        return columns_of


def ground(con: duckdb.DuckDBPyConnection) -> Ground:
    """Read the files of sql/cases from below upwards."""
    names = {f"store.{name}": columns for name, columns in schema.columns(con, "store").items()}
    names |= schema.columns(con, "temp")
    keys = {file.own_name: _key(file) for file in case_files()}
    as_built = {
        name: select_lineage.table(name.removeprefix("store."), dict.fromkeys(columns), keys.get(name, ()))
        for name, columns in names.items()
    }
    trees = {file.own_name: parse_tree.tree(file.sql) for file in case_files()}
    above_the_grains = {name: trees[name] for name in trees if name not in {grain.table for grain in GRAINS.values()}}
    return Ground(_followed(trees, as_built), _followed(above_the_grains, as_built))


def _followed(trees: Mapping[str, Node], as_built: Mapping[str, Relation]) -> dict[str, Relation]:
    """The tables with those followed that have a tree, from below upwards."""
    followed = dict(as_built)
    for name, tree in trees.items():
        below = select_lineage.relation(tree, followed)
        followed[name] = Relation(below.columns, below.rows, as_built[name].keys)
    return followed


def rests_on(known: Ground, sqls: Sequence[str], breakdown: str = "") -> RestsOn:
    """What the SQL of a figure rests on, and its level of a breakdown if it is of one."""
    in_layout = {table.name for table in layout.tables()}
    ends: list[Sources] = []
    for tables in (known.to_the_grains, known.to_the_store):
        parts = [select_lineage.relation(parse_tree.tree(sql), tables).everything for sql in sqls]
        if breakdown:
            levels = select_lineage.relation(parse_tree.tree(BREAKDOWNS.read_text(encoding="utf-8")), tables)
            parts.append(levels.columns[breakdown])
        ends.append(frozenset().union(*parts))
    worked_out, below = ends
    return RestsOn(worked_out, frozenset(source for source in below if source[0] in in_layout))


def _key(file: SqlFile) -> tuple[frozenset[str], ...]:
    """What no two rows of the table share, as the file declares and is held to; not what happens to be so."""
    declared = file.keys.get("unique", "")
    return (frozenset(name.strip() for name in declared.split(",")),) if declared else ()
