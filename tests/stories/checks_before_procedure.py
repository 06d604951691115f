"""Boundary days of checks_before_procedure, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("checks_before_procedure")

told.baby(
    "all recorded yes, injection", "yes", lambda c: c.divide(0, consent="yes", history="yes", vitamin_k="injection")
)
told.baby("vitamin K declined", "yes", lambda c: c.divide(0, consent="yes", history="yes", vitamin_k="declined"))
told.baby("vitamin K not_known", "no", lambda c: c.divide(0, consent="yes", history="yes", vitamin_k="not_known"))
told.baby("consent blank", "no", lambda c: c.divide(0, history="yes", vitamin_k="oral"))
told.baby(
    "two rows: consent yes and blank",
    "yes",
    lambda c: c.divide(0, consent="yes", history="yes", vitamin_k="oral").divide(0, "P03"),
)
told.baby(
    "two rows: consent yes and no",
    "no",
    lambda c: c.divide(0, consent="yes", history="yes", vitamin_k="oral").divide(0, "P03", consent="no"),
)
told.baby(
    "own row blank, private row of the day complete",
    "yes",
    lambda c: c.divide(0).divide(0, "elsewhere", "private", consent="yes", history="yes", vitamin_k="oral"),
)
told.baby("private only", NOT, lambda c: c.divide(0, provider="private", consent="yes"))
