"""What is worked out of a case: its tie type of the case, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("tie_type_of_the_case")

told.baby("anterior on day 0, none on day 9", "none", lambda c: c.assess(0, "anterior").assess(9, "none"))
told.baby(
    "posterior on day 0, not_recorded on day 9",
    "posterior",
    lambda c: c.assess(0, "posterior").assess(9, "not_recorded"),
)
told.baby("anterior and posterior on one day", "posterior", lambda c: c.assess(0, "posterior").assess(0, "anterior"))
told.baby("recorded at the division only", "not_recorded", lambda c: c.divide(0, tie="anterior"))
