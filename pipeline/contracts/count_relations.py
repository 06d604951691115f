"""How one published count lies in another, as a measure or an activity table says it in its key `inside`.

    -- inside: eligible = asked_at_6_weeks.eligible; met < breastfed_at_6_weeks.met

`=` the same rows, `<` all of mine are among theirs, `>` all of theirs are among mine. Whoever reads a report can
subtract, so a release has to know. Goes out: Relations. Refuses, with file and line: what is not written so, a part
that there is not, a measure that there is not.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from pipeline.contracts.sql_file import SqlFile
from pipeline.errors import Fault, nearest

# Of a measure: by_N is the event of a wait by day N; left_out are those of the larger group that are not eligible.
PARTS = ("eligible", "known", "unknown", "met", "not_met", "left_out", "by_7", "by_14", "by_28", "ended", "waiting")
DAYS_COUNTED = (7, 14, 28)  # a wait is published as counts within so many days

_ONE = re.compile(r"(?P<mine>[^=<>]+?) *(?P<how>[=<>]) *(?P<measure>[a-z][a-z0-9_]*)\.(?P<part>[a-z0-9_{}]+)")


@dataclass(frozen=True)
class Relation:
    """One part of mine and one of another measure, and how they lie: =, < or >."""

    mine: str
    how: str
    measure: str
    part: str

    def worded(self, days: int) -> Relation:
        """With the service's own number of days where the part is by_{seen_promptly_days}."""
        return Relation(self.mine, self.how, self.measure, self.part.replace("{seen_promptly_days}", str(days)))


def relations(file: SqlFile, parts: Collection[str] | None = PARTS) -> tuple[tuple[Relation, ...], list[Fault]]:
    """The relations that a file says, and what is wrong with them. `parts` None: mine is a row of an activity table."""
    stated = []
    faults = []
    for written in (part.strip() for part in file.keys.get("inside", "").split(";") if part.strip()):
        match = _ONE.fullmatch(written)
        allowed = "such as: eligible = other_measure.eligible; met < other_measure.met"
        if match is None or (parts is not None and match["mine"] not in parts):
            said = "" if parts is None else f"; mine is one of {', '.join(parts)}"
            faults.append(Fault(file.at("inside"), f"inside: {written}", allowed + said, "correct it"))
            continue
        stated.append(Relation(match["mine"], match["how"], match["measure"], match["part"]))
    return tuple(stated), faults


def faults_between(file: SqlFile, said: Collection[Relation], published: Collection[str]) -> Iterator[Fault]:
    """Of relations to a measure that no report publishes, or to a part that there is not."""
    for relation in said:
        part = relation.part.replace("{seen_promptly_days}", "7")
        if relation.measure not in published:
            allowed = f"a measure whose head says published{nearest(relation.measure, published)}"
            yield Fault(file.at("inside"), f"inside: {relation.measure}", allowed, "correct the name")
        elif part not in PARTS and not re.fullmatch(r"by_\d+", part):
            yield Fault(file.at("inside"), f"inside: .{relation.part}", ", ".join(PARTS), "correct the part")
