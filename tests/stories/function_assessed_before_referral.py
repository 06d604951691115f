"""Boundary days of function_assessed_before_referral, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("function_assessed_before_referral")

told.baby("never referred", NOT, lambda c: c.assess(0, "anterior", 5))
told.baby("tie type and score on the referral date", "yes", lambda c: c.assess(5, "anterior", 5).refer(5))
told.baby("tie type and score the day after", "no", lambda c: c.assess(6, "anterior", 5).refer(5))
told.baby("tie type none and score 0", "yes", lambda c: c.assess(5, "none", 0).refer(5))
told.baby("tie type not_recorded and score", "no", lambda c: c.assess(5, "not_recorded", 5).refer(5))
told.baby(
    "tie type and three signs",
    "yes",
    lambda c: c.assess(5, "anterior", extension="full", cupping="full", elevation="absent").refer(5),
)
told.baby("tie type and two signs", "no", lambda c: c.assess(5, "anterior", extension="full", cupping="full").refer(5))
told.baby(
    "five signs and score, no tie type",
    "no",
    lambda c: c.assess(
        5, "", 5, extension="full", cupping="full", elevation="absent", lateralisation="full", peristalsis="full"
    ).refer(5),
)
told.baby(
    "tie type in one row, score in another of that day",
    "no",
    lambda c: c.assess(5, "anterior").assess(5, "", 5, "P02").refer(5),
)
