"""Boundary days of age_at_procedure, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("age_at_procedure")

told.baby("own on first contact", "10 days", lambda c: c.divide(0))
told.baby("private on day 2, own on day 5", "15 days", lambda c: c.divide(2, provider="private").divide(5))
told.baby("own on days 3 and 9", "13 days", lambda c: c.divide(9).divide(3))
told.baby("own and private row on day 4", "14 days", lambda c: c.divide(4).divide(4, "elsewhere", "private"))
told.baby("provider not_known", "14 days", lambda c: c.divide(4, provider="not_known"))
told.baby(
    "only private and other_service", NOT, lambda c: c.divide(4, provider="private").divide(5, provider="other_service")
)
told.baby("only the day before first contact", NOT, lambda c: c.divide(-1))
