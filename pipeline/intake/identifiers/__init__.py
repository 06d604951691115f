"""The identifier screen: which columns of an export hold something that names anyone.

Comes in: the distinct texts of every column, extra ones included, and the column names. Goes out: what was found, in
words that hold no value nor any part of one. Refuses nothing itself: whoever calls it refuses the export.
"""

from pipeline.intake.identifiers.births import is_birth_date
from pipeline.intake.identifiers.screen import find, kind_of_text
from pipeline.intake.identifiers.seen import BIRTH_DATE, FREE_TEXT, KINDS, Found, SeenColumn

__all__ = ["BIRTH_DATE", "FREE_TEXT", "KINDS", "Found", "SeenColumn", "find", "is_birth_date", "kind_of_text"]
