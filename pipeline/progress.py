"""What is being done, for someone who waits at a terminal: the stage, the rows done, the time left.

Comes in: the number of rows to expect, each stage's words, rows as they are done. Goes out: one line on the stream,
from the second second on, taken away at the end; nothing where the stream is no terminal, such as in a pipe.
"""

from __future__ import annotations

import shutil
import threading
import time
from types import TracebackType
from typing import TextIO

from tqdm import tqdm

from pipeline.plain_text import without_unseen_signs

# A command is one process. tqdm's own lock is shared with every fork, and one that is killed while it holds the lock
# would stop all others for ever; its thread, which looks whether a line is shown often enough, is not needed here.
tqdm.set_lock(threading.RLock())
tqdm.monitor_interval = 0

STAGES = 5  # that every row of a load passes: splitting, single columns, rows against each other, accounting, storing
_WITH_A_COUNT = "{desc}: {n:,.0f} of {total:,.0f} {unit}, about {remaining} left"
_WITHOUT = "{desc}, {elapsed}"


class Progress:
    """The line on the terminal. A class, for the line lives between calls."""

    def __init__(self, stream: TextIO | None = None, delay: float = 1) -> None:
        shown = stream is not None and stream.isatty()
        self._from = time.monotonic() + delay
        # A terminal that does not know its own size is taken for an ordinary one.
        size = shutil.get_terminal_size((100, 24))
        self._line: tqdm[None] = tqdm(
            file=stream,
            disable=not shown,
            delay=delay,
            leave=False,
            bar_format=_WITHOUT,
            ncols=size.columns - 1,
            nrows=size.lines,
        )

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._line.close()

    def stage(self, words: str) -> None:
        """What is done from now on."""
        self._line.set_description_str(without_unseen_signs(words), refresh=False)
        self._show()

    def expect(self, number: int, unit: str) -> None:
        """How many rows, or measures, there are in all, once that is known; none are done yet."""
        if not self._line.disable:
            self._line.bar_format, self._line.unit = _WITH_A_COUNT, unit
            self._line.total, self._line.n = number, 0
            self._line.start_t = self._line.last_print_t = time.time()

    def done(self, number: float) -> None:
        """So many more are done, or parts of them where each passes several stages."""
        if not self._line.disable:
            self._line.n += number
        self._show()

    def _show(self) -> None:
        # tqdm's own delay holds for its updates only, not for its words.
        if not self._line.disable and time.monotonic() >= self._from:
            self._line.refresh()
