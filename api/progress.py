"""The line that tells how planning goes, on standard error, once it takes longer than a second."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from rich.status import Status

    from planner.pins import OnProgress, Progress

QUIET_S = 1.0
"""Seconds of planning of which nothing is said."""


class ProgressLine:
    """Shows the stage, the best points so far and the seconds.

    Parameters
    ----------
    stream
        Where to write; a line that changes on a terminal, a line per stage elsewhere.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._start = time.monotonic()
        self._text = "planning"
        self._said = ""
        self._status: Status | None = None
        self._lock = threading.Lock()
        self._timer = threading.Timer(QUIET_S, self._begin)
        self._timer.daemon = True
        self._timer.start()

    def tell(self, progress: Progress) -> None:
        """Take in where planning stands."""
        best = "" if progress.best is None else f", {progress.best:g} points so far"
        with self._lock:
            self._text = f"{progress.stage}{best}"
            if time.monotonic() - self._start > QUIET_S:
                self._show()

    def close(self) -> None:
        """Take the line away."""
        self._timer.cancel()
        with self._lock:
            if self._status is not None:
                self._status.stop()

    def _begin(self) -> None:
        with self._lock:
            self._show()

    def _show(self) -> None:
        text = f"{self._text}, {time.monotonic() - self._start:.0f} s"
        if self._stream.isatty():
            self._spin(text)
        elif self._text != self._said:
            self._said = self._text
            self._stream.write(f"{text}\n")
            self._stream.flush()

    def _spin(self, text: str) -> None:
        if self._status is None:
            from rich.console import Console  # noqa: PLC0415  (only once planning is slow)

            self._status = Console(file=self._stream).status(text)
            self._status.start()
        self._status.update(text)


@contextmanager
def progress_line(stream: TextIO | None = None) -> Iterator[OnProgress]:
    """Give what planning may call, and take the line away when it ends."""
    line = ProgressLine(stream or sys.stderr)
    try:
        yield line.tell
    finally:
        line.close()
