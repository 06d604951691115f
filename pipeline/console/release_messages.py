"""What is said of releases.

Comes in: what the way of a published report gave back. Goes out: lines on standard output.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.console.terminal import say, say_wrapped
from pipeline.privacy.publication.ledger import Entry
from pipeline.report.words.dates import long_label
from pipeline.runs.release_results import Published, Recorded, Verified

_LISTED = 40  # so many withheld counts are named


def published(made: Published, seconds: float) -> None:
    """What was published, or would be; how much of it is shown; what the attack found."""
    much, attacked = made.how_much, made.attacked
    what = "Published" if made.place else "Would publish (a dry run: nothing was written)"
    say(f"{what}: {long_label(made.period)}, in {seconds:.1f} seconds.")
    if made.activity_only:
        say_wrapped("Too few cases for more: activity only (least_cases in audit.toml).")
    say_wrapped(
        f"Shown: {_of(much.headlines, much.of_headlines)} figures of everyone, {_of(much.rows, much.of_rows)} rows of "
        f"breakdowns, {_of(much.activity, much.of_activity)} counts of activity."
    )
    say_wrapped(
        f"Withheld: {len(much.withheld)} counts. Of the cells behind them {much.for_size} are small, and "
        f"{much.for_others} would give a small one away."
    )
    if not made.place:
        for text in much.withheld[:_LISTED]:
            say(f"  [c] {text}")
        if len(much.withheld) > _LISTED:
            say(f"  and {len(much.withheld) - _LISTED} more")
    say_wrapped(_attack(attacked.releases, attacked.targets))
    if made.place:
        say_wrapped(f"Written to {made.place}: {', '.join(made.files)}.")
        say_wrapped("Keep the folder releases with the store, and keep it inside. A release is never made again.")
        say(f"Open this page: {(made.place / 'report.html').resolve()}")


def listed(those: Sequence[Entry]) -> None:
    """Every release, oldest first."""
    if not those:
        say("Nothing was published yet.")
    for entry in those:
        said = entry.said
        how = "published" if entry.is_publication else f"given out another way ({said['what']})"
        by = f", approved by {said['approved_by']}" if said["approved_by"] else ""
        counts = f"{len(said['printed'])} counts"
        say_wrapped(f"{entry.number}. {entry.period}: {how} on {said['made_on']}{by}; {counts}.")
        for text in said.get("incident", ())[:5]:
            say_wrapped(f"   With these figures it can be worked out more closely than promised: {text}")


def verified(made: Verified) -> None:
    """That every release holds."""
    if made.attacked is None:
        say("Nothing was published yet; there is nothing to verify.")
        return
    releases = sum(entry.is_publication for entry in made.releases)
    say_wrapped(
        f"Verified: {releases} release{'s' if releases > 1 else ''}. The chain holds, every file is as it was written, "
        "and every decoy still adds up."
    )
    say_wrapped(_attack(made.attacked.releases, made.attacked.targets))


def recorded(made: Recorded) -> None:
    """What was entered, and what it gives away."""
    say_wrapped(f"Recorded as release {made.entry.number}: {made.counts} counts that went out as {made.what}.")
    if made.not_known:
        say_wrapped(
            f"{made.not_known} of them are of no published period yet; the release of that period will respect them."
        )
    if made.narrowed:
        say_wrapped(
            f"LOOK AT THIS: with them, {len(made.narrowed)} small counts can be worked out more closely than promised: "
            f"{'; '.join(made.narrowed[:5])}. Tell whoever answers for confidentiality. It is on record as an incident."
        )


def _of(shown: int, of: int) -> str:
    return f"{shown} of {of} ({shown / of:.0%})" if of else "no"


def _attack(releases: int, targets: int) -> str:
    return (
        f"Attack: from everything printed in {releases} release{'s' if releases > 1 else ''}, none of {targets} "
        "protected counts can be told from nought, nor from more than the small numbers withheld."
    )
