"""Boundary days of fed_at_the_breast_at_6_weeks, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("fed_at_the_breast_at_6_weeks")

told.baby("exclusive, at_breast yes", "yes", lambda c: c.check(32, "exclusive", "yes"))
told.baby("exclusive, at_breast no", "no", lambda c: c.check(32, "exclusive", "no"))
told.baby("exclusive, at_breast not recorded", "unknown", lambda c: c.check(32, "exclusive"))
told.baby("none, at_breast not recorded", "no", lambda c: c.check(32, "none"))
told.baby("none, at_breast yes (a contradiction)", "no", lambda c: c.check(32, "none", "yes"))
told.baby(
    "one day: partial no and partial yes", "yes", lambda c: c.check(32, "partial", "no").check(32, "partial", "yes")
)
told.baby(
    "one day: partial no and partial blank", "no", lambda c: c.check(32, "partial", "").check(32, "partial", "no")
)
told.baby(
    "one day: exclusive blank and partial yes",
    "unknown",
    lambda c: c.check(32, "exclusive", "").check(32, "partial", "yes"),
)
