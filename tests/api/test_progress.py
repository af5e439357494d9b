"""The progress line: silent while planning is quick, plain where there is no terminal."""

import io
import time

from api import progress
from api.progress import progress_line
from planner.pins import Progress


def test_quick_planning_says_nothing():
    stream = io.StringIO()
    with progress_line(stream) as tell:
        tell(Progress("searching", best=12.0))
    assert stream.getvalue() == ""


def test_slow_planning_says_stage_points_and_seconds(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 0.05)
    stream = io.StringIO()
    with progress_line(stream) as tell:
        tell(Progress("searching"))
        time.sleep(0.2)
        tell(Progress("searching", best=12.5))
    assert stream.getvalue().splitlines() == [
        "searching, 0 s",
        "searching, 12.5 points so far, 0 s",
    ]


def test_the_same_news_is_told_once(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 0.01)
    stream = io.StringIO()
    with progress_line(stream) as tell:
        time.sleep(0.1)
        for _ in range(5):
            tell(Progress("searching", best=3.0))
    assert stream.getvalue().count("3 points") == 1


def test_planning_is_never_asked_to_stop():
    with progress_line(io.StringIO()) as tell:
        assert tell(Progress("searching")) is None


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_terminal_gets_a_line_that_is_taken_away(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 0.01)
    monkeypatch.setenv("TERM", "xterm")
    stream = Terminal()
    with progress_line(stream) as tell:
        time.sleep(0.1)
        tell(Progress("searching", best=3.0))
        time.sleep(0.2)
    assert "3 points so far" in stream.getvalue()
