"""Boundary days of breastfed_6_weeks_after_division, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, divided

told = Story("breastfed_6_weeks_after_division")

told.baby("partial on day 27", "unknown", lambda c: divided(c).check(27, "partial"))
told.baby("partial on day 28", "yes", lambda c: divided(c).check(28, "partial"))
told.baby("partial on day 56", "yes", lambda c: divided(c).check(56, "partial"))
told.baby("partial on day 57", "unknown", lambda c: divided(c).check(57, "partial"))
told.baby("none on day 41, exclusive on day 43", "yes", lambda c: divided(c).check(41, "none").check(43, "exclusive"))
told.baby("exclusive on day 41, none on day 43", "no", lambda c: divided(c).check(41, "exclusive").check(43, "none"))
told.baby("exclusive on day 41, none on day 42", "no", lambda c: divided(c).check(41, "exclusive").check(42, "none"))
told.baby("none on day 42, exclusive on day 43", "no", lambda c: divided(c).check(42, "none").check(43, "exclusive"))
told.baby("none on day 40, exclusive on day 45", "no", lambda c: divided(c).check(40, "none").check(45, "exclusive"))
told.baby("none and partial on day 42", "yes", lambda c: divided(c).check(42, "none").check(42, "partial"))
told.baby("not_known on day 42, none on day 50", "no", lambda c: divided(c).check(42, "not_known").check(50, "none"))
told.baby("cut-off 56 days after", "unknown", divided, back=56)
told.baby("partial on day 42, cut-off 55 days after", NOT, lambda c: divided(c).check(42, "partial"), back=55)
told.baby(
    "no breast milk at first contact", NOT, lambda c: divided(c).check(42, "partial"), feeding_at_first_contact="none"
)
told.baby(
    "feeding at first contact not_known",
    NOT,
    lambda c: divided(c).check(42, "partial"),
    feeding_at_first_contact="not_known",
)
told.baby("died, no date", NOT, lambda c: divided(c).check(42, "partial"), closed_reason="died")
told.baby(
    "moved on day 3, partial on day 42",
    "yes",
    lambda c: divided(c).check(42, "partial"),
    closed=3,
    closed_reason="moved",
)
told.baby(
    "own on days 0 and 20, partial on day 62 only", "unknown", lambda c: divided(c).divide(20).check(62, "partial")
)
