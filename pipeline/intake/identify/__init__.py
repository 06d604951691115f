"""The identifier screen: which columns of an export hold something that names anyone.

Comes in: the distinct texts of every column, extra ones included, and the column names. Goes out: the identifiers, in
words that hold no value nor any part of one. Whoever calls it refuses the export.
"""

from pipeline.intake.identify.births import is_birth_date
from pipeline.intake.identify.column_texts import BIRTH_DATE, FREE_TEXT, KINDS, Identifier, SheetColumn
from pipeline.intake.identify.search import ASKED_ABOUT, find, kind_of_text, kinds_of_texts, looks_like

__all__ = (
    "ASKED_ABOUT",
    "BIRTH_DATE",
    "FREE_TEXT",
    "KINDS",
    "Identifier",
    "SheetColumn",
    "find",
    "is_birth_date",
    "kind_of_text",
    "kinds_of_texts",
    "looks_like",
)
