"""Boundary days of aftercare_advice_given, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("aftercare_advice_given")

told.baby("yes", "yes", lambda c: c.divide(0, aftercare="yes"))
told.baby("blank", "unknown", lambda c: c.divide(0))
told.baby("two rows: yes and no", "no", lambda c: c.divide(0, aftercare="yes").divide(0, "P03", aftercare="no"))
told.baby("two rows: yes and blank", "yes", lambda c: c.divide(0, aftercare="yes").divide(0, "P03"))
