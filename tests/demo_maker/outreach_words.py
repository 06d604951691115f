"""The outreach team's words: the column names of its sheet, and what it writes for each code of the layout.

Comes in: nothing. Goes out: the names and the spellings; one that stands twice in a list is written twice as often.
Refuses: a spelling that means nothing plain; those are faults, and declared as such.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

# The group line and the name line of the sheet. A name may be broken over two lines in its cell, or end in a space.
SESSION = ("Date", "By", "Where", "Help given", "How it went", "Pain", "Wt (g)")
GROUPS: Mapping[str, Sequence[str]] = {
    "Baby": (
        "Ref", "Asked for help", "1st seen", "Age (days)", "Sex", "Ethnic", "Weeks", "1st baby", "Decile",
        "Birth wt\n(kg)", "Came via", "Interpreter", "Twin or more", "Helped before us", "TT in family",
        "Fed at 1st visit",
    ),
    "Trouble": ("Sore", "Slow gain", "Windy"),
    "Help session 1": SESSION,
    "Help session 2": SESSION,
    "Help session 3": SESSION,
    "Tongue": ("Looked at", "TT type ", "Score"),
    "Referral": ("Sent on", "Outcome", "Outcome on", "Rang on", "Fed then"),
    "Division": (
        "Date", "Op", "Done by", "Consent", "Bleeding asked", "Vit K", "Mins to feed", "Aftercare", "Complications",
        "Noted on",
    ),
    "After division": ("Date", "By", "Help given", "How it went"),
    "Fed at 6/52": ("Asked", "Date", "Fed", "At breast"),
    "Did we help?": ("Date", "Answer"),
    "Closed": ("On", "Why"),
    "Kit": ("Unit no",),
}  # fmt: skip
COLUMNS = tuple((group, name) for group, names in GROUPS.items() for name in names)
NOT_SEEN_YET = ("Ref", "Asked on", "Came via", "Ethnic", "Decile", "Interpreter", "What came of it", "On")
UNIT = "Kit / Unit no"

# What the team writes for a code of the layout.
MARKS = {"yes": ("Y", "Y", "Y", "Y", "y"), "no": ("N",), "": ("?", "", "")}
SEX = {"male": ("1",), "female": ("2",), "not_known": ("X",)}
ETHNIC = {
    "white": ("A", "A", "A", "A", "A", "B", "C"),
    "mixed": ("D", "E", "F", "G"),
    "asian": ("H", "J", "K", "L"),
    "black": ("M", "N", "P"),
    "other": ("S",),
    "not_stated": ("Z",),
    "not_known": ("99",),
}
CAME_VIA = {
    "self": ("self", "self", "own"),
    "midwife": ("MW",),
    "health_visitor": ("HV",),
    "gp": ("GP",),
    "hospital": ("ward",),
    "other": ("other",),
    "not_known": ("?",),
}
FED = {"exclusive": ("EBF",), "partial": ("mix",), "none": ("FF",), "not_known": ("?",)}
WHERE = {"in_person": ("home",), "video": ("video",), "phone": ("tel",), "group": ("group",)}
HOW_IT_WENT = {
    "resolved": ("sorted",), "improved": ("better",), "unchanged": ("same",), "worse": ("worse",), "": ("",),
}  # fmt: skip
TT_TYPE = {
    "none": ("none", "none", "NAD", "no TT"),
    "anterior": ("ant", "ant", "Ant.", "anterior"),
    "posterior": ("post", "post", "Posterior"),
    "submucosal": ("submuc",),
    "": ("",),
}
OUTCOME = {
    "accepted": ("accepted", "booked"),
    "waiting": ("waiting",),
    "not_indicated": ("not needed",),
    "declined_by_parent": ("declined",),
    "not_brought": ("DNA",),
    "withdrawn": ("cancelled",),
    "divided_elsewhere": ("done elsewhere",),
}
VITAMIN_K = {
    "injection": ("IM",),
    "oral": ("oral",),
    "declined": ("declined",),
    "not_given": ("not yet",),
    "": ("",),
    "not_known": ("?",),
}
COMPLICATION = {"bleeding": ("bleed – settled",), "infection": ("infection",), "": ("none", "none", "-", "")}
DONE_BY = {"own": ("us",), "other_service": ("hospital",), "private": ("private",), "not_known": ("?",), "": ("",)}
DID_WE_HELP = {"yes": ("Y", "Y", "yes"), "partly": ("a bit", "partly"), "no": ("N",), "not_known": ("?",)}
CAME_OF_IT = {
    "waiting": ("", "", "on list"),
    "declined": ("no thanks",),
    "no_reply": ("no reply",),
    "seen_elsewhere": ("elsewhere",),
    "moved": ("moved",),
    "not_suitable": ("not for us",),
    "died": ("died",),
}
WHY_CLOSED = {
    "settled": ("settled",),
    "no_reply": ("no reply",),
    "moved": ("moved",),
    "care_elsewhere": ("elsewhere",),
    "stopped_breastfeeding": ("stopped BF",),
    "": ("",),
}
