"""What a load has shown of new words is confirmed by the next one, if that brings the same and says so.

Comes in: the audit folder, the new words of an export. Refuses a load
with words that nobody has confirmed. Between the two loads only a
checksum of what was shown lies in the folder, never a word of it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from pipeline.errors import Fault, Refused
from pipeline.intake.gate.new_words import NewWords
from pipeline.store.whole_files import write_whole

SHOWN = "shown.sha256"


def hold_back(
    folder: Path, doubts: Sequence[Fault], new: Sequence[NewWords], set_aside: Sequence[str], *, confirm_new: bool
) -> None:
    """Raise Refused with the doubts and the open questions, if any; what --confirm-new may answer is noted as shown.

    With doubts, `set_aside` are the reasons why lines and values were: the cause is mostly among them.
    """
    asked = [words for words in new if not words.to_declare]
    told = repr([(words.kind, list(words.words)) for words in asked])
    checksum = hashlib.sha256(told.encode()).hexdigest()
    path = folder / SHOWN
    if confirm_new and asked and path.exists() and path.read_text("ascii", "replace") == checksum:
        asked = []
    if asked:
        write_whole(path, checksum.encode())
    questions = [words.question for words in (*asked, *(words for words in new if words.to_declare))]
    if doubts or questions:
        said = ("The commonest reasons why something was set aside:", *set_aside) if doubts and set_aside else ()
        raise Refused((*doubts, *questions), beside=said)


def forget(folder: Path) -> None:
    """They are in the store now."""
    (folder / SHOWN).unlink(missing_ok=True)
