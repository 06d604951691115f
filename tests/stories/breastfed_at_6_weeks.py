"""Boundary days of breastfed_at_6_weeks, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("breastfed_at_6_weeks")

told.baby("partial at age 34", "unknown", lambda c: c.check(24, "partial"))
told.baby("partial at age 35", "yes", lambda c: c.check(25, "partial"))
told.baby("partial at age 56", "yes", lambda c: c.check(46, "partial"))
told.baby("partial at age 57", "unknown", lambda c: c.check(47, "partial"))
told.baby("none at age 41, partial at age 43", "yes", lambda c: c.check(31, "none").check(33, "partial"))
told.baby("partial at age 41, none at age 43", "no", lambda c: c.check(31, "partial").check(33, "none"))
told.baby("none at age 42, exclusive at age 43", "no", lambda c: c.check(32, "none").check(33, "exclusive"))
told.baby("not_known at age 42, partial at age 56", "yes", lambda c: c.check(32, "not_known").check(46, "partial"))
told.baby("first seen at age 27", "yes", lambda c: c.check(15, "partial"), age=27)
told.baby("first seen at age 28", NOT, lambda c: c.check(14, "partial"), age=28)
told.baby("cut-off at age 56", "unknown", back=46)
told.baby("partial at age 42, cut-off at age 55", NOT, lambda c: c.check(32, "partial"), back=45)
told.baby("died, no date", NOT, lambda c: c.check(32, "partial"), closed_reason="died")
told.baby("feeding at first contact not recorded", NOT, lambda c: c.check(32, "partial"), feeding_at_first_contact="")
