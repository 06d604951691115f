"""Boundary days of stopped_breastfeeding_while_waiting, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Baby, Story

told = Story("stopped_breastfeeding_while_waiting")


def referred_later(case: Baby, outcome: str = "", ended: int | None = None) -> Baby:
    """A referral five days after first contact."""
    return case.refer(5, outcome, ended)


told.baby("none on day 4, before the referral", NOT, lambda c: referred_later(c).check(4, "none").check(20, "none"))
told.baby(
    "none on day 3, partial on day 4; none on day 20",
    "yes",
    lambda c: referred_later(c).check(3, "none").check(4, "partial").check(20, "none"),
)
told.baby(
    "none and partial on day 4; none on day 20",
    "yes",
    lambda c: referred_later(c).check(4, "none").check(4, "partial").check(20, "none"),
)
told.baby(
    "none on day 3, not_known on day 4",
    NOT,
    lambda c: referred_later(c).check(3, "none").check(4, "not_known").check(20, "none"),
)
told.baby("none on the referral date", "yes", lambda c: referred_later(c).check(5, "none"))
told.baby("none on day 8, partial on day 10", "no", lambda c: referred_later(c).check(8, "none").check(10, "partial"))
told.baby("none and exclusive on day 8", "no", lambda c: referred_later(c).check(8, "none").check(8, "exclusive"))
told.baby("divided on day 10, none on day 10", "yes", lambda c: referred_later(c).divide(10).check(10, "none"))
told.baby("divided on day 10, none on day 11 only", "unknown", lambda c: referred_later(c).divide(10).check(11, "none"))
told.baby(
    "private division on day 10, none on day 11 only",
    "unknown",
    lambda c: referred_later(c).divide(10, provider="private").check(11, "none"),
)
told.baby(
    "divided on days 10 and 20, none on day 15 only",
    "unknown",
    lambda c: referred_later(c).divide(10).divide(20).check(15, "none"),
)
told.baby("divided on the referral date, none that day", "yes", lambda c: referred_later(c).divide(5).check(5, "none"))
told.baby("divided on day 2, none on day 50", "yes", lambda c: referred_later(c).divide(2).check(50, "none"))
told.baby(
    "divided on day 2, withdrawn on day 9, none on day 12",
    "unknown",
    lambda c: referred_later(c, "withdrawn", 9).divide(2).check(12, "none"),
)
told.baby("withdrawn on day 9, none on day 9", "yes", lambda c: referred_later(c, "withdrawn", 9).check(9, "none"))
told.baby(
    "withdrawn on day 9, none on day 10", "unknown", lambda c: referred_later(c, "withdrawn", 9).check(10, "none")
)
told.baby("withdrawn without a date, none on day 10", "yes", lambda c: referred_later(c, "withdrawn").check(10, "none"))
told.baby("none 84 days after the referral", "yes", lambda c: referred_later(c).check(89, "none"))
told.baby("none 85 days after", "unknown", lambda c: referred_later(c).check(90, "none"))
told.baby(
    "moved on day 6, none on day 20",
    "yes",
    lambda c: referred_later(c).check(20, "none"),
    closed=6,
    closed_reason="moved",
)
told.baby("cut-off 84 days after the referral", "unknown", referred_later, back=89)
told.baby(
    "divided on day 7, none on day 6, cut-off 83 days after the referral",
    NOT,
    lambda c: referred_later(c).divide(7).check(6, "none"),
    back=88,
)
told.baby(
    "no breast milk at first contact",
    NOT,
    lambda c: referred_later(c).check(20, "none"),
    feeding_at_first_contact="none",
)
told.baby("died on day 30", NOT, lambda c: referred_later(c).check(20, "none"), closed=30, closed_reason="died")
