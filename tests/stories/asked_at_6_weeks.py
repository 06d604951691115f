"""Boundary days of asked_at_6_weeks, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("asked_at_6_weeks")

told.baby("none at age 35", "yes", lambda c: c.check(25, "none"))
told.baby("not_known at age 42", "no", lambda c: c.check(32, "not_known"))
told.baby("partial at age 57", "no", lambda c: c.check(47, "partial"))
told.baby("first seen at age 28", NOT, lambda c: c.check(14, "partial"), age=28)
