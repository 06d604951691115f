"""Boundary days of birth_weight_regained_by_21_days, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("birth_weight_regained_by_21_days")

told.baby("3500 at age 5 (first seen at 5)", "yes", lambda c: c.contact(0, weight=3500), age=5, birth_weight_g=3500)
told.baby("3500 at age 4, no other weight", "unknown", lambda c: c.contact(0, weight=3500), age=4, birth_weight_g=3500)
told.baby("3499 at age 13", "unknown", lambda c: c.contact(3, weight=3499), birth_weight_g=3500)
told.baby("3499 at age 14", "no", lambda c: c.contact(4, weight=3499), birth_weight_g=3500)
told.baby("3500 at age 21", "yes", lambda c: c.contact(11, weight=3500), birth_weight_g=3500)
told.baby("3499 at age 21", "no", lambda c: c.contact(11, weight=3499), birth_weight_g=3500)
told.baby("3500 at age 22 only", "unknown", lambda c: c.contact(12, weight=3500), birth_weight_g=3500)
told.baby(
    "3500 at age 10, 3400 at age 15",
    "yes",
    lambda c: c.contact(0, weight=3500).contact(5, weight=3400),
    birth_weight_g=3500,
)
told.baby("first seen at age 21, 3500", "yes", lambda c: c.contact(0, weight=3500), age=21, birth_weight_g=3500)
told.baby("first seen at age 22", NOT, lambda c: c.contact(0, weight=3500), age=22, birth_weight_g=3500)
told.baby("no birth weight", NOT, lambda c: c.contact(0, weight=3500))
told.baby("cut-off at age 21", "unknown", birth_weight_g=3500, back=11)
told.baby("3500 at age 15, cut-off at age 20", NOT, lambda c: c.contact(5, weight=3500), birth_weight_g=3500, back=10)
told.baby(
    "died on day 3, 3500 at age 12",
    "yes",
    lambda c: c.contact(2, weight=3500),
    birth_weight_g=3500,
    closed=3,
    closed_reason="died",
)
