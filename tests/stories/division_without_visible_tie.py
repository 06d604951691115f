"""Boundary days of division_without_visible_tie, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("division_without_visible_tie")

told.baby("its own none", "yes", lambda c: c.divide(0, tie="none"))
told.baby("its own submucosal", "yes", lambda c: c.divide(0, tie="submucosal"))
told.baby("its own posterior", "no", lambda c: c.divide(0, tie="posterior"))
told.baby("two rows: none and anterior", "no", lambda c: c.divide(0, tie="none").divide(0, "P03", tie="anterior"))
told.baby(
    "own row blank, private row of the day submucosal",
    "yes",
    lambda c: c.divide(0).divide(0, "e", "private", tie="submucosal"),
)
told.baby("blank, assessed submucosal that day", "yes", lambda c: c.divide(3).assess(3, "submucosal"))
told.baby("blank, assessed the day after", NOT, lambda c: c.divide(3).assess(4, "submucosal"))
told.baby("not_recorded, assessed none before", "yes", lambda c: c.divide(3, tie="not_recorded").assess(0, "none"))
told.baby("its own anterior, assessed none", "no", lambda c: c.divide(3, tie="anterior").assess(0, "none"))
told.baby(
    "blank, assessed none on day 0, not_recorded on day 2",
    "yes",
    lambda c: c.divide(3).assess(0, "none").assess(2, "not_recorded"),
)
told.baby(
    "blank, assessed anterior and submucosal on one day",
    "yes",
    lambda c: c.divide(3).assess(1, "anterior").assess(1, "submucosal"),
)
told.baby("never assessed", NOT, lambda c: c.divide(3))
