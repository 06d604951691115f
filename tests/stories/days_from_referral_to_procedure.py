"""Boundary days of days_from_referral_to_procedure, each answer by hand from the definition."""

from tests.stories.tiny import Story, referred

told = Story("days_from_referral_to_procedure")

told.baby("own division on the referral date", "yes, event day 0", lambda c: referred(c).divide(0))
told.baby("own on day 28", "yes, event day 28", lambda c: referred(c).divide(28))
told.baby("own on day 29", "no, event day 29", lambda c: referred(c).divide(29))
told.baby("own on day 84", "no, event day 84", lambda c: referred(c).divide(84))
told.baby("own on day 85", "no, censored day 84", lambda c: referred(c).divide(85))
told.baby(
    "an own and a private row on day 5",
    "yes, event day 5",
    lambda c: referred(c).divide(5).divide(5, "elsewhere", "private"),
)
told.baby(
    "private on day 5, own on day 6",
    "no, competing day 5",
    lambda c: referred(c).divide(5, provider="private").divide(6),
)
told.baby(
    "private on the referral date, own on day 6",
    "no, competing day 0",
    lambda c: referred(c).divide(0, provider="private").divide(6),
)
told.baby(
    "private on days 9 and 5",
    "no, competing day 5",
    lambda c: referred(c).divide(9, provider="private").divide(5, provider="private"),
)
told.baby("other_service on day 85", "no, censored day 84", lambda c: referred(c).divide(85, provider="other_service"))
told.baby("own on day 0, referred on day 2", "no, censored day 84", lambda c: c.divide(0).refer(2))
told.baby("own on days 0 and 10, referred on day 2", "yes, event day 8", lambda c: c.divide(0).divide(10).refer(2))
told.baby(
    "own on day 0, referred on day 2, declined on day 5",
    "no, censored day 84",
    lambda c: c.divide(0).refer(2, "declined_by_parent", 5),
)
told.baby(
    "divided before first contact, declined on day 5",
    "no, competing day 5",
    lambda c: c.divide(-2).refer(0, "declined_by_parent", 5),
)
told.baby("declined on day 5", "no, competing day 5", lambda c: referred(c, "declined_by_parent", 5))
told.baby("declined on day 0", "no, competing day 0", lambda c: referred(c, "declined_by_parent", 0))
told.baby("declined and own on day 5", "yes, event day 5", lambda c: referred(c, "declined_by_parent", 5).divide(5))
told.baby(
    "declined on day 5, own on day 6", "no, competing day 5", lambda c: referred(c, "declined_by_parent", 5).divide(6)
)
told.baby(
    "own on day 5, declined on day 6", "yes, event day 5", lambda c: referred(c, "declined_by_parent", 6).divide(5)
)
told.baby(
    "declined without a date, own on day 10",
    "yes, event day 10",
    lambda c: referred(c, "declined_by_parent").divide(10),
)
told.baby("declined without a date, no division", "no, censored day 84", lambda c: referred(c, "declined_by_parent"))
told.baby(
    "outcome divided_elsewhere on day 9, no row", "no, competing day 9", lambda c: referred(c, "divided_elsewhere", 9)
)
told.baby(
    "outcome divided_elsewhere on day 9, private row on day 7",
    "no, competing day 7",
    lambda c: referred(c, "divided_elsewhere", 9).divide(7, provider="private"),
)
told.baby("accepted with a date on day 5", "no, censored day 84", lambda c: referred(c, "accepted", 5))
told.baby(
    "day 0 declined on day 3, a second referral on day 10 accepted",
    "no, censored day 84",
    lambda c: referred(c, "declined_by_parent", 3).refer(10, "accepted", 11),
)
told.baby(
    "day 0 accepted, a second referral on day 10 not_brought on day 12",
    "no, competing day 12",
    lambda c: referred(c, "accepted", 3).refer(10, "not_brought", 12),
)
told.baby(
    "two referrals on day 0: declined on day 3, and waiting",
    "no, censored day 84",
    lambda c: referred(c, "declined_by_parent", 3).refer(0, "waiting"),
)
told.baby(
    "two referrals on day 0: not_indicated on day 3, and nothing recorded",
    "no, censored day 84",
    lambda c: referred(c, "not_indicated", 3).refer(0),
)
told.baby(
    "two on day 0: not_brought on day 3, withdrawn on day 2",
    "no, competing day 3",
    lambda c: referred(c, "not_brought", 3).refer(0, "withdrawn", 2),
)
told.baby(
    "two on day 0: withdrawn on day 4, withdrawn on day 2",
    "no, competing day 2",
    lambda c: referred(c, "withdrawn", 4).refer(0, "withdrawn", 2),
)
told.baby(
    "two on day 0: withdrawn without a date, withdrawn on day 6",
    "no, competing day 6",
    lambda c: referred(c, "withdrawn").refer(0, "withdrawn", 6),
)
told.baby(
    "moved on day 4, own on day 5",
    "unknown, censored day 4",
    lambda c: referred(c).divide(5),
    closed=4,
    closed_reason="moved",
)
told.baby(
    "moved and own on day 5", "yes, event day 5", lambda c: referred(c).divide(5), closed=5, closed_reason="moved"
)
told.baby("moved on day 28", "no, censored day 28", lambda c: referred(c), closed=28, closed_reason="moved")
told.baby(
    "moved on day 2, referred on day 5",
    "unknown, never_at_risk",
    lambda c: c.refer(5).divide(6),
    closed=2,
    closed_reason="moved",
)
told.baby(
    "moved and referred on day 5",
    "unknown, censored day 0",
    lambda c: c.refer(5).divide(6),
    closed=5,
    closed_reason="moved",
)
told.baby(
    "died on day 2, referred on day 5", "unknown, never_at_risk", lambda c: c.refer(5), closed=2, closed_reason="died"
)
told.baby("died and referred on day 5", "no, competing day 0", lambda c: c.refer(5), closed=5, closed_reason="died")
told.baby("died and own on day 5", "yes, event day 5", lambda c: referred(c).divide(5), closed=5, closed_reason="died")
told.baby(
    "settled on day 3, own on day 20",
    "yes, event day 20",
    lambda c: referred(c).divide(20),
    closed=3,
    closed_reason="settled",
)
told.baby("cut-off 27 days after", "unknown, censored day 27", referred, back=27)
told.baby("cut-off 28 days after", "no, censored day 28", referred, back=28)
