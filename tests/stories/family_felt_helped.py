"""Boundary days of family_felt_helped, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("family_felt_helped")

told.baby("yes on day 0", "yes", lambda c: c.view(0, "yes"))
told.baby("yes on day 84", "yes", lambda c: c.view(84, "yes"))
told.baby("yes on day 85", "unknown", lambda c: c.view(85, "yes"))
told.baby("no on day 30, yes on day 85", "no", lambda c: c.view(30, "no").view(85, "yes"))
told.baby("yes and partly on day 30", "no", lambda c: c.view(30, "yes").view(30, "partly"))
told.baby("yes on day 10, not_known on day 30", "yes", lambda c: c.view(10, "yes").view(30, "not_known"))
told.baby("no on day 10, yes on day 30", "yes", lambda c: c.view(10, "no").view(30, "yes"))
told.baby("cut-off 84 days after", "unknown", back=84)
told.baby("yes on day 10, cut-off 83 days after", NOT, lambda c: c.view(10, "yes"), back=83)
told.baby("died, no date", NOT, lambda c: c.view(10, "yes"), closed_reason="died")
