"""Boundary days of complication_within_14_days, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("complication_within_14_days")

told.baby("contact on day 4 only", "unknown", lambda c: divided(c).contact(4))
told.baby("contact on day 5", "no", lambda c: divided(c).contact(5))
told.baby("contact on day 28", "no", lambda c: divided(c).contact(28))
told.baby("contact on day 29", "unknown", lambda c: divided(c).contact(29))
told.baby("minor on day 14", "yes", lambda c: divided(c).harm(14, "bleeding", "minor"))
told.baby("minor on day 15, contact on day 5", "no", lambda c: divided(c).harm(15, "bleeding", "minor").contact(5))
told.baby("unrecorded severity on day 0", "yes", lambda c: divided(c).harm(0, "other"))
told.baby("reattachment on day 10, not heard from", "unknown", lambda c: divided(c).harm(10, "reattachment", "treated"))
told.baby("minor on day 2, cut-off 27 days after", NOT, lambda c: divided(c).harm(2, "other", "minor"), back=27)
