"""Boundary days of divided_again_within_84_days, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("divided_again_within_84_days")

told.baby("again on day 84", "yes", lambda c: divided(c).divide(84))
told.baby("again on day 85", "no", lambda c: divided(c).divide(85))
told.baby("private on day 1", "yes", lambda c: divided(c).divide(1, provider="private"))
told.baby("a second row on day 0", "no", lambda c: divided(c).divide(0, "P03"))
told.baby("also divided before first contact", "no", lambda c: divided(c).divide(-5))
told.baby("private on day 0, own on day 5", "no", lambda c: c.divide(0, provider="private").divide(5))
told.baby("cut-off 84 days after", "no", divided, back=84)
told.baby("again on day 20, cut-off 83 days after", NOT, lambda c: divided(c).divide(20), back=83)
