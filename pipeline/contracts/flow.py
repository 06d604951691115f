"""The flow of every case: the codes of its two ends, in the order in which they are shown.

sql/accounts/everyone.sql gives every case one of each; reports/wording.toml has words for each.
"""

from __future__ import annotations

ROUTES = ("settled", "in_support", "closed", "waiting", "not_going_ahead", "divided_elsewhere", "divided")
SIX_WEEKS = ("exclusive", "partial", "none", "no_answer", "not_yet_due", "outside")
