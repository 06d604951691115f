"""Boundary days of attachment_help_before_referral, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, helped

told = Story("attachment_help_before_referral")

told.baby("never referred", NOT, helped)
told.baby("help on day 4, referred on day 5", "yes", lambda c: c.contact(4, help="yes").refer(5))
told.baby("help on day 5 only, referred on day 5", "no", lambda c: c.contact(5, help="yes").refer(5))
told.baby("day 0 no, help on day 5, referred on day 5", "no", lambda c: c.contact(0).contact(5, help="yes").refer(5))
told.baby("day 0 blank, referred on day 5", "unknown", lambda c: c.contact(0, help="").refer(5))
told.baby(
    "day 0 not_known, day 2 no, referred on day 5",
    "unknown",
    lambda c: c.contact(0, help="not_known").contact(2).refer(5),
)
told.baby("blank on day 5 only, referred on day 5", "no", lambda c: c.contact(5, help="").refer(5))
told.baby("no contact at all, referred on day 5", "no", lambda c: c.refer(5))
told.baby(
    "day 0 blank, helped elsewhere before",
    "yes",
    lambda c: c.contact(0, help="").refer(5),
    helped_elsewhere_before="yes",
)
told.baby("day 0 no, helped elsewhere not recorded", "no", lambda c: c.contact(0).refer(5))
told.baby("no contact, helped elsewhere before", "yes", lambda c: c.refer(5), helped_elsewhere_before="yes")
told.baby(
    "day 0 no, help on day 7, referred on days 5 and 10",
    "no",
    lambda c: c.contact(0).contact(7, help="yes").refer(5).refer(10),
)
