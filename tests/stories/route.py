"""What is worked out of a case: its route, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("route")

told.baby("own division", "divided", lambda c: c.refer(0, "withdrawn", 2).divide(3))
told.baby(
    "private division, referral declined",
    "divided_elsewhere",
    lambda c: c.refer(0, "declined_by_parent", 2).divide(3, provider="private"),
)
told.baby("outcome divided_elsewhere, no date", "divided_elsewhere", lambda c: c.refer(0, "divided_elsewhere"))
told.baby("divided before first contact only", "in_support", lambda c: c.divide(-2))
told.baby(
    "declined without a date, settled",
    "not_going_ahead",
    lambda c: c.refer(0, "declined_by_parent"),
    closed=9,
    closed_reason="settled",
)
told.baby(
    "settled without a date, referred and waiting", "settled", lambda c: c.refer(0, "waiting"), closed_reason="settled"
)
told.baby("resolved on the referral date", "settled", lambda c: c.refer(5).contact(5, status="resolved"))
told.baby("resolved the day before the referral", "waiting", lambda c: c.refer(5).contact(4, status="resolved"))
told.baby(
    "resolved on day 6, second referral on day 9",
    "waiting",
    lambda c: c.refer(5).refer(9).contact(6, status="resolved"),
)
told.baby(
    "resolved and worse on one day",
    "in_support",
    lambda c: c.contact(5, status="resolved").contact(5, "P02", status="worse"),
)
told.baby("closed as moved, with a date", "closed", closed=3, closed_reason="moved")
told.baby("moved without a date, referred", "waiting", lambda c: c.refer(0), closed_reason="moved")
told.baby("closed, no reason, referred", "closed", lambda c: c.refer(0), closed=3)
told.baby("nothing", "in_support")
