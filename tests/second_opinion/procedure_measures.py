"""The eight measures of procedures: their practitioner is the operator, their tie type the procedure's if recorded.

In: a case. Out: its answers, one a procedure or one a case. Refuses: procedures before first_contact_date, which a
case does not list.
"""

from __future__ import annotations

from .answers import Answer
from .cases import Case, Complication, Procedure
from .derived import birth, first_procedure, plus, seen_after, tie_type

WATCHED = 14


def age_at_procedure(case: Case) -> list[Answer]:
    first = first_procedure(case)
    if first is None:
        return []
    return [Answer(case, first.day, days=(first.day - birth(case)).days, procedure=first)]


def answer(case: Case, procedure: Procedure, result: bool | None) -> Answer:
    return Answer(case, procedure.day, result, procedure=procedure)


def checks_before_procedure(case: Case) -> list[Answer]:
    return [answer(case, procedure, checked(procedure)) for procedure in case.procedures]


def checked(procedure: Procedure) -> bool | None:
    if "no" in (procedure.consent, procedure.bleeding_history):
        return False
    return None if None in (procedure.consent, procedure.bleeding_history, procedure.vitamin_k) else True


def fed_within_30_minutes(case: Case) -> list[Answer]:
    return [
        answer(case, done, None if done.minutes_to_feed is None else done.minutes_to_feed <= 30)
        for done in case.procedures
    ]


def aftercare_advice_given(case: Case) -> list[Answer]:
    return [answer(case, done, None if done.aftercare is None else done.aftercare == "yes") for done in case.procedures]


def attachment_help_after_division(case: Case) -> list[Answer]:
    first = first_procedure(case)
    if first is None or plus(first.day, 7) > case.cut_off:
        return []
    after = [c.attachment_help for c in case.contacts if plus(first.day, 1) <= c.day <= plus(first.day, 7)]
    return [answer(case, first, True if "yes" in after else None if None in after else False)]


def watched(case: Case) -> list[tuple[Procedure, list[Complication]]]:
    """Every procedure old enough at the cut-off, with the complications it precedes by 0 to 14 days."""
    return [
        (done, [noted for noted in case.complications if done.day <= noted.day <= plus(done.day, WATCHED)])
        for done in case.procedures
        if plus(done.day, WATCHED) <= case.cut_off
    ]


def complication_within_14_days(case: Case) -> list[Answer]:
    answers = []
    for done, noted in watched(case):
        met = any(one.kind != "reattachment" for one in noted)
        answers.append(answer(case, done, True if met else False if seen_after(case, done) else None))
    return answers


def bleeding_needing_care(case: Case) -> list[Answer]:
    answers = []
    for done, noted in watched(case):
        severities = [one.severity for one in noted if one.kind == "bleeding"]
        result: bool | None = False
        if "treated" in severities or "hospital" in severities:
            result = True
        elif None in severities or (not severities and not seen_after(case, done)):
            result = None
        answers.append(answer(case, done, result))
    return answers


def infection_within_14_days(case: Case) -> list[Answer]:
    answers = []
    for done, noted in watched(case):
        met = any(one.kind == "infection" for one in noted)
        answers.append(answer(case, done, True if met else False if seen_after(case, done) else None))
    return answers


def divided_again_within_84_days(case: Case) -> list[Answer]:
    first = first_procedure(case)
    if first is None or plus(first.day, 84) > case.cut_off:
        return []
    again = any(first.day < done.day <= plus(first.day, 84) for done in case.procedures)
    return [answer(case, first, again)]


def division_without_visible_tie(case: Case) -> list[Answer]:
    answers = []
    for done in case.procedures:
        found = done.tie_type or tie_type(case)
        if found is not None:
            answers.append(answer(case, done, found in ("none", "submucosal")))
    return answers
