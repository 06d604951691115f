"""What is worked out of a case: its lead practitioner, each answer by hand from the definition."""

from tests.stories.tiny import Story

told = Story("lead_practitioner")

told.baby("P01 on day 0, help by P02 on day 3", "P02", lambda c: c.contact(0, "P01").contact(3, "P02", "yes"))
told.baby("day 3: P02 with help, P03 without", "P02", lambda c: c.contact(3, "P02", "yes").contact(3, "P03"))
told.baby(
    "day 3: P02 and P03 with help",
    "not_recorded",
    lambda c: c.contact(0, "P01").contact(3, "P02", "yes").contact(3, "P03", "yes"),
)
told.baby("no help: P01 on day 1, P02 on day 2", "P01", lambda c: c.contact(2, "P02").contact(1, "P01"))
told.baby("no help: P01 and P02 on day 1", "not_recorded", lambda c: c.contact(1, "P02").contact(1, "P01", ""))
told.baby("no contact", "not_recorded")
