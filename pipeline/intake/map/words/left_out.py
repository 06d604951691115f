"""What reading the texts of a sheet left out and should be said aloud, once a sheet.

Comes in: how often each text stands in a column, and where the column comes from. Goes out: counts,
and remarks in words.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from pipeline.contracts.layout import DATE, Column
from pipeline.intake.map.mapping import Origin
from pipeline.intake.map.translation import Translated, folded, says_nothing, without_time


@dataclass(frozen=True)
class LeftOut:
    """What was left out of the columns of one sheet, by the column's name there. Both grow; a column counts once."""

    timed: dict[str, int] = field(default_factory=dict)  # dates with a time of day
    nothing: dict[str, Counter[str]] = field(default_factory=dict)  # words for nothing, folded

    def see(self, origin: Origin, column: Column, counts: Mapping[str, int], translated: Translated) -> None:
        """Count what was left out of a column."""
        assert origin.column is not None
        words: dict[str, int] = {}
        timed = 0
        for text, count in counts.items():
            if says_nothing(origin, text):
                words[text] = count
            elif column.kind == DATE and text in translated.texts and without_time(text) != text:
                timed += count
        self.see_words(origin.column, words)
        if timed:
            self.timed[origin.column] = timed

    def see_words(self, header: str, words: Mapping[str, int]) -> None:
        """Keep how often each word stood for nothing in a column."""
        folds: Counter[str] = Counter()
        for word, count in words.items():
            folds[folded(word)] += count
        if folds:
            self.nothing[header] = folds

    def words(self) -> Iterator[str]:
        """Each kind once."""
        for header, count in self.timed.items():
            yield f"{header}: a time of day stands behind {count:,} of its dates; only the day is read"
        total: Counter[str] = sum(self.nothing.values(), Counter())
        if total:
            told = ", ".join(f'"{word}" ({total[word]:,})' for word in sorted(total))
            yield f"taken as nothing recorded, as the mapping says: {told} in {', '.join(self.nothing)}"
