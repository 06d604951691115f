"""Boundary days of days_to_first_contact, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("days_to_first_contact")

told.baby("seen the day of asking", "yes, event day 0", asked=0)
told.baby("seen 28 days after", "yes, event day 28", asked=-28)
told.baby("seen 29 days after", "no, event day 29", asked=-29)
told.baby("seen 84 days after", "no, event day 84", asked=-84)
told.baby("seen 85 days after", "no, censored day 84", asked=-85)
told.baby("seen on the cut-off", "yes, event day 3", asked=-3, back=0)
told.baby("no request date", NOT)
told.asking("request waiting, cut-off 27 days after", "unknown, censored day 27", "waiting", back=27)
told.asking("request waiting, cut-off 28 days after", "no, censored day 28", "waiting", back=28)
told.asking("request waiting, cut-off the same day", "unknown, censored day 0", "waiting", back=0)
told.asking("request waiting with a date on day 3", "no, censored day 84", "waiting", 3)
told.asking("nothing recorded, but a date on day 3", "no, censored day 84", "", 3)
told.asking("request declined on day 0", "no, competing day 0", "declined", 0)
told.asking("request no_reply on day 84", "no, competing day 84", "no_reply", 84)
told.asking("request no_reply on day 85", "no, censored day 84", "no_reply", 85)
told.asking("request declined on the cut-off, day 20", "no, competing day 20", "declined", 20, back=20)
told.asking("request declined, no date, cut-off 20 days after", "unknown, censored day 20", "declined", back=20)
