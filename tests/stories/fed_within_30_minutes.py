"""Boundary days of fed_within_30_minutes, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("fed_within_30_minutes")

told.baby("30 minutes", "yes", lambda c: c.divide(0, fed=30))
told.baby("31 minutes", "no", lambda c: c.divide(0, fed=31))
told.baby("0 minutes", "yes", lambda c: c.divide(0, fed=0))
told.baby("no time", "unknown", lambda c: c.divide(0))
told.baby("two rows: 10 and 31", "no", lambda c: c.divide(0, fed=10).divide(0, "P03", fed=31))
told.baby("two rows: 10 and none", "yes", lambda c: c.divide(0, fed=10).divide(0, "P03"))
