"""The identifier screen: which columns of an export hold something that names anyone.

Comes in: the distinct texts of every column, extra ones included, and the column names. Goes out: what was found, in
words that hold no value nor any part of one. Refuses nothing itself: whoever calls it refuses the export.
"""

from pipeline.intake.identify.births import is_birth_date
from pipeline.intake.identify.column_texts import BIRTH_DATE, FREE_TEXT, KINDS, Found, SeenColumn
from pipeline.intake.identify.search import find, kind_of_text

__all__ = ["BIRTH_DATE", "FREE_TEXT", "KINDS", "Found", "SeenColumn", "find", "is_birth_date", "kind_of_text"]
