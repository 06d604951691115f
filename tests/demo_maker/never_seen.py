"""The rows of `requests`: families who asked for help and were not seen, or not yet.

Comes in: a seed, a site or all sites, and the pseudonyms that are taken. Goes out: rows as text, in no order. Refuses:
a trend: every quarter and every site has its part of them, by how many families it sees.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from tests.demo_maker.baby import DECILES, ETHNIC_GROUPS, SOURCES, case_reference, first_contact_day
from tests.demo_maker.chance import between, likely, pick, stream, yes_no
from tests.demo_maker.service import CUT_OFF, SITES, VOLUMES

NEVER_SEEN = 0.085  # so many of them for each family that was seen
OUTCOMES = {
    "declined": 0.25,
    "no_reply": 0.27,
    "seen_elsewhere": 0.18,
    "moved": 0.09,
    "not_suitable": 0.14,
    "died": 0.01,
    "waiting": 0.06,  # on the list for good, it seems
}


def every_request(seed: int, taken: set[str]) -> list[dict[str, str]]:
    """The requests to all sites, under pseudonyms that no case has."""
    references = stream(seed, "request references")
    rows = []
    for quarter, volume in VOLUMES.items():
        for place in range(round(volume * NEVER_SEEN)):
            draw = stream(seed, f"{quarter}/{place}/request")
            site = pick(draw, {site.name: site.share for site in SITES})
            rows.append(request(draw, case_reference(references, taken), site, quarter, CUT_OFF))
    return rows


def request(draw: Random, case_ref: str, site: str, quarter: str, cut_off: date) -> dict[str, str]:
    """One row of `requests`; what had not ended by the cut-off is waiting."""
    asked = first_contact_day(draw, quarter)
    outcome = pick(draw, OUTCOMES)
    ended = asked + timedelta(days=between(draw, 1, 6) if likely(draw, 0.35) else between(draw, 7, 40))
    dated = likely(draw, 0.85)
    if ended > cut_off:
        outcome = "waiting"
    return {
        "case_ref": case_ref,
        "site": site,
        "request_date": asked.isoformat(),
        "outcome": outcome,
        "outcome_date": ended.isoformat() if dated and outcome != "waiting" else "",
        "deprivation_decile": (
            pick(draw, {name: share / 100 for name, share in DECILES.items()}) if likely(draw, 0.9) else ""
        ),
        "ethnic_group": pick(draw, ETHNIC_GROUPS) if likely(draw, 0.8) else "not_known",
        "referral_source": pick(draw, SOURCES),
        "interpreter_needed": yes_no(draw, 0.1, 0.2),
    }
