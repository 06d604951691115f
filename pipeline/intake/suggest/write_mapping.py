"""A first mapping for an export, written into the audit folder.

Comes in: the contents of an export, the audit folder, a name. Goes out: the mapping file and how much of it is sure.
Refuses: a name that a mapping has already. Nothing of a column in which the identifier screen finds something is
written, but its name where that is safe.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import Fault, Refused
from pipeline.intake.map.mapping_file import ENDING
from pipeline.intake.read.contents import Contents
from pipeline.intake.suggest.look.first_look import FirstLook, first_look
from pipeline.intake.suggest.suggestion import Suggestion, suggest
from pipeline.store.audit_folder import MAPPINGS
from pipeline.store.whole_files import write_new


@dataclass(frozen=True)
class Suggested:
    """The mapping file written, what it holds, and what it was made from."""

    path: Path
    suggestion: Suggestion
    first_look: FirstLook


def write_suggestion(contents: Contents, folder: Path, name: str | None, encoding: str | None) -> Suggested:
    """Look at every sheet and write folder/mappings/NAME.toml. Raises Refused."""
    path = folder / MAPPINGS / f"{_name(name or contents.name)}{ENDING}"
    if path.exists():
        mend = "use it, or name another: --as NAME"
        raise Refused(Fault(str(path), "there is such a mapping already", "a new name", mend))
    looked_at = first_look(contents, encoding)
    suggestion = suggest(looked_at.sheets)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_new(path, suggestion.text.encode())
    return Suggested(path, suggestion, looked_at)


def _name(written: str) -> str:
    """A file name that any system takes, of the words of the export's own name."""
    stem = re.sub(r"\.(csv|tsv|txt|xlsx|xlsm|zip|parquet|toml)$", "", written, flags=re.IGNORECASE)
    return re.sub(r"[^\w-]+", "-", stem).strip("-").lower() or "mapping"
