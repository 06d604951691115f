"""Boundary days of feeding_pain_eased, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("feeding_pain_eased")

told.baby("4 on day 7, 2 on day 28", "yes", lambda c: c.contact(7, pain=4).contact(28, pain=2))
told.baby("4 on day 8, 0 on day 20", NOT, lambda c: c.contact(8, pain=4).contact(20, pain=0))
told.baby(
    "3 on day 0, 8 on day 3, 0 on day 20", NOT, lambda c: c.contact(0, pain=3).contact(3, pain=8).contact(20, pain=0)
)
told.baby("4 on day 0, 3 on day 20", "no", lambda c: c.contact(0, pain=4).contact(20, pain=3))
told.baby("4 on day 0, 0 on day 29", "unknown", lambda c: c.contact(0, pain=4).contact(29, pain=0))
told.baby(
    "8 on day 0, 2 on day 10, 7 on day 28, 0 on day 29",
    "no",
    lambda c: c.contact(0, pain=8).contact(10, pain=2).contact(28, pain=7).contact(29, pain=0),
)
told.baby(
    "3 and 6 on day 0, 4 on day 9", "yes", lambda c: c.contact(0, pain=3).contact(0, "P02", pain=6).contact(9, pain=4)
)
told.baby(
    "6 on day 0, 4 and 5 on day 9", "no", lambda c: c.contact(0, pain=6).contact(9, pain=4).contact(9, "P02", pain=5)
)
told.baby("6 and 2 on day 0, no later score", "unknown", lambda c: c.contact(0, pain=6).contact(0, "P02", pain=2))
told.baby("10 on day 0, 0 on day 1", "yes", lambda c: c.contact(0, pain=10).contact(1, pain=0))
told.baby(
    "5 on day 0, 1 on day 9, cut-off 28 days after", "yes", lambda c: c.contact(0, pain=5).contact(9, pain=1), back=28
)
told.baby(
    "5 on day 0, 1 on day 9, cut-off 27 days after", NOT, lambda c: c.contact(0, pain=5).contact(9, pain=1), back=27
)
told.baby("no score", NOT, lambda c: c.contact(0))
