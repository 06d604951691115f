"""Boundary days of infection_within_14_days, each answer by hand from the definition."""

from tests.stories.tiny import Story, divided

told = Story("infection_within_14_days")

told.baby("infection on day 0", "yes", lambda c: divided(c).harm(0, "infection"))
told.baby("infection on day 14", "yes", lambda c: divided(c).harm(14, "infection", "minor"))
told.baby("infection on day 15, not heard from", "unknown", lambda c: divided(c).harm(15, "infection"))
told.baby("infection on day 15, contact on day 5", "no", lambda c: divided(c).harm(15, "infection").contact(5))
told.baby("contact on day 4 only", "unknown", lambda c: divided(c).contact(4))
told.baby("contact on day 28", "no", lambda c: divided(c).contact(28))
told.baby("contact on day 29", "unknown", lambda c: divided(c).contact(29))
