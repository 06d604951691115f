"""Boundary days of seen_promptly, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story

told = Story("seen_promptly")

told.baby("seen the day of asking", "yes", asked=0)
told.baby("seen 4 days after asking", "yes", asked=-4)
told.baby("seen 5 days after", "yes", asked=-5)
told.baby("seen 6 days after", "no", asked=-6)
told.baby("no request date", NOT)
told.baby("seen at once, cut-off 4 days after asking", NOT, asked=0, back=4)
told.baby("seen at once, cut-off 5 days after asking", "yes", asked=0, back=5)
told.asking("request, nothing recorded, cut-off 4 days after", NOT, back=4)
told.asking("request, nothing recorded, cut-off 5 days after", "no", back=5)
told.asking("request declined on day 0", NOT, "declined", 0)
told.asking("request declined on day 5", NOT, "declined", 5)
told.asking("request declined on day 6", "no", "declined", 6)
told.asking("request declined, no date", "no", "declined")
told.asking("request moved on day 5", NOT, "moved", 5)
told.asking("request seen_elsewhere on day 5", NOT, "seen_elsewhere", 5)
told.asking("request not_suitable on day 5", NOT, "not_suitable", 5)
told.asking("request died on day 5", NOT, "died", 5)
told.asking("request died on day 6", "no", "died", 6)
told.asking("request no_reply on day 3", "no", "no_reply", 3)
told.asking("request waiting, with an outcome_date on day 3", "no", "waiting", 3)
