"""Boundary days of reattached_within_84_days, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("reattached_within_84_days")

told.baby("noted on day 0 only, contact on day 30", "no", lambda c: divided(c).harm(0, "reattachment").contact(30))
told.baby("noted on day 1", "yes", lambda c: divided(c).harm(1, "reattachment"))
told.baby("noted on day 84", "yes", lambda c: divided(c).harm(84, "reattachment"))
told.baby("noted on day 85, contact on day 30", "no", lambda c: divided(c).harm(85, "reattachment").contact(30))
told.baby("own division on day 84", "yes", lambda c: divided(c).divide(84))
told.baby("own division on day 85, contact on day 30", "no", lambda c: divided(c).divide(85).contact(30))
told.baby("private division on day 1", "yes", lambda c: divided(c).divide(1, provider="private"))
told.baby("two rows on day 0, contact on day 30", "no", lambda c: divided(c).divide(0, "P03").contact(30))
told.baby("contact on day 27 only", "unknown", lambda c: divided(c).contact(27))
told.baby("contact on day 28", "no", lambda c: divided(c).contact(28))
told.baby("contact on day 84", "no", lambda c: divided(c).contact(84))
told.baby("contact on day 85", "unknown", lambda c: divided(c).contact(85))
told.baby("check not_known on day 40", "unknown", lambda c: divided(c).check(40, "not_known"))
told.baby("cut-off 84 days after, contact on day 28", "no", lambda c: divided(c).contact(28), back=84)
told.baby("reattached on day 20, cut-off 83 days after", NOT, lambda c: divided(c).harm(20, "reattachment"), back=83)
told.baby(
    "private on day 0, reattachment on day 4, own on day 5, contact on day 40",
    "no",
    lambda c: c.divide(0, provider="private").harm(4, "reattachment").divide(5).contact(40),
)
