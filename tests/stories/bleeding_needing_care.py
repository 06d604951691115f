"""Boundary days of bleeding_needing_care, each answer by hand from the definition."""

from tests.stories.tiny import Story, divided

told = Story("bleeding_needing_care")

told.baby("contact on day 0 only", "unknown", lambda c: divided(c).contact(0))
told.baby("contact on day 1 only", "no", lambda c: divided(c).contact(1))
told.baby("contact on day 28 only", "no", lambda c: divided(c).contact(28))
told.baby("contact on day 29 only", "unknown", lambda c: divided(c).contact(29))
told.baby("treated on day 14", "yes", lambda c: divided(c).harm(14, "bleeding", "treated"))
told.baby("treated on day 15, not heard from", "unknown", lambda c: divided(c).harm(15, "bleeding", "treated"))
told.baby("minor on day 3, not heard from", "no", lambda c: divided(c).harm(3, "bleeding", "minor"))
told.baby(
    "unrecorded severity on day 3, contact on day 5", "unknown", lambda c: divided(c).harm(3, "bleeding").contact(5)
)
told.baby(
    "minor on day 3, unrecorded on day 5, contact on day 5",
    "unknown",
    lambda c: divided(c).harm(3, "bleeding", "minor").harm(5, "bleeding").contact(5),
)
told.baby(
    "unrecorded on day 3, hospital on day 5",
    "yes",
    lambda c: divided(c).harm(3, "bleeding").harm(5, "bleeding", "hospital"),
)
told.baby(
    "infection, hospital, day 3, not heard from", "unknown", lambda c: divided(c).harm(3, "infection", "hospital")
)
told.baby(
    "private division on day 2, bleeding treated on day 2, contact on day 9",
    "no",
    lambda c: divided(c).divide(2, provider="private").harm(2, "bleeding", "treated").contact(9),
)
