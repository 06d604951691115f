"""Boundary days of exclusively_breastfed_at_6_weeks, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("exclusively_breastfed_at_6_weeks")

told.baby("partial at age 42", "no", lambda c: c.check(32, "partial"))
told.baby("exclusive and partial at age 42", "yes", lambda c: c.check(32, "partial").check(32, "exclusive"))
told.baby("exclusive at age 41, partial at age 43", "no", lambda c: c.check(31, "exclusive").check(33, "partial"))
told.baby("no check", "unknown")
