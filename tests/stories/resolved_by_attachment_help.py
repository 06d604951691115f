"""Boundary days of resolved_by_attachment_help, each answer by hand from the definition."""

from tests.stories.tiny import NOT, Story, helped

told = Story("resolved_by_attachment_help")

told.baby("help on day 42, resolved that day", "yes", lambda c: c.contact(42, help="yes", status="resolved"))
told.baby("help on day 43 only, resolved that day", NOT, lambda c: c.contact(43, help="yes", status="resolved"))
told.baby("never helped, resolved on day 30", NOT, lambda c: c.contact(30, status="resolved"))
told.baby(
    "cut-off 56 days after, resolved on day 28", "yes", lambda c: helped(c).contact(28, status="resolved"), back=56
)
told.baby("cut-off 55 days after, resolved on day 28", NOT, lambda c: helped(c).contact(28, status="resolved"), back=55)
told.baby("last status resolved on day 27", "unknown", lambda c: helped(c).contact(27, status="resolved"))
told.baby("last status resolved on day 28", "yes", lambda c: helped(c).contact(28, status="resolved"))
told.baby("last status resolved on day 56", "yes", lambda c: helped(c).contact(56, status="resolved"))
told.baby("only status resolved on day 57", "unknown", lambda c: helped(c).contact(57, status="resolved"))
told.baby(
    "improved on day 56, resolved on day 57",
    "no",
    lambda c: helped(c).contact(56, status="improved").contact(57, status="resolved"),
)
told.baby("improved on day 27", "unknown", lambda c: helped(c).contact(27, status="improved"))
told.baby("improved on day 28", "no", lambda c: helped(c).contact(28, status="improved"))
told.baby(
    "resolved on day 28, worse on day 29",
    "no",
    lambda c: helped(c).contact(28, status="resolved").contact(29, status="worse"),
)
told.baby(
    "resolved on day 28, a contact without status on day 40",
    "yes",
    lambda c: helped(c).contact(28, status="resolved").contact(40, status="not_recorded"),
)
told.baby(
    "resolved and improved both on day 30",
    "no",
    lambda c: helped(c).contact(30, status="resolved").contact(30, "P02", status="improved"),
)
told.baby("referred on day 42, resolved on day 50", "no", lambda c: helped(c).refer(42).contact(50, status="resolved"))
told.baby("referred on day 43, resolved on day 50", "yes", lambda c: helped(c).refer(43).contact(50, status="resolved"))
told.baby(
    "private division on day 42, resolved on day 50",
    "no",
    lambda c: helped(c).divide(42, provider="private").contact(50, status="resolved"),
)
told.baby(
    "own division on day 43, resolved on day 50", "yes", lambda c: helped(c).divide(43).contact(50, status="resolved")
)
told.baby(
    "divided 3 days before first contact, resolved on day 50",
    "yes",
    lambda c: helped(c).divide(-3).contact(50, status="resolved"),
)
told.baby(
    "check of none on day 42, resolved on day 50",
    "no",
    lambda c: helped(c).check(42, "none").contact(50, status="resolved"),
)
told.baby(
    "check of none on day 43, resolved on day 50",
    "yes",
    lambda c: helped(c).check(43, "none").contact(50, status="resolved"),
)
told.baby(
    "none and exclusive on day 42, resolved on day 50",
    "no",
    lambda c: helped(c).check(42, "none").check(42, "exclusive").contact(50, status="resolved"),
)
told.baby("settled on day 56, no status ever", "yes", helped, closed=56, closed_reason="settled")
told.baby("settled on day 57, no status ever", "unknown", helped, closed=57, closed_reason="settled")
told.baby("settled without a date, no status", "unknown", helped, closed_reason="settled")
told.baby("settled on the day of help", "yes", helped, closed=0, closed_reason="settled")
told.baby(
    "settled on day 4, help on day 5", "unknown", lambda c: c.contact(5, help="yes"), closed=4, closed_reason="settled"
)
told.baby(
    "worse on day 10, settled on day 20",
    "yes",
    lambda c: helped(c).contact(10, status="worse"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "worse on day 20, settled the same day",
    "yes",
    lambda c: helped(c).contact(20, status="worse"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "settled on day 20, improved on day 21",
    "unknown",
    lambda c: helped(c).contact(21, status="improved"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "settled on day 20, resolved on day 21",
    "yes",
    lambda c: helped(c).contact(21, status="resolved"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "settled on day 20, improved on day 28",
    "no",
    lambda c: helped(c).contact(28, status="improved"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "settled on day 20, worse on day 57",
    "yes",
    lambda c: helped(c).contact(57, status="worse"),
    closed=20,
    closed_reason="settled",
)
told.baby(
    "settled on day 20, referred on day 42", "no", lambda c: helped(c).refer(42), closed=20, closed_reason="settled"
)
told.baby(
    "settled on day 57, improved on day 30",
    "no",
    lambda c: helped(c).contact(30, status="improved"),
    closed=57,
    closed_reason="settled",
)
told.baby(
    "closed as no_reply on day 20, improved on day 10",
    "unknown",
    lambda c: helped(c).contact(10, status="improved"),
    closed=20,
    closed_reason="no_reply",
)
told.baby("died on day 20, no status", "unknown", helped, closed=20, closed_reason="died")
