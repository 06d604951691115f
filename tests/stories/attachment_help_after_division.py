"""Boundary days of attachment_help_after_division, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("attachment_help_after_division")

told.baby("help on the day itself only", "no", lambda c: divided(c).contact(0, help="yes"))
told.baby("help 1 day after", "yes", lambda c: divided(c).contact(1, help="yes"))
told.baby("help 7 days after", "yes", lambda c: divided(c).contact(7, help="yes"))
told.baby("help 8 days after", "no", lambda c: divided(c).contact(8, help="yes"))
told.baby("blank 7 days after", "unknown", lambda c: divided(c).contact(7, help=""))
told.baby("blank 8 days after", "no", lambda c: divided(c).contact(8, help=""))
told.baby("blank on the day itself", "no", lambda c: divided(c).contact(0, help=""))
told.baby("blank on day 3, no on day 4", "unknown", lambda c: divided(c).contact(3, help="").contact(4))
told.baby("no contact", "no", divided)
told.baby("cut-off 7 days after", "no", divided, back=7)
told.baby("help the next day, cut-off 6 days after", NOT, lambda c: divided(c).contact(1, help="yes"), back=6)
told.baby("own on days 0 and 30, help on day 31", "no", lambda c: divided(c).divide(30).contact(31, help="yes"))
told.baby(
    "private on day 0, own on day 5, help on day 6",
    "yes",
    lambda c: c.divide(0, provider="private").divide(5).contact(6, help="yes"),
)
