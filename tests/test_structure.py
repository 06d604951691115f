"""The rooms of pipeline/: no circle, no arrow up, no name twice, no module too long, no folder too full."""

from __future__ import annotations

import ast
import graphlib
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import pipeline

PIPELINE = Path(pipeline.__path__[0])
# From the lowest up: what stands here imports only what stands before it, and its own room.
ORDER = (
    *("errors", "plain_text", "progress", "contracts", "settings", "statistics", "store", "intake", "privacy"),
    *("outcomes", "judgement", "lineage", "report", "session", "runs", "run", "console"),
    "__main__",
)
LONGEST_MODULE = 260  # lines
MOST_AT_THE_TOP, MOST_IN_A_FOLDER = 19, 14  # entries; modules, __init__.py not counted

MODULES = {
    ".".join(path.relative_to(PIPELINE).with_suffix("").parts).removesuffix("__init__").rstrip("."): path
    for path in PIPELINE.rglob("*.py")
}


@cache
def imports() -> tuple[tuple[str, str], ...]:
    """Every import of one module by another, wherever in the module it stands; names without `pipeline.`."""
    return tuple(read_imports())


def read_imports() -> Iterator[tuple[str, str]]:
    for module, path in MODULES.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [name.name for name in node.names] if isinstance(node, ast.Import | ast.ImportFrom) else []
            if isinstance(node, ast.ImportFrom):
                assert not node.level, f"{module}: an import says the whole name"
                names = [f"{node.module}.{name}" for name in names]
            for name in names:
                if name.startswith("pipeline."):
                    inside = name.removeprefix("pipeline.")
                    yield module, inside if inside in MODULES else inside.rpartition(".")[0]


def room(module: str, depth: int) -> str:
    """The entry, folder or module, that holds a module so many levels down."""
    return ".".join(module.split(".")[:depth])


def test_every_room_has_its_place_and_imports_nothing_above_it() -> None:
    assert {room(module, 1) for module in MODULES if module} == set(ORDER)
    arrows = [pair for pair in imports() if all(pair)]
    assert arrows
    assert [
        (module, imported)
        for module, imported in arrows
        if ORDER.index(room(imported, 1)) > ORDER.index(room(module, 1))
    ] == []


@pytest.mark.parametrize("depth", [1, 2, 3, 4])
def test_no_room_imports_in_a_circle(depth: int) -> None:
    """At each depth: rooms, what lies in them, and so on down to the modules themselves."""
    above: defaultdict[str, set[str]] = defaultdict(set)
    for module, imported in imports():
        if module and imported and room(module, depth) != room(imported, depth):
            above[room(module, depth)].add(room(imported, depth))
    assert len(above) > 10
    try:
        graphlib.TopologicalSorter(above).prepare()
    except graphlib.CycleError as circle:
        pytest.fail(" <- ".join(circle.args[1]))


def test_no_two_modules_have_one_name() -> None:
    names = Counter(path.name for path in MODULES.values() if path.name != "__init__.py")
    assert [name for name, times in names.items() if times > 1] == []


def test_no_module_is_long_and_no_folder_full() -> None:
    lines = {module: len(path.read_text(encoding="utf-8").splitlines()) for module, path in MODULES.items()}
    assert {module: count for module, count in lines.items() if count > LONGEST_MODULE} == {}
    folders = Counter(str(path.parent.relative_to(PIPELINE)) for path in MODULES.values() if path.stem != "__init__")
    assert {folder: count for folder, count in folders.items() if count > MOST_IN_A_FOLDER} == {}
    rooms = {path.relative_to(PIPELINE).parts[0] for path in MODULES.values()}  # a folder that was left holds none
    assert len(rooms) <= MOST_AT_THE_TOP


def test_sql_of_substance_stands_in_sql() -> None:
    """In Python stands what declared names are joined into, in modules whose head says so."""
    of_substance = re.compile(r"\b(GROUP BY|HAVING|UNION|EXCEPT|(LEFT|ANTI|CROSS) JOIN|OVER \(|max_by)\b")
    with_some = {}
    for module, path in MODULES.items():
        _, head, code = (*path.read_text(encoding="utf-8").split('"""', 2), "", "")[:3]
        if of_substance.search(code):
            with_some[module] = "joined" in head
    assert "outcomes.counting" in with_some
    assert [module for module, says_so in with_some.items() if not says_so] == []


def test_what_takes_a_second_to_import_is_imported_nowhere():
    """scipy.special has the same tails."""
    dear = {path.name for path in PIPELINE.rglob("*.py") if "scipy.stats" in path.read_text(encoding="utf-8")}
    assert dear == set()
