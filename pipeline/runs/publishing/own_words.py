"""The service's own words that stand on a published page: its settings, and who approved the release.

Comes in: settings, a role. Goes out: nothing. Refuses, all at once: a number in them, in digits or in words, for a
figure that is not released could stand so. What is no figure may stand where it belongs: a year anywhere; an age in
`about`; a telephone number, an address and hours in `contact`; a version in `licence`.

It cannot see a figure in words like most or hardly any: whoever approves the release must.
"""

from __future__ import annotations

from pipeline.errors import Fault, Refused
from pipeline.report.commentary.to_publish import first_number
from pipeline.settings import FILE_NAME, Settings

_COUNT = r"(?:\d{1,2}|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)"
_AGE = rf"\b(?:{_COUNT} (?:to|or|and) )?{_COUNT}[\s-](?:day|week|month|year)s?(?:[\s-]old| of age| of life)\b"
_WEB = r"\S+@\S+|\bhttps?://\S+|\bwww\.\S+"
_TELEPHONE = r"(?<![\w.])(?:\+|\(?0)\d[\d ()-]{4,}\d(?![\w.,]*\d)(?:,? ext(?:ension|\.)? ?\d+)?"
_HOURS = r"\b\d{1,2}(?:[:.]\d\d)? ?[ap]\.?m\b\.?|\b\d{1,2}:\d\d\b"
_POST = r"\b[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}\b"
_STREET = r"\b\d{1,4}[a-z]?,? (?:\w+ ){1,3}(?:street|road|lane|avenue|way|square|close|drive|place|terrace|hill)\b"
_ROOM = r"\b(?:room|floor|level|unit|suite|ward|block|desk|box) \d{1,4}[a-z]?\b"
_VERSION = r"\b(?:v|version )\d+(?:\.\d+)*$|\b\d\.\d$"
_NO_COUNTS = {
    "about": (_AGE,),
    "contact": (_WEB, _HOURS, _POST, _STREET, _ROOM, _TELEPHONE),
    "licence": (_WEB, _VERSION),
}
_ALLOWED = {
    "about": "words, years and ages (up to 12 weeks old)",
    "contact": "words; a telephone number that begins with 0 or +, an address, hours",
    "licence": "words, with its version last; or an address",
}


def see_that_they_hold_no_figure(settings: Settings, approved_by: str) -> None:
    """Raise Refused with every text that holds a number."""
    texts = {
        "name": (f"{FILE_NAME}, [service] name", settings.service),
        "contact": (f"{FILE_NAME}, [service] contact", settings.contact),
        "about": (f"{FILE_NAME}, [publish] about", settings.publish.about),
        "licence": (f"{FILE_NAME}, [publish] licence", settings.publish.licence),
        "approved_by": ("--approved-by", approved_by),
    }
    faults = [
        Fault(
            where,
            f"it holds “{number}”, and stands on the published page: a figure that is not released could stand so",
            _ALLOWED.get(name, "words and years"),
            "say it without the number; what may be told of the period is in the report",
        )
        for name, (where, text) in texts.items()
        if (number := first_number(text, *_NO_COUNTS.get(name, ())))
    ]
    if faults:
        raise Refused(faults)
