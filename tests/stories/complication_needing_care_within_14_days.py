"""Boundary days of complication_needing_care_within_14_days, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("complication_needing_care_within_14_days")

told.baby("contact on day 4 only", "unknown", lambda c: divided(c).contact(4))
told.baby("contact on day 5", "no", lambda c: divided(c).contact(5))
told.baby("contact on day 28", "no", lambda c: divided(c).contact(28))
told.baby("contact on day 29", "unknown", lambda c: divided(c).contact(29))
told.baby("check exclusive on day 10", "no", lambda c: divided(c).check(10, "exclusive"))
told.baby("check not_known on day 10", "unknown", lambda c: divided(c).check(10, "not_known"))
told.baby("a family's answer on day 10 only", "unknown", lambda c: divided(c).view(10, "yes"))
told.baby("contact on day 10, cut-off 28 days after", "no", lambda c: divided(c).contact(10), back=28)
told.baby(
    "hospital on day 1, cut-off 27 days after", NOT, lambda c: divided(c).harm(1, "bleeding", "hospital"), back=27
)
told.baby("treated on day 0", "yes", lambda c: divided(c).harm(0, "bleeding", "treated"))
told.baby("hospital on day 14", "yes", lambda c: divided(c).harm(14, "other", "hospital"))
told.baby("hospital on day 15, not heard from", "unknown", lambda c: divided(c).harm(15, "other", "hospital"))
told.baby("hospital on day 15, contact on day 5", "no", lambda c: divided(c).harm(15, "other", "hospital").contact(5))
told.baby(
    "reattachment, hospital, on day 10, contact on day 10",
    "no",
    lambda c: divided(c).harm(10, "reattachment", "hospital").contact(10),
)
told.baby(
    "reattachment of unrecorded severity on day 10, contact on day 10",
    "no",
    lambda c: divided(c).harm(10, "reattachment").contact(10),
)
told.baby(
    "infection of unrecorded severity on day 14, contact on day 10",
    "unknown",
    lambda c: divided(c).harm(14, "infection").contact(10),
)
told.baby(
    "infection of unrecorded severity on day 15, contact on day 10",
    "no",
    lambda c: divided(c).harm(15, "infection").contact(10),
)
told.baby(
    "one of unrecorded severity and one treated",
    "yes",
    lambda c: divided(c).harm(3, "infection").harm(9, "bleeding", "treated"),
)
told.baby("minor on day 10, contact on day 10", "no", lambda c: divided(c).harm(10, "bleeding", "minor").contact(10))
told.baby("minor on day 10, not heard from", "unknown", lambda c: divided(c).harm(10, "bleeding", "minor"))
told.baby(
    "private division on day 7, treated on day 6",
    "yes",
    lambda c: divided(c).divide(7, provider="private").harm(6, "bleeding", "treated"),
)
told.baby(
    "private division on day 7, treated on day 7, contact on day 10",
    "no",
    lambda c: divided(c).divide(7, provider="private").harm(7, "bleeding", "treated").contact(10),
)
told.baby(
    "own and private row on day 0, treated on day 1",
    "yes",
    lambda c: divided(c).divide(0, "elsewhere", "private").harm(1, "bleeding", "treated"),
)
told.baby(
    "own on days 0 and 7, treated on day 8, contact on day 20",
    "no; yes",
    lambda c: divided(c).divide(7).harm(8, "bleeding", "treated").contact(20),
)
told.baby("own on days 0 and 24, contact on day 28", "no; unknown", lambda c: divided(c).divide(24).contact(28))
told.baby(
    "divided only before first contact, treated on day 1", NOT, lambda c: c.divide(-3).harm(1, "bleeding", "treated")
)
told.baby(
    "private only, treated on day 1", NOT, lambda c: c.divide(0, provider="private").harm(1, "bleeding", "treated")
)
