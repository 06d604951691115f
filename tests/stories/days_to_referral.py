"""Boundary days of days_to_referral, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("days_to_referral")

told.baby("referred on day 0", "yes, event day 0", lambda c: c.refer(0))
told.baby("referred on day 28", "yes, event day 28", lambda c: c.refer(28))
told.baby("referred on day 29", "no, event day 29", lambda c: c.refer(29))
told.baby("referred on day 84", "no, event day 84", lambda c: c.refer(84))
told.baby("referred on day 85", "no, censored day 84", lambda c: c.refer(85))
told.baby("own division on day 4, referred on day 5", "no, competing day 4", lambda c: c.divide(4).refer(5))
told.baby("private division on day 4, never referred", "no, competing day 4", lambda c: c.divide(4, provider="private"))
told.baby("division and referral on day 5", "yes, event day 5", lambda c: c.divide(5).refer(5))
told.baby("referred on day 5, divided on day 6", "yes, event day 5", lambda c: c.divide(6).refer(5))
told.baby("divided on day 85, never referred", "no, censored day 84", lambda c: c.divide(85))
told.baby("divided before first contact, referred on day 5", "yes, event day 5", lambda c: c.divide(-1).refer(5))
told.baby(
    "moved on day 5, referred on day 5", "yes, event day 5", lambda c: c.refer(5), closed=5, closed_reason="moved"
)
told.baby(
    "moved on day 4, referred on day 5",
    "unknown, censored day 4",
    lambda c: c.refer(5),
    closed=4,
    closed_reason="moved",
)
told.baby(
    "moved on day 0, referred on day 1",
    "unknown, censored day 0",
    lambda c: c.refer(1),
    closed=0,
    closed_reason="moved",
)
told.baby(
    "moved on day 3, private division on day 4",
    "unknown, censored day 3",
    lambda c: c.divide(4, provider="private"),
    closed=3,
    closed_reason="moved",
)
told.baby("care_elsewhere on day 27", "unknown, censored day 27", closed=27, closed_reason="care_elsewhere")
told.baby("care_elsewhere on day 28", "no, censored day 28", closed=28, closed_reason="care_elsewhere")
told.baby("moved without a date, referred on day 20", "yes, event day 20", lambda c: c.refer(20), closed_reason="moved")
told.baby("died on day 10", "no, competing day 10", closed=10, closed_reason="died")
told.baby("died on day 5, referred on day 5", "yes, event day 5", lambda c: c.refer(5), closed=5, closed_reason="died")
told.baby(
    "died on day 10, private division on day 8",
    "no, competing day 8",
    lambda c: c.divide(8, provider="private"),
    closed=10,
    closed_reason="died",
)
told.baby("died on day 84", "no, competing day 84", closed=84, closed_reason="died")
told.baby("died on day 85", "no, censored day 84", closed=85, closed_reason="died")
told.baby("died without a date", "no, censored day 84", closed_reason="died")
told.baby("settled on day 5, never referred", "no, censored day 84", closed=5, closed_reason="settled")
told.baby(
    "no_reply on day 5, referred on day 20",
    "yes, event day 20",
    lambda c: c.refer(20),
    closed=5,
    closed_reason="no_reply",
)
told.baby(
    "resolved on day 5, referred on day 20", "yes, event day 20", lambda c: c.contact(5, status="resolved").refer(20)
)
told.baby("cut-off 27 days after", "unknown, censored day 27", back=27)
told.baby("cut-off 28 days after", "no, censored day 28", back=28)
told.baby("referred on the cut-off, day 10", "yes, event day 10", lambda c: c.refer(10), back=10)
