"""What belongs to one feeding check: its day and why feeding stopped, where their names do not say which check.

Comes in: the groups of choices of a sheet of cases. Changes them: a lone day joins the one check that has none, a lone
reason the last check. Refuses to make a check of a reason alone, for that says nothing about how a baby was fed.
"""

from __future__ import annotations

from dataclasses import replace

from pipeline.intake.suggest.choose.choices import Choice, Group
from pipeline.intake.suggest.look.trade_words import days_old_of
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE


def join_checks(groups: dict[Group, dict[str, Choice]]) -> None:
    """Parts of no check of their own put where they belong."""
    answered = [
        group for group in groups if group[0] == "feeding_checks" and {"feeding", "at_breast"} & groups[group].keys()
    ]
    answered.sort(key=lambda group: days_old_of(group[1]) or 0)
    for group in [group for group in groups if group[0] == "feeding_checks" and group not in answered]:
        parts = groups.pop(group)
        same = [label for label in answered if not group[1] or label[1] == group[1]]
        if "check_date" in parts and len(answered) != 1 and "reason_stopped" not in parts:
            groups[group] = parts  # a day of its own: what was asked on it is for a person to say
        elif len(same) == 1:
            for name, choice in parts.items():
                mark = LIKELY if choice.mark == SURE else choice.mark
                groups[same[0]].setdefault(
                    name, replace(choice, mark=mark, why=f"the only check there is; {choice.why}")
                )
        elif same and "reason_stopped" in parts:
            why = "of which check is this the reason? write it in that one's block"
            groups[same[-1]].setdefault("reason_stopped", replace(parts["reason_stopped"], mark=ASKS, why=why))
