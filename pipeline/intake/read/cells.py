"""The value of a workbook cell or a Parquet field in, the text that stands for it out; nothing is rounded or guessed.

A whole number has no ".0", no number an exponent; a day is 2026-07-31, with a time 2026-07-31 10:15:00, and midnight
is the day alone. Refuses a value of a kind it does not know (a defect of the program).
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal

import numpy as np


def cell_text(value: object) -> str:
    """The text of one value."""
    if isinstance(value, str):
        return value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float | np.floating):
        return _number(value)
    if isinstance(value, Decimal):
        text = format(value, "f")
        return text.rstrip("0").rstrip(".") if "." in text else text
    if isinstance(value, datetime):
        return value.isoformat(sep=" ").removesuffix(" 00:00:00")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return _duration(value)
    raise TypeError(f"no text for a {type(value).__name__}")


def _number(value: float | np.floating) -> str:
    """The shortest text that gives the number back, also one of 32 bits, of which float() would make 3.0999999."""
    if not np.isfinite(value):
        return str(value)
    whole = abs(float(value)) < 1e6 and float(value).is_integer()  # the quick way, for most numbers there are
    return str(int(value)) if whole else np.format_float_positional(value, unique=True, trim="-")


def _duration(value: timedelta) -> str:
    sign, value = ("-", -value) if value < timedelta(0) else ("", value)
    seconds = value.days * 86_400 + value.seconds
    fraction = f".{value.microseconds:06d}".rstrip("0") if value.microseconds else ""
    return f"{sign}{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{fraction}"
