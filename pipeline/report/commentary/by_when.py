"""Until when an action was to be done.

Comes in: what the lead wrote under By when. Goes out: the last day of it, or None where that cannot be read off: `from
November 2026`, `soon`, `March` without its year. Days are written 31/07/2026, 2026-07-31 or 31 July 2026, and a month
lasts until its end. It never guesses, so an action is overdue only where its own words say so.
"""

from __future__ import annotations

import calendar
import re
from datetime import date, timedelta

from pipeline.report.commentary.plan import folded

_MONTHS = tuple(name.casefold() for name in calendar.month_name[1:])
_UNTIL = r"(?P<until>(?:(?:no later than|by|on|until|till|before|in|during|the|end(?: of)?)\s+)*)"
_DAY = (
    r"(?P<iso>\d{4}-\d\d?-\d\d?)|(?P<british>\d\d?[/.]\d\d?[/.]\d{4})"
    r"|(?:(?P<day>\d\d?)(?:st|nd|rd|th)?\s+)?(?P<month>[a-z]{3,9})\.?\s+(?P<year>\d{4})"
)
_WRITTEN = re.compile(f"{_UNTIL}(?:{_DAY})")


def last_day(written: str) -> date | None:
    """The last day on which the action is not overdue."""
    said = _WRITTEN.fullmatch(folded(written).casefold().strip(" .,;"))
    if said is None:
        return None
    try:
        first, last = _days(said)
    except ValueError:  # 31 June 2026, or a word that is no month
        return None
    return first - timedelta(days=1) if "before" in said["until"] and "end" not in said["until"] else last


def _days(said: re.Match[str]) -> tuple[date, date]:
    if said["iso"]:
        year, month, day = (int(part) for part in said["iso"].split("-"))
    elif said["british"]:
        day, month, year = (int(part) for part in re.split(r"[/.]", said["british"]))
    else:
        # Three letters or more of a month, and nothing else: "marble 2026" is no March.
        (month,) = (at for at, name in enumerate(_MONTHS, 1) if name.startswith(said["month"]))
        year = int(said["year"])
        if not said["day"]:
            return date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1])
        day = int(said["day"])
    return date(year, month, day), date(year, month, day)
